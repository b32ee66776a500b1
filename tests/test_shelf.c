/* shelf: the built-in parts and the search by marking. */
#include "tests/check.h"

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
    for (uint32_t i = 0; i < shelf_count(shelf); i++) assert_non_null(shelf_at(shelf, i)->name.at);
    Out out = out_new(arena);
    diags_print(&out, &lore->problems);
    if (lore->problems.list.count > 0) fail_msg("%.*s", TEXT_ARG(out_text(&out)));
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
        cmocka_unit_test(damaged_markings_find_their_part),
    };
    return cmocka_run_group_tests_name("shelf", tests, open_builtin, close_builtin);
}
