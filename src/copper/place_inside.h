/* What the files place*.c share. */
#ifndef UNPICK_COPPER_PLACE_INSIDE_H
#define UNPICK_COPPER_PLACE_INSIDE_H

#include "copper/place.h"

/* Solves a x = b for `count` unknowns by elimination with pivots; a (row by row) is used up, b becomes x. False: singular. */
bool place_solve(int count, double *a, double *b);

enum { SIDE_POINTS = 160 };

/* One side of a board in the photo: from corner to corner, the inside to the right of it. */
typedef struct Side {
    PlacePoint from, to;          /* its straight line, pixels */
    PlacePoint at[SIDE_POINTS];   /* edge points found along it */
    float strength[SIDE_POINTS];  /* colour step there, 0..442; 0: none found on this line */
    double seen;                  /* share of the points that lie on the line, 0..1 */
} Side;

/* Fits the straight line of the strongest colour edge near from -> to, within `reach` pixels to both sides. unit: pixels of the
 * photo that are taken as one step. False: no line stands out; the side keeps its place. */
bool side_fit(const Photo *photo, double unit, double reach, Side *side);
/* Moves a fitted side inward to a second edge at least `least` and at most `most` pixels inside, when there is one nearly as strong. */
bool side_step_in(const Photo *photo, double unit, double least, double most, Side *side);
/* Where two lines meet; false when they hardly do. */
bool side_meet(const Side *a, const Side *b, PlacePoint *at);

/* A rough quadrilateral (clockwise) round what is not background, in pixels of the photo. sure: 0..1. */
bool place_outline(const Photo *photo, PlacePoint corners[4], double *sure);

/* How far outward each side's wall is seen below its top edge, in pixels for a millimetre of thickness; negative: hidden.
 * Sides in the order top, right, bottom, left. misfit: how little the corners look like that rectangle, 0: perfectly. */
void pose_walls(const BoardPlace *place, double wall[4], double *misfit);

#endif
