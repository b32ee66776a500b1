/* From elements to the matrix and its rows. What linear elements give is kept apart and copied in, so that an iteration
 * looks at the others only. */
#include "circuit/inside.h"

typedef struct Sums {
    double f[LOCAL_MOST], q[LOCAL_MOST], j[LOCAL_MOST * LOCAL_MOST], c[LOCAL_MOST * LOCAL_MOST];
} Sums;

static inline void clear(double *at, unsigned count) {
    for (unsigned i = 0; i < count; i++) at[i] = 0;
}

/* The element at the local unknowns x, its change of charges added by the rule of integration. */
static inline bool evaluate(const Work *work, const Part *part, const double *x, double *memory, Sums *sums) {
    const Form *form = part->form;
    unsigned k = form->k;
    bool moves = form->dynamic && work->world.alpha > 0;
    clear(sums->f, k), clear(sums->j, k * k);
    if (moves) clear(sums->q, k), clear(sums->c, k * k);
    Local local = {work->values + part->parameter, x, sums->f,      sums->j, moves ? sums->q : NULL,
                   moves ? sums->c : NULL,         k, &work->world, memory,  false};
    form->evaluate(&local);
    if (!moves) return !local.limited;
    double alpha = work->world.alpha, beta = work->world.beta;
    for (unsigned i = 0; i < k; i++)
        sums->f[i] += alpha * (sums->q[i] - work->q0[part->state + i]) - beta * work->rate0[part->state + i];
    for (unsigned i = 0; i < k * k; i++) sums->j[i] += alpha * sums->c[i];
    return !local.limited;
}

/* What belongs to the reference is left out: many elements end there, and each would wait for the one before. */
static inline void scatter(const Work *work, const Part *part, const Sums *sums, double *a, double *f) {
    const Plan *plan = work->plan;
    const Shape *shape = part->shape;
    const uint32_t *unknown = &plan->unknowns[part->unknown];
    const int *slot = &plan->slots[part->slot];
    for (unsigned i = 0; i < part->form->k; i++)
        if (unknown[i] < plan->n) f[unknown[i]] += sums->f[i];
    for (uint32_t i = 0; i < shape->count; i++)
        if (slot[i] < plan->entries) a[slot[i]] += sums->j[shape->at[i]];
}

void stamp_linear(Work *work) {
    static const double ORIGIN[LOCAL_MOST] = {0};
    const Plan *plan = work->plan;
    memset(work->base, 0, ((size_t)plan->entries + 1) * sizeof *work->base);
    memset(work->base_f, 0, ((size_t)plan->n + 1) * sizeof *work->base_f);
    Sums sums;
    for (uint32_t i = 0; i < plan->linear_count; i++) {
        evaluate(work, &plan->linear[i], ORIGIN, NULL, &sums);
        scatter(work, &plan->linear[i], &sums, work->base, work->base_f);
    }
    for (uint32_t i = 0; i < plan->n; i++) work->base[plan->diagonal[i]] += work->world.shunt;
    work->factored = false;
}

bool stamp(Work *work) {
    const Plan *plan = work->plan;
    memcpy(work->f, work->base_f, ((size_t)plan->n + 1) * sizeof *work->f);
    for (uint32_t c = 0; c < plan->n; c++) {
        double x = work->x[c];
        for (int e = plan->column[c]; e < plan->column[c + 1]; e++) {
            work->a[e] = work->base[e];
            work->f[plan->row[e]] += work->base[e] * x;
        }
    }
    bool free = true;
    Sums sums;
    double x[LOCAL_MOST];
    for (uint32_t i = 0; i < plan->other_count; i++) {
        const Part *part = &plan->other[i];
        for (unsigned u = 0; u < part->form->k; u++) x[u] = work->x[plan->unknowns[part->unknown + u]];
        free &= evaluate(work, part, x, part->form->memory > 0 ? work->memory + part->memory : NULL, &sums);
        scatter(work, part, &sums, work->a, work->f);
    }
    return free;
}

void stamp_local(const Work *work, const double *values, uint32_t number, double *f, double *j, double *q, double *c) {
    const Part *part = &work->plan->parts[number];
    unsigned k = part->form->k;
    double x[LOCAL_MOST];
    for (unsigned u = 0; u < k; u++) x[u] = work->x[work->plan->unknowns[part->unknown + u]];
    clear(f, k), clear(j, k * k);
    if (q != NULL) clear(q, k), clear(c, k * k);
    Local local = {values + part->parameter, x, f, j, q, c, k, &work->world, NULL, false};
    part->form->evaluate(&local);
}

void stamp_states(Work *work, double *slope) {
    const Plan *plan = work->plan;
    Sums sums;
    for (uint32_t i = 0; i < plan->dynamic_count; i++) {
        const Part *part = &plan->parts[plan->dynamic[i]];
        unsigned k = part->form->k;
        stamp_local(work, work->values, plan->dynamic[i], sums.f, sums.j, sums.q, sums.c);
        memcpy(work->q + part->state, sums.q, k * sizeof(double));
        for (unsigned r = 0; slope != NULL && r < k; r++) {
            slope[part->state + r] = 0;
            for (unsigned u = 0; u < k; u++) slope[part->state + r] += fabs(sums.c[r * k + u]);
        }
    }
}

void stamp_start(Work *work) {
    const Plan *plan = work->plan;
    memset(work->q, 0, plan->states * sizeof *work->q);
    for (uint32_t i = 0; i < plan->dynamic_count; i++) {
        const Part *part = &plan->parts[plan->dynamic[i]];
        if (part->form->start != NULL) part->form->start(work->values + part->parameter, work->q + part->state);
    }
}
