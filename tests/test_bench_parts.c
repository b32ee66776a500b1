/* bench: what a part is, out of its note, its letters and its marking, with the tables of markings and the built-in shelf.
 */
#include "tests/check.h"

#include "bench/bench.h"

#include <stdlib.h>

typedef struct Knowledge {
    Arena *arena;
    BenchKnows knows;
} Knowledge;

static int load(void **state) {
    Knowledge *k = calloc(1, sizeof *k);
    k->arena = arena_new();
    Lore *lore = lore_new(k->arena);
    Diags problems = diags_new(k->arena);
    lore_add_builtin(lore);
    k->knows = (BenchKnows){.kinds = bench_kinds_new(k->arena, lore), .marks = marks_new(k->arena, lore),
                            .shelf = shelf_open(k->arena, lore, NULL, &problems)};
    *state = k;
    return 0;
}

static int unload(void **state) {
    Knowledge *k = *state;
    shelf_close(k->knows.shelf);
    arena_free(k->arena);
    free(k);
    return 0;
}

static Bench *built(void **state, Arena *arena, const char *notes) {
    const Knowledge *k = *state;
    Notebook *book = note_read(arena, TEXT("notes.txt"), text_of(notes));
    assert_int_equal(book->problems.list.count, 0);
    return bench_build(arena, book, k->knows);
}

static const BenchPart *part(const Bench *bench, const char *ref) {
    uint32_t number = bench_part(bench, text_of(ref));
    assert_int_not_equal(number, BENCH_NONE);
    return &bench->parts.at[number];
}

static uint32_t pin(const Bench *bench, const char *ref, const char *label) {
    return bench_pin(bench, bench_part(bench, text_of(ref)), text_of(label));
}

/* IEC 60062, clause 5 (from memory): 103 is 10 kilohm, 104 on a capacitor 100 nF. */
static void a_marking_gives_the_value(void **state) {
    Arena *arena = arena_new();
    Bench *bench = built(state, arena,
                         "part R1 0805 marked \"103\"\npart C1 marked \"104\"\npart R2 0805 4k7 marked \"103\"\npart R3 "
                         "0805 10k marked \"103\"\n");
    assert_near(part(bench, "R1")->value.value, 10e3);
    assert_int_equal(part(bench, "R1")->value_why.lines[0], 1);
    assert_near(part(bench, "C1")->value.value, 100e-9);
    assert_near(part(bench, "R2")->value.value, 4700); /* what is written counts, and the contradiction is shown */
    assert_int_equal(bench->conflicts.count, 1);
    assert_int_equal(bench->conflicts.at[0].kind, BENCH_VALUE_AND_READING);
    assert_int_equal(bench->conflicts.at[0].lines[0], 3);
    arena_free(arena);
}

static void a_package_tells_the_pins(void **state) {
    Arena *arena = arena_new();
    Bench *bench = built(
        state, arena, "part U1 SOP-8\njoin U1.9 R1.1\njoin U1.8 R1.2\npart Q1 SOT23 npn\njoin Q1.3 R2.1\njoin Q1.C R2.2\n");
    assert_int_equal(part(bench, "U1")->pins_has, 8);
    assert_non_null(part(bench, "Q1")->package);
    assert_int_equal(part(bench, "Q1")->pin_count, 1);
    assert_int_equal(bench->conflicts.count, 1);
    assert_true(text_is(bench->conflicts.at[0].id, "no-such-pin:U1.9"));
    arena_free(arena);
}

/* The usual pinning of a dual op-amp in 8 pins: OUT1 1, IN1- 2, IN1+ 3, ground 4 ... VCC 8 (common practice). */
static void a_dual_opamp_is_a_chip_and_two_opamps(void **state) {
    Arena *arena = arena_new();
    Bench *bench =
        built(state, arena, "part U1 SOP-8 marked \"LM358\"\njoin U1.1 U1.2\njoin U1.OUT2 R1.1\njoin U1.7 R1.2\n");
    const BenchPart *u = part(bench, "U1");
    assert_true(text_is(u->shelf->name, "LM358"));
    assert_true(text_is(u->kind->name, "opamp"));
    assert_int_equal(u->unit_count, 3);
    const BenchUnit *whole = &bench->units.at[u->units[0]], *one = &bench->units.at[u->units[1]],
                    *two = &bench->units.at[u->units[2]];
    assert_int_equal(whole->kind->pin_count, 0);
    assert_int_equal(whole->pin_count, 3); /* 1, 2, and 7 by two names */
    assert_true(text_is(one->kind->name, "opamp"));
    int out = bench_kind_pin(bench->kinds, one->kind, TEXT("out")),
        minus = bench_kind_pin(bench->kinds, one->kind, TEXT("in-"));
    assert_int_equal(one->pins[out], pin(bench, "U1", "1"));
    assert_int_equal(one->pins[minus], pin(bench, "U1", "2"));
    assert_int_equal(two->pins[out], pin(bench, "U1", "7"));
    assert_int_equal(two->pins[minus], BENCH_NONE);
    arena_free(arena);
}

static void a_marking_may_name_the_kind(void **state) {
    Arena *arena = arena_new();
    Bench *bench = built(state, arena,
                         "part Q1 SOT-23 marked \"J3Y\"\npart U1 SOP-8 marked \"NE555P\"\njoin Q1.1 R1.1\njoin Q1.B "
                         "R1.2\njoin U1.2 U1.TRIG\n");
    const BenchPart *q = part(bench, "Q1");
    assert_true(text_is(q->kind->name, "npn"));
    assert_true(q->shelf_match.by_code);
    assert_int_equal(q->pin_count, 1);
    assert_true(text_is(part(bench, "U1")->kind->name, "timer"));
    assert_int_equal(part(bench, "U1")->pin_count, 1);
    arena_free(arena);
}

/* Several makers sell a 555: which one it is stays open, that it is a timer does not. */
static void the_kind_may_be_surer_than_the_part(void **state) {
    Arena *arena = arena_new();
    Bench *bench = built(state, arena, "part U1 SOP-8 marked \"555\"\n");
    const BenchPart *u = part(bench, "U1");
    assert_true(text_is(u->kind->name, "timer"));
    assert_true(u->kind_why.decibans > u->shelf_match.decibans);
    arena_free(arena);
}

/* Four digits on a chip that make a week are more likely a date than the end of a part number. */
static void a_date_is_no_part(void **state) {
    Arena *arena = arena_new();
    Bench *bench = built(
        state, arena,
        "bought 2025-03-01\npart U1 SOP-8 marked \"2134\"\npart U2 SOP-8 marked \"\"\npart Q1 SOT-23 marked \"A7\"\n");
    assert_null(part(bench, "U1")->shelf);
    assert_true(text_is(part(bench, "U1")->readings.at[0].kind, "date"));
    assert_true(text_is(part(bench, "U2")->kind->name, "chip"));
    assert_int_equal(part(bench, "U2")->readings.count, 0);
    assert_null(part(bench, "Q1")->shelf); /* two characters, used by several makers */
    arena_free(arena);
}

static void a_resistors_code_on_a_chip_is_no_resistor(void **state) {
    Arena *arena = arena_new();
    Bench *bench = built(state, arena, "part U1 SOP-8 marked \"101\"\n");
    for (uint32_t i = 0; i < part(bench, "U1")->readings.count; i++)
        assert_false(text_is(part(bench, "U1")->readings.at[i].kind, "resistor"));
    assert_false(part(bench, "U1")->has_value);
    arena_free(arena);
}

/* IEC 60086-2: LR03 has 1.5 V, CR2032 is a lithium button cell of 3 V. */
static void cells_give_the_volts(void **state) {
    Arena *arena = arena_new();
    Bench *bench = built(state, arena, "part BT1 battery 4 x LR03\npart BT2 CR2032\n");
    assert_near(part(bench, "BT1")->value.value, 6);
    assert_int_equal(part(bench, "BT1")->cell_count, 4);
    assert_true(text_is(part(bench, "BT2")->kind->name, "coin-cell"));
    assert_true(part(bench, "BT2")->cell->lithium);
    arena_free(arena);
}

static void an_unknown_word_is_said(void **state) {
    Arena *arena = arena_new();
    Bench *bench = built(state, arena, "part D1 shottky\npart D2 SOT-23 diode\n");
    assert_int_equal(bench->problems.list.count, 1);
    assert_int_equal(bench->problems.list.at[0].place.line, 1);
    assert_int_not_equal(text_find(bench->problems.list.at[0].hint, TEXT("schottky")), SIZE_MAX);
    arena_free(arena);
}

static void a_fifth_quantity_is_not_dropped_in_silence(void **state) {
    Arena *arena = arena_new();
    Bench *bench = built(state, arena, "part C1 470uF 16V 1.2A 105 degC 0.1 ohm\n");
    assert_near(part(bench, "C1")->value.value, 470e-6);
    assert_int_equal(bench->problems.list.count, 1);
    arena_free(arena);
}

/* Every marking different: looked up BENCH_MARKINGS_MOST times, the rest counted. */
static void looking_up_is_bounded(void **state) {
    Arena *arena = arena_new();
    Out out = out_new(arena);
    for (unsigned i = 0; i < BENCH_MARKINGS_MOST + 500; i++) out_fmt(&out, "part R%u marked \"%uR%u\"\n", i, i, i % 10);
    Notebook *book = note_read(arena, TEXT("notes.txt"), out_text(&out));
    Bench *bench = bench_build(arena, book, ((const Knowledge *)*state)->knows);
    assert_int_equal(bench->markings_left_out, 500);
    arena_free(arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_marking_gives_the_value),
        cmocka_unit_test(a_package_tells_the_pins),
        cmocka_unit_test(a_dual_opamp_is_a_chip_and_two_opamps),
        cmocka_unit_test(a_marking_may_name_the_kind),
        cmocka_unit_test(the_kind_may_be_surer_than_the_part),
        cmocka_unit_test(a_date_is_no_part),
        cmocka_unit_test(a_resistors_code_on_a_chip_is_no_resistor),
        cmocka_unit_test(cells_give_the_volts),
        cmocka_unit_test(an_unknown_word_is_said),
        cmocka_unit_test(a_fifth_quantity_is_not_dropped_in_silence),
        cmocka_unit_test(looking_up_is_bounded),
    };
    return cmocka_run_group_tests_name("bench parts", tests, load, unload);
}
