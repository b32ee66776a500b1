/* The demo's board, drawn from its wiring: pads where the parts of wiring.txt have their pins, tracks routed between those
 * that the wiring joins, ground poured over what is left. One copper layer, seen from the top; x right, y down, mm. */
#ifndef DEMO_BOARD_H
#define DEMO_BOARD_H

#include "base/list.h"

#include <stdbool.h>

enum { CELLS_A_MM = 10, POINTS_MOST = 400 };

typedef struct Land {
    double x, y, w, h; /* a box, or an ellipse when round */
    double hole;       /* diameter, 0: none */
    bool round;
    int net; /* from 1; 0: nothing is joined to it */
} Land;

typedef struct Way { /* a track */
    double x[POINTS_MOST], y[POINTS_MOST];
    int count, net;
    double width;
} Way;

typedef struct Layout {
    double width, height;
    LIST(Land) lands;
    LIST(Way) ways;
    LIST(Land) bores; /* screw holes, without copper */
    int net_count, ground;
    bool *thick;           /* by net: carries the motor's current */
    unsigned char *poured; /* size columns * rows: ground is poured on the cell */
    int columns, rows;
    int failed; /* connections that found no way */
} Layout;

/* Joins what belongs together, trying orders drawn by lot until all is joined or `tries` are used up; the best is kept. */
void route(Arena *arena, Layout *layout, int tries);
/* Writes copper.png, mask.png, print.png, drill.png and outline.png, as the bottom is seen. False: errno. */
bool draw(const Layout *layout, const char *folder);

#endif
