/* Through time. The trapezoidal rule, with the step set by the local truncation error of every charge and flux, estimated
 * from divided differences of its last values; after a corner of a source the past says nothing, so that two short steps of
 * backward Euler begin anew. L. W. Nagel, ERL-M520, 1975 (from memory). Steps are bounded in number, and each by Newton's
 * limit. */
#include "circuit/inside.h"

enum { PAST = 3, STEPS = 25, STEPS_MOST = 1000000, STEPS_A_RUN = 50, STEPS_A_SINE = 24 };

static const double TOLERANCE = 1e-4;
static const double FIRST = 1e-3; /* the first step after a corner, as a share of the one before it or of the way ahead */
static const double SHORTEST = 1e-13; /* of the run */
static const double UNIT = 1e-6;      /* V, A, rad/s: what smaller charges and fluxes stand for doesn't count */
static const double SAFETY = 0.9, GROW = 2, SHRINK = 0.1;

typedef struct Course {
    CircuitSolver *solver;
    Work *work;
    const CircuitRun *run;
    Arena *scratch;
    double seconds, step, last_step, corner; /* corner: the next one */
    unsigned points;                         /* since the last corner, itself included */
    double *past[PAST], past_seconds[PAST];  /* states, the newest first */
    double *most, *small;                    /* of each state: its largest value so far; what doesn't count */
    double *x, *x_before;                    /* unknowns at the last two points */
    uint32_t *timed, timed_count;            /* elements with corners */
} Course;

static double step_most(const Course *course) {
    return course->run->step_most > 0 ? course->run->step_most : course->run->until / STEPS_A_RUN;
}

static void list_timed(Course *course) {
    const Plan *plan = course->work->plan;
    course->timed = arena_many(course->scratch, uint32_t, plan->circuit->elements.count);
    for (uint32_t e = 0; e < plan->circuit->elements.count; e++) {
        const double *p = course->work->values + plan->parts[e].parameter;
        CircuitKind kind = plan->circuit->elements.at[e].kind;
        bool moves = (kind == CIRCUIT_PIN && p[PIN_STATE] == PIN_SWITCHING) ||
                     ((kind == CIRCUIT_VOLTAGE || kind == CIRCUIT_CURRENT) && p[SOURCE_WAVE] != SOURCE_CONSTANT);
        if (moves) course->timed[course->timed_count++] = e;
    }
}

/* The next corner, and the longest step that still follows every sine. */
static double find_corner(const Course *course, double *longest) {
    const Plan *plan = course->work->plan;
    double soonest = INFINITY;
    *longest = step_most(course);
    for (uint32_t i = 0; i < course->timed_count; i++) {
        const double *p = course->work->values + plan->parts[course->timed[i]].parameter;
        bool pin = plan->circuit->elements.at[course->timed[i]].kind == CIRCUIT_PIN;
        soonest = fmin(soonest, pin ? pin_next(p, course->seconds) : wave_next(p, course->seconds));
        if (!pin && p[SOURCE_WAVE] == SOURCE_SINE && p[SOURCE_FREQUENCY] > 0)
            *longest = fmin(*longest, 1 / (STEPS_A_SINE * p[SOURCE_FREQUENCY]));
    }
    return soonest;
}

static Course course_new(CircuitSolver *solver, const CircuitRun *run) {
    Course course = {.solver = solver, .work = &solver->work, .run = run, .scratch = arena_new()};
    const Plan *plan = solver->plan;
    for (unsigned i = 0; i < PAST; i++) course.past[i] = arena_many(course.scratch, double, plan->states);
    course.most = arena_many(course.scratch, double, plan->states),
    course.small = arena_many(course.scratch, double, plan->states);
    course.x = arena_many(course.scratch, double, plan->n + 1),
    course.x_before = arena_many(course.scratch, double, plan->n + 1);
    list_timed(&course);
    return course;
}

/* Where the run begins: at rest, or with the charges that the elements say, held there by a very short step. */
static Newton begin(Course *course) {
    Work *work = course->work;
    Newton end = NEWTON_DONE;
    work->world.time = 0, work->world.middle = -1;
    if (course->run->from_rest) {
        static const double MOMENT = 1e-9; /* of the run */
        newton_forget(work);
        work->world.shunt = course->solver->options.leak;
        stamp_start(work);
        memcpy(work->q0, work->q, work->plan->states * sizeof *work->q);
        memset(work->rate0, 0, work->plan->states * sizeof *work->rate0);
        memset(work->rate, 0, work->plan->states * sizeof *work->rate);
        work->world.alpha = 1 / (MOMENT * course->run->until), work->world.beta = 0;
        end = rest_find(work);
        stamp_states(work, course->small);
        for (uint32_t s = 0; s < work->plan->states; s++) work->rate[s] = work->world.alpha * (work->q[s] - work->q0[s]);
    } else {
        stamp_states(work, course->small);
    }
    for (uint32_t s = 0; s < work->plan->states; s++) course->small[s] *= UNIT, course->most[s] = fabs(work->q[s]);
    memcpy(course->x, work->x, (work->plan->n + 1) * sizeof *course->x);
    memcpy(course->past[0], work->q, work->plan->states * sizeof *work->q);
    course->past_seconds[0] = 0, course->points = 1;
    return end;
}

/* Unknowns ahead on a straight line, where there is a past to draw it through. */
static void predict(Course *course, double step) {
    double ahead = course->points > 1 ? step / course->last_step : 0;
    for (uint32_t i = 0; i < course->work->plan->n; i++)
        course->work->x[i] = course->x[i] + ahead * (course->x[i] - course->x_before[i]);
}

static Newton attempt(Course *course, double step) {
    Work *work = course->work;
    bool trapezoid = course->points >= PAST;
    memcpy(work->q0, course->past[0], work->plan->states * sizeof *work->q0);
    memcpy(work->rate0, work->rate, work->plan->states * sizeof *work->rate0);
    work->world.time = course->seconds + step, work->world.middle = course->seconds + step / 2;
    work->world.alpha = (trapezoid ? 2 : 1) / step, work->world.beta = trapezoid;
    predict(course, step);
    newton_trust(work);
    stamp_linear(work);
    Newton end = newton(work, STEPS);
    if (end != NEWTON_DONE && course->points > 1) { /* the line may have led astray */
        memcpy(work->x, course->x, (work->plan->n + 1) * sizeof *work->x);
        newton_trust(work);
        end = newton(work, STEPS);
    }
    return end;
}

/* The local truncation error over what is tolerated, the worst of all states. Backward Euler: step^2 / 2 Q'', trapezoidal:
 * step^3 / 12 Q'''; a k-th derivative is k! times the k-th divided difference. */
static double error_of(const Course *course, double step, double tolerance) {
    const double t[] = {course->seconds + step, course->past_seconds[0], course->past_seconds[1], course->past_seconds[2]};
    double worst = 0;
    for (uint32_t s = 0; s < course->work->plan->states; s++) {
        double a = course->work->q[s], b = course->past[0][s], c = course->past[1][s];
        double ab = (a - b) / (t[0] - t[1]), bc = (b - c) / (t[1] - t[2]), abc = (ab - bc) / (t[0] - t[2]);
        double error = step * step * fabs(abc);
        if (course->points >= PAST) {
            double d = course->past[2][s], cd = (c - d) / (t[2] - t[3]), bcd = (bc - cd) / (t[1] - t[3]);
            error = step * step * step / 2 * fabs((abc - bcd) / (t[0] - t[3]));
        }
        double allowed = tolerance * fmax(course->most[s], fabs(a)) + course->small[s];
        if (allowed > 0) worst = fmax(worst, error / allowed);
    }
    return worst;
}

static void accept(Course *course, double step) {
    Work *work = course->work;
    double *oldest = course->past[PAST - 1];
    for (unsigned i = PAST - 1; i > 0; i--)
        course->past[i] = course->past[i - 1], course->past_seconds[i] = course->past_seconds[i - 1];
    course->past[0] = oldest;
    memcpy(oldest, work->q, work->plan->states * sizeof *oldest);
    double *x = course->x_before;
    course->x_before = course->x, course->x = x;
    memcpy(x, work->x, (work->plan->n + 1) * sizeof *x);
    for (uint32_t s = 0; s < work->plan->states; s++) course->most[s] = fmax(course->most[s], fabs(work->q[s]));
    course->seconds += step, course->past_seconds[0] = course->seconds, course->last_step = step;
    course->points++;
}

static void rates(Work *work) {
    for (uint32_t s = 0; s < work->plan->states; s++)
        work->rate[s] = work->world.alpha * (work->q[s] - work->q0[s]) - work->world.beta * work->rate0[s];
}

/* One accepted point. False: *end says why none was found. `least`: no step is shorter. */
static bool advance(Course *course, double least, double tolerance, Newton *end) {
    double longest, corner = find_corner(course, &longest), stop = fmin(corner, course->run->until), step;
    if (course->points == 1) course->step = fmin(fmin(course->step, longest), stop - course->seconds) * FIRST;
    for (;;) {
        step = fmax(fmin(course->step, longest), least);
        bool reaches = course->seconds + step >= stop - least;
        if (reaches)
            step = stop - course->seconds;
        else if (course->seconds + 2 * step > stop)
            step = (stop - course->seconds) / 2;
        *end = attempt(course, step);
        if (*end != NEWTON_DONE) {
            memcpy(course->work->rate, course->work->rate0, course->work->plan->states * sizeof(double));
            if (step <= 2 * least) return false;
            course->step = step / 8;
            continue;
        }
        stamp_states(course->work, NULL);
        double error = course->points >= 2 ? error_of(course, step, tolerance) : 0;
        double factor = error > 0 ? SAFETY * pow(error, course->points >= PAST ? -1.0 / 3 : -0.5) : GROW;
        if (error > 1 && step > 2 * least) {
            course->step = step * fmin(fmax(factor, SHRINK), SAFETY);
            continue;
        }
        rates(course->work);
        accept(course, step);
        course->step = step * fmin(fmax(factor, SHRINK), GROW);
        if (reaches && stop == corner) course->points = 1, course->seconds = course->past_seconds[0] = corner;
        return true;
    }
}

static void too_slow(Course *course, CircuitFault *fault) {
    *fault = (CircuitFault){.trouble = CIRCUIT_TOO_SLOW};
    fault->message = text_fmt(course->solver->arena, "the run took all its steps before its end: %.4g s of %.4g s",
                              course->seconds, course->run->until);
    fault->hint = TEXT("ask for a shorter run, or leave out what is much faster than the rest");
}

static bool follow(Course *course, CircuitFault *fault) {
    const CircuitRun *run = course->run;
    uint32_t most = run->steps_most > 0 ? run->steps_most : STEPS_MOST;
    double least = SHORTEST * run->until, tolerance = run->tolerance > 0 ? run->tolerance : TOLERANCE;
    course->step = step_most(course);
    for (uint32_t taken = 0; run->watch == NULL || run->watch(run->context, course->solver, course->seconds); taken++) {
        Newton end;
        if (course->seconds >= run->until - least) return true;
        if (taken >= most) {
            too_slow(course, fault);
            return false;
        }
        if (!advance(course, least, tolerance, &end)) {
            fault_newton(course->solver, end, fault);
            return false;
        }
    }
    return true;
}

bool circuit_run(CircuitSolver *solver, CircuitRun run, CircuitFault *fault) {
    *fault = (CircuitFault){0};
    if (!(run.until > 0) || !isfinite(run.until)) {
        *fault = (CircuitFault){.trouble = CIRCUIT_BAD_VALUE,
                                .message = TEXT("a run must last more than 0 s, and end"),
                                .hint = TEXT("say how long")};
        return false;
    }
    if (!run.from_rest && !solver->work.has_answer && !circuit_solve(solver, fault)) return false;
    Course course = course_new(solver, &run);
    Newton end = begin(&course);
    if (end != NEWTON_DONE) fault_newton(solver, end, fault);
    bool fine = end == NEWTON_DONE && follow(&course, fault);
    solver->work.has_answer = false;
    arena_free(course.scratch);
    return fine;
}
