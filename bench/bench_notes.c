/* 100,000 invented notes in the mix of a real teardown, parsed; beside cutting the same bytes into lines and
 * blank-separated words with strtok_r, which is the least that any reader of lines and words does. Best of several runs
 * each. */
#include "bench/measure.h"

#include "note/note.h"

#include <math.h>
#include <string.h>

enum { NOTES = 100000, RUNS = 7 };
static const double BAR_SPEED = 120e6; /* bytes a second, so that deriving leaves 50 MB/s of both */
static const double BAR_MEMORY = 8;    /* times the file */

/* One board after another: of ten notes four are joins or aparts, three parts, two readings, one is something else. */
static void write_note(Out *out, unsigned i) {
    unsigned n = i / 10;
    switch (i % 10) {
    case 0:
        out_fmt(out, "part R%u 0805 on A at %u.%u,%u.4 marked \"%u\"\n", n, n % 90, n % 10, n % 60, 100 + n % 800);
        break;
    case 1:
        out_fmt(out, "part C%u 0603 100nF on A at %u.1,%u.9\n", n, n % 90, n % 60);
        break;
    case 2:
        out_fmt(out, "part U%u SOP-8 on A at %u.5,%u.0 turn 90 marked \"\" \"ground off\"\n", n, n % 90, n % 60);
        break;
    case 3:
        out_fmt(out, "join U%u.8 R%u.1 C%u.1 by meter\n", n, n, n);
        break;
    case 4:
        out_fmt(out, "join U%u.%u R%u.2 # seen\n", n, 1 + n % 7, n);
        break;
    case 5:
        out_fmt(out, "apart U%u.5 U%u.6 by meter\n", n, n);
        break;
    case 6:
        out_fmt(out, "net N%u C%u.2 U%u.4 U%u.4\n", n, n, n, n + 1);
        break;
    case 7:
        out_fmt(out, "read v(N%u) = %u.%u V in idle by meter\n", n, n % 12, n % 100);
        break;
    case 8:
        out_fmt(out, "read r(R%u) = %u.%u ohm\n", n, 1 + n % 900, n % 10);
        break;
    default:
        out_fmt(out, "claim U%u \"8-bit microcontroller\" sure %u%%\n", n, 10 + n % 80);
        break;
    }
}

typedef struct Best {
    double parse, words; /* seconds */
    size_t held;         /* bytes of the arena after parsing */
    size_t notes, count;
} Best;

static void parse_once(Text file, Best *best) {
    Arena *arena = arena_new();
    double before = measure_seconds();
    Notebook *book = note_read(arena, TEXT("notes.txt"), file);
    best->parse = fmin(best->parse, measure_seconds() - before);
    best->notes = book->notes.count;
    best->held = arena_held(arena);
    arena_free(arena);
}

static void words_once(Text file, Best *best) {
    Arena *arena = arena_new();
    char *copy = text_cstring(arena, file), *line_state, *word_state;
    double before = measure_seconds();
    for (char *line = strtok_r(copy, "\n", &line_state); line != NULL; line = strtok_r(NULL, "\n", &line_state))
        for (char *word = strtok_r(line, " ", &word_state); word != NULL; word = strtok_r(NULL, " ", &word_state))
            best->count++;
    best->words = fmin(best->words, measure_seconds() - before);
    arena_free(arena);
}

int main(void) {
    Arena *arena = arena_new();
    Out out = out_new(arena);
    for (unsigned i = 0; i < NOTES; i++) write_note(&out, i);
    Text file = out_text(&out);
    Best best = {.parse = INFINITY, .words = INFINITY};
    for (int run = 0; run < RUNS; run++) {
        parse_once(file, &best);
        words_once(file, &best);
    }
    double size = (double)file.len, speed = size / best.parse, memory = (double)best.held / size;
    bool fine = best.notes == NOTES;
    char value[64], reference[64], ratio[32];
    snprintf(value, sizeof value, "%.0f MB/s", speed / 1e6);
    snprintf(reference, sizeof reference, "words by strtok_r: %.0f MB/s", size / best.words / 1e6);
    snprintf(ratio, sizeof ratio, "%.2f x as fast", best.words / best.parse);
    measure_print("100,000 notes parsed", value, "at least 120 MB/s", reference, ratio, fine && speed >= BAR_SPEED);
    snprintf(value, sizeof value, "%.1f MB (%zu notes)", (double)best.held / 1e6, best.notes);
    snprintf(reference, sizeof reference, "the file: %.1f MB", size / 1e6);
    snprintf(ratio, sizeof ratio, "%.1f x the file", memory);
    measure_print("100,000 notes parsed, memory", value, "under 8 x the file", reference, ratio,
                  fine && memory < BAR_MEMORY);
    arena_free(arena);
    return fine ? 0 : 1;
}
