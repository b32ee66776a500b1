/* The sums of the demo: all of them, as `look` waits for them; many samples; many single mistakes. And of a board of 5,000
 * parts that is made to be a nuisance. Best of some runs, since the machine does other things too. */
#include "bench/measure.h"

#include "report/report.h"

#include <math.h>

enum { RUNS = 7, SAMPLES = 10000, CHAIN = 2500 };
static const double BAR_ALL = 0.050, BAR_SAMPLES = 0.5, BAR_MISTAKES = 0.5, BAR_NUISANCE = 1.0, THOUSAND = 1000;

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

/* A chain of resistors and diodes from one battery, a reading that can't be at its end. */
static void nuisance(void) {
    Arena *arena = arena_new();
    Out notes = out_new(arena);
    out_lit(&notes, "part BT1 battery 4 x LR6\nnet GND BT1.-\njoin BT1.+ R0.1\n");
    for (unsigned i = 0; i < CHAIN; i++)
        out_fmt(&notes, "part R%u 1k\npart D%u diode\njoin R%u.2 D%u.A R%u.1\njoin D%u.K GND\n", i, i, i, i, i + 1, i);
    out_lit(&notes, "read v(R9.1) = 3 kV by meter\nread v(R1.1) = 1 uV by meter\n");
    Lore *lore = lore_new(arena);
    lore_add_builtin(lore);
    const BenchKinds *kinds = bench_kinds_new(arena, lore);
    ReportTeardown teardown = {.knows = {.kinds = kinds, .rules = reason_rules_new(arena, lore, kinds), .models = sums_models_new(arena, lore, kinds)}};
    teardown.bench = bench_build(arena, note_read(arena, TEXT("chain"), out_text(&notes)), (BenchKnows){.kinds = kinds});
    uint32_t tried;
    print("sums of 5,000 parts", seconds_of(&teardown, (SumsEffort){0}, 1, &tried), BAR_NUISANCE, "-");
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
    report_close(&teardown);
    arena_free(arena);
    nuisance();
    return 0;
}
