/* Photos on the page, each once: what was asked for a second time is a link to the first. Callouts stand over the photo as
 * a drawing of the same size, and below it as a list, so that they are read by whoever does not see them. */
#include "report/html.h"

#include <math.h>

enum { PHOTOS_MOST = 60, PHOTOS_EXPECTED = 8 /* with fewer, none needs more than its share */ };

static bool pictures_photo(const Note *note) {
    return note->verb == NOTE_PHOTO && note->photo->side == NOTE_SIDE_UNSAID && note->with->side == NOTE_SIDE_UNSAID;
}

static void add(Html *html, Text file) {
    for (uint32_t i = 0; i < html->photos.count; i++)
        if (text_same(html->photos.at[i].file, file)) return;
    if (file.len > 0 && html->photos.count < PHOTOS_MOST) list_push(html->arena, &html->photos, (HtmlPhoto){.file = file});
}

void html_photos_find(Html *html) {
    const Notebook *notebook = html->bench->notebook;
    if (html->bench->folder.len == 0) return;
    for (uint32_t i = 0; i < notebook->notes.count; i++)
        if (pictures_photo(&notebook->notes.at[i])) add(html, notebook->notes.at[i].photo->file);
    for (uint32_t i = 0; i < html->story->step_count; i++) add(html, html->story->steps[i]->with->photo);
    for (uint32_t i = 0; i < html->bench->callouts.count; i++) add(html, html->bench->callouts.at[i].file);
    uint32_t share = html->photos.count + BOARD_SIDES * html->bench->photographed.count;
    html->photo_bytes = PHOTO_PAGE_BYTES / (share < PHOTOS_EXPECTED ? PHOTOS_EXPECTED : share);
}

void html_jpeg(Html *html, const PagePhoto *photo, Text alt) {
    out_fmt(html->out, "<img width=\"%u\" height=\"%u\" alt=\"", photo->width, photo->height);
    html_escape(html->out, alt);
    out_lit(html->out, "\" src=\"data:image/jpeg;base64,");
    out_base64(html->out, photo->jpeg);
    out_lit(html->out, "\">");
}

/* ---- callouts ---- */

static void put_rings(Html *html, const HtmlPhoto *photo) {
    const PagePhoto *made = &photo->made;
    double radius = fmax(made->width, made->height) / 44.0;
    out_fmt(html->out, "<svg class=\"marks\" viewBox=\"0 0 %u %u\" aria-hidden=\"true\">\n", made->width, made->height);
    for (uint32_t i = 0; i < html->bench->callouts.count; i++) {
        const BenchCallout *callout = &html->bench->callouts.at[i];
        if (!text_same(callout->file, photo->file)) continue;
        double x = callout->note->with->at.x * made->scale, y = callout->note->with->at.y * made->scale;
        x = fmin(fmax(x, 0), made->width), y = fmin(fmax(y, 0), made->height);
        svg_group(html->out, (SvgMark){.class = "b-callout"});
        svg_circle(html->out, (SvgMark){0}, (SvgPoint){x, y}, radius);
        svg_text(html->out, (SvgMark){0}, (SvgPoint){x, y + 0.4 * radius}, 1.15 * radius, SVG_MIDDLE,
                 text_fmt(html->arena, "%u", callout->number));
        svg_group_end(html->out);
    }
    out_lit(html->out, "</svg>\n");
}

void html_callouts(Html *html, Text file, Text board, BoardSide side) {
    bool any = false;
    for (uint32_t i = 0; i < html->bench->callouts.count; i++) {
        const BenchCallout *callout = &html->bench->callouts.at[i];
        if (!text_same(callout->file, file)) continue;
        if (file.len == 0 && (callout->side != side || !text_same(callout->board, board))) continue;
        out_add(html->out, any ? TEXT("<li>") : TEXT("<ol class=\"callouts\">\n<li>"));
        any = true;
        html_escape(html->out, words_sentence(html->arena, words_capital(html->arena, callout->note->mark.says)));
        out_lit(html->out, " <span class=\"from\">");
        html_lines(html, &callout->note->line, 1);
        out_lit(html->out, "</span></li>\n");
    }
    if (any) out_lit(html->out, "</ol>\n");
}

/* ---- figures ---- */

static HtmlPhoto *photo_named(Html *html, Text file) {
    for (uint32_t i = 0; i < html->photos.count; i++)
        if (text_same(html->photos.at[i].file, file)) return &html->photos.at[i];
    return NULL;
}

static bool has_callouts(const Html *html, Text file) {
    for (uint32_t i = 0; i < html->bench->callouts.count; i++)
        if (text_same(html->bench->callouts.at[i].file, file)) return true;
    return false;
}

/* Its pixels, made fit; NULL: it can't be shown. */
static HtmlPhoto *made(Html *html, Text file) {
    HtmlPhoto *photo = photo_named(html, file);
    if (photo == NULL || photo->failed) return NULL;
    const char *path = text_cstring(html->arena, bench_photo_path(html->arena, html->bench, file));
    photo->failed = !photo_for_page(html->arena, path, html->photo_side, html->photo_bytes, &photo->made, html->problems);
    return photo->failed ? NULL : photo;
}

/* Its pixels are not kept. */
static void put_shot(Html *html, HtmlPhoto *photo, Text alt) {
    out_fmt(html->out, "<div class=\"shot\" style=\"--ratio: %.4f\">", (double)photo->made.width / photo->made.height);
    html_jpeg(html, &photo->made, alt);
    if (has_callouts(html, photo->file)) put_rings(html, photo);
    out_lit(html->out, "</div>\n");
    photo->made.jpeg = (Text){0};
}

bool html_shot(Html *html, Text file, Text alt) {
    HtmlPhoto *photo = made(html, file);
    if (photo != NULL) put_shot(html, photo, alt);
    return photo != NULL;
}

void html_photo(Html *html, Text file, Text alt, const uint32_t *line) {
    HtmlPhoto *photo = photo_named(html, file);
    if (photo != NULL && photo->number > 0) {
        out_fmt(html->out, "<p class=\"from\">See <a href=\"#photo-%u\">photo %u</a>.</p>\n", photo->number, photo->number);
        return;
    }
    photo = made(html, file);
    if (photo == NULL) return;
    photo->number = ++html->photo_count;
    out_fmt(html->out, "<figure class=\"photo%s\" id=\"photo-%u\">\n",
            photo->made.height > photo->made.width ? " upright" : "", photo->number);
    put_shot(html, photo, alt);
    out_fmt(html->out, "<figcaption>Photo %u", photo->number);
    if (line != NULL) {
        out_lit(html->out, " <span class=\"from\">");
        html_lines(html, line, 1);
        out_lit(html->out, "</span>");
    }
    html_callouts(html, file, TEXT(""), BOARD_TOP);
    out_lit(html->out, "</figcaption>\n</figure>\n");
}

Text html_photo_alt(Html *html, const Note *note) {
    if (note->with->remark.len > 0) return note->with->remark;
    return text_fmt(html->arena, "A photo of %.*s", TEXT_ARG(html->story->title));
}

const Note *html_cover_note(const Html *html) {
    const Notebook *notebook = html->bench->notebook;
    for (uint32_t i = 0; i < notebook->notes.count; i++)
        if (pictures_photo(&notebook->notes.at[i]) && notebook->notes.at[i].photo->of.len == 0)
            return &notebook->notes.at[i];
    return NULL;
}

void html_cover(Html *html) {
    const Note *note = html_cover_note(html);
    if (note != NULL) html_photo(html, note->photo->file, html_photo_alt(html, note), &note->line);
}

/* Those that no chapter has shown. */
void html_more_photos(Html *html) {
    const Notebook *notebook = html->bench->notebook;
    bool any = false;
    for (uint32_t i = 0; i < notebook->notes.count + html->bench->callouts.count; i++) {
        bool photo = i < notebook->notes.count;
        const Note *note = photo ? &notebook->notes.at[i] : html->bench->callouts.at[i - notebook->notes.count].note;
        if (photo && !pictures_photo(note)) continue;
        Text file = photo ? note->photo->file : note->mark.file;
        const HtmlPhoto *shown = photo_named(html, file);
        if (shown == NULL || shown->number > 0 || shown->failed) continue;
        if (!any) html_section(html, "photos", "More photos");
        any = true;
        html_photo(html, file, photo ? html_photo_alt(html, note) : note->mark.says, &note->line);
    }
    if (any) out_lit(html->out, "</section>\n");
}
