/* Connected pieces of a picture. Private to the room. */
#ifndef UNPICK_COPPER_COMPONENTS_H
#define UNPICK_COPPER_COMPONENTS_H

#include "base/list.h"

#include <stdbool.h>

typedef struct Component {
    uint32_t area;               /* pixels */
    uint32_t left, top;          /* first column and row */
    uint32_t right, bottom;      /* last column and row */
    double weight, sum_x, sum_y; /* of the picture's values, and of value times pixel centre: a weighted centre */
} Component;

typedef struct Components {
    LIST(Component) list; /* component n is list.at[n - 1]; in the order of their first pixels, row by row */
} Components;

/* A picture of width * height pixels whose rows lie `stride` apart. */
typedef struct ComponentPicture {
    const unsigned char *at;
    uint32_t width, height, stride;
    unsigned char least;    /* a pixel is in when its value is at least this */
    const uint16_t *within; /* pixels join only where this is the same and not 0; rows width apart; NULL: everywhere */
} ComponentPicture;

/* Labels the pieces that hang together over edges or corners (8 neighbours). labels: size height * stride; pixels that are
 * in get 1 ... count, the others are left as they were. */
Components components_of(Arena *arena, const ComponentPicture *picture, uint32_t *labels);

#endif
