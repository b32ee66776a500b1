/* Cuts the value picture into regions, and finds the saddles between them: a watershed by flooding from the highest value
 * down (Vincent and Soille 1991, from memory), pixels sorted by counting. Where all is sure, a region starts at once from a
 * connected core; below that each pixel joins the region it touches, and where it touches two, these have met: if one of
 * them is a speck or rises no more than a ripple above the meeting place, it was never a region and is swallowed; else the
 * place is an edge, and all their further meetings within reach of it are the same edge. So each edge stands at the highest
 * saddle of its stretch of border. Near linear in the pixels. */
#include "copper/components.h"
#include "copper/inside.h"

enum {
    VALUE_LOW = 24,    /* below: bare, no way for copper */
    VALUE_CORE = 232,  /* from here on: copper, no doubt */
    RIPPLE = 14,       /* a top that rises less above its saddle is noise */
    SAME_HEIGHT = 32,  /* border this much below its saddle still counts for its length */
    SAME_EDGE = 3,     /* pixels between two meetings of the same stretch of border */
    EDGES_OF_PAIR = 16 /* separate stretches kept for two regions */
};

typedef struct Basin {
    uint32_t up, area;
    unsigned char peak;
} Basin;

/* What an edge's stretch of border covers, and the next edge of the same two regions. */
typedef struct Stretch {
    uint32_t left, right, top, bottom;
    uint32_t next; /* edge + 1 */
} Stretch;

typedef struct Pair {
    uint32_t a, b;  /* a < b; 0: free */
    uint32_t first; /* edge + 1 */
} Pair;

typedef struct Flood {
    Trace *trace;
    Arena *arena;
    LIST(Basin) basins; /* basin n is basins.at[n - 1] */
    LIST(Stretch) stretches;
    Pair *pairs;
    uint32_t pair_room, pair_count; /* room: a power of two */
} Flood;

static uint32_t basin_root(Flood *flood, uint32_t basin) {
    Basin *at = flood->basins.at;
    while (at[basin - 1].up != basin) basin = at[basin - 1].up = at[at[basin - 1].up - 1].up;
    return basin;
}

static uint32_t basin_new(Flood *flood, unsigned char peak, uint32_t area) {
    uint32_t number = flood->basins.count + 1;
    list_push(flood->arena, &flood->basins, ((Basin){number, area, peak}));
    return number;
}

/* ---- edges ---- */

static Pair *pair_slot(const Flood *flood, uint32_t a, uint32_t b) {
    uint32_t mask = flood->pair_room - 1;
    for (uint32_t i = (a * 0x9e3779b1u ^ b * 0x85ebca6bu) >> 7 & mask;; i = (i + 1) & mask) {
        Pair *pair = &flood->pairs[i];
        if (pair->a == 0 || (pair->a == a && pair->b == b)) return pair;
    }
}

static void more_pairs(Flood *flood) {
    Pair *old = flood->pairs;
    uint32_t old_room = flood->pair_room;
    flood->pair_room = old_room == 0 ? 256 : old_room * 2;
    flood->pairs = arena_many(flood->arena, Pair, flood->pair_room);
    for (uint32_t i = 0; i < old_room; i++)
        if (old[i].a != 0) *pair_slot(flood, old[i].a, old[i].b) = old[i];
}

static bool near_stretch(const Stretch *stretch, uint32_t x, uint32_t y) {
    return x + SAME_EDGE >= stretch->left && x <= stretch->right + SAME_EDGE && y + SAME_EDGE >= stretch->top &&
           y <= stretch->bottom + SAME_EDGE;
}

static void widen(Stretch *stretch, uint32_t x, uint32_t y) {
    if (x < stretch->left) stretch->left = x;
    if (x > stretch->right) stretch->right = x;
    if (y < stretch->top) stretch->top = y;
    if (y > stretch->bottom) stretch->bottom = y;
}

/* Pixels along its longer side. */
static uint32_t length_of(const Stretch *stretch) {
    uint32_t across = stretch->right - stretch->left + 1, down = stretch->bottom - stretch->top + 1;
    return across > down ? across : down;
}

/* Two regions meet at a pixel: more of an edge that is known, or a new one. */
static void contact(Flood *flood, uint32_t a, uint32_t b, size_t at, unsigned char value) {
    Trace *trace = flood->trace;
    if (flood->pair_count * 2 >= flood->pair_room) more_pairs(flood);
    Pair *pair = pair_slot(flood, a < b ? a : b, a < b ? b : a);
    if (pair->a == 0) {
        *pair = (Pair){a < b ? a : b, a < b ? b : a, 0};
        flood->pair_count++;
    }
    uint32_t x = (uint32_t)(at % trace->stride), y = (uint32_t)(at / trace->stride), known = 0;
    for (uint32_t edge = pair->first; edge != 0; edge = flood->stretches.at[edge - 1].next, known++) {
        Stretch *stretch = &flood->stretches.at[edge - 1];
        if (!near_stretch(stretch, x, y)) continue;
        widen(stretch, x, y);
        if (value + SAME_HEIGHT >= trace->edges.at[edge - 1].value) trace->edges.at[edge - 1].border = length_of(stretch);
        return;
    }
    if (known >= EDGES_OF_PAIR) return;
    list_push(trace->arena, &trace->edges,
              ((TraceEdge){.a = pair->a, .b = pair->b, .at = (uint32_t)at, .value = value, .border = 1}));
    list_push(flood->arena, &flood->stretches, ((Stretch){x, x, y, y, pair->first}));
    pair->first = flood->stretches.count;
}

/* ---- flooding ---- */

static bool stands_out(const Flood *flood, uint32_t basin, unsigned char value) {
    const Basin *at = &flood->basins.at[basin - 1];
    return at->area >= flood->trace->speck && at->peak >= value + RIPPLE;
}

/* Two basins at one pixel: the one that the pixel belongs to. */
static uint32_t meet(Flood *flood, uint32_t a, uint32_t b, size_t at, unsigned char value) {
    bool a_stands = stands_out(flood, a, value), b_stands = stands_out(flood, b, value);
    if (a_stands && b_stands) {
        contact(flood, a, b, at, value);
        return a;
    }
    Basin *basins = flood->basins.at;
    bool keep_a = a_stands != b_stands ? a_stands : basins[a - 1].area >= basins[b - 1].area;
    uint32_t into = keep_a ? a : b, from = keep_a ? b : a;
    basins[from - 1].up = into;
    basins[into - 1].area += basins[from - 1].area;
    if (basins[from - 1].peak > basins[into - 1].peak) basins[into - 1].peak = basins[from - 1].peak;
    return into;
}

static void flood_pixel(Flood *flood, size_t at) {
    Trace *trace = flood->trace;
    const ptrdiff_t down = (ptrdiff_t)trace->stride;
    const ptrdiff_t round[8] = {-down, -1, 1, down, -down - 1, 1 - down, down - 1, down + 1};
    const unsigned char value = trace->value[at];
    uint32_t met[8], count = 0, last = 0;
    for (unsigned i = 0; i < 8; i++) {
        uint32_t basin = trace->region[(ptrdiff_t)at + round[i]];
        if (basin == 0 || basin == last) continue;
        last = basin;
        met[count++] = basin_root(flood, basin);
    }
    uint32_t own = count == 0 ? basin_new(flood, value, 0) : met[0];
    for (uint32_t i = 1; i < count; i++) {
        uint32_t other = basin_root(flood, met[i]);
        if (other != own) own = meet(flood, own, other, at, value);
    }
    trace->region[at] = own;
    flood->basins.at[own - 1].area++;
}

/* The pixels between bare and sure, highest value first. */
static uint32_t *in_order(const Trace *trace, Arena *arena, size_t *count) {
    size_t start[257] = {0}, from = trace_at(trace, 0, 0), to = trace_at(trace, trace->width, trace->height - 1);
    for (size_t i = from; i < to; i++) start[256 - trace->value[i]]++; /* value v in slot 256 - v: after all the higher */
    for (unsigned i = 1; i <= 256; i++) start[i] += start[i - 1];
    size_t before = start[256 - VALUE_CORE], end = start[256 - VALUE_LOW];
    *count = end - before;
    uint32_t *order = arena_many(arena, uint32_t, *count + 1);
    for (size_t i = from; i < to; i++) {
        unsigned char value = trace->value[i];
        if (value >= VALUE_LOW && value < VALUE_CORE) order[start[255 - value]++ - before] = (uint32_t)i;
    }
    return order;
}

/* Basins to regions 1 ... n, in the order in which they arose. */
static void number_regions(Flood *flood) {
    Trace *trace = flood->trace;
    uint32_t *number = arena_many(flood->arena, uint32_t, flood->basins.count + 1);
    for (uint32_t basin = 1; basin <= flood->basins.count; basin++) {
        if (flood->basins.at[basin - 1].up != basin) continue;
        const Basin *root = &flood->basins.at[basin - 1];
        list_push(trace->arena, &trace->regions, ((TraceRegion){.area = root->area, .peak = root->peak}));
        number[basin] = trace->regions.at[trace->regions.count - 1].up = trace->regions.count;
    }
    for (uint32_t basin = 1; basin <= flood->basins.count; basin++) number[basin] = number[basin_root(flood, basin)];
    size_t end = (size_t)trace->stride * (trace->height + 2);
    for (size_t i = 0; i < end; i++) trace->region[i] = number[trace->region[i]];
    for (uint32_t i = 0; i < trace->edges.count; i++)
        trace->edges.at[i].a = number[trace->edges.at[i].a], trace->edges.at[i].b = number[trace->edges.at[i].b];
}

void trace_flood(Trace *trace) {
    Flood flood = {.trace = trace, .arena = arena_new()};
    size_t first = trace_at(trace, 0, 0), count;
    ComponentPicture picture = {trace->value + first, trace->width, trace->height, trace->stride, VALUE_CORE, NULL};
    Components cores = components_of(flood.arena, &picture, trace->region + first);
    for (uint32_t i = 0; i < cores.list.count; i++) basin_new(&flood, 255, cores.list.at[i].area);
    const uint32_t *order = in_order(trace, flood.arena, &count);
    for (size_t i = 0; i < count; i++) flood_pixel(&flood, order[i]);
    number_regions(&flood);
    arena_free(flood.arena);
}
