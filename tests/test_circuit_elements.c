/* circuit: every element against its equation, and its slopes against differences. */
#include "tests/circuit_held.h"

#include "circuit/inside.h"

/* ---- slopes ---- */

typedef struct Rows {
    double f[LOCAL_MOST], j[LOCAL_MOST * LOCAL_MOST], q[LOCAL_MOST], c[LOCAL_MOST * LOCAL_MOST];
} Rows;

static Rows rows_at(const Form *form, const double *p, const double *x, const World *world) {
    Rows rows = {0};
    Local local = {p, x, rows.f, rows.j, LOCAL_ROWS, LOCAL_SLOTS, rows.q, rows.c, form->k, world, NULL, false};
    form->evaluate(&local);
    return rows;
}

static void compare_slopes(CircuitKind kind, const Form *form, const double *p, double *x, const World *world) {
    Rows here = rows_at(form, p, x, world);
    unsigned place = 0;
    bool named[LOCAL_MOST * LOCAL_MOST] = {false};
    for (const char *c = form->pattern; *c != '\0'; c++)
        if (*c != ' ') named[place++] = *c == 'x';
    assert_int_equal(place, form->k * form->k);
    for (unsigned u = 0; u < form->k; u++) {
        double kept = x[u], step = 1e-6 * fmax(fabs(x[u]), 1e-2);
        x[u] = kept + step;
        Rows up = rows_at(form, p, x, world);
        x[u] = kept - step;
        Rows down = rows_at(form, p, x, world);
        x[u] = kept;
        for (unsigned r = 0; r < form->k; r++) {
            double slope = (up.f[r] - down.f[r]) / (2 * step), given = here.j[r * form->k + u];
            double noise = 1e-9 * (fabs(up.f[r]) + 1e-9) / step, rate = (up.q[r] - down.q[r]) / (2 * step);
            if (fabs(slope - given) > 1e-4 * fmax(fabs(slope), fabs(given)) + noise)
                fail_msg("%s: d row %u / d x %u is %g by differences, given %g", circuit_kind(kind)->name, r, u, slope, given);
            assert_true(fabs(rate - here.c[r * form->k + u]) <= 1e-4 * fabs(rate) + 1e-9 * fabs(up.q[r]) / step);
            if (!named[r * form->k + u]) assert_true(given == 0 && here.c[r * form->k + u] == 0);
        }
    }
}

static void slopes_are_those_of_the_equations(void **state) {
    (void)state;
    for (unsigned kind = 0; kind < CIRCUIT_KINDS; kind++)
        for (unsigned round = 0; round < 200; round++) {
            const CircuitKindFacts *facts = circuit_kind(kind);
            double p[CIRCUIT_PARAMETERS], x[LOCAL_MOST];
            for (unsigned i = 0; i < facts->parameters; i++) {
                p[i] = facts->parameter[i].usual * random_between(0.5, 1.5) + (facts->parameter[i].usual == 0 ? random_between(0, 0.01) : 0);
                p[i] = fmin(fmax(p[i], facts->parameter[i].low), facts->parameter[i].high);
            }
            for (unsigned i = 0; i < LOCAL_MOST; i++) x[i] = random_between(-0.8, 0.8);
            if (kind == CIRCUIT_DIODE && round % 2 == 0) p[DIODE_OHMS] = 0, p[DIODE_BREAKDOWN] = 0.6;
            if (kind == CIRCUIT_RESISTOR && round % 2 == 0) p[RESISTOR_OHMS] = 1;
            if (kind == CIRCUIT_BIPOLAR || kind == CIRCUIT_MOSFET) p[0] = round % 2 == 0 ? 1 : -1;
            if (kind == CIRCUIT_BIPOLAR) p[BIPOLAR_EARLY] = 30, p[BIPOLAR_KNEE] = 1e-3;
            if (kind == CIRCUIT_MOSFET) p[MOSFET_THRESHOLD] = 0.1, p[MOSFET_LAMBDA] = 0.02;
            if (kind == CIRCUIT_SWITCH || kind == CIRCUIT_MOTOR) p[kind == CIRCUIT_SWITCH ? (int)SWITCH_CLOSED : (int)MOTOR_STALLED] = round % 2;
            if (kind == CIRCUIT_BATTERY) x[3] = p[BATTERY_CAPACITY] * random_between(-0.03, 1.1);
            if (kind == CIRCUIT_COMPARATOR) p[COMPARATOR_OPEN] = round % 2;
            if (kind == CIRCUIT_PIN) p[PIN_STATE] = round % 3;
            World world = {.vt = VT, .scale = 1, .middle = -1, .gmin = GMIN, .alpha = round % 4 < 2 ? 0 : 1};
            compare_slopes(kind, form_of(kind, p), p, x, &world);
        }
}

/* ---- passive ---- */

static void a_resistor_is_ohms_law(void **state) {
    (void)state;
    for (double ohms = 1e-6; ohms < 1e12; ohms *= 10) {
        Held r = held_new(CIRCUIT_RESISTOR);
        set(&r, RESISTOR_OHMS, ohms);
        HOLD(r, 5, 2);
        assert_near(into(&r, 0), 3 / ohms);
        assert_near(circuit_power(r.test.solver, r.element), 9 / ohms);
        test_circuit_free(&r.test);
    }
}

/* 10 kohm with B = 3950 K is 3588 ohm at 50 degC (tables of such parts, from memory). */
static void a_thermistor_follows_its_beta(void **state) {
    (void)state;
    Held r = held_new(CIRCUIT_THERMISTOR);
    set(&r, THERMISTOR_KELVIN, 323.15);
    HOLD(r, 1, 0);
    assert_printed(1 / into(&r, 0), 3588, 1);
    test_circuit_free(&r.test);
}

static void a_switch_is_open_or_closed(void **state) {
    (void)state;
    Held s = held_new(CIRCUIT_SWITCH);
    HOLD(s, 1, 0);
    assert_near(into(&s, 0), 1 / 0.05);
    set(&s, SWITCH_CLOSED, 0);
    HOLD(s, 1, 0);
    assert_near(into(&s, 0), 1e-12);
    test_circuit_free(&s.test);
}

static void at_rest_a_capacitor_is_open_and_an_inductor_its_wire(void **state) {
    (void)state;
    Held c = held_new(CIRCUIT_CAPACITOR), l = held_new(CIRCUIT_INDUCTOR), s = held_new(CIRCUIT_SPEAKER);
    HOLD(c, 5, 0);
    assert_true(into(&c, 0) == 0);
    set(&l, INDUCTOR_OHMS, 2);
    HOLD(l, 5, 0);
    assert_near(into(&l, 0), 2.5);
    HOLD(s, 4, 0);
    assert_near(into(&s, 0), 0.5);
    test_circuit_free(&c.test), test_circuit_free(&l.test), test_circuit_free(&s.test);
}

/* ---- sources ---- */

static double wave_at(const double *p, double seconds) {
    World world = {.time = seconds, .middle = seconds};
    return wave_value(p, &world);
}

static void waves_are_what_their_words_say(void **state) {
    (void)state;
    double p[10] = {[SOURCE_WAVE] = SOURCE_PULSE, [SOURCE_VALUE] = 1, [SOURCE_TO] = 5, [SOURCE_DELAY] = 1, [SOURCE_RISE] = 0.5,
                    [SOURCE_WIDTH] = 2, [SOURCE_FALL] = 1};
    assert_near(wave_at(p, 0.9), 1);
    assert_near(wave_at(p, 1.25), 3);
    assert_near(wave_at(p, 2), 5);
    assert_near(wave_at(p, 4), 3);
    assert_near(wave_at(p, 99), 1);
    p[SOURCE_FREQUENCY] = 0.1;
    assert_near(wave_at(p, 22), 5);
    assert_near(wave_next(p, 0), 1);
    assert_near(wave_next(p, 1), 1.5);
    assert_near(wave_next(p, 4.5), 11);
    double square[10] = {[SOURCE_WAVE] = SOURCE_SQUARE, [SOURCE_TO] = 3, [SOURCE_FREQUENCY] = 38e3, [SOURCE_DUTY] = 0.25};
    double sum = 0;
    for (int i = 0; i < 1000; i++) sum += wave_at(square, (i + 0.5) / 38e6);
    assert_near(sum / 1000, 0.75);
    double sine[10] = {[SOURCE_WAVE] = SOURCE_SINE, [SOURCE_VALUE] = 1, [SOURCE_TO] = 2, [SOURCE_FREQUENCY] = 50};
    assert_near(wave_at(sine, 5e-3), 3);
    assert_near(wave_at(sine, -1), 1);
}

static void a_source_of_current_drives_from_plus_through_itself_to_minus(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode a = test_node(&test, "a");
    uint32_t i = circuit_current_source(test.circuit, "I", 0, a, 2e-3), r = circuit_resistor(test.circuit, "R", a, 0, 1e3);
    test_solve(&test);
    assert_near(test_volts(&test, a), 2);
    assert_near(test_amperes(&test, r), 2e-3);
    assert_near(circuit_power(test.solver, i), -4e-3);
    test_circuit_free(&test);
}

/* Each controlled source: input 0.5 V or 0.5 mA, output on 1 kohm. */
static void controlled_sources_obey(void **state) {
    (void)state;
    static const CircuitKind kinds[] = {CIRCUIT_VCVS, CIRCUIT_VCCS, CIRCUIT_CCCS, CIRCUIT_CCVS};
    static const double gains[] = {3, 2e-3, 4, 2e3}, volts[] = {1.5, -1, -2, 1};
    for (unsigned k = 0; k < 4; k++) {
        TestCircuit test = test_circuit_new();
        CircuitNode out = test_node(&test, "out"), in = test_node(&test, "in"), from = test_node(&test, "from");
        circuit_source(test.circuit, "V", from, 0, 0.5);
        circuit_resistor(test.circuit, "Rin", from, in, 1e3);
        if (k < 2) circuit_resistor(test.circuit, "Rbig", in, 0, 1e18);
        circuit_resistor(test.circuit, "R", out, 0, 1e3);
        uint32_t e = test_five(&test, kinds[k], "E", (const CircuitNode[]){out, 0, in, 0});
        circuit_set(test.circuit, e, CONTROLLED_GAIN, gains[k]);
        test_solve(&test);
        assert_near(test_volts(&test, out), volts[k]);
        test_circuit_free(&test);
    }
}

/* ---- motor, battery ---- */

static void a_motor_runs_where_its_torques_balance(void **state) {
    (void)state;
    Held m = held_new(CIRCUIT_MOTOR);
    set(&m, MOTOR_VISCOUS, 1e-7);
    HOLD(m, 6, 0);
    double i = into(&m, 0), w = held_inner(&m, 1);
    assert_share(6, 5 * i + 5e-3 * w, 1e-12);
    assert_share(5e-3 * i, 1e-7 * w + 1e-4, 1e-9);
    HOLD(m, -6, 0); /* backwards alike */
    assert_share(held_inner(&m, 1), -w, 1e-9);
    set(&m, MOTOR_STALLED, 1);
    HOLD(m, 6, 0);
    assert_near(into(&m, 0), 6.0 / 5);
    assert_true(held_inner(&m, 1) == 0);
    set(&m, MOTOR_STALLED, 0);
    HOLD(m, 0.05, 0); /* 10 mA give half of what friction takes: it stands, but for a creep */
    assert_true(fabs(held_inner(&m, 1)) < 0.1);
    assert_share(into(&m, 0), 0.01, 0.01);
    test_circuit_free(&m.test);
}

static void a_battery_is_its_curve_and_its_resistance(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode a = test_node(&test, "a");
    uint32_t b = test_two(&test, CIRCUIT_BATTERY, "BT1", a, 0), r = circuit_resistor(test.circuit, "R", a, 0, 5);
    for (unsigned i = 0; i < BATTERY_POINTS; i++) circuit_set(test.circuit, b, BATTERY_VOLTS + i, 1.0 + 0.05 * i);
    circuit_set(test.circuit, b, BATTERY_OHMS, 0.2), circuit_set(test.circuit, b, BATTERY_OHMS_EMPTY, 1.2);
    circuit_set(test.circuit, b, BATTERY_CHARGE, 0.45);
    test_solve(&test);
    assert_near(test_amperes(&test, r), 1.225 / (5 + 1.2 - 0.45));
    assert_near(circuit_inner(test.solver, b, 1), 0.45 * 3600);
    test_circuit_free(&test);
}

/* ---- chips ---- */

static double regulated(double in, double load, double *taken) {
    TestCircuit test = test_circuit_new();
    CircuitNode a = test_node(&test, "in"), b = test_node(&test, "out");
    uint32_t v = circuit_source(test.circuit, "V", a, 0, in);
    test_three(&test, CIRCUIT_REGULATOR, "U", a, b, 0);
    circuit_resistor(test.circuit, "R", b, 0, load);
    test_solve(&test);
    *taken = -test_amperes(&test, v);
    double out = test_volts(&test, b);
    test_circuit_free(&test);
    return out;
}

/* 5 V, dropout 1 V, 1 mA quiet, 1 A at most, 20 mohm. */
static void a_regulator_holds_drops_out_and_limits(void **state) {
    (void)state;
    double taken, out = regulated(9, 50, &taken);
    assert_share(out, 5 - 0.02 * 0.1, 2e-4);
    assert_share(taken, 0.101, 1e-3);
    assert_share(regulated(4.5, 50, &taken), 3.5, 2e-3); /* 1 V below its input */
    assert_share(regulated(9, 2, &taken), 2, 0.01);      /* 1 A into 2 ohm */
    assert_true(regulated(0.5, 50, &taken) < 0.01);
}

typedef struct Amplifier {
    TestCircuit test;
    CircuitNode in, out, back, high;
    uint32_t source, chip;
} Amplifier;

/* Not inverting, 1 + 9k/1k, on 10 V. */
static Amplifier amplifier_new(void) {
    Amplifier a = {.test = test_circuit_new()};
    a.in = test_node(&a.test, "in"), a.out = test_node(&a.test, "out"), a.back = test_node(&a.test, "back"), a.high = test_node(&a.test, "V+");
    a.source = circuit_source(a.test.circuit, "Vin", a.in, 0, 0);
    circuit_source(a.test.circuit, "V+", a.high, 0, 10);
    circuit_resistor(a.test.circuit, "R1", a.back, 0, 1e3);
    circuit_resistor(a.test.circuit, "R2", a.out, a.back, 9e3);
    a.chip = test_five(&a.test, CIRCUIT_OPAMP, "U1", (const CircuitNode[]){a.in, a.back, a.out, a.high, 0});
    return a;
}

static double amplified(Amplifier *a, double volts) {
    circuit_set(a->test.circuit, a->source, SOURCE_VALUE, volts);
    test_solve(&a->test);
    return test_volts(&a->test, a->out);
}

static void an_op_amp_has_its_gain_and_its_rails(void **state) {
    (void)state;
    Amplifier a = amplifier_new();
    /* u = A (in - out / 10), out = u - 75 i, i = out / 10k */
    assert_share(amplified(&a, 0.3), 0.3 / (1.0 / 10 + (1 + 75.0 / 1e4) / 1e5), 1e-4);
    /* its drive stands at the rail, headroom 1.5 V; the output is that behind 75 ohm */
    assert_share(amplified(&a, 2), 8.5 * 1e4 / (1e4 + 75), 1e-5);
    assert_true(amplified(&a, -1) < 0.03);
    circuit_set(a.test.circuit, a.chip, OPAMP_OFFSET, 1e-2);
    assert_share(amplified(&a, 0.3), 3.1, 1e-3);
    circuit_resistor(a.test.circuit, "Rshort", a.out, 0, 1);
    amplified(&a, 0.5);
    assert_true(fabs(circuit_current(a.test.solver, a.chip, 2)) < 20.01e-3);
    test_circuit_free(&a.test);
}

static double compared(double volts, bool open, double pull) {
    TestCircuit test = test_circuit_new();
    CircuitNode in = test_node(&test, "in"), ref = test_node(&test, "ref"), out = test_node(&test, "out"), high = test_node(&test, "V+");
    circuit_source(test.circuit, "Vin", in, 0, volts);
    circuit_source(test.circuit, "Vref", ref, 0, 1);
    circuit_source(test.circuit, "V+", high, 0, 5);
    circuit_resistor(test.circuit, "R", out, high, pull);
    uint32_t u = test_five(&test, CIRCUIT_COMPARATOR, "U", (const CircuitNode[]){in, ref, out, high, 0});
    circuit_set(test.circuit, u, COMPARATOR_OPEN, open);
    test_solve(&test);
    double v = test_volts(&test, out);
    test_circuit_free(&test);
    return v;
}

static void a_comparator_takes_a_side(void **state) {
    (void)state;
    assert_share(compared(1.01, false, 1e6), 5, 1e-3);
    assert_share(compared(0.99, false, 1e3), 5 * 50.0 / 1050, 1e-3);
    assert_share(compared(0.99, true, 1e3), 5 * 50.0 / 1050, 1e-3);
    assert_share(compared(1.01, true, 1e3), 5, 1e-3); /* the pull-up does it */
}

static void an_optocoupler_carries_its_ratio(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode a = test_node(&test, "a"), c = test_node(&test, "c"), high = test_node(&test, "high");
    circuit_current_source(test.circuit, "I", 0, a, 5e-3);
    circuit_source(test.circuit, "V", high, 0, 5);
    uint32_t r = circuit_resistor(test.circuit, "R", high, c, 100);
    uint32_t u = test_five(&test, CIRCUIT_OPTOCOUPLER, "U", (const CircuitNode[]){a, 0, c, 0});
    circuit_set(test.circuit, u, OPTO_RATIO, 0.8);
    test_solve(&test);
    assert_share(test_amperes(&test, r), 4e-3, 1e-6);
    circuit_set(test.circuit, r, RESISTOR_OHMS, 10e3);
    test_solve(&test);
    assert_true(test_volts(&test, c) < 0.05); /* saturated */
    test_circuit_free(&test);
}

static void a_pin_drives_floats_and_clamps(void **state) {
    (void)state;
    TestCircuit test = test_circuit_new();
    CircuitNode pin = test_node(&test, "pin"), high = test_node(&test, "VDD"), far = test_node(&test, "far");
    circuit_source(test.circuit, "V", high, 0, 5);
    uint32_t u = test_three(&test, CIRCUIT_PIN, "U1.5", pin, high, 0), r = circuit_resistor(test.circuit, "R", pin, far, 460);
    uint32_t v = circuit_source(test.circuit, "Vfar", far, 0, 0);
    circuit_set(test.circuit, u, PIN_STATE, PIN_HIGH);
    test_solve(&test);
    assert_share(test_amperes(&test, r), 5.0 / 500, 1e-9);
    circuit_set(test.circuit, u, PIN_STATE, PIN_LOW), circuit_set(test.circuit, v, SOURCE_VALUE, 5);
    test_solve(&test);
    assert_share(test_amperes(&test, r), -5.0 / 490, 1e-9);
    circuit_set(test.circuit, u, PIN_STATE, PIN_OPEN);
    test_solve(&test);
    assert_true(fabs(test_amperes(&test, r)) < 1e-11);
    circuit_set(test.circuit, v, SOURCE_VALUE, 9); /* above its supply: the upper clamp conducts */
    test_solve(&test);
    double i = -test_amperes(&test, r);
    assert_share(test_volts(&test, pin) - 5, VT * log(i / 1e-14), 1e-6);
    circuit_set(test.circuit, v, SOURCE_VALUE, -4);
    test_solve(&test);
    assert_share(-test_volts(&test, pin), VT * log(test_amperes(&test, r) / 1e-14), 1e-6);
    test_circuit_free(&test);
}

static void an_electret_capsule_takes_its_current(void **state) {
    (void)state;
    Held e = held_new(CIRCUIT_ELECTRET);
    HOLD(e, 2, 0);
    assert_near(into(&e, 0), 3e-4 * tanh(2 / 0.4));
    test_circuit_free(&e.test);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(slopes_are_those_of_the_equations),
        cmocka_unit_test(a_resistor_is_ohms_law),
        cmocka_unit_test(a_thermistor_follows_its_beta),
        cmocka_unit_test(a_switch_is_open_or_closed),
        cmocka_unit_test(at_rest_a_capacitor_is_open_and_an_inductor_its_wire),
        cmocka_unit_test(waves_are_what_their_words_say),
        cmocka_unit_test(a_source_of_current_drives_from_plus_through_itself_to_minus),
        cmocka_unit_test(controlled_sources_obey),
        cmocka_unit_test(a_motor_runs_where_its_torques_balance),
        cmocka_unit_test(a_battery_is_its_curve_and_its_resistance),
        cmocka_unit_test(a_regulator_holds_drops_out_and_limits),
        cmocka_unit_test(an_op_amp_has_its_gain_and_its_rails),
        cmocka_unit_test(a_comparator_takes_a_side),
        cmocka_unit_test(an_optocoupler_carries_its_ratio),
        cmocka_unit_test(a_pin_drives_floats_and_clamps),
        cmocka_unit_test(an_electret_capsule_takes_its_current),
    };
    return cmocka_run_group_tests_name("circuit_elements", tests, NULL, NULL);
}
