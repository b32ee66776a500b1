/* report.html: the page as a whole, and its plainer chapters. One file that asks for nothing, from anyone: the style stands
 * in it, and its Content-Security-Policy forbids the browser to fetch. It holds no date and no machine's name, so that the
 * same notes give the same bytes. */
#include "report/html.h"

#include "draw/blocks.h"
#include "draw/board.h"
#include "draw/plot.h"

#include "unpick.h"

void html_steps(Html *html) {
    Out *out = html->out;
    if (html->story->step_count == 0) return;
    html_section(html, "steps", "Opening it");
    out_lit(out, "<ol class=\"steps\">\n");
    for (uint32_t i = 0; i < html->story->step_count; i++) {
        const Note *note = html->story->steps[i];
        out_fmt(out, "<li value=\"%u\">", note->step.number);
        html_escape(out, words_sentence(html->arena, words_capital(html->arena, note->step.what)));
        if (note->step.tool.len > 0) {
            out_lit(out, " <span class=\"tool\">With ");
            html_escape(out, words_sentence(html->arena, note->step.tool));
            out_lit(out, "</span>");
        }
        if (note->with->remark.len > 0 && !text_same(note->with->remark, note->step.what)) {
            out_char(out, ' ');
            html_escape(out, words_sentence(html->arena, words_capital(html->arena, note->with->remark)));
        }
        out_lit(out, " <span class=\"from\">");
        html_lines(html, &note->line, 1);
        out_lit(out, "</span>\n");
        html_photo(html, note->with->photo, note->step.what, NULL);
        out_lit(out, "</li>\n");
    }
    out_lit(out, "</ol>\n<p>It goes together in the reverse order.</p>\n</section>\n");
}

void html_conflicts(Html *html) {
    Out *out = html->out;
    if (html->bench->conflicts.count == 0) return;
    html_section(html, "contradictions", "Contradictions");
    for (uint32_t i = 0; i < html->bench->conflicts.count; i++) {
        const BenchConflict *conflict = &html->bench->conflicts.at[i];
        out_lit(out, "<div class=\"conflict\">\n<p>");
        html_escape(out, words_sentence(html->arena, words_capital(html->arena, conflict->says)));
        out_lit(out, "</p>\n");
        html_quotes(html, conflict->lines, conflict->line_count);
        if (conflict->settle.len > 0) {
            out_lit(out, "<p>To settle it: ");
            html_escape(out, words_sentence(html->arena, conflict->settle));
            out_lit(out, "</p>\n");
        }
        out_lit(out, "</div>\n");
    }
    out_lit(out, "</section>\n");
}

void html_open(Html *html) {
    Out *out = html->out;
    if (html->reasoning->open.count == 0) return;
    html_section(html, "open", "Open questions");
    out_lit(out, "<p>The most telling first.</p>\n<ol>\n");
    for (uint32_t i = 0; i < html->reasoning->open.count; i++) {
        const ReasonOpen *open = &html->reasoning->open.at[i];
        out_lit(out, "<li>");
        html_escape(out, words_capital(html->arena, open->ask));
        if (open->claim.len > 0 && reason_claim(html->reasoning, open->claim) != NULL) {
            out_lit(out, " <a class=\"from\" href=\"#");
            html_anchor(out, "claim-", open->claim);
            out_lit(out, "\">what it settles</a>");
        }
        if (open->line_count > 0) {
            out_lit(out, " <span class=\"from\">");
            html_lines(html, open->lines, open->line_count);
            out_lit(out, "</span>");
        }
        out_lit(out, "</li>\n");
    }
    out_lit(out, "</ol>\n</section>\n");
}

static void say_nav(Html *html) {
    const struct {
        const char *id, *title;
        bool there;
    } items[] = {{"hazards", "Hazards", html->reasoning->hazards.count > 0},
                 {"steps", "Opening", html->story->step_count > 0},
                 {"how", "How it works", true},
                 {"schematic", "Schematic", html->bench->parts.count > 0},
                 {"boards", "Boards", html_has_boards(html)},
                 {"numbers", "Numbers by mode", html_has_sums(html)},
                 {"parts", "Parts", html->story->parts.count > 0},
                 {"contradictions", "Contradictions", html->bench->conflicts.count > 0},
                 {"open", "Open questions", html->reasoning->open.count > 0},
                 {"sources", "Sources", true},
                 {"method", "Method", true},
                 {"notes", "Bench notes", true}};
    out_lit(html->out, "<nav aria-label=\"Contents\">\n");
    for (size_t i = 0; i < sizeof items / sizeof *items; i++)
        if (items[i].there) out_fmt(html->out, "<a href=\"#%s\">%s</a>\n", items[i].id, items[i].title);
    out_lit(html->out, "</nav>\n");
}

void html_begin_head(Html *html, const char *title, const char *script_hash) {
    Out *out = html->out;
    out_lit(out, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                 "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; "
                 "img-src data:; script-src ");
    out_add(out, text_of(script_hash));
    out_lit(out, "\">\n"
                 "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                 "<meta name=\"color-scheme\" content=\"light dark\">\n"
                 "<meta name=\"generator\" content=\"Unpick " UNPICK_VERSION "\">\n<title>");
    html_escape(out, html->story->title);
    out_fmt(out, "%s</title>\n<style>\n", title);
}

void html_end_head(Html *html) { out_lit(html->out, "</style>\n</head>\n<body>\n"); }

static void say_head(Html *html) {
    Out *out = html->out;
    html_begin_head(html, ", taken apart", REPORT_JS_HASH);
    out_add(out, text_of(REPORT_CSS));
    out_add(out, text_of(DRAW_BOARD_CSS));
    out_add(out, text_of(DRAW_BLOCKS_CSS));
    out_add(out, text_of(DRAW_PLOT_CSS));
    html_schematic_css(html);
    html_end_head(html);
    out_lit(out, "<header>\n<p class=\"over\">Taken apart</p>\n<h1>");
    html_escape(out, html->story->title);
    out_lit(out, "</h1>\n<p class=\"intro\">");
    html_escape(out, html->story->intro);
    out_lit(out, "</p>\n");
    html_cover(html);
    say_nav(html);
    out_lit(out, "</header>\n<main>\n");
}

static void say_foot(Html *html) {
    Out *out = html->out;
    out_lit(out, "</main>\n<footer><p>Written by Unpick " UNPICK_VERSION
                 " from bench notes. This page loads nothing from anywhere.</p></footer>\n<script>");
    out_add(out, text_of(REPORT_JS));
    out_lit(out, "</script>\n</body>\n</html>\n");
}

void html_licence(Html *html) {
    const Note *note = html->bench->licence;
    html_section(html, "licence", "Licence");
    out_lit(html->out, "<p>");
    if (note != NULL) {
        html_escape(html->out, words_sentence(html->arena, note->licence));
        out_lit(html->out, " <span class=\"from\">");
        html_lines(html, &note->line, 1);
        out_lit(html->out, "</span>");
    } else {
        out_lit(html->out, "Nobody has said under which terms this report may be used: ask before you copy it.");
    }
    out_lit(html->out, "</p>\n</section>\n");
}

void report_html(Out *out, const Reasoning *reasoning, const Sums *sums, bool ansi, Diags *problems) {
    Html html = html_new(out, reasoning, sums, ansi, problems);
    html.photo_side = PHOTO_PAGE_SIDE;
    html_photos_find(&html);
    say_head(&html);
    html_hazards(&html);
    html_steps(&html);
    html_how(&html);
    html_schematic(&html);
    html_sums(&html);
    html_boards(&html);
    html_parts(&html);
    html_values(&html);
    html_nets(&html);
    html_conflicts(&html);
    html_open(&html);
    html_spared(&html);
    html_more_photos(&html);
    out_add(out, text_of(REPORT_METHOD));
    html_sources(&html);
    html_licence(&html);
    html_notes(&html);
    say_foot(&html);
}
