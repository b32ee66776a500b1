/* Tracks by Lee's method on a grid (breadth first by cost, eight directions, a price on bends), net after net, near pads
 * first. A cell belongs to the net that is too near for others to enter, or to several. Where no way is left on a two-sided
 * board the track goes down through a via near its pad, as it would in life; on one side it stays open. Cost: up to 64 k
 * cells a search. */
#include "layout.h"

#include <stdlib.h>
#include <string.h>

enum { STRAIGHT = 10, SLANT = 14, BEND = 7, BUCKETS = 32, CROWDED = 0xFFFF };

typedef struct Grid {
    int w, h;
    float step;
    uint16_t *owner, *core; /* who keeps others away; whose copper it is */
    uint32_t *cost;
    signed char *from;
    int *queue[BUCKETS];
    int used[BUCKETS], room[BUCKETS];
} Grid;

static const int way_x[8] = {1, 1, 0, -1, -1, -1, 0, 1}, way_y[8] = {0, 1, 1, 1, 0, -1, -1, -1};

static Grid grid_new(const Board *board) {
    Grid g = {.step = board->style.grid};
    g.w = (int)(board->width / g.step), g.h = (int)(board->height / g.step);
    size_t n = (size_t)g.w * (size_t)g.h;
    g.owner = calloc(n, sizeof *g.owner), g.core = calloc(n, sizeof *g.core);
    g.cost = malloc(n * sizeof *g.cost), g.from = malloc(n);
    if (!g.owner || !g.core || !g.cost || !g.from) abort();
    return g;
}

static void grid_free(Grid *g) {
    free(g->owner), free(g->core), free(g->cost), free(g->from);
    for (int i = 0; i < BUCKETS; i++) free(g->queue[i]);
}

static int cell_of(float mm, float step, int count) {
    int c = (int)floorf(mm / step);
    return c < 0 ? 0 : c >= count ? count - 1 : c;
}

/* Marks a shape's copper and the cells where another net's track would come too near. */
static void grid_mark(Grid *g, const Shape *shape, float keep_off, int net) {
    float b[4];
    shape_bounds(shape, b);
    int x0 = cell_of(b[0] - keep_off, g->step, g->w), x1 = cell_of(b[2] + keep_off, g->step, g->w);
    int y0 = cell_of(b[1] - keep_off, g->step, g->h), y1 = cell_of(b[3] + keep_off, g->step, g->h);
    for (int y = y0; y <= y1; y++)
        for (int x = x0; x <= x1; x++) {
            float d = shape_distance(shape, ((float)x + 0.5f) * g->step, ((float)y + 0.5f) * g->step);
            long i = (long)y * g->w + x;
            if (d >= keep_off) continue;
            if (g->owner[i] == 0)
                g->owner[i] = (uint16_t)net;
            else if (g->owner[i] != net)
                g->owner[i] = CROWDED;
            if (d < 0) g->core[i] = (uint16_t)net;
        }
}

static void push(Grid *g, uint32_t cost, int cell) {
    int b = (int)(cost % BUCKETS);
    if (g->used[b] == g->room[b]) {
        g->room[b] = g->room[b] ? 2 * g->room[b] : 256;
        g->queue[b] = realloc(g->queue[b], (size_t)g->room[b] * sizeof *g->queue[b]);
        if (!g->queue[b]) abort();
    }
    g->queue[b][g->used[b]++] = cell;
}

static bool may_enter(const Grid *g, int cell, int net) {
    return g->owner[cell] == 0 || g->owner[cell] == net || g->core[cell] == net;
}

static void spread(Grid *g, int cell, int net) {
    int x = cell % g->w, y = cell / g->w;
    for (int k = 0; k < 8; k++) {
        int nx = x + way_x[k], ny = y + way_y[k];
        if (nx < 1 || ny < 1 || nx >= g->w - 1 || ny >= g->h - 1) continue;
        int next = ny * g->w + nx;
        if (!may_enter(g, next, net)) continue;
        uint32_t cost =
            g->cost[cell] + (uint32_t)(k % 2 ? SLANT : STRAIGHT) + (g->from[cell] >= 0 && g->from[cell] != k ? BEND : 0);
        if (cost >= g->cost[next]) continue;
        g->cost[next] = cost;
        g->from[next] = (signed char)k;
        push(g, cost, next);
    }
}

/* True when a way was found; it is then read back from `goal` along from[]. Buckets hold costs modulo 32, more than any one
 * step. */
static bool search(Grid *g, int start, int goal, int net) {
    long count = (long)g->w * g->h;
    memset(g->cost, 0xFF, (size_t)count * sizeof *g->cost);
    memset(g->used, 0, sizeof g->used);
    g->cost[start] = 0, g->from[start] = -1;
    push(g, 0, start);
    int idle = 0;
    for (uint32_t now = 0; idle < BUCKETS; now++) {
        int b = (int)(now % BUCKETS);
        idle = g->used[b] ? 0 : idle + 1;
        for (int i = 0; i < g->used[b]; i++) {
            int cell = g->queue[b][i];
            if (g->cost[cell] != now) continue;
            if (cell == goal) return true;
            spread(g, cell, net);
        }
        g->used[b] = 0;
    }
    return false;
}

enum { BENDS = 256 };
typedef struct Path {
    float x[BENDS], y[BENDS];
    int count;
} Path;

/* The corners of the way from goal back to start. */
static Path path_back(const Grid *g, int start, int goal) {
    Path path = {.count = 0};
    int cell = goal, last = -2;
    while (path.count < BENDS - 2) {
        int k = cell == start ? -1 : g->from[cell];
        if (k != last) {
            path.x[path.count] = ((float)(cell % g->w) + 0.5f) * g->step;
            path.y[path.count++] = ((float)(cell / g->w) + 0.5f) * g->step;
        }
        if (cell == start) break;
        last = k;
        cell -= way_y[k] * g->w + way_x[k];
    }
    return path;
}

/* Chaikin's corner cutting: hand-drawn bends. */
static Path path_round(const Path *path) {
    Path out = {.count = 0};
    out.x[0] = path->x[0], out.y[0] = path->y[0], out.count = 1;
    for (int i = 0; i + 1 < path->count && out.count + 3 < BENDS; i++) {
        float x = path->x[i], y = path->y[i], x2 = path->x[i + 1], y2 = path->y[i + 1];
        if (i > 0) out.x[out.count] = 0.75f * x + 0.25f * x2, out.y[out.count++] = 0.75f * y + 0.25f * y2;
        if (i + 2 < path->count) out.x[out.count] = 0.25f * x + 0.75f * x2, out.y[out.count++] = 0.25f * y + 0.75f * y2;
    }
    out.x[out.count] = path->x[path->count - 1], out.y[out.count++] = path->y[path->count - 1];
    return out;
}

/* The widest of the wanted widths that keeps its distance all along. */
static float width_that_fits(const Board *board, const Path *path, float wanted, int net) {
    for (float width = wanted; width > board->style.track * 1.1f; width *= 0.75f) {
        bool fits = true;
        for (int i = 0; i + 1 < path->count && fits; i++) {
            Shape line = shape_line(path->x[i], path->y[i], path->x[i + 1], path->y[i + 1], width);
            fits = layout_free_of(board, &line, board->style.clearance, net);
        }
        if (fits) return width;
    }
    return board->style.track;
}

static void lay(Board *board, Grid *g, Path path, float width, int net) {
    if (board->style.curved)
        for (int i = 0; i < 2; i++) path = path_round(&path);
    if (width > board->style.track) width = width_that_fits(board, &path, width, net);
    for (int i = 0; i + 1 < path.count; i++) {
        Shape line = shape_line(path.x[i], path.y[i], path.x[i + 1], path.y[i + 1], width);
        layout_add_track(board, line, net);
        grid_mark(g, &line, board->style.clearance + board->style.track / 2, net);
    }
}

/* A short way to a free place, and a via there. */
static void drop_via(Board *board, Grid *g, Rng *rng, const Pad *from, float width) {
    float hole = rng_between(rng, 0.25f, 0.5f), d = hole + rng_between(rng, 0.2f, 0.4f);
    bool tented = rng_chance(rng, 0.6f);
    for (int tries = 0; tries < 8; tries++) {
        float x = from->x + rng_between(rng, -4, 4), y = from->y + rng_between(rng, -4, 4);
        Shape disc = shape_disc(x, y, d);
        if (!layout_free_of(board, &disc, board->style.clearance, from->net)) continue;
        int start = cell_of(from->y, g->step, g->h) * g->w + cell_of(from->x, g->step, g->w);
        int goal = cell_of(y, g->step, g->h) * g->w + cell_of(x, g->step, g->w);
        if (!search(g, start, goal, from->net)) continue;
        Pad via = {x, y, d, d, 0, d / 2, hole, from->net, -1, true, tented, false};
        if (!layout_add_pad(board, via)) return;
        grid_mark(g, &disc, board->style.clearance + board->style.track / 2, from->net);
        Path path = path_back(g, start, goal);
        layout_add_track(board, shape_line(x, y, path.x[0], path.y[0], board->style.track), from->net);
        lay(board, g, path, width, from->net);
        return;
    }
}

static void join_pads(Board *board, Grid *g, Rng *rng, int a, int b, float width) {
    Pad from = board->pads[a], to = board->pads[b];
    int start = cell_of(from.y, g->step, g->h) * g->w + cell_of(from.x, g->step, g->w);
    int goal = cell_of(to.y, g->step, g->h) * g->w + cell_of(to.x, g->step, g->w);
    if (start == goal) return;
    if (!search(g, start, goal, from.net)) {
        if (!board->style.two_sided) return;
        drop_via(board, g, rng, &from, width);
        drop_via(board, g, rng, &to, width);
        return;
    }
    Path path = path_back(g, start, goal);
    float track = fminf(board->style.track, fminf(to.w, to.h));
    layout_add_track(board, shape_line(to.x, to.y, path.x[0], path.y[0], track), to.net);
    layout_add_track(board, shape_line(from.x, from.y, path.x[path.count - 1], path.y[path.count - 1], track), to.net);
    lay(board, g, path, width, from.net);
}

static int nearest_joined(const Board *board, int pad, const bool *joined) {
    int best = -1;
    float least = 1e9f;
    for (int i = 0; i < board->pad_count; i++) {
        const Pad *a = &board->pads[pad], *b = &board->pads[i];
        if (!joined[i] || b->net != a->net || i == pad) continue;
        float d = hypotf(a->x - b->x, a->y - b->y);
        if (d < least) least = d, best = i;
    }
    return best;
}

static void route_all(Board *board, Grid *g, Rng *rng) {
    bool joined[LAYOUT_PADS] = {false};
    float fat = rng_between(rng, 0, 0.5f), skip_ground = board->style.pours ? rng_between(rng, 0.4f, 1) : 0.1f;
    float under = board->style.two_sided ? rng_between(rng, 0, 0.4f) : 0;
    int count = board->pad_count;
    for (int i = 0; i < count; i++) {
        int net = board->pads[i].net, other = nearest_joined(board, i, joined);
        joined[i] = true;
        if (other < 0 || (net == 1 && rng_chance(rng, skip_ground))) continue;
        float width = rng_chance(rng, net == 1 ? 0.8f : fat) ? board->style.wide : board->style.track;
        if (rng_chance(rng, under))
            drop_via(board, g, rng, &board->pads[i], width);
        else
            join_pads(board, g, rng, i, other, width);
    }
}

/* A widening where a track enters its pad. */
static void teardrops(Board *board) {
    int count = board->track_count;
    for (int i = 0; i < count; i++) {
        Shape t = board->tracks[i].shape;
        for (int p = 0; p < board->pad_count; p++) {
            const Pad *pad = &board->pads[p];
            float length = hypotf(t.x2 - t.x, t.y2 - t.y), reach = pad->w * 0.9f;
            if (pad->net != board->tracks[i].net || pad->hole <= 0 || length < reach) continue;
            bool head = hypotf(t.x - pad->x, t.y - pad->y) < pad->w * 0.3f,
                 tail = hypotf(t.x2 - pad->x, t.y2 - pad->y) < pad->w * 0.3f;
            if (head == tail) continue;
            float dx = (head ? t.x2 - t.x : t.x - t.x2) / length * reach,
                  dy = (head ? t.y2 - t.y : t.y - t.y2) / length * reach;
            for (int k = -1; k <= 1; k += 2) {
                float side = (float)k * pad->w * 0.3f / reach;
                layout_add_track(
                    board, shape_line(pad->x - dy * side, pad->y + dx * side, pad->x + dx, pad->y + dy, 2 * t.r), pad->net);
            }
        }
    }
}

void layout_route(Board *board, Rng *rng) {
    Grid g = grid_new(board);
    for (int i = 0; i < board->pad_count; i++) {
        Shape shape = layout_pad_shape(&board->pads[i]);
        grid_mark(&g, &shape, board->style.clearance + board->style.track / 2, board->pads[i].net);
    }
    for (int i = 0; i < board->bore_count; i++) grid_mark(&g, &board->bores[i], 0.3f + board->style.track / 2, CROWDED);
    route_all(board, &g, rng);
    if (rng_chance(rng, 0.12f)) teardrops(board);
    grid_free(&g);
}
