/* The sums on the terminal: what differs from the meter first and what would explain it, then all readings beside the sums,
 * then mode by mode the volts of the nets, the currents and powers of the parts, and what was taken for granted. */
#include "draw/plot.h"
#include "report/paper.h"
#include "report/words.h"

#include <math.h>

typedef struct Telling {
    Paper paper;
    Arena *arena;
    const Sums *sums;
    const Bench *bench;
} Telling;

static Text spread(Arena *arena, Quantity quantity) {
    Out out = out_new(arena);
    quantity_print_spread(&out, quantity);
    return out_text(&out);
}

/* ---- beside the meter ---- */

static Quantity expected(const Bench *bench, const SumsCompared *compared) {
    return quantity_within(compared->typical, compared->low, compared->high,
                           bench->readings.at[compared->reading].value.unit);
}

static void say_explanations(Telling *t) {
    Paper *paper = &t->paper;
    if (t->sums->explanations.count == 0) return;
    paper_gap(paper);
    paper_fmt(paper, "One mistake would explain it, likeliest first (%u were supposed):", t->sums->tried);
    paper_flow(paper, 2, 2);
    for (uint32_t i = 0; i < t->sums->explanations.count; i++) {
        const SumsExplanation *explanation = &t->sums->explanations.at[i];
        paper_fmt(paper, "%10.*s  ", TEXT_ARG(words_probability(t->arena, explanation->p)));
        paper_text(paper, words_capital(t->arena, words_sentence(t->arena, explanation->says)));
        paper_ink(paper, INK_DIM);
        Text lines = words_lines(t->arena, explanation->lines, explanation->line_count);
        if (lines.len > 0) paper_fmt(paper, " (%.*s)", TEXT_ARG(lines));
        paper_flow(paper, 2, 14);
    }
    paper_fmt(paper, "%10.*s  something else, two mistakes at once, or chance.",
              TEXT_ARG(words_probability(t->arena, t->sums->p_other)));
    paper_flow(paper, 2, 14);
    if (t->sums->best_reading.len == 0) return;
    paper_gap(paper);
    paper_text(paper, TEXT("To settle it: "));
    paper_text(paper, t->sums->best_reading);
    paper_flow(paper, 2, 4);
}

static void say_differing(Telling *t) {
    Paper *paper = &t->paper;
    if (t->sums->differ == 0) return;
    paper_title(paper, "What differs");
    for (uint32_t i = 0; i < t->sums->compared.count; i++) {
        const SumsCompared *compared = &t->sums->compared.at[i];
        const BenchReading *reading = &t->bench->readings.at[compared->reading];
        if (compared->verdict != SUMS_OFF) continue;
        paper_ink(paper, INK_ALARM);
        paper_fmt(paper, "! ");
        paper_ink(paper, INK_PLAIN);
        paper_text(paper, bench_reading_name(t->arena, reading));
        if (reading->mode.len > 0) paper_fmt(paper, " in %.*s", TEXT_ARG(reading->mode));
        paper_fmt(
            paper,
            " was read as %.*s. The parts and all other readings make it %.*s: the reading is too %s by %.0f times the "
            "standard uncertainty of both together.",
            TEXT_ARG(reading->note->reading->value.written), TEXT_ARG(spread(t->arena, expected(t->bench, compared))),
            compared->off < 0 ? "low" : "high", fabs(compared->off));
        paper_ink(paper, INK_DIM);
        paper_fmt(paper, " (line %u)", reading->note->line);
        paper_flow(paper, 2, 4);
    }
    say_explanations(t);
}

static Text verdict(Arena *arena, const SumsCompared *compared) {
    switch (compared->verdict) {
    case SUMS_AGREES:
        return TEXT("agrees");
    case SUMS_OFF:
        return text_fmt(arena, "off: %+.0f u", compared->off);
    case SUMS_ALONE:
        return TEXT("only it tells");
    default:
        return compared->why;
    }
}

static void say_readings(Telling *t) {
    enum { CELLS = 6 };
    uint32_t count = t->sums->compared.count;
    if (count == 0) return;
    Text *cells = arena_many(t->arena, Text, (size_t)count * CELLS);
    for (uint32_t i = 0; i < count; i++) {
        const SumsCompared *compared = &t->sums->compared.at[i];
        const BenchReading *reading = &t->bench->readings.at[compared->reading];
        Text *row = cells + (size_t)i * CELLS;
        row[0] = bench_reading_name(t->arena, reading), row[1] = reading->mode;
        row[2] = reading->note->reading->value.written;
        row[3] = compared->verdict == SUMS_UNKNOWN ? TEXT("") : spread(t->arena, expected(t->bench, compared));
        row[4] = verdict(t->arena, compared);
        row[5] = text_fmt(t->arena, "%u", reading->note->line);
    }
    paper_title(&t->paper, "Beside the meter");
    paper_table(&t->paper, &(PaperTable){.cell_count = CELLS,
                                         .heads = {"reading", "mode", "read", "by all else", "verdict", "line"},
                                         .widest = {16, 12, 10, 18, 0, 6},
                                         .cells = cells,
                                         .row_count = count});
    paper_fmt(&t->paper, "By all else: what the parts and all other readings make of it, 95 %%. u: the standard "
                         "uncertainty of that and the meter.");
    paper_flow(&t->paper, 2, 2);
}

/* ---- a mode ---- */

static Text worst_text(Arena *arena, const SumsFigure *figure, Unit unit) {
    if (!figure->known || words_nothing(figure, unit)) return TEXT("");
    return words_range(arena, quantity_within(figure->typical, figure->least, figure->most, unit));
}

static Text hangs_text(Telling *t, const SumsFigure *figure, Unit unit) {
    Out out = out_new(t->arena);
    for (int i = 0; i < 2 && !words_nothing(figure, unit) && figure->hangs[i] != BENCH_NONE; i++)
        out_fmt(&out, "%s%.*s", i == 0 ? "" : "; ", TEXT_ARG(t->sums->parameters.at[figure->hangs[i]].name));
    return out_text(&out);
}

static void say_nets(Telling *t, const SumsMode *mode) {
    enum { CELLS = 4 };
    uint32_t count = 0;
    Text *cells = arena_many(t->arena, Text, (size_t)t->bench->nets.count * CELLS + 1);
    for (uint32_t n = 0; n < t->bench->nets.count; n++) {
        const SumsFigure *figure = &mode->volts[n];
        if (!figure->known || t->bench->nets.at[n].pin_count < 2) continue;
        Text *row = cells + (size_t)count++ * CELLS;
        row[0] = t->bench->nets.at[n].name, row[1] = words_figure(t->arena, figure, UNIT_VOLT);
        row[2] = worst_text(t->arena, figure, UNIT_VOLT), row[3] = hangs_text(t, figure, UNIT_VOLT);
    }
    if (count == 0) return;
    paper_table(&t->paper, &(PaperTable){.cell_count = CELLS,
                                         .heads = {"net", "volts, 95 %", "worst case", "hangs most on"},
                                         .widest = {10, 18, 16, 0},
                                         .cells = cells,
                                         .row_count = count});
}

static void say_parts(Telling *t, const SumsMode *mode) {
    enum { CELLS = 4 };
    uint32_t count = 0;
    Text *cells = arena_many(t->arena, Text, (size_t)t->bench->parts.count * CELLS + 1);
    for (uint32_t p = 0; p < t->bench->parts.count; p++) {
        const SumsFigure *current = &mode->current[p], *power = &mode->power[p];
        if (!current->known || (words_nothing(current, UNIT_AMPERE) && words_nothing(power, UNIT_WATT))) continue;
        Text *row = cells + (size_t)count++ * CELLS;
        row[0] = t->bench->parts.at[p].ref, row[1] = words_figure(t->arena, current, UNIT_AMPERE);
        row[2] = worst_text(t->arena, current, UNIT_AMPERE), row[3] = words_figure(t->arena, power, UNIT_WATT);
    }
    if (count == 0) return;
    paper_gap(&t->paper);
    paper_table(&t->paper, &(PaperTable){.cell_count = CELLS,
                                         .heads = {"part", "current, 95 %", "worst case", "power, 95 %"},
                                         .widest = {10, 18, 16, 0},
                                         .cells = cells,
                                         .row_count = count});
}

static void say_assumed(Telling *t, const SumsMode *mode) {
    Paper *paper = &t->paper;
    if (mode->assumptions.count == 0) return;
    paper_ink(paper, INK_DIM);
    paper_text(paper, TEXT("Taken for granted: "));
    for (uint32_t i = 0; i < mode->assumptions.count; i++) {
        if (i > 0) paper_text(paper, TEXT("; "));
        paper_text(paper, mode->assumptions.at[i].says);
    }
    paper_text(paper, TEXT("."));
    paper_flow(paper, 2, 2);
}

static void say_mode(Telling *t, const SumsMode *mode) {
    Paper *paper = &t->paper;
    Text name = mode->name.len > 0 ? words_capital(t->arena, mode->name) : TEXT("At rest");
    paper_title(paper, text_cstring(t->arena, name));
    if (!mode->solved) {
        paper_ink(paper, INK_ALARM);
        paper_text(paper, TEXT("! "));
        paper_ink(paper, INK_PLAIN);
        paper_text(paper, words_sentence(t->arena, text_fmt(t->arena, "No answer: %.*s", TEXT_ARG(mode->fault))));
        if (mode->hint.len > 0)
            paper_fmt(paper, " %.*s", TEXT_ARG(words_capital(t->arena, words_sentence(t->arena, mode->hint))));
        paper_flow(paper, 2, 4);
        return;
    }
    const ReasonClaim *claim = reason_claim(
        t->sums->reasoning, text_fmt(t->arena, "sum:%.*s", TEXT_ARG(mode->name.len > 0 ? mode->name : TEXT("at rest"))));
    paper_text(paper, claim != NULL ? report_sentence(t->arena, claim) : TEXT("Nothing is known to feed the circuit."));
    paper_flow(paper, 2, 2);
    say_assumed(t, mode);
    paper_gap(paper);
    say_nets(t, mode);
    say_parts(t, mode);
}

/* In its unit, where quantities know it; a motor's friction in N m, which they would take for joules, with the symbol
 * behind. */
static Text amount(Telling *t, const SumsParameter *parameter) {
    Quantity quantity = quantity_within(parameter->typical, parameter->low, parameter->high, UNIT_NONE);
    double factor;
    Unit unit;
    if (unit_parse(parameter->symbol, &unit, &factor)) return quantity.unit = unit, spread(t->arena, quantity);
    Text says = spread(t->arena, quantity);
    return parameter->symbol.len == 0 ? says : text_fmt(t->arena, "%.*s %.*s", TEXT_ARG(says), TEXT_ARG(parameter->symbol));
}

static void say_fitted(Telling *t) {
    bool any = false;
    for (uint32_t i = 0; i < t->sums->parameters.count; i++) {
        const SumsParameter *parameter = &t->sums->parameters.at[i];
        if (!parameter->fitted) continue;
        if (!any) paper_title(&t->paper, "What only the meter could tell");
        any = true;
        paper_text(&t->paper, words_capital(t->arena, parameter->name));
        if (parameter->mode != BENCH_NONE)
            paper_fmt(&t->paper, " in %.*s", TEXT_ARG(t->sums->modes.at[parameter->mode].name));
        paper_fmt(&t->paper, ": %.*s", TEXT_ARG(amount(t, parameter)));
        paper_ink(&t->paper, INK_DIM);
        paper_fmt(&t->paper, " (%.*s)", TEXT_ARG(words_lines(t->arena, parameter->lines, parameter->line_count)));
        paper_flow(&t->paper, 2, 4);
    }
}

/* Battery life, heat, ratings ...: the claims that the sums made of parts; and times, frequencies and charge currents,
 * which a recognised circuit's own formula gives. */
static bool follows(const ReasonClaim *claim) {
    if (claim->sort == REASON_SUM)
        return claim->about_count > 0 && claim->value_count > 0 && !text_starts(claim->id, "sum:") &&
               !text_starts(claim->id, "differs:");
    for (uint32_t i = 0; claim->sort == REASON_IDIOM && i < claim->value_count; i++) {
        Unit unit = claim->values[i].value.unit;
        if (unit_same(unit, UNIT_HERTZ) || unit_same(unit, UNIT_SECOND) || text_is(claim->values[i].name, "charge-current"))
            return true;
    }
    return false;
}

static void say_what_follows(Telling *t) {
    const Reasoning *reasoning = t->sums->reasoning;
    bool any = false;
    for (uint32_t i = 0; i < reasoning->claims.count; i++) {
        const ReasonClaim *claim = &reasoning->claims.at[i];
        if (!follows(claim)) continue;
        if (!any) paper_title(&t->paper, "What follows");
        any = true;
        paper_text(&t->paper, report_sentence(t->arena, claim));
        paper_ink(&t->paper, INK_DIM);
        paper_fmt(&t->paper, " (why: %.*s)", TEXT_ARG(claim->id));
        paper_flow(&t->paper, 2, 4);
        for (uint32_t k = 0; k < claim->warning_count; k++) {
            paper_ink(&t->paper, INK_ALARM);
            paper_fmt(&t->paper, "! ");
            paper_ink(&t->paper, INK_PLAIN);
            paper_text(&t->paper, claim->warnings[k]);
            paper_flow(&t->paper, 4, 6);
        }
    }
}

void report_sums(Out *out, const Sums *sums, ReportStyle style) {
    Telling t = {.paper = paper_new(out, style), .arena = out->arena, .sums = sums, .bench = sums->bench};
    const Note *product = sums->bench->product;
    paper_ink(&t.paper, INK_BOLD);
    paper_text(&t.paper,
               product != NULL && product->product.name.len > 0 ? product->product.name : TEXT("A product without a name"));
    paper_text(&t.paper, TEXT(": the sums"));
    paper_flow(&t.paper, 0, 0);
    say_differing(&t);
    say_readings(&t);
    say_fitted(&t);
    for (uint32_t i = 0; i < sums->modes.count; i++) say_mode(&t, &sums->modes.at[i]);
    say_what_follows(&t);
    if (sums->left_out == 0) return;
    paper_gap(&t.paper);
    paper_fmt(&t.paper, "%u more modes were not summed.", sums->left_out);
    paper_flow(&t.paper, 0, 0);
}
