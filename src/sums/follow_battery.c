/* Batteries: how long they last by what the notes say of each mode's time, what stops first as they sag, and what charges
 * them. */
#include "sums/drain.h"

#include <math.h>

static const double CHARGES = 1e-3; /* A into a battery that counts as charging it */

/* ---- time in each mode ---- */

static const BenchDuty *duty_of(const Bench *bench, Text mode) {
    for (uint32_t i = 0; i < bench->duties.count; i++)
        if (text_same(bench->duties.at[i].mode, mode)) return &bench->duties.at[i];
    return NULL;
}

/* The first mode whose time no note says has what the others leave; false: nothing is known of any. */
static bool share_out(Draining *d, Told *told, uint32_t *rest) {
    const Sums *sums = d->f->sums;
    double left = 1;
    uint32_t known = 0;
    *rest = BENCH_NONE;
    d->duty = arena_many(d->f->arena, double, sums->modes.count + 1);
    for (uint32_t m = 0; m < sums->modes.count; m++) {
        const BenchDuty *duty = duty_of(d->f->bench, sums->modes.at[m].name);
        if (duty == NULL && *rest == BENCH_NONE) *rest = m;
        if (duty == NULL) continue;
        d->duty[m] = fmin(duty->share.value, left), left -= d->duty[m], known++;
        Text says = text_fmt(d->f->arena, "%.*s lasts %.4g %% of the time", TEXT_ARG(duty->mode), 100 * d->duty[m]);
        told_because(told, says, duty->note->line);
    }
    if (known == 0 && sums->modes.count != 1) return false;
    if (*rest != BENCH_NONE) d->duty[*rest] = left;
    if (*rest != BENCH_NONE && known > 0)
        told_because(
            told, text_fmt(d->f->arena, "%.*s is taken to last the rest of the time", TEXT_ARG(sums->modes.at[*rest].name)),
            sums->modes.at[*rest].line);
    for (uint32_t m = 0; m < sums->modes.count; m++)
        if (d->duty[m] > 0 && !d->fine[m]) return false;
    return true;
}

/* How much more and less the modes draw, by their tolerances, than what is typical. */
static void widen(const Draining *d, Life *life) {
    double typical = 0, low = 0, high = 0;
    for (uint32_t m = 0; m < d->f->sums->modes.count; m++) {
        const SumsFigure *figure = &d->f->sums->modes.at[m].current[d->part];
        if (!(d->duty[m] > 0) || !figure->known) continue;
        typical += d->duty[m] * figure->typical, low += d->duty[m] * fmax(figure->low, 0),
            high += d->duty[m] * figure->high;
    }
    if (!(typical > 0)) return;
    double used = 1 - life->shelf; /* what is lost on the shelf is lost anyway */
    life->low *= 1 - used * (1 - fmin(1, typical / high));
    life->high *= 1 + used * (fmax(1, typical / fmax(low, typical / 10)) - 1);
}

/* ---- told ---- */

static Text cells_said(const Draining *d) {
    const BenchPart *at = &d->f->bench->parts.at[d->part];
    Text name = d->discharge.chemistry->name;
    return text_fmt(d->f->arena, "%.*s (%u x %.*s, %.*s%s)", TEXT_ARG(at->ref), d->batteries,
                    TEXT_ARG(at->cell->designation), TEXT_ARG(name), d->discharge.assumed ? " supposed" : "");
}

static Text stop_said(const Draining *d, const Stopped *stopped) {
    Following *f = d->f;
    Text ref = f->bench->parts.at[stopped->part].ref;
    if (stopped->why == STOP_MOTOR) return text_fmt(f->arena, "%.*s no longer turns", TEXT_ARG(ref));
    return text_fmt(f->arena, "%.*s has only %.2f V of the %.2f V that it needs%s", TEXT_ARG(ref), stopped->volts,
                    stopped->least, stopped->why == STOP_START ? " while a motor starts" : "");
}

static Text end_said(const Draining *d, const Life *life) {
    Following *f = d->f;
    Text mode = f->sums->modes.at[life->mode].name;
    int left = (int)lround(100 * life->left);
    if (life->end == LIFE_NO_WORK)
        return text_fmt(f->arena, "It ends%s%.*s when %.*s, with %d %% of the charge left.", mode.len > 0 ? " in " : "",
                        TEXT_ARG(mode), TEXT_ARG(stop_said(d, &d->stopped)), left);
    if (life->end == LIFE_TOO_LOW)
        return text_fmt(f->arena,
                        "It counts as used up when a cell under load is below %.1f V, with %d %% of the charge left.",
                        d->discharge.chemistry->end, left);
    return TEXT("It ends when the charge is out.");
}

/* For who draws it. */
static void keep_life(const Draining *d, const Life *life) {
    Arena *arena = d->f->arena;
    LifePoint *at = arena_many(arena, LifePoint, life->point_count + 1);
    memcpy(at, life->at, life->point_count * sizeof *at);
    double end = d->discharge.chemistry->end * d->discharge.in_series * d->batteries;
    list_push(
        arena, &d->f->sums->batteries,
        ((SumsBattery){d->part, life->seconds, life->low, life->high, end, end_said(d, life), at, life->point_count}));
}

static void tell_life(Draining *d) {
    Following *f = d->f;
    uint32_t rest;
    Told told = told_new(f, "battery-life", "battery life", "power", d->part);
    if (!share_out(d, &told, &rest)) {
        if (f->sums->modes.count > 1 && f->bench->duties.count == 0)
            sums_ask(
                f->sums,
                (ReasonOpen){
                    .ask = text_fmt(f->arena,
                                    "How long does each mode last? Then %.*s's life can be told: duty %.*s 2 s per 30 min.",
                                    TEXT_ARG(f->bench->parts.at[d->part].ref),
                                    TEXT_ARG(f->sums->modes.at[f->sums->modes.count - 1].name))});
        return;
    }
    Life life = life_of(&(LifeAsked){&d->discharge, d->batteries, f->sums->modes.count, d->duty, drain_draw, d});
    if (life.end == LIFE_NO_ANSWER) return;
    widen(d, &life);
    keep_life(d, &life);
    d->left = life.left;
    for (uint32_t m = 0; m < f->sums->modes.count; m++)
        if (d->duty[m] > 0) told_mode(&told, m, &f->sums->modes.at[m].current[d->part]);
    told_because(&told, text_fmt(f->arena, "what such cells give: %.*s", TEXT_ARG(d->discharge.source)),
                 f->bench->parts.at[d->part].line);
    if (d->discharge.assumed)
        told_because(&told, TEXT("the cell's name says its size only: alkaline is supposed"),
                     f->bench->parts.at[d->part].line);
    if (life.seconds <= 0) {
        told_add(&told, text_fmt(f->arena, "By these sums it doesn't even work with %.*s fresh. %.*s",
                                 TEXT_ARG(cells_said(d)), TEXT_ARG(end_said(d, &life))));
        return;
    }
    Quantity seconds = quantity_within(life.seconds, life.low, life.high, UNIT_SECOND),
             average = quantity_exact(life.amperes, UNIT_AMPERE);
    average.low = average.value * life.seconds / life.high, average.high = average.value * life.seconds / life.low;
    told_value(&told, "life", seconds, "sum over the charge of (share / (drain + loss on the shelf))",
               "discharge curves by load of published data sheets; intermittent use as in IEC 60086-2 (from memory)");
    told_value(&told, "average-current", average, "sum over the modes of share of the time times current",
               "any textbook of electricity");
    told_value(&told, "lost-on-the-shelf", quantity_exact(life.shelf, UNIT_NONE), "1 - charge used / charge given",
               "self-discharge of published data sheets, from memory");
    if (d->discharge.chemistry->end > 0 && follow_is(f, d->part, "coin-cell"))
        told_caution(&told, TEXT("Button and coin cells burn through a child's gullet within two hours: no product for "
                                 "homes without a compartment "
                                 "that needs a tool (IEC 62115, from memory)."));
    told_add(&told, text_fmt(f->arena, "%.*s lasts about %.*s (%.*s), drawing %.*s on average. %.*s",
                             TEXT_ARG(cells_said(d)), TEXT_ARG(follow_said(f, seconds)), TEXT_ARG(follow_range(f, seconds)),
                             TEXT_ARG(follow_said(f, average)), TEXT_ARG(end_said(d, &life))));
}

static bool mode_fails(Draining *d, uint32_t mode, double share, uint32_t what) {
    (void)what;
    return drain_draw_at(d, mode, share) == LIFE_FAILS;
}

static void tell_first_stop(Draining *d) {
    Following *f = d->f;
    double share = 0;
    uint32_t mode = 0;
    for (uint32_t m = 0; m < f->sums->modes.count; m++) {
        double at = d->fine[m] ? drain_fails_at(d, m, mode_fails, 0) : 0;
        if (at > share) share = at, mode = m;
    }
    if (!(share > 0) || drain_draw_at(d, mode, share) != LIFE_FAILS) return;
    double volts = d->batteries * mark_open_volts(&d->discharge, share), makes = d->discharge.chemistry->spread;
    Told told = told_new(f, "stops-first", "what stops first", "power", d->part);
    told_mode(&told, mode, NULL);
    told_because(&told, text_fmt(f->arena, "what such cells give: %.*s", TEXT_ARG(d->discharge.source)), 0);
    told_value(&told, "charge-left", quantity_within(share, share * (1 - makes), fmin(1, share * (1 + makes)), UNIT_NONE),
               "each mode solved as the charge is stepped down",
               "open-circuit volts by charge of published data sheets, from memory");
    told_value(&told, "open-circuit-volts", quantity_within(volts, 0.97 * volts, 1.03 * volts, UNIT_VOLT),
               "cells in series times volts by charge", "published data sheets, from memory");
    Text in = f->sums->modes.at[mode].name;
    told_add(&told,
             text_fmt(f->arena, "%s %.*s %s, %.*s stops first: at about %.0f %% of the charge %.*s.",
                      share < d->left ? "Should" : "As", TEXT_ARG(f->bench->parts.at[d->part].ref),
                      share < d->left ? "be emptied further" : "empties", TEXT_ARG(in.len > 0 ? in : TEXT("the product")),
                      100 * share, TEXT_ARG(stop_said(d, &d->stopped))));
}

/* What a motor draws before it turns: its winding alone limits it. With fresh cells, when that is most. */
static void tell_start(Draining *d, uint32_t mode, uint32_t motor) {
    Following *f = d->f;
    uint32_t part = d->motors[motor].part, plus = follow_pin(f, d->part, "+");
    double running, starting, before = 0, after = 0;
    Figure current = {FIGURE_CURRENT, part, BENCH_NONE};
    const SumsFigure *figure = &f->sums->modes.at[mode].current[part];
    if (!figure->known || !(figure->typical != 0) || plus == BENCH_NONE) return;
    Figure volts = {FIGURE_VOLTS, f->bench->pins.at[plus].net, BENCH_NONE};
    if (!drain_set(d, mode, 1)) return;
    bool fine = solved_figure(&d->solved[mode], current, &running, NULL) &&
                solved_figure(&d->solved[mode], volts, &before, NULL) && drain_hold(d, mode, true) &&
                solved_figure(&d->solved[mode], current, &starting, NULL) &&
                solved_figure(&d->solved[mode], volts, &after, NULL);
    drain_hold(d, mode, false);
    if (!fine || fabs(starting) <= fabs(running)) return;
    Told told = told_new(f, "motor-start", "start of a motor", "motion", part);
    Quantity start = quantity_exact(fabs(starting), UNIT_AMPERE), run = quantity_exact(fabs(running), UNIT_AMPERE);
    start.low = start.value * 0.8, start.high = start.value * 1.25; /* as its winding's ohms are usually known */
    run.low = fmin(run.value, fabs(figure->low)), run.high = fmax(run.value, fabs(figure->high));
    told_mode(&told, mode, figure);
    told_value(&told, "start-current", start, "the solved circuit with the shaft held",
               "a standing motor has no back-EMF: any text on d-c machines");
    told_value(&told, "running-current", run, "the solved circuit", "Kirchhoff's laws");
    told_value(&told, "sag", quantity_within(before - after, 0.7 * (before - after), 1.4 * (before - after), UNIT_VOLT),
               "volts of the battery before and after the shaft is held",
               "inner resistance of published data sheets, from memory");
    told_add(
        &told,
        text_fmt(f->arena, "%.*s draws %.*s as it starts%.*s and %.*s when it turns; fresh, %.*s sags by %.1f V meanwhile.",
                 TEXT_ARG(f->bench->parts.at[part].ref), TEXT_ARG(follow_said(f, start)), TEXT_ARG(follow_while(f, mode)),
                 TEXT_ARG(follow_said(f, run)), TEXT_ARG(f->bench->parts.at[d->part].ref), before - after));
}

static void tell_starts(Draining *d) {
    for (uint32_t m = 0; m < d->f->sums->modes.count; m++)
        for (uint32_t i = 0; d->fine[m] && i < d->motor_count; i++)
            if (d->turns[m][i]) tell_start(d, m, i);
}

static void tell_charging(Following *f, uint32_t part) {
    const BenchPart *at = &f->bench->parts.at[part];
    uint32_t mode = BENCH_NONE;
    for (uint32_t m = 0; m < f->sums->modes.count; m++) {
        const SumsFigure *figure = &f->sums->modes.at[m].current[part];
        bool more = mode == BENCH_NONE || figure->typical < f->sums->modes.at[mode].current[part].typical;
        if (f->sums->modes.at[m].solved && figure->known && figure->typical < -CHARGES && more) mode = m;
    }
    if (mode == BENCH_NONE || at->cell->designation.len == 0) return;
    const SumsFigure *figure = &f->sums->modes.at[mode].current[part];
    Quantity current = quantity_within(-figure->typical, -figure->high, -figure->low, UNIT_AMPERE);
    Told told = told_new(f, "charging", "charge current", "power", part);
    told_mode(&told, mode, figure);
    told_value(&told, "charge-current", current, "the solved circuit", "Kirchhoff's laws");
    if (!at->cell->rechargeable)
        told_warn(&told,
                  text_fmt(f->arena, "%.*s is not made to be charged: it may leak, burst or burn.", TEXT_ARG(at->ref)));
    if (at->cell->lithium)
        told_caution(&told, TEXT("Charge lithium cells only with a circuit made for them and under watch; local codes and "
                                 "licensed practice decide."));
    told_add(&told, text_fmt(f->arena, "%.*s flow into %.*s%.*s.", TEXT_ARG(follow_said(f, current)), TEXT_ARG(at->ref),
                             TEXT_ARG(follow_while(f, mode))));
}

static void follow_battery(Following *f, uint32_t part) {
    const BenchPart *at = &f->bench->parts.at[part];
    Draining d = {.f = f, .part = part, .solved = f->solved, .batteries = at->cell_count == 0 ? 1 : at->cell_count};
    Quantity stated = unit_same(at->rating.unit, UNIT_COULOMB) ? at->rating : at->value;
    if (f->bench->marks == NULL || at->cell->designation.len == 0 ||
        !mark_discharge(f->bench->marks, at->cell, stated, &d.discharge))
        return;
    if (drain_begin(&d)) {
        tell_life(&d);
        tell_first_stop(&d);
        tell_starts(&d);
        follow_margins(&d);
    }
    drain_end(&d);
}

void follow_batteries(Following *f) {
    enum { BATTERIES_MOST = 4 }; /* each costs some hundred solutions */
    uint32_t told = 0;
    for (uint32_t p = 0; p < f->bench->parts.count && told < BATTERIES_MOST; p++) {
        if (!follow_is(f, p, "battery")) continue;
        follow_battery(f, p), told++;
        tell_charging(f, p);
    }
}
