/* The library by its one header: what it gives of the demo, and what it says when there is nothing to give. */
#include "tests/check.h"

#include "unpick.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

static void tells_the_demo(void **state) {
    (void)state;
    Unpick *bench = unpick_open("demo/dispenser", NULL);
    assert_string_equal(unpick_problems(bench), "");
    assert_non_null(strstr(unpick_look(bench, 80), "How it works"));
    assert_non_null(strstr(unpick_json(bench), "\"hazards\""));
    assert_non_null(strstr(unpick_html(bench), "</html>"));
    assert_non_null(strstr(unpick_why(bench, "Q1"), "Q1"));
    assert_null(unpick_why(bench, "no-such-claim"));
    unpick_close(bench);
}

static void answers_without_a_folder(void **state) {
    (void)state;
    Unpick *bench = unpick_open(NULL, NULL);
    assert_non_null(strstr(unpick_mark(bench, "4k7", NULL), "resistor")); /* IEC 60062 */
    assert_non_null(strstr(unpick_mark(bench, "CR2032", "cell"), "lithium")); /* IEC 60086 */
    assert_non_null(strstr(unpick_find(bench, "LM3S8", NULL), "LM358"));
    assert_null(unpick_look(bench, 80));
    assert_null(unpick_json(bench));
    assert_null(unpick_html(bench));
    assert_null(unpick_why(bench, "Q1"));
    unpick_close(bench);
    unpick_close(NULL);
}

static void says_why_a_folder_can_not_be_read(void **state) {
    (void)state;
    Unpick *bench = unpick_open("tests/no-such-folder", NULL);
    assert_non_null(strstr(unpick_problems(bench), "no-such-folder"));
    assert_null(unpick_json(bench));
    assert_null(unpick_mark(bench, "4k7", NULL));
    unpick_close(bench);
}

static void notes_or_says_what_was_expected(void **state) {
    (void)state;
    char folder[] = "/tmp/unpick-library-XXXXXX", notes[64], problem[512], cut[8];
    assert_non_null(mkdtemp(folder));
    snprintf(notes, sizeof notes, "%s/notes.txt", folder);
    fclose(fopen(notes, "w"));
    assert_true(unpick_note(folder, "part R1 0805 marked \"102\"", problem, sizeof problem));
    assert_string_equal(problem, "");
    assert_false(unpick_note(folder, "prat R2 0805", problem, sizeof problem));
    assert_non_null(strstr(problem, "`part`"));
    assert_false(unpick_note(folder, "prat R2 0805", cut, sizeof cut)); /* cut to fit */
    assert_int_equal(strlen(cut), sizeof cut - 1);
    assert_false(unpick_note(folder, "prat R2 0805", NULL, 0));
    Unpick *bench = unpick_open(folder, NULL);
    assert_non_null(strstr(unpick_json(bench), "\"R1\""));
    assert_null(strstr(unpick_json(bench), "\"R2\""));
    unpick_close(bench);
    unlink(notes);
    rmdir(folder);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tells_the_demo),
        cmocka_unit_test(answers_without_a_folder),
        cmocka_unit_test(says_why_a_folder_can_not_be_read),
        cmocka_unit_test(notes_or_says_what_was_expected),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
