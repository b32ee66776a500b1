/* From a bench to its sums: the modes, the readings fitted, what they narrow, the ranges, the comparison, the explanations.
 */
#include "sums/sums.h"
#include "sums/fit.h"

#include <math.h>

Quantity sums_quantity(const SumsFigure *figure, Unit unit) {
    return quantity_within(figure->typical, figure->low, figure->high, unit);
}

uint32_t sums_mode(const Sums *sums, Text name) {
    for (uint32_t i = 0; i < sums->modes.count; i++)
        if (text_same(sums->modes.at[i].name, name)) return i;
    return BENCH_NONE;
}

void sums_ask(Sums *sums, ReasonOpen open) {
    list_push(sums->arena, &sums->asked, open);
    reason_add_open(sums->arena, sums->reasoning, open);
}

/* The ground that most pins are on. */
static uint32_t find_ground(const Reasoning *reasoning) {
    const Bench *bench = reasoning->bench;
    uint32_t found = BENCH_NONE;
    for (uint32_t n = 0; n < bench->nets.count; n++)
        if (reasoning->ground[n] && (found == BENCH_NONE || bench->nets.at[n].pin_count > bench->nets.at[found].pin_count))
            found = n;
    return found;
}

/* Only what has a pin noted can be in a circuit. */
static uint32_t wired_parts(const Bench *bench) {
    uint32_t count = 0;
    for (uint32_t p = 0; p < bench->parts.count; p++) count += bench->parts.at[p].pin_count > 0;
    return count;
}

static void add_mode(Sums *sums, Text name, uint32_t line) {
    const Bench *bench = sums->bench;
    if (sums_mode(sums, name) != BENCH_NONE) return;
    if (sums->modes.count == SUMS_MODES_MOST) {
        sums->left_out++;
        return;
    }
    SumsMode *mode = list_add(sums->arena, &sums->modes);
    *mode = (SumsMode){.name = name, .line = line};
    mode->volts = arena_many(sums->arena, SumsFigure, bench->nets.count + 1);
    mode->pin = arena_many(sums->arena, SumsFigure, bench->pins.count + 1);
    mode->current = arena_many(sums->arena, SumsFigure, bench->parts.count + 1);
    mode->power = arena_many(sums->arena, SumsFigure, bench->parts.count + 1);
    mode->inner = arena_many(sums->arena, SumsFigure, bench->parts.count + 1);
    if (sums->ground == BENCH_NONE) {
        mode->fault = TEXT("no net is known to be ground");
        mode->hint = TEXT("name it: net GND BT1.-");
    }
}

/* Those that the notes declare, then those that only readings or drives name; else all at rest. */
static void find_modes(Sums *sums) {
    const Bench *bench = sums->bench;
    for (uint32_t i = 0; i < bench->modes.count; i++)
        add_mode(sums, bench->modes.at[i].name, bench->modes.at[i].note->line);
    for (uint32_t i = 0; i < bench->readings.count; i++)
        if (bench->readings.at[i].mode.len > 0)
            add_mode(sums, bench->readings.at[i].mode, bench->readings.at[i].note->line);
    for (uint32_t i = 0; i < bench->drives.count; i++)
        if (bench->drives.at[i].mode.len > 0) add_mode(sums, bench->drives.at[i].mode, bench->drives.at[i].note->line);
    if (sums->modes.count == 0) add_mode(sums, TEXT(""), 0);
}

/* ---- what readings narrow ---- */

static const double NARROWED =
    0.5; /* of a state's variance: where the readings leave less than this, they say what it is */

static void lines_of_mode(Arena *arena, const Fit *fit, uint32_t mode, SumsParameter *is) {
    uint32_t *lines = arena_many(arena, uint32_t, fit->observed.count + 1);
    is->line_count = 0;
    for (uint32_t j = 0; j < fit->observed.count; j++)
        if ((mode == BENCH_NONE || fit->observed.at[j].mode == mode) && !fit->observed.at[j].out && fit->rows[j].fine)
            lines[is->line_count++] = fit->sums->bench->readings.at[fit->observed.at[j].reading].note->line;
    is->lines = lines;
}

/* States as the readings left them, within the limits that they had. */
static void narrow_states(Sums *sums, const Fit *fit, const Solved *solved, Ids *ids) {
    SumsParameter *fitted = arena_many(sums->arena, SumsParameter, ids->count + 1);
    for (uint32_t mode = 0; mode < sums->modes.count; mode++) {
        const Wiring *w = solved[mode].wiring[0];
        for (uint32_t i = 0; i < w->parameters.count; i++) {
            SumsParameter is = w->parameters.at[i].is, *to = &fitted[w->parameters.at[i].id];
            uint32_t id = w->parameters.at[i].id;
            if (!is.state || to->fitted || fit->spare[id] > NARROWED) continue;
            double reach = 2 * sqrt(fit->spare[id]), low = is.low, high = is.high;
            is.typical = fit_value(&is, fit->t[id]);
            is.low = fit_value(&w->parameters.at[i].is, fit->t[id] - reach),
            is.high = fit_value(&w->parameters.at[i].is, fit->t[id] + reach);
            is.low = fmax(is.low, fmin(low, is.typical)), is.high = fmin(is.high, fmax(high, is.typical));
            is.ratio = is.ratio && is.low > 0 && is.high > is.low;
            is.fitted = true;
            is.source = TEXT("the readings narrow it");
            lines_of_mode(sums->arena, fit, is.mode, &is);
            *to = is;
        }
    }
    ids->fitted = fitted, ids->likely = fit->t;
}

const Sums *sums_about(Arena *arena, Reasoning *reasoning, const SumsModels *models, SumsEffort effort) {
    Sums *sums = arena_one(arena, Sums);
    *sums = (Sums){.arena = arena,
                   .reasoning = reasoning,
                   .bench = reasoning->bench,
                   .models = models,
                   .ground = find_ground(reasoning),
                   .size = wired_parts(reasoning->bench)};
    find_modes(sums);
    if (sums->ground == BENCH_NONE) {
        follow_all(sums, NULL);
        return sums;
    }
    Ids *ids = wire_ids(arena, sums);
    Solved *solved = arena_many(arena, Solved, sums->modes.count + 1);
    for (uint32_t mode = 0; mode < sums->modes.count; mode++) solved[mode] = solve_mode(arena, sums, ids, mode, NULL, true);
    Fit *fit = fit_new(arena, sums, ids, solved);
    narrow_states(sums, fit, solved, ids);
    uint32_t *index = arena_many(arena, uint32_t, ids->count + 1);
    for (uint32_t mode = 0; mode < sums->modes.count; mode++)
        range_mode(sums, fit, mode, &solved[mode], effort.samples, index);
    compare_all(sums, fit);
    for (uint32_t mode = 0; mode < sums->modes.count; mode++) solved_mark(&solved[mode]);
    follow_all(sums, solved);
    for (uint32_t mode = 0; mode < sums->modes.count; mode++) solved_free(&solved[mode]);
    ids->exact = true; /* mistakes are supposed of the circuit as it was fitted */
    explain(sums, fit, effort);
    tell_all(sums);
    return sums;
}
