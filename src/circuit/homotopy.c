/* The state of rest when Newton's method alone doesn't find it: first a conductance from every node to the reference,
 * lowered until it is gone; then the sources, raised from nothing. L. W. Nagel, ERL-M520, 1975, and later practice (from
 * memory). */
#include "circuit/inside.h"

enum { ALONE = 60, EACH = 40, ROUNDS = 60 };

static const double SHUNT_FIRST = 1e-1, SHUNT_LAST = 1e-13; /* S */

static Newton at_shunt(Work *work, double leak, double shunt, unsigned most) {
    work->world.shunt = leak + shunt;
    stamp_linear(work);
    return newton(work, most);
}

/* Keeps the last answer in `kept`, size n + 1, to go back to when a stride was too long. */
static Newton lower_shunt(Work *work, double leak, double *kept) {
    size_t bytes = (work->plan->n + 1) * sizeof *kept;
    double shunt = SHUNT_FIRST, factor = 10;
    Newton end = at_shunt(work, leak, shunt, ALONE);
    for (unsigned round = 0; end == NEWTON_DONE && shunt > 0 && round < ROUNDS; round++) {
        memcpy(kept, work->x, bytes);
        double next = shunt / factor > SHUNT_LAST ? shunt / factor : 0;
        end = at_shunt(work, leak, next, EACH);
        if (end == NEWTON_DONE) {
            shunt = next, factor = fmin(factor * factor, 100);
        } else if (factor > 1.05) {
            memcpy(work->x, kept, bytes);
            newton_trust(work);
            factor = sqrt(factor), end = NEWTON_DONE;
        }
    }
    return end == NEWTON_DONE && shunt > 0 ? NEWTON_TIRED : end;
}

static Newton raise_sources(Work *work, double *kept) {
    size_t bytes = (work->plan->n + 1) * sizeof *kept;
    double scale = 0, stride = 0.1;
    Newton end = NEWTON_DONE;
    memcpy(kept, work->x, bytes);
    for (unsigned round = 0; scale < 1 && round < ROUNDS; round++) {
        work->world.scale = fmin(scale + stride, 1);
        stamp_linear(work);
        end = newton(work, EACH);
        if (end == NEWTON_DONE) {
            scale = work->world.scale, stride *= 2;
            memcpy(kept, work->x, bytes);
        } else {
            memcpy(work->x, kept, bytes);
            newton_trust(work);
            stride /= 4;
        }
    }
    work->world.scale = 1;
    return scale < 1 ? (end == NEWTON_DONE ? NEWTON_TIRED : end) : NEWTON_DONE;
}

Newton rest_find(Work *work) {
    double leak = work->world.shunt;
    Arena *scratch = arena_new();
    double *kept = arena_many(scratch, double, work->plan->n + 1);
    stamp_linear(work);
    Newton end = newton(work, ALONE);
    if (end != NEWTON_DONE && work->has_answer) { /* that start was no help */
        newton_forget(work);
        end = newton(work, ALONE);
    }
    if (end != NEWTON_DONE && work->plan->other_count > 0) {
        newton_forget(work);
        end = lower_shunt(work, leak, kept);
        work->world.shunt = leak;
    }
    if (end != NEWTON_DONE && work->plan->other_count > 0) {
        newton_forget(work);
        end = raise_sources(work, kept);
    }
    stamp_linear(work);
    work->has_answer = end == NEWTON_DONE;
    arena_free(scratch);
    return end;
}
