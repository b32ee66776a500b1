/* How far each chip is from having too little: as the cells sag, while a motor starts, and when the cells lose contact. */
#include "sums/drain.h"

#include <math.h>

static double volts_of(Draining *d, uint32_t mode, uint32_t chip) {
    double volts;
    return solved_figure(&d->solved[mode], d->chips[chip].figure, &volts, NULL) ? volts : NAN;
}

/* A chip's supply with the cells at a share of their charge; while motors start, if they do. */
static double volts_at(Draining *d, uint32_t mode, double share, uint32_t chip) {
    if (!drain_set(d, mode, share)) return NAN;
    if (!drain_starts(d, mode)) return volts_of(d, mode, chip);
    double volts = drain_hold(d, mode, true) ? volts_of(d, mode, chip) : NAN;
    drain_hold(d, mode, false);
    return volts;
}

static bool starves(Draining *d, uint32_t mode, double share, uint32_t chip) {
    double volts = volts_at(d, mode, share, chip);
    return !isnan(volts) && volts < d->chips[chip].least;
}

/* ---- when the cells lose contact ---- */

typedef struct Held {
    const Draining *d;
    const Circuit *circuit;
    CircuitNode plus, minus;
    double least, seconds;   /* NAN until it has too little */
    double last, last_volts; /* the point before */
} Held;

static bool watch_supply(void *context, const CircuitSolver *solver, double seconds) {
    Held *held = context;
    double volts = circuit_voltage(solver, held->plus) - circuit_voltage(solver, held->minus);
    if (volts < held->least) { /* somewhere between the last two points */
        double share = held->last_volts > volts ? (held->last_volts - held->least) / (held->last_volts - volts) : 1;
        held->seconds = held->last + fmin(fmax(share, 0), 1) * (seconds - held->last);
        return false;
    }
    held->last = seconds, held->last_volts = volts;
    return true;
}

/* s from when the cells lose contact until the chip has less than it needs: capacitors alone feed it. NAN: longer than a
 * minute, or not known. */
static double holds_up(Draining *d, uint32_t mode, uint32_t chip) {
    enum { STEPS = 1500, ELEMENTS_MOST = 400 };
    static const double APART = 1e9, LONGEST = 60; /* ohm; s */
    Solved *s = &d->solved[mode];
    const Wiring *w = s->wiring[0];
    Figure across = d->chips[chip].figure;
    Held held = {.d = d, .least = d->chips[chip].least, .seconds = NAN};
    CircuitFault fault;
    if (s->phases > 1 || circuit_element_count(w->circuit) > ELEMENTS_MOST || !drain_set(d, mode, 1)) return NAN;
    held.plus = w->node[across.at], held.minus = across.against == BENCH_NONE ? 0 : w->node[across.against];
    if (held.plus == SUMS_NO_NODE || held.minus == SUMS_NO_NODE) return NAN;
    for (uint32_t e = w->first[d->part]; e < w->first[d->part + 1]; e++)
        if (circuit_kind_of(w->circuit, e) == CIRCUIT_RESISTOR) circuit_vary(s->solver[0], e, RESISTOR_OHMS, APART);
    circuit_run(
        s->solver[0],
        (CircuitRun){
            .until = LONGEST, .step_most = LONGEST / 50, .steps_most = STEPS, .watch = watch_supply, .context = &held},
        &fault);
    drain_set(d, mode, 1);
    return held.seconds;
}

static void tell_hold_up(Draining *d, uint32_t chip) {
    Following *f = d->f;
    uint32_t part = d->chips[chip].part, told_modes = 0;
    Told told = told_new(f, "hold-up", "what capacitors hold up", "power", part);
    Out out = out_new(f->arena);
    out_fmt(&out, "When the cells lose contact, %.*s still has enough", TEXT_ARG(f->bench->parts.at[part].ref));
    for (uint32_t m = 0; m < f->sums->modes.count; m++) {
        double seconds = d->fine[m] && !starves(d, m, 1, chip) ? holds_up(d, m, chip) : NAN;
        static const double MOMENT = 1e-6; /* s: nothing holds it */
        if (isnan(seconds) || seconds < MOMENT) continue;
        Quantity lasts =
            quantity_within(seconds, 0.6 * seconds, 1.6 * seconds, UNIT_SECOND); /* capacitors by their usual tolerance */
        Text name = f->sums->modes.at[m].name;
        out_fmt(&out, "%s for about %.*s", told_modes++ == 0 ? "" : ",", TEXT_ARG(follow_said(f, lasts)));
        if (name.len > 0) out_fmt(&out, " in %.*s", TEXT_ARG(name));
        told_mode(&told, m, NULL);
        const char *of =
            name.len > 0 ? text_cstring(f->arena, text_fmt(f->arena, "hold-up-in-%.*s", TEXT_ARG(name))) : "hold-up";
        told_value(&told, of, lasts,
                   "the circuit followed through time from when the cells are gone until the chip has too little",
                   "trapezoidal rule: L. W. Nagel, ERL-M520, 1975, from memory");
    }
    out_char(&out, '.');
    if (told_modes > 0) told_add(&told, out_text(&out));
}

/* ---- margins ---- */

static void tell_margin(Draining *d, uint32_t chip) {
    Following *f = d->f;
    uint32_t part = d->chips[chip].part, mode = BENCH_NONE;
    double least = d->chips[chip].least, fresh = INFINITY, share = 0;
    for (uint32_t m = 0; m < f->sums->modes.count; m++) { /* the mode that leaves it the least */
        double volts = d->fine[m] ? volts_at(d, m, 1, chip) : NAN;
        if (!isnan(volts) && volts < fresh) fresh = volts, mode = m;
    }
    if (mode == BENCH_NONE || !isfinite(fresh)) return;
    share = drain_fails_at(d, mode, starves, chip);
    bool starts = drain_starts(d, mode);
    double cell = mark_open_volts(&d->discharge, share) / d->discharge.in_series, makes = d->discharge.chemistry->spread;
    Told told = told_new(f, "brown-out", "brown-out margin", "power", part);
    told_mode(&told, mode, NULL);
    told_because(&told, text_fmt(f->arena, "what such cells give: %.*s", TEXT_ARG(d->discharge.source)),
                 f->bench->parts.at[d->part].line);
    told_value(&told, "needs", quantity_exact(least, UNIT_VOLT), "least supply", "the catalogue's part");
    told_value(&told, "has-fresh", quantity_within(fresh, 0.97 * fresh, 1.03 * fresh, UNIT_VOLT),
               starts ? "the solved circuit with the motors' shafts held" : "the solved circuit",
               "open-circuit volts and inner resistance of published data sheets, from memory");
    told_value(&told, "margin", quantity_within(fresh - least, 0.97 * fresh - least, 1.03 * fresh - least, UNIT_VOLT),
               "has-fresh - needs", "Kirchhoff's voltage law");
    if (share > 0)
        told_value(&told, "charge-left",
                   quantity_within(share, share * (1 - makes), fmin(1, share * (1 + makes)), UNIT_NONE),
                   "the mode solved as the charge is stepped down",
                   "open-circuit volts by charge of published data sheets, from memory");
    Text ref = f->bench->parts.at[part].ref, dip = starts ? TEXT(" while a motor starts") : TEXT("");
    Text in = follow_while(f, mode);
    if (fresh < least)
        told_warn(&told,
                  text_fmt(f->arena, "%.*s has too little even with fresh cells%.*s.", TEXT_ARG(ref), TEXT_ARG(dip)));
    Out out = out_new(f->arena);
    out_fmt(&out, "%.*s needs %.2f V and has %.2f V with fresh cells%.*s%.*s", TEXT_ARG(ref), least, fresh, TEXT_ARG(in),
            TEXT_ARG(dip));
    if (share >= 1)
        out_lit(&out, ": too little from the first.");
    else if (share > 0)
        out_fmt(&out, ", a margin of %.2f V; too little from about %.0f %% of their charge on, %.2f V a cell.",
                fresh - least, 100 * share, cell);
    else
        out_fmt(&out, ", a margin of %.2f V that lasts until the charge is out.", fresh - least);
    told_add(&told, out_text(&out));
}

void follow_margins(Draining *d) {
    enum { CHIPS_MOST = 8 }; /* each costs some dozen solutions */
    for (uint32_t i = 0; i < d->chip_count && i < CHIPS_MOST; i++) tell_margin(d, i), tell_hold_up(d, i);
}
