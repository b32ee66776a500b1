/* A face of a board in a form that export_*.c take, and the board in words for a terminal. */
#include "copper/export_board.h"

#include <stdlib.h>

enum { DOUBTS_SHOWN = 12 };

typedef struct Moving {
    const BoardCopper *board;
    BoardSide side;
} Moving;

static PlacePoint moved(const Moving *moving, PlacePoint at) {
    at = board_from_face(moving->board, moving->side, at);
    if (moving->side == BOARD_BOTTOM) at.x = moving->board->width_mm - at.x;
    return at;
}

static CopperNet moved_net(Arena *arena, const Moving *moving, CopperNet net) {
    CopperRing *rings = arena_many(arena, CopperRing, net.ring_count);
    for (uint32_t i = 0; i < net.ring_count; i++) {
        PlacePoint *at = arena_many(arena, PlacePoint, net.rings[i].count);
        for (uint32_t k = 0; k < net.rings[i].count; k++) at[k] = moved(moving, net.rings[i].at[k]);
        rings[i] = (CopperRing){at, net.rings[i].count, net.rings[i].hole};
    }
    net.rings = rings;
    net.neck_at = moved(moving, net.neck_at);
    net.low = moved(moving, net.low), net.high = moved(moving, net.high);
    return net;
}

#define moved_list(arena, to, from)                                                                                        \
    ((to)->at = arena_take((arena), (from)->count * sizeof *(from)->at), (to)->count = (to)->room = (from)->count)

Copper export_board_face(Arena *arena, const BoardCopper *board, BoardSide side) {
    const Copper *from = &board->face[side].copper;
    Moving moving = {board, side};
    Copper to = *from;
    to.width_mm = board->width_mm, to.height_mm = board->height_mm;
    moved_list(arena, &to.nets, &from->nets);
    moved_list(arena, &to.pads, &from->pads);
    moved_list(arena, &to.holes, &from->holes);
    moved_list(arena, &to.doubts, &from->doubts);
    moved_list(arena, &to.conflicts, &from->conflicts);
    for (uint32_t i = 0; i < to.nets.count; i++) to.nets.at[i] = moved_net(arena, &moving, from->nets.at[i]);
    for (uint32_t i = 0; i < to.pads.count; i++) {
        to.pads.at[i] = from->pads.at[i];
        to.pads.at[i].at = moved(&moving, from->pads.at[i].at);
    }
    for (uint32_t i = 0; i < to.holes.count; i++) {
        to.holes.at[i] = from->holes.at[i];
        to.holes.at[i].at = moved(&moving, from->holes.at[i].at);
    }
    for (uint32_t i = 0; i < to.doubts.count; i++) {
        CopperDoubt *doubt = &to.doubts.at[i];
        *doubt = from->doubts.at[i];
        doubt->at = moved(&moving, doubt->at), doubt->a = moved(&moving, doubt->a), doubt->b = moved(&moving, doubt->b);
    }
    for (uint32_t i = 0; i < to.conflicts.count; i++) {
        to.conflicts.at[i] = from->conflicts.at[i];
        to.conflicts.at[i].at = moved(&moving, from->conflicts.at[i].at);
    }
    to.gap_at = moved(&moving, from->gap_at);
    return to;
}

bool export_board_labels(const char *path, const BoardCopper *board, BoardSide side, double scale) {
    const BoardFace *face = &board->face[side];
    size_t pixels = (size_t)face->copper.width * face->copper.height;
    Copper copper = face->copper;
    copper.labels = malloc(pixels * sizeof *copper.labels);
    if (copper.labels == NULL) return false;
    for (size_t i = 0; i < pixels; i++) {
        uint32_t net = face->net[face->copper.labels[i]];
        copper.labels[i] = (uint16_t)(net <= UINT16_MAX ? net : UINT16_MAX);
    }
    bool done = export_labels(path, &copper, scale);
    free(copper.labels);
    return done;
}

/* ---- words ---- */

static const char *side_name(BoardSide side) { return side == BOARD_TOP ? "top" : "bottom"; }

static void say_holes(Out *out, const BoardCopper *board) {
    uint32_t plated = 0;
    for (uint32_t i = 0; i < board->holes.count; i++) plated += board->holes.at[i].plating == BOARD_PLATED;
    out_fmt(out, "%u nets across both sides; %u holes, %u of them join the sides\n", board->nets.count, board->holes.count,
            plated);
    if (board->fit.holes >= BOARD_FIT_HOLES)
        out_fmt(out, "%u holes are seen on both photos, %.2f mm apart on average\n", board->fit.holes, board->fit.mean);
    else
        out_fmt(out, "%u holes are seen on both photos: too few, so the sides were brought together by the corners alone\n",
                board->fit.holes);
}

static void say_figures(Out *out, const BoardCopper *board) {
    if (board->narrowest > 0)
        out_fmt(out, "narrowest between two pads: %.2f mm at %.1f,%.1f on the %s\n", board->narrowest,
                board->narrowest_at.x, board->narrowest_at.y, side_name(board->narrowest_side));
    if (board->gap_least > 0)
        out_fmt(out, "smallest gap between two nets: %.2f mm at %.1f,%.1f on the %s\n", board->gap_least, board->gap_at.x,
                board->gap_at.y, side_name(board->gap_side));
}

static void say_doubt(Out *out, const BoardDoubt *doubt) {
    out_fmt(out, "  \"%.2f,%.2f %.2f,%.2f\"  ", doubt->a.x, doubt->a.y, doubt->b.x, doubt->b.y);
    if (doubt->hole)
        out_fmt(out, "from the %s to the %s: ", side_name(doubt->side_a), side_name(doubt->side_b));
    else
        out_fmt(out, "on the %s: ", side_name(doubt->side));
    out_fmt(out, "%.*s at %.2f,%.2f; joined ", TEXT_ARG(doubt->looks), doubt->at.x, doubt->at.y);
    probability_print(out, doubt->p_joined);
    out_fmt(out, ", taken as %s\n", doubt->joined ? "joined" : "apart");
}

void export_board_text(Out *out, const BoardCopper *board) {
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        const char *whose = side == BOARD_TOP ? " of the top" : " of the bottom";
        const BoardFace *face = &board->face[side];
        if (face->known) export_corners_text(out, whose, "--corners or --back-corners", face->corners, face->corners_sure);
    }
    say_holes(out, board);
    say_figures(out, board);
    if (board->doubts.count > 0)
        out_fmt(out,
                "\n%u place%s in doubt, the most telling first. Beep between the two points, then say --on the side and "
                "--joined or --apart; of a hole, --hole or --bare-hole:\n",
                board->doubts.count, board->doubts.count == 1 ? "" : "s");
    for (uint32_t i = 0; i < board->doubts.count && i < DOUBTS_SHOWN; i++) say_doubt(out, &board->doubts.at[i]);
    if (board->doubts.count > DOUBTS_SHOWN) out_fmt(out, "  and %u more\n", board->doubts.count - DOUBTS_SHOWN);
    for (uint32_t i = 0; i < board->conflicts.count; i++) {
        const BoardConflict *conflict = &board->conflicts.at[i];
        out_fmt(out, "%sconflict at %.2f,%.2f on the %s: %.*s\n", i == 0 ? "\n" : "", conflict->at.x, conflict->at.y,
                side_name(conflict->side), TEXT_ARG(conflict->says));
    }
}
