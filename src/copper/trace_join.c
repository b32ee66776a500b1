/* Regions to nets: pairs of regions by falling probability, each joined at its likeliest edge when that is likely enough,
 * unless a word keeps the two nets apart. Several edges of a pair speak together: four spokes that solder half hides. So
 * the edge that a word forbids is the least likely one on the likeliest way between the two places. (Kruskal's tree, with
 * refusals.) Below wide print a picture falls into pieces, and a way over three of them is no surer than all its edges
 * together: so two nets with pads become one only when the whole way from pad to pad is likely enough. An edge that joins
 * two nets is a tree edge; further ones between the same nets are second ways. O(e log e) for e edges, times the words. */
#include "copper/inside.h"

#include <math.h>
#include <stdlib.h>

/* A wrong join spoils two whole nets, a wrong split takes a piece off one: so more than even is asked of a join. Of 0.5,
 * 0.6, 0.65, 0.7, 0.75, 0.8, 0.85, 0.9 those from 0.7 on gave 56 invented photos about the same nets (mean F1 0.805, 0.811,
 * 0.817, 0.812, 0.804), the lower ones worse (0.769 at 0.5). */
static const double JOIN_FROM = 0.75;
/* What hides one edge of a pair may hide the others, so each further one counts for less than it says: with 0 and with this
 * 20 invented photos came to mean F1 0.870 and 0.879, 20 hard ones to 0.674 and 0.663, 12 of real layouts to 0.855 and
 * 0.863; it was made for spokes under solder. Where a picture is so coarse that a fine gap is one pixel of chance, further
 * edges say nothing. */
static const double FURTHER_COUNTS = 0.4, FINE = 24; /* px/mm */
enum { SPOKES = 4 }; /* more than a pad has are the stretches of a long gap, which say the same again and again */

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
    uint64_t pair;
    double p;
    uint32_t edge;
} Ranked;

static int by_falling_p(const void *a, const void *b) {
    const Ranked *one = a, *two = b;
    if (one->p != two->p) return one->p < two->p ? 1 : -1;
    return one->edge < two->edge ? -1 : 1;
}

static int by_pair(const void *a, const void *b) {
    const Ranked *one = a, *two = b;
    if (one->pair != two->pair) return one->pair < two->pair ? -1 : 1;
    return by_falling_p(a, b);
}

/* What the edges of each two regions say together stands at the likeliest of them. */
static void add_up(Trace *trace, Ranked *ranked) {
    uint32_t count = trace->edges.count;
    for (uint32_t i = 0; i < count; i++) {
        const TraceEdge *edge = &trace->edges.at[i];
        uint32_t low = edge->a < edge->b ? edge->a : edge->b, high = edge->a < edge->b ? edge->b : edge->a;
        ranked[i] = (Ranked){(uint64_t)low << 32 | high, edge->p, i};
    }
    if (count > 0) qsort(ranked, count, sizeof *ranked, by_pair);
    for (uint32_t i = 0, next; i < count; i = next) {
        double apart = 1 - ranked[i].p;
        for (next = i + 1; next < count && ranked[next].pair == ranked[i].pair; next++) {
            if (next < i + SPOKES && trace->scale >= FINE) apart *= 1 - FURTHER_COUNTS * ranked[next].p;
            trace->edges.at[ranked[next].edge].together = 0;
        }
        trace->edges.at[ranked[i].edge].together = ranked[i].p = 1 - apart;
    }
}

/* ---- from pad to pad ---- */

/* Of each region how likely it is one net with a pad by the likeliest ways, 0 while its net has none; and the regions of
 * each net, from the region that stands for it. */
typedef struct Ways {
    double *sure;
    uint32_t *next, *last; /* 0: none */
    bool *pads;            /* of the region that stands for a net: it has one */
} Ways;

static Ways ways_new(Trace *trace) {
    uint32_t count = trace->regions.count, *metal = arena_many(trace->arena, uint32_t, count + 1);
    Ways ways = {arena_many(trace->arena, double, count + 1), arena_many(trace->arena, uint32_t, count + 1),
                 arena_many(trace->arena, uint32_t, count + 1), arena_many(trace->arena, bool, count + 1)};
    for (uint32_t y = 0; y < trace->height; y++)
        for (size_t at = trace_at(trace, 0, y), end = at + trace->width; at < end; at++)
            metal[trace->region[at]] += trace->pad[trace_label_at(trace, at)] >= TRACE_COPPER;
    for (uint32_t region = 1; region <= count; region++) ways.last[region] = region;
    for (uint32_t region = 1; region <= count; region++) { /* words have made nets of some already */
        uint32_t root = trace_root(trace, region);
        if (root != region) ways.next[ways.last[root]] = region, ways.last[root] = region;
        if (metal[region] >= TRACE_PAD_LEAST_MM2 * trace->scale * trace->scale) ways.pads[root] = true;
    }
    for (uint32_t region = 1; region <= count; region++) ways.sure[region] = ways.pads[trace_root(trace, region)] ? 1 : 0;
    return ways;
}

/* How likely the whole way by an edge is, from the pads of one net to those of the other where these have some. */
static double way_by(const Ways *ways, const TraceEdge *edge, uint32_t a, uint32_t b, double p) {
    return p * (ways->pads[a] ? ways->sure[edge->a] : 1) * (ways->pads[b] ? ways->sure[edge->b] : 1);
}

/* Net b becomes part of net a by such a way. */
static void ways_unite(Ways *ways, uint32_t a, uint32_t b, double way) {
    if (ways->pads[a] != ways->pads[b])
        for (uint32_t region = ways->pads[a] ? b : a; region != 0; region = ways->next[region]) ways->sure[region] = way;
    ways->pads[a] = ways->pads[a] || ways->pads[b];
    ways->next[ways->last[a]] = b, ways->last[a] = ways->last[b];
}

void trace_join(Trace *trace, const TraceAparts *aparts) {
    Ranked *ranked = arena_many(trace->arena, Ranked, trace->edges.count);
    add_up(trace, ranked);
    if (trace->edges.count > 0) qsort(ranked, trace->edges.count, sizeof *ranked, by_falling_p);
    Ways ways = ways_new(trace);
    for (uint32_t i = 0; i < trace->edges.count && ranked[i].p >= JOIN_FROM; i++) {
        TraceEdge *edge = &trace->edges.at[ranked[i].edge];
        uint32_t a = trace_root(trace, edge->a), b = trace_root(trace, edge->b);
        double way = way_by(&ways, edge, a, b, ranked[i].p);
        if (a != b && ways.pads[a] && ways.pads[b] && way < JOIN_FROM) {
            edge->together = fmin(edge->together, way);
            continue;
        }
        uint32_t word = a == b ? 0 : trace_kept_apart(trace, aparts, a, b);
        if (word != 0) edge->told = word;
        edge->joined = word == 0;
        if (a == b || !edge->joined) continue;
        ways_unite(&ways, a, b, way);
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
