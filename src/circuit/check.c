/* Circuits that can't have one answer, found by their shape before any sum: nodes that nothing ties to the reference, and
 * loops of elements that each fix a voltage. Both by union-find, near-linear; the shape conditions are those of L. O. Chua,
 * C. A. Desoer, E. S. Kuh, Linear and Nonlinear Circuits, 1987 (from memory). What gets past them is found by the
 * factorisation. */
#include "circuit/inside.h"

typedef struct Check {
    Arena *scratch;
    const Circuit *circuit;
    CircuitOptions options;
    uint32_t *up; /* union-find over nodes */
} Check;

static uint32_t root(uint32_t *up, uint32_t node) {
    while (up[node] != node) node = up[node] = up[up[node]];
    return node;
}

/* False when they were one already. */
static bool unite(uint32_t *up, uint32_t a, uint32_t b) {
    a = root(up, a), b = root(up, b);
    if (a < b) up[b] = a;
    if (b < a) up[a] = b;
    return a != b;
}

static void apart(Check *check) {
    for (uint32_t i = 0; i < check->circuit->nodes.count; i++) check->up[i] = i;
}

static const double *values_of(const Circuit *circuit, uint32_t element) {
    return circuit->values.at + circuit->elements.at[element].parameter;
}

/* Form.ties, but for what parameters undo. */
static const char *ties_of(const Check *check, uint32_t element) {
    const double *p = values_of(check->circuit, element);
    CircuitKind kind = check->circuit->elements.at[element].kind;
    if (kind == CIRCUIT_CAPACITOR && check->options.for_time && p[CAPACITOR_FARADS] > 0) return "aa";
    if (kind == CIRCUIT_SWITCH && p[SWITCH_CLOSED] <= 0.5 && p[SWITCH_SIEMENS] == 0) return "..";
    if (kind == CIRCUIT_PIN && p[PIN_STATE] == PIN_OPEN && p[PIN_CLAMP] == 0) return "...";
    return form_of(kind, p)->ties;
}

static void tie(Check *check, uint32_t element) {
    const char *ties = ties_of(check, element);
    for (unsigned i = 0; ties[i] != '\0'; i++)
        for (unsigned j = 0; j < i; j++)
            if (ties[i] != '.' && ties[i] == ties[j])
                unite(check->up, circuit_at(check->circuit, element, i), circuit_at(check->circuit, element, j));
}

static bool gives_current(CircuitKind kind, unsigned terminal) {
    return kind == CIRCUIT_CURRENT || ((kind == CIRCUIT_VCCS || kind == CIRCUIT_CCCS) && terminal < 2);
}

/* The piece that `node` is in: its nodes, and the elements that touch it without tying it to anything. */
static void floating(Check *check, Arena *arena, uint32_t node, CircuitFault *fault) {
    const Circuit *circuit = check->circuit;
    uint32_t piece = root(check->up, node), nodes = 0, elements = 0;
    fault->trouble = CIRCUIT_FLOATING;
    for (uint32_t i = 0; i < circuit->nodes.count; i++)
        if (root(check->up, i) == piece) fault_node(fault, i), nodes++;
    for (uint32_t e = 0; e < circuit->elements.count; e++) {
        CircuitKind kind = circuit->elements.at[e].kind;
        bool touches = false;
        for (unsigned t = 0; t < circuit_kind(kind)->terminals; t++)
            if (root(check->up, circuit_at(circuit, e, t)) == piece) {
                touches = true;
                if (gives_current(kind, t)) fault->trouble = CIRCUIT_ONLY_SOURCES;
            }
        if (touches) fault_element(fault, e), elements++;
    }
    Out out = out_new(arena);
    out_add(&out, fault->trouble == CIRCUIT_FLOATING ? TEXT("nothing fixes the voltage of ")
                                                     : TEXT("only sources of current feed "));
    fault_names(&out, circuit, fault, true, nodes);
    if (elements > 0) out_add(&out, TEXT(", where there is ")), fault_names(&out, circuit, fault, false, elements);
    fault->message = out_text(&out);
    fault->hint = TEXT("a way for direct current must lead from there to the reference; or allow each node a leak");
}

/* Up to two pairs of terminals between which an element fixes the voltage, whatever current flows. */
static unsigned fixed_pairs(const Check *check, uint32_t element, unsigned pairs[2]) {
    const double *p = values_of(check->circuit, element);
    switch (check->circuit->elements.at[element].kind) {
    case CIRCUIT_VOLTAGE:
    case CIRCUIT_VCVS:
        return pairs[0] = 0, 1;
    case CIRCUIT_CCCS:
        return pairs[0] = 2, 1;
    case CIRCUIT_CCVS:
        return pairs[0] = 0, pairs[1] = 2, 2;
    case CIRCUIT_RESISTOR:
        return pairs[0] = 0, p[RESISTOR_OHMS] == 0;
    case CIRCUIT_INDUCTOR:
        return pairs[0] = 0, p[INDUCTOR_OHMS] == 0 && !(check->options.for_time && p[INDUCTOR_HENRYS] > 0);
    case CIRCUIT_SWITCH:
        return pairs[0] = 0, p[SWITCH_CLOSED] > 0.5 && p[SWITCH_OHMS] == 0;
    case CIRCUIT_BATTERY:
        return pairs[0] = 0, p[BATTERY_OHMS] == 0 && p[BATTERY_OHMS_EMPTY] == 0;
    default:
        return 0;
    }
}

typedef struct Fixed {
    uint32_t element;
    CircuitNode a, b;
} Fixed;
typedef LIST(Fixed) FixedList;

/* The way from a to b over the pairs before `closing`: the nodes' breadth-first distances from b, by rounds over the list
 * (this runs once, on the way to a message). */
static void loop(Check *check, Arena *arena, const FixedList *list, uint32_t closing, CircuitFault *fault) {
    uint32_t nodes = check->circuit->nodes.count, count = 1;
    uint32_t *by = arena_many(check->scratch, uint32_t, nodes); /* pair + 1 that leads on towards b */
    const Fixed *last = &list->at[closing];
    bool grows = last->a != last->b;
    while (grows && by[last->a] == 0) {
        grows = false;
        for (uint32_t i = 0; i < closing; i++) {
            const Fixed *f = &list->at[i];
            bool a = f->a == last->b || by[f->a] > 0, b = f->b == last->b || by[f->b] > 0;
            if (a == b) continue;
            by[a ? f->b : f->a] = i + 1;
            grows = true;
        }
    }
    fault->trouble = CIRCUIT_LOOP;
    fault_element(fault, last->element), fault_node(fault, last->a);
    for (CircuitNode at = last->a; at != last->b && by[at] > 0; count++) {
        const Fixed *f = &list->at[by[at] - 1];
        at = f->a == at ? f->b : f->a;
        fault_element(fault, f->element), fault_node(fault, at);
    }
    Out out = out_new(arena);
    fault_names(&out, check->circuit, fault, false, count);
    out_add(&out, count == 1 ? TEXT(" fixes a voltage between a node and itself, ")
                             : TEXT(" each fix a voltage and form a loop through "));
    fault_names(&out, check->circuit, fault, true, count);
    fault->message = out_text(&out);
    fault->hint = TEXT("give one of them a resistance, or take one away");
}

static bool no_loop(Check *check, Arena *arena, CircuitFault *fault) {
    FixedList list = {0};
    apart(check);
    for (uint32_t e = 0; e < check->circuit->elements.count; e++) {
        unsigned pairs[2], count = fixed_pairs(check, e, pairs);
        for (unsigned i = 0; i < count; i++) {
            Fixed fixed = {e, circuit_at(check->circuit, e, pairs[i]), circuit_at(check->circuit, e, pairs[i] + 1)};
            list_push(check->scratch, &list, fixed);
            if (unite(check->up, fixed.a, fixed.b)) continue;
            loop(check, arena, &list, list.count - 1, fault);
            return false;
        }
    }
    return true;
}

static bool none_floats(Check *check, Arena *arena, CircuitFault *fault) {
    if (check->options.leak > 0) return true;
    apart(check);
    for (uint32_t e = 0; e < check->circuit->elements.count; e++) tie(check, e);
    for (uint32_t i = 1; i < check->circuit->nodes.count; i++)
        if (root(check->up, i) != root(check->up, 0)) {
            floating(check, arena, i, fault);
            return false;
        }
    return true;
}

bool check_shape(Arena *arena, const Circuit *circuit, CircuitOptions options, CircuitFault *fault) {
    Check check = {.scratch = arena_new(), .circuit = circuit, .options = options};
    check.up = arena_many(check.scratch, uint32_t, circuit->nodes.count);
    bool fine = no_loop(&check, arena, fault) && none_floats(&check, arena, fault);
    arena_free(check.scratch);
    return fine;
}

static void bad_value(Arena *arena, const Circuit *circuit, uint32_t element, unsigned parameter, CircuitFault *fault) {
    const CircuitKindFacts *facts = circuit_kind(circuit->elements.at[element].kind);
    const CircuitParameter *limits = &facts->parameter[parameter];
    Text name = circuit_name(circuit, element);
    fault->trouble = CIRCUIT_BAD_VALUE;
    fault_element(fault, element);
    double value = circuit_value(circuit, element, parameter);
    fault->message = isfinite(value)
                         ? text_fmt(arena, "%.*s: %s of %g %s", TEXT_ARG(name), limits->name, value, limits->unit)
                         : text_fmt(arena, "%.*s: %s is not a number", TEXT_ARG(name), limits->name);
    fault->hint = text_fmt(arena, "expected %g to %g %s", limits->low, limits->high, limits->unit);
}

bool check_values(Arena *arena, const Circuit *circuit, CircuitFault *fault) {
    for (uint32_t e = 0; e < circuit->elements.count; e++) {
        const Element *element = &circuit->elements.at[e];
        for (unsigned i = 0; i < circuit_kind(element->kind)->parameters; i++)
            if (!kind_allows(element->kind, i, circuit->values.at[element->parameter + i])) {
                bad_value(arena, circuit, e, i, fault);
                return false;
            }
    }
    return true;
}
