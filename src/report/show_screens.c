/* The screens in the order in which one tells it: what it is, what may hurt, how it is opened, its board, its blocks, how
 * each of them works, the figures, what was saved, what does not fit, what is open, the licence. One idea each. */
#include "report/show.h"

#include "draw/blocks.h"
#include "draw/board.h"

#include <math.h>

enum { HAZARDS_MOST = 6, POINTS_MOST = 5, CONFLICTS_MOST = 3, ALSO_MOST = 3 };

/* The photo, ready to be put on a screen; empty: it can't be shown. */
static Text shot_of(Show *show, Text file, Text alt) {
    Out *page = show->html.out, shot = out_new(show->html.arena);
    show->html.out = &shot;
    html_shot(&show->html, file, alt);
    show->html.out = page;
    for (uint32_t i = 0; i < show->html.photos.count; i++)
        if (text_same(show->html.photos.at[i].file, file)) show->html.photos.at[i].number = 1; /* shown */
    return out_text(&shot);
}

static void put_shot(Show *show, Text shot) {
    if (shot.len == 0) return;
    show_picture(show);
    out_add(show->html.out, shot);
}

static void say_title(Show *show) {
    Html *html = &show->html;
    const Note *cover = html_cover_note(html);
    Text shot = cover != NULL ? shot_of(show, cover->photo->file, html_photo_alt(html, cover)) : TEXT("");
    show_open(show, shot.len > 0 ? "title" : "title plain", html->story->title);
    show_says(show, story_product(html->arena, html->bench));
    if (html->bench->product != NULL) show_because_lines(show, "the label and the notes, ", &html->bench->product->line, 1);
    out_lit(html->out,
            "<p class=\"hint\">Arrow keys, a swipe or the buttons turn the page. Printed, it is a cue sheet.</p>\n");
    if (shot.len > 0) show_callouts(show, cover->photo->file, TEXT(""), BOARD_TOP);
    put_shot(show, shot);
    show_close(show);
}

static void say_hazards(Show *show) {
    const Reasoning *reasoning = show->html.reasoning;
    for (uint32_t i = 0; i < reasoning->hazards.count && i < HAZARDS_MOST; i++) {
        const ReasonClaim *hazard = &reasoning->hazards.at[i];
        show_open(show, "hazard plain", TEXT("Before you open it"));
        show_says(show, report_sentence(show->html.arena, hazard));
        for (uint32_t k = 0; k < hazard->caution_count && k < POINTS_MOST; k++) show_point(show, hazard->cautions[k]);
        show_because_claim(show, hazard);
        show_close(show);
    }
}

static void say_steps(Show *show) {
    Html *html = &show->html;
    for (uint32_t i = 0; i < html->story->step_count; i++) {
        const Note *note = html->story->steps[i];
        Text file = note->with->photo, shot = file.len > 0 ? shot_of(show, file, note->step.what) : TEXT("");
        show_open(show, shot.len > 0 ? "step" : "step plain",
                  text_fmt(html->arena, "Opening it, step %u", note->step.number));
        show_says(show, note->step.what);
        if (note->step.tool.len > 0) show_because(show, text_fmt(html->arena, "with %.*s", TEXT_ARG(note->step.tool)));
        if (!text_same(note->with->remark, note->step.what)) show_because(show, note->with->remark);
        show_because_lines(show, "", &note->line, 1);
        if (shot.len > 0) show_callouts(show, file, TEXT(""), BOARD_TOP);
        put_shot(show, shot);
        show_close(show);
    }
}

/* Photos of no step on which something is pointed at. */
static void say_details(Show *show) {
    const Bench *bench = show->html.bench;
    for (uint32_t i = 0; i < bench->callouts.count; i++) {
        const BenchCallout *callout = &bench->callouts.at[i];
        bool shown = callout->file.len == 0;
        for (uint32_t k = 0; k < show->html.photos.count; k++)
            shown |= text_same(show->html.photos.at[k].file, callout->file) && show->html.photos.at[k].number > 0;
        Text shot = shown ? TEXT("") : shot_of(show, callout->file, callout->note->mark.says);
        if (shot.len == 0) continue;
        show_open(show, "detail", TEXT("A closer look"));
        show_callouts(show, callout->file, TEXT(""), BOARD_TOP);
        show_because_lines(show, "", &callout->note->line, 1);
        put_shot(show, shot);
        show_close(show);
    }
}

static void say_boards(Show *show) {
    Html *html = &show->html;
    for (uint32_t b = 0; b < html->bench->boards.count; b++)
        for (BoardSide side = 0; side < BOARD_SIDES; side++) {
            Text name = html->bench->boards.at[b];
            if (!draw_board_shows(html->bench, name, side)) continue;
            show_open(
                show, "board",
                text_fmt(html->arena, "Board %.*s, %s", TEXT_ARG(name), side == BOARD_TOP ? "the top" : "the bottom"));
            for (uint32_t i = 0; i < html->story->boards.count; i++) {
                const StoryBoard *told = &html->story->boards.at[i];
                if (!text_same(told->board->name, name)) continue;
                show_says(show, told->title);
                for (uint32_t k = 0; k < told->says.count; k++) show_because(show, told->says.at[k]);
            }
            show_callouts(show, TEXT(""), name, side);
            show_picture(show);
            BoardView view = {html->reasoning,
                              name,
                              side,
                              html_straightened(html, name, side),
                              text_fmt(html->arena, "board-%u-%u", b, (unsigned)side),
                              false};
            draw_board(html->out, &view);
            show_close(show);
        }
}

/* ---- blocks ---- */

/* What a circuit is comes before what it does in figures; of several the surest. */
static const ReasonClaim *headline(const StoryChapter *chapter) {
    const ReasonClaim *best = chapter->claims.at[0];
    for (uint32_t i = 1; i < chapter->claims.count; i++) {
        const ReasonClaim *claim = chapter->claims.at[i];
        bool circuit = claim->sort == REASON_IDIOM, was = best->sort == REASON_IDIOM;
        if (circuit != was ? circuit : claim->p > best->p) best = claim;
    }
    return best;
}

static void say_block_diagram(Show *show) {
    Html *html = &show->html;
    Out svg = out_new(html->arena), names = out_new(html->arena);
    Diags why = diags_new(html->arena);
    BlocksAsked asked = {html->reasoning, html->sums, TEXT("blocks"), false};
    if (!draw_blocks(&svg, &asked, &why)) return;
    for (uint32_t i = 0; i < html->story->chapters.count; i++) {
        const StoryChapter *chapter = &html->story->chapters.at[i];
        if (chapter->block) out_fmt(&names, "%s%.*s", names.len > 0 ? ", " : "", TEXT_ARG(chapter->title));
    }
    show_open(show, "blocks", TEXT("What it is made of"));
    if (names.len > 0) show_says(show, text_fmt(html->arena, "Its blocks: %.*s", TEXT_ARG(out_text(&names))));
    show_picture(show);
    out_add(html->out, out_text(&svg));
    show_close(show);
}

/* The parts that its circuits are made of, without the chips that other blocks share; where there is none, those that it
 * speaks of. NULL: there is nothing to draw on one screen. */
static const Schematic *circuit_of(Show *show, const StoryChapter *chapter) {
    enum { PARTS_MOST = 40 };
    Html *html = &show->html;
    bool *only = arena_many(html->arena, bool, html->bench->parts.count + 1);
    uint32_t parts = 0;
    for (int sums = 0; sums < 2 && parts == 0; sums++)
        for (uint32_t i = 0; i < chapter->claims.count; i++) {
            const ReasonClaim *claim = chapter->claims.at[i];
            if (claim->sort != (sums == 0 ? REASON_IDIOM : REASON_SUM)) continue;
            for (uint32_t k = 0; k < claim->own_count; k++) parts += !only[claim->about[k]], only[claim->about[k]] = true;
        }
    if (parts == 0 || parts > PARTS_MOST) return NULL;
    SchematicAsked asked = {.reasoning = html->reasoning, .only = only, .ansi = html->ansi};
    const Schematic *schematic = schematic_draw(html->arena, &asked);
    return schematic->sheets.count == 1 ? schematic : NULL;
}

/* No larger than is good to read. */
static void put_circuit(Show *show, const Schematic *schematic, uint32_t number) {
    const SchematicBox *box = &schematic->sheets.at[0].box;
    show_picture(show);
    out_fmt(show->html.out, "<div class=\"circuit\" style=\"--wide: %.0f\">\n", fmax(1, box->right - box->left));
    schematic_svg(show->html.out, schematic, 0, text_fmt(show->html.arena, "circuit-%u", number));
    out_lit(show->html.out, "</div>\n");
}

static void say_block(Show *show, const StoryChapter *chapter, uint32_t number) {
    Html *html = &show->html;
    const ReasonClaim *main = headline(chapter);
    const Schematic *circuit = circuit_of(show, chapter);
    show_open(show, circuit != NULL ? "block" : "block plain", chapter->title);
    show_says(show, report_sentence(html->arena, main));
    show_because_claim(show, main);
    uint32_t also = 0;
    for (uint32_t k = 0; k < chapter->claims.count && also < ALSO_MOST; k++)
        if (chapter->claims.at[k] != main)
            show_because(
                show, text_fmt(html->arena, "Also: %.*s", TEXT_ARG(report_sentence(html->arena, chapter->claims.at[k])))),
                also++;
    if (circuit != NULL) put_circuit(show, circuit, number);
    show_close(show);
}

static void say_blocks(Show *show) {
    for (uint32_t i = 0; i < show->html.story->chapters.count; i++)
        if (show->html.story->chapters.at[i].block) say_block(show, &show->html.story->chapters.at[i], i + 1);
}

/* ---- what was saved, what does not fit, what is open ---- */

static void say_spared(Show *show) {
    const Reasoning *reasoning = show->html.reasoning;
    uint32_t shown = 0;
    for (uint32_t i = 0; i < reasoning->claims.count && shown < POINTS_MOST; i++) {
        const ReasonClaim *claim = &reasoning->claims.at[i];
        for (uint32_t k = 0; k < claim->spared_count && shown < POINTS_MOST; k++) {
            if (shown++ == 0) show_open(show, "spared plain", TEXT("Left out to save money"));
            show_point(show, claim->spared[k]);
            show_because_lines(show, "see ", claim->because_count > 0 ? claim->because[0].lines : NULL,
                               claim->because_count > 0 ? claim->because[0].line_count : 0);
        }
    }
    if (shown > 0) show_close(show);
}

static void say_conflicts(Show *show) {
    const Bench *bench = show->html.bench;
    for (uint32_t i = 0; i < bench->conflicts.count && i < CONFLICTS_MOST; i++) {
        const BenchConflict *conflict = &bench->conflicts.at[i];
        show_open(show, "conflict plain", TEXT("What does not fit"));
        show_says(show, conflict->says);
        if (conflict->settle.len > 0)
            show_point(show, text_fmt(show->html.arena, "To settle it: %.*s", TEXT_ARG(conflict->settle)));
        show_because_lines(show, "", conflict->lines, conflict->line_count);
        show_close(show);
    }
}

static void say_open(Show *show) {
    const Reasoning *reasoning = show->html.reasoning;
    if (reasoning->open.count == 0) return;
    show_open(show, "open plain", TEXT("Still open"));
    for (uint32_t i = 0; i < reasoning->open.count && i < POINTS_MOST; i++) {
        show_point(show, reasoning->open.at[i].ask);
        show_because_lines(show, "asked in ", reasoning->open.at[i].lines, reasoning->open.at[i].line_count);
    }
    show_close(show);
}

static void say_licence(Show *show) {
    const Note *note = show->html.bench->licence;
    show_open(show, "licence plain", TEXT("Licence"));
    show_says(show, note != NULL ? note->licence
                                 : TEXT("Nobody has said under which terms this may be used: ask before you copy it."));
    if (note != NULL) show_because_lines(show, "", &note->line, 1);
    show_close(show);
}

void show_screens(Show *show) {
    say_title(show);
    say_hazards(show);
    say_steps(show);
    say_details(show);
    say_boards(show);
    say_block_diagram(show);
    say_blocks(show);
    show_figures(show);
    say_spared(show);
    say_conflicts(show);
    say_open(show);
    say_licence(show);
}
