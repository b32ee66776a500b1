/* What the files board*.c share. */
#ifndef UNPICK_COPPER_BOARD_INSIDE_H
#define UNPICK_COPPER_BOARD_INSIDE_H

#include "copper/board.h"

/* A hole as the layers show it, in its photo's view. */
typedef struct FaceHole {
    PlacePoint at;
    double diameter; /* mm */
} FaceHole;

/* What of a face is known before its nets are: enough to bring the sides together. */
typedef struct FaceSeen {
    PlacePoint corners[4]; /* pixels */
    double corners_sure;
    LIST(FaceHole) holes;
} FaceSeen;

/* One face on its way. */
typedef struct FaceWork {
    const BoardAsked *asked;
    BoardSide side;
    FaceSeen seen;
    bool turned;   /* the view is given half a turn */
    Layers layers; /* empty until needed */
    bool decoded;  /* the photo was */
} FaceWork;

/* ---- board_face.c: one face from its photo to its nets ---- */
/* Corners and holes. False, with a problem, when the photo can't be read or no board is found in it. */
bool face_open(Arena *arena, const BoardAsked *asked, BoardSide side, FaceWork *work, Diags *problems);
/* Half a turn: what the view called top-left is its bottom-right. */
void face_turn(FaceWork *work);
/* Its nets, into board->face[side], whose homographies must stand. `left_out`: a flag for each of its words, or NULL.
 * False, with a problem, when that can't be. */
bool face_trace(Arena *arena, FaceWork *work, const bool *left_out, BoardCopper *board, Diags *problems);
void face_close(FaceWork *work);

/* ---- board_join.c: the faces' nets to the board's ---- */
void board_join(Arena *arena, const BoardAsked *asked, BoardCopper *board);

/* ---- board_look.c ---- */
/* A homography (row by row) applied. */
PlacePoint board_apply(const double h[9], PlacePoint at);

#endif
