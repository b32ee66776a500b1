/* demoboard WIRING FOLDER: draws the invented board of demo/dispenser for the simulated camera. WIRING is a notes file with
 * every part's place and every join; the pads are where the program itself puts the pins of these parts. Nothing of any
 * real board is in it. */
#include "board.h"

#include "base/file.h"
#include "bench/bench.h"
#include "lore/lore.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A board without copper: what is asked of it is only where the pins are. */
static bool blank(Arena *arena, const BoardAsked *asked, BoardCopper *board, Diags *problems) {
    static const double same[9] = {1, 0, 0, 0, 1, 0, 0, 0, 1};
    (void)problems;
    *board = (BoardCopper){.width_mm = asked->width_mm, .height_mm = asked->height_mm};
    BoardFace *face = &board->face[BOARD_BOTTOM];
    memcpy(face->to_top, same, sizeof same), memcpy(face->from_top, same, sizeof same);
    face->known = true;
    face->copper =
        (Copper){.scale = 1, .width_mm = asked->width_mm, .height_mm = asked->height_mm, .width = 1, .height = 1};
    face->copper.labels = calloc(1, sizeof *face->copper.labels);
    face->unseen = calloc(1, 1);
    face->net = arena_one(arena, uint32_t);
    return face->copper.labels != NULL && face->unseen != NULL;
}

enum { TRIES = 150 };

/* ---- pads ---- */

static bool is(Text package, const char *name) { return text_starts(package, name); }

/* A pad as a board maker would draw it for this pin; common practice. */
static Land land_of(const Bench *bench, const BenchPad *pad) {
    const BenchPart *part = &bench->parts.at[bench->pins.at[pad->pin].part];
    const MarkPackage *package = part->package;
    Land land = {.x = pad->at.x, .y = pad->at.y, .w = 1.9, .h = 1.9, .hole = 0.9, .round = true};
    double turn = pad->note->part->turn;
    bool quarter = turn == 90 || turn == -90 || turn == 270;
    if (package != NULL && !package->through_hole) {
        land.w = 1.0, land.h = 1.3, land.hole = 0, land.round = false; /* chips, along their length */
        if (is(package->name, "SOP")) land.w = 1.6, land.h = 0.65;
        if (is(package->name, "SOT-23")) land.w = 1.0, land.h = 0.8;
        if (is(package->name, "SOD")) land.w = 1.1, land.h = 1.2;
    } else if (package == NULL && part->kind->pin_count == 1) {
        land.w = land.h = 1.8, land.hole = text_starts(part->ref, "TP") ? 0 : 1.0;
    } else if (package != NULL && package->pitch > 0 && package->pitch < 2.4) {
        land.w = land.h = 1.5, land.hole = 0.7;
    }
    if (quarter) {
        double spare = land.w;
        land.w = land.h, land.h = spare;
    }
    return land;
}

static bool has_land(const Layout *layout, const Land *land) {
    for (uint32_t i = 0; i < layout->lands.count; i++)
        if (layout->lands.at[i].x == land->x && layout->lands.at[i].y == land->y) return true;
    return false;
}

static void read_lands(Arena *arena, const Bench *bench, Layout *layout) {
    int *net_of = arena_many(arena, int, bench->nets.count);
    for (uint32_t i = 0; i < bench->pads.count; i++) {
        const BenchPad *pad = &bench->pads.at[i];
        uint32_t net = bench->pins.at[pad->pin].net, pads = 0;
        Land land = land_of(bench, pad);
        for (uint32_t k = 0; k < bench->pads.count; k++) pads += bench->pins.at[bench->pads.at[k].pin].net == net;
        if (pads > 1 && net_of[net] == 0) {
            net_of[net] = ++layout->net_count;
            if (text_is(bench->nets.at[net].name, "GND")) layout->ground = layout->net_count;
        }
        land.net = net_of[net];
        if (has_land(layout, &land)) continue;
        list_push(arena, &layout->lands, land);
    }
    layout->thick = arena_many(arena, bool, layout->net_count + 1);
    for (uint32_t i = 0; i < bench->nets.count; i++) /* the motor's and the supply */
        layout->thick[net_of[i]] =
            net_of[i] > 0 && (text_is(bench->nets.at[i].name, "MOTOR") || text_is(bench->nets.at[i].name, "VDD") ||
                              text_is(bench->nets.at[i].name, "BELOW"));
}

int main(int argc, char **argv) {
    Arena *arena = arena_new();
    Lore *lore = lore_new(arena);
    Text wiring;
    if (argc != 3 || !file_read(arena, argv[1], 1 << 20, &wiring)) {
        fprintf(stderr, "usage: demoboard WIRING FOLDER\n");
        return 2;
    }
    lore_add_builtin(lore);
    Diags problems = diags_new(arena);
    BenchKnows knows = {
        .kinds = bench_kinds_new(arena, lore), .marks = marks_new(arena, lore), .folder = ".", .trace = blank};
    knows.shelf = shelf_open(arena, lore, NULL, &problems);
    Notebook *book = note_read(arena, TEXT("wiring.txt"), wiring);
    Bench *bench = bench_build(arena, book, knows);
    Out out = out_new(arena);
    diags_print(&out, &book->problems), diags_print(&out, &bench->problems);
    for (uint32_t i = 0; i < bench->conflicts.count; i++) out_fmt(&out, "%.*s\n", TEXT_ARG(bench->conflicts.at[i].says));
    fprintf(stderr, "%.*s", TEXT_ARG(out_text(&out)));
    if (bench->photographed.count != 1 || book->problems.list.count > 0) return 1;
    Layout layout = {.width = bench->photographed.at[0].copper.width_mm,
                     .height = bench->photographed.at[0].copper.height_mm};
    read_lands(arena, bench, &layout);
    list_push(arena, &layout.bores, ((Land){.x = 2.6, .y = 2.6, .hole = 3.2}));
    list_push(arena, &layout.bores, ((Land){.x = layout.width - 2.6, .y = layout.height - 2.6, .hole = 3.2}));
    route(arena, &layout, TRIES);
    printf("%u pads, %d nets, %d connections without a way\n", layout.lands.count, layout.net_count, layout.failed);
    bool drawn = draw(&layout, argv[2]);
    if (!drawn) perror(argv[2]);
    bench_free(bench);
    shelf_close(knows.shelf);
    arena_free(arena);
    return drawn ? 0 : 3;
}
