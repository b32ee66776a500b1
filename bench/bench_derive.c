/* Invented notes in the mix of a real teardown, parsed and derived into parts, pins, nets, readings and contradictions;
 * beside the least that any program of the sort does: cutting the same bytes into words with strtok_r and entering each
 * word in the C library's hash table (hsearch_r). Then ten times as many notes, to see that time grows as the notes do.
 * Best of several runs each. The notes are invented: no such product is. */
#include "bench/measure.h"

#include "bench/bench.h"

#include <math.h>
#include <search.h>
#include <string.h>

enum { NOTES = 100000, TIMES = 10, RUNS = 7, RUNS_LARGE = 3, BLOCK = 20 };
static const double BAR_SPEED = 50e6; /* bytes a second: issue 2 */
static const double BAR_MEMORY = 20;  /* times the file: issue 2 */
static const double BAR_LINEAR = 2.5; /* times as long for each note when there are ten times as many: what no longer fits
                                         the processor's caches costs up to twice; a quadratic step would make it ten */

/* Twenty notes about eight parts of block n. */
static void write_block(Out *out, unsigned n) {
    static const char *const resistors[] = {"101", "102", "103", "472", "223", "104", "331", "000"};
    static const char *const chips[] = {"LM358", "24C02", "HT7333", "NE555P", "25Q64", "74HC04", "TP4056", "L9110"};
    unsigned r = 3 * n;
    out_fmt(out, "part U%u SOP-8 on A at %u.2,%u.8 turn 90 marked \"%s\"\n", n, n % 90, n % 60, chips[n % 8]);
    out_fmt(out, "part Q%u SOT-23 npn on A at %u.0,%u.4 marked \"J3Y\"\n", n, n % 80, n % 50);
    for (unsigned i = 0; i < 3; i++)
        out_fmt(out, "part R%u 0805 on A at %u.1,%u.4 marked \"%s\"\n", r + i, n % 70, n % 40, resistors[(n + i) % 8]);
    out_fmt(out, "part C%u 0603 100nF on A at %u.1,%u.9\n", n, n % 90, n % 60);
    out_fmt(out, "part D%u led red on A at %u.0,%u.0 \"blinks when charging\"\n", n, n % 50, n % 20);
    out_fmt(out, "join U%u.8 R%u.1 C%u.1 by meter\n", n, r, n);
    out_fmt(out, "join U%u.1 R%u.1\n", n, r + 1);
    out_fmt(out, "join R%u.2 Q%u.B by meter\n", r + 1, n);
    out_fmt(out, "join Q%u.C D%u.K\n", n, n);
    out_fmt(out, "join D%u.A R%u.1 # seen\n", n, r + 2);
    out_fmt(out, "join R%u.2 V%u_SUPPLY\n", r + 2, n);
    out_fmt(out, "net V%u_SUPPLY U%u.8\n", n, n);
    out_fmt(out, "join GND U%u.4 C%u.2 Q%u.2 by meter\n", n, n, n);
    out_fmt(out, "apart U%u.5 U%u.6 by meter\n", n, n);
    out_fmt(out, "read v(V%u_SUPPLY) = 3.3%u V in idle by meter\n", n, n % 10);
    out_fmt(out, "read diode(Q%u.B,Q%u.E) = 0.6%u V\n", n, n, n % 10);
    out_fmt(out, "read i(D%u) = %u.%u mA in idle\n", n, 1 + n % 9, n % 10);
    out_fmt(out, "claim U%u \"switches the lamp\" sure %u%%\n", n, 10 + n % 80);
}

static Text invented(Arena *arena, unsigned notes) {
    Out out = out_new(arena);
    for (unsigned n = 0; n < notes / BLOCK; n++) write_block(&out, n);
    return out_text(&out);
}

typedef struct Derived {
    double parse, derive; /* seconds, best */
    size_t parts, nets, conflicts;
} Derived;

static void derive_once(Text file, BenchKnows knows, Derived *best) {
    Arena *arena = arena_new();
    double start = measure_seconds();
    Notebook *book = note_read(arena, TEXT("notes.txt"), file);
    double parsed = measure_seconds();
    Bench *bench = bench_build(arena, book, knows);
    double end = measure_seconds();
    if (end - start < best->parse + best->derive) best->parse = parsed - start, best->derive = end - parsed;
    best->parts = bench->parts.count, best->nets = bench->nets.count;
    best->conflicts = bench->conflicts.count + bench->conflicts_left_out + book->problems.list.count;
    arena_free(arena);
}

/* Seconds for the words alone. */
static double words_once(Text file) {
    Arena *arena = arena_new();
    char *copy = text_cstring(arena, file), *line_state, *word_state;
    struct hsearch_data table = {0};
    double start = measure_seconds();
    hcreate_r(file.len / 4, &table);
    for (char *line = strtok_r(copy, "\n", &line_state); line != NULL; line = strtok_r(NULL, "\n", &line_state))
        for (char *word = strtok_r(line, " ", &word_state); word != NULL; word = strtok_r(NULL, " ", &word_state)) {
            ENTRY *entry;
            hsearch_r((ENTRY){word, NULL}, ENTER, &entry, &table);
        }
    double took = measure_seconds() - start;
    hdestroy_r(&table);
    arena_free(arena);
    return took;
}

static double total(const Derived *d) { return d->parse + d->derive; }

int main(void) {
    Arena *arena = arena_new();
    Lore *lore = lore_new(arena);
    Diags problems = diags_new(arena);
    lore_add_builtin(lore);
    BenchKnows knows = {.kinds = bench_kinds_new(arena, lore), .marks = marks_new(arena, lore), .shelf = shelf_open(arena, lore, NULL, &problems)};
    Text file = invented(arena, NOTES);
    Derived best = {.parse = INFINITY}, best_large = {.parse = INFINITY};
    double words = INFINITY, before = measure_peak_mib();
    derive_once(file, knows, &best);
    double peak = measure_peak_mib() - before; /* of the first run: later ones find memory that was given back */
    for (int run = 0; run < RUNS; run++) {
        derive_once(file, knows, &best);
        words = fmin(words, words_once(file));
    }
    Text large = invented(arena, NOTES * TIMES);
    for (int run = 0; run < RUNS_LARGE; run++) derive_once(large, knows, &best_large);
    double size = (double)file.len, speed = size / total(&best), memory = peak * 1048576 / size;
    double slower = total(&best_large) / (double)large.len / (total(&best) / size);
    bool fine = best.conflicts == 0 && best.parts == NOTES / BLOCK * 7;
    char value[96], reference[96], ratio[32];
    snprintf(value, sizeof value, "%.0f MB/s (%.0f ms: %.0f to parse, %.0f to derive)", speed / 1e6, total(&best) * 1e3,
             best.parse * 1e3, best.derive * 1e3);
    snprintf(reference, sizeof reference, "words by strtok_r and hsearch_r: %.0f MB/s", size / words / 1e6);
    snprintf(ratio, sizeof ratio, "%.2f x as fast", words / total(&best));
    measure_print("100,000 notes parsed and derived", value, "at least 50 MB/s", reference, ratio,
                  fine && speed >= BAR_SPEED);
    snprintf(value, sizeof value, "%.1f MB at the peak (%zu parts, %zu nets)", memory * size / 1e6, best.parts, best.nets);
    snprintf(reference, sizeof reference, "the file: %.1f MB", size / 1e6);
    snprintf(ratio, sizeof ratio, "%.1f x the file", memory);
    measure_print("100,000 notes derived, memory", value, "under 20 x the file", reference, ratio,
                  fine && memory < BAR_MEMORY);
    snprintf(value, sizeof value, "%.0f ms", total(&best_large) * 1e3);
    snprintf(reference, sizeof reference, "100,000 notes: %.0f ms", total(&best) * 1e3);
    snprintf(ratio, sizeof ratio, "%.2f x a note", slower);
    measure_print("1,000,000 notes parsed and derived", value, "at most 2.5 x as long a note", reference, ratio,
                  slower <= BAR_LINEAR);
    shelf_close(knows.shelf);
    arena_free(arena);
    return fine ? 0 : 1;
}
