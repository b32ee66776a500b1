/* Maze routing (Lee 1961) with the A* bound (Hart, Nilsson and Raphael 1968): states are a point and the direction of
 * arrival, so that bends and crossings can be charged for; many pins are joined nearest first (Prim). A net may be taken out
 * and laid again when the others are known. */
#include "draw/route.h"

#include <math.h>
#include <stdlib.h>

enum { STEP = 2, BEND = 7, CROSS = 9, BRANCH = 2 };
/* Settled in one search: no way is that winding on a drawing that can be read, no name is that far from its pin. */
enum { STATES_MOST = 60000, STATES_TO_FIT_MOST = 8000 };
static const double CLEAR = 0.3; /* mm between a wire and a box */

static const int DX[] = {-1, 0, 1, 0}, DY[] = {0, -1, 0, 1}; /* by SymbolSide */

/* ---- heap ---- */

typedef struct HeapItem {
    uint32_t key, state;
} HeapItem;

struct RouteHeap {
    Arena *arena;
    LIST(HeapItem) items;
};

static void heap_push(RouteHeap *heap, uint32_t key, uint32_t state) {
    uint32_t at = heap->items.count;
    list_push(heap->arena, &heap->items, ((HeapItem){key, state}));
    HeapItem *items = heap->items.at, item = items[at];
    for (; at > 0 && items[(at - 1) / 2].key > item.key; at = (at - 1) / 2) items[at] = items[(at - 1) / 2];
    items[at] = item;
}

static HeapItem heap_pop(RouteHeap *heap) {
    HeapItem *items = heap->items.at, first = items[0], last = items[--heap->items.count];
    uint32_t at = 0, count = heap->items.count;
    for (uint32_t child; (child = 2 * at + 1) < count; at = child) {
        if (child + 1 < count && items[child + 1].key < items[child].key) child++;
        if (items[child].key >= last.key) break;
        items[at] = items[child];
    }
    if (count > 0) items[at] = last;
    return first;
}

/* ---- the plane ---- */

Route *route_new(Arena *arena, SchematicAt corner, SchematicAt opposite, uint32_t *budget) {
    Route *route = arena_one(arena, Route);
    *route = (Route){.arena = arena, .left = corner.x, .top = corner.y, .width = opposite.x - corner.x + 1, .height = opposite.y - corner.y + 1,
                     .budget = budget};
    size_t points = (size_t)route->width * (size_t)route->height;
    route->east = arena_many(arena, uint32_t, points);
    route->south = arena_many(arena, uint32_t, points);
    route->blocked = arena_many(arena, unsigned char, points);
    route->pin = arena_many(arena, uint32_t, points);
    route->pin_side = arena_many(arena, unsigned char, points);
    route->cost = arena_many(arena, uint32_t, points * 4);
    route->from = arena_many(arena, uint32_t, points * 4);
    route->seen = arena_many(arena, uint32_t, points * 4);
    route->mark = arena_many(arena, uint32_t, points);
    route->rows = arena_many(arena, RouteRow, route->height / ROUTE_ROW + 1);
    route->heap = arena_one(arena, RouteHeap);
    route->heap->arena = arena;
    return route;
}

static bool inside(const Route *route, int x, int y) {
    return x >= route->left && y >= route->top && x < route->left + route->width && y < route->top + route->height;
}

static uint32_t point_at(const Route *route, int x, int y) {
    return (uint32_t)(y - route->top) * (uint32_t)route->width + (uint32_t)(x - route->left);
}

static SchematicAt place_of(const Route *route, uint32_t point) {
    return (SchematicAt){route->left + (int)(point % (uint32_t)route->width), route->top + (int)(point / (uint32_t)route->width)};
}

/* Points whose edges east or south may touch the box, clipped to the plane. */
typedef struct Span {
    int left, top, right, bottom;
} Span;

static Span span_of(const Route *route, SchematicBox box) {
    Span span = {(int)floor(box.left / SYMBOL_GRID) - 1, (int)floor(box.top / SYMBOL_GRID) - 1, (int)ceil(box.right / SYMBOL_GRID),
                 (int)ceil(box.bottom / SYMBOL_GRID)};
    if (span.left < route->left) span.left = route->left;
    if (span.top < route->top) span.top = route->top;
    if (span.right >= route->left + route->width) span.right = route->left + route->width - 1;
    if (span.bottom >= route->top + route->height) span.bottom = route->top + route->height - 1;
    return span;
}

static bool touches(SchematicBox box, double left, double top, double right, double bottom) {
    return left < box.right + CLEAR && right > box.left - CLEAR && top < box.bottom + CLEAR && bottom > box.top - CLEAR;
}

/* The rows of lines that a box, and what must keep clear of it, may reach into. */
static void rows_of(const Route *route, SchematicBox box, int *first, int *last) {
    *first = ((int)floor(box.top / SYMBOL_GRID) - 1 - route->top) / ROUTE_ROW;
    *last = ((int)ceil(box.bottom / SYMBOL_GRID) + 1 - route->top) / ROUTE_ROW;
    if (*first < 0) *first = 0;
    if (*last > route->height / ROUTE_ROW) *last = route->height / ROUTE_ROW;
}

void route_block(Route *route, SchematicBox box) {
    int first, last;
    rows_of(route, box, &first, &last);
    for (int row = first; row <= last; row++) list_push(route->arena, &route->rows[row], route->boxes.count);
    list_push(route->arena, &route->boxes, box);
    Span span = span_of(route, box);
    for (int y = span.top; y <= span.bottom; y++)
        for (int x = span.left; x <= span.right; x++) {
            double mx = x * SYMBOL_GRID, my = y * SYMBOL_GRID;
            unsigned char *blocked = &route->blocked[point_at(route, x, y)];
            if (touches(box, mx, my, mx + SYMBOL_GRID, my)) *blocked |= 1;
            if (touches(box, mx, my, mx, my + SYMBOL_GRID)) *blocked |= 2;
        }
}

bool route_is_free(const Route *route, SchematicBox box) {
    if (!inside(route, (int)floor(box.left / SYMBOL_GRID), (int)floor(box.top / SYMBOL_GRID)) ||
        !inside(route, (int)ceil(box.right / SYMBOL_GRID), (int)ceil(box.bottom / SYMBOL_GRID)))
        return false;
    int first, last;
    rows_of(route, box, &first, &last);
    for (int row = first; row <= last; row++)
        for (uint32_t i = 0; i < route->rows[row].count; i++)
            if (touches(route->boxes.at[route->rows[row].at[i]], box.left, box.top, box.right, box.bottom)) return false;
    Span span = span_of(route, box);
    for (int y = span.top; y <= span.bottom; y++)
        for (int x = span.left; x <= span.right; x++) {
            double mx = x * SYMBOL_GRID, my = y * SYMBOL_GRID;
            uint32_t point = point_at(route, x, y);
            if (route->east[point] != 0 && touches(box, mx, my, mx + SYMBOL_GRID, my)) return false;
            if (route->south[point] != 0 && touches(box, mx, my, mx, my + SYMBOL_GRID)) return false;
            if (route->pin[point] != 0 && touches(box, mx, my, mx, my)) return false;
        }
    return true;
}

void route_add_pin(Route *route, SchematicAt at, SymbolSide side, uint32_t net) {
    uint32_t point = point_at(route, at.x, at.y);
    route->pin[point] = net + 1;
    route->pin_side[point] = (unsigned char)side;
}

/* The edge from a point in a direction; *taken: who is on it. False when it leaves the plane or is blocked. */
static bool edge(const Route *route, uint32_t point, SymbolSide side, uint32_t **taken) {
    SchematicAt at = place_of(route, point);
    if (!inside(route, at.x + DX[side], at.y + DY[side])) return false;
    uint32_t first = side == SYMBOL_WEST ? point - 1 : side == SYMBOL_NORTH ? point - (uint32_t)route->width : point;
    bool level = side == SYMBOL_WEST || side == SYMBOL_EAST;
    *taken = level ? &route->east[first] : &route->south[first];
    return (route->blocked[first] & (level ? 1 : 2)) == 0;
}

static uint32_t on_edge(const Route *route, uint32_t point, SymbolSide side) {
    SchematicAt at = place_of(route, point);
    if (!inside(route, at.x + DX[side], at.y + DY[side])) return 0;
    uint32_t first = side == SYMBOL_WEST ? point - 1 : side == SYMBOL_NORTH ? point - (uint32_t)route->width : point;
    return side == SYMBOL_WEST || side == SYMBOL_EAST ? route->east[first] : route->south[first];
}

/* Only this net's wires, or none, are at the point: it may end, bend or branch there. */
static bool own_point(const Route *route, uint32_t point, uint32_t mine) {
    if (route->pin[point] != 0 && route->pin[point] != mine) return false;
    for (int side = 0; side < 4; side++) {
        uint32_t other = on_edge(route, point, (SymbolSide)side);
        if (other != 0 && other != mine) return false;
    }
    return true;
}

/* Another net runs straight across the direction, and nothing else is there. */
static bool crossable(const Route *route, uint32_t point, SymbolSide direction, uint32_t mine) {
    if (route->pin[point] != 0) return false;
    SymbolSide one = (SymbolSide)((direction + 1) % 4), other = (SymbolSide)((direction + 3) % 4);
    uint32_t a = on_edge(route, point, one), b = on_edge(route, point, other);
    return a == b && a != 0 && a != mine && on_edge(route, point, direction) == 0;
}

/* ---- search ---- */

#define FROM_START UINT32_MAX

typedef struct Goal {
    const SchematicAt *pins; /* wanted, where not joined; NULL: where it fits */
    uint32_t count;
    bool *joined;
    RouteFits *fits;
    void *context;
} Goal;

static uint32_t distance_to(const Route *route, const Goal *goal, uint32_t point) {
    if (goal->pins == NULL) return 0;
    SchematicAt at = place_of(route, point);
    uint32_t least = UINT32_MAX;
    for (uint32_t i = 0; i < goal->count; i++) {
        if (goal->joined[i]) continue;
        uint32_t d = (uint32_t)(abs(at.x - goal->pins[i].x) + abs(at.y - goal->pins[i].y));
        if (d < least) least = d;
    }
    return least == UINT32_MAX ? 0 : least * STEP;
}

/* Does the way to a state keep clear of a box? */
static bool way_clear(const Route *route, uint32_t state, SchematicBox box) {
    for (;; state = route->from[state]) {
        SchematicAt at = place_of(route, state / 4);
        double x = at.x * SYMBOL_GRID, y = at.y * SYMBOL_GRID, was_x = x - DX[state % 4] * SYMBOL_GRID, was_y = y - DY[state % 4] * SYMBOL_GRID;
        if (touches(box, fmin(x, was_x), fmin(y, was_y), fmax(x, was_x), fmax(y, was_y))) return false;
        if (route->from[state] == FROM_START) return true;
    }
}

static uint32_t reached(const Route *route, const Goal *goal, uint32_t state) {
    SchematicAt at = place_of(route, state / 4);
    SchematicBox box;
    if (goal->pins == NULL)
        return goal->fits(goal->context, at, (SymbolSide)(state % 4), &box) && way_clear(route, state, box) ? 0 : UINT32_MAX;
    for (uint32_t i = 0; i < goal->count; i++)
        if (!goal->joined[i] && goal->pins[i].x == at.x && goal->pins[i].y == at.y) return i;
    return UINT32_MAX;
}

static void relax(Route *route, const Goal *goal, uint32_t state, uint32_t cost, uint32_t from) {
    if (route->seen[state] == route->search && route->cost[state] <= cost) return;
    route->seen[state] = route->search;
    route->cost[state] = cost;
    route->from[state] = from;
    heap_push(route->heap, cost + distance_to(route, goal, state / 4), state);
}

/* One step on from a point; straight: only that way, since another net is crossed there. */
static void step(Route *route, const Goal *goal, uint32_t mine, uint32_t point, SymbolSide side, uint32_t cost, uint32_t from) {
    uint32_t *taken;
    if (!edge(route, point, side, &taken) || *taken != 0) return;
    SchematicAt at = place_of(route, point);
    uint32_t next = point_at(route, at.x + DX[side], at.y + DY[side]);
    if (route->pin[next] != 0 && route->pin[next] != mine) return;
    cost += STEP;
    if (!own_point(route, next, mine)) {
        if (!crossable(route, next, side, mine)) return;
        cost += CROSS;
    }
    if (route->pin[next] == mine && (SymbolSide)route->pin_side[next] != (side + 2) % 4) cost += BEND;
    relax(route, goal, next * 4 + side, cost, from);
}

static void expand(Route *route, const Goal *goal, uint32_t mine, uint32_t state) {
    uint32_t point = state / 4, cost = route->cost[state];
    SymbolSide side = (SymbolSide)(state % 4);
    step(route, goal, mine, point, side, cost, state);
    if (!own_point(route, point, mine)) return;
    step(route, goal, mine, point, (SymbolSide)((side + 1) % 4), cost + BEND, state);
    step(route, goal, mine, point, (SymbolSide)((side + 3) % 4), cost + BEND, state);
}

/* From a point of the tree, if it may branch there. */
static void start_at(Route *route, const Goal *goal, uint32_t mine, uint32_t point) {
    if (!own_point(route, point, mine)) return;
    bool wired = false;
    for (int side = 0; side < 4; side++) wired |= on_edge(route, point, (SymbolSide)side) == mine;
    for (int side = 0; side < 4; side++) {
        bool on = on_edge(route, point, (SymbolSide)((side + 2) % 4)) == mine;
        uint32_t cost = wired && !on ? BRANCH : 0;
        if (route->pin[point] == mine && !wired && route->pin_side[point] != side) cost = BEND;
        step(route, goal, mine, point, (SymbolSide)side, cost, FROM_START);
    }
}

/* All points that the net's wires reach from one of them; in route->tree. */
static void find_tree(Route *route, uint32_t mine, uint32_t point) {
    route->tree.count = 0;
    route->marking++;
    route->mark[point] = route->marking;
    list_push(route->arena, &route->tree, point);
    for (uint32_t head = 0; head < route->tree.count; head++) {
        SchematicAt at = place_of(route, route->tree.at[head]);
        for (int side = 0; side < 4; side++) {
            if (on_edge(route, route->tree.at[head], (SymbolSide)side) != mine) continue;
            uint32_t next = point_at(route, at.x + DX[side], at.y + DY[side]);
            if (route->mark[next] == route->marking) continue;
            route->mark[next] = route->marking;
            list_push(route->arena, &route->tree, next);
        }
    }
}

/* Lays the edges back from a state to where its way started. */
static void lay(Route *route, uint32_t mine, uint32_t state) {
    for (;;) {
        SymbolSide side = (SymbolSide)(state % 4), back = (SymbolSide)((side + 2) % 4);
        uint32_t *taken;
        if (edge(route, state / 4, back, &taken)) *taken = mine; /* free, since the way came along it */
        if (route->from[state] == FROM_START) return;
        state = route->from[state];
    }
}

/* From the tree of route->tree to the goal that is nearest; its number (0 for one that fits), or UINT32_MAX. out state. */
static uint32_t search(Route *route, const Goal *goal, uint32_t mine, uint32_t *state) {
    route->search++;
    route->heap->items.count = 0;
    for (uint32_t i = 0; i < route->tree.count; i++) start_at(route, goal, mine, route->tree.at[i]);
    uint32_t most = goal->pins == NULL ? STATES_TO_FIT_MOST : *route->budget < STATES_MOST ? *route->budget : STATES_MOST;
    for (uint32_t settled = 0; route->heap->items.count > 0 && settled < most; settled++) {
        HeapItem item = heap_pop(route->heap);
        *state = item.state;
        if (goal->pins != NULL) *route->budget -= 1;
        if (item.key > route->cost[*state] + distance_to(route, goal, *state / 4)) continue; /* found cheaper since */
        if (own_point(route, *state / 4, mine)) {
            uint32_t number = reached(route, goal, *state);
            if (number != UINT32_MAX) return number;
        }
        expand(route, goal, mine, *state);
    }
    return UINT32_MAX;
}

bool route_join(Route *route, uint32_t net, const SchematicAt *pins, uint32_t count, bool *joined) {
    uint32_t mine = net + 1;
    Goal goal = {.pins = pins, .count = count, .joined = joined};
    for (uint32_t i = 0; i < count; i++) joined[i] = i == 0;
    for (;;) {
        find_tree(route, mine, point_at(route, pins[0].x, pins[0].y));
        uint32_t left = 0;
        for (uint32_t i = 0; i < count; i++) {
            joined[i] |= route->mark[point_at(route, pins[i].x, pins[i].y)] == route->marking;
            left += !joined[i];
        }
        if (left == 0) return true;
        uint32_t state;
        if (search(route, &goal, mine, &state) == UINT32_MAX) return false;
        lay(route, mine, state);
    }
}

void route_piece(Route *route, uint32_t net, SchematicAt from, const SchematicAt *pins, uint32_t count, bool *joined) {
    find_tree(route, net + 1, point_at(route, from.x, from.y));
    for (uint32_t i = 0; i < count; i++) joined[i] = route->mark[point_at(route, pins[i].x, pins[i].y)] == route->marking;
}

void route_rip(Route *route, uint32_t net, const SchematicAt *pins, uint32_t count) {
    uint32_t mine = net + 1;
    for (uint32_t i = 0; i < count; i++) {
        find_tree(route, mine, point_at(route, pins[i].x, pins[i].y));
        for (uint32_t k = 0; k < route->tree.count; k++)
            for (int side = 0; side < 4; side++) {
                uint32_t *taken;
                if (on_edge(route, route->tree.at[k], (SymbolSide)side) != mine) continue;
                edge(route, route->tree.at[k], (SymbolSide)side, &taken);
                *taken = 0;
            }
    }
}

bool route_to_fit(Route *route, uint32_t net, SchematicAt from, SymbolSide side, RouteFits *fits, void *context, SchematicAt *at) {
    Goal goal = {.fits = fits, .context = context};
    uint32_t mine = net + 1, state, point = point_at(route, from.x, from.y);
    *at = from;
    SchematicBox box;
    if (own_point(route, point, mine) && fits(context, from, side, &box)) return true;
    find_tree(route, mine, point);
    route->tree.count = 1;
    if (search(route, &goal, mine, &state) == UINT32_MAX) return false;
    lay(route, mine, state);
    *at = place_of(route, state / 4);
    return true;
}

/* ---- what came of it ---- */

static unsigned sides_of(const Route *route, uint32_t point, uint32_t mine) {
    unsigned sides = 0;
    for (int side = 0; side < 4; side++)
        if (on_edge(route, point, (SymbolSide)side) == mine) sides |= 1u << side;
    return sides;
}

static bool straight(unsigned sides) { return sides == (1u << SYMBOL_WEST | 1u << SYMBOL_EAST) || sides == (1u << SYMBOL_NORTH | 1u << SYMBOL_SOUTH); }
static int count_of(unsigned sides) { return __builtin_popcount(sides); }

/* A polyline from a point where it does not merely go on, towards one side, until the next such point. Edges are drawn once:
 * each that is drawn is marked. */
static void follow(const Route *route, Arena *arena, SchematicSheet *sheet, uint32_t point, SymbolSide side,
                   unsigned char *drawn) {
    uint32_t mine = on_edge(route, point, side);
    LIST(SchematicAt) line = {0};
    SchematicAt at = place_of(route, point);
    list_push(arena, &line, at);
    for (;;) {
        drawn[point] |= (unsigned char)(1u << side);
        at.x += DX[side], at.y += DY[side];
        point = point_at(route, at.x, at.y);
        drawn[point] |= (unsigned char)(1u << (side + 2) % 4);
        unsigned sides = sides_of(route, point, mine);
        if (count_of(sides) == 2 && straight(sides) && route->pin[point] != mine) continue;
        list_push(arena, &line, at);
        if (count_of(sides) != 2 || route->pin[point] == mine) break;
        sheet->bends++;
        side = (SymbolSide)__builtin_ctz(sides & ~(1u << (side + 2) % 4));
    }
    list_push(arena, &sheet->wires, ((SchematicWire){mine - 1, line.at, line.count}));
}

void route_draw(const Route *route, Arena *arena, SchematicSheet *sheet) {
    uint32_t points = (uint32_t)route->width * (uint32_t)route->height;
    unsigned char *drawn = arena_many(arena, unsigned char, points);
    for (uint32_t point = 0; point < points; point++) {
        SchematicAt at = place_of(route, point);
        uint32_t level = route->east[point], upright = route->south[point];
        if (level == 0) level = on_edge(route, point, SYMBOL_WEST);
        if (upright == 0) upright = on_edge(route, point, SYMBOL_NORTH);
        if (level != 0 && upright != 0 && level != upright) {
            sheet->crossings++;
            continue;
        }
        uint32_t mine = level != 0 ? level : upright;
        if (mine == 0) continue;
        unsigned sides = sides_of(route, point, mine);
        bool pin = route->pin[point] == mine;
        if (count_of(sides) + pin > 2) list_push(arena, &sheet->dots, ((SchematicDot){mine - 1, at}));
        if (count_of(sides) == 2 && !pin) continue;
        for (int side = 0; side < 4; side++)
            if ((sides & 1u << side) != 0 && (drawn[point] & 1u << side) == 0) follow(route, arena, sheet, point, (SymbolSide)side, drawn);
    }
}
