/* circuit: the state of rest, against LAPACK, a dense Newton of this file's own, and closed forms; and circuits that have
 * no one answer, or values at the end of all scales. */
#include "tests/circuit_check.h"

#include "circuit/inside.h"

#include <gsl/gsl_sf_lambert.h>
#include <lapacke.h>
#include <stdlib.h>
#include <time.h>

static const double VT = 1.380649e-23 * 300.15 / 1.602176634e-19;

/* ---- LAPACK on the same matrices ---- */

static uint32_t random_linear(TestCircuit *test, uint32_t nodes) {
    static const CircuitKind kinds[] = {CIRCUIT_VCVS, CIRCUIT_VCCS, CIRCUIT_CCCS, CIRCUIT_CCVS};
    for (uint32_t i = 0; i < nodes; i++) test_node(test, "n");
    for (uint32_t i = 1; i <= nodes; i++) {
        circuit_resistor(test->circuit, "R", i, random_below(i), pow(10, random_between(0, 5)));
        circuit_resistor(test->circuit, "R", i, random_below(nodes + 1), pow(10, random_between(0, 5)));
        if (i % 3 == 0) circuit_current_source(test->circuit, "I", i, random_below(nodes + 1), random_between(-0.1, 0.1));
    }
    circuit_source(test->circuit, "V", 1, 0, 5);
    if (nodes > 8) { /* one controlled source, its output through a resistor so that it makes no loop */
        CircuitNode out = test_node(test, "out"), in = test_node(test, "in");
        circuit_resistor(test->circuit, "R", out, 2, 100);
        circuit_resistor(test->circuit, "R", out, 0, 1e4);
        circuit_resistor(test->circuit, "R", in, 3, 1e3);
        circuit_resistor(test->circuit, "R", in, 0, 1e5);
        uint32_t e = test_five(test, kinds[nodes % 4], "E", (const CircuitNode[]){out, 0, in, 4});
        circuit_set(test->circuit, e, CONTROLLED_GAIN, nodes % 4 == 3 ? 100 : nodes % 4 == 1 ? 1e-4 : 0.5);
    }
    return circuit_node_count(test->circuit);
}

static void lapack_solves_the_same_matrix(void **state) {
    (void)state;
    for (unsigned round = 0; round < 60; round++) {
        TestCircuit test = test_circuit_new();
        random_linear(&test, 2 + random_below(60));
        test_solve(&test);
        Work *work = &test.solver->work;
        const Plan *plan = test.solver->plan;
        lapack_int n = (lapack_int)plan->n;
        double *a = test_calloc((size_t)n * (size_t)n, sizeof *a), *b = test_calloc((size_t)n, sizeof *b);
        lapack_int *pivots = test_calloc((size_t)n, sizeof *pivots);
        stamp_linear(work);
        for (int c = 0; c < n; c++) {
            b[c] = -work->base_f[c];
            for (int e = plan->column[c]; e < plan->column[c + 1]; e++) a[c * n + plan->row[e]] = work->base[e];
        }
        assert_int_equal(LAPACKE_dgesv(LAPACK_COL_MAJOR, n, 1, a, n, pivots, b, n), 0);
        double most = 0;
        for (int i = 0; i < n; i++) most = fmax(most, fabs(b[i]));
        for (int i = 0; i < n; i++)
            if (fabs(b[i] - work->x[i]) > 1e-9 * most) fail_msg("unknown %d: LAPACK %.15g, KLU %.15g", i, b[i], work->x[i]);
        test_free(a), test_free(b), test_free(pivots);
        test_circuit_free(&test);
    }
}

/* ---- a dense Newton, independent of the room ---- */

enum { DENSE_MOST = 40 };

typedef struct Dense { /* G v + diodes = i, node 0 taken out */
    int n, diodes;
    double g[DENSE_MOST][DENSE_MOST], i[DENSE_MOST];
    int anode[200], cathode[200];
    double saturation[200];
} Dense;

static void dense_resistor(Dense *d, int a, int b, double ohms) {
    if (a > 0) d->g[a - 1][a - 1] += 1 / ohms;
    if (b > 0) d->g[b - 1][b - 1] += 1 / ohms;
    if (a > 0 && b > 0) d->g[a - 1][b - 1] -= 1 / ohms, d->g[b - 1][a - 1] -= 1 / ohms;
}

/* Residual f and tangent j (row-major) at v. */
static void dense_at(const Dense *d, const double *v, double *f, double *j) {
    for (int r = 0; r < d->n; r++) {
        f[r] = -d->i[r];
        for (int c = 0; c < d->n; c++) f[r] += d->g[r][c] * v[c], j[r * d->n + c] = d->g[r][c];
    }
    for (int k = 0; k < d->diodes; k++) {
        int a = d->anode[k] - 1, b = d->cathode[k] - 1;
        double u = (a >= 0 ? v[a] : 0) - (b >= 0 ? v[b] : 0), e = exp(fmin(u / VT, 200));
        double i = d->saturation[k] * (e - 1) + 1e-12 * u, slope = d->saturation[k] / VT * e + 1e-12;
        if (a >= 0) f[a] += i, j[a * d->n + a] += slope;
        if (b >= 0) f[b] -= i, j[b * d->n + b] += slope;
        if (a >= 0 && b >= 0) j[a * d->n + b] -= slope, j[b * d->n + a] -= slope;
    }
}

/* Newton with the step cut so that no diode gains more than 0.1 V; resistors and diodes alone have one answer, whatever the
 * way there (C. A. Desoer, J. Katzenelson, Bell System Technical Journal 44, 1965, from memory). */
static bool dense_newton(const Dense *d, double *v) {
    double f[DENSE_MOST], j[DENSE_MOST * DENSE_MOST];
    lapack_int pivots[DENSE_MOST];
    memset(v, 0, (size_t)d->n * sizeof *v);
    for (int step = 0; step < 5000; step++) {
        dense_at(d, v, f, j);
        if (LAPACKE_dgesv(LAPACK_ROW_MAJOR, d->n, 1, j, d->n, pivots, f, 1) != 0) return false;
        double rise = 0.1, most = 0;
        for (int k = 0; k < d->diodes; k++) {
            int a = d->anode[k] - 1, b = d->cathode[k] - 1;
            rise = fmax(rise, -((a >= 0 ? f[a] : 0) - (b >= 0 ? f[b] : 0)));
        }
        for (int i = 0; i < d->n; i++) v[i] -= f[i] * 0.1 / rise, most = fmax(most, fabs(f[i]));
        if (most < 1e-12) return true;
    }
    return false;
}

static void random_circuits_agree_with_a_dense_newton(void **state) {
    (void)state;
    for (unsigned round = 0; round < 200; round++) {
        TestCircuit test = test_circuit_new();
        Dense dense = {.n = 2 + (int)random_below(DENSE_MOST - 2)};
        uint32_t nodes = (uint32_t)dense.n + 1;
        for (int i = 0; i < dense.n; i++) test_node(&test, "n");
        for (uint32_t i = 1; i < nodes; i++) {
            uint32_t to = random_below(i);
            double ohms = pow(10, random_between(1.1, 4));
            circuit_resistor(test.circuit, "R", i, to, ohms);
            dense_resistor(&dense, (int)i, (int)to, ohms);
        }
        for (uint32_t k = 0; k < nodes; k++) {
            uint32_t a = random_below(nodes), b = random_below(nodes);
            uint32_t e = test_two(&test, CIRCUIT_DIODE, "D", a, b);
            double saturation = pow(10, random_between(-15, -7));
            circuit_set(test.circuit, e, DIODE_SATURATION, saturation);
            if (a == b) continue;
            dense.anode[dense.diodes] = (int)a, dense.cathode[dense.diodes] = (int)b,
            dense.saturation[dense.diodes++] = saturation;
        }
        for (int k = 0; k < 3; k++) {
            uint32_t to = 1 + random_below(nodes - 1);
            double amperes = random_between(-1e-3, 1e-3);
            circuit_current_source(test.circuit, "I", 0, to, amperes);
            dense.i[to - 1] += amperes;
        }
        test_solve(&test);
        double v[DENSE_MOST], most = 0;
        assert_true(dense_newton(&dense, v));
        for (int i = 0; i < dense.n; i++) most = fmax(most, fabs(v[i]));
        for (int i = 0; i < dense.n; i++)
            if (fabs(v[i] - test_volts(&test, (CircuitNode)i + 1)) > 1e-8 * most)
                fail_msg("circuit %u node %d: dense %.15g, ours %.15g", round, i + 1, v[i],
                         test_volts(&test, (CircuitNode)i + 1));
        test_circuit_free(&test);
    }
}

/* ---- any circuit ---- */

/* Not those that fix a voltage or only give a current: circuits at random would mostly be refused for them. */
static bool is_loose(CircuitKind kind) {
    return kind != CIRCUIT_VOLTAGE && kind != CIRCUIT_CURRENT && kind != CIRCUIT_VCVS && kind != CIRCUIT_CCVS && kind != CIRCUIT_CCCS &&
           kind != CIRCUIT_INDUCTOR;
}

static void add_anything(TestCircuit *test, CircuitNode rail) {
    CircuitKind kind;
    do kind = random_below(CIRCUIT_KINDS);
    while (!is_loose(kind));
    CircuitNode at[CIRCUIT_TERMINALS];
    for (unsigned t = 0; t < CIRCUIT_TERMINALS; t++) at[t] = random_below(circuit_node_count(test->circuit));
    if (kind == CIRCUIT_PIN) at[1] = rail, at[2] = 0;
    if (kind == CIRCUIT_REGULATOR) at[0] = rail, at[2] = 0;
    if (kind == CIRCUIT_OPAMP || kind == CIRCUIT_COMPARATOR) at[3] = rail, at[4] = 0;
    uint32_t e = test_five(test, kind, circuit_kind(kind)->name, at);
    if (kind == CIRCUIT_PIN) circuit_set(test->circuit, e, PIN_STATE, random_below(4));
    if (kind == CIRCUIT_BIPOLAR || kind == CIRCUIT_MOSFET) circuit_set(test->circuit, e, 0, random_below(2) == 0 ? 1 : -1);
}

/* Wired without sense, a few have feedback that no point of rest balances well enough to be found; those must say so. */
static void any_circuit_obeys_the_laws_or_says_why_not(void **state) {
    (void)state;
    enum { CIRCUITS = 600, NODES = 10, PARTS = 12 };
    unsigned fine = 0;
    for (unsigned round = 0; round < CIRCUITS; round++) {
        TestCircuit test = test_circuit_new();
        CircuitNode rail = test_node(&test, "rail");
        for (uint32_t i = 2; i <= NODES; i++) {
            test_node(&test, "n");
            circuit_resistor(test.circuit, "R", i, random_below(i), pow(10, random_between(1.5, 5)));
        }
        uint32_t v = circuit_source(test.circuit, "V", rail, 0, 5);
        circuit_resistor(test.circuit, "load", rail, 0, 1e3); /* so that more flows than leaks */
        for (unsigned k = 0; k < PARTS; k++) add_anything(&test, rail);
        test.solver = circuit_solver_new(test.arena, test.circuit, (CircuitOptions){0}, &test.fault);
        if (test.solver != NULL && circuit_solve(test.solver, &test.fault)) {
            fine++;
            assert_laws(test.circuit, test.solver, 0);
            assert_near(test_volts(&test, rail), circuit_value(test.circuit, v, SOURCE_VALUE));
        } else {
            assert_true(test.fault.message.len > 0 && test.fault.hint.len > 0);
        }
        test_circuit_free(&test);
    }
    print_message("%u of %d solved\n", fine, CIRCUITS);
    assert_true(fine > CIRCUITS * 95 / 100);
}

/* ---- closed form ---- */

/* v = R i + Vt ln(1 + i / Is), solved by Lambert's function: i = Vt / R W(Is R / Vt e^((v + Is R) / Vt)) - Is. T. C.
 * Banwell, A. Jayakumar, Electronics Letters 36, 2000 (from memory). The junction's own gmin (1e-12 S) is left out: below
 * the tolerance. */
static void diode_and_resistor_follow_lambert(void **state) {
    (void)state;
    for (double volts = 0.2; volts < 12; volts *= 1.3)
        for (double ohms = 20; ohms < 1e5; ohms *= 7) {
            TestCircuit test = test_circuit_new();
            CircuitNode a = test_node(&test, "a"), b = test_node(&test, "b");
            circuit_source(test.circuit, "V", a, 0, volts);
            circuit_resistor(test.circuit, "R", a, b, ohms);
            uint32_t d = test_two(&test, CIRCUIT_DIODE, "D", b, 0);
            circuit_set(test.circuit, d, DIODE_SATURATION, 2e-9);
            circuit_set(test.circuit, d, DIODE_EMISSION, 1.8);
            test_solve(&test);
            double nvt = 1.8 * VT, x = 2e-9 * ohms / nvt * exp((volts + 2e-9 * ohms) / nvt);
            if (isfinite(x)) assert_share(test_amperes(&test, d), nvt / ohms * gsl_sf_lambert_W0(x) - 2e-9, 1e-5);
            test_circuit_free(&test);
        }
}

/* ---- no one answer ---- */

static void what_floats_is_named(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode a = test_node(&test, "VCC"), b = test_node(&test, "gate"), c = test_node(&test, "pad");
    circuit_source(test.circuit, "BT1", a, 0, 3);
    circuit_resistor(test.circuit, "R1", a, 0, 1e3);
    circuit_capacitor(test.circuit, "C1", a, b, 1e-6);
    circuit_resistor(test.circuit, "R2", b, c, 1e3);
    test_refused(&test, (CircuitOptions){0}, CIRCUIT_FLOATING,
                 "nothing fixes the voltage of gate and pad, where there is C1 and R2");
    assert_int_equal(test.fault.node_count, 2);
    assert_int_equal(test.fault.nodes[1], c);
    test_solve_with(&test, (CircuitOptions){.leak = 1e-12}); /* a leak answers it */
    assert_true(fabs(test_volts(&test, b)) < 1e-9);
    test_run(&test, (CircuitRun){.until = 1e-3, .from_rest = true}); /* and so does time: the capacitor carries it along */
    assert_share(test_volts(&test, c), 3, 1e-6);
    test_circuit_free(&test);
}

static void nodes_that_only_current_sources_feed_are_named(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode a = test_node(&test, "a"), b = test_node(&test, "b");
    circuit_current_source(test.circuit, "I1", 0, a, 1e-3);
    circuit_resistor(test.circuit, "R1", a, b, 1e3);
    circuit_current_source(test.circuit, "I2", b, 0, 2e-3);
    test_refused(&test, (CircuitOptions){0}, CIRCUIT_ONLY_SOURCES,
                 "only sources of current feed a and b, where there is I1, R1 and I2");
    test_circuit_free(&test);
}

static void loops_of_fixed_voltages_are_named(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode a = test_node(&test, "a"), b = test_node(&test, "b");
    circuit_resistor(test.circuit, "R1", a, b, 1e3);
    circuit_source(test.circuit, "V1", a, 0, 5);
    circuit_inductor(test.circuit, "L1", a, b, 1e-3);
    circuit_source(test.circuit, "V2", b, 0, 3);
    test_refused(&test, (CircuitOptions){0}, CIRCUIT_LOOP,
                 "V2, L1 and V1 each fix a voltage and form a loop through b, a and the reference");
    circuit_set(test.circuit, 2, INDUCTOR_OHMS, 1);
    test_solve(&test);
    assert_share(test_amperes(&test, 2), 2, 1e-12);
    circuit_source(test.circuit, "V3", b, b, 3);
    test_refused(&test, (CircuitOptions){0}, CIRCUIT_LOOP, "V3 fixes a voltage between a node and itself, b");
    test_circuit_free(&test);
}

static void what_only_the_factorisation_sees_is_named_too(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode a = test_node(&test, "a");
    uint32_t negative = test_five(&test, CIRCUIT_VCCS, "G1", (const CircuitNode[]){a, 0, a, 0});
    circuit_set(test.circuit, negative, CONTROLLED_GAIN, -1e-3);
    circuit_resistor(test.circuit, "R1", a, 0, 1e3);
    circuit_current_source(test.circuit, "I1", 0, a, 1e-3);
    test_refused(&test, (CircuitOptions){0}, CIRCUIT_SINGULAR, "nothing fixes the voltage of a");
    test_circuit_free(&test);
}

static void a_value_outside_its_limits_is_named(void **state) {
    (void)state;
    static const double values[] = {-1, NAN, INFINITY, -INFINITY, 1e31};
    for (unsigned i = 0; i < sizeof values / sizeof *values; i++) {
        TestCircuit test = test_circuit_new();
        CircuitNode a = test_node(&test, "a");
        circuit_source(test.circuit, "V1", a, 0, 5);
        circuit_resistor(test.circuit, "R7", a, 0, values[i]);
        test_refused(&test, (CircuitOptions){0}, CIRCUIT_BAD_VALUE, "R7: resistance");
        test_circuit_free(&test);
    }
}

/* ---- extremes ---- */

/* Every kind in a small circuit with each of its parameters at extreme values: an answer that is a number, or a message;
 * soon. */
static void extreme_values_are_answered(void **state) {
    (void)state;
    static const double extremes[] = {1e-15, 1e-12, 0, -1, 1, 1e3, 1e12, 1e15, 1e30, -1e30};
    unsigned answered = 0, refused = 0;
    for (unsigned kind = 0; kind < CIRCUIT_KINDS; kind++)
        for (unsigned p = 0; p < circuit_kind(kind)->parameters; p++)
            for (unsigned i = 0; i < sizeof extremes / sizeof *extremes; i++) {
                TestCircuit test = test_circuit_new();
                CircuitNode at[CIRCUIT_TERMINALS], rail = test_node(&test, "rail");
                circuit_source(test.circuit, "V", rail, 0, 5);
                for (unsigned t = 0; t < circuit_kind(kind)->terminals; t++) {
                    at[t] = test_node(&test, "n");
                    circuit_resistor(test.circuit, "R", at[t], t % 2 == 0 ? rail : 0, 330 + 100 * t);
                }
                circuit_set(test.circuit, test_five(&test, kind, "X", at), p, extremes[i]);
                clock_t before = clock();
                test.solver = circuit_solver_new(test.arena, test.circuit, (CircuitOptions){0}, &test.fault);
                bool fine = test.solver != NULL && circuit_solve(test.solver, &test.fault);
                if (fine) assert_laws(test.circuit, test.solver, 0);
                if (fine) fine = circuit_run(test.solver, (CircuitRun){.until = 1e-2, .steps_most = 2000}, &test.fault);
                for (CircuitNode n = 0; test.solver != NULL && fine && n < circuit_node_count(test.circuit); n++)
                    assert_true(isfinite(circuit_voltage(test.solver, n)));
                if (!fine) assert_true(test.fault.message.len > 0 && test.fault.hint.len > 0);
                assert_true(clock() - before < CLOCKS_PER_SEC);
                if (!fine && test.fault.trouble == CIRCUIT_NO_ANSWER)
                    print_message("no answer: %s %s = %g: %.*s\n", circuit_kind(kind)->name,
                                  circuit_kind(kind)->parameter[p].name, extremes[i], TEXT_ARG(test.fault.message));
                answered += fine, refused += !fine;
                test_circuit_free(&test);
            }
    print_message("%u answered, %u refused\n", answered, refused);
    assert_true(answered > refused);
}

static void the_largest_beside_the_smallest(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode a = test_node(&test, "a"), b = test_node(&test, "b"), c = test_node(&test, "c");
    circuit_source(test.circuit, "V", a, 0, 1e30);
    uint32_t small = circuit_resistor(test.circuit, "R1", a, b, 1e-15);
    uint32_t large = circuit_resistor(test.circuit, "R2", b, c, 1e12);
    circuit_resistor(test.circuit, "R3", c, 0, 1e-15);
    test_solve(&test);
    assert_share(test_amperes(&test, large), 1e18, 1e-12);
    assert_share(test_amperes(&test, small), 1e18, 1e-12);
    assert_share(test_volts(&test, c), 1e3, 1e-12);
    test_circuit_free(&test);
}

static void an_empty_circuit_is_solved(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    test_solve(&test);
    test_run(&test, (CircuitRun){.until = 1});
    test_circuit_free(&test);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lapack_solves_the_same_matrix),
        cmocka_unit_test(random_circuits_agree_with_a_dense_newton),
        cmocka_unit_test(any_circuit_obeys_the_laws_or_says_why_not),
        cmocka_unit_test(diode_and_resistor_follow_lambert),
        cmocka_unit_test(what_floats_is_named),
        cmocka_unit_test(nodes_that_only_current_sources_feed_are_named),
        cmocka_unit_test(loops_of_fixed_voltages_are_named),
        cmocka_unit_test(what_only_the_factorisation_sees_is_named_too),
        cmocka_unit_test(a_value_outside_its_limits_is_named),
        cmocka_unit_test(extreme_values_are_answered),
        cmocka_unit_test(the_largest_beside_the_smallest),
        cmocka_unit_test(an_empty_circuit_is_solved),
    };
    return cmocka_run_group_tests_name("circuit_solve", tests, NULL, NULL);
}
