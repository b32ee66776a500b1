/* circuit: diodes and transistors against their equations. */
#include "tests/circuit_held.h"

/* ---- diodes ---- */

static void a_diode_is_shockleys(void **state) {
    (void)state;
    Held d = held_new(CIRCUIT_DIODE);
    set(&d, DIODE_SATURATION, 3e-9), set(&d, DIODE_EMISSION, 1.7);
    static const double volts[] = {-5, -0.1, 0.1, 0.4, 0.6, 0.75};
    for (unsigned i = 0; i < 6; i++) {
        HOLD(d, volts[i], 0);
        assert_near(into(&d, 0), 3e-9 * (exp(volts[i] / (1.7 * VT)) - 1) + GMIN * volts[i]);
    }
    test_circuit_free(&d.test);
}

static void a_diode_has_its_series_resistance(void **state) {
    (void)state;
    Held d = held_new(CIRCUIT_DIODE);
    set(&d, DIODE_OHMS, 0.5);
    HOLD(d, 1, 0);
    double i = into(&d, 0);
    assert_share(1 - 0.5 * i, VT * log(1 + i / 1e-14), 1e-9);
    test_circuit_free(&d.test);
}

/* As data sheets print a 5.1 V type of half a watt: at 5 mA, with 60 ohm (from memory). */
static void a_zener_diode_has_its_voltage_and_slope(void **state) {
    (void)state;
    Held z = held_new(CIRCUIT_DIODE);
    assert_true(circuit_fit_zener(z.test.circuit, z.element, 5.1, 5e-3, 60));
    HOLD(z, 0, 5.1);
    assert_share(into(&z, 1), 5e-3, 1e-6);
    HOLD(z, 0, 5.1 + 1e-3);
    double up = into(&z, 1);
    HOLD(z, 0, 5.1 - 1e-3);
    assert_share(2e-3 / (up - into(&z, 1)), 60, 1e-3);
    HOLD(z, 0, 3);
    assert_true(into(&z, 1) < 50e-6);
    test_circuit_free(&z.test);
}

static void fitted_diodes_go_through_their_points(void **state) {
    (void)state;
    Held d = held_new(CIRCUIT_DIODE);
    assert_true(circuit_fit_diode(d.test.circuit, d.element, 0.62, 1e-3, 0.78, 50e-3, 0.5));
    HOLD(d, 0.62, 0);
    assert_share(into(&d, 0), 1e-3, 1e-3); /* the fit's round 25.865 mV */
    HOLD(d, 0.78, 0);
    assert_share(into(&d, 0), 50e-3, 1e-3);
    assert_false(circuit_fit_diode(d.test.circuit, d.element, 0.62, 1e-3, 0.6, 50e-3, 0));
    assert_false(circuit_fit_diode(d.test.circuit, d.element, 0.62, 0, 0.7, 50e-3, 0));
    test_circuit_free(&d.test);
}

/* Typical drops at 20 mA: infrared 1.2 V, red 1.9 to 2.0 V, blue and white 3.2 V (data sheets, from memory). */
static void light_emitting_diodes_drop_by_colour(void **state) {
    (void)state;
    static const struct {
        CircuitColour colour;
        double volts;
    } leds[] = {{LED_INFRARED, 1.20}, {LED_RED, 1.95}, {LED_GREEN_OLD, 2.15}, {LED_BLUE, 3.20}, {LED_WHITE, 3.20}};
    for (unsigned i = 0; i < sizeof leds / sizeof *leds; i++) {
        TestCircuit test = test_circuit_new();
        CircuitNode a = test_node(&test, "a");
        circuit_current_source(test.circuit, "I", 0, a, 20e-3);
        circuit_led(test.circuit, test_two(&test, CIRCUIT_DIODE, "D", a, 0), leds[i].colour);
        test_solve(&test);
        assert_printed(test_volts(&test, a), leds[i].volts, 0.01);
        test_circuit_free(&test);
    }
}

/* ---- transistors ---- */

static void assert_bipolar(double sign, double vc, double vb, double ve) {
    Held q = held_new(CIRCUIT_BIPOLAR);
    set(&q, BIPOLAR_SIGN, sign);
    HOLD(q, sign * vc, sign * vb, sign * ve);
    double f = 1e-14 * (exp((vb - ve) / VT) - 1), r = 1e-14 * (exp((vb - vc) / VT) - 1);
    double ib = f / 200 + r / 4 + GMIN * (vb - ve) + GMIN * (vb - vc), ic = f - r - r / 4 - GMIN * (vb - vc);
    assert_share(sign * into(&q, 0), ic, 1e-10);
    assert_share(sign * into(&q, 1), ib, 1e-10);
    assert_share(sign * into(&q, 2), -ic - ib, 1e-10);
    test_circuit_free(&q.test);
}

static void a_bipolar_transistor_is_ebers_and_molls(void **state) {
    (void)state;
    for (int sign = -1; sign <= 1; sign += 2) {
        assert_bipolar(sign, 5, 0.65, 0);  /* forward */
        assert_bipolar(sign, 0.1, 0.7, 0); /* saturated */
        assert_bipolar(sign, 5, -1, 0);    /* off */
        assert_bipolar(sign, 0, 0.6, 3);   /* reversed */
    }
}

/* The lines of the collector current meet at -VA; at the knee current, q = (1 + sqrt 5) / 2. */
static void a_bipolar_transistor_has_early_voltage_and_knee(void **state) {
    (void)state;
    Held q = held_new(CIRCUIT_BIPOLAR);
    set(&q, BIPOLAR_EARLY, 80);
    HOLD(q, 0.65, 0.65, 0);
    double flat = into(&q, 0);
    HOLD(q, 20.65, 0.65, 0);
    assert_share(into(&q, 0) / flat, 1 + 20.0 / 80, 1e-6);
    set(&q, BIPOLAR_EARLY, 0), set(&q, BIPOLAR_KNEE, 1e-14 * exp(0.7 / VT));
    HOLD(q, 0.7, 0.7, 0);
    assert_share(into(&q, 0), 1e-14 * exp(0.7 / VT) / ((1 + sqrt(5)) / 2), 1e-6);
    test_circuit_free(&q.test);
}

static void assert_mosfet(double sign, double vd, double vg, double vs, double amperes) {
    Held m = held_new(CIRCUIT_MOSFET);
    set(&m, MOSFET_SIGN, sign), set(&m, MOSFET_GAIN, 0.2), set(&m, MOSFET_LAMBDA, 0.01);
    set(&m, MOSFET_BODY, 0);
    HOLD(m, sign * vd, sign * vg, sign * vs);
    assert_share(sign * into(&m, 0), amperes + GMIN * (vd - vs), 1e-10);
    assert_true(fabs(into(&m, 1)) == 0);
    test_circuit_free(&m.test);
}

static void a_field_effect_transistor_is_square_law(void **state) {
    (void)state;
    for (int sign = -1; sign <= 1; sign += 2) {
        assert_mosfet(sign, 5, 1.9, 0, 0);                                      /* off, threshold 2 V */
        assert_mosfet(sign, 5, 3, 0, 0.1 * 1 * 1 * 1.05);                       /* saturated */
        assert_mosfet(sign, 0.5, 4, 0, 0.2 * (2 * 0.5 - 0.125) * 1.005);        /* along its resistance */
        assert_mosfet(sign, 0, 4, 0.5, -0.2 * (2 * 0.5 - 0.125) * 1.005);       /* the other way: gate to drain counts */
    }
    Held m = held_new(CIRCUIT_MOSFET);
    HOLD(m, -0.6, 0, 0); /* the body diode */
    assert_share(into(&m, 0), -1e-12 * (exp(0.6 / VT) - 1) - 0.6 * GMIN, 1e-9);
    test_circuit_free(&m.test);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_diode_is_shockleys),
        cmocka_unit_test(a_diode_has_its_series_resistance),
        cmocka_unit_test(a_zener_diode_has_its_voltage_and_slope),
        cmocka_unit_test(fitted_diodes_go_through_their_points),
        cmocka_unit_test(light_emitting_diodes_drop_by_colour),
        cmocka_unit_test(a_bipolar_transistor_is_ebers_and_molls),
        cmocka_unit_test(a_bipolar_transistor_has_early_voltage_and_knee),
        cmocka_unit_test(a_field_effect_transistor_is_square_law),
    };
    return cmocka_run_group_tests_name("circuit_semiconductors", tests, NULL, NULL);
}
