/* Any bytes as a person's own lore, on top of the kinds of part that are compiled in: cut, read by every room that reads
 * lore, and each problem printed. */
#include "fuzz/fuzz.h"

#include "bench/kinds.h"
#include "lore/lore.h"
#include "mark/mark.h"
#include "reason/reason.h"
#include "shelf/shelf.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    Arena *arena = arena_new();
    Lore *lore = lore_new(arena);
    for (size_t i = 0; i < LORE_FILE_COUNT; i++)
        if (text_is(text_of(LORE_FILES[i].name), "lore/kinds.lore"))
            lore_add_text(lore, text_of(LORE_FILES[i].name), (Text){LORE_FILES[i].content, LORE_FILES[i].len});
    lore_add_text(lore, TEXT("fuzz.lore"), (Text){(const char *)data, size});
    const BenchKinds *kinds = bench_kinds_new(arena, lore);
    marks_new(arena, lore);
    shelf_close(shelf_open(arena, lore, NULL, &lore->problems));
    reason_rules_new(arena, lore, kinds);
    Out out = out_new(arena);
    diags_print(&out, &lore->problems);
    arena_free(arena);
    return 0;
}
