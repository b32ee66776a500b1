/* The four corners of a board that lies on a plain background: roughly by what is not background (place_outline.c), then each
 * side to a fraction of a pixel (place_side.c). A board seen aslant shows its wall below two of its edges, and the outline is the
 * wall's foot: where the camera's place (place_pose.c) says that a wall must be seen, the edge inside it is looked for. */
#include "copper/place_inside.h"

#include <math.h>

static const double THICK_LEAST = 0.3, THICK_MOST = 2.2; /* mm, of boards: 0.4 to 1.6, and some doubt of the pose */
static const double WALL_LEAST = 1.0; /* mm of thickness seen as fewer pixels than this many units can't be told from the edge */

/* Which corner comes first: the one whose rectangle fits; of the two or four that do, the nearest to the top-left of the photo. */
static void order_corners(const Photo *photo, double width_mm, double height_mm, PlacePoint corners[4]) {
    double misfit[4], least = INFINITY, wall[4];
    for (int k = 0; k < 4; k++) {
        BoardPlace place;
        PlacePoint turned[4];
        for (int i = 0; i < 4; i++) turned[i] = corners[(i + k) % 4];
        misfit[k] = INFINITY;
        if (place_from_corners(turned, width_mm, height_mm, photo->width, photo->height, &place)) pose_walls(&place, wall, &misfit[k]);
        if (misfit[k] < least) least = misfit[k];
    }
    int best = -1;
    for (int k = 0; k < 4; k++) {
        if (!(misfit[k] <= least + 0.01)) continue;
        if (best < 0 || corners[k].x + corners[k].y < corners[best].x + corners[best].y) best = k;
    }
    PlacePoint turned[4];
    for (int i = 0; i < 4; i++) turned[i] = corners[(i + (best < 0 ? 0 : best)) % 4];
    memcpy(corners, turned, sizeof turned);
}

static bool fit_sides(const Photo *photo, double unit, double reach, PlacePoint corners[4], Side side[4]) {
    for (int k = 0; k < 4; k++) {
        side[k] = (Side){.from = corners[k], .to = corners[(k + 1) % 4]};
        side_fit(photo, unit, reach, &side[k]);
    }
    for (int k = 0; k < 4; k++)
        if (!side_meet(&side[(k + 3) % 4], &side[k], &corners[k])) return false;
    return true;
}

/* From the foot of the wall to the edge above it. */
static bool climb_walls(const Photo *photo, double unit, double width_mm, double height_mm, PlacePoint corners[4], Side side[4]) {
    BoardPlace place;
    double wall[4], misfit;
    if (!place_from_corners(corners, width_mm, height_mm, photo->width, photo->height, &place)) return false;
    pose_walls(&place, wall, &misfit);
    for (int k = 0; k < 4; k++)
        if (wall[k] > WALL_LEAST * unit) side_step_in(photo, unit, fmax(THICK_LEAST * wall[k], 2.5 * unit), THICK_MOST * wall[k], &side[k]);
    for (int k = 0; k < 4; k++)
        if (!side_meet(&side[(k + 3) % 4], &side[k], &corners[k])) return false;
    return true;
}

bool place_find(const Photo *photo, double width_mm, double height_mm, PlacePoint corners[4], double *sure) {
    uint32_t longer = photo->width > photo->height ? photo->width : photo->height;
    double unit = fmax(1, longer / 4000.0); /* a phone's photo is not sharper than that */
    Side side[4];
    *sure = 0;
    if (!(width_mm > 0 && height_mm > 0) || !place_outline(photo, corners, sure)) return false;
    if (!fit_sides(photo, unit, fmax(10, longer / 150.0), corners, side) || !fit_sides(photo, unit, 6 * unit, corners, side)) return false;
    order_corners(photo, width_mm, height_mm, corners);
    for (int k = 0; k < 4; k++) { /* the sides in the same order as the corners now */
        side[k] = (Side){.from = corners[k], .to = corners[(k + 1) % 4]};
        side_fit(photo, unit, 4 * unit, &side[k]);
    }
    if (!climb_walls(photo, unit, width_mm, height_mm, corners, side)) return false;
    BoardPlace place;
    double wall[4], misfit, seen = 1;
    if (!place_from_corners(corners, width_mm, height_mm, photo->width, photo->height, &place)) return false;
    pose_walls(&place, wall, &misfit);
    for (int k = 0; k < 4; k++) seen = fmin(seen, side[k].seen);
    *sure *= seen * exp(-20 * misfit); /* a misfit of 5 % speaks clearly against it */
    return true;
}
