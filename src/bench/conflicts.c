/* The listing of what contradicts what: every conflict with all its lines, none resolved. A file can hold any number of
 * contradictions with chains of any length, so the list is bounded and the rest is counted (see bench.h). */
#include "bench/build.h"

#include <stdlib.h>
#include <string.h>

enum { LINES_SAID_MOST = 12 };

bool build_conflict_listed(Build *b) {
    Bench *bench = b->bench;
    bool room = bench->conflicts.count < BENCH_CONFLICTS_MOST && b->conflict_lines < BENCH_CONFLICT_LINES_MOST;
    if (!room) bench->conflicts_left_out++;
    return room;
}

static int by_number(const void *a, const void *b) {
    uint32_t x = *(const uint32_t *)a, y = *(const uint32_t *)b;
    return (x > y) - (x < y);
}

static size_t sort_and_thin(uint32_t *lines, size_t count) {
    size_t kept = 0;
    if (count > 1) qsort(lines, count, sizeof *lines, by_number);
    for (size_t i = 0; i < count; i++)
        if (kept == 0 || lines[kept - 1] != lines[i]) lines[kept++] = lines[i];
    return kept;
}

void build_say_lines(Out *out, uint32_t *lines, size_t *count) {
    *count = sort_and_thin(lines, *count);
    out_add(out, *count == 1 ? TEXT("line ") : TEXT("lines "));
    size_t said = *count <= LINES_SAID_MOST ? *count : LINES_SAID_MOST;
    for (size_t i = 0; i < said; i++) {
        if (i > 0) out_add(out, i + 1 == *count ? TEXT(" and ") : TEXT(", "));
        out_fmt(out, "%u", lines[i]);
    }
    if (said < *count) out_fmt(out, " and %zu more", *count - said);
}

void build_conflict(Build *b, BenchConflictKind kind, Text id, Text says, Text settle, uint32_t *lines, size_t count) {
    size_t kept = sort_and_thin(lines, count);
    uint32_t known = names_count(b->conflict_ids);
    if (names_add(b->conflict_ids, id) < known && kept > 0)
        id = text_fmt(b->arena, "%.*s:%u", TEXT_ARG(id), lines[kept - 1]);
    uint32_t *own = arena_many(b->arena, uint32_t, kept);
    if (kept > 0) memcpy(own, lines, kept * sizeof *own);
    b->conflict_lines += kept;
    list_push(b->arena, &b->bench->conflicts,
              ((BenchConflict){
                  .kind = kind, .id = id, .says = says, .settle = settle, .lines = own, .line_count = (uint32_t)kept}));
}
