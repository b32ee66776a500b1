/* Schematics of invented boards of 40, 500 and 5,000 parts: the time from reasoning to SVG, and how good the drawing is:
 * crossings and bends per net that is wired, nets joined by name for want of a way. */
#include "bench/measure.h"

#include "base/file.h"
#include "draw/schematic.h"

#include <dirent.h>
#include <math.h>
#include <stdlib.h>

enum { CELL_PARTS = 20, RUNS = 5 };

/* A cell of the board: a chip with what hangs on it, a memory beside it, switches, lamps, a motor. A bus joins the cells. */
static void write_cell(Out *out, unsigned c, unsigned cells) {
    static const char *const parts[] = {
        "part U%u0 chip\n",   "part U%u1 eeprom\n", "part R%u0 10k\n",    "part R%u1 1k\n",    "part R%u2 470R\n",
        "part R%u3 4k7\n",    "part R%u4 100k\n",   "part R%u5 100k\n",   "part C%u0 100nF\n", "part C%u1 10uF\n",
        "part C%u2 22pF\n",   "part C%u3 22pF\n",   "part Q%u0 npn\n",    "part Q%u1 nmos\n",  "part D%u0 diode\n",
        "part LED%u0 led\n",  "part Y%u1 crystal\n", "part SW%u0 button\n", "part M%u0 motor\n", "part LS%u0 loudspeaker\n",
    };
    static const char *const nets[] = {
        "net VCC U%u0.1 C%u0.1 M%u0.1 D%u0.K R%u3.1 U%u1.VCC C%u1.1 R%u4.1 R%u0.1\n",
        "net GND U%u0.34 C%u0.2 SW%u0.2 Q%u0.E Q%u1.S U%u1.GND C%u1.2 R%u5.2 C%u2.2 C%u3.2\n",
        "join U%u0.14 U%u1.SDA\n",      "join U%u0.15 U%u1.SCL\n",          "join U%u0.2 R%u1.1\n",
        "join R%u1.2 Q%u0.B\n",         "join Q%u0.C M%u0.2 D%u0.A\n",      "join U%u0.3 R%u0.2 SW%u0.1\n",
        "join R%u3.2 LED%u0.A\n",       "join LED%u0.K Q%u1.D\n",           "join U%u0.4 Q%u1.G\n",
        "join U%u0.7 LS%u0.1\n",        "join U%u0.8 LS%u0.2\n",            "join R%u4.2 R%u5.1 U%u0.9\n",
        "join U%u0.10 C%u2.1 Y%u1.1\n", "join U%u0.11 C%u3.1 Y%u1.2\n",     "join R%u2.1 U%u0.5\n",
    };
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) out_fmt(out, parts[i], c);
    for (size_t i = 0; i < sizeof nets / sizeof *nets; i++) out_fmt(out, nets[i], c, c, c, c, c, c, c, c, c, c);
    for (unsigned pin = 16; pin < 20 && cells > 1; pin++) out_fmt(out, "join U%u0.%u U%u0.%u\n", c, pin, (c + 1) % cells, pin + 4);
}

typedef struct Board {
    Arena *arena;
    const Reasoning *reasoning;
} Board;

static Board board_of(Arena *arena, Text notes) {
    Lore *lore = lore_new(arena);
    lore_add_builtin(lore);
    const BenchKinds *kinds = bench_kinds_new(arena, lore);
    const ReasonRules *rules = reason_rules_new(arena, lore, kinds);
    const Bench *bench = bench_build(arena, note_read(arena, TEXT("board"), notes), (BenchKnows){.kinds = kinds});
    return (Board){arena, reason_about(arena, bench, rules)};
}

static Board make_board(unsigned cells) {
    Arena *arena = arena_new();
    Out notes = out_new(arena);
    for (unsigned c = 0; c < cells; c++) write_cell(&notes, c, cells);
    return board_of(arena, out_text(&notes));
}

typedef struct Measured {
    double seconds;
    uint32_t wired, crossings, bends, flagged, undrawn, sheets;
    size_t bytes;
} Measured;

static Measured draw_once(const Board *board) {
    Measured m = {0};
    Arena *arena = arena_new();
    double before = measure_seconds();
    SchematicAsked asked = {.reasoning = board->reasoning};
    Schematic *schematic = schematic_draw(arena, &asked);
    for (uint32_t s = 0; s < schematic->sheets.count; s++) {
        Out out = out_new(arena);
        schematic_svg(&out, schematic, s, TEXT("s"));
        m.bytes += out.len;
    }
    m.seconds = measure_seconds() - before;
    bool *seen = arena_many(arena, bool, board->reasoning->bench->nets.count);
    for (uint32_t s = 0; s < schematic->sheets.count; s++) {
        const SchematicSheet *sheet = &schematic->sheets.at[s];
        m.crossings += sheet->crossings, m.bends += sheet->bends, m.flagged += sheet->flagged, m.undrawn += sheet->undrawn;
        for (uint32_t w = 0; w < sheet->wires.count; w++) m.wired += !seen[sheet->wires.at[w].net], seen[sheet->wires.at[w].net] = true;
    }
    m.sheets = schematic->sheets.count;
    arena_free(arena);
    return m;
}

static void measure_board(unsigned cells, int runs, double bar) {
    Board board = make_board(cells);
    Measured m = {.seconds = INFINITY};
    for (int i = 0; i < runs; i++) {
        Measured now = draw_once(&board);
        double least = fmin(m.seconds, now.seconds);
        m = now, m.seconds = least;
    }
    char name[64], value[160], limit[64];
    snprintf(name, sizeof name, "schematic, %u parts", cells * CELL_PARTS);
    snprintf(value, sizeof value, "%.1f ms (%u sheets, %.0f kB)", m.seconds * 1e3, m.sheets, (double)m.bytes / 1e3);
    snprintf(limit, sizeof limit, bar < 1 ? "under %.0f ms" : "under %.0f s", bar < 1 ? bar * 1e3 : bar);
    measure_print(name, value, limit, "-", "-", m.seconds < bar);
    snprintf(name, sizeof name, "its wires, %u parts", cells * CELL_PARTS);
    snprintf(value, sizeof value, "%.2f bends and %.2f crossings a net (%u nets), %u joined by name for want of a way", (double)m.bends / m.wired,
             (double)m.crossings / m.wired, m.wired, m.flagged);
    measure_print(name, value, "none left out", "-", "-", m.undrawn == 0);
    arena_free(board.arena);
}

/* The circuits of the tests, which are what people draw. */
static void measure_circuits(void) {
    static const char FOLDER[] = "tests/circuits";
    enum { BYTES_MOST = 1024 * 1024 };
    DIR *folder = opendir(FOLDER);
    if (folder == NULL) return;
    Measured all = {0};
    unsigned circuits = 0;
    for (struct dirent *entry; (entry = readdir(folder)) != NULL;) {
        char path[512];
        Text notes;
        if (!text_ends(text_of(entry->d_name), ".txt")) continue;
        snprintf(path, sizeof path, "%s/%s", FOLDER, entry->d_name);
        Arena *arena = arena_new();
        if (file_read(arena, path, BYTES_MOST, &notes)) {
            Board board = board_of(arena, notes);
            Measured m = draw_once(&board);
            circuits++;
            all.seconds = fmax(all.seconds, m.seconds);
            all.wired += m.wired, all.bends += m.bends, all.crossings += m.crossings, all.flagged += m.flagged, all.undrawn += m.undrawn;
        }
        arena_free(arena);
    }
    closedir(folder);
    char name[64], value[160];
    snprintf(name, sizeof name, "%u circuits of the tests, their wires", circuits);
    snprintf(value, sizeof value, "%.2f bends and %.2f crossings a net (%u nets), %u joined by name for want of a way; the slowest %.1f ms",
             (double)all.bends / all.wired, (double)all.crossings / all.wired, all.wired, all.flagged, all.seconds * 1e3);
    measure_print(name, value, "none left out", "-", "-", all.undrawn == 0);
}

int main(void) {
    static const double BAR_SMALL = 0.030, BAR_LARGE = 2, BAR_HOSTILE = 30;
    measure_board(2, RUNS, BAR_SMALL); /* a little over the 30 parts that the bar speaks of */
    measure_board(25, RUNS, BAR_LARGE);
    measure_board(250, 1, BAR_HOSTILE);
    measure_circuits();
    return 0;
}
