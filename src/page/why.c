/* What one claim rests on, as HTML: the tally in decibans with its notes, the figures with their formulas, what to do. */
#include "page/inside.h"

static void say_line(Call *call, uint32_t line) {
    Text n = text_fmt(call->arena, "%u", line);
    markup(&call->out, "<button type=\"button\" class=\"to-line\" data-to-line=\"$\">line $</button> ", n, n);
}

static void say_because(Call *call, const ReasonBecause *because) {
    markup(&call->out, "<tr><td class=\"weight\">$</td><td>$ ",
           because->decibans == 0 ? TEXT("") : text_fmt(call->arena, "%+.1f dB", because->decibans), because->says);
    for (uint32_t i = 0; i < because->line_count; i++) say_line(call, because->lines[i]);
    if (because->place.len > 0) markup(&call->out, "<cite>$</cite>", because->place);
    out_lit(&call->out, "</td></tr>\n");
}

static void say_tally(Call *call, const ReasonClaim *claim) {
    Out sure = out_new(call->arena);
    probability_print(&sure, claim->p);
    out_lit(&call->out, "<table class=\"tally\"><caption>The tally</caption><tbody>\n");
    for (uint32_t i = 0; i < claim->because_count; i++) say_because(call, &claim->because[i]);
    markup(&call->out, "<tr class=\"sum\"><td class=\"weight\">$</td><td>in all: $</td></tr></tbody></table>\n",
           text_fmt(call->arena, "%+.1f dB", claim->decibans), out_text(&sure));
}

static void say_figures(Call *call, const ReasonClaim *claim) {
    if (claim->value_count == 0) return;
    out_lit(&call->out, "<dl class=\"figures\">");
    for (uint32_t i = 0; i < claim->value_count; i++) {
        const ReasonValue *value = &claim->values[i];
        Out range = out_new(call->arena);
        quantity_print_range(&range, value->value);
        markup(&call->out, "<dt>$</dt><dd><b>$</b> by <code>$</code> <cite>$</cite></dd>", value->name, out_text(&range),
               value->formula, value->source);
    }
    out_lit(&call->out, "</dl>\n");
}

static void say_texts(Call *call, const char *title, const Text *texts, uint32_t count) {
    if (count == 0) return;
    markup(&call->out, "<p><b>$</b></p><ul>", text_of(title));
    for (uint32_t i = 0; i < count; i++) markup(&call->out, "<li>$</li>", report_as_sentence(call->arena, texts[i]));
    out_lit(&call->out, "</ul>\n");
}

void answer_why(Call *call) {
    const ReasonClaim *claim =
        call->model->open ? reason_claim(call->model->teardown.reasoning, call_argument(call, "claim")) : NULL;
    if (claim == NULL) {
        call_refuse(call, 404, "Nothing like that is claimed any more.");
        return;
    }
    say_tally(call, claim);
    say_figures(call, claim);
    say_texts(call, "What to do first", claim->cautions, claim->caution_count);
    say_texts(call, "Left out to save money", claim->spared, claim->spared_count);
    markup(&call->out, "<p class=\"id\">$</p>\n", claim->id);
}
