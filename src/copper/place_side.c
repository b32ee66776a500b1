/* One straight side to a fraction of a pixel: colour profiles across it, the steepest places of each, the line that most of
 * them agree on (RANSAC: lines through two of them, drawn by a fixed sequence), then least squares over those near it. What
 * runs beside an edge (silkscreen, the wall of the board, lines of a mat) gives steep places too, but few of them on one
 * line. */
#include "copper/place_inside.h"

#include <math.h>

enum { PROFILE_MOST = 161 /* steps across */, PEAKS = 8 /* of one profile */, TRIES = 600, LINES = 8 };
static const double ENDS = 0.04;                /* of the side left out at both corners, where the next side comes in */
static const double NEAR = 1.5;                 /* units from the line */
static const float LEAST_STEP = 12;             /* of colour, 0..442: below it nothing is told from noise */
static const double ENOUGH = 0.45;              /* of the profiles on the line */
static const double SCORE_SHARE = 0.4;          /* of the first line's score: what is much weaker is chance */
static const double INWARD = 3.5, BOUNDS = 0.5; /* units inward of a line, and at what share of it something lies there */
static const float PEAK_SHARE = 0.12f;          /* of the strongest peak of a profile */

typedef struct Peak {
    float offset, strength; /* pixels, positive: outward */
} Peak;

typedef struct Line { /* offset = a + b along */
    double a, b, score;
} Line;

typedef struct Profiles {
    PlacePoint base[SIDE_POINTS]; /* on the line */
    Peak peaks[SIDE_POINTS][PEAKS];
    double along[SIDE_POINTS]; /* 0..1 */
} Profiles;

static void colour_at(const Photo *photo, double x, double y, float rgb[3]) {
    double fx = fmin(fmax(x - 0.5, 0), photo->width - 1.001), fy = fmin(fmax(y - 0.5, 0), photo->height - 1.001);
    if (!(fx >= 0 && fy >= 0)) fx = fy = 0; /* a photo one pixel wide */
    size_t ix = (size_t)fx, iy = (size_t)fy, right = ix + 1 < photo->width ? 3 : 0;
    size_t below = iy + 1 < photo->height ? (size_t)photo->width * 3 : 0;
    float u = (float)(fx - (double)ix), v = (float)(fy - (double)iy);
    const unsigned char *p = photo->rgb + 3 * (iy * photo->width + ix);
    for (size_t c = 0; c < 3; c++) {
        float top = (float)p[c] * (1 - u) + (float)p[c + right] * u;
        float low = (float)p[c + below] * (1 - u) + (float)p[c + below + right] * u;
        rgb[c] = top * (1 - v) + low * v;
    }
}

/* Unit vectors along the side and outward (the inside lies to the right of from -> to on the screen). */
static double directions(const Side *side, PlacePoint *along, PlacePoint *out) {
    double x = side->to.x - side->from.x, y = side->to.y - side->from.y, length = hypot(x, y);
    *along = (PlacePoint){x / length, y / length};
    *out = (PlacePoint){y / length, -x / length};
    return length;
}

/* The colours across at one place, each the mean of three beside each other along the side. */
static void read_profile(const Photo *photo, PlacePoint base, PlacePoint along, PlacePoint out, double unit, int half,
                         float (*colour)[3]) {
    for (int k = -half; k <= half; k++) {
        float *sum = colour[k + half], one[3];
        sum[0] = sum[1] = sum[2] = 0;
        for (int j = -1; j <= 1; j++) {
            double x = base.x + out.x * k * unit + along.x * j * unit, y = base.y + out.y * k * unit + along.y * j * unit;
            colour_at(photo, x, y, one);
            for (int c = 0; c < 3; c++) sum[c] += one[c] / 3;
        }
    }
}

/* Steepness: the colour step between 1.5 units inward and outward, in the middle of each interval of three. */
static void find_steps(float (*colour)[3], int count, float *step) {
    for (int k = 0; k < count; k++) {
        int a = k < 2 ? 0 : k - 2, b = k + 2 > count - 1 ? count - 1 : k + 2;
        float sum = 0;
        for (int c = 0; c < 3; c++) {
            float d =
                (colour[b][c] + colour[b > 0 ? b - 1 : 0][c] - colour[a][c] - colour[a + 1 < count ? a + 1 : a][c]) / 2;
            sum += d * d;
        }
        step[k] = sqrtf(sum);
    }
}

/* The strongest local maxima, placed between steps by a parabola. */
static void find_peaks(const float *step, int count, double unit, Peak peaks[PEAKS]) {
    int half = count / 2;
    for (int i = 0; i < PEAKS; i++) peaks[i] = (Peak){0, 0};
    for (int k = 1; k + 1 < count; k++) {
        float before = step[k - 1], here = step[k], after = step[k + 1];
        if (here < LEAST_STEP || here < before || here <= after) continue;
        float bend = before - 2 * here + after, shift = bend < 0 ? 0.5f * (before - after) / bend : 0;
        Peak peak = {(float)((k - half + (double)shift) * unit), here};
        for (int i = 0; i < PEAKS; i++) { /* kept in falling order */
            if (peak.strength <= peaks[i].strength) continue;
            Peak kept = peaks[i];
            peaks[i] = peak;
            peak = kept;
        }
    }
    for (int i = 1; i < PEAKS; i++)
        if (peaks[i].strength < PEAK_SHARE * peaks[0].strength) peaks[i].strength = 0;
}

static void read_profiles(const Photo *photo, const Side *side, double unit, double reach, Profiles *profiles) {
    float colour[PROFILE_MOST][3], step[PROFILE_MOST];
    int half = (int)fmin(ceil(reach / unit) + 2, PROFILE_MOST / 2);
    PlacePoint along, out;
    double length = directions(side, &along, &out);
    for (int i = 0; i < SIDE_POINTS; i++) {
        profiles->along[i] = ENDS + (1 - 2 * ENDS) * (i + 0.5) / SIDE_POINTS;
        double at = profiles->along[i] * length;
        profiles->base[i] = (PlacePoint){side->from.x + along.x * at, side->from.y + along.y * at};
        read_profile(photo, profiles->base[i], along, out, unit, half, colour);
        find_steps(colour, 2 * half + 1, step);
        find_peaks(step, 2 * half + 1, unit, profiles->peaks[i]);
    }
}

/* offset = a + b along. Returns the peak of a profile nearest to it within `near`, or NULL. */
static const Peak *peak_on(const Profiles *profiles, int i, double a, double b, double near) {
    const Peak *best = NULL;
    double want = a + b * profiles->along[i];
    for (int k = 0; k < PEAKS; k++) {
        const Peak *peak = &profiles->peaks[i][k];
        if (peak->strength == 0 || fabs(peak->offset - want) > near) continue;
        if (best == NULL || peak->strength > best->strength) best = peak;
    }
    return best;
}

static double agreement(const Profiles *profiles, double a, double b, double near) {
    double sum = 0;
    for (int i = 0; i < SIDE_POINTS; i++) {
        const Peak *peak = peak_on(profiles, i, a, b, near);
        if (peak != NULL)
            sum += fmin(peak->strength, 60) + 10; /* strong enough is strong enough: print must not outvote the edge */
    }
    return sum;
}

static bool refit(const Profiles *profiles, double near, Line *line) {
    double s = 0, st = 0, stt = 0, so = 0, sto = 0;
    for (int i = 0; i < SIDE_POINTS; i++) {
        const Peak *peak = peak_on(profiles, i, line->a, line->b, near);
        if (peak == NULL) continue;
        double t = profiles->along[i];
        s += 1, st += t, stt += t * t, so += peak->offset, sto += t * peak->offset;
    }
    double under = s * stt - st * st;
    if (!(under > 1e-6)) return false;
    line->b = (s * sto - st * so) / under;
    line->a = (so - line->b * st) / s;
    return true;
}

/* The line that most profiles agree on, among those whose middle lies within low..high. */
static bool agree(const Profiles *profiles, double near, double low, double high, double slope, Line *line) {
    double best = 0;
    uint32_t draw = 1;
    for (int i = 0; i < TRIES; i++) {
        int at[2];
        const Peak *peak[2];
        for (int k = 0; k < 2; k++) {             /* one of each half */
            draw = draw * 1664525u + 1013904223u; /* Numerical Recipes' quick generator */
            at[k] = (int)(draw >> 8) % (SIDE_POINTS / 2) + k * SIDE_POINTS / 2;
            draw = draw * 1664525u + 1013904223u;
            peak[k] = &profiles->peaks[at[k]][(draw >> 8) % PEAKS];
        }
        if (peak[0]->strength == 0 || peak[1]->strength == 0 || at[1] - at[0] < SIDE_POINTS / 4) continue;
        double turn = (peak[1]->offset - peak[0]->offset) / (profiles->along[at[1]] - profiles->along[at[0]]);
        double start = peak[0]->offset - turn * profiles->along[at[0]], middle = start + turn / 2;
        if (middle < low || middle > high || fabs(turn) > slope) continue;
        double score = agreement(profiles, start, turn, near);
        if (score <= best) continue;
        best = score;
        *line = (Line){start, turn, score};
    }
    return best > 0 && refit(profiles, 1.5 * near, line) && refit(profiles, near, line);
}

/* Puts the side on the line and its points with it. */
static void settle(const Profiles *profiles, double near, double a, double b, Side *side) {
    PlacePoint along, out;
    directions(side, &along, &out);
    int on = 0;
    for (int i = 0; i < SIDE_POINTS; i++) {
        const Peak *peak = peak_on(profiles, i, a, b, near);
        side->strength[i] = peak == NULL ? 0 : peak->strength;
        double offset = peak == NULL ? a + b * profiles->along[i] : peak->offset;
        side->at[i] = (PlacePoint){profiles->base[i].x + out.x * offset, profiles->base[i].y + out.y * offset};
        on += peak != NULL;
    }
    side->from = (PlacePoint){side->from.x + out.x * a, side->from.y + out.y * a};
    side->to = (PlacePoint){side->to.x + out.x * (a + b), side->to.y + out.y * (a + b)};
    side->seen = (double)on / SIDE_POINTS;
}

/* Share of the points at which what lies inward is not background: near 0 for the rim of a shadow and the lines of a mat.
 */
static double bounds_something(const Photo *photo, const Ground *ground, double unit, const Side *side) {
    PlacePoint along, out;
    directions(side, &along, &out);
    int yes = 0, all = 0;
    for (int i = 0; i < SIDE_POINTS; i++) {
        if (side->strength[i] == 0) continue;
        float rgb[3];
        double x = side->at[i].x - out.x * INWARD * unit, y = side->at[i].y - out.y * INWARD * unit;
        colour_at(photo, x, y, rgb);
        yes += !ground_holds(ground, 2 * x / photo->width - 1, 2 * y / photo->height - 1, rgb);
        all++;
    }
    return all == 0 ? 0 : (double)yes / all;
}

int side_find(const Photo *photo, const Ground *ground, double unit, double reach, const Side *near_side,
              Side found[SIDE_LINES]) {
    Profiles profiles;
    double near = NEAR * unit, first = 0;
    int count = 0;
    read_profiles(photo, near_side, unit, reach, &profiles);
    for (int k = 0; k < LINES && count < SIDE_LINES;
         k++) { /* one line after the other, each with its peaks taken from the next */
        Line line;
        if (!agree(&profiles, near, -reach, reach, 1.5 * reach, &line)) break;
        Side side = *near_side;
        settle(&profiles, 2 * near, line.a, line.b, &side);
        side.score = line.score;
        for (int i = 0; i < SIDE_POINTS; i++) {
            const Peak *peak = peak_on(&profiles, i, line.a, line.b, near);
            if (peak != NULL) profiles.peaks[i][peak - profiles.peaks[i]].strength = 0;
        }
        if (side.seen < ENOUGH || side.score < SCORE_SHARE * first) continue;
        if (ground != NULL && bounds_something(photo, ground, unit, &side) < BOUNDS) continue;
        if (count == 0) first = side.score;
        found[count++] = side;
    }
    return count;
}

double side_offset(const Side *side, const Side *from) {
    PlacePoint along, out;
    directions(from, &along, &out);
    return ((side->from.x + side->to.x - from->from.x - from->to.x) * out.x +
            (side->from.y + side->to.y - from->from.y - from->to.y) * out.y) /
           2;
}

bool side_meet(const Side *a, const Side *b, PlacePoint *at) {
    double ax = a->to.x - a->from.x, ay = a->to.y - a->from.y, bx = b->to.x - b->from.x, by = b->to.y - b->from.y;
    double under = ax * by - ay * bx;
    if (!(fabs(under) > 1e-3 * hypot(ax, ay) * hypot(bx, by))) return false;
    double t = ((b->from.x - a->from.x) * by - (b->from.y - a->from.y) * bx) / under;
    *at = (PlacePoint){a->from.x + t * ax, a->from.y + t * ay};
    return true;
}
