/* The marks of the built-in lore, on an arena of their own. */
#ifndef UNPICK_TESTS_MARKS_FIXTURE_H
#define UNPICK_TESTS_MARKS_FIXTURE_H

#include "mark/mark.h"
#include "tests/check.h"

static Arena *arena;
static Marks *marks;

static int set_up(void **state) {
    (void)state;
    arena = arena_new();
    Lore *lore = lore_new(arena);
    lore_add_builtin(lore);
    marks = marks_new(arena, lore);
    assert_int_equal(lore->problems.list.count, 0);
    return 0;
}

static int tear_down(void **state) {
    (void)state;
    arena_free(arena);
    return 0;
}

#endif
