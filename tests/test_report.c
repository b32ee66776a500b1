/* report: the teardown told on the terminal, and the tally behind a claim. */
#include "tests/report_fixture.h"

#include "report/paper.h"
#include "report/words.h"

static Text look(Teardown *t, uint32_t columns, bool colour) {
    Out out = out_new(t->arena);
    report_look(&out, t->reasoning, (ReportStyle){columns, colour});
    return out_text(&out);
}

static Text why(Teardown *t, const char *what) {
    Out out = out_new(t->arena);
    report_why(&out, t->reasoning, text_of(what), (ReportStyle){100, false});
    return out_text(&out);
}

/* The same with every line break and the margin after it as one blank: what is told, whatever the width. */
static Text look_flat(Teardown *t) {
    Text text = look(t, 100, false);
    Out flat = out_new(t->arena);
    for (size_t i = 0; i < text.len; i++) {
        bool blank = text.at[i] == '\n' || text.at[i] == ' ';
        if (!blank)
            out_char(&flat, text.at[i]);
        else if (flat.len > 0 && flat.at[flat.len - 1] != ' ')
            out_char(&flat, ' ');
    }
    return out_text(&flat);
}

static bool holds(Text text, const char *part) { return text_find(text, text_of(part)) != SIZE_MAX; }

static void assert_holds(Text text, const char *part) {
    if (!holds(text, part)) fail_msg("not told: %s\nin: %.*s", part, TEXT_ARG(text));
}

/* The first line of `text`, taken off it. */
static Text next_line(Text *text) {
    size_t end = text_find(*text, TEXT("\n"));
    Text line = text_sub(*text, 0, end);
    *text = end == SIZE_MAX ? (Text){"", 0} : text_sub(*text, end + 1, text->len);
    return line;
}

/* Unicode Standard Annex #11: ideographs are wide; combining marks (category Mn) take no column of their own. */
static void width_is_counted_in_columns(void **state) {
    (void)state;
    assert_int_equal(paper_width(TEXT("4.7 k\xCE\xA9")), 6);
    assert_int_equal(paper_width(TEXT("\xE9\x9B\xBB")), 2);
    assert_int_equal(paper_width(TEXT("e\xCC\x81")), 1);
    assert_int_equal(paper_width(TEXT("\xF0\x9F\x94\x8B")), 2);
}

static void no_line_is_wider_than_the_terminal(void **state) {
    (void)state;
    Teardown t = teardown_of(FIXTURE_NOTES, FIXTURE_LORE);
    const uint32_t widths[] = {32, 40, 60, 80, 100, 160};
    for (size_t i = 0; i < sizeof widths / sizeof *widths; i++) {
        Text text = look(&t, widths[i], false);
        while (text.len > 0) {
            Text line = next_line(&text);
            if (paper_width(line) > widths[i]) fail_msg("wider than %u: %.*s", widths[i], TEXT_ARG(line));
        }
    }
    teardown_end(&t);
}

static void a_figure_keeps_its_unit(void **state) {
    (void)state;
    Arena *arena = arena_new();
    for (uint32_t columns = 32; columns < 64; columns++) {
        Out out = out_new(arena);
        Paper paper = paper_new(&out, (ReportStyle){columns, false});
        for (int i = 0; i < 30; i++) paper_fmt(&paper, "R%d lets 52 mA, then 4.7 k\xCE\xA9 (87 %%) go. ", i);
        paper_flow(&paper, 0, 2);
        Text text = out_text(&out);
        assert_false(holds(text, "52\n") || holds(text, "4.7\n") || holds(text, "87\n"));
    }
    arena_free(arena);
}

static void a_word_longer_than_the_line_is_cut(void **state) {
    (void)state;
    Arena *arena = arena_new();
    Out out = out_new(arena);
    Paper paper = paper_new(&out, (ReportStyle){40, false});
    for (int i = 0; i < 100; i++) paper_fmt(&paper, "\xC3\xA9");
    paper_flow(&paper, 0, 0);
    assert_int_equal(paper_width(out_text(&out)), 100);
    assert_int_equal(text_bad_byte(out_text(&out)), out.len);
    arena_free(arena);
}

/* The person who opens it must read what can hurt before anything else, and what to do next at the end. */
static void hazards_come_first_and_questions_last(void **state) {
    (void)state;
    Teardown t = teardown_of(FIXTURE_NOTES, FIXTURE_LORE);
    Text text = look(&t, 100, false);
    const char *const order[] = {"Before you open it",
                                 "BT1 can give some amperes.",
                                 "Take the cells out first.",
                                 "How it works",
                                 "Power.",
                                 "BT1 feeds the board.",
                                 "Motion.",
                                 "Q1 switches;",
                                 "Parts\n",
                                 "Left out to save money",
                                 "Contradictions",
                                 "Open questions"};
    for (size_t i = 0; i < sizeof order / sizeof *order; i++) {
        size_t at = text_find(text, text_of(order[i]));
        if (at == SIZE_MAX) fail_msg("after what was told there is no \"%s\"", order[i]);
        text = text_sub(text, at, text.len);
    }
    teardown_end(&t);
}

static void every_sentence_says_how_sure_and_where_to_ask(void **state) {
    (void)state;
    Teardown t = teardown_of(FIXTURE_NOTES, FIXTURE_LORE);
    Text text = look(&t, 1000, false);
    for (uint32_t i = 0; i < t.reasoning->claims.count; i++)
        assert_holds(text, text_cstring(t.arena, text_fmt(t.arena, "why: %.*s)", TEXT_ARG(t.reasoning->claims.at[i].id))));
    assert_false(holds(text, "100 %"));
    teardown_end(&t);
}

static void a_guess_is_not_told_as_a_fact(void **state) {
    (void)state;
    Teardown t = teardown_of(FIXTURE_NOTES, FIXTURE_LORE);
    assert_true(claim_with_id(&t, "doubtful-thing:C1")->p < 0.5);
    assert_holds(look_flat(&t), "Less likely than not: C1 holds the supply up.");
    teardown_end(&t);
}

static void a_contradiction_quotes_every_line(void **state) {
    (void)state;
    Teardown t = teardown_of(FIXTURE_NOTES, FIXTURE_LORE);
    Text text = look(&t, 100, false);
    assert_holds(text, "line 20   join U1.2 U1.3\n");
    assert_holds(text, "line 21   apart U1.2 U1.3 by meter\n");
    teardown_end(&t);
}

static void parts_stand_in_counting_order(void **state) {
    (void)state;
    Teardown t = teardown_of(FIXTURE_NOTES, FIXTURE_LORE);
    const Story *story = story_of(t.arena, t.reasoning);
    const char *const refs[] = {"BT1", "C1", "M1", "Q1", "R1", "R2", "R10", "U1"};
    assert_int_equal(story->parts.count, sizeof refs / sizeof *refs);
    for (uint32_t i = 0; i < story->parts.count; i++)
        assert_true(text_is(t.bench->parts.at[story->parts.at[i].part].ref, refs[i]));
    assert_int_equal(story->step_count, 2);
    assert_int_equal(story->steps[0]->step.number, 1); /* however they were written down */
    teardown_end(&t);
}

/* ECMA-48: ESC begins a control function; a marking asked for, or a note, must not steer the reader's terminal. U+202E
 * turns the writing direction (Unicode Standard Annex #9). */
static void no_control_character_reaches_the_terminal(void **state) {
    (void)state;
    Teardown t = teardown_of(FIXTURE_NOTES, FIXTURE_LORE);
    assert_holds(look_flat(&t), "ground off \xEF\xBF\xBD");
    Out out = out_new(t.arena);
    report_mark(&out, TEXT("4\x1B[2J\x9B\xC2\x9B"), (MarkReadings){0}, (ReportStyle){100, false});
    Text text = out_text(&out);
    assert_holds(text, "4\xEF\xBF\xBD[2J\xEF\xBF\xBD\xEF\xBF\xBD");
    for (size_t i = 0; i < text.len; i++) assert_true((unsigned char)text.at[i] >= 0x20 || text.at[i] == '\n');
    teardown_end(&t);
}

/* ECMA-48, 8.3.117 (SGR): taken away, the coloured text is the plain one; no line leaves the terminal coloured. */
static void colour_changes_nothing_but_colour(void **state) {
    (void)state;
    Teardown t = teardown_of(FIXTURE_NOTES, FIXTURE_LORE);
    Text plain = look(&t, 80, false), coloured = look(&t, 80, true);
    Out stripped = out_new(t.arena);
    bool on = false;
    for (size_t i = 0; i < coloured.len; i++) {
        if (coloured.at[i] == '\n') assert_false(on);
        if (coloured.at[i] != '\x1B') {
            out_char(&stripped, coloured.at[i]);
            continue;
        }
        size_t end = i;
        while (coloured.at[end] != 'm') end++;
        on = !text_same(text_sub(coloured, i, end - i), TEXT("\x1B[0"));
        i = end;
    }
    assert_true(coloured.len > plain.len);
    assert_int_equal(stripped.len, plain.len);
    assert_memory_equal(stripped.at, plain.at, plain.len);
    teardown_end(&t);
}

static void why_lists_the_tally(void **state) {
    (void)state;
    Teardown t = teardown_of(FIXTURE_NOTES, FIXTURE_LORE);
    const ReasonClaim *claim = claim_with_id(&t, "switch-to-ground:Q1");
    Text text = why(&t, "switch-to-ground:Q1");
    for (uint32_t i = 0; i < claim->because_count; i++) {
        assert_holds(text, text_cstring(t.arena, text_sub(claim->because[i].says, 0, 40)));
        Text weight = words_decibans(t.arena, claim->because[i].decibans);
        if (claim->because[i].decibans != 0) assert_holds(text, text_cstring(t.arena, weight));
        for (uint32_t k = 0; k < claim->because[i].line_count; k++) {
            Text quote = words_quote(t.arena, t.notebook, claim->because[i].lines[k]);
            assert_true(quote.len > 0);
            assert_true(text_find(text, text_sub(quote, 0, 20)) != SIZE_MAX);
        }
    }
    assert_holds(text, "in all: ");
    assert_holds(text, "base-current = ");
    assert_holds(text, "by (v(supply) - vbe(Q)) / RB (Ohm's law)");
    assert_holds(text, "No diode across the coil.");
    teardown_end(&t);
}

static void why_takes_a_part_or_a_pin(void **state) {
    (void)state;
    Teardown t = teardown_of(FIXTURE_NOTES, FIXTURE_LORE);
    assert_holds(why(&t, "Q1"), "switch-to-ground:Q1");
    assert_false(holds(why(&t, "Q1"), "cells-feed-the-board:BT1"));
    assert_holds(why(&t, "U1.5"), "drives-a-switch:U1");
    assert_holds(why(&t, ""), "cells-feed-the-board:BT1");
    teardown_end(&t);
}

static void why_names_the_nearest_when_it_knows_nothing(void **state) {
    (void)state;
    Teardown t = teardown_of(FIXTURE_NOTES, FIXTURE_LORE);
    Out out = out_new(t.arena);
    assert_false(report_why(&out, t.reasoning, TEXT("swich-to-ground:Q1"), (ReportStyle){100, false}));
    assert_holds(out_text(&out), "switch-to-ground:Q1");
    assert_holds(why(&t, "switch"), "switch-to-ground:Q1");
    assert_holds(why(&t, "zzz"), "none near to it");
    teardown_end(&t);
}

static void an_empty_notebook_is_told_too(void **state) {
    (void)state;
    Teardown t = teardown_of("", FIXTURE_LORE);
    assert_holds(look(&t, 100, false), "A product without a name");
    assert_holds(look(&t, 100, false), "No circuit is recognised yet");
    assert_holds(why(&t, ""), "Nothing is claimed yet");
    teardown_end(&t);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(width_is_counted_in_columns),
        cmocka_unit_test(no_line_is_wider_than_the_terminal),
        cmocka_unit_test(a_figure_keeps_its_unit),
        cmocka_unit_test(a_word_longer_than_the_line_is_cut),
        cmocka_unit_test(hazards_come_first_and_questions_last),
        cmocka_unit_test(every_sentence_says_how_sure_and_where_to_ask),
        cmocka_unit_test(a_guess_is_not_told_as_a_fact),
        cmocka_unit_test(a_contradiction_quotes_every_line),
        cmocka_unit_test(parts_stand_in_counting_order),
        cmocka_unit_test(no_control_character_reaches_the_terminal),
        cmocka_unit_test(colour_changes_nothing_but_colour),
        cmocka_unit_test(why_lists_the_tally),
        cmocka_unit_test(why_takes_a_part_or_a_pin),
        cmocka_unit_test(why_names_the_nearest_when_it_knows_nothing),
        cmocka_unit_test(an_empty_notebook_is_told_too),
    };
    return cmocka_run_group_tests_name("report", tests, NULL, NULL);
}
