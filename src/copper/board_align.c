/* The bottom brought into the top's millimetres. Both photos have the board's four corners, so the two views differ by
 * little more than the corners' errors: a homography near 1. Its eight numbers are those that best fit the holes seen on
 * both, weighed against what the corners say (least squares with the corners' shifts expected to be about CORNER_GIVEN_MM
 * or CORNER_FOUND_MM), so that many holes settle it and few bend it little. Which holes belong together is found by turns:
 * the shift that most pairs agree on, then the nearest pairs, each the other's nearest and as wide, within a reach that
 * shrinks. Corners that were found may be named a turn off, which the holes tell too. Cost: a look at each pair of holes
 * for each round, of which face_open gives a bounded number. */
#include "copper/board_inside.h"
#include "copper/place_inside.h"

#include <math.h>

static const double HOLE_MM = 0.04, FILLED_MM = 0.06, WIDE_SHARE = 0.03; /* a hole's centre is off by about this */
static const double CORNER_GIVEN_MM = 0.15, CORNER_FOUND_MM = 0.2;       /* and a corner by this, of both photos together */
static const double SHIFT_MM = 3;                                        /* the most that corners may be off */
static const double REACH_MM[] = {0.9, 0.5, 0.3, 0.2, 0.2};              /* of a pair of holes, round by round */
static const double WIDTH_MM = 0.2, WIDTH_SHARE = 0.35; /* two photos' diameters of one hole differ by less */
static const double PAD_OF_HOLE_MOST = 4; /* diameters: what the pad round a hole has at most (common practice) */
static const double SQUARE = 0.12;        /* sides that differ by less may be taken for each other */
enum { BINS = 31, UNKNOWNS = 8, ROUNDS = sizeof REACH_MM / sizeof *REACH_MM };

typedef struct Pairing {
    const FaceHole *top, *bottom; /* in the top's view, the bottom's by its outline */
    uint32_t top_count, bottom_count;
    uint32_t *of_top, *of_bottom; /* each one's partner, or UINT32_MAX */
    double width, height, corner; /* mm */
    double h[9];                  /* bottom to top */
    uint32_t count;
    double mean, most; /* mm between partners */
} Pairing;

/* Whether both may be one hole: as wide, or one seen and the other filled, under a pad that is wide enough. */
static bool as_wide(const FaceHole *a, const FaceHole *b) {
    if (a->pad && b->pad) return false;
    if (a->pad || b->pad) {
        double pad = a->pad ? a->diameter : b->diameter, hole = a->pad ? b->diameter : a->diameter;
        return pad > hole && pad < PAD_OF_HOLE_MOST * hole;
    }
    return fabs(a->diameter - b->diameter) <= WIDTH_MM + WIDTH_SHARE * fmin(a->diameter, b->diameter);
}

/* The shift most pairs agree on: the fullest three by three bins of all pairs' shifts, and their mean. */
static void vote(Pairing *pairing) {
    static const double BIN_MM = 0.2;
    uint32_t votes[BINS + 2][BINS + 2] = {0};
    PlacePoint sums[BINS + 2][BINS + 2] = {0};
    for (uint32_t i = 0; i < pairing->top_count; i++)
        for (uint32_t k = 0; k < pairing->bottom_count; k++) {
            const FaceHole *a = &pairing->top[i], *b = &pairing->bottom[k];
            double x = a->at.x - b->at.x, y = a->at.y - b->at.y;
            if (fabs(x) > SHIFT_MM || fabs(y) > SHIFT_MM || !as_wide(a, b)) continue;
            uint32_t u = 1 + (uint32_t)((x + SHIFT_MM) / BIN_MM), v = 1 + (uint32_t)((y + SHIFT_MM) / BIN_MM);
            votes[v][u]++, sums[v][u].x += x, sums[v][u].y += y;
        }
    uint32_t best = 0;
    PlacePoint shift = {0, 0};
    for (uint32_t v = 1; v <= BINS; v++)
        for (uint32_t u = 1; u <= BINS; u++) {
            uint32_t count = 0;
            PlacePoint sum = {0, 0};
            for (uint32_t k = 0; k < 9; k++) {
                uint32_t row = v - 1 + k / 3, column = u - 1 + k % 3;
                count += votes[row][column], sum.x += sums[row][column].x, sum.y += sums[row][column].y;
            }
            if (count > best) best = count, shift = (PlacePoint){sum.x / count, sum.y / count};
        }
    const double start[9] = {1, 0, shift.x, 0, 1, shift.y, 0, 0, 1};
    memcpy(pairing->h, start, sizeof start);
}

/* The nearest of `to` to each of `from`. */
static void find_nearest(const FaceHole *from, uint32_t from_count, const FaceHole *to, uint32_t to_count, double reach,
                         uint32_t *nearest) {
    for (uint32_t i = 0; i < from_count; i++) {
        double least = reach;
        nearest[i] = UINT32_MAX;
        for (uint32_t k = 0; k < to_count; k++) {
            if (fabs(from[i].at.x - to[k].at.x) > least || fabs(from[i].at.y - to[k].at.y) > least) continue;
            double far = hypot(from[i].at.x - to[k].at.x, from[i].at.y - to[k].at.y);
            if (far <= least && as_wide(&from[i], &to[k])) least = far, nearest[i] = k;
        }
    }
}

static void pair(Pairing *pairing, double reach, FaceHole *moved) {
    for (uint32_t i = 0; i < pairing->bottom_count; i++) {
        moved[i] = pairing->bottom[i];
        moved[i].at = board_apply(pairing->h, moved[i].at);
    }
    find_nearest(pairing->top, pairing->top_count, moved, pairing->bottom_count, reach, pairing->of_top);
    find_nearest(moved, pairing->bottom_count, pairing->top, pairing->top_count, reach, pairing->of_bottom);
    double sum = 0;
    pairing->count = 0, pairing->most = 0;
    for (uint32_t i = 0; i < pairing->top_count; i++) {
        uint32_t k = pairing->of_top[i];
        if (k == UINT32_MAX || pairing->of_bottom[k] != i) {
            pairing->of_top[i] = UINT32_MAX;
            continue;
        }
        double far = hypot(pairing->top[i].at.x - moved[k].at.x, pairing->top[i].at.y - moved[k].at.y);
        sum += far, pairing->most = fmax(pairing->most, far), pairing->count++;
    }
    pairing->mean = pairing->count > 0 ? sum / pairing->count : 0;
}

/* ---- the homography ---- */

typedef struct Fit {
    double a[UNKNOWNS * UNKNOWNS], b[UNKNOWNS];
} Fit;

static void add_equation(Fit *fit, const double row[UNKNOWNS], double value, double weight) {
    for (int i = 0; i < UNKNOWNS; i++) {
        for (int k = 0; k < UNKNOWNS; k++) fit->a[i * UNKNOWNS + k] += weight * row[i] * row[k];
        fit->b[i] += weight * row[i] * value;
    }
}

/* (x, y) goes to (u, v): u (1 - g x - h y) = x + a x + b y + c, v likewise with d e f; linear in a ... h. */
static void add_pair(Fit *fit, PlacePoint from, PlacePoint to, double weight) {
    const double across[UNKNOWNS] = {from.x, from.y, 1, 0, 0, 0, to.x * from.x, to.x * from.y},
                 down[UNKNOWNS] = {0, 0, 0, from.x, from.y, 1, to.y * from.x, to.y * from.y};
    add_equation(fit, across, to.x - from.x, weight);
    add_equation(fit, down, to.y - from.y, weight);
}

/* Places about the board's middle, as shares of half its longer side. */
static PlacePoint small(const Pairing *pairing, PlacePoint mm, double half) {
    return (PlacePoint){(mm.x - pairing->width / 2) / half, (mm.y - pairing->height / 2) / half};
}

/* to_mm * h * from_mm */
static void in_mm(const Pairing *pairing, const double h[9], double half, double out[9]) {
    double x = pairing->width / 2, y = pairing->height / 2, left[9], all[9];
    for (int k = 0; k < 3; k++) {
        left[k] = half * h[k] + x * h[6 + k];
        left[3 + k] = half * h[3 + k] + y * h[6 + k];
        left[6 + k] = h[6 + k];
    }
    for (int i = 0; i < 3; i++) {
        all[3 * i] = left[3 * i] / half;
        all[3 * i + 1] = left[3 * i + 1] / half;
        all[3 * i + 2] = left[3 * i + 2] - (left[3 * i] * x + left[3 * i + 1] * y) / half;
    }
    for (int i = 0; i < 9; i++) out[i] = all[i] / all[8];
}

/* How far a pair's centres may be off, mm: more when one is filled, and by what its two widths differ, for then a part of
 * the hole went unseen. */
static double off_by(const FaceHole *a, const FaceHole *b) {
    double wide = fmax(a->diameter, b->diameter);
    if (a->pad || b->pad) return hypot(FILLED_MM, WIDE_SHARE * wide);
    return hypot(hypot(HOLE_MM, WIDE_SHARE * wide), (a->diameter - b->diameter) / 2);
}

static void fit_pairs(Pairing *pairing) {
    Fit fit = {0};
    double half = fmax(pairing->width, pairing->height) / 2;
    for (uint32_t i = 0; i < pairing->top_count; i++) {
        if (pairing->of_top[i] == UINT32_MAX) continue;
        const FaceHole *top = &pairing->top[i], *bottom = &pairing->bottom[pairing->of_top[i]];
        double off = off_by(top, bottom) / half;
        PlacePoint now = board_apply(pairing->h, bottom->at);
        double misses = hypot(now.x - top->at.x, now.y - top->at.y) / (2 * half * off);
        off *= sqrt(1 + misses * misses); /* one that lies off by more than it should counts for less */
        add_pair(&fit, small(pairing, bottom->at, half), small(pairing, top->at, half), 1 / (off * off));
    }
    for (int i = 0; i < 4; i++) {
        PlacePoint corner = {i == 1 || i == 2 ? pairing->width : 0, i >= 2 ? pairing->height : 0};
        add_pair(&fit, small(pairing, corner, half), small(pairing, corner, half),
                 half * half / (pairing->corner * pairing->corner));
    }
    if (!place_solve(UNKNOWNS, fit.a, fit.b)) return;
    const double *s = fit.b, h[9] = {1 + s[0], s[1], s[2], s[3], 1 + s[4], s[5], -s[6], -s[7], 1};
    in_mm(pairing, h, half, pairing->h);
}

static void invert(const double h[9], double out[9]) {
    for (int i = 0; i < 9; i++) { /* cofactors, transposed */
        int r = i % 3, c = i / 3, r1 = (r + 1) % 3, r2 = (r + 2) % 3, c1 = (c + 1) % 3, c2 = (c + 2) % 3;
        out[i] = h[3 * r1 + c1] * h[3 * r2 + c2] - h[3 * r1 + c2] * h[3 * r2 + c1];
    }
    double last = out[8];
    for (int i = 0; i < 9; i++) out[i] /= last;
}

/* ---- turns ---- */

/* A face's holes in the top's view when its corners are named `turns` quarter turns further, by its outline alone. */
static const FaceHole *holes_of(Arena *arena, const FaceWork *work, unsigned turns, uint32_t *count) {
    double width = work->asked->width_mm, height = work->asked->height_mm;
    *count = work->seen.holes.count;
    FaceHole *holes = arena_many(arena, FaceHole, *count);
    for (uint32_t i = 0; i < *count; i++) {
        holes[i] = work->seen.holes.at[i];
        holes[i].at = face_turned(work, holes[i].at, turns);
        if (work->side == BOARD_BOTTOM) holes[i].at.x = width - holes[i].at.x;
        if (turns % 2 == 1) holes[i].diameter *= sqrt(width < height ? width / height : height / width);
    }
    return holes;
}

static Pairing pair_turned(Arena *arena, const FaceWork work[BOARD_SIDES], BoardSide turning, unsigned turns) {
    const BoardAsked *asked = work[0].asked;
    Pairing pairing = {.width = asked->width_mm, .height = asked->height_mm, .corner = CORNER_GIVEN_MM};
    for (BoardSide side = 0; side < BOARD_SIDES; side++)
        if (!asked->face[side].has_corners) pairing.corner = CORNER_FOUND_MM;
    pairing.top = holes_of(arena, &work[BOARD_TOP], turning == BOARD_TOP ? turns : 0, &pairing.top_count);
    pairing.bottom = holes_of(arena, &work[BOARD_BOTTOM], turning == BOARD_BOTTOM ? turns : 0, &pairing.bottom_count);
    pairing.of_top = arena_many(arena, uint32_t, pairing.top_count);
    pairing.of_bottom = arena_many(arena, uint32_t, pairing.bottom_count);
    FaceHole *moved = arena_many(arena, FaceHole, pairing.bottom_count);
    vote(&pairing);
    for (unsigned round = 0; round < ROUNDS; round++) {
        pair(&pairing, REACH_MM[round], moved);
        fit_pairs(&pairing);
    }
    pair(&pairing, REACH_MM[ROUNDS - 1], moved);
    return pairing;
}

/* Both sides' corners were given, yet the holes agree far better in another turn. */
static void tell_turned(const BoardAsked *asked, const Pairing *given, const Pairing *turned, Diags *problems) {
    Text file = text_copy(problems->arena, text_of(asked->face[BOARD_BOTTOM].photo));
    diag_add(
        problems,
        (Diag){.place = {.file = file},
               .message = text_fmt(problems->arena, "%u holes lie where the top has one, %u if its corners were turned",
                                   given->count, turned->count),
               .expected = TEXT("corners with the bottom's top-left as seen first: the board's top-right from the top"),
               .hint = TEXT("begin the list of corners with another one")});
}

BoardFit board_align(FaceWork work[BOARD_SIDES], BoardFace *bottom, Diags *problems) {
    const BoardAsked *asked = work[0].asked;
    bool both_given = asked->face[BOARD_BOTTOM].has_corners && asked->face[BOARD_TOP].has_corners;
    BoardSide turning = asked->face[BOARD_BOTTOM].has_corners ? BOARD_TOP : BOARD_BOTTOM;
    bool square = fabs(asked->width_mm / asked->height_mm - 1) < SQUARE;
    Arena *scratch = arena_new();
    Pairing given = pair_turned(scratch, work, turning, 0), best = given;
    unsigned turns = 0;
    for (unsigned i = 1; i < 4; i++) {
        if (i != 2 && !square) continue;
        Pairing turned = pair_turned(scratch, work, turning, i);
        if (turned.count >= best.count + BOARD_FIT_HOLES) best = turned, turns = i;
    }
    if (turns > 0 && both_given) {
        if (best.count > 2 * given.count) tell_turned(asked, &given, &best, problems);
        best = given, turns = 0;
    }
    BoardFit fit = {.holes = best.count, .mean = best.mean, .most = best.most, .turns = turns};
    if (turns > 0 && face_turn(&work[turning], turns, problems) && turns % 2 == 1)
        best = pair_turned(scratch, work, turning, 0); /* its holes were found anew, in a picture that is not stretched */
    if (best.count >= BOARD_FIT_HOLES) {
        memcpy(bottom->to_top, best.h, sizeof best.h);
        invert(best.h, bottom->from_top);
        fit.holes = best.count, fit.mean = best.mean, fit.most = best.most;
    }
    arena_free(scratch);
    return fit;
}
