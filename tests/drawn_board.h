/* An invented board of two sides, drawn flat as a camera straight above would see it: tracks, pads, holes; for tests that
 * need no more than that. */
#ifndef UNPICK_TESTS_DRAWN_BOARD_H
#define UNPICK_TESTS_DRAWN_BOARD_H

#include "copper/place.h"

enum { DRAWN_TOP = 1, DRAWN_BOTTOM = 2 };
#define DRAWN_SCALE 24.0 /* pixels a mm */
#define DRAWN_MARGIN 4.0 /* mm of desk round the board */

typedef struct DrawnTrack {
    PlacePoint from, to; /* mm from the top's top-left corner, for both sides */
    double width;
    int sides;
} DrawnTrack;

typedef struct DrawnPad {
    PlacePoint at;
    double width; /* of its square or round metal */
    double hole;  /* diameter; 0: none */
    int sides;    /* that have copper here */
    int tented;   /* sides on which mask covers it, hole and all */
    int filled;   /* sides on which solder fills the hole */
} DrawnPad;

/* Red, green, blue of what mask covers. */
typedef struct DrawnColours {
    double bare[3], copper[3];
} DrawnColours;

typedef struct DrawnBoard {
    double width, height; /* mm */
    const DrawnTrack *tracks;
    int track_count;
    const DrawnPad *pads;
    int pad_count;
    const DrawnColours *colours; /* NULL: green, copper lighter than laminate */
} DrawnBoard;

/* A photo of one side as PNG; turned: by half. corners: top-left first as seen with the board upright. False: errno. */
bool drawn_photo(const DrawnBoard *board, int side, bool turned, const char *path, PlacePoint corners[4]);

#endif
