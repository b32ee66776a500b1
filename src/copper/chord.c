/* Widths by looking both ways from a place along several directions, until the probability of copper crosses one half
 * between two looks, half a pixel apart; the crossing is found by straight interpolation. A few hundred looks a chord. */
#include "copper/inside.h"

#include <math.h>

static const double STEP = 0.5; /* pixels between two looks */
static const double HALF = TRACE_COPPER - 0.5;

typedef struct Ray {
    double x, y, dx, dy; /* pixels, of the bordered picture */
    double reach;        /* pixels */
} Ray;

/* The probability at a place between pixel centres, 0 beyond the board. */
static double look(const Trace *trace, double x, double y) {
    x -= 0.5, y -= 0.5;
    if (!(x >= 0 && y >= 0 && x < trace->width + 1 && y < trace->height + 1)) return 0;
    size_t i = (size_t)x, j = (size_t)y;
    const unsigned char *at = trace->copper + j * trace->stride + i;
    double u = x - (double)i, v = y - (double)j;
    return (1 - v) * ((1 - u) * at[0] + u * at[1]) + v * ((1 - u) * at[trace->stride] + u * at[trace->stride + 1]);
}

/* How far until the other side of the edge, pixels; -1 when it isn't in reach. */
static double cast(const Trace *trace, const Ray *ray, double start, bool in_copper) {
    double before = start;
    for (double far = STEP; far <= ray->reach; far += STEP) {
        double now = look(trace, ray->x + far * ray->dx, ray->y + far * ray->dy);
        if ((now >= HALF) != in_copper) return far - STEP + STEP * (HALF - before) / (now - before);
        before = now;
    }
    return -1;
}

static uint32_t kind_of_end(const Trace *trace, const Ray *ray, double far, ChordEnds ends) {
    double x = ray->x + (far + STEP) * ray->dx, y = ray->y + (far + STEP) * ray->dy;
    if (!(x >= 1 && y >= 1 && x < trace->width + 1 && y < trace->height + 1)) return 0;
    uint32_t region = trace->region[(size_t)y * trace->stride + (size_t)x];
    return ends == CHORD_REGIONS || region == 0 ? region : trace->regions.at[region - 1].net;
}

static PlacePoint end_of(const Trace *trace, const Ray *ray, double far) {
    return (PlacePoint){(ray->x + far * ray->dx - 1) / trace->scale, (ray->y + far * ray->dy - 1) / trace->scale};
}

Chord chord_least(const Trace *trace, PlacePoint mm, ChordEnds ends, double reach_mm, unsigned turns) {
    static const double HALF_TURN = 3.14159265358979323846;
    Chord least = {0};
    double x = mm.x * trace->scale + 1, y = mm.y * trace->scale + 1, start = look(trace, x, y);
    bool in_copper = start >= HALF;
    for (unsigned i = 0; i < turns; i++) {
        double turn = HALF_TURN * i / turns, reach = reach_mm * trace->scale;
        if (least.width > 0) reach = fmin(reach, least.width * trace->scale);
        Ray on = {x, y, cos(turn), sin(turn), reach}, back = {x, y, -on.dx, -on.dy, reach};
        double far_on = cast(trace, &on, start, in_copper);
        double far_back = far_on < 0 ? -1 : cast(trace, &back, start, in_copper);
        double width = (far_on + far_back) / trace->scale;
        if (far_back < 0 || (least.width > 0 && width >= least.width)) continue;
        if (!in_copper && ends != CHORD_ANY) {
            uint32_t a = kind_of_end(trace, &on, far_on, ends), b = kind_of_end(trace, &back, far_back, ends);
            if (a == 0 || b == 0 || a == b) continue;
        }
        least = (Chord){fmax(width, 1e-6), end_of(trace, &back, far_back), end_of(trace, &on, far_on), turn};
    }
    return least;
}
