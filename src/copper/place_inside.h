/* What the files place*.c share. */
#ifndef UNPICK_COPPER_PLACE_INSIDE_H
#define UNPICK_COPPER_PLACE_INSIDE_H

#include "copper/place.h"
#include "copper/place_ground.h"

/* Solves a x = b for `count` unknowns by elimination with pivots; a (row by row) is used up, b becomes x. False: singular.
 */
bool place_solve(int count, double *a, double *b);

/* Where a pixel would be without the place's distortion. */
PlacePoint place_undistort(const BoardPlace *place, PlacePoint pixel);

enum { SIDE_POINTS = 160, SIDE_LINES = 5 };

/* One side of a board in the photo: from corner to corner, the inside to the right of it. */
typedef struct Side {
    PlacePoint from, to;         /* its straight line, pixels */
    PlacePoint at[SIDE_POINTS];  /* edge points found along it */
    float strength[SIDE_POINTS]; /* colour step there, 0..442; 0: none found on this line */
    double seen;                 /* share of the points that lie on the line, 0..1 */
    double score;                /* of points and strength */
} Side;

/* Finds the straight edges near a side, within `reach` pixels to both sides of it, the best seen first: lines that most of
 * the side's length agrees on and that have something else than background inward (ground NULL: anything). unit: pixels of
 * the photo that are taken as one step. Returns how many. */
int side_find(const Photo *photo, const Ground *ground, double unit, double reach, const Side *near_side,
              Side found[SIDE_LINES]);
/* How far outward the middle of one side lies from another, pixels. */
double side_offset(const Side *side, const Side *from);
/* Where two lines meet; false when they hardly do. */
bool side_meet(const Side *a, const Side *b, PlacePoint *at);

/* A rough quadrilateral (clockwise) round what is not background, in pixels of the photo. sure: 0..1. ground: what the
 * background is, to be freed by the caller whatever comes back. */
bool place_outline(const Photo *photo, PlacePoint corners[4], double *sure, Ground **ground);

/* How far outward each side's wall is seen below its top edge, in pixels for a millimetre of thickness; negative: hidden.
 * Sides in the order top, right, bottom, left. misfit: how little the corners look like that rectangle, 0: perfectly. */
void pose_walls(const BoardPlace *place, double wall[4], double *misfit);

#endif
