/* Any bytes as a circuit: elements of every kind between a few nodes, with parameters from nothing to 1e30. Solved at rest,
 * then asked what it hangs on, sampled, and followed for a bounded number of steps: an answer of numbers, or a message with
 * a hint.
 *
 * A record is: kind, then a node for each terminal, then how many parameters are set, then for each its number, a sign and
 * exponent, and a digit. */
#include "fuzz/fuzz.h"

#include "circuit/circuit.h"

#include <math.h>
#include <stdlib.h>

enum { NODES = 12, ELEMENTS_MOST = 60, STEPS = 300 };

typedef struct Bytes {
    const uint8_t *at;
    size_t left;
} Bytes;

static unsigned take(Bytes *bytes) {
    if (bytes->left == 0) return 0;
    bytes->left--;
    return *bytes->at++;
}

/* A digit and a power of ten from -15 to 30, or 0, or the sign turned; at the end what is no number at all. */
static double take_value(Bytes *bytes) {
    unsigned power = take(bytes), digit = take(bytes);
    if (power == 255) return digit % 2 == 0 ? NAN : INFINITY;
    if (power == 254) return 0;
    double value = (1 + digit % 10) * pow(10, (int)(power % 46) - 15);
    return power >= 138 && power < 184 ? -value : value;
}

static void add_element(Circuit *circuit, Bytes *bytes) {
    CircuitKind kind = take(bytes) % CIRCUIT_KINDS;
    const CircuitKindFacts *facts = circuit_kind(kind);
    CircuitNode at[CIRCUIT_TERMINALS];
    for (unsigned t = 0; t < facts->terminals; t++) at[t] = take(bytes) % circuit_node_count(circuit);
    uint32_t element = circuit_add(circuit, kind, text_of(facts->name), 0, at);
    for (unsigned set = take(bytes) % 4; set > 0; set--) {
        unsigned parameter = take(bytes) % facts->parameters;
        circuit_set(circuit, element, parameter, take_value(bytes));
    }
}

static void expect_words(const CircuitFault *fault) {
    if (fault->trouble == CIRCUIT_FINE || fault->message.len == 0 || fault->hint.len == 0) abort();
}

static void expect_numbers(const Circuit *circuit, const CircuitSolver *solver) {
    for (CircuitNode node = 0; node < circuit_node_count(circuit); node++)
        if (!isfinite(circuit_voltage(solver, node))) abort();
}

static void ask_again(const Circuit *circuit, CircuitSolver *solver, CircuitNode node) {
    CircuitVary vary[ELEMENTS_MOST];
    double slopes[ELEMENTS_MOST], values[2 * ELEMENTS_MOST], out[2];
    bool solved[2];
    uint32_t count = circuit_element_count(circuit);
    for (uint32_t e = 0; e < count; e++) {
        vary[e] = (CircuitVary){e, 0};
        values[e] = circuit_value(circuit, e, 0) * 1.05, values[count + e] = 0;
    }
    CircuitProbe probe = {.what = PROBE_VOLTAGE, .plus = node};
    if (circuit_sensitivity(solver, probe, vary, count, slopes))
        for (uint32_t e = 0; e < count; e++)
            if (!isfinite(slopes[e])) abort();
    circuit_sample(solver, (CircuitSampling){vary, values, count, 2, &probe, 1, out, solved});
    if (!isfinite(out[0]) || !isfinite(out[1])) abort();
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    Bytes bytes = {data, size};
    Arena *arena = arena_new();
    Circuit *circuit = circuit_new(arena);
    unsigned flags = take(&bytes), nodes = 1 + take(&bytes) % NODES;
    for (unsigned i = 0; i < nodes; i++) circuit_node(circuit, TEXT("n"), i);
    while (bytes.left > 0 && circuit_element_count(circuit) < ELEMENTS_MOST) add_element(circuit, &bytes);
    CircuitOptions options = {.leak = flags & 1 ? 1e-12 : 0, .for_time = flags & 2};
    CircuitFault fault;
    CircuitSolver *solver = circuit_solver_new(arena, circuit, options, &fault);
    if (solver == NULL) {
        expect_words(&fault);
    } else {
        bool rest = !options.for_time && circuit_solve(solver, &fault);
        if (rest) expect_numbers(circuit, solver), ask_again(circuit, solver, 1);
        if (!rest && !options.for_time) expect_words(&fault);
        CircuitRun run = {.until = flags & 4 ? 1e-3 : 10, .steps_most = STEPS, .from_rest = options.for_time};
        if (circuit_run(solver, run, &fault))
            expect_numbers(circuit, solver);
        else
            expect_words(&fault);
    }
    circuit_solver_free(solver);
    arena_free(arena);
    return 0;
}
