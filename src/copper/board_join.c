/* The faces' nets to the board's. */
#include "copper/board_inside.h"

#include <stdlib.h>

static BoardHole hole_of(const BoardCopper *board, BoardSide side, uint32_t number) {
    const BoardFace *face = &board->face[side];
    const CopperHole *seen = &face->copper.holes.at[number];
    BoardHole hole = {.at = board_from_face(board, side, seen->at), .diameter = seen->diameter, .p_plated = 0.5};
    hole.on_face[!side] = UINT32_MAX;
    hole.on_face[side] = number;
    hole.net[side] = face->net[seen->net];
    return hole;
}

static void take_doubts(Arena *arena, BoardSide side, BoardCopper *board) {
    const BoardFace *face = &board->face[side];
    for (uint32_t i = 0; i < face->copper.doubts.count; i++) {
        const CopperDoubt *doubt = &face->copper.doubts.at[i];
        list_push(arena, &board->doubts,
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
                                .net_a = face->net[doubt->net_a],
                                .net_b = face->net[doubt->net_b]}));
    }
}

static void take_conflicts(Arena *arena, BoardSide side, BoardCopper *board) {
    const Copper *copper = &board->face[side].copper;
    for (uint32_t i = 0; i < copper->conflicts.count; i++) {
        const CopperConflict *conflict = &copper->conflicts.at[i];
        list_push(arena, &board->conflicts,
                  ((BoardConflict){board_from_face(board, side, conflict->at), side, conflict->says, conflict->line}));
    }
}

static void take_figures(BoardSide side, BoardCopper *board) {
    const Copper *copper = &board->face[side].copper;
    board->area += copper->area;
    if (copper->gap_least > 0 && (board->gap_least == 0 || copper->gap_least < board->gap_least)) {
        board->gap_least = copper->gap_least, board->gap_side = side;
        board->gap_at = board_from_face(board, side, copper->gap_at);
    }
    for (uint32_t i = 0; i < copper->nets.count; i++) {
        const CopperNet *net = &copper->nets.at[i];
        board->nets.at[board->face[side].net[i + 1] - 1].area[side] += net->area;
        if (net->neck <= 0 || (board->narrowest > 0 && net->neck >= board->narrowest)) continue;
        board->narrowest = net->neck, board->narrowest_side = side;
        board->narrowest_at = board_from_face(board, side, net->neck_at);
    }
    for (uint32_t i = 0; i < copper->pads.count; i++)
        if (copper->pads.at[i].net != 0) board->nets.at[board->face[side].net[copper->pads.at[i].net] - 1].pads++;
}

static void number_nets(Arena *arena, BoardSide side, BoardCopper *board) {
    BoardFace *face = &board->face[side];
    face->net = arena_many(arena, uint32_t, face->copper.nets.count + 1);
    for (uint32_t i = 1; i <= face->copper.nets.count; i++) {
        face->net[i] = i;
        list_push(arena, &board->nets, ((BoardNet){0}));
    }
}

void board_join(Arena *arena, const BoardAsked *asked, BoardCopper *board) {
    (void)asked;
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        if (!board->face[side].known) continue;
        number_nets(arena, side, board);
        for (uint32_t i = 0; i < board->face[side].copper.holes.count; i++)
            list_push(arena, &board->holes, hole_of(board, side, i));
        take_doubts(arena, side, board);
        take_conflicts(arena, side, board);
        take_figures(side, board);
    }
}
