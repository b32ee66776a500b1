/* How the camera stands above the board, from the four corners: with square pixels and the optical axis in the photo's
 * middle, the first two columns of the homography are the board's axes seen through the focal length f; that they are of
 * one length and at right angles gives f (Zhang 2000, from memory) and says whether the corners can be those of a rectangle
 * of that shape. */
#include "copper/place_inside.h"

#include <math.h>

/* Focal length in photo widths (the longer side): 20 to 80 mm of the 35 mm format; 27 where the tilt is too small to tell.
 */
static const double FOCAL_LEAST = 0.55, FOCAL_MOST = 2.2, FOCAL_USUAL = 0.85;

/* Columns of the homography with the principal point at 0, divided by the longer side. */
static void columns(const BoardPlace *place, double column[3][3]) {
    double longer = 2 * fmax(place->centre_x, place->centre_y);
    const double *h = place->h;
    for (int c = 0; c < 3; c++) {
        column[c][0] = (h[c] - place->centre_x * h[6 + c]) / longer;
        column[c][1] = (h[3 + c] - place->centre_y * h[6 + c]) / longer;
        column[c][2] = h[6 + c];
    }
}

/* f * f from a right angle and from equal lengths; the one with the larger divisor counts. */
static double find_focal(double a[3], double b[3]) {
    double right = a[2] * b[2], equal = a[2] * a[2] - b[2] * b[2];
    double over = -(a[0] * b[0] + a[1] * b[1]), even = b[0] * b[0] + b[1] * b[1] - a[0] * a[0] - a[1] * a[1];
    double square = fabs(right) > fabs(equal) ? over / right : even / equal;
    double size = (a[0] * a[0] + a[1] * a[1] + b[0] * b[0] + b[1] * b[1]) / 2;
    if (!(fmax(fabs(right), fabs(equal)) > 0.005 * size) || !(square > 0)) return FOCAL_USUAL;
    return fmin(fmax(sqrt(square), FOCAL_LEAST), FOCAL_MOST);
}

void pose_walls(const BoardPlace *place, double wall[4], double *misfit) {
    double column[3][3], down[3];
    columns(place, column);
    double *a = column[0], *b = column[1], f = find_focal(a, b);
    double long_a = sqrt((a[0] * a[0] + a[1] * a[1]) / (f * f) + a[2] * a[2]);
    double long_b = sqrt((b[0] * b[0] + b[1] * b[1]) / (f * f) + b[2] * b[2]);
    double dot = (a[0] * b[0] + a[1] * b[1]) / (f * f) + a[2] * b[2];
    *misfit = fabs(log(long_a / long_b)) + fabs(dot / (long_a * long_b));
    double u[3] = {a[0] / f, a[1] / f, a[2]}, v[3] = {b[0] / f, b[1] / f, b[2]}, length = sqrt(long_a * long_b);
    for (int i = 0; i < 3; i++)
        down[i] = (u[(i + 1) % 3] * v[(i + 2) % 3] - u[(i + 2) % 3] * v[(i + 1) % 3]) / length; /* x right, y down: away */
    const double w = place->width_mm, h = place->height_mm;
    const PlacePoint middle[4] = {{w / 2, 0}, {w, h / 2}, {w / 2, h}, {0, h / 2}},
                     inward[4] = {{0, 1}, {-1, 0}, {0, -1}, {1, 0}};
    double longer = 2 * fmax(place->centre_x, place->centre_y);
    for (int k = 0; k < 4; k++) {
        PlacePoint m = middle[k], in = {m.x + 0.1 * inward[k].x, m.y + 0.1 * inward[k].y};
        double at[3], low[3], inner[3];
        for (int i = 0; i < 3; i++) {
            at[i] = column[0][i] * m.x + column[1][i] * m.y + column[2][i];
            inner[i] = column[0][i] * in.x + column[1][i] * in.y + column[2][i];
            low[i] = at[i] + down[i] * (i < 2 ? f : 1); /* a millimetre below */
        }
        double out_x = at[0] / at[2] - inner[0] / inner[2], out_y = at[1] / at[2] - inner[1] / inner[2];
        double low_x = low[0] / low[2] - at[0] / at[2], low_y = low[1] / low[2] - at[1] / at[2];
        /* across the side, not along it */
        PlacePoint along = {inward[k].y, -inward[k].x};
        PlacePoint next = {m.x + 0.1 * along.x, m.y + 0.1 * along.y};
        double side[3];
        for (int i = 0; i < 3; i++) side[i] = column[0][i] * next.x + column[1][i] * next.y + column[2][i];
        double side_x = side[0] / side[2] - at[0] / at[2], side_y = side[1] / side[2] - at[1] / at[2];
        double across_x = side_y, across_y = -side_x, sign = across_x * out_x + across_y * out_y < 0 ? -1 : 1;
        wall[k] = sign * (low_x * across_x + low_y * across_y) / hypot(across_x, across_y) * longer;
    }
}
