/* The convex hull of a piece of a mask, and the quadrilateral round it. */
#ifndef UNPICK_COPPER_PLACE_HULL_H
#define UNPICK_COPPER_PLACE_HULL_H

#include "copper/place.h"

/* The smallest quadrilateral, clockwise on the screen, that is made of four of the hull's edges and holds the hull. The
 * piece is all cells of this value; corners in cells, continuous. False: it has no such shape. */
bool hull_quad(const unsigned char *mask, unsigned char value, int width, int height, PlacePoint corners[4]);
double hull_area(const PlacePoint *at, int count); /* of a polygon, positive when clockwise on the screen */

#endif
