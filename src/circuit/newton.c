/* Newton's method: equations and tangents at x, the step to where the tangents vanish, until the step is small. Junctions
 * are limited by their own rule (junction.c); when the unknown that moved most goes back and forth all the same, steps are
 * cut. A step is checked against the matrix when it doesn't follow from the one before, and when the answer rests on it. */
#include "circuit/inside.h"

static const double SHARE = 1e-7; /* of an unknown: the last step left out would be its square */
/* A step below these is none: volts, amperes, and what other inner unknowns count. */
static const double VOLTS = 1e-9, AMPERES = 1e-12, OTHER = 1e-9;
enum { PATIENCE = 8 /* steps before one that goes back is cut */ };
static const double SHORTEST = 1.0 / 64;

/* The largest step in units of what counts as none, and where; NAN and infinity come out as infinity. */
static double stride(const Work *work, uint32_t *where) {
    const Plan *plan = work->plan;
    double most = 0;
    for (uint32_t i = 0; i < plan->n; i++) {
        double none = SHARE * fabs(work->x[i]) + (plan->sorts[i] == 'v' ? VOLTS : plan->sorts[i] == 'i' ? AMPERES : OTHER);
        double step = fabs(work->dx[i]);
        if (!(step <= most * none)) most = isnan(step) ? INFINITY : step / none, *where = i;
    }
    return most;
}

static bool factor(Work *work) {
    if (work->factored) return true;
    if (!matrix_factor(work)) return false;
    work->factored = work->plan->other_count == 0;
    return true;
}

/* dx and its stride, with pivots that serve. */
static bool find_step(Work *work, double before, double *now, uint32_t *where) {
    matrix_solve(work);
    *now = stride(work, where);
    if (*now > 1 && *now < before / 2) return true;
    if (!matrix_check(work)) return false;
    *now = stride(work, where);
    return true;
}

Newton newton(Work *work, unsigned most) {
    double before = INFINITY, part = 1, moved = 0;
    uint32_t where = 0;
    for (unsigned step = 0; step < most && (work->iterations_end == 0 || work->iterations < work->iterations_end); step++) {
        bool free = stamp(work);
        work->iterations++;
        double now, back = 0;
        uint32_t last = where;
        if (!factor(work) || !find_step(work, before, &now, &where)) return NEWTON_SINGULAR;
        if (isinf(now)) return NEWTON_WILD;
        if (work->plan->n > 0) back = -work->dx[last] * moved;
        part = step > PATIENCE && back > moved * moved / 4 ? fmax(part / 2, SHORTEST) : fmin(2 * part, 1);
        before = now, moved = work->dx[where];
        for (uint32_t i = 0; i < work->plan->n; i++) work->x[i] += part * work->dx[i];
        if (free && part == 1 && now <= 1) return newton_finite(work) ? NEWTON_DONE : NEWTON_WILD;
    }
    return NEWTON_TIRED;
}

bool newton_finite(const Work *work) {
    for (uint32_t i = 0; i < work->plan->n; i++)
        if (!isfinite(work->x[i])) return false;
    return true;
}

void newton_forget(Work *work) {
    for (uint32_t i = 0; i < work->plan->memory; i++) work->memory[i] = 0;
    memset(work->x, 0, (work->plan->n + 1) * sizeof *work->x);
    work->has_answer = false;
}

void newton_trust(Work *work) {
    for (uint32_t i = 0; i < work->plan->memory; i++) work->memory[i] = NAN;
}
