/* The end of the page: where its statements come from, and the bench notes themselves. */
#include "report/html.h"

#include <stdlib.h>

typedef LIST(Text) Texts;

static int text_order_at(const void *one, const void *other) {
    return text_order(*(const Text *)one, *(const Text *)other);
}

/* Sorted, each once. */
static void settle(Texts *texts) {
    if (texts->count == 0) return;
    qsort(texts->at, texts->count, sizeof *texts->at, text_order_at);
    uint32_t kept = 1;
    for (uint32_t i = 1; i < texts->count; i++)
        if (!text_same(texts->at[i], texts->at[kept - 1])) texts->at[kept++] = texts->at[i];
    texts->count = kept;
}

static void gather_claim(Html *html, const ReasonClaim *claim, Texts *formulas, Texts *lore) {
    for (uint32_t i = 0; i < claim->value_count; i++)
        if (claim->values[i].source.len > 0) list_push(html->arena, formulas, claim->values[i].source);
    for (uint32_t i = 0; i < claim->because_count; i++)
        if (claim->because[i].place.len > 0) list_push(html->arena, lore, claim->because[i].place);
}

static void say_list(Html *html, const char *title, Texts *texts) {
    settle(texts);
    if (texts->count == 0) return;
    out_fmt(html->out, "<h3>%s</h3>\n<ul class=\"sources\">\n", title);
    for (uint32_t i = 0; i < texts->count; i++) {
        out_lit(html->out, "<li>");
        html_escape(html->out, texts->at[i]);
        out_lit(html->out, "</li>\n");
    }
    out_lit(html->out, "</ul>\n");
}

void html_sources(Html *html) {
    Texts formulas = {0}, markings = {0}, parts = {0}, lore = {0};
    const Reasoning *reasoning = html->reasoning;
    for (uint32_t i = 0; i < reasoning->hazards.count; i++) gather_claim(html, &reasoning->hazards.at[i], &formulas, &lore);
    for (uint32_t i = 0; i < reasoning->claims.count; i++) gather_claim(html, &reasoning->claims.at[i], &formulas, &lore);
    for (uint32_t i = 0; i < html->bench->parts.count; i++) {
        const BenchPart *part = &html->bench->parts.at[i];
        if (part->readings.count > 0 && part->marking.len > 0)
            list_push(html->arena, &markings, part->readings.at[0].standard);
        if (part->shelf != NULL)
            list_push(html->arena, &parts,
                      text_fmt(html->arena, "%.*s: %.*s", TEXT_ARG(part->shelf->name), TEXT_ARG(part->shelf->source)));
    }
    html_section(html, "sources", "Sources");
    say_list(html, "Formulas", &formulas);
    say_list(html, "Markings", &markings);
    say_list(html, "Parts", &parts);
    say_list(html, "Lore that weighed evidence", &lore);
    out_lit(html->out, "<p>The bench notes stand at the end of this page.</p>\n</section>\n");
}

static void say_note(Html *html, const Note *note, bool struck) {
    Out *out = html->out, line = out_new(html->arena);
    note_print(&line, note);
    out_fmt(out, "<li id=\"line-%u\" value=\"%u\"><code>%s", note->line, note->line, struck ? "<s>" : "");
    html_escape(out, out_text(&line));
    out_fmt(out, "%s</code></li>\n", struck ? "</s>" : "");
}

/* Notes and struck ones are each in file order: merged by line. */
void html_notes(Html *html) {
    const Notebook *notebook = html->bench->notebook;
    uint32_t i = 0, s = 0;
    html_section(html, "notes", "Bench notes");
    out_lit(html->out, "<details><summary>What was written at the bench, line by line</summary>\n<ol class=\"notes\">\n");
    while (i < notebook->notes.count || s < notebook->struck.count) {
        bool struck = i == notebook->notes.count ||
                      (s < notebook->struck.count && notebook->struck.at[s].line < notebook->notes.at[i].line);
        say_note(html, struck ? &notebook->struck.at[s] : &notebook->notes.at[i], struck);
        if (struck)
            s++;
        else
            i++;
    }
    out_lit(html->out, "</ol>\n</details>\n</section>\n");
}
