/* Notes read from a string, on an arena for each test. */
#ifndef UNPICK_TESTS_NOTE_FIXTURE_H
#define UNPICK_TESTS_NOTE_FIXTURE_H

#include "note/note.h"
#include "tests/check.h"

static Arena *arena;

static int set_up(void **state) {
    (void)state;
    arena = arena_new();
    return 0;
}

static int tear_down(void **state) {
    (void)state;
    arena_free(arena);
    return 0;
}

static inline Notebook *read_text(Text content) { return note_read(arena, TEXT("notes.txt"), content); }

/* The only note of a text that has one and no problem. */
static inline const Note *one(const char *written) {
    Notebook *book = read_text(text_of(written));
    if (book->problems.list.count > 0) {
        Out out = out_new(arena);
        diags_print(&out, &book->problems);
        fail_msg("%.*s", TEXT_ARG(out_text(&out)));
    }
    assert_int_equal(book->notes.count, 1);
    return &book->notes.at[0];
}

/* The only problem of a text that has one. */
static inline const Diag *problem(const char *written) {
    Notebook *book = read_text(text_of(written));
    if (book->problems.list.count != 1) fail_msg("%u problems in: %s", book->problems.list.count, written);
    return &book->problems.list.at[0];
}

#endif
