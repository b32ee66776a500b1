/* shelf: the built-in parts and the search by marking. */
#include "tests/check.h"

#include "base/names.h"
#include "shelf/shelf.h"

static Arena *arena;
static Lore *lore;
static Shelf *shelf;

static int open_builtin(void **state) {
    (void)state;
    arena = arena_new();
    lore = lore_new(arena);
    lore_add_builtin(lore);
    Diags problems = diags_new(arena);
    shelf = shelf_open(arena, lore, NULL, &problems);
    assert_non_null(shelf);
    assert_int_equal(problems.list.count, 0);
    return 0;
}

static int close_builtin(void **state) {
    (void)state;
    shelf_close(shelf);
    arena_free(arena);
    return 0;
}

static ShelfMatch best(const char *marking, const char *package) {
    ShelfMatch match = {0};
    ShelfQuery query = {.marking = text_of(marking), .package = text_of(package)};
    assert_int_equal(shelf_find(shelf, arena, query, &match, 1), 1);
    return match;
}

static void says(const char *marking, const char *package, const char *part, const char *differs) {
    ShelfMatch match = best(marking, package);
    if (!text_is(match.part->name, part) || !text_is(match.differs, differs))
        fail_msg("%s: found %.*s (%.*s), expected %s (%s)", marking, TEXT_ARG(match.part->name), TEXT_ARG(match.differs),
                 part, differs);
}

static void every_builtin_part_reads_cleanly(void **state) {
    (void)state;
    for (uint32_t i = 0; i < shelf_count(shelf); i++) shelf_at(shelf, i);
    Out out = out_new(arena);
    diags_print(&out, &lore->problems);
    if (lore->problems.list.count > 0) fail_msg("%.*s", TEXT_ARG(out_text(&out)));
}

static void every_builtin_part_answers_to_its_name(void **state) {
    (void)state;
    for (uint32_t i = 0; i < shelf_count(shelf); i++) {
        const ShelfPart *part = shelf_at(shelf, i);
        if (shelf_part(shelf, part->name) != part) fail_msg("%.*s is there twice", TEXT_ARG(part->name));
        assert_true(text_is(part->source, "general knowledge"));
        assert_true(part->about.len > 0);
    }
}

/* Pin lists and units of one part must speak of the same body: each pin once, and every unit's pins among them. */
static void pins_are_numbered_once_and_units_use_them(void **state) {
    (void)state;
    for (uint32_t i = 0; i < shelf_count(shelf); i++) {
        const ShelfPart *part = shelf_at(shelf, i);
        Names *numbers = names_new(arena);
        for (uint32_t k = 0; k < part->pin_count; k++)
            if (names_add(numbers, part->pins[k].number) != k) fail_msg("%.*s: pin %u", TEXT_ARG(part->name), k);
        for (uint32_t u = 0; u < part->unit_count; u++)
            for (uint32_t k = 0; k < part->units[u].pin_count; k++)
                if (names_find(numbers, part->units[u].pins[k].number) == NAME_NONE)
                    fail_msg("%.*s: unit %u", TEXT_ARG(part->name), u);
        if (part->leads != 0 && part->pin_count > part->leads + 1) /* a tab may be numbered too */
            fail_msg("%.*s has %u pins, its body %u", TEXT_ARG(part->name), part->pin_count, part->leads);
    }
}

/* From memory: the fixed regulators say their volts in their last digits, EEPROMs their kilobits. */
static void families_say_what_their_digits_mean(void **state) {
    (void)state;
    const ShelfPart *part = shelf_part(shelf, TEXT("LM7805"));
    assert_non_null(part);
    assert_true(text_is(part->name, "7805"));
    assert_true(text_is(part->properties[0].name, "vout"));
    assert_near(part->properties[0].value.value, 5);
    assert_true(text_is(part->about, "fixed positive regulator, 5 V, 1 A (78M: 0.5 A)"));
    part = shelf_part(shelf, TEXT("24c02"));
    assert_near(part->properties[0].value.value, 2 * 1024);
    assert_true(text_is(part->pins[4].function, "SDA"));
    assert_near(shelf_part(shelf, TEXT("BZT52C5V1"))->properties[0].value.value, 5.1);
    assert_near(shelf_part(shelf, TEXT("1N4733"))->properties[0].value.value, 5.1);
    assert_int_equal(shelf_part(shelf, TEXT("74HC14"))->unit_count, 6);
    assert_near(shelf_part(shelf, TEXT("74HCT00"))->supply.low, 4.5);
    assert_null(shelf_part(shelf, TEXT("7807")));
}

/* Body codes of the trade, from memory; the package decides between those that several share. */
static void body_codes_and_packages(void **state) {
    (void)state;
    says("1AM", "SOT-23", "MMBT3904", "");
    says("2TY", "SOT-23", "MMBT8550", "");
    says("702", "SOT-23", "2N7002", "");
    says("A1SHB", "SOT-23-3", "SI2301", "");
    says("A7", "SOT-23", "BAV99", "");
    says("T4", "SOD-123", "1N4148W", "");
    says("1F", "SOT-363", "BC847BS", "");
    says("1F", "SOT-23", "BC847B", "");
    ShelfMatch match = best("8205A", "TSSOP-8"), other = best("8205A", "SOT-23-6");
    assert_true(text_is(match.part->name, "8205A"));
    assert_true(text_is(other.part->name, "8205S"));
    assert_true(other.by_code);
}

static void pin_count_narrows(void **state) {
    (void)state;
    ShelfMatch eight, fourteen;
    assert_int_equal(shelf_find(shelf, arena, (ShelfQuery){.marking = TEXT("LM3?8"), .pins = 8}, &eight, 1), 1);
    assert_int_equal(eight.part->leads, 8);
    assert_int_equal(shelf_find(shelf, arena, (ShelfQuery){.marking = TEXT("LM3?8"), .pins = 14}, &fourteen, 1), 1);
    assert_int_equal(fourteen.part->leads, 14);
}

/* A body says a maker, a part number and a date; only one of the lines is a part number. */
static void the_part_number_among_other_words(void **state) {
    (void)state;
    says("LM358 2314", "", "LM358", "");
    says("AB LM35B", "", "LM358", "8th: 8 read as B");
}

static void too_little_is_nothing(void **state) {
    (void)state;
    ShelfMatch match;
    static const char *const little[] = {"", " ", "?", "*", "A", "A?", "***", "-- --", "\xC2\xB5"};
    for (size_t i = 0; i < sizeof little / sizeof little[0]; i++)
        assert_int_equal(shelf_find(shelf, arena, (ShelfQuery){.marking = text_of(little[i])}, &match, 1), 0);
}

/* What a line of evidence weighs: five characters right, by the weights of lore/parts-damage.lore. */
static void evidence_is_in_decibans(void **state) {
    (void)state;
    assert_near(best("LM393", "").decibans, 5 * 15.3);
    assert_near(best("LM3S3", "").decibans - best("LM393", "").decibans, -17 - 15.3);
    assert_near(best("LM393", "SO8").decibans - best("LM393", "").decibans, 5);
}

static void own_parts_are_read_and_their_slips_shown(void **state) {
    (void)state;
    Arena *own = arena_new();
    Lore *mine = lore_new(own);
    Diags problems = diags_new(own);
    lore_add_builtin(mine);
    lore_add_text(mine, TEXT("own.lore"),
                  TEXT("part \"ZX1\" opamp\n  abuot \"a slip\"\n  pins 1\npart \"ZX2\" nosuchkind\npart ZX3 opamp\n"
                       "family \"ZX4*\" opamp\n  about \"no members\"\npart \"ZX5\" npn\n  about \"mine\"\n"));
    Shelf *opened = shelf_open(own, mine, NULL, &problems);
    assert_int_equal(mine->problems.list.count, 5);
    assert_true(text_is(mine->problems.list.at[0].hint, "did you mean `about`?"));
    assert_true(text_is(shelf_part(opened, TEXT("ZX5"))->source, "own.lore:8"));
    assert_null(shelf_part(opened, TEXT("ZX2")));
    shelf_close(opened);
    arena_free(own);
}

static void damaged_markings_find_their_part(void **state) {
    (void)state;
    says("LM358", "", "LM358", "");
    says("LM35B", "", "LM358", "5th: 8 read as B");
    says("LM3S8", "", "LM358", "4th: 5 read as S");
    says("MT608", "", "MT3608", "after the 2nd: 3 missing");
    says("BA358", "", "LM358", "prefix BA instead of LM");
    says("339", "", "LM339", "prefix LM left out");
    says("LM358DR", "", "LM358", "ending DR added");
    says("TP40?6", "", "TP4056", "5th: 5 unread");
    says("MT*08", "", "MT3608", "");
    says("J3Y", "SOT-23", "MMBT8050", "");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_builtin_part_reads_cleanly),
        cmocka_unit_test(every_builtin_part_answers_to_its_name),
        cmocka_unit_test(pins_are_numbered_once_and_units_use_them),
        cmocka_unit_test(families_say_what_their_digits_mean),
        cmocka_unit_test(damaged_markings_find_their_part),
        cmocka_unit_test(body_codes_and_packages),
        cmocka_unit_test(pin_count_narrows),
        cmocka_unit_test(the_part_number_among_other_words),
        cmocka_unit_test(too_little_is_nothing),
        cmocka_unit_test(evidence_is_in_decibans),
        cmocka_unit_test(own_parts_are_read_and_their_slips_shown),
    };
    return cmocka_run_group_tests_name("shelf", tests, open_builtin, close_builtin);
}
