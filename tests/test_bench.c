/* bench: what the notes of one teardown come to. Statements of the trade are common practice unless a source is named. */
#include "tests/check.h"

#include "bench/bench.h"

typedef struct Table {
    Arena *arena;
    Lore *lore;
    BenchKinds *kinds;
    Bench *bench;
} Table;

static Table table_of(const char *notes) {
    Table t = {.arena = arena_new()};
    t.lore = lore_new(t.arena);
    lore_add_builtin(t.lore);
    t.kinds = bench_kinds_new(t.arena, t.lore);
    Notebook *book = note_read(t.arena, TEXT("notes.txt"), text_of(notes));
    assert_int_equal(book->problems.list.count, 0);
    t.bench = bench_build(t.arena, book, (BenchKnows){.kinds = t.kinds, .marks = NULL, .shelf = NULL});
    return t;
}

static const BenchPart *part(const Table *t, const char *ref) {
    uint32_t number = bench_part(t->bench, text_of(ref));
    assert_int_not_equal(number, BENCH_NONE);
    return &t->bench->parts.at[number];
}

static uint32_t pin(const Table *t, const char *ref, const char *label) {
    return bench_pin(t->bench, bench_part(t->bench, text_of(ref)), text_of(label));
}

static bool one_net(const Table *t, const char *a, const char *b) {
    uint32_t one = bench_net(t->bench, text_of(a)), other = bench_net(t->bench, text_of(b));
    assert_int_not_equal(one, BENCH_NONE);
    assert_int_not_equal(other, BENCH_NONE);
    return one == other;
}

/* The only conflict: of this kind, with these lines (0 ends them). */
static const BenchConflict *only_conflict(const Table *t, BenchConflictKind kind, const uint32_t *lines) {
    const Bench *bench = t->bench;
    if (bench->conflicts.count != 1) {
        for (uint32_t i = 0; i < bench->conflicts.count; i++)
            print_message("%.*s\n", TEXT_ARG(bench->conflicts.at[i].says));
        fail_msg("%u conflicts", bench->conflicts.count);
    }
    const BenchConflict *conflict = &bench->conflicts.at[0];
    assert_int_equal(conflict->kind, kind);
    assert_true(conflict->says.len > 0 && conflict->settle.len > 0);
    uint32_t count = 0;
    for (; lines[count] != 0; count++)
        if (count >= conflict->line_count || conflict->lines[count] != lines[count])
            fail_msg("line %u is missing", lines[count]);
    assert_int_equal(conflict->line_count, count);
    return conflict;
}
#define LINES(...) ((const uint32_t[]){__VA_ARGS__, 0})

static void says(Text text, const char *words) {
    if (text_find(text, text_of(words)) == SIZE_MAX) fail_msg("`%.*s` lacks `%s`", TEXT_ARG(text), words);
}

/* ---- parts ---- */

static void a_part_has_the_kind_of_its_letters_unless_said(void **state) {
    (void)state;
    Table t = table_of("part R1 10k\npart Q1 npn\npart X1 led red\npart M1 motor \"pump\"\njoin M1.1 SW1.2\n");
    assert_true(text_is(part(&t, "R1")->kind->name, "resistor"));
    assert_true(text_is(part(&t, "Q1")->kind->name, "npn"));
    assert_true(text_is(part(&t, "X1")->kind->name, "led-red"));
    assert_true(text_is(part(&t, "SW1")->kind->name, "switch"));
    assert_null(part(&t, "SW1")->note);
    assert_int_equal(part(&t, "SW1")->line, 5);
    assert_true(part(&t, "Q1")->kind_why.decibans > part(&t, "SW1")->kind_why.decibans);
    assert_int_equal(part(&t, "Q1")->kind_why.lines[0], 2);
    arena_free(t.arena);
}

static void a_bare_value_has_the_unit_of_its_kind(void **state) {
    (void)state;
    Table t = table_of("part R1 10k 1%\npart C1 100n\npart C2 470uF 16V electrolytic\npart R2 4k7\npart D1 zener 5V1\n");
    assert_true(unit_same(part(&t, "R1")->value.unit, UNIT_OHM));
    assert_near(part(&t, "R1")->value.value, 10e3);
    assert_near(part(&t, "R1")->value.high, 10100);
    assert_true(unit_same(part(&t, "C1")->value.unit, UNIT_FARAD));
    assert_near(part(&t, "C1")->value.low, 80e-9); /* 20 % when unsaid */
    assert_near(part(&t, "C2")->value.value, 470e-6);
    assert_near(part(&t, "C2")->rating.value, 16);
    assert_near(part(&t, "R2")->value.low, 4465); /* 5 % when unsaid */
    assert_near(part(&t, "D1")->value.value, 5.1);
    arena_free(t.arena);
}

/* ---- pins ---- */

/* SOT-23: base 1, emitter 2, collector 3. */
static void a_number_and_a_function_are_one_pin(void **state) {
    (void)state;
    Table t = table_of("part Q1 SOT-23 npn\njoin Q1.1 R1.1\njoin Q1.B C1.1\njoin Q1.base R2.2\napart Q1.2 Q1.C\n");
    assert_int_equal(part(&t, "Q1")->pin_count, 3);
    assert_true(one_net(&t, "R1.1", "C1.1"));
    assert_true(one_net(&t, "R1.1", "R2.2"));
    assert_int_equal(pin(&t, "Q1", "3"), pin(&t, "Q1", "collector"));
    assert_true(text_is(t.bench->pins.at[pin(&t, "Q1", "2")].function, "E"));
    assert_int_equal(t.bench->conflicts.count, 0);
    arena_free(t.arena);
}

static void without_a_package_numbers_of_a_transistor_tell_nothing(void **state) {
    (void)state;
    Table t = table_of("part Q1 npn\njoin Q1.1 R1.1\njoin Q1.B C1.1\n");
    assert_int_equal(part(&t, "Q1")->pin_count, 2);
    assert_false(one_net(&t, "R1.1", "C1.1"));
    arena_free(t.arena);
}

static void a_unit_lists_its_pins_by_function(void **state) {
    (void)state;
    Table t = table_of("part Q1 SOT-23 nmos\njoin Q1.3 M1.1\njoin Q1.G U1.7\njoin U1.1 U1.2\n");
    const BenchPart *q = part(&t, "Q1"), *u = part(&t, "U1");
    assert_int_equal(q->unit_count, 1);
    const BenchUnit *unit = &t.bench->units.at[q->units[0]];
    assert_int_equal(unit->pin_count, 3);
    assert_int_equal(unit->pins[0], pin(&t, "Q1", "1"));
    assert_int_equal(unit->pins[1], pin(&t, "Q1", "D"));
    assert_int_equal(unit->pins[2], BENCH_NONE);
    assert_int_equal(t.bench->units.at[u->units[0]].pin_count, 3);
    arena_free(t.arena);
}

static void a_test_point_needs_no_pin(void **state) {
    (void)state;
    Table t = table_of("join TP1 U1.5\njoin TP2.1 U1.6\njoin TP2 R1.1\nread v(TP1) = 3.3 V\n");
    assert_true(one_net(&t, "TP1.1", "U1.5"));
    assert_true(one_net(&t, "U1.6", "R1.1"));
    assert_int_equal(t.bench->readings.at[0].about[0], bench_net(t.bench, TEXT("U1.5")));
    assert_int_equal(t.bench->conflicts.count, 0);
    arena_free(t.arena);
}

static void placing_a_part_by_two_pins_notes_them(void **state) {
    (void)state;
    Table t = table_of("part U1 SOP-8 on A pin 1 at 18.1,7.9 pin 8 at 24.2,7.9\n");
    assert_int_equal(part(&t, "U1")->pin_count, 2);
    assert_true(text_is(t.bench->boards.at[0], "A"));
    arena_free(t.arena);
}

/* ---- nets ---- */

static void nets_are_what_is_joined(void **state) {
    (void)state;
    Table t =
        table_of("join BT1.+ SW1.1\njoin SW1.2 U1.8 C1.1 by meter\nnet VBAT BT1.+\njoin VBAT D1.A\njoin GND U1.4 C1.2\n");
    assert_true(one_net(&t, "VBAT", "SW1.1"));
    assert_true(one_net(&t, "D1.A", "BT1.+"));
    assert_true(one_net(&t, "U1.8", "C1.1"));
    assert_false(one_net(&t, "SW1.1", "SW1.2"));
    assert_true(one_net(&t, "GND", "C1.2"));
    uint32_t net = bench_net(t.bench, TEXT("U1.8"));
    assert_true(text_is(t.bench->nets.at[net].name, "SW1.2"));
    assert_false(t.bench->nets.at[net].named);
    assert_int_equal(t.bench->nets.at[net].pin_count, 3);
    assert_true(t.bench->nets.at[bench_net(t.bench, TEXT("VBAT"))].named);
    assert_int_equal(bench_net(t.bench, TEXT("nowhere")), BENCH_NONE);
    assert_int_equal(bench_net(t.bench, TEXT("U1.99")), BENCH_NONE);
    arena_free(t.arena);
}

/* Of two ways round, the chain is the one whose weakest note is the strongest: two beeps rather than one guess. */
static void a_chain_is_the_most_trusted_one(void **state) {
    (void)state;
    Table t = table_of("join U1.1 R1.1 by guess\njoin U1.1 C1.1 by meter\njoin C1.1 R1.1 sure 95%\n");
    uint32_t lines[4];
    BenchChain chain;
    assert_int_equal(bench_chain(t.bench, pin(&t, "U1", "1"), pin(&t, "R1", "1"), lines, 4, &chain), 2);
    assert_int_equal(lines[0], 2);
    assert_int_equal(lines[1], 3);
    assert_near(chain.weakest, 0.95);
    assert_int_equal(chain.weakest_line, 3);
    assert_int_equal(bench_chain(t.bench, pin(&t, "R1", "1"), pin(&t, "U1", "1"), lines, 1, &chain), 2);
    assert_int_equal(lines[0], 3);
    assert_int_equal(bench_chain(t.bench, pin(&t, "R1", "1"), pin(&t, "R1", "1"), lines, 4, &chain), 0);
    assert_near(chain.weakest, 1);
    arena_free(t.arena);
}

/* ---- conflicts ---- */

static void joined_by_a_chain_and_apart(void **state) {
    (void)state;
    Table t = table_of("join U1.5 R3.1\njoin R3.1 C2.1\njoin U9.1 U9.2\njoin C2.1 U1.6 by eye\napart U1.5 U1.6 by meter\n");
    const BenchConflict *conflict = only_conflict(&t, BENCH_JOINED_AND_APART, LINES(1, 2, 4, 5));
    assert_true(text_is(conflict->id, "joined-apart:U1.5,U1.6"));
    says(conflict->says, "line 5");
    says(conflict->says, "lines 1, 2 and 4");
    says(conflict->settle, "beep U1.5 to U1.6");
    arena_free(t.arena);
}

static void a_struck_line_contradicts_nothing(void **state) {
    (void)state;
    Table t = table_of("join U1.5 R3.1\njoin R3.1 U1.6\napart U1.5 U1.6 by meter\nstrike 2 \"wrong leg\"\n");
    assert_int_equal(t.bench->conflicts.count, 0);
    assert_false(one_net(&t, "U1.5", "R3.1") && bench_net(t.bench, TEXT("U1.6")) == bench_net(t.bench, TEXT("U1.5")));
    arena_free(t.arena);
}

static void all_that_is_named_apart_is_apart_from_each_other(void **state) {
    (void)state;
    Table t = table_of("join U1.1 U1.3\napart U1.1 U1.2 U1.3\n");
    only_conflict(&t, BENCH_JOINED_AND_APART, LINES(1, 2));
    arena_free(t.arena);
    t = table_of("part Q1 SOT-23 npn\napart Q1.1 Q1.B\n");
    says(only_conflict(&t, BENCH_JOINED_AND_APART, LINES(2))->says, "itself");
    arena_free(t.arena);
}

static void one_net_with_two_names(void **state) {
    (void)state;
    Table t = table_of("net VBAT BT1.+\njoin BT1.+ SW1.1\nnet V6 SW1.1\n");
    const BenchConflict *conflict = only_conflict(&t, BENCH_TWO_NAMES, LINES(1, 2, 3));
    says(conflict->says, "VBAT");
    says(conflict->says, "V6");
    arena_free(t.arena);
}

static void two_values_of_one_thing_in_one_mode(void **state) {
    (void)state;
    Table t = table_of("read v(VBAT) = 6.21 V in idle\nread v(VBAT) = 5.90 V in pumping\nread v(VBAT) = 5.4 V in idle\n");
    says(only_conflict(&t, BENCH_TWO_VALUES, LINES(1, 3))->settle, "measure v(VBAT) in idle again");
    arena_free(t.arena);
    t = table_of(
        "read v(VBAT) = 6.21 V\nread v(VBAT) = 6.2 V\nread v(VBAT) = 6.25 V\n"); /* within 1 % and the last digit */
    assert_int_equal(t.bench->conflicts.count, 0);
    arena_free(t.arena);
    t = table_of("join U1.1 R1.1\nread v(U1.1) = 3.3 V\nread v(R1.1) = 2.1 V\n"); /* one net by two pins */
    only_conflict(&t, BENCH_TWO_VALUES, LINES(2, 3));
    arena_free(t.arena);
    t = table_of(
        "read v(A,B) = 1.2 V\nread v(B,A) = -1.2 V\nread diode(Q1.B,Q1.E) = 0.7 V\nread diode(Q1.E,Q1.B) = 2.6 V\n");
    assert_int_equal(t.bench->conflicts.count, 0);
    arena_free(t.arena);
}

static void too_many_pins(void **state) {
    (void)state;
    Table t = table_of("part Q1 npn\njoin Q1.1 R1.1\njoin Q1.2 R1.2\njoin Q1.3 R2.1\njoin Q1.B R2.2\n");
    says(only_conflict(&t, BENCH_TOO_MANY_PINS, LINES(1, 2, 3, 4, 5))->says, "Q1 has 3 pins, but 4 are named");
    arena_free(t.arena);
}

static void no_such_pin(void **state) {
    (void)state;
    Table t = table_of("part D1 led\njoin D1.A R1.1\njoin D1.E GND\n");
    says(only_conflict(&t, BENCH_NO_SUCH_PIN, LINES(1, 3))->says, "D1.E");
    arena_free(t.arena);
    t = table_of("part R1 10k\njoin R1.3 GND\n");
    only_conflict(&t, BENCH_NO_SUCH_PIN, LINES(1, 2));
    arena_free(t.arena);
    t = table_of("part U1 boost\njoin U1.PG R1.1\njoin U1.17 R1.2\n"); /* a chip has what its maker gave it */
    assert_int_equal(t.bench->conflicts.count, 0);
    arena_free(t.arena);
    t = table_of("part R1 10k\njoin R1 U1.5 U1.6\n"); /* which of its two? the others are joined all the same */
    says(only_conflict(&t, BENCH_NO_SUCH_PIN, LINES(2))->settle, "R1.1");
    assert_true(one_net(&t, "U1.5", "U1.6"));
    arena_free(t.arena);
}

static void a_part_described_twice(void **state) {
    (void)state;
    Table t = table_of("part Q1 SOT-23\npart Q1 npn\n"); /* more about it is no contradiction */
    assert_int_equal(t.bench->conflicts.count, 0);
    assert_true(text_is(part(&t, "Q1")->kind->name, "npn"));
    assert_true(text_is(part(&t, "Q1")->package_name, "SOT-23"));
    arena_free(t.arena);
    t = table_of("part Q1 npn\npart Q1 pnp\n");
    only_conflict(&t, BENCH_TWO_PARTS, LINES(1, 2));
    arena_free(t.arena);
    t = table_of("part R1 10k\npart R1 4k7\n");
    only_conflict(&t, BENCH_TWO_PARTS, LINES(1, 2));
    arena_free(t.arena);
    t = table_of("part R1 marked \"103\"\npart R1 marked \"472\"\n");
    only_conflict(&t, BENCH_TWO_PARTS, LINES(1, 2));
    arena_free(t.arena);
}

static void a_value_and_a_reading_far_off(void **state) {
    (void)state;
    Table t = table_of("part R1 10k 5%\nread r(R1) = 4.7 kohm\n");
    const BenchConflict *conflict = only_conflict(&t, BENCH_VALUE_AND_READING, LINES(1, 2));
    says(conflict->settle, "lift one leg");
    arena_free(t.arena);
    t = table_of("part R1 10k 5%\nread r(R1) = 9.1 kohm\npart RT1 10k\nread r(RT1) = 4.7 kohm\n"); /* a thermistor varies */
    assert_int_equal(t.bench->conflicts.count, 0);
    arena_free(t.arena);
}

/* ---- readings ---- */

static void readings_find_what_they_are_about(void **state) {
    (void)state;
    Table t =
        table_of("net VBAT BT1.+\nread v(VBAT) = 6.21 V in idle\nread i(BT1) = 38 uA\nread r(M1) = 4.2 ohm\n"
                 "read diode(Q1.B,Q1.E) = 0.68 V\nread v(BT1) = 6.2 V\nread i(U1.8) = 2 mA\nread r(U1.5,GND) = 10 kohm\n");
    const Bench *bench = t.bench;
    assert_int_equal(bench->readings.count, 7);
    const BenchReading *v = &bench->readings.at[0], *i = v + 1, *r = v + 2, *diode = v + 3, *across = v + 4, *pin_i = v + 5;
    assert_int_equal(v->about_what, BENCH_ABOUT_NET);
    assert_int_equal(v->about[0], bench_net(bench, TEXT("BT1.+")));
    assert_near(v->value.low, 6.20);
    assert_true(text_is(v->mode, "idle"));
    assert_int_equal(i->about_what, BENCH_ABOUT_PART);
    assert_int_equal(i->about[0], bench_part(bench, TEXT("BT1")));
    assert_true(text_is(bench->parts.at[r->about[0]].kind->name, "motor"));
    assert_int_equal(diode->about_what, BENCH_ABOUT_PIN);
    assert_int_equal(diode->about_count, 2);
    assert_int_equal(diode->about[1], pin(&t, "Q1", "E"));
    assert_int_equal(across->about_count, 2);
    assert_int_equal(across->about[0], bench_net(bench, TEXT("VBAT")));
    assert_int_equal(across->about[1], bench_net(bench, TEXT("BT1.-")));
    assert_int_equal(pin_i->about_what, BENCH_ABOUT_PIN);
    assert_int_equal(bench->readings.at[6].about_what, BENCH_ABOUT_NET);
    assert_int_equal(bench->readings.at[6].about[1], bench_net(bench, TEXT("GND")));
    assert_int_equal(bench->conflicts.count, 0);
    arena_free(t.arena);
}

static void callouts_are_numbered_by_photo_and_side(void **state) {
    (void)state;
    Table t = table_of("board A 20 x 10 mm\nlicence \"CC0\"\n"
                       "mark at 3,4 \"one\"\nmark A bottom at 3,4 \"two\"\nmark A at 5,6 \"three\"\n"
                       "mark door.jpg at 300,200 \"four\"\nmark lid.jpg at 1,2 \"five\"\nmark door.jpg at 9,9 \"six\"\n");
    static const struct {
        const char *file, *board;
        BoardSide side;
        uint32_t number;
    } expected[] = {{"", "A", BOARD_TOP, 1},        {"", "A", BOARD_BOTTOM, 1},    {"", "A", BOARD_TOP, 2},
                    {"door.jpg", "", BOARD_TOP, 1}, {"lid.jpg", "", BOARD_TOP, 1}, {"door.jpg", "", BOARD_TOP, 2}};
    assert_int_equal(t.bench->callouts.count, 6);
    for (uint32_t i = 0; i < 6; i++) {
        const BenchCallout *callout = &t.bench->callouts.at[i];
        assert_true(text_is(callout->file, expected[i].file));
        assert_true(text_is(callout->board, expected[i].board));
        assert_int_equal(callout->side, expected[i].side);
        assert_int_equal(callout->number, expected[i].number);
    }
    assert_true(text_is(t.bench->licence->licence, "CC0"));
    arena_free(t.arena);
    t = table_of("board A 20 x 10 mm\nboard B 20 x 10 mm\nmark at 3,4 \"which?\"\n");
    assert_int_equal(t.bench->callouts.count, 0);
    assert_int_equal(t.bench->problems.list.count, 1);
    arena_free(t.arena);
}

static void a_file_of_nothing_is_an_empty_bench(void **state) {
    (void)state;
    Table t = table_of("# nothing yet\n");
    assert_int_equal(t.bench->parts.count + t.bench->pins.count + t.bench->nets.count + t.bench->conflicts.count, 0);
    assert_null(t.bench->product);
    assert_int_equal(bench_part(t.bench, TEXT("R1")), BENCH_NONE);
    arena_free(t.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_part_has_the_kind_of_its_letters_unless_said),
        cmocka_unit_test(a_bare_value_has_the_unit_of_its_kind),
        cmocka_unit_test(a_number_and_a_function_are_one_pin),
        cmocka_unit_test(without_a_package_numbers_of_a_transistor_tell_nothing),
        cmocka_unit_test(a_unit_lists_its_pins_by_function),
        cmocka_unit_test(a_test_point_needs_no_pin),
        cmocka_unit_test(placing_a_part_by_two_pins_notes_them),
        cmocka_unit_test(nets_are_what_is_joined),
        cmocka_unit_test(a_chain_is_the_most_trusted_one),
        cmocka_unit_test(joined_by_a_chain_and_apart),
        cmocka_unit_test(a_struck_line_contradicts_nothing),
        cmocka_unit_test(all_that_is_named_apart_is_apart_from_each_other),
        cmocka_unit_test(one_net_with_two_names),
        cmocka_unit_test(two_values_of_one_thing_in_one_mode),
        cmocka_unit_test(too_many_pins),
        cmocka_unit_test(no_such_pin),
        cmocka_unit_test(a_part_described_twice),
        cmocka_unit_test(a_value_and_a_reading_far_off),
        cmocka_unit_test(readings_find_what_they_are_about),
        cmocka_unit_test(callouts_are_numbered_by_photo_and_side),
        cmocka_unit_test(a_file_of_nothing_is_an_empty_bench),
    };
    return cmocka_run_group_tests_name("bench", tests, NULL, NULL);
}
