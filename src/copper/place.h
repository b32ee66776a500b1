/* Where the board is in a photo: from millimetres on the board to pixels and back. Perspective by the four corners
 * (homography), then mild barrel distortion about the photo's centre.
 *
 * Pixel coordinates are continuous: the first pixel covers 0..1. Millimetres are from the board's top-left corner as seen,
 * x right, y down. */
#ifndef UNPICK_COPPER_PLACE_H
#define UNPICK_COPPER_PLACE_H

#include "copper/photo.h"

typedef struct PlacePoint {
    double x, y;
} PlacePoint;

typedef struct BoardPlace {
    double width_mm, height_mm;
    double h[9];                              /* mm to undistorted pixels, row by row, h[8] = 1 */
    double k1;                                /* r_distorted = r (1 + k1 (r / half_diagonal)^2) */
    double centre_x, centre_y, half_diagonal; /* pixels */
} BoardPlace;

/* From four corners in pixels: top-left, top-right, bottom-right, bottom-left as seen. False: they are no convex
 * quadrilateral. */
bool place_from_corners(const PlacePoint corners[4], double width_mm, double height_mm, uint32_t photo_width,
                        uint32_t photo_height, BoardPlace *place);
/* The same board with the same corners (as they were given) under another distortion, of at most 0.14. False: can't be;
 * place unchanged. */
bool place_bend(const PlacePoint corners[4], double k1, BoardPlace *place);
PlacePoint place_to_photo(const BoardPlace *place, PlacePoint mm);
PlacePoint place_to_board(const BoardPlace *place, PlacePoint pixel);
/* Pixels per mm at a point of the board, the lesser of the two directions. */
double place_scale(const BoardPlace *place, PlacePoint mm);

/* Estimates k1 from how the board's straight edges bend in the photo; the corners stay where they were given. Leaves the
 * place as it was when the edges can't be seen well enough to tell. */
void place_refine(const Photo *photo, BoardPlace *place);

/* Finds the four corners of a board of this size on a plain background. sure: 0..1. False when no board stands out. */
bool place_find(const Photo *photo, double width_mm, double height_mm, PlacePoint corners[4], double *sure);

#endif
