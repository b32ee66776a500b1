/* A block diagram of what the reasoning found: sources, conversion, control, inputs, outputs and storage as boxes, what goes
 * from one to the other as arrows with its figures. Placed in layers by Graphviz's library (dot: Gansner, Koutsofios, North,
 * Vo, "A technique for drawing directed graphs", 1993), drawn here. The same teardown gives the same bytes. */
#ifndef UNPICK_DRAW_BLOCKS_H
#define UNPICK_DRAW_BLOCKS_H

#include "draw/svg.h"
#include "sums/sums.h"

typedef struct BlocksAsked {
    const Reasoning *reasoning;
    const Sums *sums; /* NULL: none */
    Text id;          /* for svg_open */
    bool alone;       /* a file of its own: its styles stand in it */
} BlocksAsked;

/* Writes the SVG. False, with nothing written and a problem that says why: fewer than two blocks, more than fit a picture, or
 * Graphviz could not place them. */
bool draw_blocks(Out *out, const BlocksAsked *asked, Diags *problems);

extern const char DRAW_BLOCKS_CSS[]; /* blocks.css, made by the build: what a page that holds the drawing needs */

#endif
