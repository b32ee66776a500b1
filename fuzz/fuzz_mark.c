/* Any bytes as a marking, as a package's name, as a measurement, and as what narrows them. The tables are read once and
 * kept: only what a marking may do is under test here (lore itself is fuzz_lore's). */
#include "fuzz/fuzz.h"

#include "report/report.h"

#include <stdlib.h>

static const Marks *tables(void) {
    static Arena *kept; /* for the life of the fuzzer */
    static const Marks *marks;
    if (kept == NULL) {
        kept = arena_new();
        Lore *lore = lore_new(kept);
        lore_add_builtin(lore);
        marks = marks_new(kept, lore);
    }
    return marks;
}

/* The input's lines: marking, kind, package; the rest is left out. */
static Text next_line(Text *rest) {
    size_t end = text_find(*rest, TEXT("\n"));
    Text line = text_sub(*rest, 0, end);
    *rest = end == SIZE_MAX ? TEXT("") : text_sub(*rest, end + 1, rest->len);
    return line;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    static const char *const options[] = {"body", "pitch", "span", "height", "leads"};
    const Marks *marks = tables();
    Arena *arena = arena_new();
    Text rest = {(const char *)data, size}, marking = next_line(&rest), kind = next_line(&rest), package = next_line(&rest);
    Out out = out_new(arena);
    MarkReadings readings = mark_read(arena, marks, marking, (MarkContext){kind, package, size % 2 == 0 ? 2026 : 0});
    for (uint32_t i = 1; i < readings.count; i++)
        if (!(readings.at[i - 1].decibans >= readings.at[i].decibans)) abort();
    report_mark(&out, marking, readings, (ReportStyle){.columns = 80});
    mark_package(marks, marking);
    MarkCell cell;
    mark_cell(arena, marks, marking, &cell);
    Diags diags = diags_new(arena);
    MarkMeasured measured = {0};
    MarkFit fits[3];
    for (size_t i = 0; i < sizeof options / sizeof options[0]; i++)
        mark_measure(text_of(options[i]), marking, &measured, &diags);
    report_fits(&out, fits, mark_package_rank(arena, marks, measured, fits, 3), (ReportStyle){.columns = 80});
    diags_print(&out, &diags);
    arena_free(arena);
    return 0;
}
