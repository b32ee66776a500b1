/* Any bytes as a notes file: read, printed, and read again, which must give the same notes; and each problem printed. */
#include "fuzz/fuzz.h"

#include "note/note.h"

#include <stdlib.h>

static Text printed(Arena *arena, const Notebook *book) {
    Out out = out_new(arena);
    for (uint32_t i = 0; i < book->notes.count; i++) {
        note_print(&out, &book->notes.at[i]);
        out_char(&out, '\n');
    }
    return out_text(&out);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    Arena *arena = arena_new();
    Notebook *book = note_read(arena, TEXT("fuzz.txt"), (Text){(const char *)data, size});
    Text first = printed(arena, book);
    Notebook *again = note_read(arena, TEXT("again.txt"), first);
    if (again->notes.count != book->notes.count || again->problems.list.count > 0) abort();
    for (uint32_t i = 0; i < book->notes.count; i++)
        if (!note_same(&book->notes.at[i], &again->notes.at[i])) abort();
    if (!text_same(first, printed(arena, again))) abort();
    Out out = out_new(arena);
    diags_print(&out, &book->problems);
    arena_free(arena);
    return 0;
}
