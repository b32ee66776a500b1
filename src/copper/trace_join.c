/* Regions to nets: edges by falling probability, each joining its two regions when that is likely enough, unless a
 * word keeps the two nets apart. So the edge that a word forbids is the least likely one on the likeliest way between the
 * two places. (Kruskal's tree, with refusals.) An edge that joins two nets is a tree edge; further ones between the same
 * nets are second ways. O(e log e) for e edges, times the words. */
#include "copper/inside.h"

#include <stdlib.h>

/* A wrong join spoils two whole nets, a wrong split takes a piece off one: so a little more than even is asked of a join. Of
 * 0.4, 0.5, 0.6, 0.65, 0.7 the last two gave the invented boards of doubt.c the best nets (mean F1 0.752 and 0.753, 0.709 at 0.5). */
static const double JOIN_FROM = 0.65;

uint32_t trace_root(Trace *trace, uint32_t region) {
    TraceRegion *at = trace->regions.at;
    while (at[region - 1].up != region) region = at[region - 1].up = at[at[region - 1].up - 1].up;
    return region;
}

uint32_t trace_kept_apart(Trace *trace, const TraceAparts *aparts, uint32_t a, uint32_t b) {
    a = trace_root(trace, a), b = trace_root(trace, b);
    for (uint32_t i = 0; i < aparts->count; i++) {
        uint32_t one = trace_root(trace, aparts->at[i].a), two = trace_root(trace, aparts->at[i].b);
        if ((one == a && two == b) || (one == b && two == a)) return aparts->at[i].word + 1;
    }
    return 0;
}

typedef struct Ranked {
    double p;
    uint32_t edge;
} Ranked;

static int by_falling_p(const void *a, const void *b) {
    const Ranked *one = a, *two = b;
    if (one->p != two->p) return one->p < two->p ? 1 : -1;
    return one->edge < two->edge ? -1 : 1;
}

void trace_join(Trace *trace, const TraceAparts *aparts) {
    Ranked *ranked = arena_many(trace->arena, Ranked, trace->edges.count);
    for (uint32_t i = 0; i < trace->edges.count; i++) ranked[i] = (Ranked){trace->edges.at[i].p, i};
    if (trace->edges.count > 0) qsort(ranked, trace->edges.count, sizeof *ranked, by_falling_p);
    for (uint32_t i = 0; i < trace->edges.count && ranked[i].p >= JOIN_FROM; i++) {
        TraceEdge *edge = &trace->edges.at[ranked[i].edge];
        uint32_t a = trace_root(trace, edge->a), b = trace_root(trace, edge->b);
        uint32_t word = a == b ? 0 : trace_kept_apart(trace, aparts, a, b);
        if (word != 0) edge->told = word;
        edge->joined = word == 0;
        if (a == b || !edge->joined) continue;
        trace->regions.at[b - 1].up = a;
        edge->tree = true;
    }
}

TraceLinks trace_links(const Trace *trace, Arena *arena, bool tree_only) {
    uint32_t count = trace->regions.count;
    TraceLinks links = {.start = arena_many(arena, uint32_t, count + 2)};
    for (uint32_t i = 0; i < trace->edges.count; i++) {
        if (tree_only && !trace->edges.at[i].tree) continue;
        links.start[trace->edges.at[i].a + 1]++, links.start[trace->edges.at[i].b + 1]++;
    }
    for (uint32_t i = 1; i <= count + 1; i++) links.start[i] += links.start[i - 1];
    links.list = arena_many(arena, uint32_t, links.start[count + 1]);
    uint32_t *fill = arena_many(arena, uint32_t, count + 2);
    memcpy(fill, links.start, (count + 2) * sizeof *fill);
    for (uint32_t i = 0; i < trace->edges.count; i++) {
        if (tree_only && !trace->edges.at[i].tree) continue;
        links.list[fill[trace->edges.at[i].a]++] = i;
        links.list[fill[trace->edges.at[i].b]++] = i;
    }
    return links;
}
