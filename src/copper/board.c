/* The way of a board: each photo to layers and holes, the sides brought together, each face to nets, the nets joined. */
#include "copper/board_inside.h"

#include <stdlib.h>

static const double SAME[9] = {1, 0, 0, 0, 1, 0, 0, 0, 1};

static void free_face(BoardFace *face) {
    copper_free(&face->copper);
    free(face->unseen);
    face->unseen = NULL;
}

/* A word says joined, and this face shows no way for it: the other side may have one. Such words are left out and kept for
 * when the sides are joined. NULL: there is none. */
static const bool *words_without_way(Arena *arena, const BoardFaceAsked *asked, const Copper *copper) {
    bool *left_out = NULL;
    for (uint32_t i = 0; i < copper->conflicts.count; i++) {
        uint32_t word = copper->conflicts.at[i].no_way;
        if (word == 0) continue;
        if (left_out == NULL) left_out = arena_many(arena, bool, asked->word_count);
        left_out[word - 1] = true;
    }
    return left_out;
}

/* Both faces are known: traces those again of which a word needs the other side. */
static bool trace_left_out(Arena *arena, FaceWork work[BOARD_SIDES], const bool *left_out[BOARD_SIDES], BoardCopper *board,
                           Diags *problems) {
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        BoardFace *face = &board->face[side];
        left_out[side] = words_without_way(arena, &work[side].asked->face[side], &face->copper);
        if (left_out[side] == NULL) continue;
        free_face(face);
        if (!face_trace(arena, &work[side], left_out[side], board, problems)) return false;
    }
    return true;
}

bool board_trace_anew(Arena *arena, const BoardAsked *asked, BoardCopper *board, Diags *problems) {
    FaceWork work[BOARD_SIDES] = {0};
    bool open[BOARD_SIDES] = {0}, any = false, all = true;
    const bool *left_out[BOARD_SIDES] = {0};
    *board = (BoardCopper){.width_mm = asked->width_mm, .height_mm = asked->height_mm};
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        memcpy(board->face[side].to_top, SAME, sizeof SAME);
        memcpy(board->face[side].from_top, SAME, sizeof SAME);
        if (asked->face[side].photo == NULL) continue;
        open[side] = face_open(arena, asked, side, board, &work[side], problems);
        board->face[side].unplaced = !open[side] && work[side].decoded;
    }
    if (open[BOARD_TOP] && open[BOARD_BOTTOM]) board->fit = board_align(work, &board->face[BOARD_BOTTOM], problems);
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        if (open[side]) face_hear(&work[side], board);
        bool traced = open[side] && face_trace(arena, &work[side], NULL, board, problems);
        any = any || traced, all = all && traced;
    }
    bool done = any && (!all || trace_left_out(arena, work, left_out, board, problems));
    for (BoardSide side = 0; side < BOARD_SIDES; side++) face_close(&work[side]);
    if (done)
        board_join(arena, asked, left_out, board);
    else
        board_free(board);
    return done;
}

void board_free(BoardCopper *board) {
    if (board->kept != NULL)
        board_let_go(board->kept);
    else
        for (BoardSide side = 0; side < BOARD_SIDES; side++) free_face(&board->face[side]);
    board->kept = NULL;
}
