/* From millimetres to pixels and back: a homography (eight unknowns from four pairs of points, solved exactly), then barrel
 * distortion r (1 + k1 (r / half diagonal)^2) about the photo's centre, whose inverse Newton's method finds in a few steps.
 */
#include "copper/place_inside.h"

#include <math.h>

static const int NEWTON_STEPS = 12;
static const double K1_MOST = 0.14; /* from 4/27 on the photo's corners have no place that they came from */

bool place_solve(int count, double *a, double *b) {
    for (int k = 0; k < count; k++) {
        int pivot = k;
        for (int i = k + 1; i < count; i++)
            if (fabs(a[i * count + k]) > fabs(a[pivot * count + k])) pivot = i;
        if (!(fabs(a[pivot * count + k]) > 1e-12)) return false;
        for (int j = k; j < count; j++) {
            double kept = a[k * count + j];
            a[k * count + j] = a[pivot * count + j];
            a[pivot * count + j] = kept;
        }
        double kept = b[k];
        b[k] = b[pivot];
        b[pivot] = kept;
        for (int i = k + 1; i < count; i++) {
            double times = a[i * count + k] / a[k * count + k];
            for (int j = k; j < count; j++) a[i * count + j] -= times * a[k * count + j];
            b[i] -= times * b[k];
        }
    }
    for (int k = count - 1; k >= 0; k--) {
        for (int j = k + 1; j < count; j++) b[k] -= a[k * count + j] * b[j];
        b[k] /= a[k * count + k];
    }
    return true;
}

/* Clockwise on the screen, no three in a line. */
static bool is_convex(const PlacePoint at[4]) {
    for (int i = 0; i < 4; i++) {
        PlacePoint a = at[i], b = at[(i + 1) % 4], c = at[(i + 2) % 4];
        double turn = (b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x);
        double size = hypot(b.x - a.x, b.y - a.y) * hypot(c.x - b.x, c.y - b.y);
        if (!(turn > 1e-4 * size)) return false; /* also when anything is not a number */
    }
    return true;
}

PlacePoint place_undistort(const BoardPlace *place, PlacePoint pixel) {
    double x = (pixel.x - place->centre_x) / place->half_diagonal, y = (pixel.y - place->centre_y) / place->half_diagonal;
    double seen = hypot(x, y), r = seen;
    if (seen == 0 || place->k1 == 0) return pixel;
    for (int i = 0; i < NEWTON_STEPS; i++) {
        double step = (r * (1 + place->k1 * r * r) - seen) / (1 + 3 * place->k1 * r * r);
        r -= step;
        if (fabs(step) < 1e-14) break;
    }
    return (PlacePoint){place->centre_x + x * (r / seen) * place->half_diagonal,
                        place->centre_y + y * (r / seen) * place->half_diagonal};
}

static PlacePoint distort(const BoardPlace *place, PlacePoint pixel) {
    double x = pixel.x - place->centre_x, y = pixel.y - place->centre_y;
    double times = 1 + place->k1 * (x * x + y * y) / (place->half_diagonal * place->half_diagonal);
    return (PlacePoint){place->centre_x + x * times, place->centre_y + y * times};
}

static bool go_through(const PlacePoint corners[4], BoardPlace *place) {
    double a[8 * 8] = {0}, b[8], w = place->width_mm, h = place->height_mm;
    const PlacePoint mm[4] = {{0, 0}, {w, 0}, {w, h}, {0, h}};
    for (int i = 0; i < 4; i++) { /* u = (h0 x + h1 y + h2) / (h6 x + h7 y + 1), v likewise with h3 h4 h5 */
        PlacePoint to = place_undistort(place, corners[i]);
        double x = mm[i].x / w, y = mm[i].y / h; /* of the size of one, so that pivots can be told from nothing */
        double u[8] = {x, y, 1, 0, 0, 0, -x * to.x, -y * to.x}, v[8] = {0, 0, 0, x, y, 1, -x * to.y, -y * to.y};
        memcpy(a + 16 * i, u, sizeof u);
        memcpy(a + 16 * i + 8, v, sizeof v);
        b[2 * i] = to.x;
        b[2 * i + 1] = to.y;
    }
    if (!place_solve(8, a, b)) return false;
    for (int i = 0; i < 8; i++) place->h[i] = i % 3 == 0 ? b[i] / w : i % 3 == 1 ? b[i] / h : b[i];
    place->h[8] = 1;
    return true;
}

bool place_from_corners(const PlacePoint corners[4], double width_mm, double height_mm, uint32_t photo_width,
                        uint32_t photo_height, BoardPlace *place) {
    *place = (BoardPlace){
        .width_mm = width_mm, .height_mm = height_mm, .centre_x = photo_width / 2.0, .centre_y = photo_height / 2.0};
    place->half_diagonal = hypot(place->centre_x, place->centre_y);
    return width_mm > 0 && height_mm > 0 && isfinite(width_mm) && isfinite(height_mm) && place->half_diagonal > 0 &&
           is_convex(corners) && go_through(corners, place);
}

bool place_bend(const PlacePoint corners[4], double k1, BoardPlace *place) {
    BoardPlace bent = *place;
    bent.k1 = k1;
    if (!(fabs(k1) <= K1_MOST) || !go_through(corners, &bent)) return false;
    *place = bent;
    return true;
}

PlacePoint place_to_photo(const BoardPlace *place, PlacePoint mm) {
    const double *h = place->h;
    double w = h[6] * mm.x + h[7] * mm.y + h[8];
    PlacePoint flat = {(h[0] * mm.x + h[1] * mm.y + h[2]) / w, (h[3] * mm.x + h[4] * mm.y + h[5]) / w};
    return distort(place, flat);
}

PlacePoint place_to_board(const BoardPlace *place, PlacePoint pixel) {
    const double *h = place->h;
    PlacePoint p = place_undistort(place, pixel);
    /* (h0 - p.x h6) x + (h1 - p.x h7) y = p.x h8 - h2, likewise for p.y */
    double a = h[0] - p.x * h[6], b = h[1] - p.x * h[7], c = p.x * h[8] - h[2];
    double d = h[3] - p.y * h[6], e = h[4] - p.y * h[7], f = p.y * h[8] - h[5];
    double under = a * e - b * d;
    return (PlacePoint){(c * e - b * f) / under, (a * f - c * d) / under};
}

double place_scale(const BoardPlace *place, PlacePoint mm) {
    const double step = 0.05; /* mm */
    PlacePoint left = place_to_photo(place, (PlacePoint){mm.x - step, mm.y}),
               right = place_to_photo(place, (PlacePoint){mm.x + step, mm.y});
    PlacePoint up = place_to_photo(place, (PlacePoint){mm.x, mm.y - step}),
               down = place_to_photo(place, (PlacePoint){mm.x, mm.y + step});
    double along_x = hypot(right.x - left.x, right.y - left.y), along_y = hypot(down.x - up.x, down.y - up.y);
    return fmin(along_x, along_y) / (2 * step);
}
