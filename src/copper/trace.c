/* From layers to nets, step by step; each step's file says how. Memory: up to 14 bytes a pixel of the straightened board
 * beside its layers, most of it while necks are found: what a step alone needs it gives back at its end. 2 bytes stay. */
#include "copper/inside.h"

#include <math.h>
#include <stdlib.h>

static const double SPECK_MM2 =
    0.02; /* less copper than this is dirt or noise: the smallest pad of a via is six times larger */
enum { SPECK_LEAST = 4, PIXELS_MOST = 400 * 1000 * 1000 };

size_t trace_pixel(const Trace *trace, PlacePoint mm) {
    double x = floor(mm.x * trace->scale), y = floor(mm.y * trace->scale);
    if (!(x >= 0 && y >= 0 && x < trace->width && y < trace->height)) return 0;
    return trace_at(trace, (uint32_t)x, (uint32_t)y);
}

size_t trace_copper_near(const Trace *trace, PlacePoint mm, double reach) {
    double u = mm.x * trace->scale - 0.5, v = mm.y * trace->scale - 0.5, most = reach * trace->scale;
    if (!isfinite(u) || !isfinite(v)) return 0;
    double least = most * most, x0 = fmax(0, ceil(u - most)), x1 = fmin(trace->width - 1.0, u + most);
    size_t best = 0;
    for (double y = fmax(0, ceil(v - most)); y <= fmin(trace->height - 1.0, v + most); y++)
        for (double x = x0; x <= x1; x++) {
            size_t at = trace_at(trace, (uint32_t)x, (uint32_t)y);
            double far = (x - u) * (x - u) + (y - v) * (y - v);
            if (far > least || (best != 0 && far == least) || trace->copper[at] < TRACE_COPPER || trace->region[at] == 0)
                continue;
            least = far, best = at;
        }
    return best;
}

static unsigned char *bordered(Trace *trace, const unsigned char *picture) {
    unsigned char *copy = arena_many(trace->arena, unsigned char, (size_t)trace->stride *(trace->height + 2));
    for (uint32_t y = 0; y < trace->height; y++)
        memcpy(copy + trace_at(trace, 0, y), picture + (size_t)y * trace->width, trace->width);
    return copy;
}

Trace trace_start(Arena *scratch, const Layers *layers) {
    Trace trace = {.arena = scratch, .scale = layers->scale, .width = layers->width, .height = layers->height};
    trace.stride = layers->width + 2;
    size_t pixels = (size_t)trace.stride * (trace.height + 2);
    trace.copper = bordered(&trace, layers->at[LAYER_COPPER]);
    trace.unseen = bordered(&trace, layers->at[LAYER_UNSEEN]);
    trace.pad = layers->at[LAYER_PAD];
    trace.hole = layers->at[LAYER_HOLE];
    trace.value = arena_many(scratch, unsigned char, pixels);
    trace.region = arena_many(scratch, uint32_t, pixels);
    double speck = SPECK_MM2 * trace.scale * trace.scale;
    trace.speck = speck < SPECK_LEAST ? SPECK_LEAST : (uint32_t)speck;
    return trace;
}

/* The pixel of each region that lies deepest in copper. */
static void find_peaks(Trace *trace) {
    for (uint32_t y = 0; y < trace->height; y++)
        for (size_t at = trace_at(trace, 0, y), end = at + trace->width; at < end; at++) {
            if (trace->region[at] == 0 || trace->copper[at] < TRACE_COPPER) continue;
            uint32_t *peak = &trace->regions.at[trace->region[at] - 1].peak_at;
            if (*peak == 0 || trace->deep[at] > trace->deep[*peak]) *peak = (uint32_t)at;
        }
}

static void find_depths_and_gap(Trace *trace, Copper *copper) {
    Arena *scratch = arena_new();
    uint16_t *nearest = arena_many(scratch, uint16_t, (size_t)trace->stride * (trace->height + 2));
    neck_depths(trace, copper, nearest);
    measure_gap(trace, nearest, copper);
    arena_free(scratch);
}

bool copper_trace(Arena *arena, const Layers *layers, const CopperWord *words, size_t word_count, Copper *copper) {
    *copper = (Copper){.scale = layers->scale, .width = layers->width, .height = layers->height};
    uint64_t pixels = (uint64_t)layers->width * layers->height;
    if (pixels == 0 || pixels > PIXELS_MOST || !(layers->scale > 0)) return false;
    copper->width_mm = layers->width / layers->scale, copper->height_mm = layers->height / layers->scale;
    copper->labels = calloc(pixels, sizeof *copper->labels);
    if (copper->labels == NULL) return false;
    Arena *scratch = arena_new();
    Trace trace = trace_start(scratch, layers);
    words_draw(&trace, words, word_count);
    trace_value(&trace);
    trace_flood(&trace);
    words_settle(arena, &trace, words, word_count, copper);
    trace_label(arena, &trace, copper);
    pads_find(arena, &trace, copper);
    find_depths_and_gap(&trace, copper);
    find_peaks(&trace);
    outline_rings(arena, &trace, copper);
    doubt_list(arena, &trace, copper);
    neck_measure(&trace, copper); /* the last: it takes the regions' memory */
    arena_free(scratch);
    return true;
}

void copper_free(Copper *copper) {
    free(copper->labels);
    copper->labels = NULL;
}

uint32_t copper_net_at(const Copper *copper, PlacePoint mm) {
    double x = floor(mm.x * copper->scale), y = floor(mm.y * copper->scale);
    if (!(x >= 0 && y >= 0 && x < copper->width && y < copper->height)) return 0;
    return copper->labels[(size_t)y * copper->width + (size_t)x];
}
