/* A mode's circuit with one mistake in it, as a small change of the circuit as noted, solved from the answer of that one.
 *
 * What only alters parameters (a value misread, flat cells, a pin or a switch that stands otherwise) is varied in the noted
 * circuit's own solvers, which go back afterwards. What alters joints (a pin that hangs in the air, pins exchanged, nets
 * joined, a load) is a changed copy of the circuit. Only a part of another kind has the whole circuit wired anew. */
#include "sums/inside.h"

static const double JOINT_OHMS = 0.01,
                    SHORT_OHMS = 0.1; /* of a join that was overlooked, of a shorted part: rule of thumb */
static const double VARIES_LEAST =
    1; /* ohm: smaller ones may want other equations, which a varied parameter does not get */

typedef enum How { AS_NOTED, VARIED, MOVED, WIRED } How;

static bool turns_known_pins(const Bench *bench, const Change *change) {
    const BenchUnit *unit = &bench->units.at[change->unit];
    for (uint32_t i = 0; i < unit->pin_count; i++)
        if (unit->pins[i] == BENCH_NONE) return false;
    return true;
}

static How how_of(const Wiring *w, const Change *change) {
    if (!change->wires || (change->mode != BENCH_NONE && change->mode != w->mode)) return AS_NOTED;
    switch (change->mistake) {
    case MISTAKE_BAND:
    case MISTAKE_POWER:
    case MISTAKE_GUESS:
        return change->low > VARIES_LEAST ? VARIED : WIRED;
    case MISTAKE_FLAT:
    case MISTAKE_SWITCH:
        return VARIED;
    case MISTAKE_DRIVE:
        return wire_driver(w, change->pin) != BENCH_NONE ? VARIED : WIRED;
    case MISTAKE_TURNED:
        return turns_known_pins(w->sums->bench, change) ? MOVED : WIRED;
    case MISTAKE_JOIN:
    case MISTAKE_JOINT:
    case MISTAKE_SHORT:
    case MISTAKE_LOAD:
        return MOVED;
    default:
        return WIRED;
    }
}

/* ---- changes ---- */

#define own_list(arena, list)                                                                                              \
    do {                                                                                                                   \
        if ((list)->count == 0) break;                                                                                     \
        size_t bytes = (list)->count * sizeof *(list)->at;                                                                 \
        (list)->at = memcpy(arena_take((arena), bytes), (list)->at, bytes);                                                \
        (list)->room = (list)->count;                                                                                      \
    } while (0)

/* The parameters as they are with the mistake: what of the part's value makes them, or a cell's volts. */
static void change_parameters(Wiring *w, const Change *change) {
    if (w->parameters.count == 0) return;
    own_list(w->arena, &w->parameters);
    for (uint32_t i = 0; i < w->parameters.count; i++) {
        Wired *wired = &w->parameters.at[i];
        if (wired->set == NULL || wired->is.part != change->part) continue;
        if (change->mistake != MISTAKE_FLAT)
            terms_value(w->arena, w->sums, change, change->part, wired->set, &wired->is);
        else
            wire_flat(w, change, wired);
    }
}

static void vary_pin(Solved *solved, const Change *change) {
    for (uint32_t p = 0; p < solved->phases; p++) {
        const Wiring *w = solved->wiring[p];
        if (change->mistake == MISTAKE_DRIVE)
            circuit_vary(solved->solver[p], wire_driver(w, change->pin), PIN_STATE, change->state);
        for (uint32_t e = w->first[change->part]; change->mistake == MISTAKE_SWITCH && e < w->first[change->part + 1]; e++)
            if (circuit_kind_of(w->circuit, e) == CIRCUIT_SWITCH)
                circuit_vary(solved->solver[p], e, SWITCH_CLOSED,
                             circuit_value(w->circuit, e, SWITCH_CLOSED) > 0.5 ? 0 : 1);
    }
}

static CircuitNode node_of(Wiring *w, uint32_t net) {
    if (w->node[net] != SUMS_NO_NODE) return w->node[net];
    uint32_t nets = w->sums->bench->nets.count;
    w->node = memcpy(arena_many(w->arena, CircuitNode, nets + 1), w->node, nets * sizeof *w->node);
    return w->node[net] = circuit_node(w->circuit, w->sums->bench->nets.at[net].name, net);
}

static void add_joint(Wiring *w, const Change *change) {
    bool load = change->mistake == MISTAKE_LOAD;
    CircuitNode ends[] = {node_of(w, change->nets[0]), node_of(w, change->nets[1])};
    uint32_t element = circuit_add(w->circuit, CIRCUIT_RESISTOR, TEXT("what is supposed"), BENCH_NONE, ends);
    circuit_set(w->circuit, element, RESISTOR_OHMS,
                load                               ? change->value
                : change->mistake == MISTAKE_SHORT ? SHORT_OHMS
                                                   : JOINT_OHMS);
    if (!load) return;
    own_list(w->arena, &w->parameters);
    wire_load(w, element);
}

static void hang_pin(Wiring *w, uint32_t pin) {
    CircuitNode alone = circuit_node(w->circuit, TEXT("the end of an open joint"), BENCH_NONE);
    for (uint32_t i = w->last_end[pin]; i > 0; i = w->ends.at[i - 1].before)
        circuit_move(w->circuit, w->ends.at[i - 1].element, w->ends.at[i - 1].terminal, alone);
}

/* Where position p of the unit was, order[p] is. */
static void turn_pins(Wiring *w, const Change *change) {
    const Bench *bench = w->sums->bench;
    const BenchUnit *unit = &bench->units.at[change->unit];
    own_list(w->arena, &w->ends);
    w->last_end = arena_many(w->arena, uint32_t, bench->pins.count + 1);
    for (uint32_t i = 0; i < w->ends.count; i++) {
        PinEnd *end = &w->ends.at[i];
        uint32_t position = 0;
        while (position < unit->pin_count && unit->pins[position] != end->pin) position++;
        if (position < unit->pin_count && end->element < w->unit_of.count && w->unit_of.at[end->element] == change->unit) {
            end->pin = unit->pins[change->order[position]];
            circuit_move(w->circuit, end->element, end->terminal, node_of(w, bench->pins.at[end->pin].net));
        }
        end->before = w->last_end[end->pin], w->last_end[end->pin] = i + 1;
    }
}

static Wiring *changed(Arena *arena, const Wiring *noted, const Change *change, How how) {
    Wiring *w = arena_one(arena, Wiring);
    *w = *noted;
    w->arena = arena, w->change = change;
    if (how == VARIED) {
        change_parameters(w, change);
        return w;
    }
    w->circuit = circuit_copy(arena, noted->circuit);
    if (change->mistake == MISTAKE_JOINT)
        hang_pin(w, change->pin);
    else if (change->mistake == MISTAKE_TURNED)
        turn_pins(w, change);
    else
        add_joint(w, change);
    return w;
}

Supposed suppose(Arena *arena, Solved *noted, const Ids *ids, const Change *change) {
    const Wiring *first = noted->wiring[0];
    How how = change == NULL ? AS_NOTED : !noted->fine ? WIRED : how_of(first, change);
    if (how == WIRED) return (Supposed){.is = solve_mode(arena, first->sums, ids, first->mode, change, false)};
    Supposed supposed = {.is = {.arena = arena, .phases = noted->phases}};
    if (how != MOVED) {
        supposed = (Supposed){.is = *noted, .lent = noted};
        supposed.is.now = memcpy(arena_many(arena, double, first->parameters.count + 1), noted->now,
                                 first->parameters.count * sizeof(double));
    }
    for (uint32_t p = 0; how != AS_NOTED && p < noted->phases; p++)
        supposed.is.wiring[p] = changed(arena, noted->wiring[p], change, how);
    if (how == MOVED) solved_make(&supposed.is, noted);
    if (how == VARIED) {
        vary_pin(&supposed.is, change);
        supposed.is.stale = true, supposed.is.tangents = false;
    }
    return supposed;
}

void supposed_end(Supposed *supposed) {
    if (supposed->lent == NULL) {
        solved_free(&supposed->is);
        return;
    }
    memcpy(supposed->lent->tangent, supposed->is.tangent, sizeof supposed->is.tangent);
    supposed->lent->tangents = false;
    for (uint32_t p = 0; supposed->lent->fine && p < supposed->lent->phases; p++) circuit_back(supposed->lent->solver[p]);
}
