/* What circuits do in a mode, from notes. Each source stands beside its circuit. */
#include "tests/sums_fixture.h"

#include "report/report.h"

#include <stdio.h>

#define SUPPLY5 "part J1 source 5 V\nnet GND J1.-\nnet VCC J1.+\n"

/* (5 V - 2 V) / 330 ohm = 9.1 mA: the usual sum, vf of a red LED 1.8 to 2.2 V (common practice). */
static void a_led_with_its_resistor(void **state) {
    (void)state;
    Summed s = summed_of(SUPPLY5 "part R1 330 ohm ±5%\npart D1 led-red\njoin R1.1 VCC\njoin R1.2 D1.A\njoin D1.K GND\n");
    assert_within(amperes_of(&s, "", "R1"), 7.8e-3, 10.5e-3);
    assert_share(amperes_of(&s, "", "R1")->typical, 9.1e-3, 0.03);
    assert_share(amperes_of(&s, "", "J1")->typical, amperes_of(&s, "", "D1")->typical, 1e-6);
    summed_end(&s);
}

/* U R2 / (R1 + R2) = 2.5 V; both at 5 %: the worst are 0.95/(0.95 + 1.05) and 1.05/2 of 5 V, 2.375 and 2.625 V. */
static void the_worst_of_a_divider(void **state) {
    (void)state;
    Summed s = summed_of(SUPPLY5 "part R1 10k ±5%\npart R2 10k ±5%\njoin R1.1 VCC\njoin R1.2 R2.1\njoin R2.2 GND\n");
    const SumsFigure *middle = volts_of(&s, "", "R2.1");
    assert_share(middle->typical, 2.5, 1e-6);
    assert_share(middle->least, 2.375, 1e-6);
    assert_share(middle->most, 2.625, 1e-6);
    assert_true(middle->low > middle->least && middle->high < middle->most);
    /* a difference of two even spreads of 5 % is a triangle: 95 of 100 lie within 0.776 of its half width */
    assert_share(middle->high - middle->low, 0.776 * 0.25, 0.06);
    assert_true(middle->hangs[0] != BENCH_NONE && middle->hangs[1] != BENCH_NONE);
    summed_end(&s);
}

/* A 10 Mohm meter on 470k over 220k reads 1.98 V x 10 M / (10 M + 150 k): it loads what it measures. */
static void a_meter_loads_what_it_measures(void **state) {
    (void)state;
    Summed s = summed_of("part J1 source 6.21 V\nnet GND J1.-\nnet VCC J1.+\npart R1 4.7 Mohm ±1%\npart R2 2.2 Mohm ±1%\n"
                         "join R1.1 VCC\njoin R1.2 R2.1\njoin R2.2 GND\nread v(R2.1) = 1.72 V by meter\n");
    assert_share(volts_of(&s, "", "R2.1")->typical, 6.21 * 2.2 / 6.9, 1e-3);
    assert_int_equal(s.sums->compared.count, 1);
    const double source = 1 / (1 / 4.7e6 + 1 / 2.2e6);
    assert_share(s.sums->compared.at[0].typical, 6.21 * 2.2 / 6.9 * 10e6 / (10e6 + source), 1e-3);
    assert_int_equal(s.sums->compared.at[0].verdict, SUMS_AGREES);
    summed_end(&s);
}

/* Emitter follower: the emitter is one junction drop, 0.6 to 0.75 V, below the base (common practice). */
static void an_emitter_follower(void **state) {
    (void)state;
    Summed s = summed_of(SUPPLY5 "part R1 10k ±1%\npart R2 10k ±1%\npart Q1 npn\npart R3 1k\n"
                                 "join R1.1 VCC Q1.C\njoin R1.2 R2.1 Q1.B\njoin R2.2 R3.2 GND\njoin Q1.E R3.1\n");
    const SumsFigure *base = volts_of(&s, "", "Q1.B"), *emitter = volts_of(&s, "", "Q1.E");
    assert_in_range((int)(1000 * (base->typical - emitter->typical)), 580, 750);
    assert_true(base->typical < 2.5 && base->typical > 2.3); /* its base current loads the divider */
    summed_end(&s);
}

/* A 5.1 V Zener diode behind 470 ohm from 12 V: (12 - 5.1) / 470 = 14.7 mA (common practice). */
static void a_zener_regulator(void **state) {
    (void)state;
    Summed s = summed_of("part J1 source 12 V\nnet GND J1.-\nnet VCC J1.+\npart R1 470 ohm ±5%\npart D1 zener 5.1 V ±5%\n"
                         "join R1.1 VCC\njoin R1.2 D1.K\njoin D1.A GND\n");
    assert_within(volts_of(&s, "", "D1.K"), 4.8, 5.5);
    assert_share(amperes_of(&s, "", "R1")->typical, 14.7e-3, 0.05);
    summed_end(&s);
}

/* The notes say what the chip does: a low-side switch with a motor, its coil 4 ohm, held: (6 V) / (4 ohm + ...) at most 1.5
 * A; not driven, nothing flows. */
static const char SWITCH[] =
    "part BT1 battery 4 x LR6\npart M1 motor\npart Q1 SOT-23 nmos\npart D1 diode\npart R1 10k\npart U1 SOP-8\n"
    "net GND BT1.- Q1.S R1.2 U1.4\nnet VCC BT1.+ M1.1 D1.K U1.8\njoin M1.2 D1.A Q1.D\njoin U1.5 Q1.G R1.1\n"
    "mode idle\nmode turning\nmode held\ndrive U1.5 low in idle\ndrive U1.5 high in turning\ndrive U1.5 high in held\n"
    "stall M1 in held\nread r(M1) = 4.0 ohm by meter\n";
static void a_motor_switched_by_a_chip(void **state) {
    (void)state;
    Summed s = summed_of(SWITCH);
    assert_within(amperes_of(&s, "idle", "M1"), -1e-6, 1e-6);
    assert_true(amperes_of(&s, "held", "M1")->typical > 0.5 && amperes_of(&s, "held", "M1")->most < 2.0);
    assert_true(amperes_of(&s, "turning", "M1")->typical < amperes_of(&s, "held", "M1")->typical);
    assert_true(mode_of(&s, "turning")->inner[bench_part(s.t.bench, TEXT("M1"))].typical > 10); /* it turns */
    summed_end(&s);
}

/* Not driven is open, and says so. */
static void a_pin_that_nobody_drives_is_open(void **state) {
    (void)state;
    Summed s = summed_of(SUPPLY5 "part U1 SOP-8\npart R1 1k\npart D1 led-red\njoin U1.8 VCC\njoin U1.4 GND\njoin U1.3 "
                                 "R1.1\njoin R1.2 D1.A\njoin D1.K GND\n");
    assert_within(amperes_of(&s, "", "R1"), -1e-9, 1e-9);
    bool said = false;
    for (uint32_t i = 0; i < mode_of(&s, "")->assumptions.count; i++)
        said = said || text_find(mode_of(&s, "")->assumptions.at[i].says, TEXT("U1.3 is open")) != SIZE_MAX;
    assert_true(said);
    summed_end(&s);
}

/* A pin at half its time high lets half the current flow, where nothing stores. */
static void a_pin_that_switches_is_weighed_by_its_time(void **state) {
    (void)state;
    static const char circuit[] = SUPPLY5
        "part U1 SOP-8\npart R1 1k\njoin U1.8 VCC\njoin U1.4 GND\njoin U1.3 R1.1\njoin R1.2 GND\nmode full\nmode dim\n"
        "drive U1.3 high in full\ndrive U1.3 1 kHz 25% in dim\n";
    Summed s = summed_of(circuit);
    assert_share(amperes_of(&s, "dim", "R1")->typical, 0.25 * amperes_of(&s, "full", "R1")->typical, 1e-3);
    summed_end(&s);
}

/* A button is open until pressed; a slide switch is taken as closed, until pressed. */
static void buttons_and_switches(void **state) {
    (void)state;
    Summed s = summed_of(
        SUPPLY5
        "part SW1 switch\npart SW2 button\npart R1 1k\npart R2 1k\njoin SW1.1 SW2.1 VCC\njoin SW1.2 R1.1\njoin SW2.2 R2.1\n"
        "join R1.2 R2.2 GND\nmode idle\nmode pressed\npress SW1 SW2 in pressed\n");
    assert_share(amperes_of(&s, "idle", "R1")->typical, 5e-3, 0.01);
    assert_true(fabs(amperes_of(&s, "idle", "R2")->typical) < 1e-9);
    assert_true(fabs(amperes_of(&s, "pressed", "R1")->typical) < 1e-9);
    assert_share(amperes_of(&s, "pressed", "R2")->typical, 5e-3, 0.01);
    assert_share(amperes_of(&s, "pressed", "R2")->least, 5e-3, 0.1); /* a pressed button is pressed in every product */
    assert_true(fabs(amperes_of(&s, "pressed", "R1")->most) < 1e-9);
    summed_end(&s);
}

/* Non-inverting amplifier: 1 + 100k/10k = 11 times 0.2 V (every textbook). Both units of a dual one are solved. */
static void a_dual_op_amp(void **state) {
    (void)state;
    Summed s = summed_of("part J1 source 9 V\npart U1 SOP-8 marked \"LM358\"\npart R1 10k ±1%\npart R2 100k ±1%\npart R3 "
                         "430k ±1%\npart R4 10k ±1%\npart R5 10k\n"
                         "net GND J1.- U1.4 R1.1 R4.2 R5.2\nnet VCC J1.+ U1.8 R3.1\njoin R3.2 R4.1 U1.3\njoin U1.2 R1.2 "
                         "R2.1\njoin U1.1 R2.2 U1.5\njoin U1.6 U1.7 R5.1\n");
    assert_share(volts_of(&s, "", "U1.1")->typical, 9.0 * 10 / 440 * 11, 0.03);
    assert_share(volts_of(&s, "", "U1.7")->typical, volts_of(&s, "", "U1.1")->typical, 0.01);
    summed_end(&s);
}

/* A 5 V regulator from 9 V: 5 V at its output, and 4 V x 50 mA in it (common practice). */
static void a_regulator(void **state) {
    (void)state;
    Summed s = summed_of("part J1 source 9 V\npart U1 TO-220 marked \"LM7805\"\npart R1 100 ohm\nnet GND J1.- U1.GND "
                         "R1.2\nnet VIN J1.+ U1.IN\njoin U1.OUT R1.1\n");
    assert_within(volts_of(&s, "", "R1.1"), 4.75, 5.25);
    assert_within(watts_of(&s, "", "U1"), 0.15, 0.3);
    summed_end(&s);
}

/* Comparator with hysteresis: with its output low, R2 pulls its threshold below half the supply; the output follows. */
static void a_comparator_with_hysteresis(void **state) {
    (void)state;
    Summed s = summed_of(
        SUPPLY5
        "part U1 SOP-8 marked \"LM393\"\npart R1 10k\npart R2 10k\npart R3 100k\npart R4 10k\npart R5 10k\npart R6 30k\n"
        "join U1.8 VCC\njoin U1.4 GND\njoin U1.3 R1.2 R2.1 R3.1\njoin R1.1 VCC\njoin R2.2 GND\njoin R3.2 U1.1 R4.2\njoin "
        "R4.1 VCC\n"
        "join U1.2 R5.2 R6.1\njoin R5.1 VCC\njoin R6.2 GND\n");
    assert_share(volts_of(&s, "", "U1.2")->typical, 3.75, 0.02); /* above the threshold: low */
    assert_true(volts_of(&s, "", "U1.1")->typical < 0.5);
    assert_share(volts_of(&s, "", "U1.3")->typical, 2.381, 0.02); /* 10k from 5 V over 10k beside 100k: 5 x 9.09 / 19.09 */
    summed_end(&s);
}

/* A chip that nothing is known of draws within wide limits, and its pins stay open. */
static void an_unknown_chip_is_left_open(void **state) {
    (void)state;
    Summed s = summed_of(
        SUPPLY5 "part U1 timer DIP-8\npart R1 10k\njoin U1.VCC VCC\njoin U1.GND GND\njoin U1.OUT R1.1\njoin R1.2 GND\n");
    assert_true(fabs(amperes_of(&s, "", "R1")->typical) < 1e-6);
    summed_end(&s);
}

static void what_has_no_answer_says_why(void **state) {
    (void)state;
    Summed s = summed_of("part J1 source 5 V\npart J2 source 9 V\nnet GND J1.- J2.-\nnet VCC J1.+ J2.+\npart R1 1k\njoin "
                         "R1.1 VCC\njoin R1.2 GND\n");
    assert_false(s.sums->modes.at[0].solved);
    assert_true(text_find(s.sums->modes.at[0].fault, TEXT("J1")) != SIZE_MAX &&
                text_find(s.sums->modes.at[0].fault, TEXT("J2")) != SIZE_MAX);
    summed_end(&s);
    s = summed_of("part R1 1k\npart R2 1k\njoin R1.1 R2.1\n");
    assert_false(s.sums->modes.at[0].solved);
    assert_true(s.sums->modes.at[0].hint.len > 0);
    summed_end(&s);
}

/* A net that nothing fixes has no voltage, rather than a made-up one. */
static void what_floats_is_not_known(void **state) {
    (void)state;
    Summed s = summed_of(SUPPLY5 "part R1 1k\npart C1 100nF\npart C2 100nF\njoin R1.1 VCC\njoin R1.2 GND\njoin C1.1 "
                                 "VCC\njoin C1.2 C2.1\njoin C2.2 GND\n"
                                 "read v(C2.1) = 2.5 V by meter\n");
    assert_false(volts_of(&s, "", "C2.1")->known);
    assert_int_equal(s.sums->compared.at[0].verdict, SUMS_UNKNOWN);
    assert_true(s.sums->compared.at[0].why.len > 0);
    summed_end(&s);
}

/* Extreme values have an answer or a refusal, and nothing that is no number. */
static void values_out_of_the_world(void **state) {
    (void)state;
    static const char *const values[] = {"0 ohm", "1 fohm", "1 Tohm", "-5 ohm", "1000000000000000000000000000000 ohm"};
    for (size_t i = 0; i < sizeof values / sizeof *values; i++) {
        char notes[400];
        snprintf(notes, sizeof notes, SUPPLY5 "part R1 %s\npart R2 1k\njoin R1.1 VCC\njoin R1.2 R2.1\njoin R2.2 GND\n",
                 values[i]);
        Summed s = summed_of(notes);
        const SumsMode *mode = &s.sums->modes.at[0];
        for (uint32_t n = 0; n < s.t.bench->nets.count; n++)
            assert_true(isfinite(mode->volts[n].typical) && isfinite(mode->volts[n].most));
        assert_true(mode->solved || mode->fault.len > 0);
        summed_end(&s);
    }
}

/* Both halves of a potentiometer move together: its wiper stands anywhere from a tenth to nine tenths of 5 V, and what
 * flows through it is 5 V / 10 kohm wherever that is. */
static void a_potentiometer_is_one_track(void **state) {
    (void)state;
    Summed s = summed_of(
        SUPPLY5 "part RV1 potentiometer 10k\njoin RV1.1 VCC\njoin RV1.3 GND\npart R1 1M\njoin RV1.W R1.1\njoin R1.2 GND\n");
    const SumsFigure *wiper = volts_of(&s, "", "RV1.W"), *through = amperes_of(&s, "", "J1");
    assert_share(through->typical, 0.5e-3, 0.02);
    assert_share(through->least, 0.5e-3, 0.02);
    assert_share(through->most, 0.5e-3, 0.02);
    assert_true(wiper->least < 0.8 && wiper->most > 4.2);
    summed_end(&s);
}

/* What follows from notes that only tell a story is what followed before; any other note has the sums done anew. */
static void sums_are_taken_again(void **state) {
    (void)state;
#define CIRCUIT                                                                                                             \
    SUPPLY5 "part R1 330 ohm ±5%\npart D1 led-red\njoin R1.1 VCC\njoin R1.2 D1.A\njoin D1.K GND\nread v(D1.A) = 2.9 V by " \
            "meter\n"
    static const char *const tells[] = {CIRCUIT "ask \"what colour?\"\n",
                                        CIRCUIT "step 1 \"the lid\"\nbought 2026-09-03 for 2 EUR\n",
                                        CIRCUIT "licence \"CC0 1.0\"\n"},
                             *const changes[] = {"ask \"what colour?\"\n" CIRCUIT /* lines moved */,
                                                 CIRCUIT "join D1.A VCC\n",
                                                 CIRCUIT "read v(VCC) = 5.0 V by meter\n",
                                                 CIRCUIT "part R2 1k\njoin R2.1 VCC\n",
                                                 CIRCUIT "part R1 0805\n",
                                                 CIRCUIT "mode lit\n",
                                                 CIRCUIT "strike 9\n",
                                                 CIRCUIT "claim D1 \"a green one\"\n",
                                                 SUPPLY5};
    Summed s = summed_of(CIRCUIT);
    assert_true(s.sums->differ > 0 && s.sums->asked.count > 0);
    for (size_t i = 0; i < sizeof tells / sizeof *tells; i++) {
        Teardown t = teardown_of(tells[i], NULL);
        const Sums *again = sums_again(t.arena, s.sums, t.reasoning, sums_models_new(t.arena, t.lore, t.kinds));
        assert_non_null(again);
        assert_ptr_equal(again->bench, t.bench);
        for (uint32_t k = 0; k < s.t.reasoning->claims.count; k++) {
            const ReasonClaim *was = &s.t.reasoning->claims.at[k], *is = reason_claim(t.reasoning, was->id);
            assert_non_null(is);
            assert_true(is->p == was->p && text_same(is->says, was->says));
        }
        bool asked = false;
        for (uint32_t k = 0; k < t.reasoning->open.count; k++)
            asked |= text_same(t.reasoning->open.at[k].ask, s.sums->best_reading);
        assert_true(asked);
        teardown_end(&t);
    }
    for (size_t i = 0; i < sizeof changes / sizeof *changes; i++) {
        Teardown t = teardown_of(changes[i], NULL);
        uint32_t claims = t.reasoning->claims.count;
        assert_null(sums_again(t.arena, s.sums, t.reasoning, sums_models_new(t.arena, t.lore, t.kinds)));
        assert_int_equal(t.reasoning->claims.count, claims);
        teardown_end(&t);
    }
    Teardown other = teardown_of(CIRCUIT, NULL); /* another lore */
    lore_add_text(other.lore, TEXT("own.lore"), TEXT("mistake flat -3 dB \"here: rule of thumb\"\n"));
    assert_null(sums_again(other.arena, s.sums, other.reasoning, sums_models_new(other.arena, other.lore, other.kinds)));
    teardown_end(&other);
    summed_end(&s);
}

static Text as_json(const Sums *sums) {
    Out out = out_new(sums->arena);
    report_sums_json(&out, sums);
    return out_text(&out);
}

static void assert_no_sum_changes(const Summed *s, const char *circuit, Text kind) {
    const char *is = text_is(kind, "battery") ? " 4 x LR6" : text_is(kind, "resistor") ? " 0805 10k" : "";
    Text notes =
        text_fmt(s->t.arena, "%spart X9 %.*s%s\npart X10 %.*s\n%c", circuit, TEXT_ARG(kind), is, TEXT_ARG(kind), 0);
    Summed anew = summed_of(notes.at);
    Teardown t = teardown_of(notes.at, NULL);
    const Sums *again = sums_again(t.arena, s->sums, t.reasoning, sums_models_new(t.arena, t.lore, t.kinds));
    if (again == NULL) fail_msg("%.*s: done anew", TEXT_ARG(kind));
    if (!text_same(as_json(again), as_json(anew.sums))) fail_msg("%.*s: they differ", TEXT_ARG(kind));
    assert_int_equal(t.reasoning->claims.count, anew.t.reasoning->claims.count);
    assert_int_equal(t.reasoning->open.count, anew.t.reasoning->open.count);
    for (uint32_t m = 0; m < again->modes.count; m++)
        assert_false(again->modes.at[m].power[bench_part(t.bench, TEXT("X10"))].known);
    teardown_end(&t);
    summed_end(&anew);
}

/* A part that hangs on nothing changes no sum, of whatever kind it is: taken again they are what they are when done anew.
 */
static void a_new_part_without_a_pin_changes_no_sum(void **state) {
    (void)state;
    static const char *const circuits[] = {
        CIRCUIT "drive D1.A low\n",
        "part J1 usb-c\nnet GND J1.-\nnet VBUS J1.+\npart R1 1k\nnet VBUS R1.1\nnet GND R1.2\n"};
    for (size_t c = 0; c < sizeof circuits / sizeof *circuits; c++) {
        Summed s = summed_of(circuits[c]);
        for (uint32_t i = 0; i < bench_kind_count(s.t.kinds); i++)
            assert_no_sum_changes(&s, circuits[c], bench_kind_at(s.t.kinds, i)->name);
        summed_end(&s);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(a_led_with_its_resistor),
                                       cmocka_unit_test(the_worst_of_a_divider),
                                       cmocka_unit_test(a_meter_loads_what_it_measures),
                                       cmocka_unit_test(an_emitter_follower),
                                       cmocka_unit_test(a_zener_regulator),
                                       cmocka_unit_test(a_motor_switched_by_a_chip),
                                       cmocka_unit_test(a_pin_that_nobody_drives_is_open),
                                       cmocka_unit_test(a_pin_that_switches_is_weighed_by_its_time),
                                       cmocka_unit_test(buttons_and_switches),
                                       cmocka_unit_test(a_dual_op_amp),
                                       cmocka_unit_test(a_regulator),
                                       cmocka_unit_test(a_comparator_with_hysteresis),
                                       cmocka_unit_test(an_unknown_chip_is_left_open),
                                       cmocka_unit_test(what_has_no_answer_says_why),
                                       cmocka_unit_test(what_floats_is_not_known),
                                       cmocka_unit_test(values_out_of_the_world),
                                       cmocka_unit_test(a_potentiometer_is_one_track),
                                       cmocka_unit_test(sums_are_taken_again),
                                       cmocka_unit_test(a_new_part_without_a_pin_changes_no_sum)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
