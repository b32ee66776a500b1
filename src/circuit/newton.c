/* Newton's method: equations and tangents at x, the step to where the tangents vanish, until the step is small. Junctions are
 * limited by their own rule (junction.c); when steps stop shrinking all the same they are cut short. */
#include "circuit/inside.h"

static const double SHARE = 1e-7; /* of an unknown: the last step left out would be its square */
/* A step below these is none: volts, amperes, and what other inner unknowns count. */
static const double VOLTS = 1e-9, AMPERES = 1e-12, OTHER = 1e-9;
enum { PATIENCE = 10 /* steps before a stride that grows is cut */ };
static const double SHORTEST = 1.0 / 64;

/* The largest step in units of what counts as none; NAN and infinity come out as infinity. */
static double stride(const Work *work) {
    const Plan *plan = work->plan;
    double most = 0;
    for (uint32_t i = 0; i < plan->n; i++) {
        double none = SHARE * fabs(work->x[i]) + (plan->sorts[i] == 'v' ? VOLTS : plan->sorts[i] == 'i' ? AMPERES : OTHER);
        double step = fabs(work->dx[i]) / none;
        if (!(step <= most)) most = isnan(step) ? INFINITY : step;
    }
    return most;
}

static bool factor(Work *work) {
    if (work->factored) return true;
    if (!matrix_factor(work)) return false;
    work->factored = work->plan->other_count == 0;
    return true;
}

Newton newton(Work *work, unsigned most) {
    double before = INFINITY, part = 1;
    for (unsigned step = 0; step < most; step++) {
        bool free = stamp(work);
        work->iterations++;
        if (!factor(work) || !matrix_step(work)) return NEWTON_SINGULAR;
        double now = stride(work);
        if (isinf(now)) return NEWTON_WILD;
        part = step > PATIENCE && now > before / 2 ? fmax(part / 2, SHORTEST) : fmin(2 * part, 1);
        before = now;
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
