/* note and bench: how a product works, as its notes say it. Statements of the trade are common practice unless a source is
 * named. */
#include "tests/note_fixture.h"

#include "bench/bench.h"

static Bench *bench_of(const char *notes) {
    Lore *lore = lore_new(arena);
    lore_add_builtin(lore);
    Notebook *book = note_read(arena, TEXT("notes.txt"), text_of(notes));
    assert_int_equal(book->problems.list.count, 0);
    return bench_build(arena, book, (BenchKnows){.kinds = bench_kinds_new(arena, lore)});
}

static void says(Text text, const char *words) {
    if (text_find(text, text_of(words)) == SIZE_MAX) fail_msg("`%.*s` lacks `%s`", TEXT_ARG(text), words);
}

static void assert_text(Text text, const char *expected) {
    if (!text_is(text, expected)) fail_msg("\"%.*s\" is not \"%s\"", TEXT_ARG(text), expected);
}

/* ---- notes ---- */

static void a_pin_is_held_switched_or_at_a_voltage(void **state) {
    (void)state;
    assert_int_equal(one("drive U1.3 high in pumping")->drive->level, NOTE_LEVEL_HIGH);
    assert_int_equal(one("drive U1.3 low")->drive->level, NOTE_LEVEL_LOW);
    assert_int_equal(one("drive U1.3 open by guess")->drive->level, NOTE_LEVEL_OPEN);
    const NoteDrive *volts = one("drive U1.13 3.0 V by meter")->drive;
    assert_int_equal(volts->level, NOTE_LEVEL_VOLTS);
    assert_near(volts->value.quantity.value, 3);
    assert_text(volts->pin.pin, "13");
}

/* Anywhere else in the notes `38 kHz 50%` would be a frequency with a wide tolerance. */
static void a_share_behind_a_frequency_is_its_duty(void **state) {
    (void)state;
    const NoteDrive *carrier = one("drive U1.5 38 kHz 50% in idle")->drive;
    assert_int_equal(carrier->level, NOTE_LEVEL_FREQUENCY);
    assert_near(carrier->value.quantity.high, 38e3);
    assert_near(carrier->duty.quantity.value, 0.5);
    const NoteDrive *both = one("drive U1.5 38 kHz ±1% 33 %")->drive;
    assert_near(both->value.quantity.high, 38.38e3);
    assert_near(both->duty.quantity.value, 0.33);
    assert_int_equal(one("drive U1.5 1 Hz sure 50%")->drive->duty.written.len, 0);
}

static void a_duty_is_so_long_in_so_long_or_a_share(void **state) {
    (void)state;
    const NoteDuty *pumping = one("duty pumping 2 s per 30 min")->duty;
    assert_near(pumping->on.quantity.value, 2);
    assert_near(pumping->per.quantity.value, 1800);
    assert_near(one("duty sensing 40 s per day")->duty->per.quantity.value, 86400);
    assert_near(one("duty idle 95%")->duty->on.quantity.value, 0.95);
    assert_near(one("duty idle 95 % by guess")->duty->on.quantity.value, 0.95);
}

static void gears_are_counted_stage_by_stage(void **state) {
    (void)state;
    const NoteGear *gear = &one("gear M1 12:60 10 : 48.5 by eye")->gear;
    assert_int_equal(gear->count, 2);
    assert_near(gear->stages[0].driving, 12);
    assert_near(gear->stages[1].driven, 48.5);
}

/* JEDEC JESD100B.01: a megabit of memory is 1,048,576 bits. Elsewhere `at` says a place on the board. */
static void a_memory_holds_bits_at_a_rate(void **state) {
    (void)state;
    const Note *note = one("memory U3 8 Mbit at 8 kHz 8 bit at 21.2,9.8 by datasheet");
    assert_near(note->memory->size.quantity.value, 8 * 1048576);
    assert_near(note->memory->rate.quantity.value, 8e3);
    assert_near(note->memory->sample.quantity.value, 8);
    assert_true(note->with->placed);
    const NoteMemory *speech = one("memory U3 1 MB by label at 16 kbit/s")->memory;
    assert_near(speech->rate.quantity.value, 16e3);
    assert_int_equal(speech->sample.written.len, 0);
}

static void what_is_wrong_is_said(void **state) {
    (void)state;
    says(problem("drive U1 high")->expected, "U1.3");
    says(problem("drive U1.3 hihg")->hint, "`high`");
    says(problem("drive U1.3 5 mA")->expected, "frequency");
    says(problem("drive U1.3 high 50%")->expected, "end of the note");
    says(problem("press")->expected, "SW2");
    says(problem("press SW2.1")->message, "dot");
    says(problem("duty pumping 2 s")->expected, "per");
    says(problem("duty pumping 2 s per 1 s")->message, "longer");
    says(problem("duty pumping 2")->message, "no unit");
    says(problem("duty idle 120%")->message, "between");
    says(problem("gear M1 12")->hint, "colon");
    says(problem("gear M1 12:0")->message, "bounds");
    says(problem("gear M1")->expected, "12:60");
    says(problem("memory U3 8 kHz")->message, "another unit");
    says(problem("memory U3 8 Mbit at 3 V")->message, "rate");
    says(problem("memory U3 8 Mbit at 8 kHz 8")->message, "no unit");
}

/* ---- bench ---- */

static void the_bench_keeps_what_each_mode_does(void **state) {
    (void)state;
    const Bench *bench = bench_of("mode idle\nmode pumping\nmode idle \"again\"\ndrive U1.3 high in pumping\n"
                                  "drive U1.3 low\npress SW2 SW4 in pumping\nstall M1 in pumping\n"
                                  "duty pumping 2 s per 30 min\ngear M1 12:60\nmemory U3 8 Mbit\nmemory U3 8 Mbit at 8 kHz\n");
    assert_int_equal(bench->conflicts.count + bench->asks.count + bench->problems.list.count, 0);
    assert_int_equal(bench->modes.count, 2);
    assert_int_equal(bench->presses.count, 2);
    assert_int_equal(bench->presses.at[1].part, bench_part(bench, TEXT("SW4")));
    assert_int_equal(bench->stalls.count, 1);
    assert_near(bench->duties.at[0].share.value, 2.0 / 1800);
    assert_int_equal(bench->gears.count, 1);
    assert_int_equal(bench->memories.count, 2);
    uint32_t pin = bench_pin(bench, bench_part(bench, TEXT("U1")), TEXT("3"));
    assert_int_equal(bench_drive(bench, pin, TEXT("pumping"))->says->level, NOTE_LEVEL_HIGH);
    assert_int_equal(bench_drive(bench, pin, TEXT("idle"))->says->level, NOTE_LEVEL_LOW);
    assert_null(bench_drive(bench, pin + 1, TEXT("idle")));
}

static const BenchConflict *only_clash(const char *notes, uint32_t first, uint32_t second) {
    const Bench *bench = bench_of(notes);
    assert_int_equal(bench->conflicts.count, 1);
    const BenchConflict *conflict = &bench->conflicts.at[0];
    assert_int_equal(conflict->kind, BENCH_MODES_CLASH);
    assert_int_equal(conflict->line_count, 2);
    assert_int_equal(conflict->lines[0], first);
    assert_int_equal(conflict->lines[1], second);
    return conflict;
}

static void what_cannot_be_in_one_mode_contradicts(void **state) {
    (void)state;
    says(only_clash("mode run\ndrive U1.3 high in run\ndrive U1.3 low in run\n", 2, 3)->says, "U1.3 in run is driven two ways");
    says(only_clash("drive U1.5 38 kHz\ndrive U1.5 56 kHz\n", 1, 2)->says, "U1.5");
    says(only_clash("mode a\nduty a 10%\nduty a 2 s per min\n", 2, 3)->says, "duty of a");
    says(only_clash("mode a\nmode b\nduty a 60%\nduty b 70%\n", 3, 4)->says, "130 %");
    says(only_clash("gear M1 12:60\ngear M1 10:60\n", 1, 2)->says, "geared two ways");
    says(only_clash("memory U3 8 Mbit\nmemory U3 4 Mbit\n", 1, 2)->says, "two sizes");
    const Bench *same = bench_of("mode a\nmode b\ndrive U1.3 high in a\ndrive U1.3 low in b\ndrive U1.5 38 kHz\n"
                                 "drive U1.5 38 kHz 50%\nduty a 10%\nduty a 6 s per min\ngear M1 12:60\ngear M1 1:5\n");
    assert_int_equal(same->conflicts.count, 0);
}

static void a_mode_that_no_line_declares_is_asked_about_once(void **state) {
    (void)state;
    const Bench *bench = bench_of("mode pumping\ndrive U1.3 high in pumpng\ndrive U1.4 low in pumpng\n");
    assert_int_equal(bench->asks.count, 1);
    says(bench->asks.at[0].says, "`pumpng`");
    says(bench->asks.at[0].says, "`pumping` is meant");
    assert_int_equal(bench->asks.at[0].line, 2);
}

static void what_is_no_switch_is_not_pressed(void **state) {
    (void)state;
    const Bench *bench = bench_of("press R1\nstall D1\ngear LS1 1:2\n");
    assert_int_equal(bench->problems.list.count, 3);
    says(bench->problems.list.at[0].message, "R1 is no switch");
    assert_int_equal(bench->presses.count + bench->stalls.count + bench->gears.count, 0);
}

static void more_than_can_be_worked_out_is_said_once(void **state) {
    (void)state;
    Out notes = out_new(arena);
    for (unsigned i = 0; i < 70; i++) out_fmt(&notes, "mode m%u\n", i);
    for (unsigned i = 0; i < 5000; i++) out_fmt(&notes, "drive U%u.3 high\n", i + 1);
    const Bench *bench = bench_of(text_cstring(arena, out_text(&notes)));
    assert_int_equal(bench->modes.count, BENCH_MODES_MOST);
    assert_int_equal(bench->drives.count, BENCH_WORKINGS_MOST);
    assert_int_equal(bench->problems.list.count, 6 + 1);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_pin_is_held_switched_or_at_a_voltage, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_share_behind_a_frequency_is_its_duty, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_duty_is_so_long_in_so_long_or_a_share, set_up, tear_down),
        cmocka_unit_test_setup_teardown(gears_are_counted_stage_by_stage, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_memory_holds_bits_at_a_rate, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_is_wrong_is_said, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_bench_keeps_what_each_mode_does, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_cannot_be_in_one_mode_contradicts, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_mode_that_no_line_declares_is_asked_about_once, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_is_no_switch_is_not_pressed, set_up, tear_down),
        cmocka_unit_test_setup_teardown(more_than_can_be_worked_out_is_said_once, set_up, tear_down),
    };
    return cmocka_run_group_tests_name("how it works", tests, NULL, NULL);
}
