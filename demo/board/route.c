/* A maze router on a grid of tenths of a millimetre (C. Y. Lee, "An algorithm for path connections and its applications",
 * 1961, with the cheapest cell first), one layer: a connection that finds no way goes first in the next try. */
#include "board.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double THIN_MM = 0.4, THICK_MM = 0.6, CLEAR_MM = 0.27, EDGE_MM = 0.7, POUR_CLEAR_MM = 0.4,
                    POUR_LEAST_MM = 0.35;

typedef struct Maze {
    Layout *layout;
    Arena *scratch;
    int columns, rows;
    short *owner; /* by cell: the net whose copper is on it; -1: none may be there */
    unsigned char *blocked;
    int *cost, *from;
    int *heap, heap_count, *heap_cost;
    unsigned random;
} Maze;

static unsigned lot(Maze *m) { return (m->random = m->random * 1664525u + 1013904223u) >> 8; }

static int cell(const Maze *m, double x, double y) {
    int c = (int)(x * CELLS_A_MM), r = (int)(y * CELLS_A_MM);
    return (r < 0 ? 0 : r >= m->rows ? m->rows - 1 : r) * m->columns + (c < 0 ? 0 : c >= m->columns ? m->columns - 1 : c);
}

static double cell_x(const Maze *m, int at) { return (at % m->columns + 0.5) / CELLS_A_MM; }
static double cell_y(const Maze *m, int at) { return (at / m->columns + 0.5) / CELLS_A_MM; }

static void own_disc(Maze *m, double x, double y, double radius, short net) {
    for (double v = y - radius; v <= y + radius; v += 1.0 / CELLS_A_MM)
        for (double u = x - radius; u <= x + radius; u += 1.0 / CELLS_A_MM)
            if (hypot(u - x, v - y) <= radius && u > 0 && v > 0 && u < m->layout->width && v < m->layout->height)
                m->owner[cell(m, u, v)] = net;
}

static void own_land(Maze *m, const Land *land, short net) {
    for (double v = -land->h / 2; v <= land->h / 2; v += 0.5 / CELLS_A_MM)
        for (double u = -land->w / 2; u <= land->w / 2; u += 0.5 / CELLS_A_MM) {
            double off = hypot(u / (land->w / 2), v / (land->h / 2));
            if (!land->round || off <= 1) m->owner[cell(m, land->x + u, land->y + v)] = net;
        }
}

static void own_way(Maze *m, const Way *way) {
    for (int i = 0; i < way->count; i++) own_disc(m, way->x[i], way->y[i], way->width / 2, (short)way->net);
}

/* Marks the cells that a track of this net and width may not run over. */
static void block(Maze *m, int net, double reach) {
    int r = (int)(reach * CELLS_A_MM + 0.5), edge = (int)(EDGE_MM * CELLS_A_MM);
    memset(m->blocked, 0, (size_t)m->columns * (size_t)m->rows);
    for (int y = 0; y < m->rows; y++)
        for (int x = 0; x < m->columns; x++) {
            int at = y * m->columns + x;
            if (x < edge || y < edge || x >= m->columns - edge || y >= m->rows - edge) m->blocked[at] = 1;
            if (m->owner[at] == 0 || m->owner[at] == net) continue;
            for (int v = -r; v <= r; v++)
                for (int u = -r; u <= r; u++)
                    if (u * u + v * v <= r * r && x + u >= 0 && y + v >= 0 && x + u < m->columns && y + v < m->rows)
                        m->blocked[at + v * m->columns + u] = 1;
        }
}

/* ---- the cheapest cell first ---- */

static void push(Maze *m, int at, int cost) {
    int i = m->heap_count++;
    for (; i > 0 && m->heap_cost[(i - 1) / 2] > cost; i = (i - 1) / 2)
        m->heap[i] = m->heap[(i - 1) / 2], m->heap_cost[i] = m->heap_cost[(i - 1) / 2];
    m->heap[i] = at, m->heap_cost[i] = cost;
}

static int pop(Maze *m) {
    int first = m->heap[0], last = m->heap[--m->heap_count], cost = m->heap_cost[m->heap_count], i = 0;
    for (int child; (child = 2 * i + 1) < m->heap_count; i = child) {
        child += child + 1 < m->heap_count && m->heap_cost[child + 1] < m->heap_cost[child];
        if (m->heap_cost[child] >= cost) break;
        m->heap[i] = m->heap[child], m->heap_cost[i] = m->heap_cost[child];
    }
    m->heap[i] = last, m->heap_cost[i] = cost;
    return first;
}

/* From the cells marked `start` to one marked as a goal; -1 when there is no way. The way back stands in m->from. */
static int search(Maze *m, const unsigned char *mark, unsigned char goal) {
    static const int dx[] = {1, 0, -1, 0, 1, -1, -1, 1}, dy[] = {0, 1, 0, -1, 1, 1, -1, -1};
    int cells = m->columns * m->rows;
    m->heap_count = 0;
    for (int i = 0; i < cells; i++) {
        m->cost[i] = mark[i] == 1 ? 0 : 1 << 30, m->from[i] = -1;
        if (mark[i] == 1) push(m, i, 0);
    }
    while (m->heap_count > 0) {
        int at = pop(m);
        if (mark[at] == goal) return at;
        for (int k = 0; k < 8; k++) {
            int x = at % m->columns + dx[k], y = at / m->columns + dy[k], to = y * m->columns + x,
                cost = m->cost[at] + (k < 4 ? 10 : 14);
            if (x < 0 || y < 0 || x >= m->columns || y >= m->rows || (m->blocked[to] && mark[to] == 0)) continue;
            if (cost >= m->cost[to]) continue;
            m->cost[to] = cost, m->from[to] = at;
            push(m, to, cost);
        }
    }
    return -1;
}

/* The way found, as a track: every third cell, and both ends. */
static void keep_way(Maze *m, Arena *arena, int end, int net, double width) {
    Way *way = list_add(arena, &m->layout->ways);
    way->net = net, way->width = width, way->count = 0;
    for (int at = end; at >= 0; at = m->from[at]) {
        if (way->count == POINTS_MOST) break;
        way->x[way->count] = cell_x(m, at), way->y[way->count++] = cell_y(m, at);
    }
    own_way(m, way);
}

/* ---- one net ---- */

static void mark_land(const Maze *m, const Land *land, unsigned char *mark, unsigned char as) {
    mark[cell(m, land->x, land->y)] = as;
}

static int route_net(Maze *m, Arena *arena, int net) {
    Layout *layout = m->layout;
    double width = layout->thick[net] ? THICK_MM : THIN_MM;
    int cells = m->columns * m->rows, failed = 0, left = 0;
    unsigned char *mark = arena_many(m->scratch, unsigned char, cells);
    block(m, net, width / 2 + CLEAR_MM);
    for (uint32_t i = 0; i < layout->lands.count; i++) {
        if (layout->lands.at[i].net != net) continue;
        mark_land(m, &layout->lands.at[i], mark, left++ == 0 ? 1 : 2);
    }
    for (left--; left > 0; left--) {
        int end = search(m, mark, 2);
        if (end < 0) { /* the rest, one by one, from another start */
            failed++;
            for (int i = 0; i < cells; i++)
                if (mark[i] == 1) mark[i] = 0;
            for (int i = 0; i < cells; i++)
                if (mark[i] == 2) {
                    mark[i] = 1;
                    break;
                }
            continue;
        }
        keep_way(m, arena, end, net, width);
        mark[end] = 1;
        const Way *way = &layout->ways.at[layout->ways.count - 1];
        for (int i = 0; i < way->count; i++) mark[cell(m, way->x[i], way->y[i])] = 1;
    }
    return failed;
}

/* ---- ground ---- */

static int flood(const Maze *m, const unsigned char *in, int start, int *label, int number, int *stack) {
    int count = 0, size = 0;
    stack[count++] = start, label[start] = number;
    while (count > 0) {
        int at = stack[--count], x = at % m->columns, y = at / m->columns;
        size++;
        const int next[] = {x > 0 ? at - 1 : -1, x + 1 < m->columns ? at + 1 : -1, y > 0 ? at - m->columns : -1,
                            y + 1 < m->rows ? at + m->columns : -1};
        for (int k = 0; k < 4; k++)
            if (next[k] >= 0 && in[next[k]] && label[next[k]] == 0) label[next[k]] = number, stack[count++] = next[k];
    }
    return size;
}

/* Ground wherever there is room; pieces without a pad of it are left out. How many pads are not on the largest piece. */
static int pour(Maze *m) {
    Layout *layout = m->layout;
    int cells = m->columns * m->rows, pieces = 0, best = 0, best_size = -1, apart = 0;
    unsigned char *in = arena_many(m->scratch, unsigned char, cells);
    int *label = arena_many(m->scratch, int, cells), *stack = arena_many(m->scratch, int, cells),
        *size = arena_many(m->scratch, int, cells + 1);
    block(m, layout->ground, POUR_CLEAR_MM + POUR_LEAST_MM / 2);
    for (int i = 0; i < cells; i++) in[i] = !m->blocked[i] || m->owner[i] == layout->ground;
    for (uint32_t i = 0; i < layout->lands.count; i++) {
        const Land *land = &layout->lands.at[i];
        int at = cell(m, land->x, land->y);
        if (land->net != layout->ground) continue;
        if (label[at] == 0) flood(m, in, at, label, ++pieces, stack);
        if (++size[label[at]] > best_size) best = label[at], best_size = size[best];
    }
    layout->poured = arena_many(m->scratch, unsigned char, cells);
    for (int i = 0; i < cells; i++) layout->poured[i] = label[i] != 0;
    for (int k = 1; k <= pieces; k++) apart += k != best;
    return apart;
}

/* ---- all ---- */

static void start(Maze *m) {
    int cells = m->columns * m->rows;
    memset(m->owner, 0, (size_t)cells * sizeof *m->owner);
    m->layout->ways.count = 0;
    for (uint32_t i = 0; i < m->layout->lands.count; i++) {
        const Land *land = &m->layout->lands.at[i];
        own_land(m, land, land->net == 0 ? -1 : (short)land->net);
    }
    for (uint32_t i = 0; i < m->layout->bores.count; i++) {
        const Land *bore = &m->layout->bores.at[i];
        own_disc(m, bore->x, bore->y, bore->hole / 2 + 0.3, -1);
    }
}

static int try_order(Maze *m, Arena *arena, int *order) {
    int failed = 0, count = m->layout->net_count;
    start(m);
    for (int i = 0; i < count; i++) {
        if (order[i] == m->layout->ground) continue;
        int lost = route_net(m, arena, order[i]);
        failed += lost;
        if (lost > 0 && i > 0) { /* first next time */
            int net = order[i], to = (int)(lot(m) % (unsigned)(i + 1));
            memmove(order + to + 1, order + to, (size_t)(i - to) * sizeof *order);
            order[to] = net;
        }
    }
    return failed + pour(m);
}

void route(Arena *arena, Layout *layout, int tries) {
    Maze m = {.layout = layout,
              .columns = (int)(layout->width * CELLS_A_MM),
              .rows = (int)(layout->height * CELLS_A_MM),
              .random = 7};
    size_t cells = (size_t)m.columns * (size_t)m.rows;
    int *order = arena_many(arena, int, layout->net_count), *best = arena_many(arena, int, layout->net_count);
    m.owner = arena_many(arena, short, cells), m.blocked = arena_many(arena, unsigned char, cells);
    m.cost = arena_many(arena, int, cells), m.from = arena_many(arena, int, cells);
    m.heap = arena_many(arena, int, 8 * cells), m.heap_cost = arena_many(arena, int, 8 * cells);
    layout->columns = m.columns, layout->rows = m.rows, layout->failed = 1 << 30;
    for (int i = 0; i < layout->net_count; i++) order[i] = i + 1;
    for (int k = 0; k < tries && layout->failed > 0; k++) {
        int before[256];
        memcpy(before, order, (size_t)layout->net_count * sizeof *order);
        m.scratch = arena_new();
        int failed = try_order(&m, arena, order);
        arena_free(m.scratch);
        if (failed < layout->failed)
            layout->failed = failed, memcpy(best, before, (size_t)layout->net_count * sizeof *best);
        if (failed > 0 && k % 8 == 7) { /* another place to start from */
            int i = (int)(lot(&m) % (unsigned)layout->net_count), j = (int)(lot(&m) % (unsigned)layout->net_count),
                net = order[i];
            order[i] = order[j], order[j] = net;
        }
    }
    m.scratch = arena;
    layout->failed = try_order(&m, arena, best);
}
