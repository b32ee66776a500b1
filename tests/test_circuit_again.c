/* circuit: asking again. Sensitivities against differences, samples against solving one by one, copies that change alone.
 */
#include "tests/circuit_check.h"

/* A little of everything: a supply with a regulator, a transistor switch, a divider, an op-amp, a pin. */
typedef struct Board {
    TestCircuit test;
    CircuitProbe probes[5];
    CircuitVary vary[14];
    uint32_t vary_count, probe_count;
} Board;

static void vary(Board *board, uint32_t element, unsigned parameter) {
    board->vary[board->vary_count++] = (CircuitVary){element, parameter};
}

static Board board_new(void) {
    Board b = {.test = test_circuit_new()};
    TestCircuit *t = &b.test;
    CircuitNode in = test_node(t, "in"), vdd = test_node(t, "vdd"), pin = test_node(t, "pin"), base = test_node(t, "base"),
                c = test_node(t, "c");
    CircuitNode mid = test_node(t, "mid"), out = test_node(t, "out"), lamp = test_node(t, "lamp");
    uint32_t battery = test_two(t, CIRCUIT_BATTERY, "BT1", in, 0),
             regulator = test_three(t, CIRCUIT_REGULATOR, "U1", in, vdd, 0);
    for (unsigned i = 0; i < BATTERY_POINTS; i++) circuit_set(t->circuit, battery, BATTERY_VOLTS + i, 7 + 0.2 * i);
    circuit_set(t->circuit, battery, BATTERY_CHARGE, 0.63);
    uint32_t u2 = test_three(t, CIRCUIT_PIN, "U2.5", pin, vdd, 0), r1 = circuit_resistor(t->circuit, "R1", pin, base, 1e3);
    circuit_set(t->circuit, u2, PIN_STATE, PIN_HIGH);
    uint32_t q = test_three(t, CIRCUIT_BIPOLAR, "Q1", c, base, 0), motor = test_two(t, CIRCUIT_MOTOR, "M1", in, c);
    circuit_set(t->circuit, motor, MOTOR_VISCOUS, 1e-7);
    uint32_t r2 = circuit_resistor(t->circuit, "R2", vdd, mid, 10e3),
             r3 = circuit_resistor(t->circuit, "R3", mid, 0, 4.7e3);
    uint32_t u3 = test_five(t, CIRCUIT_OPAMP, "U3", (const CircuitNode[]){mid, out, out, in, 0});
    uint32_t r4 = circuit_resistor(t->circuit, "R4", out, lamp, 220), d = test_two(t, CIRCUIT_DIODE, "D1", lamp, 0);
    circuit_led(t->circuit, d, LED_RED);
    vary(&b, r1, RESISTOR_OHMS), vary(&b, r2, RESISTOR_OHMS), vary(&b, r3, RESISTOR_OHMS), vary(&b, r4, RESISTOR_OHMS);
    vary(&b, q, BIPOLAR_FORWARD), vary(&b, q, BIPOLAR_SATURATION), vary(&b, motor, MOTOR_OHMS),
        vary(&b, motor, MOTOR_CONSTANT);
    vary(&b, battery, BATTERY_OHMS), vary(&b, battery, BATTERY_CHARGE), vary(&b, regulator, REGULATOR_VOLTS),
        vary(&b, d, DIODE_OHMS);
    vary(&b, u2, PIN_HIGH_OHMS), vary(&b, u3, OPAMP_OFFSET);
    b.probes[0] = (CircuitProbe){.what = PROBE_VOLTAGE, .plus = c},
    b.probes[1] = (CircuitProbe){.what = PROBE_VOLTAGE, .plus = out, .minus = lamp};
    b.probes[2] = (CircuitProbe){.what = PROBE_CURRENT, .element = r4},
    b.probes[3] = (CircuitProbe){.what = PROBE_POWER, .element = q};
    b.probes[4] = (CircuitProbe){.what = PROBE_INNER, .element = motor, .which = 1};
    b.probe_count = 5;
    return b;
}

static double probed_at(Board *b, CircuitVary v, double value, CircuitProbe probe) {
    double kept = circuit_value(b->test.circuit, v.element, v.parameter);
    circuit_set(b->test.circuit, v.element, v.parameter, value);
    test_solve(&b->test);
    circuit_set(b->test.circuit, v.element, v.parameter, kept);
    return circuit_probe(b->test.solver, probe);
}

static void sensitivities_are_the_slopes_of_results(void **state) {
    (void)state;
    Board b = board_new();
    for (uint32_t k = 0; k < b.probe_count; k++) {
        double slopes[14], largest = 0;
        test_solve(&b.test);
        assert_true(circuit_sensitivity(b.test.solver, b.probes[k], b.vary, b.vary_count, slopes));
        for (uint32_t i = 0; i < b.vary_count; i++)
            largest =
                fmax(largest, fabs(slopes[i] * circuit_value(b.test.circuit, b.vary[i].element, b.vary[i].parameter)));
        assert_true(largest > 0);
        for (uint32_t i = 0; i < b.vary_count; i++) {
            double value = circuit_value(b.test.circuit, b.vary[i].element, b.vary[i].parameter),
                   step = value == 0 ? 1e-5 : 1e-4 * value;
            double slope = (probed_at(&b, b.vary[i], value + step, b.probes[k]) -
                            probed_at(&b, b.vary[i], value - step, b.probes[k])) /
                           (2 * step);
            if (fabs(slope - slopes[i]) > 1e-4 * fabs(slope) + 1e-6 * largest / (value == 0 ? 1 : fabs(value)))
                fail_msg("probe %u, parameter %u: adjoint %.10g, by differences %.10g", k, i, slopes[i], slope);
        }
    }
    test_circuit_free(&b.test);
}

/* A divider in closed form: v = V R2 / (R1 + R2), dv/dR1 = -v / (R1 + R2). */
static void a_dividers_sensitivity_is_known(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode a = test_node(&test, "a"), b = test_node(&test, "b");
    uint32_t v = circuit_source(test.circuit, "V", a, 0, 9), r1 = circuit_resistor(test.circuit, "R1", a, b, 2e3);
    uint32_t r2 = circuit_resistor(test.circuit, "R2", b, 0, 1e3);
    test_solve(&test);
    const CircuitVary asked[] = {{r1, RESISTOR_OHMS}, {r2, RESISTOR_OHMS}, {v, SOURCE_VALUE}};
    double slopes[3];
    assert_true(circuit_sensitivity(test.solver, (CircuitProbe){.what = PROBE_VOLTAGE, .plus = b}, asked, 3, slopes));
    assert_share(slopes[0], -1e-3, 1e-8);
    assert_share(slopes[1], 2e-3, 1e-8);
    assert_share(slopes[2], 1.0 / 3, 1e-8);
    assert_true(circuit_run(test.solver, (CircuitRun){.until = 1}, &test.fault));
    assert_false(circuit_sensitivity(test.solver, (CircuitProbe){.what = PROBE_VOLTAGE, .plus = b}, asked, 3, slopes));
    test_circuit_free(&test);
}

enum { SETS = 300 };

static void samples_are_what_solving_one_by_one_gives(void **state) {
    (void)state;
    Board b = board_new();
    double *values = test_calloc(SETS * b.vary_count, sizeof *values),
           *out = test_calloc(SETS * b.probe_count, sizeof *out);
    bool solved[SETS];
    for (uint32_t i = 0; i < SETS * b.vary_count; i++) {
        CircuitVary v = b.vary[i % b.vary_count];
        values[i] = circuit_value(b.test.circuit, v.element, v.parameter) * random_between(0.7, 1.3);
    }
    values[7 * b.vary_count] = -5; /* no resistance */
    test_solve(&b.test);
    CircuitSampling sampling = {b.vary, values, b.vary_count, SETS, b.probes, b.probe_count, out, solved};
    assert_int_equal(circuit_sample(b.test.solver, sampling), SETS - 1);
    assert_false(solved[7]);
    assert_true(out[7 * b.probe_count] == 0);
    for (uint32_t s = 0; s < SETS; s++) {
        if (s == 7) continue;
        for (uint32_t i = 0; i < b.vary_count; i++)
            circuit_set(b.test.circuit, b.vary[i].element, b.vary[i].parameter, values[s * b.vary_count + i]);
        test_solve(&b.test);
        for (uint32_t k = 0; k < b.probe_count; k++)
            assert_share(out[s * b.probe_count + k], circuit_probe(b.test.solver, b.probes[k]), 1e-6);
    }
    test_free(values);
    test_free(out);
    test_circuit_free(&b.test);
}

static void a_varied_parameter_is_the_solvers_alone(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode a = test_node(&test, "a");
    circuit_current_source(test.circuit, "I", 0, a, 1e-3);
    uint32_t r = circuit_resistor(test.circuit, "R", a, 0, 1e3);
    test_solve(&test);
    assert_true(circuit_vary(test.solver, r, RESISTOR_OHMS, 2e3));
    assert_true(circuit_solve(test.solver, &test.fault));
    assert_laws(test.circuit, test.solver, 0);
    assert_near(test_volts(&test, a), 2);
    assert_near(circuit_value(test.circuit, r, RESISTOR_OHMS), 1e3);
    assert_false(circuit_vary(test.solver, r, RESISTOR_OHMS, -1)); /* outside its limits */
    assert_false(circuit_vary(test.solver, r, RESISTOR_OHMS, 0));  /* its equation divides by it */
    test_circuit_free(&test);
}

/* What was marked is gone back to, as often as one likes. */
static void a_solver_goes_back_to_its_mark(void **state) {
    (void)state;
    Board b = board_new();
    double before[5];
    test_solve(&b.test);
    for (uint32_t k = 0; k < b.probe_count; k++) before[k] = circuit_probe(b.test.solver, b.probes[k]);
    circuit_mark(b.test.solver);
    for (uint32_t i = 0; i < b.vary_count; i++) {
        double value = circuit_value(b.test.circuit, b.vary[i].element, b.vary[i].parameter);
        assert_true(circuit_vary(b.test.solver, b.vary[i].element, b.vary[i].parameter, 0.7 * value));
        assert_true(circuit_solve(b.test.solver, &b.test.fault));
        assert_laws(b.test.circuit, b.test.solver, 0);
        circuit_back(b.test.solver);
        for (uint32_t k = 0; k < b.probe_count; k++) assert_true(circuit_probe(b.test.solver, b.probes[k]) == before[k]);
    }
    test_circuit_free(&b.test);
}

/* A changed copy that starts from the first one's answer has the answer that it has from nothing, here with a leg
 * of R1 in the air (the transistor is off then), and with a joint from the rail to the base, which is near. */
static void a_changed_copy_starts_from_the_answer_before(void **state) {
    (void)state;
    Board b = board_new();
    test_solve(&b.test);
    for (int way = 0; way < 2; way++) {
        TestCircuit copy = test_circuit_new();
        copy.circuit = circuit_copy(copy.arena, b.test.circuit);
        if (way == 0) circuit_move(copy.circuit, 3, 0, circuit_node(copy.circuit, TEXT("air"), 0));
        if (way == 1) circuit_resistor(copy.circuit, "joint", 2, 4, 1e3);
        CircuitOptions options = {.leak = 1e-12};
        CircuitSolver *anew = circuit_solver_new(copy.arena, copy.circuit, options, &copy.fault);
        CircuitSolver *after = circuit_solver_new(copy.arena, copy.circuit, options, &copy.fault);
        circuit_start(after, b.test.solver);
        assert_true(circuit_solve(anew, &copy.fault) && circuit_solve(after, &copy.fault));
        assert_laws(copy.circuit, after, options.leak);
        for (uint32_t k = 0; k < b.probe_count; k++)
            assert_share(circuit_probe(after, b.probes[k]), circuit_probe(anew, b.probes[k]), 1e-6);
        if (way == 1) assert_true(circuit_iterations(after) < circuit_iterations(anew) / 2);
        circuit_solver_free(anew), circuit_solver_free(after);
        test_circuit_free(&copy);
    }
    test_circuit_free(&b.test);
}

/* Ohms that a meter sees: two resistors side by side. */
static void a_node_has_the_ohms_that_a_meter_sees(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode a = test_node(&test, "a"), b = test_node(&test, "b");
    circuit_source(test.circuit, "V", a, 0, 9);
    circuit_resistor(test.circuit, "R1", a, b, 3e3), circuit_resistor(test.circuit, "R2", b, 0, 6e3);
    test_solve(&test);
    CircuitTangent *tangent = circuit_tangent_new(test.arena, test.solver, NULL, 0);
    assert_true(circuit_tangent_take(tangent));
    assert_share(circuit_tangent_ohms(tangent, b), 2e3, 1e-9);
    assert_true(circuit_tangent_ohms(tangent, a) < 1e-9 && circuit_tangent_ohms(tangent, 0) == 0);
    test_circuit_free(&test);
}

static void a_copy_changes_alone(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new(), other = {.arena = arena_new()};
    CircuitNode a = test_node(&test, "a"), b = test_node(&test, "b");
    circuit_source(test.circuit, "V", a, 0, 6);
    circuit_resistor(test.circuit, "R1", a, b, 1e3);
    uint32_t r2 = circuit_resistor(test.circuit, "R2", b, 0, 1e3);
    other.circuit = circuit_copy(other.arena, test.circuit);
    CircuitNode lifted = test_node(&other, "R2's leg");
    circuit_move(other.circuit, r2, 0, lifted);
    test_solve(&test);
    assert_near(test_volts(&test, b), 3);
    test_solve(&other); /* the leg in the air is at the reference's voltage, through its resistor */
    assert_near(test_volts(&other, b), 6);
    assert_int_equal(circuit_node_count(test.circuit) + 1, circuit_node_count(other.circuit));
    test_circuit_free(&test);
    test_circuit_free(&other);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sensitivities_are_the_slopes_of_results),
        cmocka_unit_test(a_dividers_sensitivity_is_known),
        cmocka_unit_test(samples_are_what_solving_one_by_one_gives),
        cmocka_unit_test(a_varied_parameter_is_the_solvers_alone),
        cmocka_unit_test(a_solver_goes_back_to_its_mark),
        cmocka_unit_test(a_changed_copy_starts_from_the_answer_before),
        cmocka_unit_test(a_node_has_the_ohms_that_a_meter_sees),
        cmocka_unit_test(a_copy_changes_alone),
    };
    return cmocka_run_group_tests_name("circuit_again", tests, NULL, NULL);
}
