/* An element between sources of voltage, one at each terminal: its currents are then its equation alone. */
#ifndef UNPICK_TESTS_CIRCUIT_HELD_H
#define UNPICK_TESTS_CIRCUIT_HELD_H

#include "tests/circuit_check.h"

static const double VT = 1.380649e-23 * 300.15 / 1.602176634e-19; /* kT/q at 300.15 K */
static const double GMIN = 1e-12;                                 /* S across each junction */

typedef struct Held {
    TestCircuit test;
    uint32_t element, sources[CIRCUIT_TERMINALS];
} Held;

static inline Held held_new(CircuitKind kind) {
    Held held = {.test = test_circuit_new()};
    CircuitNode at[CIRCUIT_TERMINALS];
    for (unsigned t = 0; t < circuit_kind(kind)->terminals; t++) {
        at[t] = test_node(&held.test, "t");
        held.sources[t] = circuit_source(held.test.circuit, "V", at[t], 0, 0);
    }
    held.element = test_five(&held.test, kind, "X", at);
    return held;
}

static inline void hold(Held *held, const double *volts) {
    for (unsigned t = 0; t < circuit_kind(circuit_kind_of(held->test.circuit, held->element))->terminals; t++)
        circuit_set(held->test.circuit, held->sources[t], SOURCE_VALUE, volts[t]);
    test_solve(&held->test);
}

static inline void set(Held *held, unsigned parameter, double value) { circuit_set(held->test.circuit, held->element, parameter, value); }
static inline double into(const Held *held, unsigned terminal) { return circuit_current(held->test.solver, held->element, terminal); }
static inline double held_inner(const Held *held, unsigned which) { return circuit_inner(held->test.solver, held->element, which); }
#define HOLD(held, ...) hold(&(held), (const double[]){__VA_ARGS__})

#endif
