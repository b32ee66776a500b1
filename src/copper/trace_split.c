/* One region made two, because a meter says that two places in it are apart: cut where the copper between them is
 * narrowest. Distances to the region's edge by a chamfer of 3 and 4 (Borgefors 1986, from memory), then flooding from both
 * places, deepest pixels first: the two floods meet in the narrowest place. Linear in the pixels. */
#include "copper/inside.h"

enum { DEPTHS = 256, SIDE_A = 1, SIDE_B = 2 };

typedef struct Split {
    Trace *trace;
    uint32_t region;
    unsigned char *depth, *side;   /* of every pixel */
    uint32_t first[DEPTHS], *next; /* waiting pixels by depth */
    unsigned top;
} Split;

static unsigned char chamfer(const Split *split, size_t at, const ptrdiff_t round[4]) {
    static const unsigned step[4] = {3, 3, 4, 4};
    unsigned least = split->depth[at];
    for (unsigned i = 0; i < 4; i++) {
        unsigned by = split->depth[(ptrdiff_t)at + round[i]] + step[i];
        if (by < least) least = by;
    }
    return (unsigned char)least;
}

static void find_depths(Split *split) {
    const Trace *trace = split->trace;
    ptrdiff_t down = (ptrdiff_t)trace->stride;
    const ptrdiff_t before[4] = {-1, -down, -down - 1, 1 - down}, after[4] = {1, down, down + 1, down - 1};
    size_t from = trace_at(trace, 0, 0), to = trace_at(trace, trace->width, trace->height - 1);
    for (size_t i = from; i < to; i++)
        if (trace->region[i] == split->region) split->depth[i] = DEPTHS - 1;
    for (size_t i = from; i < to; i++)
        if (split->depth[i] != 0) split->depth[i] = chamfer(split, i, before);
    for (size_t i = to; i-- > from;)
        if (split->depth[i] != 0) split->depth[i] = chamfer(split, i, after);
}

static void wait_for(Split *split, size_t at, unsigned char side) {
    unsigned depth = split->depth[at];
    split->side[at] = side;
    split->next[at] = split->first[depth];
    split->first[depth] = (uint32_t)at;
    if (depth > split->top) split->top = depth;
}

/* Where the two floods met deepest; 0 when they never did. */
static size_t flood(Split *split) {
    ptrdiff_t down = (ptrdiff_t)split->trace->stride;
    const ptrdiff_t round[8] = {-down, -1, 1, down, -down - 1, 1 - down, down - 1, down + 1};
    size_t met = 0;
    while (split->top > 0) {
        size_t at = split->first[split->top];
        if (at == 0) {
            split->top--;
            continue;
        }
        split->first[split->top] = split->next[at];
        for (unsigned i = 0; i < 8; i++) {
            size_t to = (size_t)((ptrdiff_t)at + round[i]);
            if (split->depth[to] == 0) continue;
            if (split->side[to] == 0) wait_for(split, to, split->side[at]);
            if (split->side[to] != split->side[at] && (met == 0 || split->depth[at] > split->depth[met])) met = at;
        }
    }
    return met;
}

/* An edge of the old region goes to the part that it touches more of. */
static uint32_t part_at(const Split *split, size_t at) {
    ptrdiff_t down = (ptrdiff_t)split->trace->stride;
    int more_b = 0;
    for (ptrdiff_t y = -down; y <= down; y += down)
        for (ptrdiff_t x = -1; x <= 1; x++) {
            unsigned char side = split->side[(ptrdiff_t)at + y + x];
            more_b += side == SIDE_B ? 1 : side == SIDE_A ? -1 : 0;
        }
    return more_b > 0 ? split->trace->regions.count : split->region;
}

void trace_split(Trace *trace, size_t pixel_a, size_t pixel_b) {
    size_t pixels = (size_t)trace->stride * (trace->height + 2);
    Arena *arena = arena_new();
    Split split = {.trace = trace, .region = trace->region[pixel_a]};
    split.depth = arena_many(arena, unsigned char, pixels);
    split.side = arena_many(arena, unsigned char, pixels);
    split.next = arena_many(arena, uint32_t, pixels);
    find_depths(&split);
    wait_for(&split, pixel_a, SIDE_A);
    wait_for(&split, pixel_b, SIDE_B);
    size_t met = flood(&split);
    list_push(trace->arena, &trace->regions, ((TraceRegion){.peak = 255}));
    uint32_t count = trace->edges.count, added = trace->regions.count, area = 0;
    for (size_t i = 0; i < pixels; i++)
        if (split.side[i] == SIDE_B) trace->region[i] = added, area++;
    trace->regions.at[added - 1].area = area, trace->regions.at[added - 1].up = added;
    trace->regions.at[split.region - 1].area -= area;
    for (uint32_t i = 0; i < count; i++) {
        TraceEdge *edge = &trace->edges.at[i];
        if (edge->a == split.region) edge->a = part_at(&split, edge->at);
        if (edge->b == split.region) edge->b = part_at(&split, edge->at);
    }
    if (met != 0)
        list_push(
            trace->arena, &trace->edges,
            ((TraceEdge){.a = split.region, .b = added, .at = (uint32_t)met, .value = trace->value[met], .border = 1}));
    arena_free(arena);
}
