/* One side of a board as it is seen from that side: the straightened photo, or the outline alone; on it the nets of its
 * copper, the parts and their pins, what can't be seen, what is doubtful, and the callouts.
 *
 * Nets are told apart by colour (M. Okabe, K. Ito, "Color Universal Design", 2008: eight colours that people of all kinds of
 * colour vision tell apart), by the dashes of their outline, and by name. */
#ifndef UNPICK_DRAW_BOARD_H
#define UNPICK_DRAW_BOARD_H

#include "draw/svg.h"
#include "reason/reason.h"

typedef struct BoardView {
    const Reasoning *reasoning;
    Text board; /* its name */
    BoardSide side;
    Text jpeg;  /* the straightened photo of this side; empty: outline only */
    Text id;    /* for svg_open, and before the ids of what is in it */
    bool alone; /* a file of its own: its styles stand in it */
} BoardView;

/* Whether a note says how large the board is and there is something to show on this side. */
bool draw_board_shows(const Bench *bench, Text board, BoardSide side);
/* Writes the SVG. False, with nothing written: nobody says how large the board is. */
bool draw_board(Out *out, const BoardView *view);

/* The nets that draw_board colours on this side: the bench's nets, largest copper first. For a legend: the n-th has the
 * colour n % BOARD_VIEW_COLOURS, classes b-c0 to b-c6. On the arena. */
typedef struct BoardViewNets {
    const uint32_t *net; /* size count */
    uint32_t count;
} BoardViewNets;
BoardViewNets draw_board_nets(Arena *arena, const Bench *bench, Text board, BoardSide side);
/* The id of the n-th net's copper in the drawing with this id. */
Text draw_board_net_id(Arena *arena, Text id, uint32_t n);

enum { BOARD_VIEW_COLOURS = 7, BOARD_VIEW_DASHES = 4 };

extern const char DRAW_BOARD_CSS[]; /* board.css, made by the build: what a page that holds such drawings needs */

#endif
