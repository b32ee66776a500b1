#include "tests/circuit_check.h"

#include <stdio.h>
#include <stdlib.h>

static const double SHARE = 1e-9;
/* A, the last digit of a few volts over the 10 ohm from which a resistor's current is got from its voltages: where nothing
 * but leaks of picoamperes flows, a double can say no more. */
static const double LAST_DIGIT = 1e-17;

TestCircuit test_circuit_new(void) {
    TestCircuit test = {.arena = arena_new()};
    test.circuit = circuit_new(test.arena);
    return test;
}

void test_circuit_free(TestCircuit *test) {
    circuit_solver_free(test->solver);
    arena_free(test->arena);
}

CircuitNode test_node(TestCircuit *test, const char *name) { return circuit_node(test->circuit, text_of(name), 0); }

uint32_t test_two(TestCircuit *test, CircuitKind kind, const char *name, CircuitNode a, CircuitNode b) {
    return circuit_add(test->circuit, kind, text_of(name), 0, (const CircuitNode[]){a, b});
}

uint32_t test_three(TestCircuit *test, CircuitKind kind, const char *name, CircuitNode a, CircuitNode b, CircuitNode c) {
    return circuit_add(test->circuit, kind, text_of(name), 0, (const CircuitNode[]){a, b, c});
}

uint32_t test_five(TestCircuit *test, CircuitKind kind, const char *name, const CircuitNode *nodes) {
    return circuit_add(test->circuit, kind, text_of(name), 0, nodes);
}

bool laws_hold(const Circuit *circuit, const CircuitSolver *solver, double leak, char *why, size_t room) {
    uint32_t nodes = circuit_node_count(circuit), elements = circuit_element_count(circuit);
    double *sum = calloc(nodes, sizeof *sum), *through = calloc(elements + 1, sizeof *through);
    double largest = 0, power = 0, powers = 0, most_volts = 0;
    bool fine = sum != NULL && through != NULL;
    for (uint32_t e = 0; fine && e < elements; e++) {
        double p = circuit_power(solver, e);
        power += p, powers += fabs(p);
        for (unsigned t = 0; t < circuit_kind(circuit_kind_of(circuit, e))->terminals; t++) {
            double i = circuit_current(solver, e, t);
            fine = fine && isfinite(i);
            sum[circuit_at(circuit, e, t)] += i, through[e] += i;
            largest = fmax(largest, fabs(i));
        }
    }
    for (uint32_t v = 1; fine && v < nodes; v++) {
        double volts = circuit_voltage(solver, v);
        most_volts = fmax(most_volts, fabs(volts));
        sum[v] += leak * volts, sum[0] -= leak * volts;
        power += leak * volts * volts, powers += leak * volts * volts;
        largest = fmax(largest, fabs(leak * volts));
    }
    if (!fine) snprintf(why, room, "a current is no number");
    for (uint32_t v = 0; fine && v < nodes; v++)
        if (!(fabs(sum[v]) <= fmax(SHARE * largest, LAST_DIGIT))) {
            snprintf(why, room, "Kirchhoff: %g A are left at %.*s, the largest current is %g A", sum[v],
                     TEXT_ARG(circuit_node_name(circuit, v)), largest);
            fine = false;
        }
    for (uint32_t e = 0; fine && e < elements; e++)
        if (!(fabs(through[e]) <= SHARE * largest)) {
            snprintf(why, room, "%.*s keeps %g A, the largest current is %g A", TEXT_ARG(circuit_name(circuit, e)),
                     through[e], largest);
            fine = false;
        }
    if (fine && !(fabs(power) <= fmax(SHARE * powers, LAST_DIGIT * most_volts))) {
        snprintf(why, room, "Tellegen: %g W are left of %g W", power, powers);
        fine = false;
    }
    free(sum);
    free(through);
    return fine;
}

void assert_laws(const Circuit *circuit, const CircuitSolver *solver, double leak) {
    char why[200];
    if (!laws_hold(circuit, solver, leak, why, sizeof why)) fail_msg("%s", why);
}

void test_solve_with(TestCircuit *test, CircuitOptions options) {
    circuit_solver_free(test->solver);
    test->solver = circuit_solver_new(test->arena, test->circuit, options, &test->fault);
    if (test->solver == NULL || !circuit_solve(test->solver, &test->fault)) fail_msg("%.*s", TEXT_ARG(test->fault.message));
    assert_laws(test->circuit, test->solver, options.leak);
}

void test_solve(TestCircuit *test) { test_solve_with(test, (CircuitOptions){0}); }

typedef struct Watched {
    TestCircuit *test;
    const CircuitRun *run;
} Watched;

static bool watch(void *context, const CircuitSolver *solver, double seconds) {
    const Watched *watched = context;
    assert_laws(watched->test->circuit, solver, 0);
    return watched->run->watch == NULL || watched->run->watch(watched->run->context, solver, seconds);
}

void test_run(TestCircuit *test, CircuitRun run) {
    Watched watched = {test, &run};
    CircuitRun inner = run;
    inner.watch = watch, inner.context = &watched;
    circuit_solver_free(test->solver);
    test->solver =
        circuit_solver_new(test->arena, test->circuit, (CircuitOptions){.for_time = run.from_rest}, &test->fault);
    if (test->solver == NULL || !circuit_run(test->solver, inner, &test->fault))
        fail_msg("%.*s", TEXT_ARG(test->fault.message));
}

void test_refused(TestCircuit *test, CircuitOptions options, CircuitTrouble trouble, const char *words) {
    circuit_solver_free(test->solver);
    test->solver = circuit_solver_new(test->arena, test->circuit, options, &test->fault);
    if (test->solver != NULL && circuit_solve(test->solver, &test->fault)) fail_msg("was solved, expected \"%s\"", words);
    if (text_find(test->fault.message, text_of(words)) == SIZE_MAX)
        fail_msg("\"%.*s\" doesn't hold \"%s\"", TEXT_ARG(test->fault.message), words);
    assert_int_equal(test->fault.trouble, trouble);
    assert_true(test->fault.hint.len > 0);
}

double test_volts(const TestCircuit *test, CircuitNode node) { return circuit_voltage(test->solver, node); }
double test_amperes(const TestCircuit *test, uint32_t element) { return circuit_current(test->solver, element, 0); }

static uint64_t seed = 20261125;

uint32_t random_below(uint32_t below) {
    seed = seed * 6364136223846793005u + 1442695040888963407u;
    return (uint32_t)((seed >> 33) % below);
}

double random_between(double low, double high) { return low + (high - low) * (double)random_below(1u << 30) / (1u << 30); }
