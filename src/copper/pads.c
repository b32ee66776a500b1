/* Pads and holes. A hole is a connected piece of the hole layer: its centre weighted by probability, its diameter from its
 * area. A pad is a connected piece of bare metal within one net; where a piece is longer than a pad with a hole can be
 * (bare or tinned boards, solder along a track), each hole has a pad of its own round it. Linear. */
#include "copper/components.h"
#include "copper/inside.h"

#include <math.h>

static const double HALF_TURN = 3.14159265358979323846;
static const double HOLE_LEAST_MM = 0.15;   /* diameter: the finest drill in use (common practice) */
static const double PAD_OF_HOLE = 2.0;      /* diameters: what a pad round a hole usually has (common practice) */
static const double PAD_OF_HOLE_MOST = 4.0; /* diameters: longer metal round a hole is more than its pad */

/* The pieces of a layer, and the number of each pixel's, size width * height. */
static Components pieces(const Trace *trace, Arena *scratch, const unsigned char *layer, const uint16_t *within,
                         uint32_t **number) {
    ComponentPicture all = {layer, trace->width, trace->height, trace->width, TRACE_COPPER, within};
    *number = arena_many(scratch, uint32_t, (size_t)trace->width * trace->height);
    return components_of(scratch, &all, *number);
}

static void find_holes(Arena *arena, const Trace *trace, Copper *copper) {
    Arena *scratch = arena_new();
    uint32_t *number;
    Components found = pieces(trace, scratch, trace->hole, NULL, &number);
    for (uint32_t i = 0; i < found.list.count; i++) {
        const Component *piece = &found.list.at[i];
        double diameter = 2 * sqrt(piece->area / HALF_TURN) / trace->scale;
        if (diameter < HOLE_LEAST_MM) continue;
        PlacePoint at = {piece->sum_x / piece->weight / trace->scale, piece->sum_y / piece->weight / trace->scale};
        size_t pixel = trace_copper_near(trace, at, diameter);
        uint32_t net = pixel == 0 ? 0 : trace->regions.at[trace->region[pixel] - 1].net;
        list_push(arena, &copper->holes, ((CopperHole){.at = at, .diameter = diameter, .net = net}));
    }
    arena_free(scratch);
}

static void add_pad(Arena *arena, Copper *copper, PlacePoint at, double width, double height, uint32_t net, uint32_t hole) {
    list_push(arena, &copper->pads, ((CopperPad){.at = at, .width = width, .height = height, .net = net, .hole = hole}));
}

typedef struct Metal {
    uint32_t holes, hole; /* how many lie in it, and the last */
} Metal;

static uint32_t metal_at(const Trace *trace, const uint32_t *number, PlacePoint at) {
    size_t pixel = trace_pixel(trace, at);
    return pixel == 0 ? 0 : number[trace_label_at(trace, pixel)];
}

/* The piece of metal at or round a hole: looked for in its middle and in a ring just outside it. */
static uint32_t metal_round(const Trace *trace, const uint32_t *number, const CopperHole *hole) {
    uint32_t middle = metal_at(trace, number, hole->at);
    if (middle != 0) return middle;
    for (unsigned i = 0; i < 8; i++) {
        double turn = HALF_TURN * i / 4, far = hole->diameter / 2 + 0.15;
        uint32_t metal = metal_at(trace, number, (PlacePoint){hole->at.x + far * cos(turn), hole->at.y + far * sin(turn)});
        if (metal != 0) return metal;
    }
    return 0;
}

static void find_pads(Arena *arena, const Trace *trace, Copper *copper) {
    Arena *scratch = arena_new();
    uint32_t *number;
    Components found = pieces(trace, scratch, trace->pad, copper->labels, &number);
    Metal *metal = arena_many(scratch, Metal, found.list.count + 1);
    uint32_t *round = arena_many(scratch, uint32_t, copper->holes.count);
    for (uint32_t i = 0; i < copper->holes.count; i++) {
        round[i] = metal_round(trace, number, &copper->holes.at[i]);
        metal[round[i]].holes++, metal[round[i]].hole = i;
    }
    for (uint32_t i = 0; i < found.list.count; i++) {
        const Component *piece = &found.list.at[i];
        double width = (piece->right - piece->left + 1) / trace->scale,
               height = (piece->bottom - piece->top + 1) / trace->scale;
        uint32_t holes = metal[i + 1].holes, hole = metal[i + 1].hole;
        double most = holes == 0 ? INFINITY : PAD_OF_HOLE_MOST * copper->holes.at[hole].diameter;
        if (piece->area < TRACE_PAD_LEAST_MM2 * trace->scale * trace->scale || holes > 1 || width > most || height > most)
            continue;
        PlacePoint at = {(piece->left + piece->right + 1) / 2.0 / trace->scale,
                         (piece->top + piece->bottom + 1) / 2.0 / trace->scale};
        uint32_t net =
            copper->labels[(size_t)(piece->sum_y / piece->weight) * trace->width + (size_t)(piece->sum_x / piece->weight)];
        size_t top = (size_t)piece->top * trace->width;
        for (uint32_t x = piece->left; net == 0 && x <= piece->right; x++)
            if (number[top + x] == i + 1) net = copper->labels[top + x];
        add_pad(arena, copper, at, width, height, net, holes == 0 ? UINT32_MAX : hole);
        metal[i + 1].holes = 0;
    }
    for (uint32_t i = 0; i < copper->holes.count; i++) {
        const CopperHole *hole = &copper->holes.at[i];
        if (hole->net == 0 || round[i] == 0 || metal[round[i]].holes == 0) continue;
        add_pad(arena, copper, hole->at, PAD_OF_HOLE * hole->diameter, PAD_OF_HOLE * hole->diameter, hole->net, i);
    }
    arena_free(scratch);
}

void pads_find(Arena *arena, const Trace *trace, Copper *copper) {
    find_holes(arena, trace, copper);
    find_pads(arena, trace, copper);
}
