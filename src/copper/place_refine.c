/* Barrel distortion from the board's own edges: they are straight, so the right k1 is the one under which the edge points
 * of each side lie best on a line. The sum of squares is a parabola in k1 over the small range that lenses leave, so three
 * values give its lowest place; a usual lens (k1 near 0) counts as an observation of its own, so that short or rough edges
 * decide nothing. */
#include "copper/place_inside.h"

#include <math.h>
#include <stdlib.h>

static const double SHARP = 4000;     /* as in place_find.c */
static const double REACH = 10;       /* units to both sides of the corners' line */
static const double SEEN_LEAST = 0.6; /* of a side */
static const double STEP = 0.02;      /* of k1 */
static const double USUAL =
    0.02; /* phones leave k1 of about 0 within this (common practice: their software corrects the rest) */
static const double INDEPENDENT = 0.15; /* of the points: neighbours err together */
enum { ROUNDS = 3 };

/* Sum of squared distances of the points from the best line through them (principal axis), undistorted by k1. */
static double bend(const BoardPlace *place, const Side *side, double k1, int *count) {
    BoardPlace bent = *place;
    bent.k1 = k1;
    double n = 0, x = 0, y = 0, xx = 0, xy = 0, yy = 0;
    for (int i = 0; i < SIDE_POINTS; i++) {
        if (side->strength[i] == 0) continue;
        PlacePoint at = place_undistort(&bent, side->at[i]);
        at = (PlacePoint){at.x - side->from.x, at.y - side->from.y};
        n += 1, x += at.x, y += at.y, xx += at.x * at.x, xy += at.x * at.y, yy += at.y * at.y;
    }
    *count += (int)n;
    if (n < 3) return 0;
    double a = xx - x * x / n, b = xy - x * y / n, c = yy - y * y / n;
    return fmax(0, (a + c - sqrt((a - c) * (a - c) + 4 * b * b)) / 2); /* the smaller eigenvalue */
}

static double bend_all(const BoardPlace *place, const Side *sides, int side_count, double k1, int *count) {
    double sum = 0;
    *count = 0;
    for (int k = 0; k < side_count; k++) sum += bend(place, &sides[k], k1, count);
    return sum;
}

/* The line nearest to a side as given: corners are believed, so it's not for another edge to take its place. */
static bool find_nearest(const Photo *photo, double unit, const Side *given, Side *side) {
    Side *found = malloc(SIDE_LINES * sizeof *found);
    double least = INFINITY;
    int count = found == NULL ? 0 : side_find(photo, NULL, unit, REACH * unit, given, found);
    for (int i = 0; i < count; i++) {
        double off = fabs(side_offset(&found[i], given));
        if (found[i].seen < SEEN_LEAST || off >= least) continue;
        least = off;
        *side = found[i];
    }
    free(found);
    return isfinite(least);
}

void place_refine(const Photo *photo, BoardPlace *place) {
    double unit = fmax(1, fmax(photo->width, photo->height) / SHARP), w = place->width_mm, h = place->height_mm, k1 = 0;
    const PlacePoint mm[4] = {{0, 0}, {w, 0}, {w, h}, {0, h}};
    PlacePoint corners[4];
    Side sides[4];
    int seen = 0, count = 0;
    for (int k = 0; k < 4; k++) corners[k] = place_to_photo(place, mm[k]);
    for (int k = 0; k < 4; k++) {
        Side given = {.from = corners[k], .to = corners[(k + 1) % 4]};
        seen += find_nearest(photo, unit, &given, &sides[seen]);
    }
    if (seen < 2) return;
    for (int round = 0; round < ROUNDS; round++) {
        double step = STEP / (1 << round), here = bend_all(place, sides, seen, k1, &count);
        double less = bend_all(place, sides, seen, k1 - step, &count),
               more = bend_all(place, sides, seen, k1 + step, &count);
        double noise = here / fmax(1, count - 3 * seen) + 0.01; /* pixels squared: no edge is surer than a tenth of one */
        double weight = INDEPENDENT / noise,
               curve = weight * (less - 2 * here + more) / (step * step) + 2 / (USUAL * USUAL);
        double slope = weight * (more - less) / (2 * step) + 2 * k1 / (USUAL * USUAL);
        if (!(curve > 0)) return;
        k1 -= fmax(-2 * step, fmin(2 * step, slope / curve));
    }
    place_bend(corners, k1, place);
}
