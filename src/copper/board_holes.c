/* The board's holes: those of both photos at one place are one, then what notes say of them. Whether a hole joins the sides
 * is told by the copper round it: a plated hole has a pad on both faces (IPC-2221, an unsupported hole's pad on one face is
 * enough; from memory). Solder may fill a hole on one face, which then shows as a pad just where the other face shows the
 * hole. */
#include "copper/board_inside.h"

#include <math.h>
#include <stdlib.h>

static const double TURN = 6.28318530717958647693;
static const double MEET_MM = 0.25;       /* two photos' places of one hole differ by less */
static const double SNAP_MM = 0.4;        /* a place given by hand is meant for the hole this near */
static const double DIAMETER_MM = 0.8;    /* of a hole of which nobody said how wide it is (common practice) */
static const double RING_MM = 0.1;        /* copper this far outside a hole's edge is its pad */
static const double PAD_OF_HOLE_MOST = 4; /* diameters */
enum { RING_PLACES = 16, RING_LEAST = 12 };
/* Probabilities, rules of thumb: both rings seen; one ring, the other face's filled; one ring, the rest unseen; else. */
static const double P_BOTH = 0.97, P_FILLED = 0.93, P_UNSEEN = 0.5, P_NOT = 0.03, P_NOTED = 0.99;

/* Things in the order of their y, so that those near a place are found by bisection. */
typedef struct Ranked {
    double y;
    uint32_t number;
} Ranked;

typedef struct Finding {
    Arena *arena;
    BoardCopper *board;
    Ranked *pads[BOARD_SIDES]; /* without a hole, in the face's view; size of its pads */
} Finding;

static int by_y(const void *a, const void *b) {
    const Ranked *one = a, *two = b;
    if (one->y != two->y) return one->y < two->y ? -1 : 1;
    return one->number < two->number ? -1 : one->number > two->number;
}

/* The first whose y is at least this. */
static uint32_t first_from(const Ranked *ranked, uint32_t count, double y) {
    uint32_t low = 0, high = count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (ranked[middle].y < y)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

static Ranked *rank_pads(Arena *arena, const Copper *copper) {
    Ranked *ranked = arena_many(arena, Ranked, copper->pads.count);
    for (uint32_t i = 0; i < copper->pads.count; i++) ranked[i] = (Ranked){copper->pads.at[i].at.y, i};
    if (copper->pads.count > 0) qsort(ranked, copper->pads.count, sizeof *ranked, by_y);
    return ranked;
}

/* The i-th place just outside a hole's edge, in a face's view. */
static PlacePoint ring_place(const BoardCopper *board, BoardSide side, const BoardHole *hole, unsigned i) {
    double far = hole->diameter / 2 + RING_MM, turn = TURN * i / RING_PLACES;
    return board_to_face(board, side, (PlacePoint){hole->at.x + far * cos(turn), hole->at.y + far * sin(turn)});
}

/* Most of a hole's ring can't be told on a face. */
static bool is_hidden(const BoardCopper *board, BoardSide side, const BoardHole *hole) {
    const BoardFace *face = &board->face[side];
    unsigned hidden = 0;
    for (unsigned i = 0; i < RING_PLACES; i++) {
        PlacePoint at = ring_place(board, side, hole, i);
        double x = floor(at.x * face->copper.scale), y = floor(at.y * face->copper.scale);
        bool inside = x >= 0 && y >= 0 && x < face->copper.width && y < face->copper.height;
        hidden += inside && face->unseen[(size_t)y * face->copper.width + (size_t)x] >= 128;
    }
    return hidden > RING_PLACES / 2;
}

/* The net, by the face's own number, that has at least so many places of the ring of a hole; 0: none. */
static uint32_t ring_net(const BoardCopper *board, BoardSide side, const BoardHole *hole, unsigned least) {
    uint32_t nets[RING_PLACES];
    for (unsigned i = 0; i < RING_PLACES; i++)
        nets[i] = copper_net_at(&board->face[side].copper, ring_place(board, side, hole, i));
    for (unsigned i = 0; i < RING_PLACES; i++) {
        unsigned count = 0;
        for (unsigned k = 0; k < RING_PLACES; k++) count += nets[k] == nets[i];
        if (nets[i] != 0 && count >= least) return nets[i];
    }
    return 0;
}

/* The face shows a pad without a hole in it round just this place. */
static bool is_filled(const Finding *finding, BoardSide side, const BoardHole *hole) {
    const Copper *copper = &finding->board->face[side].copper;
    PlacePoint at = board_to_face(finding->board, side, hole->at);
    double reach = fmax(MEET_MM, PAD_OF_HOLE_MOST * hole->diameter / 4);
    const Ranked *pads = finding->pads[side];
    for (uint32_t i = first_from(pads, copper->pads.count, at.y - reach); i < copper->pads.count; i++) {
        if (pads[i].y > at.y + reach) return false;
        const CopperPad *pad = &copper->pads.at[pads[i].number];
        double least = fmin(pad->width, pad->height), most = fmax(pad->width, pad->height);
        bool fits = least > hole->diameter && most < PAD_OF_HOLE_MOST * hole->diameter;
        if (pad->hole == UINT32_MAX && fits && hypot(pad->at.x - at.x, pad->at.y - at.y) < fmax(MEET_MM, least / 4))
            return true;
    }
    return false;
}

/* What the faces show of a hole: whether it joins them, and how sure that is. */
static void weigh(const Finding *finding, BoardHole *hole, HoleNets *nets) {
    const BoardCopper *board = finding->board;
    bool both = board->face[BOARD_TOP].known && board->face[BOARD_BOTTOM].known, seen = both, open = false;
    for (BoardSide side = 0; side < BOARD_SIDES && both; side++) {
        if (hole->on_face[side] != UINT32_MAX) continue;
        bool pad = is_filled(finding, side, hole);
        nets->filled = nets->filled || pad;
        seen = seen && pad;
        open = open || (!pad && (nets->face[side] != 0 || is_hidden(board, side, hole)));
    }
    bool rings = nets->face[BOARD_TOP] != 0 && nets->face[BOARD_BOTTOM] != 0,
         ring = nets->face[BOARD_TOP] != 0 || nets->face[BOARD_BOTTOM] != 0;
    nets->open = both && ring && open;
    hole->p_plated = rings && seen ? (nets->filled ? P_FILLED : P_BOTH) : !both || nets->open ? P_UNSEEN : P_NOT;
    if (rings && seen) hole->plating = BOARD_PLATED;
}

/* ---- holes of two photos ---- */

static void add_seen(Arena *arena, BoardSide side, BoardCopper *board) {
    const Copper *copper = &board->face[side].copper;
    for (uint32_t i = 0; i < copper->holes.count; i++) {
        const CopperHole *seen = &copper->holes.at[i];
        BoardHole hole = {.at = board_from_face(board, side, seen->at), .diameter = seen->diameter};
        hole.on_face[!side] = UINT32_MAX;
        hole.on_face[side] = i;
        list_push(arena, &board->holes, hole);
    }
}

/* Holes 0 ... tops - 1 are the top's, the others the bottom's: two at one place become one. */
static void merge(uint32_t tops, Finding *finding) {
    BoardCopper *board = finding->board;
    Ranked *ranked = arena_many(finding->arena, Ranked, tops);
    double wide = 0;
    for (uint32_t i = 0; i < tops; i++) {
        ranked[i] = (Ranked){board->holes.at[i].at.y, i};
        wide = fmax(wide, board->holes.at[i].diameter);
    }
    if (tops > 0) qsort(ranked, tops, sizeof *ranked, by_y);
    uint32_t kept = tops, count = board->holes.count;
    for (uint32_t i = tops; i < count; i++) {
        const BoardHole hole = board->holes.at[i];
        double most = MEET_MM + wide / 8, nearest = INFINITY;
        BoardHole *one = NULL;
        for (uint32_t k = first_from(ranked, tops, hole.at.y - most); k < tops && ranked[k].y <= hole.at.y + most; k++) {
            BoardHole *top = &board->holes.at[ranked[k].number];
            double far = hypot(top->at.x - hole.at.x, top->at.y - hole.at.y);
            bool meets = far <= MEET_MM + top->diameter / 8 && far < nearest;
            if (meets && top->on_face[BOARD_BOTTOM] == UINT32_MAX) one = top, nearest = far;
        }
        if (one == NULL) {
            board->holes.at[kept++] = hole;
            continue;
        }
        one->on_face[BOARD_BOTTOM] = hole.on_face[BOARD_BOTTOM];
        one->at = (PlacePoint){(one->at.x + hole.at.x) / 2, (one->at.y + hole.at.y) / 2};
        one->diameter = (one->diameter + hole.diameter) / 2;
    }
    board->holes.count = kept;
}

/* ---- notes ---- */

static void take_note(Arena *arena, const BoardHoleAsked *asked, BoardCopper *board) {
    double least = fmax(SNAP_MM, asked->diameter / 2);
    BoardHole *hole = NULL;
    for (uint32_t i = 0; i < board->holes.count; i++) {
        double far = hypot(board->holes.at[i].at.x - asked->at.x, board->holes.at[i].at.y - asked->at.y);
        if (far <= least) least = far, hole = &board->holes.at[i];
    }
    if (hole == NULL) {
        hole = list_add(arena, &board->holes);
        *hole = (BoardHole){.at = asked->at, .diameter = DIAMETER_MM, .on_face = {UINT32_MAX, UINT32_MAX}};
    }
    hole->line = asked->line;
    hole->noted = true;
    if (asked->diameter > 0) hole->diameter = asked->diameter;
    if (asked->plating != BOARD_PLATING_UNSAID) hole->plating = asked->plating;
}

HoleNets *holes_find(Arena *arena, const BoardAsked *asked, BoardCopper *board) {
    Arena *scratch = arena_new();
    Finding finding = {.arena = scratch, .board = board};
    for (BoardSide side = 0; side < BOARD_SIDES; side++) finding.pads[side] = rank_pads(scratch, &board->face[side].copper);
    add_seen(arena, BOARD_TOP, board);
    uint32_t tops = board->holes.count;
    add_seen(arena, BOARD_BOTTOM, board);
    merge(tops, &finding);
    for (size_t i = 0; i < asked->hole_count; i++) take_note(arena, &asked->holes[i], board);
    HoleNets *nets = arena_many(arena, HoleNets, board->holes.count);
    for (uint32_t i = 0; i < board->holes.count; i++) {
        BoardHole *hole = &board->holes.at[i];
        BoardPlating noted = hole->plating;
        unsigned least = noted == BOARD_PLATED ? 1 : RING_LEAST; /* known to have a pad: whatever of it is seen */
        for (BoardSide side = 0; side < BOARD_SIDES; side++)
            if (board->face[side].known) nets[i].face[side] = ring_net(board, side, hole, least);
        weigh(&finding, hole, &nets[i]);
        if (noted == BOARD_PLATING_UNSAID) continue;
        hole->plating = noted;
        hole->p_plated = noted == BOARD_PLATED ? P_NOTED : 1 - P_NOTED;
        nets[i].open = false;
    }
    arena_free(scratch);
    return nets;
}
