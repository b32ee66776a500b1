/* note: the grammar, what is refused and how, the printer that round-trips, strikes, and files from elsewhere. */
#include "tests/note_fixture.h"

#include "base/file.h"

#include <stdio.h>

static void assert_text(Text text, const char *expected) {
    if (!text_is(text, expected)) fail_msg("\"%.*s\" is not \"%s\"", TEXT_ARG(text), expected);
}

static void assert_round_trip(const Note *note) {
    Out out = out_new(arena);
    note_print(&out, note);
    Note again;
    Diags problems = diags_new(arena);
    if (!note_parse(arena, TEXT("printed"), 1, out_text(&out), &again, &problems) || !note_same(note, &again))
        fail_msg("does not round-trip: %.*s", TEXT_ARG(out_text(&out)));
    Out twice = out_new(arena);
    note_print(&twice, &again);
    assert_true(text_same(out_text(&out), out_text(&twice)));
}

/* ---- the grammar ---- */

static void a_part_has_package_value_place_turn_and_marking(void **state) {
    (void)state;
    const Note *note = one("part R1 0805 10k 5% on A at 30.1,12.4 turn 90 marked \"103\" \"near the edge\"");
    const NotePart *part = note->part;
    assert_text(part->ref, "R1");
    assert_int_equal(part->words.count, 2);
    assert_text(part->words.items[0].written, "0805");
    assert_false(part->words.items[0].is_quantity);
    assert_text(part->words.items[1].written, "10k 5%");
    assert_near(part->words.items[1].quantity.value, 10e3);
    assert_near(part->words.items[1].quantity.low, 9.5e3);
    assert_near(part->turn, 90);
    assert_text(part->marking, "103");
    assert_text(note->with->board, "A");
    assert_near(note->with->at.x, 30.1);
    assert_near(note->with->at.y, 12.4);
    assert_text(note->with->remark, "near the edge");
}

static bool is_quantity(const char *written) {
    const NotePart *part = one(written)->part;
    assert_int_equal(part->words.count, 1);
    return part->words.items[0].is_quantity;
}

/* Common practice: chip sizes and cells are four or five bare digits; IEC 60086-1: 6F22 is a battery of six flat cells. */
static void packages_and_cells_are_no_quantities(void **state) {
    (void)state;
    assert_false(is_quantity("part R1 0805"));
    assert_false(is_quantity("part BT1 18650"));
    assert_false(is_quantity("part BT1 6F22"));
    assert_false(is_quantity("part U1 555"));
    assert_false(is_quantity("part D1 1N4148"));
    assert_false(is_quantity("part Q1 2N7002"));
    assert_true(is_quantity("part R1 100"));
    assert_true(is_quantity("part R1 4k7"));
    assert_true(is_quantity("part C1 470uF"));
    assert_true(is_quantity("part C1 16V"));
    assert_true(is_quantity("part R1 ±5%"));
    assert_true(is_quantity("part C1 1000 uF"));
    const NotePart *part = one("part R1 0805 5%")->part;
    assert_int_equal(part->words.count, 2);
    assert_near(part->words.items[1].quantity.value, 0.05);
}

static void four_cells_and_a_part_placed_by_two_pins(void **state) {
    (void)state;
    const NotePart *battery = one("part BT1 battery 4 x LR03")->part;
    assert_int_equal(battery->cell_count, 4);
    assert_text(battery->cell, "LR03");
    const NotePart *chip = one("part U1 SOP-8 on A pin 1 at 18.1,7.9 pin 8 at 24.2,7.9 marked \"\"")->part;
    assert_int_equal(chip->pin_count, 2);
    assert_text(chip->pins[1].pin, "8");
    assert_near(chip->pins[1].at.x, 24.2);
    assert_true(chip->has_marking);
    assert_int_equal(chip->marking.len, 0);
}

static void qualifiers_stand_anywhere(void **state) {
    (void)state;
    const Note *end = one("join U1.8 R1.1 by meter sure 90% in idle on A at 1,2 photo a.jpg \"beeps\"");
    const Note *mixed = one("join \"beeps\" U1.8 photo a.jpg at 1,2 sure 90 % R1.1 in idle on A by meter");
    assert_true(note_same(end, mixed));
    assert_int_equal(mixed->with->by, NOTE_BY_METER);
    assert_near(mixed->with->sure, 0.9);
    assert_text(mixed->net.terminals[1].part, "R1");
    assert_text(mixed->net.terminals[1].pin, "1");
    assert_true(isnan(one("mode idle")->with->sure));
}

static void a_board_is_measured_in_any_length(void **state) {
    (void)state;
    const NoteBoard *board = one("board A 46.5 x 21.0 mm 1 layer paper-phenolic")->board;
    assert_near(board->width.value, 0.0465);
    assert_near(board->height.value, 0.021);
    assert_int_equal(board->layers, 1);
    assert_text(board->material, "paper-phenolic");
    assert_near(one("board B 2x1inch")->board->width.value, 0.0508); /* an inch is 25.4 mm exactly */
}

static void a_reading_takes_the_unit_of_its_function(void **state) {
    (void)state;
    const NoteReading *reading = one("read diode(Q1.B,Q1.E) = 0.68 V")->reading;
    assert_int_equal(reading->terminal_count, 2);
    assert_text(reading->terminals[1].pin, "E");
    assert_near(reading->value.quantity.value, 0.68);
    reading = one("read r(R1) = 4k7")->reading;
    assert_true(unit_same(reading->value.quantity.unit, UNIT_OHM));
    assert_near(reading->value.quantity.value, 4700);
    assert_text(problem("read v(VBAT) = 3 A")->expected, "volts, such as 6.21 V");
    assert_int_equal(problem("read v(VBAT) = 3")->place.column, 16);
}

/* ISO 8601-1 and the Gregorian rule: 2000 and 2024 are leap years, 1900 and 2025 are not. */
static void days_are_days_of_the_calendar(void **state) {
    (void)state;
    assert_text(one("bought 2024-02-29")->bought.date, "2024-02-29");
    one("bought 2000-02-29");
    problem("bought 1900-02-29");
    problem("bought 2025-02-29");
    problem("bought 2025-04-31");
    problem("bought 2025-13-01");
    problem("bought 25-01-01");
    const NoteBought *bought = &one("bought 2026-09-03 for 7.99 EUR")->bought;
    assert_near(bought->price, 7.99);
    assert_text(bought->currency, "EUR");
    problem("bought for 7.99 eur");
}

/* ---- problems that teach ---- */

static void the_nearest_right_spelling_is_named(void **state) {
    (void)state;
    const struct {
        const char *written, *nearest;
        uint32_t column;
    } slips[] = {
        {"jion U1.1 U1.2", "join", 1},
        {"prat R1", "part", 1},
        {"license \"CC0\"", "licence", 1},
        {"join U1.1 U1.2 by metre", "meter", 19},
        {"read diod(D1.A,D1.K) = 1 V", "diode", 6},
        {"read v(VBAT) = 6.21 Volt", "V", 21},
        {"read i(BT1) = 3ma", "mA", 15},
        {"photo A bottm x.jpg", "bottom", 9},
        {"photo A top x.jpg croners 1,2 3,4 5,6 7,8", "corners", 19},
        {"claim U1 \"mcu\" suer 70%", "sure", 16},
        {"part Q1 markd \"J3Y\"", "marked", 9},
        {"board A 3 x 4 mm 2 layesr", "layers", 18},
        {"step 1 \"open\" wiht \"PH1\"", "with", 15},
    };
    for (size_t i = 0; i < sizeof slips / sizeof slips[0]; i++) {
        const Diag *diag = problem(slips[i].written);
        Text hint = text_fmt(arena, "did you mean `%s`?", slips[i].nearest);
        if (!text_same(diag->hint, hint)) fail_msg("%s: %.*s", slips[i].written, TEXT_ARG(diag->hint));
        assert_int_equal(diag->place.column, slips[i].column);
        assert_int_equal(diag->place.line, 1);
        assert_true(diag->expected.len > 0);
    }
}

/* ---- the copper ---- */

static void the_copper_is_said_by_places_on_a_board(void **state) {
    (void)state;
    const Note *cut = one("cut A bottom at 31.5,9.2 by eye \"scored with a knife\"");
    assert_int_equal(cut->verb, NOTE_CUT);
    assert_text(cut->with->board, "A");
    assert_int_equal(cut->with->side, NOTE_SIDE_BOTTOM);
    assert_near(cut->with->at.x, 31.5);
    assert_true(note_same(cut, one("cut at 31.5,9.2 on A bottom by eye \"scored with a knife\"")));
    const Note *bridge = one("bridge A 3.2,4.1 5,4.1");
    assert_int_equal(bridge->points.count, 2);
    assert_near(bridge->points.at[1].x, 5);
    const Note *hidden = one("hidden bottom 20,1 29,1 29,8 20,8");
    assert_int_equal(hidden->points.count, 4);
    assert_int_equal(hidden->with->board.len, 0);
    assert_int_equal(hidden->with->side, NOTE_SIDE_BOTTOM);
    const Note *hole = one("hole A at 2.5,2.5 3.2 mm bare");
    assert_near(hole->hole->diameter.quantity.value, 3.2e-3);
    assert_int_equal(hole->hole->plating, NOTE_BARE_HOLE);
    assert_near(one("hole at 2,2 plated 0.8")->hole->diameter.quantity.value, 0.8e-3);
    assert_int_equal(one("copper A at 1,2")->verb, NOTE_COPPER);
    assert_int_equal(one("bare top at 1,2")->verb, NOTE_BARE);
    assert_int_equal(one("part R1 0805 on A bottom at 3,4")->with->side, NOTE_SIDE_BOTTOM);
}

static void a_mark_is_on_a_board_or_on_a_photo(void **state) {
    (void)state;
    const Note *ring = one("mark A bottom at 3.2,4.1 \"this ring is the ground\"");
    assert_int_equal(ring->verb, NOTE_MARK);
    assert_text(ring->mark.says, "this ring is the ground");
    assert_int_equal(ring->mark.file.len, 0);
    assert_text(ring->with->board, "A");
    assert_int_equal(ring->with->side, NOTE_SIDE_BOTTOM);
    assert_near(ring->with->at.y, 4.1);
    assert_true(note_same(ring, one("mark at 3.2,4.1 on A bottom \"this ring is the ground\"")));
    assert_text(one("mark door.jpg at 1210,844 \"snap here first\"")->mark.file, "door.jpg");
    const Note *blank = one("mark \"a door.jpg\" at 3,4 \"snap\" \"seen twice\"");
    assert_text(blank->mark.file, "a door.jpg");
    assert_text(blank->with->remark, "seen twice");
    assert_text(one("mark at 3,4 \"one.two\"")->mark.says, "one.two");
    assert_text(one("licence \"CC BY 4.0\"")->licence, "CC BY 4.0");
}

static void a_place_stands_where_a_pin_may(void **state) {
    (void)state;
    const Note *join = one("join U1.8 3.2,4.1 R1.1 18.7 , 4.4 on A bottom by meter");
    assert_int_equal(join->net.count, 2);
    assert_text(join->net.terminals[1].part, "R1");
    assert_int_equal(join->net.place_count, 2);
    assert_near(join->net.places[1].y, 4.4);
    assert_round_trip(join);
    assert_int_equal(one("apart 3,4 5,6 on A")->net.place_count, 2);
    assert_text(one("net 3.3V 3.3V2 7,8")->net.terminals[0].part, "3.3V2");
}

static void what_is_wrong_about_copper_is_said(void **state) {
    (void)state;
    assert_text(problem("cut A")->expected, "where it is: at X,Y in mm, seen from the top");
    assert_text(problem("cut A at 1,2 on A")->message, "`on` stands twice in this note");
    assert_text(problem("cut on A B at 1,2")->message, "`B` says again on which board");
    assert_text(problem("hidden A 1,2 3,4")->expected, "three places or more, the corners of what can't be seen");
    assert_text(problem("bridge A 1,2")->expected, "the two places that solder or a wire joins: 3.2,4.1 5.0,4.1");
    assert_text(problem("hole A at 1,2 3 V")->message, "`3` is no hole's diameter");
    assert_text(problem("hole A at 1,2 platd")->hint, "did you mean `plated`?");
    assert_text(problem("join 3.2,4.1 on A")->expected, "two pins or more, such as U1.8 R1.1");
    assert_text(problem("join U1.1 3.2, R1.1")->message, "`R1.1` is not a plain number");
    assert_text(problem("brigde A 1,2 3,4")->hint, "did you mean `bridge`?");
    assert_text(problem("join U1.1 U1.2 by photo")->message, "`photo` is not a source");
}

static void what_is_wrong_is_said(void **state) {
    (void)state;
    assert_text(problem("ask \"why")->message, "the quote that opens at column 5 is never closed");
    assert_text(problem("join U1.1 U1.2 by eye by eye")->message, "`by` stands twice in this note");
    assert_text(problem("part 1R")->message, "`1R` does not begin with a letter");
    assert_text(problem("join U1.1")->expected, "two pins or more, such as U1.8 R1.1");
    assert_text(problem("join U1. R1.1")->message, "`U1.` names no pin after the dot");
    assert_text(problem("net VCC.A U1.1")->message, "`VCC.A` is a pin");
    assert_text(problem("photo ../secret.jpg")->hint, "the file belongs into photos/");
    assert_text(problem("read v(VBAT = 3 V")->hint, "the bracket opens at column 7");
    assert_text(problem("claim U1 \"mcu\" sure 170%")->message, "`170%` is not between 0% and 100%");
    assert_text(problem("part R1 10 by eye V")->message, "`V` stands apart from the number that it belongs to");
    assert_text(problem("part U1 at 1,2 pin 1 at 1,2 pin 2 at 3,4")->message, "the part is placed twice");
    assert_text(problem("mode a \"b\" \"c\"")->message, "\"c\" is a second remark");
    assert_text(problem("ask \"\"")->message, "\"\" says nothing");
}

/* ---- strikes ---- */

static void a_strike_voids_a_line_before_or_after_it(void **state) {
    (void)state;
    Notebook *book = read_text(TEXT("mode a\nstrike 1\nstrike 4\nmode b\nmode c\n"));
    assert_int_equal(book->problems.list.count, 0);
    assert_int_equal(book->notes.count, 1);
    assert_text(book->notes.at[0].mode, "c");
    assert_int_equal(book->struck.count, 4);
}

static void a_strike_can_be_struck_by_a_later_one(void **state) {
    (void)state;
    Notebook *book = read_text(TEXT("mode a\nstrike 1\nstrike 2\n"));
    assert_int_equal(book->problems.list.count, 0);
    assert_int_equal(book->notes.count, 1);
    book = read_text(TEXT("mode a\nstrike 1\nstrike 2\nstrike 3\n"));
    assert_int_equal(book->notes.count, 0);
    book = read_text(TEXT("strike 2\nstrike 1\nmode a\n")); /* no circle: the later one wins, the earlier is void */
    assert_int_equal(book->notes.count, 1);
}

static void a_strike_of_nothing_is_a_problem(void **state) {
    (void)state;
    const struct {
        const char *written, *message;
    } strikes[] = {
        {"mode a\nstrike 9\n", "strike 9: line 9 does not exist"},
        {"mode a\n\nstrike 2\n", "strike 2: line 2 has no note to strike"},
        {"# note\nstrike 1\n", "strike 1: line 1 has no note to strike"},
        {"strike 1\n", "strike 1: line 1 is this line itself"},
        {"mode a\nstrike 1\nstrike 1\n", "strike 1: line 1 is struck already"},
    };
    for (size_t i = 0; i < sizeof strikes / sizeof strikes[0]; i++)
        assert_text(problem(strikes[i].written)->message, strikes[i].message);
    Notebook *book = read_text(TEXT("mode\nstrike 1\n"));
    assert_int_equal(book->problems.list.count, 2);
    assert_text(book->problems.list.at[1].message, "strike 1: line 1 is bad and does not count anyway");
}

/* ---- documents ---- */

/* Every line of the fenced blocks of doc/notes.md is a note and round-trips; returns how many. */
static void every_example_of_the_document_is_a_note(void **state) {
    (void)state;
    Text content;
    assert_true(file_read(arena, "doc/notes.md", 1 << 20, &content));
    bool inside = false;
    uint32_t number = 0, notes = 0;
    Diags problems = diags_new(arena);
    while (content.len > 0) {
        size_t end = text_find(content, TEXT("\n"));
        Text line = text_sub(content, 0, end);
        content = text_sub(content, line.len + 1, content.len);
        number++;
        if (text_starts(line, "```")) inside = !inside;
        if (!inside || text_starts(line, "```")) continue;
        Note note;
        if (!note_parse(arena, TEXT("doc/notes.md"), number, line, &note, &problems)) {
            Out out = out_new(arena);
            diags_print(&out, &problems);
            fail_msg("%.*s", TEXT_ARG(out_text(&out)));
        }
        assert_round_trip(&note);
        notes++;
    }
    assert_true(notes > 60);
}

/* The example of the design, as it stands there: 24 lines, of which the last voids the 14th. */
static void the_first_block_is_a_whole_teardown(void **state) {
    (void)state;
    Text content;
    assert_true(file_read(arena, "doc/notes.md", 1 << 20, &content));
    size_t from = text_find(content, TEXT("```\nproduct")) + 4;
    Text block = text_sub(content, from, content.len);
    Notebook *book = read_text(text_sub(block, 0, text_find(block, TEXT("```"))));
    assert_int_equal(book->lines, 24);
    assert_int_equal(book->problems.list.count, 0);
    assert_int_equal(book->notes.count, 22);
    assert_int_equal(book->struck.count, 2);
    assert_int_equal(book->struck.at[0].verb, NOTE_APART);
}

/* ---- files from elsewhere ---- */

static void windows_files_and_missing_newlines_lose_nothing(void **state) {
    (void)state;
    Notebook *book = read_text(TEXT("\xEF\xBB\xBFmode a\r\nmode b\r\nask \"c\""));
    assert_int_equal(book->problems.list.count, 0);
    assert_int_equal(book->notes.count, 3);
    assert_text(book->notes.at[0].mode, "a");
    assert_text(book->notes.at[2].ask, "c");
    assert_int_equal(book->lines, 3);
    assert_int_equal(read_text(TEXT(""))->lines, 0);
}

static void bad_bytes_are_refused_where_they_stand(void **state) {
    (void)state;
    static const char content[] = "mode a\nmo\0de b\nask \"\xFF\"\nask \"\x1B[31m\"\nmode c\n";
    Notebook *book = read_text((Text){content, sizeof content - 1});
    assert_int_equal(book->notes.count, 2);
    assert_int_equal(book->problems.list.count, 3);
    assert_text(book->problems.list.at[0].message, "a NUL byte");
    assert_int_equal(book->problems.list.at[0].place.line, 2);
    assert_int_equal(book->problems.list.at[0].place.column, 3);
    assert_text(book->problems.list.at[1].message, "this is not UTF-8");
    assert_int_equal(book->problems.list.at[1].place.column, 6);
    assert_text(book->problems.list.at[2].message, "a control character");
    assert_int_equal(book->notes.at[1].line, 5);
    book = read_text((Text){"\xFF\xFEm\0o\0", 6});
    assert_text(book->problems.list.at[0].message, "the file is UTF-16");
}

static void lines_of_a_megabyte_and_too_many_pins_are_refused(void **state) {
    (void)state;
    Out out = out_new(arena);
    out_lit(&out, "mode a\nask \"");
    for (int i = 0; i < 1 << 20; i++) out_char(&out, 'x');
    out_lit(&out, "\"\njoin");
    for (int i = 0; i < NOTE_TERMINALS_MOST; i++) out_fmt(&out, " R%d.1", i);
    out_lit(&out, "\njoin");
    for (int i = 0; i <= NOTE_TERMINALS_MOST; i++) out_fmt(&out, " R%d.1", i);
    out_lit(&out, "\nmode b\n");
    Notebook *book = read_text(out_text(&out));
    assert_int_equal(book->lines, 5);
    assert_int_equal(book->notes.count, 3);
    assert_int_equal(book->notes.at[1].net.count, NOTE_TERMINALS_MOST);
    assert_int_equal(book->problems.list.count, 2);
    assert_text(book->problems.list.at[0].message, "the line is too long for a note");
    assert_text(book->problems.list.at[1].hint, "go on in another note");
}

static void a_hundred_thousand_lines_are_read_and_bad_ones_counted(void **state) {
    (void)state;
    Out out = out_new(arena);
    for (int i = 0; i < 50000; i++) out_fmt(&out, "join U%d.1 R%d.2 by meter\nnonsense %d\n", i, i, i);
    Notebook *book = read_text(out_text(&out));
    assert_int_equal(book->lines, 100000);
    assert_int_equal(book->notes.count, 50000);
    assert_int_equal(book->problems.list.count + book->problems.left_out, 50000);
    assert_int_equal(book->notes.at[49999].line, 99999);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_part_has_package_value_place_turn_and_marking, set_up, tear_down),
        cmocka_unit_test_setup_teardown(packages_and_cells_are_no_quantities, set_up, tear_down),
        cmocka_unit_test_setup_teardown(four_cells_and_a_part_placed_by_two_pins, set_up, tear_down),
        cmocka_unit_test_setup_teardown(qualifiers_stand_anywhere, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_board_is_measured_in_any_length, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_reading_takes_the_unit_of_its_function, set_up, tear_down),
        cmocka_unit_test_setup_teardown(days_are_days_of_the_calendar, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_nearest_right_spelling_is_named, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_copper_is_said_by_places_on_a_board, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_mark_is_on_a_board_or_on_a_photo, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_place_stands_where_a_pin_may, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_is_wrong_about_copper_is_said, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_is_wrong_is_said, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_strike_voids_a_line_before_or_after_it, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_strike_can_be_struck_by_a_later_one, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_strike_of_nothing_is_a_problem, set_up, tear_down),
        cmocka_unit_test_setup_teardown(every_example_of_the_document_is_a_note, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_first_block_is_a_whole_teardown, set_up, tear_down),
        cmocka_unit_test_setup_teardown(windows_files_and_missing_newlines_lose_nothing, set_up, tear_down),
        cmocka_unit_test_setup_teardown(bad_bytes_are_refused_where_they_stand, set_up, tear_down),
        cmocka_unit_test_setup_teardown(lines_of_a_megabyte_and_too_many_pins_are_refused, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_hundred_thousand_lines_are_read_and_bad_ones_counted, set_up, tear_down),
    };
    return cmocka_run_group_tests_name("note", tests, NULL, NULL);
}
