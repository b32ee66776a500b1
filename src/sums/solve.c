/* A mode solved: one solver for each state of its switching pins, and figures as sums of what they are probed for. */
#include "sums/inside.h"

#include <math.h>

/* S from each node to the ground: what surfaces leak. Keeps a node that nothing ties from having no answer. */
static const double LEAK = 1e-12;
/* Newton steps times elements that one mode may take, which keeps the largest of notes within a second. */
static const double STEPS = 1e6;
enum { STEPS_LEAST = 40 };

static uint32_t steps_most(const Sums *sums, const Circuit *circuit) {
    double share = STEPS / (circuit_element_count(circuit) + 1.0) / (sums->modes.count + 1.0);
    return share > STEPS_LEAST ? (uint32_t)share : STEPS_LEAST;
}

static void list_places(Solved *solved, uint32_t phase) {
    const Wiring *w = solved->wiring[phase];
    uint32_t count = 0;
    for (uint32_t i = 0; i < w->parameters.count; i++) count += w->parameters.at[i].places.count;
    CircuitVary *vary = arena_many(solved->arena, CircuitVary, count + 1);
    solved->places = count, count = 0;
    for (uint32_t i = 0; i < w->parameters.count; i++)
        for (uint32_t k = 0; k < w->parameters.at[i].places.count; k++)
            vary[count++] =
                (CircuitVary){w->parameters.at[i].places.at[k].element, w->parameters.at[i].places.at[k].parameter};
    solved->vary[phase] = vary;
}

void solved_make(Solved *solved, const Solved *from) {
    double all = 0;
    solved->fine = true;
    for (uint32_t p = 0; solved->fine && p < solved->phases; p++) {
        const Wiring *w = solved->wiring[p];
        CircuitOptions options = {.leak = LEAK, .iterations_most = steps_most(w->sums, w->circuit)};
        solved->weight[p] = w->weight, all += w->weight;
        solved->solver[p] = circuit_solver_new(solved->arena, w->circuit, options, &solved->fault);
        if (solved->solver[p] != NULL && from != NULL) circuit_start(solved->solver[p], from->solver[p]);
        solved->fine = solved->solver[p] != NULL && circuit_solve(solved->solver[p], &solved->fault);
        list_places(solved, p);
    }
    for (uint32_t p = 0; p < solved->phases; p++)
        solved->weight[p] = all > 0 ? solved->weight[p] / all : 1.0 / solved->phases;
    const Wiring *first = solved->wiring[0];
    solved->now = arena_many(solved->arena, double, first->parameters.count + 1);
    for (uint32_t i = 0; i < first->parameters.count; i++) solved->now[i] = first->parameters.at[i].at;
}

Solved solve_mode(Arena *arena, const Sums *sums, const Ids *ids, uint32_t mode, const Change *change, bool tell) {
    Solved solved = {.arena = arena, .phases = wire_phases(sums, mode)};
    for (uint32_t p = 0; p < solved.phases; p++)
        solved.wiring[p] = wire_mode(arena, sums, ids, mode, p, change, tell && p == 0);
    solved_make(&solved, NULL);
    return solved;
}

void solved_free(Solved *solved) {
    for (uint32_t p = 0; p < solved->phases; p++) circuit_solver_free(solved->solver[p]);
}

/* All places of one parameter. */
static bool vary(Solved *solved, uint32_t phase, const Wired *wired, double value) {
    for (uint32_t k = 0; k < wired->places.count; k++)
        if (!circuit_vary(solved->solver[phase], wired->places.at[k].element, wired->places.at[k].parameter,
                          wired_value(wired, wired->places.at[k], value)))
            return false;
    return true;
}

bool solved_move(Solved *solved, const double *values) {
    const Wiring *first = solved->wiring[0];
    bool moved = solved->stale;
    for (uint32_t i = 0; i < first->parameters.count; i++) moved = moved || values[i] != solved->now[i];
    if (!moved) return true;
    solved->tangents = false, solved->stale = true; /* until all of it is done */
    for (uint32_t p = 0; p < solved->phases; p++) {
        const Wiring *w = solved->wiring[p];
        for (uint32_t i = 0; i < w->parameters.count; i++)
            if (!vary(solved, p, &w->parameters.at[i], values[i])) return false;
        if (!circuit_solve(solved->solver[p], &solved->fault)) return false;
    }
    memcpy(solved->now, values, first->parameters.count * sizeof *values);
    solved->stale = false;
    return true;
}

void solved_mark(Solved *solved) {
    for (uint32_t p = 0; solved->fine && p < solved->phases; p++) circuit_mark(solved->solver[p]);
}

/* ---- figures ---- */

static void add_pin(Arena *arena, const Wiring *w, uint32_t pin, double factor, WeighedList *list) {
    for (uint32_t i = w->last_end[pin]; i > 0; i = w->ends.at[i - 1].before) {
        CircuitProbe probe = {
            .what = PROBE_CURRENT, .element = w->ends.at[i - 1].element, .which = w->ends.at[i - 1].terminal};
        list_push(arena, list, ((Weighed){probe, factor}));
    }
}

bool kind_is(const Bench *bench, const BenchKind *kind, const char *what) {
    const BenchKind *ancestor = bench_kind(bench->kinds, text_of(what));
    return ancestor != NULL && bench_kind_is(kind, ancestor);
}

/* The pin whose current is the part's: a chip's supply, a transistor's collector or drain, which come second among its
 * pins, else the first that has one. */
static uint32_t pin_of(const Wiring *w, uint32_t part) {
    const Bench *bench = w->sums->bench;
    const BenchUnit *unit = &bench->units.at[bench->parts.at[part].units[0]];
    if (kind_is(bench, unit->kind, "chip")) {
        uint32_t pin = wire_rail(w, part, true);
        if (pin != BENCH_NONE && w->last_end[pin] > 0) return pin;
    }
    if (kind_is(bench, unit->kind, "transistor") && unit->pin_count == 3 && unit->pins[1] != BENCH_NONE &&
        w->last_end[unit->pins[1]] > 0)
        return unit->pins[1];
    for (uint32_t i = 0; i < unit->pin_count; i++)
        if (unit->pins[i] != BENCH_NONE && w->last_end[unit->pins[i]] > 0) return unit->pins[i];
    return BENCH_NONE;
}

static void add_current(Arena *arena, const Wiring *w, uint32_t part, WeighedList *list) {
    const Bench *bench = w->sums->bench;
    uint32_t pin = pin_of(w, part);
    if (pin != BENCH_NONE) add_pin(arena, w, pin, kind_is(bench, bench->parts.at[part].kind, "source") ? -1 : 1, list);
}

bool figure_probes(Arena *arena, const Wiring *w, Figure figure, WeighedList *list) {
    if (figure.sort == FIGURE_VOLTS) {
        CircuitNode plus = w->node[figure.at], minus = figure.against == BENCH_NONE ? 0 : w->node[figure.against];
        if (plus == SUMS_NO_NODE || minus == SUMS_NO_NODE) return false;
        list_push(arena, list, ((Weighed){{.what = PROBE_VOLTAGE, .plus = plus, .minus = minus}, 1}));
        return true;
    }
    if (figure.sort == FIGURE_PIN) add_pin(arena, w, figure.at, 1, list);
    if (figure.sort == FIGURE_CURRENT) add_current(arena, w, figure.at, list);
    if (figure.sort == FIGURE_PIN || figure.sort == FIGURE_CURRENT) return list->count > 0;
    for (uint32_t e = w->first[figure.at]; e < w->first[figure.at + 1]; e++) {
        if (figure.sort == FIGURE_POWER) list_push(arena, list, ((Weighed){{.what = PROBE_POWER, .element = e}, 1}));
        if (figure.sort == FIGURE_INNER && circuit_kind_of(w->circuit, e) == CIRCUIT_MOTOR)
            list_push(arena, list, ((Weighed){{.what = PROBE_INNER, .element = e, .which = 1}, 1}));
    }
    return list->count > 0;
}

/* Tangents of all phases around the answer of now. */
static bool take_tangents(Solved *solved) {
    for (uint32_t p = 0; !solved->tangents && p < solved->phases; p++) {
        if (solved->tangent[p] == NULL)
            solved->tangent[p] = circuit_tangent_new(solved->arena, solved->solver[p], solved->vary[p], solved->places);
        if (!circuit_tangent_take(solved->tangent[p])) return false;
    }
    return solved->tangents = true;
}

/* Adds factor x d probe / d parameter to slopes, by parameter. */
static bool add_slopes(Solved *solved, uint32_t phase, CircuitProbe probe, double factor, double *each, double *slopes) {
    const Wiring *w = solved->wiring[phase];
    if (!circuit_tangent_slopes(solved->tangent[phase], probe, each)) return false;
    for (uint32_t i = 0, at = 0; i < w->parameters.count; i++) {
        const Wired *wired = &w->parameters.at[i];
        for (uint32_t k = 0; k < wired->places.count; k++, at++)
            slopes[i] += (wired->places.at[k].whole > 0 ? -factor : factor) * each[at];
    }
    return true;
}

/* A drop's place is its saturation current, which goes with the volts exponentially. */
static void chain(const Solved *solved, double *slopes) {
    const Wiring *w = solved->wiring[0];
    for (uint32_t i = 0; i < w->parameters.count; i++) slopes[i] *= wired_slope(&w->parameters.at[i], solved->now[i]);
}

bool solved_figure(Solved *solved, Figure figure, double *value, double *slopes) {
    Arena *scratch = arena_new();
    const Wiring *first = solved->wiring[0];
    double *each = slopes == NULL ? NULL : arena_many(scratch, double, solved->places + 1);
    bool fine = solved->fine && (slopes == NULL || take_tangents(solved));
    *value = 0;
    for (uint32_t i = 0; slopes != NULL && i < first->parameters.count; i++) slopes[i] = 0;
    for (uint32_t p = 0; fine && p < solved->phases; p++) {
        WeighedList list = {0};
        fine = figure_probes(scratch, solved->wiring[p], figure, &list);
        for (uint32_t i = 0; fine && i < list.count; i++) {
            double factor = solved->weight[p] * list.at[i].factor;
            *value += factor * circuit_probe(solved->solver[p], list.at[i].probe);
            if (slopes != NULL) fine = add_slopes(solved, p, list.at[i].probe, factor, each, slopes);
        }
    }
    if (slopes != NULL) chain(solved, slopes);
    arena_free(scratch);
    return fine && isfinite(*value);
}

/* Each net gets a little current, all at once: those that rise far hang by what surfaces leak. */
void solved_floating(Solved *solved, bool *floats) {
    static const double LITTLE = 1e-10, FAR = 5e-3; /* A, and V: 5 mV from 1e-10 A is 50 Mohm */
    const Wiring *w = solved->wiring[0];
    uint32_t nets = w->sums->bench->nets.count;
    Arena *scratch = arena_new();
    double *before = arena_many(scratch, double, nets + 1);
    CircuitFault fault;
    for (uint32_t n = 0; n < nets; n++) {
        if (w->meter[n] == BENCH_NONE) continue;
        before[n] = circuit_voltage(solved->solver[0], w->node[n]);
        circuit_vary(solved->solver[0], w->meter[n], SOURCE_VALUE, -LITTLE);
    }
    bool fine = circuit_solve(solved->solver[0], &fault);
    for (uint32_t n = 0; n < nets; n++) {
        if (w->meter[n] == BENCH_NONE) continue;
        floats[n] = !fine || fabs(circuit_voltage(solved->solver[0], w->node[n]) - before[n]) > FAR;
        circuit_vary(solved->solver[0], w->meter[n], SOURCE_VALUE, 0);
    }
    solved->fine = circuit_solve(solved->solver[0], &fault);
    solved->tangents = false;
    arena_free(scratch);
}

double solved_ohms(Solved *solved, uint32_t net) {
    const Wiring *w = solved->wiring[0];
    if (w->meter[net] == BENCH_NONE || !solved->fine) return 0;
    return take_tangents(solved) ? circuit_tangent_ohms(solved->tangent[0], w->node[net]) : INFINITY;
}
