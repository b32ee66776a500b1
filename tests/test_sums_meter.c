/* Sums beside the meter: one mistake is planted in each circuit, and the tool must find it, or say that it can't tell two
 * apart. The readings are those of the right circuit, computed by hand beside each, rounded as a meter shows them. */
#include "tests/sums_fixture.h"

#define SUPPLY5 "part J1 source 5 V\nnet GND J1.-\nnet VCC J1.+\n"

static const SumsExplanation *first_of(const Summed *s, const char *words) {
    if (s->sums->explanations.count == 0) fail_msg("nothing was explained; %u readings differ", s->sums->differ);
    const SumsExplanation *first = &s->sums->explanations.at[0];
    if (text_find(first->says, text_of(words)) == SIZE_MAX)
        fail_msg("the first explanation is \"%.*s\", expected \"%s\"", TEXT_ARG(first->says), words);
    assert_true(first->p > 0 && first->p < 1);
    assert_true(s->sums->p_other > 0);
    return first;
}

static void all_is_well(void **state) {
    (void)state;
    Summed s =
        summed_of(SUPPLY5 "part R1 10k\npart R2 10k\njoin R1.1 VCC\njoin R1.2 R2.1\njoin R2.2 GND\n"
                          "read v(R2.1) = 2.49 V by meter\nread v(VCC) = 5.01 V by meter\nread i(J1) = 251 uA by meter\n");
    assert_int_equal(s.sums->differ, 0);
    assert_int_equal(s.sums->explanations.count, 0);
    for (uint32_t i = 0; i < s.sums->compared.count; i++) assert_int_equal(s.sums->compared.at[i].verdict, SUMS_AGREES);
    summed_end(&s);
}

/* R2 is 1k and was noted as 10k: 5 x 1/11 = 0.455 V, 5/11k = 455 uA; the middle of R3 and R4 is as it should be. */
static void a_misread_band(void **state) {
    (void)state;
    Summed s = summed_of(SUPPLY5 "part R1 10k\npart R2 10k\npart R3 4k7\npart R4 4k7\njoin R1.1 R3.1 VCC\njoin R1.2 "
                                 "R2.1\njoin R2.2 R4.2 GND\njoin R3.2 R4.1\n"
                                 "read v(R2.1) = 0.455 V by meter\nread v(R4.1) = 2.50 V by meter\nread i(R1) = 455 uA by "
                                 "meter\nread i(J1) = 0.987 mA by meter\n");
    assert_true(s.sums->differ > 0);
    first_of(&s, "R2 is 1.00 kΩ, not 10");
    summed_end(&s);
}

/* R2's third band is orange, which by lamplight was taken for red: 10k, not 1k. 5 x 10/11 = 4.545 V and 455 uA. */
static void a_misread_colour(void **state) {
    (void)state;
    Summed s = summed_of(
        SUPPLY5
        "part R1 1k ±1%\npart R2 resistor marked \"brown black red gold\"\njoin R1.1 VCC\njoin R1.2 R2.1\njoin R2.2 GND\n"
        "read v(R2.1) = 4.54 V by meter\nread i(R1) = 455 uA by meter\n");
    first_of(&s, "R2 is 10.0 kΩ, not 1.00 kΩ: its third band is orange, not red");
    summed_end(&s);
}

/* A chip resistor of 820 ohm, marked 821, read as 321: 5 x 820/1820 = 2.253 V; 320 ohm would give 1.212 V. */
static void a_misread_digit(void **state) {
    (void)state;
    Summed s =
        summed_of(SUPPLY5 "part R1 1k ±1%\npart R2 0805 marked \"321\"\njoin R1.1 VCC\njoin R1.2 R2.1\njoin R2.2 GND\n"
                          "read v(R2.1) = 2.25 V by meter\nread i(R1) = 2.75 mA by meter\n");
    first_of(&s, "R2 is 820 Ω, not 320 Ω: it is marked 821, not 321");
    summed_end(&s);
}

/* R2's joint to ground is broken: no current, the middle of the divider at the supply. The meter, 10 Mohm, makes it 5 V
 * less a thousandth. */
static void a_missed_joint(void **state) {
    (void)state;
    Summed s =
        summed_of(SUPPLY5 "part R1 10k\npart R2 10k\njoin R1.1 VCC\njoin R1.2 R2.1\njoin R2.2 GND\n"
                          "read v(R2.1) = 4.99 V by meter\nread i(R1) = 0 uA by meter\nread v(VCC) = 5.00 V by meter\n");
    first_of(&s, "R2 is open, or one of its joints");
    summed_end(&s);
}

/* Q1 is a pnp, emitter at the supply, taken as an npn: its base is pulled to ground by 10k, so it conducts, (5 V - 0.2 V) /
 * 1k at the load; base at 4.3 V. As an npn it would only pass current backwards. */
static void a_swapped_polarity(void **state) {
    (void)state;
    Summed s = summed_of(
        SUPPLY5 "part Q1 npn\npart R1 10k\npart R2 1k\njoin Q1.E VCC\njoin Q1.B R1.1\njoin R1.2 R2.2 GND\njoin Q1.C R2.1\n"
                "read v(R2.1) = 4.93 V by meter\nread v(Q1.B) = 4.29 V by meter\nread i(R2) = 4.93 mA by meter\n");
    first_of(&s, "Q1 is a pnp, not a npn");
    summed_end(&s);
}

/* A transistor in SOT-23 whose base and emitter are the other way round than taken: what was noted as its emitter, at
 * ground, is its base, and what was noted as its base, on 1k from the supply, its emitter: it never conducts but backwards,
 * where the junction breaks down or carries nothing: the load stays at the supply. */
static void a_transistor_pinned_the_other_way(void **state) {
    (void)state;
    Summed s =
        summed_of(SUPPLY5 "part Q1 SOT-23 npn\npart R1 10k\npart R2 1k\npart R3 100k\njoin R1.1 R2.1 VCC\njoin R1.2 Q1.B "
                          "R3.1\njoin Q1.E R3.2 GND\njoin Q1.C R2.2\n"
                          "read v(Q1.C) = 5.00 V by meter\nread v(Q1.B) = 4.54 V by meter\nread i(R2) = 0 uA by meter\n");
    bool told = false;
    for (uint32_t i = 0; i < s.sums->explanations.count; i++)
        told |= text_find(s.sums->explanations.at[i].says, TEXT("types for SOT-23 are made with these two either way")) !=
                SIZE_MAX;
    assert_true(told);
    summed_end(&s);
}

/* Cells at 1.0 V each feed a divider: 4.0 V at the battery, 2.0 V in its middle. */
static void flat_cells(void **state) {
    (void)state;
    Summed s = summed_of("part BT1 battery 4 x LR6\nnet GND BT1.-\nnet VCC BT1.+\npart R1 10k\npart R2 10k\njoin R1.1 "
                         "VCC\njoin R1.2 R2.1\njoin R2.2 GND\n"
                         "mode used\nread v(VCC) = 3.41 V in used by meter\nread v(R2.1) = 1.70 V in used by meter\n");
    first_of(&s, "BT1 was nearly flat");
    summed_end(&s);
}

/* The middle of the divider, 2.5 V, noted ten times too small. */
static void a_decimal_point(void **state) {
    (void)state;
    Summed s = summed_of(SUPPLY5
                         "part R1 10k\npart R2 10k\njoin R1.1 VCC\njoin R1.2 R2.1\njoin R2.2 GND\n"
                         "read v(R2.1) = 2.50 V by meter\nread i(R1) = 25.0 uA by meter\nread i(J1) = 0.250 mA by meter\n");
    const SumsExplanation *first = first_of(&s, "misread by a factor of 10");
    assert_int_equal(first->line_count, 1);
    assert_true(first->p > 0.5);
    summed_end(&s);
}

/* One voltage alone, 0.455 V at a divider of two 10k: R2 may be 1k, or R1 100k. Both are named, neither is sure, and a
 * measurement is asked for that tells. */
static void two_that_can_not_be_told_apart(void **state) {
    (void)state;
    Summed s = summed_of(
        SUPPLY5
        "part R1 10k\npart R2 10k\njoin R1.1 VCC\njoin R1.2 R2.1\njoin R2.2 GND\nread v(R2.1) = 0.455 V by meter\n");
    bool one = false, other = false;
    for (uint32_t i = 0; i < s.sums->explanations.count; i++) {
        const SumsExplanation *explanation = &s.sums->explanations.at[i];
        one = one || text_find(explanation->says, TEXT("R2 is 1.00 kΩ")) != SIZE_MAX;
        other = other || text_find(explanation->says, TEXT("R1 is 100 kΩ")) != SIZE_MAX;
        assert_true(explanation->p < 0.7);
    }
    assert_true(one && other);
    assert_true(s.sums->best_reading.len > 0);
    bool asked = false;
    for (uint32_t i = 0; i < s.t.reasoning->open.count; i++)
        asked = asked || text_same(s.t.reasoning->open.at[i].ask, s.sums->best_reading);
    assert_true(asked);
    summed_end(&s);
}

/* A reading that nothing else tells is taken, not judged: the current of a motor at work. */
static void a_reading_alone(void **state) {
    (void)state;
    Summed s = summed_of("part J1 source 6 V\npart M1 motor\nnet GND J1.- M1.2\nnet VCC J1.+ M1.1\nread r(M1) = 4.0 ohm by "
                         "meter\nread i(M1) = 0.300 A by meter\n");
    assert_int_equal(s.sums->differ, 0);
    assert_int_equal(s.sums->compared.at[0].verdict, SUMS_ALONE);
    assert_share(amperes_of(&s, "", "M1")->typical, 0.3, 0.02); /* and what follows, follows from it */
    assert_within(amperes_of(&s, "", "M1"), 0.27, 0.33);
    assert_share(volts_of(&s, "", "VCC")->typical, 6, 1e-6);
    summed_end(&s);
}

/* Where mains is near, the question says so. */
static void the_question_warns_of_mains(void **state) {
    (void)state;
    Summed s = summed_of(
        "part J9 mains-inlet\npart R9 1 Mohm\njoin J9.L R9.1\njoin J9.N R9.2\n" SUPPLY5
        "part R1 10k\npart R2 10k\njoin R1.1 VCC\njoin R1.2 R2.1\njoin R2.2 GND\nread v(R2.1) = 0.455 V by meter\n");
    assert_true(text_find(s.sums->best_reading, TEXT("local codes and licensed practice")) != SIZE_MAX);
    summed_end(&s);
}

/* Claims rest on lines, and their decibans add up. */
static void claims_have_their_evidence(void **state) {
    (void)state;
    Summed s = summed_of(SUPPLY5 "part R1 10k\npart R2 10k\njoin R1.1 VCC\njoin R1.2 R2.1\njoin R2.2 GND\nmode lit\nread "
                                 "v(R2.1) = 0.455 V in lit by meter\n");
    static const char *const ids[] = {"sum:lit", "differs:v(R2.1)-in-lit", "explains:1"};
    for (size_t i = 0; i < sizeof ids / sizeof *ids; i++) {
        const ReasonClaim *claim = claim_with_id(&s.t, ids[i]);
        double sum = 0;
        assert_int_equal(claim->sort, REASON_SUM);
        for (uint32_t k = 0; k < claim->because_count; k++) sum += claim->because[k].decibans;
        assert_true(fabs(sum - claim->decibans) < 1e-9);
        assert_true(claim->because_count > 0 && claim->because[0].line_count > 0);
        assert_true(claim->p > 0 && claim->p < 1);
    }
    summed_end(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(all_is_well),
                                       cmocka_unit_test(a_misread_band),
                                       cmocka_unit_test(a_misread_colour),
                                       cmocka_unit_test(a_misread_digit),
                                       cmocka_unit_test(a_missed_joint),
                                       cmocka_unit_test(a_swapped_polarity),
                                       cmocka_unit_test(a_transistor_pinned_the_other_way),
                                       cmocka_unit_test(flat_cells),
                                       cmocka_unit_test(a_decimal_point),
                                       cmocka_unit_test(two_that_can_not_be_told_apart),
                                       cmocka_unit_test(a_reading_alone),
                                       cmocka_unit_test(the_question_warns_of_mains),
                                       cmocka_unit_test(claims_have_their_evidence)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
