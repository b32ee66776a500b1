/* Nets to pixels. A pixel is copper when it is so by its own probability; its net is that of its region. Where an edge
 * joins two regions over a gap, the gap is drawn closed; where two nets touch, because a word or a doubt keeps them apart,
 * the less sure pixel is bared, so that nets never touch, not even over corners. Specks are dropped, and nets numbered in
 * the order of their first pixels. Linear. */
#include "copper/inside.h"

#include <math.h>
#include <stdlib.h>

enum { NETS_MOST = UINT16_MAX };
static const double CLOSED_HALF_MM = 0.05, BRIDGE_HALF_MM = 0.15, BRIDGE_MOST_MM = 3;

/* Copper pixels by root; regions' .net holds it. */
static uint32_t *areas_of_nets(Trace *trace) {
    uint32_t *area = arena_many(trace->arena, uint32_t, trace->regions.count + 1);
    for (uint32_t i = 1; i <= trace->regions.count; i++) trace->regions.at[i - 1].net = trace_root(trace, i);
    for (uint32_t y = 0; y < trace->height; y++)
        for (size_t at = trace_at(trace, 0, y), end = at + trace->width; at < end; at++) {
            uint32_t region = trace->copper[at] >= TRACE_COPPER ? trace->region[at] : 0;
            if (region != 0) area[trace->regions.at[region - 1].net]++;
        }
    return area;
}

static int by_falling_area(const void *a, const void *b) {
    uint32_t one = *(const uint32_t *)a, two = *(const uint32_t *)b;
    return one < two ? 1 : one > two ? -1 : 0;
}

/* Copper of fewer pixels is no net: a speck, or the smallest where there are more than labels can tell. */
static uint32_t least_area(const Trace *trace, const uint32_t *area) {
    uint32_t *sorted = arena_many(trace->arena, uint32_t, trace->regions.count + 1), count = 0;
    for (uint32_t i = 1; i <= trace->regions.count; i++)
        if (area[i] >= trace->speck) sorted[count++] = area[i];
    if (count <= NETS_MOST) return trace->speck;
    qsort(sorted, count, sizeof *sorted, by_falling_area);
    return sorted[NETS_MOST] + 1;
}

/* Net numbers into regions, 1 ... count in the order of first pixels, and labels into pixels. */
static void number_nets(Trace *trace, Copper *copper, Arena *arena) {
    uint32_t *area = areas_of_nets(trace), least = least_area(trace, area);
    uint32_t *number = arena_many(trace->arena, uint32_t, trace->regions.count + 1);
    uint16_t *label = copper->labels;
    for (uint32_t y = 0; y < trace->height; y++)
        for (size_t at = trace_at(trace, 0, y), end = at + trace->width; at < end; at++, label++) {
            uint32_t region = trace->copper[at] >= TRACE_COPPER ? trace->region[at] : 0;
            if (region == 0) continue;
            uint32_t root = trace->regions.at[region - 1].net;
            if (number[root] == 0 && area[root] >= least) {
                (void)list_add(arena, &copper->nets);
                number[root] = copper->nets.count;
            }
            *label = (uint16_t)number[root];
        }
    for (uint32_t i = 0; i < trace->regions.count; i++) trace->regions.at[i].net = number[trace->regions.at[i].net];
}

/* Bare pixels along a line become copper of a net. */
static void close_gap(const Trace *trace, Copper *copper, PlacePoint from, PlacePoint to, double half_mm, uint32_t net) {
    double steps = ceil(hypot(to.x - from.x, to.y - from.y) * trace->scale * 2) + 1,
           round = fmax(half_mm * trace->scale, 0.75);
    for (double i = 0; i <= steps; i++) {
        double x = (from.x + (to.x - from.x) * i / steps) * trace->scale,
               y = (from.y + (to.y - from.y) * i / steps) * trace->scale;
        for (double v = floor(y - round); v <= y + round; v++)
            for (double u = floor(x - round); u <= x + round; u++) {
                bool inside = u >= 0 && v >= 0 && u < trace->width && v < trace->height;
                if (!inside || hypot(u + 0.5 - x, v + 0.5 - y) > round) continue;
                uint16_t *label = &copper->labels[(size_t)v * trace->width + (size_t)u];
                if (*label == 0) *label = (uint16_t)net;
            }
    }
}

static void close_gaps(const Trace *trace, Copper *copper) {
    for (uint32_t i = 0; i < trace->edges.count; i++) {
        const TraceEdge *edge = &trace->edges.at[i];
        uint32_t net = trace->regions.at[edge->a - 1].net;
        if (edge->joined && edge->tree && !edge->copper && edge->width > 0 && net != 0)
            close_gap(trace, copper, edge->from, edge->to, CLOSED_HALF_MM, net);
    }
    for (uint32_t i = 0; i < trace->bridges.count; i++) {
        const TraceBridge *bridge = &trace->bridges.at[i];
        uint32_t net = trace->regions.at[bridge->region - 1].net;
        bool short_enough = hypot(bridge->to.x - bridge->from.x, bridge->to.y - bridge->from.y) <= BRIDGE_MOST_MM;
        if (net != 0 && short_enough) close_gap(trace, copper, bridge->from, bridge->to, BRIDGE_HALF_MM, net);
    }
}

/* Of two touching pixels of different nets the less sure one. */
static void bare_one(const Trace *trace, uint16_t *labels, size_t a, size_t b, size_t at_a, size_t at_b) {
    if (labels[a] == 0 || labels[b] == 0 || labels[a] == labels[b]) return;
    if (trace->copper[at_a] < trace->copper[at_b])
        labels[a] = 0;
    else
        labels[b] = 0;
}

static void part_nets(const Trace *trace, uint16_t *labels) {
    for (uint32_t y = 0; y < trace->height; y++)
        for (uint32_t x = 0; x < trace->width; x++) {
            size_t i = (size_t)y * trace->width + x, at = trace_at(trace, x, y), w = trace->width, s = trace->stride;
            if (labels[i] == 0) continue;
            if (x + 1 < trace->width) bare_one(trace, labels, i, i + 1, at, at + 1);
            if (y + 1 == trace->height) continue;
            bare_one(trace, labels, i, i + w, at, at + s);
            if (x > 0) bare_one(trace, labels, i, i + w - 1, at, at + s - 1);
            if (x + 1 < trace->width) bare_one(trace, labels, i, i + w + 1, at, at + s + 1);
        }
}

void trace_label(Arena *arena, Trace *trace, Copper *copper) {
    number_nets(trace, copper, arena);
    close_gaps(trace, copper);
    part_nets(trace, copper->labels);
}
