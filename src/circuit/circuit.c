/* Describing a circuit: nodes, elements, parameters. */
#include "circuit/inside.h"

Circuit *circuit_new(Arena *arena) {
    Circuit *circuit = arena_one(arena, Circuit);
    circuit->arena = arena;
    circuit_node(circuit, TEXT("the reference"), 0);
    return circuit;
}

CircuitNode circuit_node(Circuit *circuit, Text name, uint32_t tag) {
    list_push(circuit->arena, &circuit->nodes, ((Node){name, tag}));
    return circuit->nodes.count - 1;
}

uint32_t circuit_add(Circuit *circuit, CircuitKind kind, Text name, uint32_t tag, const CircuitNode *nodes) {
    const CircuitKindFacts *facts = circuit_kind(kind);
    Element element = {name, kind, tag, circuit->values.count, circuit->at.count};
    list_push(circuit->arena, &circuit->elements, element);
    for (unsigned i = 0; i < facts->parameters; i++) list_push(circuit->arena, &circuit->values, facts->parameter[i].usual);
    for (unsigned i = 0; i < facts->terminals; i++) list_push(circuit->arena, &circuit->at, nodes[i]);
    return circuit->elements.count - 1;
}

void circuit_set(Circuit *circuit, uint32_t element, unsigned parameter, double value) {
    circuit->values.at[circuit->elements.at[element].parameter + parameter] = value;
}

double circuit_value(const Circuit *circuit, uint32_t element, unsigned parameter) {
    return circuit->values.at[circuit->elements.at[element].parameter + parameter];
}

uint32_t circuit_node_count(const Circuit *circuit) { return circuit->nodes.count; }
uint32_t circuit_element_count(const Circuit *circuit) { return circuit->elements.count; }
Text circuit_node_name(const Circuit *circuit, CircuitNode node) { return circuit->nodes.at[node].name; }
uint32_t circuit_node_tag(const Circuit *circuit, CircuitNode node) { return circuit->nodes.at[node].tag; }
CircuitKind circuit_kind_of(const Circuit *circuit, uint32_t element) { return circuit->elements.at[element].kind; }
Text circuit_name(const Circuit *circuit, uint32_t element) { return circuit->elements.at[element].name; }
uint32_t circuit_tag(const Circuit *circuit, uint32_t element) { return circuit->elements.at[element].tag; }

CircuitNode circuit_at(const Circuit *circuit, uint32_t element, unsigned terminal) {
    return circuit->at.at[circuit->elements.at[element].terminal + terminal];
}

void circuit_move(Circuit *circuit, uint32_t element, unsigned terminal, CircuitNode to) {
    circuit->at.at[circuit->elements.at[element].terminal + terminal] = to;
}

#define copy_list(arena, to, from)                                                                                         \
    ((to)->at = arena_take((arena), (from)->count * sizeof *(to)->at), (to)->count = (to)->room = (from)->count,           \
     (void)((from)->count > 0 && memcpy((to)->at, (from)->at, (from)->count * sizeof *(to)->at)))

Circuit *circuit_copy(Arena *arena, const Circuit *circuit) {
    Circuit *copy = arena_one(arena, Circuit);
    copy->arena = arena;
    copy_list(arena, &copy->nodes, &circuit->nodes);
    copy_list(arena, &copy->elements, &circuit->elements);
    copy_list(arena, &copy->values, &circuit->values);
    copy_list(arena, &copy->at, &circuit->at);
    return copy;
}

static uint32_t add_two(Circuit *circuit, CircuitKind kind, const char *name, CircuitNode a, CircuitNode b,
                        unsigned parameter, double value) {
    uint32_t element = circuit_add(circuit, kind, text_of(name), 0, (const CircuitNode[]){a, b});
    circuit_set(circuit, element, parameter, value);
    return element;
}

uint32_t circuit_resistor(Circuit *circuit, const char *name, CircuitNode a, CircuitNode b, double ohms) {
    return add_two(circuit, CIRCUIT_RESISTOR, name, a, b, RESISTOR_OHMS, ohms);
}

uint32_t circuit_capacitor(Circuit *circuit, const char *name, CircuitNode a, CircuitNode b, double farads) {
    return add_two(circuit, CIRCUIT_CAPACITOR, name, a, b, CAPACITOR_FARADS, farads);
}

uint32_t circuit_inductor(Circuit *circuit, const char *name, CircuitNode a, CircuitNode b, double henrys) {
    return add_two(circuit, CIRCUIT_INDUCTOR, name, a, b, INDUCTOR_HENRYS, henrys);
}

uint32_t circuit_source(Circuit *circuit, const char *name, CircuitNode plus, CircuitNode minus, double volts) {
    return add_two(circuit, CIRCUIT_VOLTAGE, name, plus, minus, SOURCE_VALUE, volts);
}

uint32_t circuit_current_source(Circuit *circuit, const char *name, CircuitNode plus, CircuitNode minus, double amperes) {
    return add_two(circuit, CIRCUIT_CURRENT, name, plus, minus, SOURCE_VALUE, amperes);
}
