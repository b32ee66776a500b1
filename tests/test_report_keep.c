/* report: a folder opened over and over with what was kept of the last time says the same as one opened anew. */
#include "tests/check.h"

#include "base/file.h"
#include "report/report.h"

#include <stdlib.h>
#include <sys/stat.h>

typedef struct Folder {
    Arena *arena;
    char path[64];
    ReportKeep *keep;
} Folder;

static int set_up(void **state) {
    static Folder folder;
    folder = (Folder){.arena = arena_new(), .path = "/tmp/unpick-keep-XXXXXX", .keep = report_keep_new()};
    *state = &folder;
    return mkdtemp(folder.path) == NULL;
}

static int wipe(void **state) {
    Folder *folder = *state;
    report_keep_free(folder->keep);
    int gone = system(text_fmt(folder->arena, "rm -rf '%s'", folder->path).at);
    arena_free(folder->arena);
    return gone;
}

static void write(Folder *folder, const char *name, const char *content) {
    const char *path = text_fmt(folder->arena, "%s/%s", folder->path, name).at;
    assert_true(file_write(path, text_of(content)));
}

/* What it says of the folder, with the problems; kept: with what was kept. `teardown` is closed unless given. */
static Text told(Folder *folder, bool kept, ReportTeardown *still_open) {
    ReportTeardown teardown;
    Diags problems = diags_new(folder->arena);
    Out out = out_new(folder->arena);
    ReportBefore before = {.keep = kept ? folder->keep : NULL};
    if (report_open_after(folder->arena, folder->path, NULL, before, &teardown, &problems)) {
        report_look(&out, teardown.reasoning, (ReportStyle){.columns = 100});
        if (still_open == NULL)
            report_close(&teardown);
        else
            *still_open = teardown;
    }
    diags_print(&out, &problems);
    return out_text(&out);
}

/* Twice, since only the second time is anything kept. */
static Text told_alike(Folder *folder) {
    Text anew = told(folder, false, NULL);
    for (int times = 0; times < 2; times++) assert_true(text_same(told(folder, true, NULL), anew));
    return anew;
}

static bool says(Text text, const char *what) { return text_find(text, text_of(what)) != SIZE_MAX; }

static const char OWN_RULE[] = "idiom \"two resistors in a row\"\n"
                               "  block clock\n"
                               "  needs A resistor\n"
                               "  needs B resistor\n"
                               "  joined A.2 B.1\n"
                               "  says \"{A} and {B} stand in a row.\"\n";

static void a_new_rule_and_a_new_part_are_seen(void **state) {
    Folder *folder = *state;
    write(folder, "notes.txt", "part R1 0805 10k\npart R2 0805 1k\njoin R1.2 R2.1\npart U1 SOT-23 marked \"ZZ9431\"\n");
    Text before = told_alike(folder);
    assert_false(says(before, "stand in a row") || says(before, "thermostat"));
    assert_int_equal(mkdir(text_fmt(folder->arena, "%s/lore", folder->path).at, 0777), 0);
    write(folder, "lore/own.lore", OWN_RULE);
    assert_true(says(told_alike(folder), "stand in a row"));
    write(folder, "shelf.csv", "name,kind,about\nZZ9431,chip,an invented thermostat\n");
    assert_true(says(told_alike(folder), "invented thermostat"));
}

static void a_teardown_outlives_what_was_kept_for_it(void **state) {
    Folder *folder = *state;
    ReportTeardown first;
    write(folder, "notes.txt", "part R1 0805 10k\npart R2 0805 1k\njoin R1.2 R2.1\n");
    Text anew = told(folder, true, &first);
    write(folder, "shelf.csv",
          "name,kind,about\nZZ9431,chip,an invented thermostat\n"); /* another shelf, another keeping */
    told_alike(folder);
    report_keep_free(folder->keep);
    folder->keep = NULL;
    Out out = out_new(folder->arena);
    report_look(&out, first.reasoning, (ReportStyle){.columns = 100});
    assert_true(text_same(out_text(&out), anew));
    assert_non_null(mark_package(first.knows.marks, TEXT("SOT-23")));
    report_close(&first);
}

static void problems_of_the_lore_are_told_each_time(void **state) {
    Folder *folder = *state;
    write(folder, "notes.txt", "part R1 0805 10k\n");
    assert_int_equal(mkdir(text_fmt(folder->arena, "%s/lore", folder->path).at, 0777), 0);
    write(folder, "lore/bad.lore", "idiom \"nothing\"\n  nonsense here\n");
    assert_true(says(told_alike(folder), "bad.lore:2"));
    write(folder, "shelf.csv", "name,kind\n\"never ended\n");
    assert_true(says(told_alike(folder), "shelf.csv")); /* nothing can be kept of that */
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_new_rule_and_a_new_part_are_seen, set_up, wipe),
        cmocka_unit_test_setup_teardown(a_teardown_outlives_what_was_kept_for_it, set_up, wipe),
        cmocka_unit_test_setup_teardown(problems_of_the_lore_are_told_each_time, set_up, wipe),
    };
    return cmocka_run_group_tests_name("report_keep", tests, NULL, NULL);
}
