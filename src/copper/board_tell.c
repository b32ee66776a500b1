/* What a board's faces tell, in the board's terms: doubts of both, merged in the order of what a wrong answer would cost
 * (each face's own order kept), with the holes that only one photo shows; conflicts; and figures. */
#include "copper/board_inside.h"

#include <math.h>
#include <stdlib.h>

static const double PROBE_MM = 1.0; /* copper this near a hole's middle is what it may join */

/* ---- doubts ---- */

typedef LIST(BoardDoubt) Doubts;

/* The chance of being wrong times the pairs of pads that would then be told wrongly. */
static double cost_of(const BoardCopper *board, const BoardDoubt *doubt) {
    double a = board->nets.at[doubt->net_a - 1].pads, b = board->nets.at[doubt->net_b - 1].pads;
    double pairs = doubt->net_a == doubt->net_b ? a * a / 4 : a * b;
    return (doubt->joined ? 1 - doubt->p_joined : doubt->p_joined) * (pairs + 0.1);
}

static Doubts face_doubts(Arena *arena, BoardSide side, const BoardCopper *board) {
    const BoardFace *face = &board->face[side];
    Doubts doubts = {0};
    for (uint32_t i = 0; i < face->copper.doubts.count; i++) {
        const CopperDoubt *doubt = &face->copper.doubts.at[i];
        uint32_t a = face->net[doubt->net_a], b = face->net[doubt->net_b];
        if (a == 0 || b == 0 || (a == b && doubt->net_a != doubt->net_b)) continue; /* one net by the other side anyway */
        list_push(arena, &doubts,
                  ((BoardDoubt){.at = board_from_face(board, side, doubt->at),
                                .side = side,
                                .joined = doubt->joined,
                                .p_joined = doubt->p_joined,
                                .width = doubt->width,
                                .looks = doubt->looks,
                                .a = board_from_face(board, side, doubt->a),
                                .b = board_from_face(board, side, doubt->b),
                                .side_a = side,
                                .side_b = side,
                                .net_a = a,
                                .net_b = b}));
    }
    return doubts;
}

/* The net nearest to the middle of a hole on a face that does not show it. */
static uint32_t net_under(const BoardCopper *board, BoardSide side, const BoardHole *hole, PlacePoint *at) {
    BoardUnder under = board_under(board, side, hole->at, fmax(hole->diameter / 2, PROBE_MM));
    double least = INFINITY;
    uint32_t net = 0;
    for (uint32_t i = 0; i < under.count; i++) {
        double far = hypot(under.net[i].nearest.x - hole->at.x, under.net[i].nearest.y - hole->at.y);
        if (far < least) least = far, net = under.net[i].net, *at = under.net[i].nearest;
    }
    return net;
}

static int by_falling_cost(const void *a, const void *b, void *board) {
    double one = cost_of(board, a), two = cost_of(board, b);
    return one < two ? 1 : one > two ? -1 : 0;
}

static Doubts hole_doubts(Arena *arena, const HoleNets *nets, BoardCopper *board) {
    Doubts doubts = {0};
    for (uint32_t i = 0; i < board->holes.count; i++) {
        const BoardHole *hole = &board->holes.at[i];
        if (!nets[i].open) continue;
        BoardSide side = hole->on_face[BOARD_TOP] != UINT32_MAX ? BOARD_TOP : BOARD_BOTTOM;
        PlacePoint a = hole->at, b = hole->at;
        uint32_t net_a = net_under(board, side, hole, &a), net_b = net_under(board, !side, hole, &b);
        if (net_a == 0 || net_b == 0 || net_a == net_b) continue;
        Text looks = text_fmt(arena, "a hole of %.2f mm that only the photo of the %s shows", hole->diameter,
                              side == BOARD_TOP ? "top" : "bottom");
        list_push(arena, &doubts,
                  ((BoardDoubt){hole->at, side, true, false, hole->p_plated, hole->diameter, looks, a, b, side, !side,
                                net_a, net_b}));
    }
    if (doubts.count > 0) qsort_r(doubts.at, doubts.count, sizeof *doubts.at, by_falling_cost, board);
    return doubts;
}

static void take_doubts(Arena *arena, const HoleNets *nets, BoardCopper *board) {
    Doubts lists[BOARD_SIDES + 1];
    uint32_t taken[BOARD_SIDES + 1] = {0};
    for (BoardSide side = 0; side < BOARD_SIDES; side++) lists[side] = face_doubts(arena, side, board);
    lists[BOARD_SIDES] = hole_doubts(arena, nets, board);
    for (;;) {
        const BoardDoubt *next = NULL;
        unsigned from = 0;
        for (unsigned i = 0; i <= BOARD_SIDES; i++) {
            if (taken[i] == lists[i].count) continue;
            const BoardDoubt *head = &lists[i].at[taken[i]];
            if (next == NULL || cost_of(board, head) > cost_of(board, next)) next = head, from = i;
        }
        if (next == NULL) return;
        list_push(arena, &board->doubts, *next);
        taken[from]++;
    }
}

/* ---- conflicts ---- */

static void take_conflicts(Arena *arena, BoardSide side, BoardCopper *board) {
    const Copper *copper = &board->face[side].copper;
    for (uint32_t i = 0; i < copper->conflicts.count; i++) {
        const CopperConflict *conflict = &copper->conflicts.at[i];
        list_push(arena, &board->conflicts,
                  ((BoardConflict){board_from_face(board, side, conflict->at), side, conflict->says, conflict->line}));
    }
}

/* ---- figures ---- */

/* The smallest gap between two of the board's nets on a face. A face's own is between two of its nets, which the other side
 * may make one; then the nets are set against each other by each digit of their numbers in base two, so that any two are
 * once in different sets. */
static double gap_of(Arena *arena, BoardSide side, const BoardCopper *board, PlacePoint *at) {
    const BoardFace *face = &board->face[side];
    const Copper *copper = &face->copper;
    if (copper->gap_least <= 0) return 0;
    *at = board_from_face(board, side, copper->gap_at);
    if (board_under(board, side, *at, copper->gap_least / 2 + 2 / copper->scale).count > 1) return copper->gap_least;
    double least = INFINITY;
    unsigned char *sets = arena_many(arena, unsigned char, copper->nets.count + 1);
    for (uint32_t digit = 1; digit <= board->nets.count; digit *= 2) {
        PlacePoint here;
        for (uint32_t i = 1; i <= copper->nets.count; i++) sets[i] = (face->net[i] & digit) != 0 ? 1 : 2;
        double gap = copper_gap_between(copper, sets, &here);
        if (gap < least) least = gap, *at = board_from_face(board, side, here);
    }
    return isfinite(least) ? least : 0;
}

static void take_figures(Arena *arena, BoardSide side, BoardCopper *board) {
    const BoardFace *face = &board->face[side];
    const Copper *copper = &face->copper;
    PlacePoint at = {0, 0};
    double gap = gap_of(arena, side, board, &at);
    if (gap > 0 && (board->gap_least == 0 || gap < board->gap_least))
        board->gap_least = gap, board->gap_side = side, board->gap_at = at;
    board->area += copper->area;
    for (uint32_t i = 0; i < copper->nets.count; i++) {
        const CopperNet *net = &copper->nets.at[i];
        board->nets.at[face->net[i + 1] - 1].area[side] += net->area;
        if (net->neck <= 0 || (board->narrowest > 0 && net->neck >= board->narrowest)) continue;
        board->narrowest = net->neck, board->narrowest_side = side;
        board->narrowest_at = board_from_face(board, side, net->neck_at);
    }
}

/* The board's hole in a pad of the bottom is counted with the top's pad round it, or where the bottom shows it filled, with
 * that. */
static void count_pads(const HoleNets *nets, BoardCopper *board) {
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        const Copper *copper = &board->face[side].copper;
        for (uint32_t i = 0; i < copper->pads.count; i++)
            if (copper->pads.at[i].net != 0) board->nets.at[board->face[side].net[copper->pads.at[i].net] - 1].pads++;
    }
    for (uint32_t i = 0; i < board->holes.count; i++) {
        const BoardHole *hole = &board->holes.at[i];
        bool twice = nets[i].face[BOARD_TOP] != 0 && nets[i].face[BOARD_BOTTOM] != 0 &&
                     hole->net[BOARD_TOP] == hole->net[BOARD_BOTTOM];
        BoardNet *net = twice ? &board->nets.at[hole->net[BOARD_TOP] - 1] : NULL;
        if (twice && net->pads > 1) net->pads--;
    }
}

void board_tell(Arena *arena, const HoleNets *holes, BoardCopper *board) {
    count_pads(holes, board);
    take_doubts(arena, holes, board);
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        if (!board->face[side].known) continue;
        take_conflicts(arena, side, board);
        take_figures(arena, side, board);
    }
}
