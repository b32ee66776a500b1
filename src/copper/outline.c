/* Outlines. Walks along the cracks between a net's pixels and the rest, the net on the right hand, corners joining (8
 * neighbours); each crack gives one point, where the probability crosses one half between the two pixel centres (marching
 * squares). Then points are left out as long as none of them moves the line by more than SLACK_MM (Douglas and Peucker
 * 1973, from memory), in stretches of bounded length, so that no outline costs more than its length times a constant. */
#include "copper/inside.h"

#include <math.h>

static const double SLACK_MM = 0.01; /* of the 0.05 mm that an outline may be off */
enum { STRETCH = 128 };

typedef struct Walk {
    const Trace *trace;
    const uint16_t *labels;
    uint32_t *seen; /* a bit for each pixel: its upper crack was walked */
    Arena *arena;   /* of the outlines */
    LIST(PlacePoint) points;
    LIST(uint32_t) kept;
} Walk;

/* East, south, west, north: the way along the crack; the bare pixel lies to the left of it. */
static const int STEP_X[4] = {1, 0, -1, 0}, STEP_Y[4] = {0, 1, 0, -1};

static bool is_net(const Walk *walk, int64_t x, int64_t y, uint16_t net) {
    if (x < 0 || y < 0 || x >= walk->trace->width || y >= walk->trace->height) return false;
    return walk->labels[(size_t)y * walk->trace->width + (size_t)x] == net;
}

static PlacePoint crossing(const Walk *walk, int64_t x, int64_t y, unsigned way) {
    const Trace *trace = walk->trace;
    int out_x = STEP_X[(way + 3) % 4], out_y = STEP_Y[(way + 3) % 4];
    size_t at = trace_at(trace, (uint32_t)x, (uint32_t)y);
    size_t out = (size_t)((ptrdiff_t)at + out_y * (ptrdiff_t)trace->stride + out_x);
    bool edge_of_board = x + out_x < 0 || y + out_y < 0 || x + out_x >= trace->width || y + out_y >= trace->height;
    double far = edge_of_board ? 0.5 : measure_edge(trace->copper[at], trace->copper[out]);
    return (PlacePoint){((double)x + 0.5 + far * out_x) / trace->scale, ((double)y + 0.5 + far * out_y) / trace->scale};
}

/* One outline from the upper crack of a pixel, clockwise on screen round copper. */
static void walk_round(Walk *walk, uint32_t start_x, uint32_t start_y, uint16_t net) {
    int64_t x = start_x, y = start_y;
    unsigned way = 0;
    walk->points.count = 0;
    do {
        list_push(walk->arena, &walk->points, crossing(walk, x, y, way));
        size_t bit = (size_t)y * walk->trace->width + (size_t)x;
        if (way == 0) walk->seen[bit / 32] |= 1u << bit % 32;
        unsigned left = (way + 3) % 4;
        int64_t ahead_x = x + STEP_X[way], ahead_y = y + STEP_Y[way];
        if (is_net(walk, ahead_x + STEP_X[left], ahead_y + STEP_Y[left], net)) {
            x = ahead_x + STEP_X[left], y = ahead_y + STEP_Y[left];
            way = left;
        } else if (is_net(walk, ahead_x, ahead_y, net)) {
            x = ahead_x, y = ahead_y;
        } else {
            way = (way + 1) % 4;
        }
    } while (x != start_x || y != start_y || way != 0);
}

/* ---- fewer points ---- */

/* The point between two that lies farthest off their line; `from` when none is off by more than the slack. */
static uint32_t farthest(const PlacePoint *at, uint32_t from, uint32_t end, PlacePoint b) {
    PlacePoint a = at[from];
    double dx = b.x - a.x, dy = b.y - a.y, square = dx * dx + dy * dy,
           most = SLACK_MM * SLACK_MM * (square > 0 ? square : 1);
    uint32_t worst = from;
    for (uint32_t i = from + 1; i < end; i++) {
        double x = at[i].x - a.x, y = at[i].y - a.y, across = x * dy - y * dx;
        double off = square > 0 ? across * across : x * x + y * y; /* times the line's length, all squared */
        if (off > most) most = off, worst = i;
    }
    return worst;
}

/* Keeps of the points from ... to - 1 what the line needs; `from` always. Point `count` is point 0. */
static void keep(Walk *walk, uint32_t from, uint32_t to) {
    uint32_t stack[STRETCH + 2], depth = 0, count = walk->points.count;
    const PlacePoint *at = walk->points.at;
    stack[depth++] = to;
    while (depth > 0) {
        uint32_t end = stack[depth - 1], worst = farthest(at, from, end, at[end % count]);
        if (worst != from) {
            stack[depth++] = worst;
            continue;
        }
        list_push(walk->arena, &walk->kept, from);
        from = end;
        depth--;
    }
}

static double area_of(const PlacePoint *at, uint32_t count) {
    double sum = 0;
    for (uint32_t i = 0, j = count - 1; i < count; j = i++) sum += at[j].x * at[i].y - at[i].x * at[j].y;
    return sum / 2; /* positive when clockwise on screen, y being down */
}

static void measure_ring(CopperNet *net, const Walk *walk, double area) {
    net->area += area;
    for (uint32_t i = 0; i < walk->points.count; i++) {
        PlacePoint p = walk->points.at[i];
        net->low.x = fmin(net->low.x, p.x), net->low.y = fmin(net->low.y, p.y);
        net->high.x = fmax(net->high.x, p.x), net->high.y = fmax(net->high.y, p.y);
    }
}

/* The kept points, anticlockwise on screen round copper. */
static CopperRing ring_of(Arena *arena, Walk *walk, double area) {
    walk->kept.count = 0;
    for (uint32_t from = 0; from < walk->points.count; from += STRETCH)
        keep(walk, from, from + STRETCH < walk->points.count ? from + STRETCH : walk->points.count);
    uint32_t count = walk->kept.count;
    PlacePoint *at = arena_many(arena, PlacePoint, count);
    for (uint32_t i = 0; i < count; i++) at[i] = walk->points.at[walk->kept.at[count - 1 - i]];
    return (CopperRing){at, count, area < 0};
}

typedef struct NetRing {
    CopperRing ring;
    uint16_t net;
} NetRing;

void outline_rings(Arena *arena, const Trace *trace, Copper *copper) {
    size_t pixels = (size_t)trace->width * trace->height;
    Walk walk = {.trace = trace, .labels = copper->labels, .arena = trace->arena};
    walk.seen = arena_many(trace->arena, uint32_t, pixels / 32 + 1);
    LIST(NetRing) rings = {0};
    for (uint32_t i = 0; i < copper->nets.count; i++)
        copper->nets.at[i].low = (PlacePoint){INFINITY, INFINITY},
        copper->nets.at[i].high = (PlacePoint){-INFINITY, -INFINITY};
    for (size_t i = 0; i < pixels; i++) {
        uint16_t net = copper->labels[i];
        if (net == 0 || (i >= trace->width && copper->labels[i - trace->width] == net)) continue;
        if ((walk.seen[i / 32] >> i % 32 & 1) != 0) continue;
        walk_round(&walk, (uint32_t)(i % trace->width), (uint32_t)(i / trace->width), net);
        double area = area_of(walk.points.at, walk.points.count);
        measure_ring(&copper->nets.at[net - 1], &walk, area);
        list_push(trace->arena, &rings, ((NetRing){ring_of(arena, &walk, area), net}));
        copper->nets.at[net - 1].ring_count++;
    }
    CopperRing *all = arena_many(arena, CopperRing, rings.count);
    uint32_t *fill = arena_many(trace->arena, uint32_t, copper->nets.count + 1);
    for (uint32_t i = 0, start = 0; i < copper->nets.count; i++) {
        copper->nets.at[i].rings = all + start;
        fill[i] = start, start += copper->nets.at[i].ring_count;
        copper->area += copper->nets.at[i].area;
    }
    for (uint32_t i = 0; i < rings.count; i++) all[fill[rings.at[i].net - 1]++] = rings.at[i].ring;
}
