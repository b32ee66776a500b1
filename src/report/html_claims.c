/* Sentences with the evidence under each: the part of the page that is read. A sentence is the summary of a `details`
 * element, so that it opens without a script, by mouse, touch or key. */
#include "report/html.h"

#include "draw/blocks.h"

static void say_weight(Html *html, const ReasonBecause *because) {
    Out *out = html->out;
    out_lit(out, "<tr><td class=\"figure\">");
    if (because->decibans != 0)
        html_escape(out, words_decibans(html->arena, because->decibans)); /* else: a figure rests on it */
    out_lit(out, "</td><td>");
    html_escape(out, because->says);
    if (because->place.len > 0) {
        out_lit(out, " <cite>");
        html_escape(out, because->place);
        out_lit(out, "</cite>");
    }
    html_quotes(html, because->lines, because->line_count);
    out_lit(out, "</td></tr>\n");
}

static void say_tally(Html *html, const ReasonClaim *claim) {
    Out *out = html->out;
    out_lit(out, "<table class=\"tally\">\n<tbody>\n");
    for (uint32_t i = 0; i < claim->because_count; i++) say_weight(html, &claim->because[i]);
    out_lit(out, "</tbody>\n<tfoot><tr><td class=\"figure\">");
    html_escape(out, words_decibans(html->arena, claim->decibans));
    out_lit(out, "</td><td>in all, which is ");
    html_escape(out, words_probability(html->arena, claim->p));
    out_lit(out, "</td></tr></tfoot>\n</table>\n");
}

static void say_values(Html *html, const ReasonClaim *claim) {
    Out *out = html->out;
    if (claim->value_count == 0) return;
    out_lit(out, "<ul class=\"figures\">\n");
    for (uint32_t i = 0; i < claim->value_count; i++) {
        const ReasonValue *value = &claim->values[i];
        out_lit(out, "<li>");
        html_escape(out, value->name);
        out_lit(out, " = ");
        html_escape(out, words_range(html->arena, value->value));
        out_lit(out, ", by <code>");
        html_escape(out, value->formula);
        out_lit(out, "</code>");
        if (value->source.len > 0) {
            out_lit(out, " <cite>");
            html_escape(out, value->source);
            out_lit(out, "</cite>");
        }
        out_lit(out, "</li>\n");
    }
    out_lit(out, "</ul>\n");
}

static void say_evidence(Html *html, const ReasonClaim *claim) {
    Out *out = html->out;
    out_lit(out, "<div class=\"why\">\n<p class=\"id\">");
    html_escape(out, words_capital(html->arena, words_sort(claim->sort)));
    out_lit(out, ": ");
    html_escape(out, claim->name);
    out_lit(out, ". <code>");
    html_escape(out, claim->id);
    out_lit(out, "</code></p>\n");
    say_tally(html, claim);
    say_values(html, claim);
    out_lit(out, "</div>\n");
}

void html_claim(Html *html, const ReasonClaim *claim) { html_claim_as(html, claim, report_sentence(html->arena, claim)); }

void html_claim_as(Html *html, const ReasonClaim *claim, Text says) {
    Out *out = html->out;
    out_lit(out, "<details class=\"claim\" id=\"");
    html_anchor(out, "claim-", claim->id);
    out_lit(out, "\"><summary><span class=\"says\">");
    html_escape(out, says);
    out_lit(out, "</span> ");
    html_sure(html, claim->p);
    out_lit(out, "</summary>\n");
    say_evidence(html, claim);
    out_lit(out, "</details>\n");
}

void html_hazards(Html *html) {
    Out *out = html->out;
    const Reasoning *reasoning = html->reasoning;
    if (reasoning->hazards.count == 0) return;
    out_lit(out, "<section id=\"hazards\" class=\"hazards\">\n<h2>Before you open it</h2>\n");
    for (uint32_t i = 0; i < reasoning->hazards.count; i++) {
        const ReasonClaim *hazard = &reasoning->hazards.at[i];
        out_lit(out, "<div class=\"hazard\">\n");
        html_claim(html, hazard);
        html_texts(html, "caution", hazard->cautions, hazard->caution_count);
        html_texts(html, "warning", hazard->warnings, hazard->warning_count);
        out_lit(out, "</div>\n");
    }
    out_lit(out, "</section>\n");
}

/* Own parts of a chapter's claims, each once, at most a handful: a line under the chapter's name in the overview. */
static void chain_parts(Html *html, const StoryChapter *chapter) {
    enum { SHOWN_MOST = 8 };
    uint32_t seen[SHOWN_MOST], count = 0;
    for (uint32_t i = 0; i < chapter->claims.count; i++) {
        const ReasonClaim *claim = chapter->claims.at[i];
        for (uint32_t k = 0; k < claim->own_count; k++) {
            bool again = false;
            for (uint32_t s = 0; s < count; s++) again |= seen[s] == claim->about[k];
            if (again) continue;
            if (count == SHOWN_MOST) {
                out_lit(html->out, " &hellip;");
                return;
            }
            if (count > 0) out_char(html->out, ' ');
            html_escape(html->out, html->bench->parts.at[claim->about[k]].ref);
            seen[count++] = claim->about[k];
        }
    }
}

/* The chapters in a row, as energy and signal pass through the product. */
static void say_chain(Html *html) {
    if (html->story->chapters.count < 2 || !html->story->chapters.at[1].block) return; /* one stage is no row */
    out_lit(html->out, "<ol class=\"chain\">\n");
    for (uint32_t i = 0; i < html->story->chapters.count; i++) {
        const StoryChapter *chapter = &html->story->chapters.at[i];
        if (!chapter->block) break; /* the last ones are none */
        out_fmt(html->out, "<li><a href=\"#chapter-%u\">", i + 1);
        html_escape(html->out, chapter->title);
        out_lit(html->out, "</a> <span>");
        chain_parts(html, chapter);
        out_lit(html->out, "</span></li>\n");
    }
    out_lit(html->out, "</ol>\n");
}

/* False: there is no such picture, and the row above stands for it. */
static bool say_blocks(Html *html) {
    Out picture = out_new(html->arena);
    Diags why = diags_new(html->arena); /* the row tells the same, so it is no problem of the page */
    BlocksAsked asked = {html->reasoning, html->sums, TEXT("blocks"), false};
    if (!draw_blocks(&picture, &asked, &why)) return false;
    out_lit(html->out, "<figure class=\"drawing blocks\">\n<div class=\"wide\" tabindex=\"0\">\n");
    out_add(html->out, out_text(&picture));
    out_lit(html->out, "</div>\n<figcaption>From what feeds to what is driven. Thick arrows are supplies; figures are those of the "
                       "sentences below.</figcaption>\n</figure>\n");
    return true;
}

static void say_roles(Html *html) {
    Out *out = html->out;
    uint32_t last = BENCH_NONE;
    for (uint32_t i = 0; i < html->story->roles.count; i++) {
        const StoryRole *role = &html->story->roles.at[i];
        const BenchPin *pin = &html->bench->pins.at[role->pin];
        if (pin->part != last) {
            out_add(out, last == BENCH_NONE ? TEXT("<h3>") : TEXT("</ul>\n<h3>"));
            html_escape(out, html->bench->parts.at[pin->part].ref);
            out_lit(out, ", pin by pin</h3>\n<ul class=\"pins\">\n");
            last = pin->part;
        }
        out_lit(out, "<li><code>");
        if (i == 0 || role[-1].pin != role->pin) html_escape(out, pin->label);
        out_lit(out, "</code> <a href=\"#");
        html_anchor(out, "claim-", role->claim->id);
        out_lit(out, "\">");
        html_escape(out, role->role);
        out_lit(out, "</a> ");
        html_sure(html, role->claim->p);
        out_lit(out, "</li>\n");
    }
    if (last != BENCH_NONE) out_lit(out, "</ul>\n");
}

void html_how(Html *html) {
    Out *out = html->out;
    html_section(html, "how", "How it works");
    if (html->story->chapters.count == 0) out_lit(out, "<p>No circuit is recognised yet.</p>\n");
    if (!say_blocks(html)) say_chain(html);
    for (uint32_t i = 0; i < html->story->chapters.count; i++) {
        const StoryChapter *chapter = &html->story->chapters.at[i];
        out_fmt(out, "<h3 id=\"chapter-%u\">", i + 1);
        html_escape(out, chapter->title);
        out_lit(out, "</h3>\n");
        for (uint32_t k = 0; k < chapter->claims.count; k++) {
            html_claim(html, chapter->claims.at[k]);
            html_texts(html, "warning", chapter->claims.at[k]->warnings, chapter->claims.at[k]->warning_count);
            html_texts(html, "caution", chapter->claims.at[k]->cautions, chapter->claims.at[k]->caution_count);
        }
    }
    say_roles(html);
    out_lit(out, "</section>\n");
}

void html_spared(Html *html) {
    Out *out = html->out;
    bool any = false;
    for (uint32_t i = 0; i < html->reasoning->claims.count; i++) {
        const ReasonClaim *claim = &html->reasoning->claims.at[i];
        for (uint32_t k = 0; k < claim->spared_count; k++) {
            if (!any) html_section(html, "spared", "Left out to save money");
            out_add(out, any ? TEXT("<li>") : TEXT("<ul>\n<li>"));
            any = true;
            html_escape(out, words_sentence(html->arena, words_capital(html->arena, claim->spared[k])));
            out_lit(out, " <a class=\"from\" href=\"#");
            html_anchor(out, "claim-", claim->id);
            out_lit(out, "\">why</a> ");
            html_sure(html, claim->p);
            out_lit(out, "</li>\n");
        }
    }
    if (any) out_lit(out, "</ul>\n</section>\n");
}
