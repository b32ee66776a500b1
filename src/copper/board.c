/* The way of a board: each photo to layers and holes, the sides brought together, each face to nets, the nets joined. */
#include "copper/board_inside.h"

#include <stdlib.h>

static const double SAME[9] = {1, 0, 0, 0, 1, 0, 0, 0, 1};

bool board_trace(Arena *arena, const BoardAsked *asked, BoardCopper *board, Diags *problems) {
    FaceWork work[BOARD_SIDES] = {0};
    bool open[BOARD_SIDES] = {0}, any = false;
    *board = (BoardCopper){.width_mm = asked->width_mm, .height_mm = asked->height_mm};
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        memcpy(board->face[side].to_top, SAME, sizeof SAME);
        memcpy(board->face[side].from_top, SAME, sizeof SAME);
        if (asked->face[side].photo != NULL) open[side] = face_open(arena, asked, side, &work[side], problems);
    }
    if (open[BOARD_TOP] && open[BOARD_BOTTOM]) board->fit = board_align(work, &board->face[BOARD_BOTTOM], problems);
    for (BoardSide side = 0; side < BOARD_SIDES; side++)
        if (open[side] && face_trace(arena, &work[side], NULL, board, problems)) any = true;
    for (BoardSide side = 0; side < BOARD_SIDES; side++) face_close(&work[side]);
    if (any) board_join(arena, asked, board);
    return any;
}

void board_free(BoardCopper *board) {
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        copper_free(&board->face[side].copper);
        free(board->face[side].unseen);
        board->face[side].unseen = NULL;
    }
}
