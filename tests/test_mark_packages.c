/* mark: package outlines. Their figures are from memory of the registrations named in lore/packages.lore; the checks here
 * are on the geometry that follows from them and on what a caliper would say. */
#include "tests/marks_fixture.h"

static const MarkPackage *package(const char *name) {
    const MarkPackage *found = mark_package(marks, text_of(name));
    if (found == NULL) fail_msg("no package %s", name);
    return found;
}

static void assert_pin(const MarkPackage *p, const char *number, double x, double y) {
    for (uint32_t i = 0; i < p->pin_count; i++) {
        if (!text_is(p->pins[i].number, number)) continue;
        if (fabs(p->pins[i].x - x) > 1e-9 || fabs(p->pins[i].y - y) > 1e-9)
            fail_msg("pin %s is at %g,%g", number, p->pins[i].x, p->pins[i].y);
        return;
    }
    fail_msg("no pin %s", number);
}

static void every_outline_has_its_source_and_fits_itself(void **state) {
    (void)state;
    size_t count;
    const MarkPackage *all = mark_packages(marks, &count);
    assert_true(count >= 75);
    for (size_t k = 0; k < count; k++) {
        const MarkPackage *p = &all[k];
        if (p->source.len == 0 || p->body_length <= 0 || p->body_width <= 0 || p->leads == 0)
            fail_msg("%.*s", TEXT_ARG(p->name));
        if (mark_package(marks, p->name) != p) fail_msg("%.*s is not found by its name", TEXT_ARG(p->name));
        for (uint32_t i = 0; i < p->alias_count; i++)
            if (mark_package(marks, p->aliases[i]) != p) fail_msg("%.*s is another's too", TEXT_ARG(p->aliases[i]));
        for (uint32_t i = 0; i < p->pin_count; i++) {
            double most = fmax(fmax(p->body_length, p->body_width), fmax(p->span, p->span_length)) / 2 + 0.05;
            bool bent = text_starts(p->style, "axial"); /* the leads of a lying body are bent beyond it */
            if (!bent && (fabs(p->pins[i].x) > most || fabs(p->pins[i].y) > most))
                fail_msg("%.*s: pin %.*s lies outside", TEXT_ARG(p->name), TEXT_ARG(p->pins[i].number));
            for (uint32_t j = 0; j < i; j++)
                if (text_same(p->pins[i].number, p->pins[j].number))
                    fail_msg("%.*s: two pins of one number", TEXT_ARG(p->name));
        }
    }
}

/* Two rows or four: seen from above, the numbers run anticlockwise (IPC-7351, from memory), y pointing down. */
static void numbers_run_anticlockwise(void **state) {
    (void)state;
    size_t count;
    const MarkPackage *all = mark_packages(marks, &count);
    for (size_t k = 0; k < count; k++) {
        const MarkPackage *p = &all[k];
        if (!text_is(p->style, "dual") && !text_is(p->style, "quad") && !text_is(p->style, "sot")) continue;
        double turned = 0;
        for (uint32_t i = 0; i + 1 < p->leads; i++)
            turned += p->pins[i].x * p->pins[i + 1].y - p->pins[i + 1].x * p->pins[i].y;
        if (turned >= 0) fail_msg("%.*s runs clockwise", TEXT_ARG(p->name));
    }
}

static void pins_stand_where_the_outline_says(void **state) {
    (void)state;
    const MarkPackage *so8 = package("SOP-8");
    double x = (6.0 - 0.85) / 2;
    assert_pin(so8, "1", -x, -1.905);
    assert_pin(so8, "4", -x, 1.905);
    assert_pin(so8, "5", x, 1.905);
    assert_pin(so8, "8", x, -1.905);
    assert_pin(package("SOT-23"), "3", (2.4 - 0.45) / 2, 0);
    assert_pin(package("SOT-23"), "1", -(2.4 - 0.45) / 2, -0.95);
    assert_pin(package("SOT-23-5"), "5", (2.8 - 0.45) / 2, -0.95);
    assert_pin(package("0805"), "1", -0.8, 0);
    assert_pin(package("TO-92"), "3", 1.27, 0);
    assert_pin(package("DIP-8"), "8", 3.81, -3.81);
    assert_pin(package("LQFP-48"), "1", -4.2, -2.75);
    assert_pin(package("LQFP-48"), "13", -2.75, 4.2);
    assert_pin(package("LQFP-48"), "48", -2.75, -4.2);
    assert_pin(package("ESOP-8"), "EP", 0, 0);
    assert_pin(package("BGA-24"), "A2", -1, -2);
    assert_int_equal(package("BGA-24")->leads, 24);
    assert_int_equal(package("ESOP-8")->leads, 8);
    assert_int_equal(package("SOT-223")->leads, 3);
}

static void names_are_taken_as_people_write_them(void **state) {
    (void)state;
    const char *const spellings[] = {"SO8", "SO-8", "so-8", "SOIC8", "soic-8", "SOP 8", "sop8", "SOP_8"};
    for (size_t i = 0; i < sizeof spellings / sizeof spellings[0]; i++)
        assert_ptr_equal(package(spellings[i]), package("SOP-8"));
    assert_ptr_equal(package("dpak"), package("TO-252"));
    assert_ptr_equal(package("SC-70"), package("SOT-323"));
    assert_ptr_equal(package("hc49/u"), package("HC-49"));
    assert_null(mark_package(marks, TEXT("SOP-9")));
    assert_null(mark_package(marks, TEXT("")));
    assert_null(mark_package(marks, TEXT("---")));
}

static MarkMeasured measured(const char *body, const char *pitch, const char *leads) {
    MarkMeasured m = {0};
    Diags diags = diags_new(arena);
    if (body != NULL) assert_true(mark_measure(TEXT("body"), text_of(body), &m, &diags));
    if (pitch != NULL) assert_true(mark_measure(TEXT("pitch"), text_of(pitch), &m, &diags));
    if (leads != NULL) assert_true(mark_measure(TEXT("leads"), text_of(leads), &m, &diags));
    return m;
}

static void assert_first(const char *expected, MarkMeasured m) {
    MarkFit fits[5];
    size_t count = mark_package_rank(arena, marks, m, fits, 5);
    if (count == 0 || fits[0].package != package(expected))
        fail_msg("%.*s instead of %s", TEXT_ARG(count > 0 ? fits[0].package->name : TEXT("nothing")), expected);
    for (size_t i = 1; i < count; i++) assert_true(fits[i - 1].decibans >= fits[i].decibans);
}

/* What a caliper reads, off by a tenth or measured over the leads, still finds the package. */
static void measurements_rank_packages(void **state) {
    (void)state;
    assert_first("SOP-8", measured("5.0x6.2mm", "1.27mm", "8"));
    assert_first("SOP-8", measured("6.2 x 5.0 mm", "50mil", "8"));
    assert_first("SOP-8", measured("4.9x3.9mm", "1.27mm", "8"));
    assert_first("SOIC-8W", measured("5.2x8.0mm", "1.27mm", "8"));
    assert_first("SOIC-8W", measured("5.3x5.2mm", "1.27mm", "8"));
    assert_first("SOT-23", measured("2.9x1.3mm", NULL, "3"));
    assert_first("SOT-23-6", measured("2.9x2.8mm", "0.95mm", "6"));
    assert_first("TSSOP-20", measured("6.5x6.4mm", "0.65mm", "20"));
    assert_first("LQFP-48", measured("9x9mm", "0.5mm", "48"));
    assert_first("QFN-32 5x5", measured("5x5mm", "0.5mm", "32"));
    assert_first("0805", measured("2.0x1.25mm", NULL, "2"));
    assert_first("DIP-8", measured("9.4x6.4mm", "2.54mm", "8"));
    assert_first("SOT-223", measured("6.5x7.0mm", "2.3mm", "3"));
    MarkFit fits[3];
    assert_int_equal(mark_package_rank(arena, marks, measured("500x500mm", "9mm", NULL), fits, 3), 0);
    assert_int_equal(mark_package_rank(arena, marks, measured("5x6mm", NULL, NULL), fits, 0), 0);
}

static void each_outline_measured_exactly_is_among_the_first_three(void **state) {
    (void)state;
    size_t count;
    const MarkPackage *all = mark_packages(marks, &count);
    for (size_t k = 0; k < count; k++) {
        const MarkPackage *p = &all[k];
        MarkMeasured m = {p->body_length, p->body_width, p->body_height, p->pitch, p->span, p->leads};
        MarkFit fits[3];
        size_t found = mark_package_rank(arena, marks, m, fits, 3);
        bool there = false;
        for (size_t i = 0; i < found; i++) there |= fits[i].package == p;
        if (!there) fail_msg("%.*s", TEXT_ARG(p->name));
    }
}

static void a_wrong_measurement_is_refused_with_what_was_expected(void **state) {
    (void)state;
    static const char *const bad[][2] = {{"body", "5.0x6.2"},   {"body", "5"},     {"body", "axb mm"},
                                         {"body", "5x6x7x8mm"}, {"pitch", "1.27"}, {"pitch", "1.27 V"},
                                         {"pitch", "-1mm"},     {"leads", "8.5"},  {"leads", "0"},
                                         {"leads", "many"},     {"girth", "5mm"},  {"body", ""}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        MarkMeasured m = {0};
        Diags diags = diags_new(arena);
        if (mark_measure(text_of(bad[i][0]), text_of(bad[i][1]), &m, &diags))
            fail_msg("%s %s was taken", bad[i][0], bad[i][1]);
        assert_int_equal(diags.list.count, 1);
        assert_true(diags.list.at[0].expected.len > 0);
    }
}

static const Diag *problem_with(const char *content) {
    Arena *own = arena;
    Lore *lore = lore_new(own);
    lore_add_builtin(lore);
    uint32_t before = lore->problems.list.count;
    lore_add_text(lore, TEXT("own.lore"), text_of(content));
    marks_new(own, lore);
    return lore->problems.list.count > before ? &lore->problems.list.at[before] : NULL;
}

static void a_wrong_outline_is_told_with_its_place(void **state) {
    (void)state;
    const Diag *diag = problem_with("package \"A\"\n  dual 8 pitch 1.27 V span 6 mm\n  body 4.9 x 3.9 mm\n");
    assert_non_null(diag);
    assert_int_equal(diag->place.line, 2);
    assert_int_equal(diag->place.column, 16);
    assert_non_null(problem_with("package \"A\"\n  dual 7 pitch 1.27 mm span 6 mm\n  body 4.9 x 3.9 mm\n"));
    assert_non_null(problem_with("package \"A\"\n  body 4.9 x 3.9 mm\n"));
    assert_non_null(problem_with("package \"A\"\n  dual 8 pitch 1.27 mm span 6 mm\n"));
    assert_non_null(problem_with("package \"A\"\n  colour red\n"));
    assert_non_null(problem_with("package \"A\"\n  dual 99999999 pitch 1 mm\n"));
    assert_null(problem_with("package \"A\"\n  dual 8 pitch 1.27 mm span 6 mm\n  body 4.9 x 3.9 mm\n  source \"own\"\n"));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_outline_has_its_source_and_fits_itself),
        cmocka_unit_test(numbers_run_anticlockwise),
        cmocka_unit_test(pins_stand_where_the_outline_says),
        cmocka_unit_test(names_are_taken_as_people_write_them),
        cmocka_unit_test(measurements_rank_packages),
        cmocka_unit_test(each_outline_measured_exactly_is_among_the_first_three),
        cmocka_unit_test(a_wrong_measurement_is_refused_with_what_was_expected),
        cmocka_unit_test(a_wrong_outline_is_told_with_its_place),
    };
    return cmocka_run_group_tests_name("mark packages", tests, set_up, tear_down);
}
