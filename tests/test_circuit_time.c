/* circuit: through time, against closed forms: RC, RL, RLC, oscillators, motor start, battery sag, hold-up. */
#include "tests/circuit_check.h"

#include <stdio.h>

/* Holds each point of a run against a formula for one probe. */
typedef struct Against {
    CircuitProbe probe;
    double (*exact)(const double *p, double seconds);
    double p[4], scale, worst;
    uint32_t points;
} Against;

static bool compare(void *context, const CircuitSolver *solver, double seconds) {
    Against *against = context;
    double error = fabs(circuit_probe(solver, against->probe) - against->exact(against->p, seconds)) / against->scale;
    against->worst = fmax(against->worst, error);
    against->points++;
    return true;
}

static double rising(const double *p, double t) { return p[0] * (1 - exp(-t / p[1])); }

static CircuitProbe volts_at(CircuitNode node) { return (CircuitProbe){.what = PROBE_VOLTAGE, .plus = node}; }

static Against run_rc(double tolerance) {
    TestCircuit test = test_circuit_new();
    CircuitNode a = test_node(&test, "a"), b = test_node(&test, "b");
    circuit_source(test.circuit, "V", a, 0, 5);
    circuit_resistor(test.circuit, "R", a, b, 10e3);
    circuit_capacitor(test.circuit, "C", b, 0, 100e-9);
    Against against = {.probe = volts_at(b), .exact = rising, .p = {5, 1e-3}, .scale = 5};
    test_run(&test,
             (CircuitRun){.until = 5e-3, .from_rest = true, .tolerance = tolerance, .watch = compare, .context = &against});
    test_circuit_free(&test);
    return against;
}

/* v = V (1 - e^(-t / RC)); a tighter tolerance gives a smaller error, as the three-halves power of the steps at least. */
static void rc_charges(void **state) {
    (void)state;
    Against usual = run_rc(1e-4), tight = run_rc(1e-6);
    print_message("RC: error %.2g with %u points, %.2g with %u\n", usual.worst, usual.points, tight.worst, tight.points);
    assert_true(usual.worst < 5e-4);
    assert_true(tight.worst < 3e-5 && tight.worst < usual.worst / 5);
    assert_true(usual.points < 200 && tight.points < 1000);
}

/* i = V / R (1 - e^(-t R / L)) */
static void rl_builds_up(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode a = test_node(&test, "a");
    circuit_source(test.circuit, "V", a, 0, 12);
    uint32_t l = circuit_inductor(test.circuit, "L", a, 0, 0.5);
    circuit_set(test.circuit, l, INDUCTOR_OHMS, 100);
    Against against = {.probe = {.what = PROBE_CURRENT, .element = l}, .exact = rising, .p = {0.12, 5e-3}, .scale = 0.12};
    test_run(&test,
             (CircuitRun){.until = 30e-3, .from_rest = true, .tolerance = 1e-5, .watch = compare, .context = &against});
    assert_true(against.worst < 3e-4);
    test_circuit_free(&test);
}

/* Series RLC, underdamped: v_C = V (1 - e^(-a t) (cos w t + a / w sin w t)), a = R / 2L, w = sqrt(1 / LC - a^2). */
static double ringing(const double *p, double t) {
    return p[0] * (1 - exp(-p[1] * t) * (cos(p[2] * t) + p[1] / p[2] * sin(p[2] * t)));
}

static void rlc_rings(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode a = test_node(&test, "a"), b = test_node(&test, "b"), c = test_node(&test, "c");
    uint32_t v = circuit_source(test.circuit, "V", a, 0, 0);
    circuit_set(test.circuit, v, SOURCE_WAVE, SOURCE_PULSE), circuit_set(test.circuit, v, SOURCE_TO, 10);
    circuit_set(test.circuit, v, SOURCE_WIDTH, 1);
    circuit_resistor(test.circuit, "R", a, b, 20);
    circuit_inductor(test.circuit, "L", b, c, 1e-3);
    circuit_capacitor(test.circuit, "C", c, 0, 1e-6);
    double damp = 20 / 2e-3, turn = sqrt(1e9 - damp * damp);
    Against against = {.probe = volts_at(c), .exact = ringing, .p = {10, damp, turn}, .scale = 10};
    test_run(&test, (CircuitRun){.until = 1e-3, .tolerance = 1e-6, .watch = compare, .context = &against});
    print_message("RLC: error %.2g with %u points\n", against.worst, against.points);
    assert_true(against.worst < 5e-4);
    test_circuit_free(&test);
}

/* The trapezoidal rule keeps the energy of an LC circuit: after 100 swings the height is still there. */
static double cosine(const double *p, double t) { return p[0] * cos(p[1] * t); }

static void lc_keeps_swinging(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode a = test_node(&test, "a");
    circuit_inductor(test.circuit, "L", a, 0, 1e-3);
    circuit_set(test.circuit, circuit_capacitor(test.circuit, "C", a, 0, 1e-6), CAPACITOR_START, 1);
    double w = 1 / sqrt(1e-9), swing = 2 * M_PI / w;
    Against against = {.probe = volts_at(a), .exact = cosine, .p = {1, w}, .scale = 1};
    test_run(&test, (CircuitRun){.until = 20 * swing,
                                 .from_rest = true,
                                 .tolerance = 1e-7,
                                 .step_most = swing / 400,
                                 .watch = compare,
                                 .context = &against});
    print_message("LC: error %.2g after 20 swings\n", against.worst);
    assert_true(against.worst < 0.02);
    test_circuit_free(&test);
}

/* ---- oscillators ---- */

typedef struct Crossings {
    CircuitNode node;
    double level, last, last_seconds, first, latest;
    unsigned count;
} Crossings;

enum { SETTLING = 2 /* periods left out */ };

static bool count_crossing(void *context, const CircuitSolver *solver, double seconds) {
    Crossings *c = context;
    double v = circuit_voltage(solver, c->node);
    if (seconds > 0 && c->last < c->level && v >= c->level) {
        c->latest = c->last_seconds + (seconds - c->last_seconds) * (c->level - c->last) / (v - c->last);
        if (c->count++ == SETTLING) c->first = c->latest;
    }
    c->last = v, c->last_seconds = seconds;
    return true;
}

static double period_of(const Crossings *c) { return (c->latest - c->first) / (c->count - 1 - SETTLING); }

/* Comparator with its own threshold at 1/2 +- 1/6 of the supply by three equal resistors: period 2 R C ln 2 (as an op-amp
 * relaxation oscillator with thresholds at a third and two thirds; P. Horowitz, W. Hill, The Art of Electronics, from
 * memory). */
static void a_comparator_oscillates(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode high = test_node(&test, "V+"), out = test_node(&test, "out"), plus = test_node(&test, "plus"),
                cap = test_node(&test, "cap");
    circuit_source(test.circuit, "V", high, 0, 5);
    circuit_resistor(test.circuit, "R1", high, plus, 100e3);
    circuit_resistor(test.circuit, "R2", plus, 0, 100e3);
    circuit_resistor(test.circuit, "R3", out, plus, 100e3);
    circuit_resistor(test.circuit, "R", out, cap, 10e3);
    circuit_capacitor(test.circuit, "C", cap, 0, 100e-9);
    test_five(&test, CIRCUIT_COMPARATOR, "U", (const CircuitNode[]){plus, cap, out, high, 0});
    Crossings crossings = {.node = cap, .level = 2.5};
    test_run(&test, (CircuitRun){.until = 20e-3, .from_rest = true, .watch = count_crossing, .context = &crossings});
    print_message("comparator: %u periods of %.5g s, formula %.5g s\n", crossings.count - 1 - SETTLING,
                  period_of(&crossings), 2e-3 * log(2));
    assert_true(crossings.count > 8);
    assert_share(period_of(&crossings), 2e-3 * log(2), 0.02);
    test_circuit_free(&test);
}

/* Two transistors, each coupled to the other's base by R C: each is off for R C ln((2 V - Von - Vsat) / (V - Vgo)), a
 * little more than the 0.69 R C of the textbooks because of the base's voltages (J. Millman, H. Taub, Pulse, Digital, and
 * Switching Waveforms, from memory). Here Von is 0.70 V at 5 mA, Vsat 0.08 V, and Vgo 0.56 V, where the gain of one stage
 * comes to 1 (26 uA). */
static void an_astable_multivibrator_oscillates(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode high = test_node(&test, "V+"), c[2], b[2];
    circuit_source(test.circuit, "V", high, 0, 5);
    for (unsigned i = 0; i < 2; i++) c[i] = test_node(&test, "c"), b[i] = test_node(&test, "b");
    for (unsigned i = 0; i < 2; i++) {
        circuit_resistor(test.circuit, "Rc", high, c[i], 1e3);
        circuit_resistor(test.circuit, "Rb", high, b[i], i == 0 ? 47e3 : 46e3);
        circuit_capacitor(test.circuit, "C", c[i], b[1 - i], 100e-9);
        test_three(&test, CIRCUIT_BIPOLAR, "Q", c[i], b[i], 0);
    }
    Crossings crossings = {.node = c[0], .level = 2.5};
    test_run(&test, (CircuitRun){.until = 50e-3, .from_rest = true, .watch = count_crossing, .context = &crossings});
    double one = 100e-9 * log((10 - 0.70 - 0.08) / (5 - 0.56)), formula = one * (47e3 + 46e3);
    print_message("astable: %u periods of %.5g s, formula %.5g s\n", crossings.count - 1 - SETTLING, period_of(&crossings),
                  formula);
    assert_true(crossings.count > 5);
    assert_share(period_of(&crossings), formula, 0.03);
    test_circuit_free(&test);
}

/* Op-amp follower: a step goes with its slew rate. */
typedef struct Reach {
    CircuitNode node;
    double level, seconds;
} Reach;

static bool until_reached(void *context, const CircuitSolver *solver, double seconds) {
    Reach *reach = context;
    if (reach->seconds == 0 && circuit_voltage(solver, reach->node) >= reach->level) reach->seconds = seconds;
    return true;
}

static void an_op_amp_slews(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode in = test_node(&test, "in"), out = test_node(&test, "out"), high = test_node(&test, "V+"),
                low = test_node(&test, "V-");
    uint32_t v = circuit_source(test.circuit, "V", in, 0, -4);
    circuit_set(test.circuit, v, SOURCE_WAVE, SOURCE_PULSE), circuit_set(test.circuit, v, SOURCE_TO, 4),
        circuit_set(test.circuit, v, SOURCE_WIDTH, 1);
    circuit_source(test.circuit, "V+", high, 0, 9), circuit_source(test.circuit, "V-", low, 0, -9);
    test_five(&test, CIRCUIT_OPAMP, "U", (const CircuitNode[]){in, out, out, high, low});
    circuit_resistor(test.circuit, "R", out, 0, 10e3);
    Reach reach = {.node = out, .level = 3};
    test_run(&test, (CircuitRun){.until = 40e-6, .watch = until_reached, .context = &reach});
    assert_share(reach.seconds, 7 / 0.5e6, 0.05);
    assert_share(test_volts(&test, out), 4, 1e-3);
    test_circuit_free(&test);
}

/* ---- motor, battery, hold-up ---- */

/* From standstill, without dry friction: w = V / k (1 - e^(-t / T)), T = J R / k^2. */
static void a_motor_starts(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode a = test_node(&test, "a");
    circuit_source(test.circuit, "V", a, 0, 6);
    uint32_t m = test_two(&test, CIRCUIT_MOTOR, "M1", a, 0);
    circuit_set(test.circuit, m, MOTOR_FRICTION, 0);
    Against against = {.probe = {.what = PROBE_INNER, .element = m, .which = 1},
                       .exact = rising,
                       .p = {1200, 1e-7 * 5 / 25e-6},
                       .scale = 1200};
    test_run(&test,
             (CircuitRun){.until = 0.1, .from_rest = true, .tolerance = 1e-5, .watch = compare, .context = &against});
    assert_true(against.worst < 1e-4);
    test_circuit_free(&test);
}

typedef struct Start {
    uint32_t motor;
    CircuitNode rail;
    double most, lowest;
} Start;

static bool watch_start(void *context, const CircuitSolver *solver, double seconds) {
    Start *start = context;
    (void)seconds;
    start->most = fmax(start->most, circuit_current(solver, start->motor, 0));
    start->lowest = fmin(start->lowest, circuit_voltage(solver, start->rail));
    return true;
}

/* Open terminals, viscous friction alone: w = w0 e^(-b t / J). */
static bool follow_coast(void *context, const CircuitSolver *solver, double seconds) {
    double *worst = context;
    *worst = fmax(*worst, fabs(circuit_inner(solver, 0, 1) - 200 * exp(-seconds / 0.5)));
    return true;
}

static void a_motor_that_turns_coasts_to_rest(void **state) {
    (void)state;
    TestCircuit t = test_circuit_new();
    CircuitNode a = test_node(&t, "a");
    uint32_t m = test_two(&t, CIRCUIT_MOTOR, "M", a, 0);
    circuit_resistor(t.circuit, "R", a, 0, 1e12);
    circuit_set(t.circuit, m, MOTOR_START, 200), circuit_set(t.circuit, m, MOTOR_FRICTION, 0);
    circuit_set(t.circuit, m, MOTOR_INERTIA, 1e-6), circuit_set(t.circuit, m, MOTOR_VISCOUS, 2e-6);
    double worst = 0;
    test_run(&t, (CircuitRun){.until = 1, .from_rest = true, .tolerance = 1e-6, .watch = follow_coast, .context = &worst});
    assert_true(worst < 0.02);
    test_circuit_free(&t);
}

/* At the start only the resistances limit the current: the rail sags to V R_M / (R_M + R_B). */
static void a_battery_sags_when_a_motor_starts(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode a = test_node(&test, "rail");
    uint32_t b = test_two(&test, CIRCUIT_BATTERY, "BT1", a, 0), m = test_two(&test, CIRCUIT_MOTOR, "M1", a, 0);
    for (unsigned i = 0; i < BATTERY_POINTS; i++) circuit_set(test.circuit, b, BATTERY_VOLTS + i, 6);
    circuit_set(test.circuit, b, BATTERY_OHMS, 1), circuit_set(test.circuit, b, BATTERY_OHMS_EMPTY, 1);
    Start start = {.motor = m, .rail = a, .lowest = INFINITY};
    test_run(&test, (CircuitRun){.until = 0.3, .from_rest = true, .watch = watch_start, .context = &start});
    assert_share(start.most, 1, 1e-3);
    assert_share(start.lowest, 5, 1e-3);
    assert_share(test_volts(&test, a), 6 - 0.02, 1e-3); /* then 0.1 mN m / 5 mN m/A = 20 mA */
    test_circuit_free(&test);
}

/* 100 mA out of 1 Ah for two hours: 800 mAh are left, and the voltage has gone down the curve. */
static void a_battery_counts_its_charge(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode a = test_node(&test, "a");
    uint32_t b = test_two(&test, CIRCUIT_BATTERY, "BT1", a, 0);
    for (unsigned i = 0; i < BATTERY_POINTS; i++) circuit_set(test.circuit, b, BATTERY_VOLTS + i, 1 + 0.05 * i);
    circuit_current_source(test.circuit, "I", a, 0, 0.1);
    test_run(&test, (CircuitRun){.until = 7200});
    assert_share(circuit_inner(test.solver, b, 1), 2880, 1e-9);
    assert_share(test_volts(&test, a), 1.4 - 0.02, 1e-9);
    test_circuit_free(&test);
}

/* t = C dV / I: 1 mF from 5 V at 10 mA is at 3 V after 0.2 s. The supply ends behind a diode. */
static void a_capacitor_holds_up(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode in = test_node(&test, "in"), a = test_node(&test, "a");
    uint32_t v = circuit_source(test.circuit, "V", in, 0, 5.7);
    circuit_set(test.circuit, v, SOURCE_WAVE, SOURCE_PULSE), circuit_set(test.circuit, v, SOURCE_TO, 0),
        circuit_set(test.circuit, v, SOURCE_WIDTH, 9);
    test_two(&test, CIRCUIT_DIODE, "D1", in, a);
    circuit_capacitor(test.circuit, "C1", a, 0, 1e-3);
    circuit_current_source(test.circuit, "load", a, 0, 10e-3);
    test_solve(&test);
    double before = test_volts(&test, a);
    test_run(&test, (CircuitRun){.until = 0.2});
    assert_share(before - test_volts(&test, a), 2, 1e-6);
    test_circuit_free(&test);
}

/* A pin at 38 kHz and half duty into a resistor: half the voltage on the mean. */
typedef struct Mean {
    CircuitNode node;
    double sum, last_volts, last_seconds;
    unsigned points;
} Mean;

static bool add_mean(void *context, const CircuitSolver *solver, double seconds) {
    Mean *mean = context;
    double v = circuit_voltage(solver, mean->node);
    mean->sum += v * (seconds - mean->last_seconds); /* a step lies on one side of each edge, and ends on it */
    mean->last_volts = v, mean->last_seconds = seconds, mean->points++;
    return true;
}

static void a_switching_pin_has_its_duty(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode pin = test_node(&test, "pin"), high = test_node(&test, "VDD");
    circuit_source(test.circuit, "V", high, 0, 5);
    uint32_t u = test_three(&test, CIRCUIT_PIN, "U1.6", pin, high, 0);
    circuit_set(test.circuit, u, PIN_STATE, PIN_SWITCHING), circuit_set(test.circuit, u, PIN_FREQUENCY, 38e3),
        circuit_set(test.circuit, u, PIN_DUTY, 0.3);
    circuit_resistor(test.circuit, "R", pin, 0, 960);
    Mean mean = {.node = pin};
    test_run(&test, (CircuitRun){.until = 10 / 38e3, .watch = add_mean, .context = &mean});
    assert_share(mean.sum / (10 / 38e3), 0.3 * 5 * 0.96, 1e-6);
    test_circuit_free(&test);
}

/* ---- limits ---- */

static void a_run_that_takes_too_many_steps_says_so(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode a = test_node(&test, "a");
    uint32_t v = circuit_source(test.circuit, "V", a, 0, 0);
    circuit_set(test.circuit, v, SOURCE_WAVE, SOURCE_SINE), circuit_set(test.circuit, v, SOURCE_FREQUENCY, 1e9),
        circuit_set(test.circuit, v, SOURCE_TO, 1);
    circuit_resistor(test.circuit, "R", a, 0, 1e3);
    test.solver = circuit_solver_new(test.arena, test.circuit, (CircuitOptions){0}, &test.fault);
    assert_false(circuit_run(test.solver, (CircuitRun){.until = 1, .steps_most = 5000}, &test.fault));
    assert_int_equal(test.fault.trouble, CIRCUIT_TOO_SLOW);
    assert_true(text_find(test.fault.message, TEXT("took all its steps before its end")) != SIZE_MAX);
    assert_false(circuit_run(test.solver, (CircuitRun){.until = NAN}, &test.fault));
    assert_int_equal(test.fault.trouble, CIRCUIT_BAD_VALUE);
    test_circuit_free(&test);
}

static bool stop_after_three(void *context, const CircuitSolver *solver, double seconds) {
    (void)solver, (void)seconds;
    return ++*(unsigned *)context < 3;
}

static void a_watcher_may_end_a_run(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode a = test_node(&test, "a");
    circuit_source(test.circuit, "V", a, 0, 1);
    circuit_capacitor(test.circuit, "C", a, 0, 1e-6);
    unsigned seen = 0;
    test_run(&test, (CircuitRun){.until = 1, .watch = stop_after_three, .context = &seen});
    assert_int_equal(seen, 3);
    test_circuit_free(&test);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rc_charges),
        cmocka_unit_test(rl_builds_up),
        cmocka_unit_test(rlc_rings),
        cmocka_unit_test(lc_keeps_swinging),
        cmocka_unit_test(a_comparator_oscillates),
        cmocka_unit_test(an_astable_multivibrator_oscillates),
        cmocka_unit_test(an_op_amp_slews),
        cmocka_unit_test(a_motor_starts),
        cmocka_unit_test(a_motor_that_turns_coasts_to_rest),
        cmocka_unit_test(a_battery_sags_when_a_motor_starts),
        cmocka_unit_test(a_battery_counts_its_charge),
        cmocka_unit_test(a_capacitor_holds_up),
        cmocka_unit_test(a_switching_pin_has_its_duty),
        cmocka_unit_test(a_run_that_takes_too_many_steps_says_so),
        cmocka_unit_test(a_watcher_may_end_a_run),
    };
    return cmocka_run_group_tests_name("circuit_time", tests, NULL, NULL);
}
