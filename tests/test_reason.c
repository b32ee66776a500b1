/* reason: the language of rules, the matcher, evidence. Rules and circuits here are made for the test; the built-in ones are
 * held against published circuits in test_circuits.c. */
#include "tests/teardown.h"

#include "base/file.h"

static const char SWITCH_RULE[] = "idiom \"switch to ground\"\n"
                                  "  block output\n"
                                  "  needs Q npn\n"
                                  "  needs RB resistor\n"
                                  "  maybe D diode\n"
                                  "  joined RB.2 Q.B\n"
                                  "  joined Q.E ground\n"
                                  "  joined D.A Q.C\n"
                                  "  apart RB.1 ground supply\n"
                                  "  gives base-current = (v(supply) - vbe(Q)) / RB \"Ohm's law\"\n"
                                  "  says \"{Q} switches; {RB} lets {base-current} in.\"\n"
                                  "  says \"{Q} switches.\"\n"
                                  "  warns if not present D : \"no diode\"\n"
                                  "  speaks +6 dB if RB < 1 kohm : \"low (rule of thumb)\"\n"
                                  "  prior 80%\n";

static const char SWITCH_NOTES[] = "part BT1 battery 6 V\n"
                                   "part Q1 SOT-23 npn by meter\n"
                                   "part R1 0805 100 ohm ±5% by meter\n"
                                   "part U1 SOP-8\n"
                                   "part M1 motor\n"
                                   "join BT1.+ M1.1 U1.1 by meter\n"
                                   "join BT1.- Q1.E U1.8 by meter\n"
                                   "join U1.5 R1.1 by meter\n"
                                   "join R1.2 Q1.B by meter\n"
                                   "join M1.2 Q1.C by meter\n";

/* Horowitz & Hill, The Art of Electronics, 3rd ed., 2.2.1 (from memory): I_B = (V - V_BE) / R_B. */
static void a_rule_finds_says_and_derives(void **state) {
    (void)state;
    Teardown t = teardown_of(SWITCH_NOTES, SWITCH_RULE);
    assert_int_equal(t.lore->problems.list.count, 0);
    const ReasonClaim *claim = claim_with_id(&t, "switch-to-ground:Q1");
    Quantity current = value_in(claim, "base-current");
    assert_near(current.value, (6 - 0.675) / 100);
    assert_near(current.low, (6 - 0.75) / 105);
    assert_near(current.high, (6 - 0.6) / 95);
    assert_true(text_is(claim->says, "Q1 switches; R1 lets 53 mA in."));
    assert_int_equal(claim->warning_count, 1);
    teardown_end(&t);
}

static void a_tally_adds_up(void **state) {
    (void)state;
    Teardown t = teardown_of(SWITCH_NOTES, SWITCH_RULE);
    const ReasonClaim *claim = claim_with_id(&t, "switch-to-ground:Q1");
    double sum = 0;
    for (uint32_t i = 0; i < claim->because_count; i++) sum += claim->because[i].decibans;
    assert_true(fabs(sum - claim->decibans) < 1e-9);
    assert_near(claim->p, probability_of_decibans(claim->decibans));
    /* 80 % and +6 dB, times a meter's trust of 25 dB */
    double rule = probability_of_decibans(decibans_of_probability(0.8) + 6);
    assert_true(fabs(claim->p - rule * probability_of_decibans(25)) < 1e-9);
    teardown_end(&t);
}

static void a_maybe_part_is_taken_along(void **state) {
    (void)state;
    Teardown t = teardown_of("part Q1 npn\npart R1 1k\npart D1 diode\njoin R1.2 Q1.B\njoin Q1.E GND\njoin D1.A Q1.C\njoin R1.1 U1.3\n", SWITCH_RULE);
    const ReasonClaim *claim = claim_with_id(&t, "switch-to-ground:Q1");
    assert_int_equal(claim->warning_count, 0);
    assert_int_equal(claim->own_count, 3);
    assert_true(text_is(claim->says, "Q1 switches.")); /* no supply is known, so no current */
    teardown_end(&t);
}

static void apart_from_a_rail_means_on_none(void **state) {
    (void)state;
    Teardown t = teardown_of("part Q1 npn\npart R1 1k\njoin R1.2 Q1.B\njoin Q1.E GND\njoin R1.1 VCC\nnet VBAT Q1.C\n", SWITCH_RULE);
    assert_null(reason_claim(t.reasoning, TEXT("switch-to-ground:Q1")));
    teardown_end(&t);
}

static void the_order_of_notes_tells_nothing(void **state) {
    (void)state;
    Teardown straight = teardown_of(SWITCH_NOTES, SWITCH_RULE);
    Out reversed = out_new(straight.arena);
    Text rest = text_of(SWITCH_NOTES);
    for (size_t end = rest.len - 1, at = end; at-- > 0;)
        if (at == 0 || rest.at[at - 1] == '\n') out_add(&reversed, text_sub(rest, at, end - at)), out_char(&reversed, '\n'), end = at - (at > 0);
    out_char(&reversed, '\0');
    Teardown back = teardown_of(reversed.at, SWITCH_RULE);
    assert_int_equal(straight.reasoning->claims.count, back.reasoning->claims.count);
    assert_near(claim_with_id(&straight, "switch-to-ground:Q1")->p, claim_with_id(&back, "switch-to-ground:Q1")->p);
    teardown_end(&back);
    teardown_end(&straight);
}

static const char GROUP_RULES[] = "idiom \"lamps on a line\"\n"
                                  "  block light\n"
                                  "  needs R resistor\n"
                                  "  every D led at least 2\n"
                                  "  joined R.2 D.A\n"
                                  "  joined D.K ground\n"
                                  "  says \"{D} ({D count}) share {R}.\"\n"
                                  "  over \"one lamp\"\n"
                                  "idiom \"one lamp\"\n"
                                  "  block light\n"
                                  "  needs R resistor\n"
                                  "  needs D led\n"
                                  "  joined R.2 D.A\n"
                                  "  joined D.K ground\n"
                                  "  says \"{D} through {R}.\"\n"
                                  "idiom \"bare lamp\"\n"
                                  "  block light\n"
                                  "  needs D led\n"
                                  "  no R resistor\n"
                                  "  joined R.1 D.A\n"
                                  "  joined D.K ground\n"
                                  "  says \"{D} without a resistor.\"\n";

static void a_group_is_gathered_and_goes_over_single_finds(void **state) {
    (void)state;
    Teardown t = teardown_of("part D1 led\npart D2 led\npart D3 led\npart D4 led\npart R1 100\npart R2 100\n"
                             "join R1.2 D1.A D2.A\njoin D1.K D2.K D3.K D4.K GND\njoin R2.2 D3.A\njoin D4.A U1.1\n",
                             GROUP_RULES);
    assert_int_equal(t.lore->problems.list.count, 0);
    assert_true(text_is(claim_with_id(&t, "lamps-on-a-line:R1")->says, "D1 and D2 (2) share R1."));
    claim_with_id(&t, "one-lamp:R2");
    claim_with_id(&t, "bare-lamp:D4");
    uint32_t idioms = 0;
    for (uint32_t i = 0; i < t.reasoning->claims.count; i++) idioms += t.reasoning->claims.at[i].sort == REASON_IDIOM;
    assert_int_equal(idioms, 3);
    teardown_end(&t);
}

static void a_part_is_not_used_twice(void **state) {
    (void)state;
    const char rule[] = "idiom \"two in a row\"\n  block input\n  needs RA resistor\n  needs RB resistor\n  joined RA.2 RB.1\n"
                        "  apart RA.1 RB.2\n  says \"{RA} and {RB}\"\n";
    Teardown t = teardown_of("part R1 1k\njoin R1.1 R1.2\n", rule);
    assert_int_equal(t.reasoning->claims.count, 0);
    teardown_end(&t);
    t = teardown_of("part R1 1k\npart R2 1k\njoin R1.1 R2.2\njoin R1.2 U1.1\njoin R2.1 U1.2\n", rule);
    assert_int_equal(t.reasoning->claims.count, 1); /* either way round is one find */
    uint64_t fits[1];
    reason_count_fits(t.bench, t.rules, fits);
    assert_int_equal(fits[0], 2);
    teardown_end(&t);
}

static void ways_share_a_name(void **state) {
    (void)state;
    const char rule[] = "idiom \"pull\"\n  block input\n  needs R resistor\n  needs U chip aside\n  joined R.1 U.in\n"
                        "  way \"up\"\n    joined R.2 supply\n    says \"{R} pulls up.\"\n"
                        "  way \"down\"\n    joined R.2 ground\n    says \"{R} pulls down.\"\n";
    Teardown t = teardown_of("part R1 1k\npart R2 1k\npart U1 SOP-8\njoin R1.1 U1.1\njoin R1.2 VCC\njoin R2.1 U1.2\njoin R2.2 GND\n", rule);
    assert_int_equal(t.lore->problems.list.count, 0);
    assert_true(text_is(claim_with_id(&t, "pull:R1")->says, "R1 pulls up."));
    assert_true(text_is(claim_with_id(&t, "pull:R2")->says, "R2 pulls down."));
    teardown_end(&t);
}

static const char CAPABILITY_RULES[] = "capability \"lamp straight on it\"\n  needs U chip\n  needs D led\n  joined D.A U.a\n"
                                       "  concludes U \"limits its own current\"\n  prior 60%\n  role U.a \"lamp drive\"\n  says \"{D}.\"\n"
                                       "capability \"sounder straight on it\"\n  needs U chip\n  needs B piezo\n  joined B.1 U.a\n"
                                       "  concludes U \"limits its own current\"\n  prior 70%\n  says \"{B}.\"\n";

static void the_same_conclusion_adds_up_and_one_source_counts_once(void **state) {
    (void)state;
    Teardown t = teardown_of("part U1 SOP-8 by meter\npart D1 led by meter\npart D2 led by meter\npart BZ1 piezo by meter\n"
                             "join D1.A U1.1 by meter\njoin D2.A U1.2 by meter\njoin BZ1.1 U1.3 by meter\n",
                             CAPABILITY_RULES);
    assert_int_equal(t.lore->problems.list.count, 0);
    const ReasonClaim *claim = claim_with_id(&t, "limits-its-own-current:U1");
    double meter = probability_of_decibans(25);
    double expected = decibans_of_probability(0.6 * meter) + decibans_of_probability(0.7 * meter);
    assert_true(fabs(claim->decibans - expected) < 1e-9);
    assert_int_equal(claim->role_count, 2);
    teardown_end(&t);
}

static void a_weak_joint_caps_and_is_asked_about(void **state) {
    (void)state;
    Teardown t = teardown_of("part Q1 npn by meter\npart R1 1k by meter\njoin R1.2 Q1.B by guess\njoin Q1.E GND by meter\njoin R1.1 U1.3 by meter\n",
                             SWITCH_RULE);
    const ReasonClaim *claim = claim_with_id(&t, "switch-to-ground:Q1");
    assert_true(claim->p < probability_of_decibans(3));
    bool asked = false;
    for (uint32_t i = 0; i < t.reasoning->open.count; i++) asked = asked || text_is(t.reasoning->open.at[i].ask, "Beep R1.2 and Q1.B.");
    assert_true(asked);
    teardown_end(&t);
}

/* ---- what the loader says ---- */

static void problem_at(const char *lore, uint32_t line, uint32_t column, const char *says) {
    Teardown t = teardown_of("", lore);
    if (t.lore->problems.list.count == 0) fail_msg("no problem in: %s", lore);
    const Diag *diag = &t.lore->problems.list.at[0];
    Out out = out_new(t.arena);
    diag_print(&out, diag);
    if (diag->place.line != line || diag->place.column != column || text_find(out_text(&out), text_of(says)) == SIZE_MAX)
        fail_msg("expected %u:%u %s, got %.*s", line, column, says, TEXT_ARG(out_text(&out)));
    teardown_end(&t);
}

static void problems_have_places(void **state) {
    (void)state;
    problem_at("idiom \"x\"\n  block light\n  neds Q npn\n", 3, 3, "did you mean \"needs\"?");
    problem_at("idiom \"x\"\n  block light\n  needs Q npnp\n", 3, 11, "did you mean \"npn\"?");
    problem_at("idiom \"x\"\n  block lihgt\n", 2, 9, "did you mean \"light\"?");
    problem_at("idiom \"x\"\n  block light\n  needs Q npn\n  joined Q.Z ground\n", 4, 10, "a npn has no pin \"Z\"");
    problem_at("idiom \"x\"\n  block light\n  needs Q npn\n  joined R.1 Q.B\n", 4, 10, "\"R.1\" is no pin of this entry");
    problem_at("idiom \"x\"\n  block light\n  needs R resistor\n  gives a = R + 1 V\n", 4, 20, "can't be added");
    problem_at("idiom \"x\"\n  block light\n  needs R resistor\n  gives a = foo(R)\n", 4, 17, "no function and no property");
    problem_at("idiom \"x\"\n  block light\n  needs R resistor\n  says \"{X}\"\n", 4, 13, "nothing that can be said");
    problem_at("idiom \"x\"\n  block light\n  needs R resistor\n  gives a = 2 * R\n  says \"{a}\"\n", 1, 1, "nothing can be said when values are unknown");
    problem_at("idiom \"x\"\n  block light\n  needs A resistor\n  needs B resistor\n  joined A.1 B.1 ground\n  says \"\"\n", 1, 1,
               "touch only through a rail");
    problem_at("idiom \"x\"\n  block light\n  needs R resistor\n  says \"a\"\n  over \"nobody\"\n", 1, 0, "there is no idiom \"nobody\"");
    problem_at("idiom \"xyz\"\n  block light\n  needs R resistor\n  says \"a\"\n  warns if found \"xyy\" R : \"b\"\n", 5, 0, "did you mean \"xyz\"?");
    problem_at("idiom \"x\"\n  block light\n  needs R resistor\n  where R < 1 V\n", 4, 16, "can't be compared");
    problem_at("  needs R resistor\n", 1, 1, "belongs to no entry");
}

static void the_built_in_lore_is_whole(void **state) {
    (void)state;
    Teardown t = teardown_of("", NULL);
    Out out = out_new(t.arena);
    diags_print(&out, &t.lore->problems);
    if (out.len > 0) fail_msg("%.*s", TEXT_ARG(out_text(&out)));
    uint32_t idioms = 0;
    for (uint32_t i = 0; i < reason_rule_count(t.rules); i++) idioms += text_is(reason_rule_sort(t.rules, i), "idiom");
    assert_true(idioms >= 45);
    teardown_end(&t);
}

/* Every ```lore block of doc/lore.md loads. */
static void the_document_is_true(void **state) {
    (void)state;
    Arena *arena = arena_new();
    Text document;
    assert_true(file_read(arena, "doc/lore.md", 1 << 20, &document));
    uint32_t blocks = 0;
    for (size_t open; (open = text_find(document, TEXT("```lore\n"))) != SIZE_MAX; blocks++) {
        document = text_sub(document, open + 8, document.len);
        size_t close = text_find(document, TEXT("```"));
        Text block = text_fmt(arena, "%.*sidiom \"clamp diode across a coil\"\n  block motion\n  needs D diode\n  says \"{D}\"\n",
                              (int)close, document.at);
        Teardown t = teardown_of("", text_cstring(arena, block));
        Out out = out_new(t.arena);
        diags_print(&out, &t.lore->problems);
        if (out.len > 0) fail_msg("%.*s", TEXT_ARG(out_text(&out)));
        assert_int_equal(reason_rule_count(t.rules), 2);
        teardown_end(&t);
        document = text_sub(document, close + 3, document.len);
    }
    assert_int_equal(blocks, 3);
    arena_free(arena);
}

/* A thousand resistors side by side are a million pairs and a thousand million threes: the search must stop and say so. */
static void a_hostile_board_ends_the_search(void **state) {
    (void)state;
    const char rule[] = "idiom \"four beside\"\n  block input\n  needs A resistor\n  needs B resistor\n  needs C resistor\n  needs D resistor\n"
                        "  joined A.1 B.1 C.1 D.1\n  joined A.2 B.2 C.2 D.2\n  says \"{A} {B} {C} {D}\"\n";
    Arena *arena = arena_new();
    Out notes = out_new(arena);
    for (int i = 0; i < 1000; i++) out_fmt(&notes, "join R%d.1 U1.1\njoin R%d.2 U1.2\n", i, i);
    out_char(&notes, '\0');
    Teardown t = teardown_of(notes.at, rule);
    assert_true(t.reasoning->cut > 0);
    assert_true(t.reasoning->claims.count <= REASON_INSTANCES_MOST);
    teardown_end(&t);
    arena_free(arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_rule_finds_says_and_derives),
        cmocka_unit_test(a_tally_adds_up),
        cmocka_unit_test(a_maybe_part_is_taken_along),
        cmocka_unit_test(apart_from_a_rail_means_on_none),
        cmocka_unit_test(the_order_of_notes_tells_nothing),
        cmocka_unit_test(a_group_is_gathered_and_goes_over_single_finds),
        cmocka_unit_test(a_part_is_not_used_twice),
        cmocka_unit_test(ways_share_a_name),
        cmocka_unit_test(the_same_conclusion_adds_up_and_one_source_counts_once),
        cmocka_unit_test(a_weak_joint_caps_and_is_asked_about),
        cmocka_unit_test(problems_have_places),
        cmocka_unit_test(the_built_in_lore_is_whole),
        cmocka_unit_test(the_document_is_true),
        cmocka_unit_test(a_hostile_board_ends_the_search),
    };
    return cmocka_run_group_tests_name("reason", tests, NULL, NULL);
}
