/* What the worked examples share: elements in a letter, nodes by the handful. */
#ifndef UNPICK_TESTS_CIRCUIT_SHORT_H
#define UNPICK_TESTS_CIRCUIT_SHORT_H

#include "tests/circuit_check.h"

static inline uint32_t R(TestCircuit *t, CircuitNode a, CircuitNode b, double ohms) { return circuit_resistor(t->circuit, "R", a, b, ohms); }
static inline uint32_t V(TestCircuit *t, CircuitNode a, CircuitNode b, double volts) { return circuit_source(t->circuit, "V", a, b, volts); }
static inline uint32_t I(TestCircuit *t, CircuitNode from, CircuitNode to, double amperes) {
    return circuit_current_source(t->circuit, "I", from, to, amperes);
}

static inline void nodes(TestCircuit *t, CircuitNode *at, unsigned count) {
    for (unsigned i = 0; i < count; i++) at[i] = test_node(t, "n");
}

#endif
