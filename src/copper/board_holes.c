/* The board's holes: those of both photos at one place are one, then what notes say of them. Whether a hole joins the sides
 * is told by the copper round it: a plated hole has a pad on both faces (IPC-2221, an unsupported hole's pad on one face is
 * enough; from memory). Solder may fill a hole on one face, which then shows as a pad just where the other face shows the
 * hole. A slot, through which much of the desk and of its own wall is seen, is often found in parts, and in other parts on
 * the other face: holes of two photos that overlap are one, for none is drilled so near another. */
#include "copper/board_inside.h"

#include <math.h>
#include <stdlib.h>

static const double TURN = 6.28318530717958647693;
static const double MEET_MM = 0.25;    /* two photos' places of one hole differ by less */
static const double SNAP_MM = 0.4;     /* a place given by hand is meant for the hole this near */
static const double DIAMETER_MM = 0.8; /* of a hole of which nobody said how wide it is (common practice) */
static const double WEB_MM = 0.15;     /* overlapping by less may be two, each a little off its place */
/* The pad is looked for so far outside a hole's edge, then nearer, then inside, where labels have the hole of a pad filled:
 * some pads are hardly wider than their hole, and a slot is no circle. */
static const double RING_MM[] = {0.1, 0.05}, RING_SHARES[] = {0.95, 0.6};
static const double PAD_OF_HOLE_MOST = 4; /* diameters */
enum { RING_PLACES = 16, RING_LEAST = 12, RINGS = 4 };
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

/* The i-th place of a ring about a hole, in a face's view. */
static PlacePoint ring_place(const BoardCopper *board, BoardSide side, const BoardHole *hole, unsigned ring, unsigned i) {
    double half = hole->diameter / 2, far = ring < 2 ? half + RING_MM[ring] : half * RING_SHARES[ring - 2],
           turn = TURN * i / RING_PLACES;
    return board_to_face(board, side, (PlacePoint){hole->at.x + far * cos(turn), hole->at.y + far * sin(turn)});
}

/* Most of a hole's ring can't be told on a face. */
static bool is_hidden(const BoardCopper *board, BoardSide side, const BoardHole *hole) {
    const BoardFace *face = &board->face[side];
    unsigned hidden = 0;
    for (unsigned i = 0; i < RING_PLACES; i++) {
        PlacePoint at = ring_place(board, side, hole, 0, i);
        double x = floor(at.x * face->copper.scale), y = floor(at.y * face->copper.scale);
        bool inside = x >= 0 && y >= 0 && x < face->copper.width && y < face->copper.height;
        hidden += inside && face->unseen[(size_t)y * face->copper.width + (size_t)x] >= 128;
    }
    return hidden > RING_PLACES / 2;
}

/* The net, by the face's own number, that has at least so many places of a ring of a hole; 0: none. */
static uint32_t one_rings_net(const BoardCopper *board, BoardSide side, const BoardHole *hole, unsigned ring,
                              unsigned least) {
    uint32_t nets[RING_PLACES];
    for (unsigned i = 0; i < RING_PLACES; i++)
        nets[i] = copper_net_at(&board->face[side].copper, ring_place(board, side, hole, ring, i));
    for (unsigned i = 0; i < RING_PLACES; i++) {
        unsigned count = 0;
        for (unsigned k = 0; k < RING_PLACES; k++) count += nets[k] == nets[i];
        if (nets[i] != 0 && count >= least) return nets[i];
    }
    return 0;
}

static uint32_t ring_net(const BoardCopper *board, BoardSide side, const BoardHole *hole, unsigned least) {
    uint32_t net = 0;
    for (unsigned ring = 0; ring < RINGS && net == 0; ring++) net = one_rings_net(board, side, hole, ring, least);
    return net;
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

/* What one photo shows: holes in the order of their y, and the widest. */
typedef struct Seen {
    const BoardHole *at; /* size count */
    Ranked *ranked;
    uint32_t count;
    double wide;
} Seen;

static Seen seen_new(Arena *arena, const BoardHole *at, uint32_t count) {
    BoardHole *copy = arena_many(arena, BoardHole, count);
    Seen seen = {copy, arena_many(arena, Ranked, count), count, 0};
    for (uint32_t i = 0; i < count; i++) {
        copy[i] = at[i];
        seen.ranked[i] = (Ranked){at[i].at.y, i};
        seen.wide = fmax(seen.wide, at[i].diameter);
    }
    if (count > 0) qsort(seen.ranked, count, sizeof *seen.ranked, by_y);
    return seen;
}

typedef double Reach(const BoardHole *a, const BoardHole *b); /* how far apart they may be, mm */
static double meeting(const BoardHole *a, const BoardHole *b) { return MEET_MM + (a->diameter + b->diameter) / 16; }
static double overlapping(const BoardHole *a, const BoardHole *b) { return (a->diameter + b->diameter) / 2 - WEB_MM; }

/* The nearest in reach that isn't taken; UINT32_MAX: none. taken: NULL, or size count. */
static uint32_t nearest_seen(const Seen *seen, const BoardHole *hole, Reach *reach, const bool *taken) {
    const BoardHole widest = {.diameter = seen->wide};
    double most = reach(hole, &widest), nearest = INFINITY;
    uint32_t best = UINT32_MAX;
    for (uint32_t i = first_from(seen->ranked, seen->count, hole->at.y - most);
         i < seen->count && seen->ranked[i].y <= hole->at.y + most; i++) {
        uint32_t number = seen->ranked[i].number;
        const BoardHole *other = &seen->at[number];
        double far = hypot(other->at.x - hole->at.x, other->at.y - hole->at.y);
        if (far <= reach(hole, other) && far < nearest && (taken == NULL || !taken[number])) best = number, nearest = far;
    }
    return best;
}

/* Holes 0 ... tops - 1 are the top's, the others the bottom's: two at one place become one, and parts of one slot. */
static void merge(uint32_t tops, Finding *finding) {
    BoardHole *holes = finding->board->holes.at;
    uint32_t kept = tops, count = finding->board->holes.count;
    Seen top = seen_new(finding->arena, holes, tops), bottom = seen_new(finding->arena, holes + tops, count - tops);
    bool *taken = arena_many(finding->arena, bool, tops + 1);
    for (uint32_t i = 0; i < bottom.count; i++) {
        uint32_t number = nearest_seen(&top, &bottom.at[i], meeting, taken);
        if (number == UINT32_MAX) {
            if (nearest_seen(&top, &bottom.at[i], overlapping, NULL) == UINT32_MAX) holes[kept++] = bottom.at[i];
            continue;
        }
        BoardHole *one = &holes[number];
        taken[number] = true;
        one->on_face[BOARD_BOTTOM] = i;
        one->at = (PlacePoint){(one->at.x + bottom.at[i].at.x) / 2, (one->at.y + bottom.at[i].at.y) / 2};
        one->diameter = (one->diameter + bottom.at[i].diameter) / 2;
    }
    for (uint32_t i = 0; i < tops; i++)
        if (!taken[i]) holes[i].on_face[BOARD_BOTTOM] = nearest_seen(&bottom, &holes[i], overlapping, NULL);
    finding->board->holes.count = kept;
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
