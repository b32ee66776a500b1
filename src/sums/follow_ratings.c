/* Ratings: volts and amperes of each part in its worst mode beside the most that it is made for. Told is what comes near.
 */
#include "sums/follow.h"

#include <math.h>

static const double NEAR = 0.8; /* of a rating from which on it is told: designs leave a fifth (common practice) */

typedef struct Rating {
    uint32_t part, mode;
    const char *what;  /* "voltage" */
    Quantity is, most; /* most: from its least to its largest figure */
    Text source;
} Rating;

static void tell_rating(Following *f, const Rating *r) {
    const BenchPart *at = &f->bench->parts.at[r->part];
    if (r->is.high < NEAR * r->most.low) return;
    Told told = told_new(f, "rating", "rating", "protection", r->part);
    Text is = follow_said(f, r->is), most = follow_range(f, r->most);
    told_mode(&told, r->mode, NULL);
    told_because(&told, text_fmt(f->arena, "its limit: %.*s", TEXT_ARG(r->source)), at->line);
    told_value(&told, r->what, r->is, "the solved circuit", "Kirchhoff's laws");
    told_value(&told, "limit", r->most, "what it is made for", "its data sheet, its note, or the usual of its kind");
    const char *how = r->is.value > r->most.high         ? "more than"
                      : r->is.value > r->most.low        ? "about as much as"
                      : r->is.value > NEAR * r->most.low ? "near"
                                                         : "by the tolerances perhaps near";
    if (r->is.value > r->most.high)
        told_warn(&told,
                  text_fmt(f->arena, "%.*s is overloaded%.*s.", TEXT_ARG(at->ref), TEXT_ARG(follow_while(f, r->mode))));
    else if (r->is.high > r->most.low)
        told_warn(&told, text_fmt(f->arena, "%.*s may be overloaded%.*s, by the tolerances.", TEXT_ARG(at->ref),
                                  TEXT_ARG(follow_while(f, r->mode))));
    told_add(&told, text_fmt(f->arena, "%.*s: %s of %.*s%.*s, %s the %.*s that it is made for.", TEXT_ARG(at->ref), r->what,
                             TEXT_ARG(is), TEXT_ARG(follow_while(f, r->mode)), how, TEXT_ARG(most)));
}

/* The mode in which the volts from plus to minus are largest (sign: 1 that way, -1 the other, 0 either). */
static bool most_volts(Following *f, uint32_t plus, uint32_t minus, int sign, Quantity *most, uint32_t *mode) {
    bool found = false;
    for (uint32_t m = 0; m < f->sums->modes.count; m++) {
        Quantity v;
        if (!f->sums->modes.at[m].solved || !follow_volts(f, m, plus, minus, &v)) continue;
        if (sign < 0 || (sign == 0 && v.value < 0)) v = quantity_within(-v.value, -v.low, -v.high, UNIT_VOLT);
        if (found && v.value <= most->value) continue;
        *most = v, *mode = m, found = true;
    }
    return found;
}

static void capacitor_volts(Following *f, uint32_t part) {
    const BenchPart *at = &f->bench->parts.at[part];
    bool polar = follow_is(f, part, "electrolytic");
    uint32_t plus = follow_pin(f, part, polar ? "+" : "1"), minus = follow_pin(f, part, polar ? "-" : "2"), mode;
    Quantity volts;
    if (unit_same(at->rating.unit, UNIT_VOLT) && at->rating.value > 0 && most_volts(f, plus, minus, polar, &volts, &mode))
        tell_rating(f, &(Rating){part, mode, "voltage", volts, at->rating, TEXT("its note")});
    const double reversed =
        1; /* V: an electrolytic bears about that the wrong way round for a short while (common practice) */
    if (!polar || !most_volts(f, plus, minus, -1, &volts, &mode) || volts.value < reversed) return;
    Told told = told_new(f, "reversed", "rating", "protection", part);
    told_mode(&told, mode, NULL);
    told_value(&told, "reverse-voltage", volts, "from its - to its +", "Kirchhoff's laws");
    told_warn(&told,
              text_fmt(f->arena, "%.*s stands the wrong way round%.*s: electrolytic capacitors then heat up and burst.",
                       TEXT_ARG(at->ref), TEXT_ARG(follow_while(f, mode))));
    told_add(&told, text_fmt(f->arena, "%.*s has %.*s the wrong way round%.*s.", TEXT_ARG(at->ref),
                             TEXT_ARG(follow_said(f, volts)), TEXT_ARG(follow_while(f, mode))));
}

static void rated_volts(Following *f, uint32_t part, const char *plus, const char *minus, int sign) {
    Quantity volts, most;
    Text source;
    uint32_t mode;
    if (!bench_part_property(&f->bench->parts.at[part], TEXT("vmax"), &most, &source)) return;
    if (most_volts(f, follow_pin(f, part, plus), follow_pin(f, part, minus), sign, &volts, &mode))
        tell_rating(f, &(Rating){part, mode, "voltage", volts, most, source});
}

static void rated_current(Following *f, uint32_t part, uint32_t pin) {
    Quantity most;
    Text source;
    if (pin == BENCH_NONE || !bench_part_property(&f->bench->parts.at[part], TEXT("imax"), &most, &source)) return;
    uint32_t mode = follow_most(f, figure_pin, pin);
    if (mode == BENCH_NONE) return;
    Rating rating = {part, mode, "current", follow_size(&f->sums->modes.at[mode].pin[pin]), most, source};
    tell_rating(f, &rating);
}

/* The pin of a chip that carries the most, beside what pins of its kind carry. */
static void pin_current(Following *f, uint32_t part) {
    const BenchPart *at = &f->bench->parts.at[part];
    Quantity limit, worst = {0};
    Text source;
    uint32_t pin = BENCH_NONE, mode = BENCH_NONE;
    if (!bench_part_property(at, TEXT("ipin"), &limit, &source)) return;
    for (uint32_t i = 0; i < at->pin_count; i++) {
        Text function = f->bench->pins.at[at->pins[i]].function;
        bool rail = bench_is_supply_name(f->bench->kinds, function) || bench_is_ground_name(f->bench->kinds, function);
        uint32_t net = f->bench->pins.at[at->pins[i]].net, in = follow_most(f, figure_pin, at->pins[i]);
        if (rail || in == BENCH_NONE || f->sums->reasoning->ground[net] || f->sums->reasoning->supply[net]) continue;
        Quantity is = follow_size(&f->sums->modes.at[in].pin[at->pins[i]]);
        if (is.value > worst.value) worst = is, pin = at->pins[i], mode = in;
    }
    if (pin == BENCH_NONE || worst.high < NEAR * limit.low) return;
    Told told = told_new(f, "pin-current", "current of a chip's pin", "protection", part);
    Text name = bench_pin_name(f->arena, f->bench, pin);
    told_mode(&told, mode, &f->sums->modes.at[mode].pin[pin]);
    told_because(&told, text_fmt(f->arena, "its limit: %.*s", TEXT_ARG(source)), at->line);
    told_value(&told, "pin-current", worst, "the solved circuit", "Kirchhoff's laws");
    told_value(&told, "limit", limit, "what pins of its kind carry", "common practice");
    if (worst.value > limit.high)
        told_warn(&told, text_fmt(f->arena, "%.*s carries more than chips of its kind are made for.", TEXT_ARG(name)));
    told_add(&told, text_fmt(f->arena, "%.*s carries %.*s%.*s, the most of this chip's pins; such pins are made for %.*s.",
                             TEXT_ARG(name), TEXT_ARG(follow_said(f, worst)), TEXT_ARG(follow_while(f, mode)),
                             TEXT_ARG(follow_range(f, limit))));
}

void follow_ratings(Following *f) {
    for (uint32_t p = 0; p < f->bench->parts.count; p++) {
        if (follow_is(f, p, "capacitor")) capacitor_volts(f, p);
        if (follow_is(f, p, "bipolar")) rated_volts(f, p, "C", "E", 0), rated_current(f, p, follow_pin(f, p, "C"));
        if (follow_is(f, p, "mosfet")) rated_volts(f, p, "D", "S", 0), rated_current(f, p, follow_pin(f, p, "D"));
        if (follow_is(f, p, "diode") && !follow_is(f, p, "zener")) {
            rated_volts(f, p, "K", "A", 1);
            rated_current(f, p, follow_pin(f, p, "A"));
        }
        if (follow_is(f, p, "chip")) pin_current(f, p);
    }
}
