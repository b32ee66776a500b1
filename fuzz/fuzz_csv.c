/* Any bytes as a parts list, loaded into a shelf in memory and into a catalogue file; then its first line as a marking to
 * search for in both. What one takes the other must take, and what was refused must have left nothing behind. */
#include "fuzz/fuzz.h"

#include "base/file.h"
#include "shelf/shelf.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

enum { MATCHES = 5 };

static void must(bool truth) {
    if (!truth) abort();
}

/* The language of columns and the model of damage, but none of the parts: their names must not be found. */
static Lore *small_lore(Arena *arena) {
    Lore *lore = lore_new(arena);
    for (size_t i = 0; i < LORE_FILE_COUNT; i++)
        if (text_ends(text_of(LORE_FILES[i].name), "parts-damage.lore"))
            lore_add_text(lore, text_of(LORE_FILES[i].name), (Text){LORE_FILES[i].content, LORE_FILES[i].len});
    return lore;
}

static size_t search(Shelf *shelf, Arena *arena, Text input) {
    ShelfMatch matches[MATCHES];
    size_t end = text_find(input, TEXT("\n"));
    ShelfQuery query = {
        .marking = text_sub(input, 0, end), .package = text_sub(input, 0, 8), .pins = (uint32_t)(input.len % 9)};
    size_t count = shelf_find(shelf, arena, query, matches, MATCHES);
    for (size_t i = 0; i < count; i++) {
        must(matches[i].decibans > 0 && (i == 0 || matches[i - 1].decibans >= matches[i].decibans));
        must(shelf_part(shelf, matches[i].part->name) != NULL);
    }
    return count;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    Arena *arena = arena_new();
    Text input = {(const char *)data, size};
    Diags problems = diags_new(arena), more = diags_new(arena);
    Lore *lore = small_lore(arena);
    char csv[64], database[64];
    uint32_t rows, stored;
    snprintf(csv, sizeof csv, "/tmp/unpick-fuzz-%d.csv", (int)getpid());
    snprintf(database, sizeof database, "/tmp/unpick-fuzz-%d.db", (int)getpid());
    must(file_write(csv, input));
    unlink(database);
    Shelf *memory = shelf_open(arena, lore, NULL, &problems), *file = shelf_open(arena, lore, database, &problems);
    must(memory != NULL && file != NULL);
    bool taken = shelf_add(memory, csv, &rows, &problems);
    must(taken == (problems.list.count == 0) && shelf_count(memory) == rows);
    bool loaded = shelf_load(file, csv, &stored, &more);
    must(loaded == (more.list.count == 0) && (loaded || stored == 0) && (!loaded || taken));
    size_t found = search(memory, arena, input), found_stored = search(file, arena, input);
    must(!loaded || (found == 0) == (found_stored == 0));
    must(loaded || found_stored == 0);
    Out out = out_new(arena);
    diags_print(&out, &problems);
    diags_print(&out, &more);
    shelf_close(memory);
    shelf_close(file);
    unlink(csv);
    unlink(database);
    arena_free(arena);
    return 0;
}
