/* Lights and switches: what current an LED has, and whether a transistor is surely saturated. */
#include "sums/follow.h"
#include "sums/formulas.h"

static const double LIT = 50e-6;     /* A below which nobody sees a small LED by day */
static const double SWITCHES = 1e-3; /* A of collector current from which on a transistor is asked whether it saturates */

void follow_lights(Following *f) {
    for (uint32_t p = 0; p < f->bench->parts.count; p++) {
        uint32_t anode = follow_is(f, p, "led") ? follow_pin(f, p, "A") : (uint32_t)BENCH_NONE;
        uint32_t mode = anode == BENCH_NONE ? (uint32_t)BENCH_NONE : follow_most(f, figure_pin, anode);
        if (mode == BENCH_NONE) continue;
        const SumsFigure *figure = &f->sums->modes.at[mode].pin[anode];
        if (figure->typical < LIT) continue;
        Quantity current = sums_quantity(figure, UNIT_AMPERE), volts;
        Told told = told_new(f, "led-current", "LED current", "light", p);
        told_mode(&told, mode, figure);
        told_value(&told, "current", current, "the solved circuit, averaged over the states of the pins that switch",
                   "Kirchhoff's laws");
        if (follow_volts(f, mode, anode, follow_pin(f, p, "K"), &volts))
            told_value(&told, "forward-voltage", volts, "the solved circuit", "Kirchhoff's laws");
        told_add(&told, text_fmt(f->arena, "%.*s gets %.*s%.*s.", TEXT_ARG(f->bench->parts.at[p].ref),
                                 TEXT_ARG(follow_said(f, current)), TEXT_ARG(follow_while(f, mode))));
    }
}

static void saturation(Following *f, uint32_t part) {
    uint32_t collector = follow_pin(f, part, "C"), base = follow_pin(f, part, "B");
    uint32_t mode =
        collector == BENCH_NONE || base == BENCH_NONE ? (uint32_t)BENCH_NONE : follow_most(f, figure_pin, collector);
    Quantity gain, across;
    Text source;
    if (mode == BENCH_NONE || !bench_part_property(&f->bench->parts.at[part], TEXT("hfe"), &gain, &source)) return;
    const SumsMode *in = &f->sums->modes.at[mode];
    double ic = fabs(in->pin[collector].typical), ib = fabs(in->pin[base].typical);
    if (ic < SWITCHES || !(ib > 0) || !in->pin[base].known ||
        !follow_volts(f, mode, collector, follow_pin(f, part, "E"), &across))
        return;
    double forced = gain_forced(ic, ib);
    bool saturated = fabs(across.value) < 0.4; /* V: saturated small transistors drop 0.1 to 0.3 V (common practice) */
    const char *how = forced <= gain.low / 2 ? "well saturated"
                      : forced <= gain.low   ? "just saturated"
                      : saturated            ? "saturated only if its gain is high"
                                             : "not saturated";
    Told told = told_new(f, "saturation", "saturation", "output", part);
    told_mode(&told, mode, &in->pin[collector]);
    told_because(&told, text_fmt(f->arena, "its current gain: %.*s", TEXT_ARG(source)), f->bench->parts.at[part].line);
    told_value(&told, "collector-current", follow_size(&in->pin[collector]), "the solved circuit", "Kirchhoff's laws");
    told_value(&told, "base-current", follow_size(&in->pin[base]), "the solved circuit", "Kirchhoff's laws");
    told_value(
        &told, "forced-gain", quantity_within(forced, 0.8 * forced, 1.25 * forced, UNIT_NONE),
        "collector current / base current",
        "data sheets test saturation at a forced gain of 10; half the current gain is the usual limit: common practice");
    if (forced > gain.low)
        told_warn(&told, text_fmt(f->arena, "%.*s would want more base current: it drops volts and gets warm.",
                                  TEXT_ARG(f->bench->parts.at[part].ref)));
    told_add(&told,
             text_fmt(f->arena, "%.*s carries %.*s with %.*s into its base%.*s, a forced gain of %.2g: %s.",
                      TEXT_ARG(f->bench->parts.at[part].ref), TEXT_ARG(follow_said(f, follow_size(&in->pin[collector]))),
                      TEXT_ARG(follow_said(f, follow_size(&in->pin[base]))), TEXT_ARG(follow_while(f, mode)), forced, how));
}

void follow_switches(Following *f) {
    for (uint32_t p = 0; p < f->bench->parts.count; p++)
        if (follow_is(f, p, "bipolar")) saturation(f, p);
}
