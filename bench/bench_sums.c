/* The sums of the demo: all of them, as `look` waits for them; many samples; many single mistakes. Of a board of 2,000
 * parts, and of one of 5,000 that is made to be a nuisance. Best of some runs, since the machine does other things too. */
#include "bench/measure.h"

#include "report/report.h"

#include <math.h>

enum { RUNS = 7, SAMPLES = 10000, CHAIN = 2500 };
static const double BAR_ALL = 0.050, BAR_SAMPLES = 0.5, BAR_MISTAKES = 0.5, BAR_NUISANCE = 1.0, THOUSAND = 1000;
static const double BAR_BOARD = 0.2 /* of 300 ms from a note to what follows */, BAR_AGAIN = 0.02;

static double seconds_of(const ReportTeardown *teardown, SumsEffort effort, uint32_t runs, uint32_t *tried) {
    double best = INFINITY;
    for (uint32_t run = 0; run < runs; run++) {
        Arena *arena = arena_new();
        Reasoning *reasoning = reason_about(arena, teardown->bench, teardown->knows.rules);
        double start = measure_seconds();
        const Sums *sums = sums_about(arena, reasoning, teardown->knows.models, effort);
        best = fmin(best, measure_seconds() - start);
        *tried = sums->tried;
        arena_free(arena);
    }
    return best;
}

static void print(const char *name, double seconds, double bar, const char *reference) {
    char value[64], bar_text[64];
    snprintf(value, sizeof value, "%.1f ms", seconds * 1e3);
    snprintf(bar_text, sizeof bar_text, "%.0f ms", bar * 1e3);
    measure_print(name, value, bar_text, reference, "-", seconds <= bar);
}

/* A teardown of notes alone, with the built-in lore. */
static ReportTeardown teardown_of(Arena *arena, const char *name, Text notes) {
    Lore *lore = lore_new(arena);
    lore_add_builtin(lore);
    const BenchKinds *kinds = bench_kinds_new(arena, lore);
    ReportTeardown teardown = {.knows = {.kinds = kinds,
                                         .rules = reason_rules_new(arena, lore, kinds),
                                         .models = sums_models_new(arena, lore, kinds)}};
    teardown.bench = bench_build(arena, note_read(arena, text_of(name), notes), (BenchKnows){.kinds = kinds});
    return teardown;
}

/* A chain of resistors and diodes from one battery, a reading that can't be at its end. */
static void nuisance(void) {
    Arena *arena = arena_new();
    Out notes = out_new(arena);
    out_lit(&notes, "part BT1 battery 4 x LR6\nnet GND BT1.-\njoin BT1.+ R0.1\n");
    for (unsigned i = 0; i < CHAIN; i++)
        out_fmt(&notes, "part R%u 1k\npart D%u diode\njoin R%u.2 D%u.A R%u.1\njoin D%u.K GND\n", i, i, i, i, i + 1, i);
    out_lit(&notes, "read v(R9.1) = 3 kV by meter\nread v(R1.1) = 1 uV by meter\n");
    ReportTeardown teardown = teardown_of(arena, "chain", out_text(&notes));
    uint32_t tried;
    print("sums of 5,000 parts", seconds_of(&teardown, (SumsEffort){0}, 1, &tried), BAR_NUISANCE, "-");
    bench_free(teardown.bench);
    arena_free(arena);
}

/* Sums that nothing has changed for are taken again. */
static void again(const char *name, const ReportTeardown *teardown) {
    double best = INFINITY;
    Arena *first = arena_new();
    const Sums *sums = sums_about(first, reason_about(first, teardown->bench, teardown->knows.rules),
                                  teardown->knows.models, (SumsEffort){0});
    for (uint32_t run = 0; run < RUNS; run++) {
        Arena *arena = arena_new();
        Reasoning *reasoning = reason_about(arena, teardown->bench, teardown->knows.rules);
        double start = measure_seconds();
        bool same = sums_again(arena, sums, reasoning, teardown->knows.models) != NULL;
        best = same ? fmin(best, measure_seconds() - start) : INFINITY;
        arena_free(arena);
    }
    arena_free(first);
    print(name, best, BAR_AGAIN, "-");
}

/* A board of 2,000 parts: a hundred times a chip with a transistor, a light, dividers, a motor's switch; readings, some of
 * them off. */
static void board(void) {
    enum { BLOCKS = 100 };
    Arena *arena = arena_new();
    Out notes = out_new(arena);
    out_lit(&notes, "part BT1 battery 4 x LR6\nnet GND BT1.-\nnet VDD BT1.+\nmode idle\nmode busy\n");
    for (unsigned b = 1; b <= BLOCKS; b++) {
        static const char *const ohms[] = {"1k", "10k", "100", "4k7", "470", "2k2"};
        for (unsigned r = 0; r < 12; r++) out_fmt(&notes, "part R%u 0805 %s\n", 100 * b + r, ohms[r % 6]);
        out_fmt(&notes,
                "part U%u SOP-8\npart Q%u1 npn\npart Q%u2 nmos\npart D%u1 led-red\npart D%u2 led-red\npart D%u3 "
                "diode\npart C%u1 100nF\npart C%u2 10uF\n",
                b, b, b, b, b, b, b, b);
        unsigned r = 100 * b;
        out_fmt(&notes, "net GND U%u.4 Q%u1.E D%u1.K Q%u2.S D%u3.A C%u1.2 C%u2.2 R%u.2 R%u.2 R%u.2\n", b, b, b, b, b, b, b,
                r + 2, r + 7, r + 8);
        out_fmt(&notes, "net VDD U%u.8 R%u.1 R%u.1 D%u2.A R%u.1 C%u1.1 C%u2.1\n", b, r + 1, r + 3, b, r + 6, b, b);
        out_fmt(&notes, "join U%u.1 R%u.1\njoin R%u.2 Q%u1.B R%u.1\njoin R%u.2 Q%u1.C R%u.1\njoin R%u.2 D%u1.A\n", b, r, r,
                b, r + 2, r + 1, b, r + 4, r + 4, b);
        out_fmt(&notes, "join R%u.2 U%u.2 R%u.1\njoin R%u.2 R%u.1\njoin R%u.2 R%u.1 D%u3.K\n", r + 3, b, r + 5, r + 5,
                r + 7, r + 6, r + 8, b);
        out_fmt(&notes, "join U%u.3 Q%u2.G R%u.1\njoin R%u.2 R%u.1\njoin R%u.2 Q%u2.D D%u2.K R%u.2\njoin R%u.1 VDD\n", b, b,
                r + 10, r + 10, r + 11, r + 11, b, b, r + 9, r + 9);
        out_fmt(&notes, "drive U%u.1 high in busy\ndrive U%u.3 low in idle\n", b, b);
        if (b % 10 == 0)
            out_fmt(&notes, "read v(Q%u1.B) = 0.72 V in busy by meter\nread v(R%u.1) = 4.2 V in idle by meter\n", b, r + 8);
    }
    ReportTeardown teardown = teardown_of(arena, "board", out_text(&notes));
    uint32_t tried;
    double seconds = seconds_of(&teardown, (SumsEffort){0}, 3, &tried);
    char words[64];
    snprintf(words, sizeof words, "%u parts, %u mistakes", teardown.bench->parts.count, tried);
    print("sums of 2,000 parts", seconds, BAR_BOARD, words);
    again("sums of 2,000 parts, taken again", &teardown);
    bench_free(teardown.bench);
    arena_free(arena);
}

int main(void) {
    Arena *arena = arena_new();
    Diags problems = diags_new(arena);
    ReportTeardown teardown;
    uint32_t tried;
    char words[64];
    if (!report_open(arena, "demo/dispenser", NULL, &teardown, &problems)) return 1;
    double all = seconds_of(&teardown, (SumsEffort){0}, RUNS, &tried);
    snprintf(words, sizeof words, "%u modes, %u mistakes", teardown.sums->modes.count, tried);
    print("demo: sums", all, BAR_ALL, words);
    double samples = seconds_of(&teardown, (SumsEffort){.samples = SAMPLES}, 3, &tried) - all;
    print("demo: 10,000 samples a mode, each", samples / teardown.sums->modes.count, BAR_SAMPLES, words);
    double mistakes = seconds_of(&teardown, (SumsEffort){.hypotheses = SAMPLES, .every = true}, 3, &tried) - all;
    snprintf(words, sizeof words, "of %u", tried);
    print("demo: 1,000 mistakes", mistakes * THOUSAND / fmax(tried, 1), BAR_MISTAKES, words);
    again("demo: sums taken again", &teardown);
    report_close(&teardown);
    arena_free(arena);
    board();
    nuisance();
    return 0;
}
