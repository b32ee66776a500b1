/* Any notes, drawn: schematic, blocks, boards and plots come back in bounded time and are well-formed, whatever the notes.
 * The lore is read once; the catalogue and photos are left out. */
#include "fuzz/fuzz.h"
#include "fuzz/world.h"

#include "draw/blocks.h"
#include "draw/board.h"
#include "draw/plot.h"
#include "draw/schematic.h"
#include "tests/well_formed.h"

#include <stdlib.h>

enum { NOTES_MOST = 64 * 1024 };

static void expect_fine(const Out *svg, bool drawn) {
    if (drawn != (svg->len > 0) || (drawn && well_formed_fault(out_text(svg)) != SIZE_MAX)) abort();
}

static void draw_schematics(Arena *arena, const Reasoning *reasoning) {
    bool *only = arena_many(arena, bool, reasoning->bench->parts.count + 1);
    for (uint32_t p = 0; p < reasoning->bench->parts.count; p += 2) only[p] = true;
    for (int part = 0; part < 2; part++) {
        SchematicAsked asked = {.reasoning = reasoning, .ansi = part == 1, .only = part == 1 ? only : NULL};
        const Schematic *schematic = schematic_draw(arena, &asked);
        for (uint32_t s = 0; s < schematic->sheets.count; s++) {
            Out svg = out_new(arena);
            schematic_svg(&svg, schematic, s, TEXT("s"));
            expect_fine(&svg, true);
        }
    }
}

static void draw_boards(Arena *arena, const Reasoning *reasoning) {
    for (uint32_t i = 0; i < reasoning->bench->boards.count && i < 4; i++)
        for (BoardSide side = 0; side < BOARD_SIDES; side++) {
            Out svg = out_new(arena);
            BoardView view = {reasoning, reasoning->bench->boards.at[i], side, TEXT(""), TEXT("b"), true};
            bool drawn = draw_board(&svg, &view);
            expect_fine(&svg, drawn);
        }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    if (size > NOTES_MOST) return 0;
    const World *knows = world();
    Arena *arena = arena_new();
    Notebook *notebook = note_read(arena, TEXT("notes.txt"), (Text){(const char *)data, size});
    Bench *bench = bench_build(arena, notebook, (BenchKnows){.kinds = knows->kinds, .marks = knows->marks});
    Reasoning *reasoning = reason_about(arena, bench, knows->rules);
    const Sums *sums = sums_about(arena, reasoning, knows->models, (SumsEffort){0});
    draw_schematics(arena, reasoning);
    draw_boards(arena, reasoning);
    Diags problems = diags_new(arena);
    Out svg[4];
    for (size_t i = 0; i < 4; i++) svg[i] = out_new(arena);
    PlotAsked plot = {.sums = sums, .id = TEXT("p"), .alone = true};
    bool drawn[4] = {draw_blocks(&svg[0], &(BlocksAsked){reasoning, sums, TEXT("k"), true}, &problems),
                     draw_currents(&svg[1], &plot), draw_battery(&svg[2], &plot, 0), draw_ranges(&svg[3], &plot)};
    for (size_t i = 0; i < 4; i++) expect_fine(&svg[i], drawn[i]);
    bench_free(bench);
    arena_free(arena);
    return 0;
}
