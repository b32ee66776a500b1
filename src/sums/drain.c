#include "sums/drain.h"

#include <math.h>

static const double TURNS = 1;         /* rad/s: a motor slower than this stands */
static const double WORK_MOST = 5e5;   /* elements solved in all, which keeps the largest of notes within a second */
static const double SHARE_LAST = 0.05; /* of the charge: below it all is out anyway */
enum { HALVINGS = 5, SOLUTIONS = 40 }; /* to a fortieth of the charge; what a mode is solved for in all, about */

static bool set_cells(Draining *d, uint32_t mode, double volts, double ohms) {
    Solved *s = &d->solved[mode];
    CircuitFault fault;
    for (uint32_t p = 0; p < s->phases; p++) {
        const Wiring *w = s->wiring[p];
        for (uint32_t e = w->first[d->part]; e < w->first[d->part + 1]; e++) {
            CircuitKind kind = circuit_kind_of(w->circuit, e);
            if (kind == CIRCUIT_VOLTAGE && !circuit_vary(s->solver[p], e, SOURCE_VALUE, volts)) return false;
            if (kind == CIRCUIT_RESISTOR && !circuit_vary(s->solver[p], e, RESISTOR_OHMS, ohms)) return false;
        }
        if (!circuit_solve(s->solver[p], &fault)) return false;
    }
    return true;
}

bool drain_set(Draining *d, uint32_t mode, double share) {
    return set_cells(d, mode, d->batteries * mark_open_volts(&d->discharge, share),
                     d->batteries * mark_inner_ohms(&d->discharge, share));
}

/* Holds the shafts of all motors, or lets them go as the mode has them. */
bool drain_hold(Draining *d, uint32_t mode, bool held) {
    Solved *s = &d->solved[mode];
    CircuitFault fault;
    for (uint32_t p = 0; p < s->phases; p++) {
        const Circuit *circuit = s->wiring[p]->circuit;
        for (uint32_t e = 0; e < circuit_element_count(circuit); e++)
            if (circuit_kind_of(circuit, e) == CIRCUIT_MOTOR &&
                !circuit_vary(s->solver[p], e, MOTOR_STALLED, held ? 1 : circuit_value(circuit, e, MOTOR_STALLED)))
                return false;
        if (!circuit_solve(s->solver[p], &fault)) return false;
    }
    return true;
}

/* The chip's pins for supply and ground, by their names. */
static void rails_of(const Bench *bench, uint32_t part, uint32_t *supply, uint32_t *ground) {
    const BenchPart *at = &bench->parts.at[part];
    *supply = *ground = BENCH_NONE;
    for (uint32_t i = 0; i < at->pin_count; i++) {
        Text function = bench->pins.at[at->pins[i]].function;
        if (*supply == BENCH_NONE && bench_is_supply_name(bench->kinds, function)) *supply = at->pins[i];
        if (*ground == BENCH_NONE && bench_is_ground_name(bench->kinds, function)) *ground = at->pins[i];
    }
}

/* Chips whose least supply the shelf knows, and motors. */
static void watch(Draining *d) {
    const Bench *bench = d->f->bench;
    for (uint32_t p = 0; p < bench->parts.count; p++) {
        const ShelfPart *shelf = bench->parts.at[p].shelf;
        uint32_t supply, ground;
        if (d->motor_count < WATCHED_MOST && follow_is(d->f, p, "motor"))
            d->motors[d->motor_count++] = (Watched){p, {FIGURE_INNER, p, BENCH_NONE}, TURNS};
        if (d->chip_count == WATCHED_MOST || shelf == NULL || !(shelf->supply.low > 0)) continue;
        rails_of(bench, p, &supply, &ground);
        if (supply == BENCH_NONE) continue;
        Figure across = {FIGURE_VOLTS, bench->pins.at[supply].net,
                         ground == BENCH_NONE ? (uint32_t)BENCH_NONE : bench->pins.at[ground].net};
        d->chips[d->chip_count++] = (Watched){p, across, shelf->supply.low};
    }
}

/* A chip that has less than it needs. */
static bool starved(Draining *d, uint32_t mode, Stop why) {
    for (uint32_t i = 0; i < d->chip_count; i++) {
        double volts;
        if (!solved_figure(&d->solved[mode], d->chips[i].figure, &volts, NULL) || volts >= d->chips[i].least) continue;
        d->stopped = (Stopped){why, d->chips[i].part, volts, d->chips[i].least};
        return true;
    }
    return false;
}

static double speed_of(Draining *d, uint32_t mode, uint32_t motor) {
    double speed;
    return solved_figure(&d->solved[mode], d->motors[motor].figure, &speed, NULL) ? fabs(speed) : 0;
}

bool drain_starts(const Draining *d, uint32_t mode) {
    for (uint32_t i = 0; i < d->motor_count; i++)
        if (d->turns[mode][i]) return true;
    return false;
}

/* What fails in a mode with the cells as they are; while motors start they draw the most. */
static bool fails(Draining *d, uint32_t mode) {
    if (starved(d, mode, STOP_SUPPLY)) return true;
    for (uint32_t i = 0; i < d->motor_count; i++) {
        if (!d->turns[mode][i] || speed_of(d, mode, i) >= TURNS) continue;
        d->stopped = (Stopped){STOP_MOTOR, d->motors[i].part, 0, 0};
        return true;
    }
    if (!drain_starts(d, mode) || d->chip_count == 0) return false;
    bool stops = drain_hold(d, mode, true) && starved(d, mode, STOP_START);
    drain_hold(d, mode, false);
    return stops;
}

LifeDraw drain_draw(void *context, uint32_t mode, double volts, double ohms, double *amperes) {
    Draining *d = context;
    if (!set_cells(d, mode, volts, ohms)) return LIFE_UNKNOWN;
    if (!solved_figure(&d->solved[mode], (Figure){FIGURE_CURRENT, d->part, BENCH_NONE}, amperes, NULL)) return LIFE_UNKNOWN;
    return fails(d, mode) ? LIFE_FAILS : LIFE_DRAWS;
}

/* Each mode solved with fresh cells; which motors turn then. */
bool drain_begin(Draining *d) {
    Following *f = d->f;
    uint32_t modes = f->sums->modes.count;
    bool some = false;
    d->fine = arena_many(f->arena, bool, modes + 1);
    d->turns = arena_take(f->arena, (modes + 1) * sizeof *d->turns);
    watch(d);
    for (uint32_t m = 0; m < modes; m++) {
        const Circuit *circuit = f->sums->modes.at[m].circuit;
        if (!f->sums->modes.at[m].solved || circuit_element_count(circuit) * (double)modes * SOLUTIONS > WORK_MOST)
            continue;
        d->fine[m] = drain_set(d, m, 1);
        for (uint32_t i = 0; d->fine[m] && i < d->motor_count; i++) d->turns[m][i] = speed_of(d, m, i) >= TURNS;
        some |= d->fine[m];
    }
    return some;
}

/* The modes as they were. */
void drain_end(Draining *d) {
    for (uint32_t m = 0; m < d->f->sums->modes.count; m++)
        for (uint32_t p = 0; d->solved[m].fine && p < d->solved[m].phases; p++) circuit_back(d->solved[m].solver[p]);
}

LifeDraw drain_draw_at(Draining *d, uint32_t mode, double share) {
    double amperes;
    return drain_draw(d, mode, d->batteries * mark_open_volts(&d->discharge, share),
                      d->batteries * mark_inner_ohms(&d->discharge, share), &amperes);
}

double drain_fails_at(Draining *d, uint32_t mode, bool (*stops)(Draining *d, uint32_t mode, double share, uint32_t what),
                      uint32_t what) {
    double bad = SHARE_LAST, good = 1;
    if (!stops(d, mode, bad, what)) return 0;
    if (stops(d, mode, good, what)) return 1;
    for (int i = 0; i < HALVINGS; i++) {
        double middle = (bad + good) / 2;
        if (stops(d, mode, middle, what))
            bad = middle;
        else
            good = middle;
    }
    return bad;
}
