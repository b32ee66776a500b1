/* The four corners of a board that lies on a plain background: roughly by what is not background (place_outline.c), then
 * the straight edges near each side to a fraction of a pixel (place_side.c). A board seen aslant shows its wall below one
 * or two of its edges, and the outermost edge there is the wall's foot; inside, the rim of a pour is often stronger than
 * the board's edge. So all choices of one edge a side are weighed: each says where the camera stands (place_pose.c), hence
 * where walls must show and how high, and what lies further out than a chosen edge must be just that. Cost: some hundred
 * choices of a microsecond each. */
#include "copper/place_inside.h"

#include <math.h>
#include <stdlib.h>

static const double SHARP =
    4000; /* pixels of the longer side that a phone's lens fills with detail; a finer photo is read in larger steps */
static const double BLUR = 3;      /* units within which two edges are one */
static const double NEAR_MM = 0.8; /* round the outermost edges, where all the others are looked for */
/* What speaks for a choice of edges, in units of one well seen edge. Set by hand, so that none of them decides alone. */
static const double FOOT = 0.5, NO_FOOT = 0.3, MISFIT = 5;

/* Which corner comes first: the one whose rectangle fits; of the two or four that do, the nearest to the top-left of the
 * photo. */
static void order_corners(const Photo *photo, double width_mm, double height_mm, PlacePoint corners[4]) {
    double misfit[4], least = INFINITY, wall[4];
    for (int k = 0; k < 4; k++) {
        BoardPlace place;
        PlacePoint turned[4];
        for (int i = 0; i < 4; i++) turned[i] = corners[(i + k) % 4];
        misfit[k] = INFINITY;
        if (place_from_corners(turned, width_mm, height_mm, photo->width, photo->height, &place))
            pose_walls(&place, wall, &misfit[k]);
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

/* The lines near each side, and the quadrilateral of one of each. */
typedef struct Choice {
    Side lines[4][SIDE_LINES];
    int count[4];
} Choice;

static bool corners_of(const Choice *choice, const int pick[4], PlacePoint corners[4]) {
    for (int k = 0; k < 4; k++)
        if (!side_meet(&choice->lines[(k + 3) % 4][pick[(k + 3) % 4]], &choice->lines[k][pick[k]], &corners[k]))
            return false;
    return true;
}

static void find_lines(const Photo *photo, const Ground *ground, double unit, double reach, const PlacePoint corners[4],
                       Choice *choice) {
    for (int k = 0; k < 4; k++) {
        Side near = {.from = corners[k], .to = corners[(k + 1) % 4]};
        choice->count[k] = side_find(photo, ground, unit, reach, &near, choice->lines[k]);
        if (choice->count[k] > 0) continue;
        choice->lines[k][0] = near; /* nothing seen: it stays where the outline was */
        choice->count[k] = 1;
    }
}

/* The outermost line of each side. */
static bool take_outermost(const Choice *choice, PlacePoint corners[4]) {
    int pick[4] = {0, 0, 0, 0};
    for (int k = 0; k < 4; k++)
        for (int i = 1; i < choice->count[k]; i++)
            if (side_offset(&choice->lines[k][i], &choice->lines[k][pick[k]]) > 0) pick[k] = i;
    return corners_of(choice, pick, corners);
}

/* How well one line explains a side: an edge further out must be the foot of a wall of this height, in pixels, or there
 * should be none; where a wall shows, its foot should. */
static double side_value(const Choice *choice, int k, int pick, double wall, double unit) {
    const Side *lines = choice->lines[k], *side = &lines[pick];
    double first = fmax(lines[0].score, 1), value = side->score / first;
    bool foot = false;
    for (int i = 0; i < choice->count[k]; i++) {
        double out = side_offset(&lines[i], side);
        if (i == pick || out < BLUR * unit) continue; /* inside, or the other flank of a rim */
        bool explained = wall > BLUR * unit && fabs(out - wall) < fmax(2 * unit, 0.25 * wall);
        value += explained ? FOOT * lines[i].score / first : -lines[i].score / first;
        foot = foot || explained;
    }
    return value - (wall > BLUR * unit && !foot ? NO_FOOT : 0);
}

/* Tries every choice of four lines with every usual thickness. */
static bool take_best(const Photo *photo, double unit, double width_mm, double height_mm, const Choice *choice,
                      PlacePoint corners[4], double *seen, double *misfit) {
    static const double thick[] = {0.8, 1.0, 1.2, 1.6}; /* mm, usual laminates */
    double best = -INFINITY;
    int pick[4], all = choice->count[0] * choice->count[1] * choice->count[2] * choice->count[3];
    for (int n = 0; n < all; n++) {
        int rest = n;
        for (int k = 0; k < 4; k++) {
            pick[k] = rest % choice->count[k];
            rest /= choice->count[k];
        }
        PlacePoint at[4];
        BoardPlace place;
        double wall[4], off;
        if (!corners_of(choice, pick, at) ||
            !place_from_corners(at, width_mm, height_mm, photo->width, photo->height, &place))
            continue;
        pose_walls(&place, wall, &off);
        for (size_t t = 0; t < sizeof thick / sizeof thick[0]; t++) {
            double value = -MISFIT * off;
            for (int k = 0; k < 4; k++) value += side_value(choice, k, pick[k], wall[k] * thick[t], unit);
            if (value <= best) continue;
            best = value;
            memcpy(corners, at, sizeof at);
            *misfit = off;
            *seen = 1;
            for (int k = 0; k < 4; k++) *seen = fmin(*seen, choice->lines[k][pick[k]].seen);
        }
    }
    return isfinite(best);
}

bool place_find(const Photo *photo, double width_mm, double height_mm, PlacePoint corners[4], double *sure) {
    uint32_t longer = photo->width > photo->height ? photo->width : photo->height;
    double unit = fmax(1, longer / SHARP), seen = 0, misfit = 0;
    Ground *ground = NULL;
    Choice *choice = malloc(sizeof *choice);
    *sure = 0;
    bool done = choice != NULL && width_mm > 0 && height_mm > 0 && place_outline(photo, corners, sure, &ground);
    if (done) {
        find_lines(photo, ground, unit, fmax(10 * unit, longer / 150.0), corners, choice);
        done = take_outermost(choice, corners);
    }
    if (done) {
        order_corners(photo, width_mm, height_mm, corners);
        double mm = hypot(corners[1].x - corners[0].x, corners[1].y - corners[0].y) / width_mm; /* pixels */
        find_lines(photo, ground, unit, fmin(fmax(NEAR_MM * mm, 8 * unit), 60 * unit), corners, choice);
        done = take_best(photo, unit, width_mm, height_mm, choice, corners, &seen, &misfit);
    }
    if (done) order_corners(photo, width_mm, height_mm, corners);
    *sure = done ? *sure * seen * exp(-8 * misfit) : 0; /* a misfit of 10 % speaks clearly against it */
    free(ground);
    free(choice);
    return done;
}
