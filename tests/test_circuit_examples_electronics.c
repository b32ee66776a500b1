/* circuit: worked examples of textbooks of electronics and machines, and of data sheets, to the digits they print. All from
 * memory, circuits and numbers alike: no book was at hand. Where a recalled number and ours differ, the example says so. */
#include "tests/circuit_short.h"

static const double BOLTZMANN_OVER_CHARGE = 1.380649e-23 / 1.602176634e-19;

/* A transistor that has `vbe` at a collector current of `amperes`, as textbooks reckon. */
static uint32_t bipolar(TestCircuit *t, CircuitNode c, CircuitNode b, CircuitNode e, double sign, double beta, double vbe, double amperes,
                        double kelvin) {
    uint32_t q = test_three(t, CIRCUIT_BIPOLAR, "Q", c, b, e);
    circuit_set(t->circuit, q, BIPOLAR_SIGN, sign), circuit_set(t->circuit, q, BIPOLAR_FORWARD, beta);
    circuit_set(t->circuit, q, BIPOLAR_SATURATION, amperes * exp(-vbe / (BOLTZMANN_OVER_CHARGE * kelvin)));
    return q;
}
static const double ROOM = 300.15;

static uint32_t mosfet(TestCircuit *t, CircuitNode d, CircuitNode g, CircuitNode s, double threshold, double gain) {
    uint32_t m = test_three(t, CIRCUIT_MOSFET, "M", d, g, s);
    circuit_set(t->circuit, m, MOSFET_THRESHOLD, threshold), circuit_set(t->circuit, m, MOSFET_GAIN, gain);
    return m;
}

/* ---- A. S. Sedra, K. C. Smith, Microelectronic Circuits ---- */

static void sedra_diode_by_iteration(void **state) { /* 5 V, 1 kohm, 0.7 V at 1 mA, 0.1 V a decade: 4.237 mA */
    (void)state;
    TestCircuit t = test_circuit_new();
    CircuitNode n[2];
    nodes(&t, n, 2);
    V(&t, n[0], 0, 5), R(&t, n[0], n[1], 1e3);
    uint32_t d = test_two(&t, CIRCUIT_DIODE, "D", n[1], 0);
    assert_true(circuit_fit_diode(t.circuit, d, 0.7, 1e-3, 0.8, 10e-3, 0));
    test_solve(&t);
    assert_printed(test_amperes(&t, d) * 1e3, 4.237, 0.001);
    test_circuit_free(&t);
}

static void sedra_transistor_with_emitter_resistor(void **state) { /* 4 V on the base, 3.3k, 4.7k, 10 V, beta 100 */
    (void)state;
    TestCircuit t = test_circuit_new();
    CircuitNode n[4];
    nodes(&t, n, 4);
    V(&t, n[0], 0, 4), V(&t, n[1], 0, 10), R(&t, n[1], n[2], 4.7e3);
    uint32_t re = R(&t, n[3], 0, 3.3e3);
    bipolar(&t, n[2], n[0], n[3], 1, 100, 0.7, 0.99e-3, ROOM);
    test_solve(&t);
    assert_printed(test_volts(&t, n[3]), 3.3, 0.01);
    assert_printed(test_amperes(&t, re) * 1e3, 1, 0.01);
    assert_printed(test_volts(&t, n[2]), 5.3, 0.1);
    test_circuit_free(&t);
}

static void sedra_four_resistor_bias(void **state) { /* 15 V, 100k, 50k, 5k, 3k, beta 100: 1.29 mA, 4.57 V, 8.6 V */
    (void)state;
    TestCircuit t = test_circuit_new();
    CircuitNode n[4];
    nodes(&t, n, 4);
    V(&t, n[0], 0, 15), R(&t, n[0], n[1], 100e3), R(&t, n[1], 0, 50e3), R(&t, n[0], n[2], 5e3);
    uint32_t re = R(&t, n[3], 0, 3e3);
    bipolar(&t, n[2], n[1], n[3], 1, 100, 0.7, 1.28e-3, ROOM);
    test_solve(&t);
    assert_printed(test_amperes(&t, re) * 1e3, 1.29, 0.01);
    assert_printed(test_volts(&t, n[1]), 4.57, 0.01);
    assert_printed(test_volts(&t, n[2]), 8.6, 0.1);
    test_circuit_free(&t);
}

static void sedra_pnp(void **state) { /* base at 0, 2k from +10, 1k to -10, beta 100: 4.65 mA, 4.6 mA, -5.4 V */
    (void)state;
    TestCircuit t = test_circuit_new();
    CircuitNode n[4];
    nodes(&t, n, 4);
    V(&t, n[0], 0, 10), V(&t, n[1], 0, -10), R(&t, n[3], n[1], 1e3);
    uint32_t re = R(&t, n[0], n[2], 2e3), q = bipolar(&t, n[3], 0, n[2], -1, 100, 0.7, 4.6e-3, ROOM);
    test_solve(&t);
    assert_printed(test_amperes(&t, re) * 1e3, 4.65, 0.01);
    assert_printed(-circuit_current(t.solver, q, 0) * 1e3, 4.6, 0.1);
    assert_printed(test_volts(&t, n[3]), -5.4, 0.1);
    test_circuit_free(&t);
}

static void sedra_mosfet_bias(void **state) { /* 10 V, two 10M, 6k, 6k, 1 V, 1 mA/V^2: 0.5 mA, 3 V, 7 V */
    (void)state;
    TestCircuit t = test_circuit_new();
    CircuitNode n[4];
    nodes(&t, n, 4);
    V(&t, n[0], 0, 10), R(&t, n[0], n[1], 10e6), R(&t, n[1], 0, 10e6), R(&t, n[0], n[2], 6e3);
    uint32_t rs = R(&t, n[3], 0, 6e3);
    mosfet(&t, n[2], n[1], n[3], 1, 1e-3);
    test_solve(&t);
    assert_printed(test_amperes(&t, rs) * 1e3, 0.5, 0.001);
    assert_printed(test_volts(&t, n[3]), 3, 0.01);
    assert_printed(test_volts(&t, n[2]), 7, 0.01);
    test_circuit_free(&t);
}

static void sedra_mosfet_as_diode(void **state) { /* 3 V, 25k, 0.6 V, 1 mA/V^2: 80 uA, 1 V */
    (void)state;
    TestCircuit t = test_circuit_new();
    CircuitNode n[2];
    nodes(&t, n, 2);
    V(&t, n[0], 0, 3);
    uint32_t r = R(&t, n[0], n[1], 25e3);
    mosfet(&t, n[1], n[1], 0, 0.6, 1e-3);
    test_solve(&t);
    assert_printed(test_amperes(&t, r) * 1e6, 80, 1);
    assert_printed(test_volts(&t, n[1]), 1, 0.01);
    test_circuit_free(&t);
}

static void sedra_mosfet_as_switch(void **state) { /* 5 V, 12.4k, 1 V, 1 mA/V^2: 0.395 mA, 0.1 V, 253 ohm */
    (void)state;
    TestCircuit t = test_circuit_new();
    CircuitNode n[2];
    nodes(&t, n, 2);
    V(&t, n[0], 0, 5);
    uint32_t r = R(&t, n[0], n[1], 12.4e3);
    mosfet(&t, n[1], n[0], 0, 1, 1e-3);
    test_solve(&t);
    assert_printed(test_amperes(&t, r) * 1e3, 0.395, 0.001);
    assert_printed(test_volts(&t, n[1]), 0.1, 0.01);
    assert_printed(test_volts(&t, n[1]) / test_amperes(&t, r), 253, 1);
    test_circuit_free(&t);
}

static void sedra_widlar_source(void **state) { /* 1 mA in, 11.5k, Vt 25 mV: 10 uA out */
    (void)state;
    double kelvin = 25e-3 / BOLTZMANN_OVER_CHARGE;
    TestCircuit t = test_circuit_new();
    CircuitNode n[4];
    nodes(&t, n, 4);
    V(&t, n[0], 0, 10), R(&t, n[0], n[1], 9.3e3), R(&t, n[3], 0, 11.5e3);
    bipolar(&t, n[1], n[1], 0, 1, 1e6, 0.7, 1e-3, kelvin);
    uint32_t q = bipolar(&t, n[2], n[1], n[3], 1, 1e6, 0.7, 1e-3, kelvin);
    V(&t, n[2], 0, 5);
    test_solve_with(&t, (CircuitOptions){.kelvin = kelvin});
    assert_printed(test_amperes(&t, q) * 1e6, 10, 0.1);
    test_circuit_free(&t);
}

typedef struct Times {
    CircuitNode node;
    double level, before, before_seconds, first, last;
    unsigned count;
} Times;

static bool note_time(void *context, const CircuitSolver *solver, double s) {
    Times *t = context;
    double v = circuit_voltage(solver, t->node);
    if (s > 0 && t->before < t->level && v >= t->level) {
        t->last = t->before_seconds + (s - t->before_seconds) * (t->level - t->before) / (v - t->before);
        if (++t->count == 2) t->first = t->last;
    }
    t->before = v, t->before_seconds = s;
    return true;
}

static void sedra_astable(void **state) { /* 0.01 uF, 1M; 100k of 100k + 1M back: 274 Hz */
    (void)state;
    TestCircuit t = test_circuit_new();
    CircuitNode n[5];
    nodes(&t, n, 5);
    V(&t, n[0], 0, 10), V(&t, n[1], 0, -10), R(&t, n[2], n[3], 1e6), R(&t, n[2], n[4], 1e6), R(&t, n[4], 0, 100e3);
    circuit_set(t.circuit, circuit_capacitor(t.circuit, "C", n[3], 0, 10e-9), CAPACITOR_START, -0.5);
    test_five(&t, CIRCUIT_COMPARATOR, "U", (const CircuitNode[]){n[4], n[3], n[2], n[0], n[1]});
    Times times = {.node = n[3]};
    test_run(&t, (CircuitRun){.until = 20e-3, .from_rest = true, .tolerance = 1e-5, .watch = note_time, .context = &times});
    assert_true(times.count > 3);
    assert_printed((times.count - 2) / (times.last - times.first), 274, 1);
    test_circuit_free(&t);
}

/* ---- P. Horowitz, W. Hill, The Art of Electronics ---- */

static void horowitz_loaded_divider(void **state) { /* 30 V, 10k, 10k: 15 V; with 10k on it 10 V */
    (void)state;
    for (int loaded = 0; loaded <= 1; loaded++) {
        TestCircuit t = test_circuit_new();
        CircuitNode n[2];
        nodes(&t, n, 2);
        V(&t, n[0], 0, 30), R(&t, n[0], n[1], 10e3), R(&t, n[1], 0, 10e3);
        if (loaded) R(&t, n[1], 0, 10e3);
        test_solve(&t);
        assert_near(test_volts(&t, n[1]), loaded ? 10 : 15);
        test_circuit_free(&t);
    }
}

static double base_volts(double amperes, double kelvin) {
    TestCircuit t = test_circuit_new();
    CircuitNode n[1];
    nodes(&t, n, 1);
    I(&t, 0, n[0], amperes);
    bipolar(&t, n[0], n[0], 0, 1, 1e6, 0.6, 1e-3, kelvin);
    test_solve_with(&t, (CircuitOptions){.kelvin = kelvin});
    double v = test_volts(&t, n[0]);
    test_circuit_free(&t);
    return v;
}

static void horowitz_rules_of_thumb(void **state) { /* at 20 degC: re = 25 mV / Ic; 58 mV a decade, at 25 degC 59 */
    (void)state;
    assert_printed((base_volts(1.001e-3, 293.15) - base_volts(0.999e-3, 293.15)) / 2e-6, 25, 1);
    assert_printed((base_volts(1e-3, 293.15) - base_volts(1e-4, 293.15)) * 1e3, 58, 1);
    assert_printed((base_volts(1e-3, 298.15) - base_volts(1e-4, 298.15)) * 1e3, 59, 1);
}

/* ---- P. R. Gray, R. G. Meyer, Analysis and Design of Analog Integrated Circuits ---- */

static void gray_current_mirror(void **state) { /* Iout / Iin = 1 / (1 + 2 / beta): 0.980 with 100 */
    (void)state;
    TestCircuit t = test_circuit_new();
    CircuitNode n[2];
    nodes(&t, n, 2);
    I(&t, 0, n[0], 1e-3);
    bipolar(&t, n[0], n[0], 0, 1, 100, 0.6, 1e-3, ROOM);
    uint32_t q = bipolar(&t, n[1], n[0], 0, 1, 100, 0.6, 1e-3, ROOM);
    V(&t, n[1], 0, 0.6);
    test_solve(&t);
    assert_printed(test_amperes(&t, q) * 1e3, 0.980, 0.001);
    test_circuit_free(&t);
}

/* ---- A. E. Fitzgerald, C. Kingsley, S. D. Umans, Electric Machinery ---- */

/* 125 V at 3000/min, 0.02 ohm, 128 V: 150 A, 19.20 kW in, 18.75 kW and 59.7 N m out. The load is set from the 18.75 kW: from the
 * rounded 59.7 N m the power in comes out as 19.21 kW. */
static void fitzgerald_motor(void **state) {
    (void)state;
    TestCircuit t = test_circuit_new();
    CircuitNode n[1];
    nodes(&t, n, 1);
    uint32_t v = V(&t, n[0], 0, 128), m = test_two(&t, CIRCUIT_MOTOR, "M", n[0], 0);
    double turn = 3000 * 2 * M_PI / 60;
    circuit_set(t.circuit, m, MOTOR_OHMS, 0.02), circuit_set(t.circuit, m, MOTOR_CONSTANT, 125 / turn);
    circuit_set(t.circuit, m, MOTOR_FRICTION, 0), circuit_set(t.circuit, m, MOTOR_LOAD, 18.75e3 / turn);
    test_solve(&t);
    double i = test_amperes(&t, m);
    assert_printed(i, 150, 1);
    assert_printed(-circuit_power(t.solver, v) / 1e3, 19.20, 0.01);
    assert_printed(125 / turn * i, 59.7, 0.1);
    assert_printed(125 / turn * i * circuit_inner(t.solver, m, 1) / 1e3, 18.75, 0.01);
    assert_printed(circuit_inner(t.solver, m, 1) * 60 / (2 * M_PI), 3000, 1);
    test_circuit_free(&t);
}

/* ---- data sheets ---- */

static void timer_555_monostable(void **state) { /* 1.1 R C: 9.1k and 0.01 uF give 0.1 ms (the time to two thirds of the supply) */
    (void)state;
    TestCircuit t = test_circuit_new();
    CircuitNode n[2];
    nodes(&t, n, 2);
    V(&t, n[0], 0, 9), R(&t, n[0], n[1], 9.1e3);
    circuit_capacitor(t.circuit, "C", n[1], 0, 10e-9);
    Times times = {.node = n[1], .level = 6};
    test_run(&t, (CircuitRun){.until = 0.3e-3, .from_rest = true, .tolerance = 1e-6, .watch = note_time, .context = &times});
    assert_int_equal(times.count, 1);
    assert_printed(times.last * 1e3, 0.1, 0.01);
    assert_printed(times.last / 91e-6, 1.1, 0.01);
    test_circuit_free(&t);
}

static void adjustable_regulator_317(void **state) { /* 1.25 V (1 + R2 / R1) + 50 uA R2: 240 and 720 ohm give 5.04 V */
    (void)state;
    TestCircuit t = test_circuit_new();
    CircuitNode n[3];
    nodes(&t, n, 3);
    V(&t, n[0], 0, 9), R(&t, n[1], n[2], 240), R(&t, n[2], 0, 720);
    uint32_t u = test_three(&t, CIRCUIT_REGULATOR, "U", n[0], n[1], n[2]);
    circuit_set(t.circuit, u, REGULATOR_VOLTS, 1.25), circuit_set(t.circuit, u, REGULATOR_QUIET, 50e-6);
    circuit_set(t.circuit, u, REGULATOR_OHMS, 1e-3);
    test_solve(&t);
    assert_printed(test_volts(&t, n[1]), 5.04, 0.01);
    test_circuit_free(&t);
}

static void strain_gauge_bridge(void **state) { /* application notes: 500 microstrain, factor 2, 120 ohm: 0.12 ohm, 0.25 mV/V */
    (void)state;
    TestCircuit t = test_circuit_new();
    CircuitNode n[3];
    nodes(&t, n, 3);
    V(&t, n[0], 0, 1), R(&t, n[0], n[1], 120), R(&t, n[1], 0, 120 * (1 + 2 * 500e-6)), R(&t, n[0], n[2], 120), R(&t, n[2], 0, 120);
    test_solve(&t);
    assert_printed((test_volts(&t, n[1]) - test_volts(&t, n[2])) * 1e3, 0.25, 0.01);
    test_circuit_free(&t);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sedra_diode_by_iteration),
        cmocka_unit_test(sedra_transistor_with_emitter_resistor),
        cmocka_unit_test(sedra_four_resistor_bias),
        cmocka_unit_test(sedra_pnp),
        cmocka_unit_test(sedra_mosfet_bias),
        cmocka_unit_test(sedra_mosfet_as_diode),
        cmocka_unit_test(sedra_mosfet_as_switch),
        cmocka_unit_test(sedra_widlar_source),
        cmocka_unit_test(sedra_astable),
        cmocka_unit_test(horowitz_loaded_divider),
        cmocka_unit_test(horowitz_rules_of_thumb),
        cmocka_unit_test(gray_current_mirror),
        cmocka_unit_test(fitzgerald_motor),
        cmocka_unit_test(timer_555_monostable),
        cmocka_unit_test(adjustable_regulator_317),
        cmocka_unit_test(strain_gauge_bridge),
    };
    return cmocka_run_group_tests_name("circuit_examples_electronics", tests, NULL, NULL);
}
