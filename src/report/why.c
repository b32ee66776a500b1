/* The tally behind a claim: where it starts, what each observation adds, in which note it stands and which lore weighs it,
 * the sum, and what that is as a probability. */
#include "report/paper.h"
#include "report/words.h"

static void say_head(Paper *paper, Arena *arena, const ReasonClaim *claim) {
    paper_ink(paper, INK_BOLD);
    paper_text(paper, claim->id);
    paper_flow(paper, 0, 0);
    paper_fmt(paper, "%.*s: ", TEXT_ARG(words_sort(claim->sort)));
    paper_text(paper, words_sentence(arena, claim->name));
    paper_flow(paper, 0, 2);
    paper_gap(paper);
    paper_text(paper, report_sentence(arena, claim));
    paper_flow(paper, 0, 0);
}

static void quote_lines(Paper *paper, Arena *arena, const Notebook *notebook, const ReasonBecause *because,
                        uint32_t indent) {
    for (uint32_t i = 0; i < because->line_count; i++) {
        paper_ink(paper, INK_DIM);
        paper_fmt(paper, "line %-4u ", because->lines[i]);
        paper_text(paper, words_quote(arena, notebook, because->lines[i]));
        paper_flow(paper, indent, indent + 10);
    }
}

static void say_place(Paper *paper, const ReasonBecause *because) {
    if (because->place.len == 0) return;
    paper_ink(paper, INK_DIM);
    paper_fmt(paper, " [%.*s]", TEXT_ARG(because->place));
}

static void say_tally(Paper *paper, Arena *arena, const Notebook *notebook, const ReasonClaim *claim) {
    paper_title(paper, "The tally");
    for (uint32_t i = 0; i < claim->because_count; i++) {
        const ReasonBecause *because = &claim->because[i];
        if (because->decibans == 0) continue;
        paper_fmt(paper, "%10.*s  ", TEXT_ARG(words_decibans(arena, because->decibans)));
        paper_text(paper, because->says);
        say_place(paper, because);
        paper_flow(paper, 0, 12);
        quote_lines(paper, arena, notebook, because, 14);
    }
    paper_ink(paper, INK_BOLD);
    paper_fmt(paper, "%10.*s  in all: ", TEXT_ARG(words_decibans(arena, claim->decibans)));
    paper_text(paper, words_probability(arena, claim->p));
    paper_flow(paper, 0, 12);
}

/* What weighs nothing is what the figures were taken from. */
static void say_grounds(Paper *paper, Arena *arena, const Notebook *notebook, const ReasonClaim *claim) {
    for (uint32_t i = 0; i < claim->because_count; i++) {
        const ReasonBecause *because = &claim->because[i];
        if (because->decibans != 0) continue;
        paper_fmt(paper, "from: ");
        paper_text(paper, because->says);
        say_place(paper, because);
        paper_flow(paper, 2, 4);
        quote_lines(paper, arena, notebook, because, 6);
    }
}

static void say_values(Paper *paper, Arena *arena, const ReasonClaim *claim) {
    if (claim->value_count > 0) paper_title(paper, "Figures");
    for (uint32_t i = 0; i < claim->value_count; i++) {
        const ReasonValue *value = &claim->values[i];
        Text middle = words_quantity(arena, value->value), range = words_range(arena, value->value);
        paper_fmt(paper, "%.*s = %.*s", TEXT_ARG(value->name), TEXT_ARG(middle));
        if (!text_same(middle, range)) paper_fmt(paper, ", within %.*s", TEXT_ARG(range));
        paper_fmt(paper, ", by %.*s", TEXT_ARG(value->formula));
        paper_ink(paper, INK_DIM);
        if (value->source.len > 0) paper_fmt(paper, " (%.*s)", TEXT_ARG(value->source));
        paper_flow(paper, 2, 4);
    }
}

static void say_roles(Paper *paper, Arena *arena, const Bench *bench, const ReasonClaim *claim) {
    if (claim->role_count > 0) paper_title(paper, "Pins");
    for (uint32_t i = 0; i < claim->role_count; i++) {
        paper_fmt(paper, "%.*s  %.*s", TEXT_ARG(bench_pin_name(arena, bench, claim->roles[i].pin)),
                  TEXT_ARG(claim->roles[i].role));
        paper_flow(paper, 2, 4);
    }
}

static void say_list(Paper *paper, Arena *arena, const char *title, const Text *items, uint32_t count) {
    if (count > 0) paper_title(paper, title);
    for (uint32_t i = 0; i < count; i++) {
        paper_fmt(paper, "- ");
        paper_text(paper, words_sentence(arena, words_capital(arena, items[i])));
        paper_flow(paper, 2, 4);
    }
}

static void say_claim(Paper *paper, Arena *arena, const Bench *bench, const ReasonClaim *claim) {
    say_head(paper, arena, claim);
    say_list(paper, arena, "What to do first", claim->cautions, claim->caution_count);
    say_tally(paper, arena, bench->notebook, claim);
    say_values(paper, arena, claim);
    say_grounds(paper, arena, bench->notebook, claim);
    say_roles(paper, arena, bench, claim);
    say_list(paper, arena, "Wrong or risky", claim->warnings, claim->warning_count);
    say_list(paper, arena, "Left out to save money", claim->spared, claim->spared_count);
}

/* `87 %  id  sentence`, one a line: the id first, for a shell's completion. */
static void list_claims(Paper *paper, Arena *arena, const StoryClaims *claims) {
    for (uint32_t i = 0; i < claims->count; i++) {
        paper_ink(paper, INK_BOLD);
        paper_text(paper, claims->at[i]->id);
        paper_ink(paper, INK_PLAIN);
        paper_fmt(paper, "  (%.*s) ", TEXT_ARG(words_probability(arena, claims->at[i]->p)));
        paper_text(paper, report_sentence(arena, claims->at[i]));
        paper_flow(paper, 0, 4);
    }
}

static bool say_unknown(Paper *paper, Arena *arena, const Reasoning *reasoning, Text what) {
    enum { NEAR_MOST = 5 };
    Text ids[NEAR_MOST];
    size_t count = story_nearest(arena, reasoning, what, ids, NEAR_MOST);
    paper_fmt(paper, "There is no claim, part or pin \"%.*s\"", TEXT_ARG(what));
    paper_fmt(paper, count > 0 ? ". Near to it:" : ", and none near to it; without a claim, why lists all.");
    paper_flow(paper, 0, 2);
    for (size_t i = 0; i < count; i++) {
        paper_text(paper, ids[i]);
        paper_flow(paper, 2, 4);
    }
    return false;
}

bool report_why(Out *out, const Reasoning *reasoning, Text what, ReportStyle style) {
    Paper paper = paper_new(out, style);
    StoryClaims claims = story_about(out->arena, reasoning, what);
    if (claims.count == 1 && text_same(claims.at[0]->id, what)) {
        say_claim(&paper, out->arena, reasoning->bench, claims.at[0]);
        return true;
    }
    if (claims.count > 0) {
        list_claims(&paper, out->arena, &claims);
        return true;
    }
    if (what.len > 0 && !story_is_part_or_pin(reasoning->bench, what))
        return say_unknown(&paper, out->arena, reasoning, what);
    paper_fmt(&paper, what.len > 0 ? "Nothing is claimed about \"%.*s\" yet." : "Nothing is claimed yet%.*s.",
              TEXT_ARG(what));
    paper_flow(&paper, 0, 0);
    return true;
}
