/* What the tests of the solver share: circuits built in few words, and the laws that every solved one is held to. */
#ifndef UNPICK_TESTS_CIRCUIT_CHECK_H
#define UNPICK_TESTS_CIRCUIT_CHECK_H

#include "tests/check.h"

#include "circuit/circuit.h"

/* Equal to a share of the larger. */
#define assert_share(a, b, share)                                                                                          \
    do {                                                                                                                   \
        double share_a = (a), share_b = (b);                                                                               \
        if (!(fabs(share_a - share_b) <= (share)*fmax(fabs(share_a), fabs(share_b))))                                      \
            fail_msg("%s is %.15g, expected %s = %.15g", #a, share_a, #b, share_b);                                        \
    } while (0)

/* The printed digits of a source: within half a step of its last digit. */
#define assert_printed(a, printed, last)                                                                                   \
    do {                                                                                                                   \
        double printed_a = (a);                                                                                            \
        if (!(fabs(printed_a - (printed)) <= 0.5000001 * (last)))                                                          \
            fail_msg("%s is %.9g, printed %g (last digit %g)", #a, printed_a, (double)(printed), (double)(last));          \
    } while (0)

/* A circuit on an arena of its own, with a solver once it was asked for. */
typedef struct TestCircuit {
    Arena *arena;
    Circuit *circuit;
    CircuitSolver *solver;
    CircuitFault fault;
} TestCircuit;

TestCircuit test_circuit_new(void);
void test_circuit_free(TestCircuit *test);
CircuitNode test_node(TestCircuit *test, const char *name);
uint32_t test_two(TestCircuit *test, CircuitKind kind, const char *name, CircuitNode a, CircuitNode b);
uint32_t test_three(TestCircuit *test, CircuitKind kind, const char *name, CircuitNode a, CircuitNode b, CircuitNode c);
uint32_t test_five(TestCircuit *test, CircuitKind kind, const char *name, const CircuitNode *nodes);

/* Solves the state of rest anew and holds it to the laws; fails the test when there is no answer. */
void test_solve(TestCircuit *test);
void test_solve_with(TestCircuit *test, CircuitOptions options);
/* Runs and holds every accepted point to the laws; then tells `watch`. */
void test_run(TestCircuit *test, CircuitRun run);
/* Expects a refusal of this kind; its message must hold `words`. */
void test_refused(TestCircuit *test, CircuitOptions options, CircuitTrouble trouble, const char *words);
double test_volts(const TestCircuit *test, CircuitNode node);
double test_amperes(const TestCircuit *test, uint32_t element); /* into its first terminal */

/* Kirchhoff's current law at every node and through every element, to 1e-9 of the largest current; voltages around loops
 * hold by their being differences of node voltages; Tellegen's theorem: the powers of all elements sum to nothing, to 1e-9
 * of the sum of their sizes. Nothing smaller than 1e-17 A is judged, nor what
 * it makes at the largest voltage. B. D. H. Tellegen, Philips Research Reports 7, 1952
 * (from memory). `leak` as in the options. False, and *why says, when a law is broken. */
bool laws_hold(const Circuit *circuit, const CircuitSolver *solver, double leak, char *why, size_t room);
void assert_laws(const Circuit *circuit, const CircuitSolver *solver, double leak);

uint32_t random_below(uint32_t below);
double random_between(double low, double high);

#endif
