/* Claims in the making, and what the files that make them share. */
#include "sums/follow.h"

#include <math.h>

/* How far figures of the circuit as noted are to be believed, before what speaks against them: rules of thumb. */
static const double PRIOR = 9.5;    /* dB: nine in ten */
static const double DIFFERS = -6.0; /* dB: readings of that mode differ from the sums */

Told told_new(Following *f, const char *slug, const char *name, const char *block, uint32_t part) {
    const BenchPart *at = &f->bench->parts.at[part];
    uint32_t *about = arena_many(f->arena, uint32_t, 1);
    *about = part;
    Told told = {.f = f};
    told.claim = (ReasonClaim){.sort = REASON_SUM,
                               .name = text_of(name),
                               .block = text_of(block),
                               .about = about,
                               .about_count = 1,
                               .own_count = 1};
    told.claim.id = text_fmt(f->arena, "%s:%.*s", slug, TEXT_ARG(at->ref));
    return told;
}

static void because(Told *told, Text says, double decibans, const uint32_t *lines, uint32_t count) {
    for (uint32_t i = 0; i < told->because.count; i++)
        if (text_same(told->because.at[i].says, says)) return;
    list_push(told->f->arena, &told->because,
              ((ReasonBecause){.says = says, .decibans = decibans, .lines = lines, .line_count = count}));
}

void told_because(Told *told, Text says, uint32_t line) {
    uint32_t *lines = arena_many(told->f->arena, uint32_t, 1);
    *lines = line;
    because(told, says, 0, lines, line > 0);
}

static uint32_t differing(const Sums *sums, uint32_t mode) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < sums->compared.count; i++)
        count += sums->compared.at[i].verdict == SUMS_OFF && sums->compared.at[i].mode == mode;
    return count;
}

void told_mode(Told *told, uint32_t mode, const SumsFigure *figure) {
    const Sums *sums = told->f->sums;
    const SumsMode *in = &sums->modes.at[mode];
    Arena *arena = told->f->arena;
    Text name = in->name.len > 0 ? text_fmt(arena, "the circuit of mode %.*s, solved", TEXT_ARG(in->name))
                                 : TEXT("the circuit, solved");
    because(told, name, 0, &in->line, in->line > 0);
    if (differing(sums, mode) > 0)
        because(told, text_fmt(arena, "readings of mode %.*s differ from the sums", TEXT_ARG(in->name)), DIFFERS, NULL, 0);
    if (figure == NULL || figure->hangs[0] >= sums->parameters.count) return;
    const SumsParameter *most = &sums->parameters.at[figure->hangs[0]];
    because(told, text_fmt(arena, "its spread comes most from the %.*s", TEXT_ARG(most->name)), 0, most->lines,
            most->line_count);
}

void told_value(Told *told, const char *name, Quantity value, const char *formula, const char *source) {
    list_push(told->f->arena, &told->values, ((ReasonValue){text_of(name), value, text_of(formula), text_of(source)}));
}

void told_warn(Told *told, Text warning) { list_push(told->f->arena, &told->warnings, warning); }
void told_caution(Told *told, Text caution) { list_push(told->f->arena, &told->cautions, caution); }

void told_add(Told *told, Text says) {
    ReasonClaim *claim = &told->claim;
    const BenchPart *part = &told->f->bench->parts.at[claim->about[0]];
    if (told->f->told == FOLLOWED_MOST || reason_claim(told->f->sums->reasoning, claim->id) != NULL) return;
    told->f->told++;
    because(told, text_fmt(told->f->arena, "worked out from %.*s as the notes describe it", TEXT_ARG(part->ref)), PRIOR,
            &part->line, part->line > 0);
    for (uint32_t i = 0; i < told->because.count; i++) claim->decibans += told->because.at[i].decibans;
    claim->says = says;
    claim->because = told->because.at, claim->because_count = told->because.count;
    claim->values = told->values.at, claim->value_count = told->values.count;
    claim->warnings = told->warnings.at, claim->warning_count = told->warnings.count;
    claim->cautions = told->cautions.at, claim->caution_count = told->cautions.count;
    reason_add_claim(told->f->arena, told->f->sums->reasoning, *claim);
}

/* ---- words and figures ---- */

Text follow_said(Following *f, Quantity quantity) {
    Out out = out_new(f->arena);
    quantity_print(&out, quantity);
    return out_text(&out);
}

Text follow_range(Following *f, Quantity quantity) {
    Out out = out_new(f->arena);
    quantity_print_range(&out, quantity);
    return out_text(&out);
}

Text follow_while(Following *f, uint32_t mode) {
    Text name = f->sums->modes.at[mode].name;
    const char *mean = f->switches[mode] ? ", on average" : "";
    return name.len == 0 ? text_of(mean) : text_fmt(f->arena, " in %.*s%s", TEXT_ARG(name), mean);
}

bool follow_is(const Following *f, uint32_t part, const char *kind) {
    return kind_is(f->bench, f->bench->parts.at[part].kind, kind);
}

uint32_t follow_pin(const Following *f, uint32_t part, const char *name) {
    const BenchPart *at = &f->bench->parts.at[part];
    const BenchUnit *unit = &f->bench->units.at[at->units[0]];
    int position = bench_kind_pin(f->bench->kinds, unit->kind, text_of(name));
    return position < 0 || (uint32_t)position >= unit->pin_count ? (uint32_t)BENCH_NONE : unit->pins[position];
}

/* The ground is at 0 V by definition, and has no figure. */
static SumsFigure volts_at(const Following *f, uint32_t mode, uint32_t pin) {
    uint32_t net = f->bench->pins.at[pin].net;
    return net == f->sums->ground ? (SumsFigure){.known = true} : f->sums->modes.at[mode].volts[net];
}

bool follow_volts(const Following *f, uint32_t mode, uint32_t plus, uint32_t minus, Quantity *volts) {
    if (plus == BENCH_NONE || minus == BENCH_NONE) return false;
    SumsFigure a = volts_at(f, mode, plus), b = volts_at(f, mode, minus);
    *volts = quantity_within(a.typical - b.typical, a.low - b.high, a.high - b.low, UNIT_VOLT);
    return a.known && b.known;
}

Quantity follow_size(const SumsFigure *figure) {
    double sign = figure->typical < 0 ? -1 : 1;
    return quantity_within(sign * figure->typical, sign * figure->low, sign * figure->high, UNIT_AMPERE);
}

const SumsFigure *figure_current(const SumsMode *mode, uint32_t part) { return &mode->current[part]; }
const SumsFigure *figure_power(const SumsMode *mode, uint32_t part) { return &mode->power[part]; }
const SumsFigure *figure_pin(const SumsMode *mode, uint32_t pin) { return &mode->pin[pin]; }

uint32_t follow_most(const Following *f, FigureOf *of, uint32_t at) {
    uint32_t found = BENCH_NONE;
    double most = -1;
    for (uint32_t m = 0; m < f->sums->modes.count; m++) {
        const SumsMode *mode = &f->sums->modes.at[m];
        const SumsFigure *figure = of(mode, at);
        if (!mode->solved || !figure->known || fabs(figure->typical) <= most) continue;
        most = fabs(figure->typical), found = m;
    }
    return found;
}

void follow_all(Sums *sums, Solved *solved) {
    Following f = {.arena = sums->arena, .sums = sums, .bench = sums->bench, .solved = solved};
    follow_gears(&f);
    follow_memories(&f);
    if (solved == NULL) return;
    for (uint32_t m = 0; m < sums->modes.count; m++) f.switches[m] = wire_phases(sums, m) > 1;
    f.heard = arena_many(f.arena, double, f.bench->parts.count + 1);
    follow_batteries(&f);
    follow_heat(&f);
    follow_ratings(&f);
    follow_lights(&f);
    follow_switches(&f);
    follow_stored(&f);
    follow_switching(&f);
    follow_sound(&f);
}
