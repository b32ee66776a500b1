/* Any notes, summed: whatever a mode's circuit comes to, it has an answer of numbers or says why not, in bounded time. The
 * lore is read once; the catalogue and photos are left out. */
#include "fuzz/fuzz.h"
#include "fuzz/world.h"

#include <math.h>
#include <stdlib.h>

static void expect_numbers(const SumsFigure *figure) {
    bool fine = isfinite(figure->typical) && isfinite(figure->low) && isfinite(figure->high) && isfinite(figure->least) && isfinite(figure->most);
    if (!fine || figure->low > figure->high || figure->least > figure->most) abort();
}

static void expect_mode(const Bench *bench, const SumsMode *mode) {
    if (!mode->solved && (mode->fault.len == 0 || mode->hint.len == 0)) abort();
    for (uint32_t n = 0; n < bench->nets.count; n++) expect_numbers(&mode->volts[n]);
    for (uint32_t p = 0; p < bench->parts.count; p++) expect_numbers(&mode->current[p]), expect_numbers(&mode->power[p]);
    for (uint32_t p = 0; p < bench->pins.count; p++) expect_numbers(&mode->pin[p]);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    const World *knows = world();
    Arena *arena = arena_new();
    Notebook *notebook = note_read(arena, TEXT("notes.txt"), (Text){(const char *)data, size});
    Bench *bench = bench_build(arena, notebook, (BenchKnows){.kinds = knows->kinds, .marks = knows->marks});
    const Sums *sums = sums_about(arena, reason_about(arena, bench, knows->rules), knows->models, (SumsEffort){0});
    for (uint32_t i = 0; i < sums->modes.count; i++) expect_mode(bench, &sums->modes.at[i]);
    for (uint32_t i = 0; i < sums->compared.count; i++)
        if (!isfinite(sums->compared.at[i].typical) || !isfinite(sums->compared.at[i].off)) abort();
    for (uint32_t i = 0; i < sums->explanations.count; i++)
        if (!(sums->explanations.at[i].p > 0 && sums->explanations.at[i].p < 1) || sums->explanations.at[i].says.len == 0) abort();
    bench_free(bench);
    arena_free(arena);
    return 0;
}
