/* The bench as the matcher wants it: units by reference in natural order, by kind with all kinds below, and the pins on each
 * net, in three flat arrays. */
#include "reason/pattern.h"
#include "reason/rails.h"

#include <stdlib.h>

/* `R2` before `R10`: digits as numbers. */
static int natural_order(Text a, Text b) {
    size_t i = 0, j = 0;
    while (i < a.len && j < b.len) {
        bool digit_a = a.at[i] >= '0' && a.at[i] <= '9', digit_b = b.at[j] >= '0' && b.at[j] <= '9';
        if (digit_a && digit_b) {
            size_t from_a = i, from_b = j;
            while (i < a.len && a.at[i] >= '0' && a.at[i] <= '9') i++;
            while (j < b.len && b.at[j] >= '0' && b.at[j] <= '9') j++;
            while (from_a + 1 < i && a.at[from_a] == '0') from_a++;
            while (from_b + 1 < j && b.at[from_b] == '0') from_b++;
            if (i - from_a != j - from_b) return i - from_a < j - from_b ? -1 : 1;
            int order = text_order(text_sub(a, from_a, i - from_a), text_sub(b, from_b, j - from_b));
            if (order != 0) return order;
            continue;
        }
        if (a.at[i] != b.at[j]) return (unsigned char)a.at[i] < (unsigned char)b.at[j] ? -1 : 1;
        i++, j++;
    }
    return a.len - i < b.len - j ? -1 : a.len - i > b.len - j;
}

typedef struct Sorting {
    Text ref;
    uint32_t unit;
} Sorting;

static int by_ref(const void *a, const void *b) {
    const Sorting *x = a, *y = b;
    int order = natural_order(x->ref, y->ref);
    return order != 0 ? order : (x->unit > y->unit) - (x->unit < y->unit);
}

static void add_units(Arena *arena, Graph *graph, const Bench *bench) {
    Sorting *sorting = arena_many(arena, Sorting, bench->units.count + 1);
    for (uint32_t u = 0; u < bench->units.count; u++)
        sorting[u] = (Sorting){bench->parts.at[bench->units.at[u].part].ref, u};
    qsort(sorting, bench->units.count, sizeof *sorting, by_ref);
    graph->unit_count = bench->units.count;
    graph->units = arena_many(arena, GraphUnit, bench->units.count + 1);
    for (uint32_t i = 0; i < bench->units.count; i++) {
        const BenchUnit *unit = &bench->units.at[sorting[i].unit];
        graph->units[i] = (GraphUnit){unit->kind, sorting[i].unit, unit->part, unit->pins, unit->pin_count};
    }
}

/* Counting sort of all (net, unit, pin) by net; units come in order. */
static void add_ends(Arena *arena, Graph *graph, const Bench *bench) {
    graph->net_count = bench->nets.count;
    graph->net_start = arena_many(arena, uint32_t, graph->net_count + 2);
    for (int fill = 0; fill < 2; fill++) {
        for (uint32_t u = 0; u < graph->unit_count; u++) {
            const GraphUnit *unit = &graph->units[u];
            for (uint32_t p = 0; p < unit->pin_count; p++) {
                if (unit->pins[p] == BENCH_NONE) continue;
                uint32_t net = bench->pins.at[unit->pins[p]].net;
                if (fill)
                    graph->ends[graph->net_start[net + 1]++] =
                        (GraphEnd){u, unit->pins[p], unit->kind->pin_count == 0 ? -1 : (int)p};
                else
                    graph->net_start[net + 1]++;
            }
        }
        if (fill) break;
        /* counts to starts, shifted by one so that filling leaves each net's start in its place */
        uint32_t sum = 0;
        for (uint32_t n = 0; n <= graph->net_count; n++) {
            uint32_t count = graph->net_start[n + 1];
            graph->net_start[n + 1] = sum;
            sum += n < graph->net_count ? count : 0;
        }
        graph->ends = arena_many(arena, GraphEnd, sum + 1);
    }
}

static void add_kinds(Arena *arena, Graph *graph, const BenchKinds *kinds) {
    uint32_t count = bench_kind_count(kinds);
    graph->kind_start = arena_many(arena, uint32_t, count + 2);
    for (uint32_t u = 0; u < graph->unit_count; u++)
        for (const BenchKind *k = graph->units[u].kind; k != NULL; k = k->parent) graph->kind_start[k->number + 1]++;
    for (uint32_t k = 0; k < count; k++) graph->kind_start[k + 1] += graph->kind_start[k];
    graph->of_kind = arena_many(arena, uint32_t, graph->kind_start[count] + 1);
    uint32_t *next = arena_many(arena, uint32_t, count + 1);
    for (uint32_t k = 0; k < count; k++) next[k] = graph->kind_start[k];
    for (uint32_t u = 0; u < graph->unit_count; u++)
        for (const BenchKind *k = graph->units[u].kind; k != NULL; k = k->parent) graph->of_kind[next[k->number]++] = u;
    graph->kind_count = count;
    graph->is_a = arena_many(arena, unsigned char, (size_t)count * count + 1);
    for (uint32_t i = 0; i < count; i++)
        for (const BenchKind *k = bench_kind_at(kinds, i); k != NULL; k = k->parent) graph->is_a[i * count + k->number] = 1;
}

Graph *graph_new(Arena *arena, const Bench *bench) {
    Graph *graph = arena_one(arena, Graph);
    graph->bench = bench;
    add_units(arena, graph, bench);
    add_ends(arena, graph, bench);
    add_kinds(arena, graph, bench->kinds);
    Rail *rails = rails_find(arena, bench);
    graph->rails = rails;
    graph->ground_nets = arena_many(arena, uint32_t, graph->net_count + 1);
    graph->supply_nets = arena_many(arena, uint32_t, graph->net_count + 1);
    for (uint32_t n = 0; n < graph->net_count; n++) {
        if (rails[n].ground) graph->ground_nets[graph->ground_count++] = n;
        if (rails[n].supply && !rails[n].ground) graph->supply_nets[graph->supply_count++] = n;
    }
    return graph;
}
