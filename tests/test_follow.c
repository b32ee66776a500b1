/* sums: what follows from the solved modes. What is expected is worked out by hand beside each test; teardowns are
 * invented. */
#include "sums/sums.h"
#include "tests/circuit_check.h"
#include "tests/teardown.h"

#include <stdio.h>

/* Each mode that has an answer is solved again and held to Kirchhoff's and Tellegen's laws; those of extreme values have
 * more digits between their largest and smallest than a double. */
static Teardown followed_to(const char *notes, bool laws) {
    const double leak = 1e-12; /* S, as the sums have it */
    Teardown t = teardown_of(notes, NULL);
    assert_int_equal(t.notebook->problems.list.count, 0);
    const Sums *sums =
        sums_about(t.arena, t.reasoning, sums_models_new(t.arena, t.lore, t.kinds), (SumsEffort){.samples = 200});
    assert_int_equal(t.lore->problems.list.count, 0);
    for (uint32_t i = 0; laws && i < sums->modes.count; i++) {
        if (!sums->modes.at[i].solved) continue;
        CircuitFault fault;
        CircuitSolver *solver =
            circuit_solver_new(t.arena, sums->modes.at[i].circuit, (CircuitOptions){.leak = leak}, &fault);
        assert_true(solver != NULL && circuit_solve(solver, &fault));
        assert_laws(sums->modes.at[i].circuit, solver, leak);
        circuit_solver_free(solver);
    }
    return t;
}

static Teardown followed(const char *notes) { return followed_to(notes, true); }

static void assert_within(double got, double low, double high) {
    if (!(got >= low && got <= high)) fail_msg("%g is not within %g..%g", got, low, high);
}

static void warns(const ReasonClaim *claim, const char *words) {
    for (uint32_t i = 0; i < claim->warning_count; i++)
        if (text_find(claim->warnings[i], text_of(words)) != SIZE_MAX) return;
    fail_msg("%.*s does not warn of `%s`: %.*s", TEXT_ARG(claim->id), words, TEXT_ARG(claim->says));
}

static void says(Text text, const char *words) {
    if (text_find(text, text_of(words)) == SIZE_MAX) fail_msg("`%.*s` lacks `%s`", TEXT_ARG(text), words);
}

static bool told(const Teardown *t, const char *id) { return reason_claim(t->reasoning, text_of(id)) != NULL; }

static void assert_tallies(const Teardown *t) {
    for (uint32_t i = 0; i < t->reasoning->claims.count; i++) {
        const ReasonClaim *claim = &t->reasoning->claims.at[i];
        double sum = 0;
        if (claim->sort != REASON_SUM) continue;
        for (uint32_t k = 0; k < claim->because_count; k++) sum += claim->because[k].decibans;
        assert_true(fabs(sum - claim->decibans) < 1e-9);
        assert_true(claim->p > 0 && claim->p < 1 && claim->says.len > 0 && claim->because_count > 0);
        for (uint32_t k = 0; k < claim->value_count; k++) {
            assert_true(isfinite(claim->values[k].value.value) && claim->values[k].formula.len > 0 &&
                        claim->values[k].source.len > 0);
            assert_true(claim->values[k].value.low <= claim->values[k].value.value &&
                        claim->values[k].value.value <= claim->values[k].value.high);
        }
    }
}

/* ---- batteries ---- */

#define TWO_CELLS "part BT1 battery 2 x LR6\nnet GND BT1.-\nnet VBAT BT1.+\n"

/* Two cells at 1.3 V on the average on 150 ohm: 17 mA, of 2.8 Ah that is 165 h, a week. */
static void a_resistor_on_two_cells_lasts_a_week(void **state) {
    (void)state;
    Teardown t = followed(TWO_CELLS "part R1 150 1%\njoin VBAT R1.1\njoin R1.2 GND\n");
    const ReasonClaim *life = claim_with_id(&t, "battery-life:BT1");
    assert_within(value_in(life, "life").value / 3600, 150, 185);
    assert_within(value_in(life, "average-current").value, 15e-3, 19e-3);
    assert_true(value_in(life, "life").low < 0.9 * value_in(life, "life").value);
    says(life->says, "2 x LR6, alkaline");
    assert_true(text_is(life->block, "power"));
    assert_tallies(&t);
    teardown_end(&t);
}

/* 100 times less often: 17 mA a hundredth of the time, and 3 % lost a year: 1.9 years of use alone, 1.75 with the shelf. */
static void a_mode_that_lasts_a_hundredth_of_the_time(void **state) {
    (void)state;
    Teardown t = followed(TWO_CELLS "part R1 150 1%\njoin VBAT SW1.1\njoin SW1.2 R1.1\njoin R1.2 GND\npart SW1 button\n"
                                    "mode idle\nmode lit\npress SW1 in lit\nduty lit 6 s per 10 min\n");
    const ReasonClaim *life = claim_with_id(&t, "battery-life:BT1");
    assert_within(value_in(life, "life").value / (365.25 * 86400), 1.5, 2.0);
    assert_within(value_in(life, "lost-on-the-shelf").value, 0.03, 0.08);
    bool idle = false;
    for (uint32_t i = 0; i < life->because_count; i++)
        idle |= text_find(life->because[i].says, TEXT("idle is taken to last the rest")) != SIZE_MAX;
    assert_true(idle);
    teardown_end(&t);
}

static void without_a_duty_the_question_is_asked(void **state) {
    (void)state;
    Teardown t = followed(TWO_CELLS "part R1 150 1%\njoin VBAT R1.1\njoin R1.2 GND\nmode idle\nmode lit\n");
    bool asked = false;
    assert_false(told(&t, "battery-life:BT1"));
    for (uint32_t i = 0; i < t.reasoning->open.count; i++)
        asked |= text_find(t.reasoning->open.at[i].ask, TEXT("duty lit")) != SIZE_MAX;
    assert_true(asked);
    teardown_end(&t);
}

/* ATMEGA8 works from 2.7 V (data sheet, from memory): 1.35 V a cell, which alkaline cells have with some 65 % left. */
static void a_chip_without_a_regulator_stops_first(void **state) {
    (void)state;
    Teardown t = followed(TWO_CELLS "part U1 \"by name\" DIP-28 marked \"ATMEGA8\"\nnet VBAT U1.VCC\nnet GND U1.GND\npart "
                                    "R1 10k\njoin VBAT R1.1\njoin R1.2 GND\n");
    const ReasonClaim *stops = claim_with_id(&t, "stops-first:BT1");
    assert_within(value_in(stops, "charge-left").value, 0.5, 0.75);
    says(stops->says, "U1 has only");
    const ReasonClaim *life = claim_with_id(&t, "battery-life:BT1");
    says(life->says, "It ends when U1 has only");
    teardown_end(&t);
}

/* The same chip as a figure: fresh alkaline cells give it 3.2 V, half a volt more than it needs. 100 uF hold it: at 3.2 V
 * the chip and the 100 ohm draw some 32 mA and more, and 0.5 V less is C U / I = 1.6 ms or sooner. */
static void how_far_a_chip_is_from_too_little(void **state) {
    (void)state;
    Teardown t = followed(TWO_CELLS "part U1 \"by name\" DIP-28 marked \"ATMEGA8\"\nnet VBAT U1.VCC\nnet GND U1.GND\npart "
                                    "R1 100\njoin VBAT R1.1\njoin R1.2 GND\n"
                                    "part C1 electrolytic 100uF 16V\njoin C1.+ VBAT\njoin C1.- GND\n");
    const ReasonClaim *margin = claim_with_id(&t, "brown-out:U1");
    assert_near(value_in(margin, "needs").value, 2.7);
    assert_within(value_in(margin, "has-fresh").value, 3.0, 3.25);
    assert_within(value_in(margin, "margin").value, 0.3, 0.55);
    assert_within(value_in(margin, "charge-left").value, 0.5, 0.8);
    const ReasonClaim *holds = claim_with_id(&t, "hold-up:U1");
    assert_within(value_in(holds, "hold-up").value, 1.3e-3, 1.9e-3);
    assert_tallies(&t);
    teardown_end(&t);
}

/* A motor that starts takes the cells down: the margin is that of the dip. */
static void the_margin_while_a_motor_starts(void **state) {
    (void)state;
    Teardown t = followed(TWO_CELLS "part U1 \"by name\" DIP-28 marked \"ATMEGA8\"\nnet VBAT U1.VCC\nnet GND U1.GND\npart "
                                    "M1 motor\nread r(M1) = 4 ohm\njoin VBAT M1.1\njoin M1.2 GND\n");
    const ReasonClaim *margin = claim_with_id(&t, "brown-out:U1");
    says(margin->says, "while a motor starts");
    assert_true(value_in(margin, "has-fresh").value < 3.1);
    teardown_end(&t);
}

/* A rechargeable cell behind 10 ohm on 5 V: some 0.1 A flow in. An alkaline one must not. */
static void what_flows_into_cells_charges_them(void **state) {
    (void)state;
    Teardown t = followed("rated 5 V\npart J1 dc-jack\npart BT1 battery 3 x LR6\npart R1 10\nnet GND J1.- BT1.-\njoin J1.+ "
                          "R1.1\njoin R1.2 BT1.+\npress J1\n");
    warns(claim_with_id(&t, "charging:BT1"), "not made to be charged");
    teardown_end(&t);
}

/* ---- parts ---- */

/* 9 V across 100 ohm: 0.81 W, six times what 0805 bears at 70 degC (IEC 60115-8, from memory). */
static void a_resistor_far_above_its_size(void **state) {
    (void)state;
    Teardown t = followed("rated 9 V\npart J1 dc-jack\npart R1 0805 100 1%\npart R2 0805 10k\nnet GND J1.-\njoin J1.+ R1.1 "
                          "R2.1\njoin R1.2 R2.2 GND\n");
    const ReasonClaim *heat = claim_with_id(&t, "heat:R1");
    assert_within(value_in(heat, "power").value, 0.79, 0.83);
    assert_within(value_in(heat, "share-of-rating").value, 6.2, 6.8);
    warns(heat, "more than it is rated for");
    assert_int_equal(heat->caution_count, 1);
    assert_false(told(&t, "heat:R2")); /* 8 mW */
    assert_tallies(&t);
    teardown_end(&t);
}

/* 5 V, 150 ohm, a red LED at about 2 V: 20 mA. */
static void an_led_on_its_resistor(void **state) {
    (void)state;
    Teardown t = followed(
        "rated 5 V\npart J1 dc-jack\npart R1 150 1%\npart D1 led-red\nnet GND J1.- D1.K\njoin J1.+ R1.1\njoin R1.2 D1.A\n");
    const ReasonClaim *led = claim_with_id(&t, "led-current:D1");
    assert_within(value_in(led, "current").value, 18e-3, 22e-3);
    assert_within(value_in(led, "forward-voltage").value, 1.7, 2.3);
    assert_true(text_is(led->block, "light"));
    teardown_end(&t);
}

/* Base through 1 kohm on 5 V: 4.3 mA. A load of 100 ohm takes 50 mA: forced gain 11.5, well saturated at a gain from 100.
 * With 100 kohm it is 1150: not saturated. */
static void a_switch_saturates_or_not(void **state) {
    (void)state;
    static const char notes[] =
        "rated 5 V\npart J1 dc-jack\npart Q1 npn TO-92 marked \"2N3904\"\npart R2 100 1%%\npart R1 %s\n"
        "net GND J1.- Q1.E\njoin J1.+ R1.1 R2.1\njoin R1.2 Q1.B\njoin R2.2 Q1.C\n";
    char line[400];
    snprintf(line, sizeof line, notes, "1k");
    Teardown t = followed(line);
    const ReasonClaim *well = claim_with_id(&t, "saturation:Q1");
    assert_within(value_in(well, "forced-gain").value, 10.5, 12.5);
    says(well->says, "well saturated");
    assert_int_equal(well->warning_count, 0);
    teardown_end(&t);
    snprintf(line, sizeof line, notes, "100k");
    t = followed(line);
    const ReasonClaim *not = claim_with_id(&t, "saturation:Q1");
    assert_within(value_in(not, "forced-gain").value, 100, 320); /* now it is the current gain that shows: 100 to 300 */
    warns(not, "more base current");
    teardown_end(&t);
}

/* 25 V on a capacitor for 16 V; one that stands the wrong way round. */
static void capacitors_beyond_their_volts(void **state) {
    (void)state;
    Teardown t =
        followed("rated 25 V\npart J1 dc-jack\npart C1 electrolytic 100uF 16V\npart C2 electrolytic 100uF 50V\npart R1 1k\n"
                 "net GND J1.- C1.- C2.+ R1.2\njoin J1.+ C1.+ C2.- R1.1\n");
    warns(claim_with_id(&t, "rating:C1"), "overloaded");
    warns(claim_with_id(&t, "reversed:C2"), "wrong way round");
    assert_within(value_in(claim_with_id(&t, "stored-energy:C1"), "energy").value, 0.0312,
                  0.0313); /* 100 uF at 25 V: 31.25 mJ */
    teardown_end(&t);
}

/* 100 uF at 325 V hold 5.3 J. */
static void a_charged_capacitor_that_hurts(void **state) {
    (void)state;
    Teardown t = followed("rated 325 V\npart J1 dc-jack\npart C1 electrolytic 100uF 400V\npart R1 1M\nnet GND J1.- C1.- "
                          "R1.2\njoin J1.+ C1.+ R1.1\n");
    const ReasonClaim *stored = claim_with_id(&t, "stored-energy:C1");
    assert_within(value_in(stored, "energy").value, 5.2, 5.4);
    warns(stored, "can hurt");
    assert_int_equal(stored->caution_count, 1);
    says(stored->cautions[0], "licensed practice");
    teardown_end(&t);
}

/* 100 mW in a loudspeaker of 76 to 88 dB (1 W, 1 m): 72 to 84 dB at 50 cm. */
static void a_toy_that_sounds_says_what_hearing_bears(void **state) {
    (void)state;
    Teardown t = followed("product \"Talking bear (invented)\" toy\nrated 1 V\npart J1 dc-jack\npart LS1 speaker 8 "
                          "ohm\nread r(LS1) = 7.5 ohm\npart R1 0.2 1%\nnet GND J1.- LS1.2\n"
                          "join J1.+ R1.1\njoin R1.2 LS1.1\n");
    const ReasonClaim *sound = claim_with_id(&t, "loudness:LS1");
    double watts = value_in(sound, "power").value;
    assert_within(watts, 0.12, 0.14); /* 1 V over 7.7 ohm */
    assert_within(value_in(sound, "level-at-50-cm").low, 72.5, 73.5);
    assert_within(value_in(sound, "level-at-50-cm").high, 84.5, 85.8);
    assert_int_equal(sound->caution_count, 1);
    says(sound->cautions[0], "EN 71-1");
    teardown_end(&t);
}

#define CHIP5 "rated 5 V\npart J1 dc-jack\npart U1 SOP-8\nnet GND J1.- U1.4\nnet VCC J1.+ U1.8\n"

/* A loudspeaker behind a capacitor: at rest nothing flows; switched at 1 kHz between 0 and 5 V it has +-2.5 V over 100 + 8
 * ohm and the pin's some 30, 18 mA by mean square, 2.5 mW in its 8 ohm. */
static void a_loudspeaker_behind_a_capacitor(void **state) {
    (void)state;
    Teardown t = followed(CHIP5 "part C1 electrolytic 220uF 16V\npart R1 100 1%\npart LS1 speaker 8 ohm\nread r(LS1) = 8 "
                                "ohm\njoin U1.5 R1.1\njoin R1.2 C1.+\n"
                                "join C1.- LS1.1\njoin LS1.2 GND\nmode singing\ndrive U1.5 1 kHz 50% in singing\n");
    const ReasonClaim *sound = claim_with_id(&t, "loudness:LS1"), *time = claim_with_id(&t, "through-time:U1.5-in-singing");
    assert_within(value_in(sound, "power").value, 1.8e-3, 3.2e-3);
    assert_within(value_in(time, "frequency").value, 999, 1001);
    assert_within(fabs(value_in(time, "peak-of-LS1").value), 15e-3, 23e-3);
    assert_within(fabs(value_in(time, "current-of-LS1").value), 0, 1e-3);
    assert_tallies(&t);
    teardown_end(&t);
}

/* A pin at a fifth of its time high feeds a coil of 10 mH and 10 ohm through a transistor's place, a diode across it: at 20
 * kHz the coil carries nearly steadily what its mean volts drive, about a fifth of 5 V over 10 ohm and the transistor, 0.1
 * A less what the diode's drop takes; states at rest would have it 0.5 A a fifth of the time. */
static void a_coil_keeps_its_current(void **state) {
    (void)state;
    Teardown t = followed(CHIP5 "part Q1 nmos\npart L1 10mH\nread r(L1) = 10 ohm\npart D1 diode\npart R1 100\njoin U1.5 "
                                "R1.1\njoin R1.2 Q1.G\njoin Q1.S GND\n"
                                "join VCC L1.1 D1.K\njoin L1.2 D1.A Q1.D\nmode slow\ndrive U1.5 20 kHz 20% in slow\n");
    const ReasonClaim *time = claim_with_id(&t, "through-time:U1.5-in-slow");
    assert_within(value_in(time, "current-of-J1").value, 2e-3,
                  30e-3); /* a fifth of what the coil has, where at rest it is a fifth of 0.5 A */
    says(time->says, "if nothing stored");
    teardown_end(&t);
}

static void gears_and_memories_need_no_circuit(void **state) {
    (void)state;
    Teardown t = followed("part M1 motor\ngear M1 12:60 10:48\npart U3 flash\nmemory U3 8 Mbit at 8 kHz 8 bit\npart U4 "
                          "flash\nmemory U4 8 Mbit\n");
    assert_near(value_in(claim_with_id(&t, "gear-speed:M1"), "ratio").value, 1 / 24.0);
    assert_near(value_in(claim_with_id(&t, "recording:U3"), "time").value, 131.072);
    assert_near(value_in(claim_with_id(&t, "recording:U4"), "4 bit ADPCM").value, 262.144); /* 8 kHz: 32 kbit/s */
    teardown_end(&t);
}

/* The motor on 3 V turns as fast as its back-EMF and friction let it; the train divides that by 24. */
static void a_motor_turns_its_train(void **state) {
    (void)state;
    Teardown t = followed("rated 3 V\npart J1 dc-jack\npart M1 motor\nread r(M1) = 4.2 ohm\nnet GND J1.- M1.2\njoin J1.+ "
                          "M1.1\ngear M1 12:60 10:48\n");
    const ReasonClaim *gear = claim_with_id(&t, "gear-speed:M1");
    assert_true(fabs(value_in(gear, "motor-speed").value / value_in(gear, "last-wheel").value - 24) < 1e-9);
    assert_within(value_in(gear, "motor-speed").value, 10, 120); /* a few thousand turns a minute */
    teardown_end(&t);
}

/* Whatever the notes say, no figure is infinite or no number. */
static void extreme_values_have_finite_answers(void **state) {
    (void)state;
    static const char *const notes[] = {
        "rated 1e30 V\npart J1 dc-jack\npart R1 0805 1e-15 ohm\npart D1 led-red\nnet GND J1.- D1.K\njoin J1.+ R1.1\njoin "
        "R1.2 D1.A\n",
        "part BT1 18650 1e-9 mAh\npart R1 1e12 ohm\nnet GND BT1.- R1.2\njoin BT1.+ R1.1\n",
        "part BT1 18650 1e15 Ah\npart R1 1e-6 ohm\nnet GND BT1.- R1.2\njoin BT1.+ R1.1\n",
        "part BT1 battery 1000 x CR2032\npart M1 motor\nread r(M1) = 1e-9 ohm\nnet GND BT1.- M1.2\njoin BT1.+ M1.1\ngear "
        "M1 1000000:0.001 1000000:0.001\n",
        "part BT1 battery 4 x LR03\npart C1 electrolytic 1e9 F 1e-3V\npart LS1 speaker 1e-9 ohm\nnet GND BT1.- C1.+ "
        "LS1.1\njoin BT1.+ C1.- LS1.2\n",
        "mode a\nmode b\npart BT1 battery 4 x LR03\npart R1 1k\nnet GND BT1.- R1.2\njoin BT1.+ R1.1\nduty a 1e-15 s per "
        "1e21 s\nduty b 0%\n",
        "memory U1 1e21 bit at 1e-15 Hz 1e21 bit\nmemory U2 1 bit at 1e21 bit/s\nmemory U3 1e21 bit\n",
    };
    for (size_t i = 0; i < sizeof notes / sizeof notes[0]; i++) {
        Teardown t = followed_to(notes[i], false);
        assert_tallies(&t);
        for (uint32_t k = 0; k < t.reasoning->claims.count; k++) {
            Text says = t.reasoning->claims.at[k].says;
            assert_true(text_find(says, TEXT("nan")) == SIZE_MAX && text_find(says, TEXT(" inf")) == SIZE_MAX);
        }
        teardown_end(&t);
    }
}

/* A board of thousands of parts has its heat told, and nothing that would take seconds. */
static void a_board_of_thousands_of_parts_is_followed(void **state) {
    (void)state;
    Out notes = out_new(arena_new());
    out_lit(&notes, "part BT1 battery 4 x LR03\nnet GND BT1.-\nnet VBAT BT1.+\n");
    for (unsigned i = 1; i <= 4000; i++) out_fmt(&notes, "part R%u 0805 22\nnet VBAT R%u.1\nnet GND R%u.2\n", i, i, i);
    Teardown t = followed(text_cstring(notes.arena, out_text(&notes)));
    uint32_t sums = 0;
    for (uint32_t i = 0; i < t.reasoning->claims.count; i++) sums += t.reasoning->claims.at[i].sort == REASON_SUM;
    assert_true(sums <= 2000 + 10);
    teardown_end(&t);
    arena_free(notes.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_resistor_on_two_cells_lasts_a_week),
        cmocka_unit_test(a_mode_that_lasts_a_hundredth_of_the_time),
        cmocka_unit_test(without_a_duty_the_question_is_asked),
        cmocka_unit_test(a_chip_without_a_regulator_stops_first),
        cmocka_unit_test(how_far_a_chip_is_from_too_little),
        cmocka_unit_test(the_margin_while_a_motor_starts),
        cmocka_unit_test(what_flows_into_cells_charges_them),
        cmocka_unit_test(a_resistor_far_above_its_size),
        cmocka_unit_test(an_led_on_its_resistor),
        cmocka_unit_test(a_switch_saturates_or_not),
        cmocka_unit_test(capacitors_beyond_their_volts),
        cmocka_unit_test(a_charged_capacitor_that_hurts),
        cmocka_unit_test(a_toy_that_sounds_says_what_hearing_bears),
        cmocka_unit_test(a_loudspeaker_behind_a_capacitor),
        cmocka_unit_test(a_coil_keeps_its_current),
        cmocka_unit_test(gears_and_memories_need_no_circuit),
        cmocka_unit_test(a_motor_turns_its_train),
        cmocka_unit_test(extreme_values_have_finite_answers),
        cmocka_unit_test(a_board_of_thousands_of_parts_is_followed),
    };
    return cmocka_run_group_tests_name("what follows from a teardown", tests, NULL, NULL);
}
