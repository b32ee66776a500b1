/* What the files board*.c share. */
#ifndef UNPICK_DRAW_BOARD_INSIDE_H
#define UNPICK_DRAW_BOARD_INSIDE_H

#include "draw/board.h"

typedef struct View {
    Out *out;
    Arena *arena;
    const BoardView *asked;
    const Bench *bench;
    uint32_t number;       /* of the bench's photographed boards, or BENCH_NONE */
    const BoardFace *face; /* NULL: its copper is not known */
    double width, height;  /* mm */
    double unit;           /* mm: how large a line of small print is */
    LIST(SvgPoint) labels; /* where names stand already: their middles */
} View;

/* From the board's mm, seen from the top, to those of the view. */
SvgPoint view_point(const View *view, PlacePoint at);
/* A name on a halo; false, and none, where another stands too near. size: mm. */
bool view_label(View *view, SvgMark mark, SvgPoint at, double size, Text text);

bool board_has_part(const Bench *bench, Text board, const Note *note);

void view_copper(View *view); /* board_copper.c */
void view_net_names(View *view);
void view_parts(View *view); /* board_parts.c */

#endif
