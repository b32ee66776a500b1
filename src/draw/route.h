/* Wires on a grid: for each net a tree of level and upright stretches between its pins, around boxes, that cross those of
 * other nets only at right angles and never touch them otherwise. */
#ifndef UNPICK_DRAW_ROUTE_H
#define UNPICK_DRAW_ROUTE_H

#include "draw/schematic.h"

typedef struct RouteHeap RouteHeap;
enum { ROUTE_ROW = 8 };
typedef LIST(uint32_t) RouteRow; /* numbers of boxes */

typedef struct Route {
    Arena *arena;
    int left, top, width, height; /* grid: of the part of the plane it knows; size of the arrays: width x height */
    uint32_t *east, *south;       /* net + 1 on the edge from a point to its neighbour there; 0: free */
    unsigned char *blocked;       /* bit 0: the edge east, bit 1: the edge south */
    uint32_t *pin;                /* net + 1 that alone may be at a point */
    unsigned char *pin_side;      /* SymbolSide that the pin there faces */
    LIST(SchematicBox) boxes;     /* all that was blocked */
    RouteRow *rows;               /* those that reach into each ROUTE_ROW grid lines */
    uint32_t *budget;             /* steps that route_join may still take, of all planes together */
    /* one search */
    uint32_t *cost, *from, *seen; /* by state: point x 4 + direction */
    uint32_t search;
    uint32_t *mark, marking; /* by point: is on the tree */
    LIST(uint32_t) tree;     /* points */
    struct RouteHeap *heap;
} Route;

/* A plane from one corner to the other, both included. When the budget is spent, route_join finds no more ways. */
Route *route_new(Arena *arena, SchematicAt corner, SchematicAt opposite, uint32_t *budget);
/* No wire may touch the box. */
void route_block(Route *route, SchematicBox box);
/* Is there neither a box nor a wire nor another net's pin? */
bool route_is_free(const Route *route, SchematicBox box);
void route_add_pin(Route *route, SchematicAt at, SymbolSide side, uint32_t net);

/* Joins these pins of a net, with what of it there is already at the first. False when there is no way: then some may be
 * joined; joined: size count. */
bool route_join(Route *route, uint32_t net, const SchematicAt *pins, uint32_t count, bool *joined);
/* Which of the pins hang together with the one at `from`: joined, size count. */
void route_piece(Route *route, uint32_t net, SchematicAt from, const SchematicAt *pins, uint32_t count, bool *joined);
void route_rip(Route *route, uint32_t net, const SchematicAt *pins, uint32_t count);
/* From a pin that faces `side`, or a wire's end, to the nearest point where `fits` says yes to coming that way, and the way
 * there does not touch the box that it wants to cover. */
typedef bool RouteFits(void *context, SchematicAt at, SymbolSide towards, SchematicBox *box);
bool route_to_fit(Route *route, uint32_t net, SchematicAt from, SymbolSide side, RouteFits *fits, void *context, SchematicAt *at);

/* The wires of a net as polylines and dots, added to the sheet; bends and crossings are counted there. */
void route_draw(const Route *route, Arena *arena, SchematicSheet *sheet);

#endif
