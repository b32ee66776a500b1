/* The sums as claims and questions, so that whatever tells a reasoning tells them: one claim a mode, one for each reading
 * that differs, one for each explanation worth naming, and the reading to take next. */
#include "sums/mistakes.h"

#include <math.h>

/* Weights of evidence, in decibans: rules of thumb. */
static const double SUMMED = 6;   /* what was computed from the parts as noted, nothing read */
static const double READ = 8;     /* a reading of that mode agrees, others counting little more */
static const double DIFFERS = -9; /* a reading of that mode is off */
static const double OFF_MOST = 30, NAMED = 0.05;

static const char METHOD[] =
    "Kirchhoff's laws over the whole circuit, all parts at their middle; limits: 95 % of products made of such parts";

typedef struct Teller {
    Arena *arena;
    Sums *sums;
    LIST(ReasonBecause) because;
    LIST(ReasonValue) values;
    LIST(uint32_t) about;
} Teller;

static void fresh(Teller *t) {
    memset(&t->because, 0, sizeof t->because);
    memset(&t->values, 0, sizeof t->values);
    memset(&t->about, 0, sizeof t->about);
}

static void because(Teller *t, Text says, double decibans, Text place, const uint32_t *lines, uint32_t count) {
    list_push(t->arena, &t->because, ((ReasonBecause){says, decibans, place, lines, count}));
}

static const uint32_t *one_line(Teller *t, uint32_t line) {
    uint32_t *lines = arena_many(t->arena, uint32_t, 1);
    *lines = line;
    return lines;
}

static void value(Teller *t, Text name, const SumsFigure *figure, Unit unit) {
    if (figure->known)
        list_push(t->arena, &t->values,
                  ((ReasonValue){name, sums_quantity(figure, unit), TEXT("solved"), text_of(METHOD)}));
}

static void claim(Teller *t, ReasonClaim claim) {
    claim.sort = REASON_SUM;
    for (uint32_t i = 0; i < t->because.count; i++) claim.decibans += t->because.at[i].decibans;
    claim.because = t->because.at, claim.because_count = t->because.count;
    claim.values = t->values.at, claim.value_count = t->values.count;
    claim.about = t->about.at, claim.about_count = claim.own_count = t->about.count;
    reason_add_claim(t->arena, t->sums->reasoning, claim);
}

/* ---- a mode ---- */

static Text mode_name(const SumsMode *mode) { return mode->name.len > 0 ? mode->name : TEXT("at rest"); }

/* What gives the circuit its current: batteries and what is plugged in, first to last. */
static bool feeds(const Teller *t, uint32_t part, const SumsMode *mode) {
    const BenchKind *source = bench_kind(t->sums->bench->kinds, TEXT("source"));
    return source != NULL && bench_kind_is(t->sums->bench->parts.at[part].kind, source) && mode->current[part].known &&
           mode->power[part].typical < 0;
}

static void supplies(Teller *t, const SumsMode *mode, Out *says) {
    const Bench *bench = t->sums->bench;
    for (uint32_t p = 0; p < bench->parts.count; p++) {
        if (!feeds(t, p, mode)) continue;
        out_fmt(says, "%s%.*s gives ", t->about.count == 0 ? "" : ", ", TEXT_ARG(bench->parts.at[p].ref));
        quantity_print_spread(says, sums_quantity(&mode->current[p], UNIT_AMPERE));
        value(t, text_fmt(t->arena, "i(%.*s)", TEXT_ARG(bench->parts.at[p].ref)), &mode->current[p], UNIT_AMPERE);
        list_push(t->arena, &t->about, p);
    }
}

static void rails(Teller *t, const SumsMode *mode, Out *says) {
    enum { MOST = 3 };
    const Bench *bench = t->sums->bench;
    uint32_t told = 0;
    for (uint32_t n = 0; n < bench->nets.count && told < MOST; n++) {
        if (!t->sums->reasoning->supply[n] || !mode->volts[n].known || !bench->nets.at[n].named) continue;
        out_fmt(says, "%s%.*s is at ", told++ == 0 ? "; " : ", ", TEXT_ARG(bench->nets.at[n].name));
        quantity_print_spread(says, sums_quantity(&mode->volts[n], UNIT_VOLT));
        value(t, text_fmt(t->arena, "v(%.*s)", TEXT_ARG(bench->nets.at[n].name)), &mode->volts[n], UNIT_VOLT);
    }
}

static void readings_of(Teller *t, uint32_t mode) {
    uint32_t *agree = arena_many(t->arena, uint32_t, t->sums->compared.count + 1),
             *differ = arena_many(t->arena, uint32_t, t->sums->compared.count + 1);
    uint32_t agrees = 0, differs = 0;
    for (uint32_t i = 0; i < t->sums->compared.count; i++) {
        const SumsCompared *compared = &t->sums->compared.at[i];
        uint32_t line = t->sums->bench->readings.at[compared->reading].note->line;
        if (compared->mode == mode && compared->verdict == SUMS_AGREES) agree[agrees++] = line;
        if (compared->mode == mode && compared->verdict == SUMS_OFF) differ[differs++] = line;
    }
    if (agrees > 0) because(t, TEXT("readings of this mode agree (rule of thumb)"), READ, TEXT(""), agree, agrees);
    if (differs > 0) because(t, TEXT("a reading of this mode differs (rule of thumb)"), DIFFERS, TEXT(""), differ, differs);
}

static void tell_mode(Teller *t, uint32_t number) {
    const SumsMode *mode = &t->sums->modes.at[number];
    Out says = out_new(t->arena);
    fresh(t);
    if (!mode->solved) return;
    out_fmt(&says, mode->name.len > 0 ? "in %.*s " : "%.*s ", TEXT_ARG(mode_name(mode)));
    supplies(t, mode, &says);
    if (t->about.count == 0) return; /* nothing feeds it: nothing to tell */
    rails(t, mode, &says);
    out_lit(&says, " (computed)");
    because(t, TEXT("computed from the parts and joins as noted (rule of thumb)"), SUMMED, TEXT(""),
            one_line(t, mode->line), mode->line > 0);
    readings_of(t, number);
    for (uint32_t i = 0; i < mode->assumptions.count; i++)
        because(t, text_fmt(t->arena, "assumed: %.*s", TEXT_ARG(mode->assumptions.at[i].says)), 0, TEXT(""),
                mode->assumptions.at[i].lines, mode->assumptions.at[i].line_count);
    claim(t, (ReasonClaim){.id = text_fmt(t->arena, "sum:%.*s", TEXT_ARG(mode_name(mode))),
                           .name = text_fmt(t->arena, "what %.*s draws", TEXT_ARG(mode_name(mode))),
                           .block = TEXT("power"),
                           .says = out_text(&says)});
}

/* ---- what differs ---- */

static Text id_of(Teller *t, const char *before, Text name) {
    Out out = out_new(t->arena);
    out_add(&out, text_of(before));
    for (size_t i = 0; i < name.len; i++) out_char(&out, name.at[i] == ' ' ? '-' : name.at[i]);
    if (reason_claim(t->sums->reasoning, out_text(&out)) != NULL) out_fmt(&out, ".%u", t->sums->reasoning->claims.count);
    return out_text(&out);
}

static Quantity expected_of(const Teller *t, const SumsCompared *compared) {
    return quantity_within(compared->typical, compared->low, compared->high,
                           t->sums->bench->readings.at[compared->reading].value.unit);
}

/* The weight for a reading being off for a reason: the tail of a normal distribution beyond it, both sides; capped, since
 * no uncertainty is known that well. */
static double off_decibans(double off) { return fmin(decibans_of_probability(1 - erfc(fabs(off) / sqrt(2))), OFF_MOST); }

static void tell_off(Teller *t, const SumsCompared *compared) {
    const BenchReading *reading = &t->sums->bench->readings.at[compared->reading];
    Text what = mistake_reading(t->arena, t->sums, compared->reading);
    Out says = out_new(t->arena);
    fresh(t);
    out_fmt(&says, "%.*s was read as %.*s, but the parts and all other readings make it ", TEXT_ARG(what),
            TEXT_ARG(reading->note->reading->value.written));
    quantity_print_spread(&says, expected_of(t, compared));
    out_fmt(&says, ": off by %.0f of the standard uncertainty of both", fabs(compared->off));
    because(t, text_fmt(t->arena, "off by %.1f standard uncertainties, which chance hardly makes", compared->off),
            off_decibans(compared->off), TEXT(""), one_line(t, reading->note->line), 1);
    if (reading->about_what == BENCH_ABOUT_PART) list_push(t->arena, &t->about, reading->about[0]);
    list_push(t->arena, &t->values, ((ReasonValue){what, expected_of(t, compared), TEXT("solved"), text_of(METHOD)}));
    claim(t, (ReasonClaim){.id = id_of(t, "differs:", what),
                           .name = TEXT("a reading that differs from the sums"),
                           .says = out_text(&says)});
}

static void tell_explanation(Teller *t, uint32_t number) {
    const SumsExplanation *explanation = &t->sums->explanations.at[number];
    fresh(t);
    because(t, TEXT("how rare such a mistake is before any reading"), explanation->decibans, explanation->place,
            explanation->lines, explanation->line_count);
    because(t, TEXT("how well all readings of all modes fit with it, beside all other explanations"),
            decibans_of_probability(explanation->p) - explanation->decibans, TEXT(""), NULL, 0);
    claim(t, (ReasonClaim){
                 .id = text_fmt(t->arena, "explains:%u", number + 1),
                 .name = TEXT("what would explain a reading that differs"),
                 .says = text_fmt(t->arena, "One mistake would explain what differs: %.*s", TEXT_ARG(explanation->says))});
}

static void ask_reading(Teller *t) {
    double doubt = 0;
    uint32_t *lines = arena_many(t->arena, uint32_t, t->sums->compared.count + 1), count = 0;
    for (uint32_t i = 0; i < t->sums->explanations.count; i++) {
        double p = t->sums->explanations.at[i].p;
        doubt -= p > 0 ? p * log2(p) : 0;
    }
    for (uint32_t i = 0; i < t->sums->compared.count; i++)
        if (t->sums->compared.at[i].verdict == SUMS_OFF)
            lines[count++] = t->sums->bench->readings.at[t->sums->compared.at[i].reading].note->line;
    sums_ask(
        t->sums,
        (ReasonOpen){
            .ask = t->sums->best_reading, .claim = TEXT("explains:1"), .bits = doubt, .lines = lines, .line_count = count});
}

void tell_all(Sums *sums) {
    Teller t = {.arena = sums->arena, .sums = sums};
    for (uint32_t i = 0; i < sums->modes.count; i++) tell_mode(&t, i);
    for (uint32_t i = 0; i < sums->compared.count; i++)
        if (sums->compared.at[i].verdict == SUMS_OFF) tell_off(&t, &sums->compared.at[i]);
    for (uint32_t i = 0; i < sums->explanations.count; i++)
        if (sums->explanations.at[i].p >= NAMED) tell_explanation(&t, i);
    if (sums->best_reading.len > 0) ask_reading(&t);
}
