/* What the files board*.c share. */
#ifndef UNPICK_COPPER_BOARD_INSIDE_H
#define UNPICK_COPPER_BOARD_INSIDE_H

#include "copper/board.h"

/* A hole as the layers show it, in its photo's view; or a pad, about as high as wide, whose hole may be filled with solder.
 */
typedef struct FaceHole {
    PlacePoint at;
    double diameter; /* mm, of the hole or of the pad */
    bool pad;
} FaceHole;

/* What of a face is known before its nets are: enough to bring the sides together. */
typedef struct FaceSeen {
    PlacePoint corners[4]; /* pixels */
    double corners_sure;
    bool placed; /* the corners are known */
    LIST(FaceHole) holes;
} FaceSeen;

typedef struct CacheKey {
    uint64_t low, high; /* XXH3, 128 bits */
} CacheKey;

/* One face on its way. */
typedef struct FaceWork {
    Arena *arena;
    const BoardAsked *asked;
    BoardSide side;
    FaceSeen seen;
    unsigned made;          /* odd quarter turns that its corners were named further before it was straightened: 0, 1, 3 */
    bool half;              /* it was turned by half since */
    const LayerHint *hints; /* size hint_count, none until face_hear: in the view that the layers are made in */
    size_t hint_count;
    bool kept; /* what it yields is kept in asked->cache, under: */
    CacheKey key;
    Layers layers; /* empty until needed */
    bool decoded;  /* the photo was */
} FaceWork;

/* ---- board.c, board_keep.c ---- */
bool board_trace_anew(Arena *arena, const BoardAsked *asked, BoardCopper *board, Diags *problems);
void board_let_go(struct BoardKept *kept);

/* ---- board_place.c: where the board lies in its photo ---- */
/* As told, or as found before or now. Corners in work are in pixels of the file, of which `shrunk` are one along a side of
 * this photo. False, with a problem, when that can't be or can't be meant. */
bool face_place(FaceWork *work, const Photo *photo, unsigned shrunk, BoardPlace *place, Diags *problems);
/* What of its place a person should look at again. */
void face_tell_place(const FaceWork *work, Diags *problems);

/* ---- board_face.c: one face from its photo to its layers ---- */
void face_tell(Diags *problems, const FaceWork *work, Text message, Text expected, Text hint);
/* Corners and holes; of a face without another it hears at once. False, with a problem, when the photo can't be read or no
 * board is found in it. */
bool face_open(Arena *arena, const BoardAsked *asked, BoardSide side, const BoardCopper *board, FaceWork *work,
               Diags *problems);
/* Names the corners so many quarter turns further: one makes the top-right corner the top-left. False, with a problem, when
 * the photo is needed again and can't be had. */
bool face_turn(FaceWork *work, unsigned turns, Diags *problems);
/* Where a place of the view comes to lie by that, mm. */
PlacePoint face_turned(const FaceWork *work, PlacePoint mm, unsigned turns);
/* Takes what a person says of spots, for all layers from now on: those made without it are made again. Where there are two
 * faces they must stand together, for it is in the top's millimetres. */
void face_hear(FaceWork *work, const BoardCopper *board);
/* Makes or reads work->layers if they aren't there. False, with a problem. */
bool face_layers(FaceWork *work, Diags *problems);
void face_close(FaceWork *work);

/* ---- board_nets.c: its nets ---- */
/* Into board->face[side], whose homographies must stand. `left_out`: a flag for each of its words, or NULL.
 * False, with a problem, when that can't be. */
bool face_trace(Arena *arena, FaceWork *work, const bool *left_out, BoardCopper *board, Diags *problems);

/* ---- board_align.c: the sides brought together by holes and outline ---- */
/* Sets the bottom's homographies, after naming corners that were found a turn further where the holes say so. Problems:
 * corners given that the holes speak against. */
BoardFit board_align(FaceWork work[BOARD_SIDES], BoardFace *bottom, Diags *problems);

/* ---- board_holes.c: the holes of both faces and of notes ---- */
typedef struct HoleNets {
    uint32_t face[BOARD_SIDES]; /* the net that rings it, by the face's own number; 0: none */
    bool filled;                /* on one face, by solder */
    bool open;                  /* only one photo shows it, and the other may hide its pad */
} HoleNets;
/* Fills board->holes, all but their nets, which come back: size holes.count. The faces' copper and homographies must stand.
 */
HoleNets *holes_find(Arena *arena, const BoardAsked *asked, BoardCopper *board);

/* ---- board_join.c: the faces' nets to the board's ---- */
/* left_out: of each face a flag for each word that was left out of its tracing since this face shows no way for it, or
 * NULL.
 */
void board_join(Arena *arena, const BoardAsked *asked, const bool *left_out[BOARD_SIDES], BoardCopper *board);

/* ---- board_tell.c: doubts, conflicts and figures in the board's terms ---- */
void board_tell(Arena *arena, const HoleNets *holes, BoardCopper *board);

/* ---- board_look.c ---- */
/* A homography (row by row) applied. */
PlacePoint board_apply(const double h[9], PlacePoint at);

#endif
