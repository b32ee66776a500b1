/* From elements to the matrix and its rows. What linear elements give is kept apart and copied in, so that an iteration
 * looks at the others only. */
#include "circuit/inside.h"

typedef struct Charges {
    double q[LOCAL_MOST], c[LOCAL_MOST * LOCAL_MOST];
} Charges;

static inline void clear(double *at, unsigned count) {
    for (unsigned i = 0; i < count; i++) at[i] = 0;
}

/* The change of the element's charges by the rule of integration. */
static void add_change(const Work *work, const Part *part, const Charges *charges, const Local *local) {
    double alpha = work->world.alpha, beta = work->world.beta;
    unsigned k = part->form->k;
    for (unsigned i = 0; i < k; i++)
        local->f[local->row[i]] +=
            alpha * (charges->q[i] - work->q0[part->state + i]) - beta * work->rate0[part->state + i];
    for (unsigned i = 0; i < k * k; i++) local->j[local->slot[i]] += alpha * charges->c[i];
}

/* Adds one element at its local unknowns x. */
static inline void add(const Work *work, const Part *part, Local *local) {
    const Plan *plan = work->plan;
    const Form *form = part->form;
    local->p = work->values + part->parameter, local->k = form->k;
    local->row = &plan->unknowns[part->unknown], local->slot = &plan->slots[part->slot];
    if (!form->dynamic || work->world.alpha == 0) {
        form->evaluate(local);
        return;
    }
    Charges charges;
    clear(charges.q, form->k), clear(charges.c, form->k * form->k);
    local->q = charges.q, local->c = charges.c;
    form->evaluate(local);
    add_change(work, part, &charges, local);
    local->q = local->c = NULL;
}

void stamp_linear(Work *work) {
    static const double ORIGIN[LOCAL_MOST] = {0};
    const Plan *plan = work->plan;
    memset(work->base, 0, ((size_t)plan->entries + SPILL) * sizeof *work->base);
    memset(work->base_f, 0, ((size_t)plan->n + 1) * sizeof *work->base_f);
    Local local = {.x = ORIGIN, .f = work->base_f, .j = work->base, .world = &work->world};
    for (uint32_t i = 0; i < plan->linear_count; i++) add(work, &plan->linear[i], &local);
    for (uint32_t i = 0; i < plan->n; i++) work->base[plan->diagonal[i]] += work->world.shunt;
    work->factored = false;
}

bool stamp(Work *work) {
    const Plan *plan = work->plan;
    memcpy(work->f, work->base_f, (plan->n + 1) * sizeof *work->f);
    for (uint32_t c = 0; c < plan->n; c++) { /* copies what the linear elements give, and adds what it makes of x */
        double x = work->x[c];
        for (int e = plan->column[c]; e < plan->column[c + 1]; e++) {
            double value = work->base[e];
            work->a[e] = value;
            work->f[plan->row[e]] += value * x;
        }
    }
    double x[LOCAL_MOST];
    Local local = {.x = x, .f = work->f, .j = work->a, .world = &work->world};
    for (uint32_t i = 0; i < plan->other_count; i++) {
        const Part *part = &plan->other[i];
        const uint32_t *unknown = &plan->unknowns[part->unknown];
        for (unsigned u = 0; u < part->form->k; u++) x[u] = work->x[unknown[u]];
        local.memory = part->form->memory > 0 ? work->memory + part->memory : NULL;
        add(work, part, &local);
    }
    return !local.limited;
}

const uint32_t LOCAL_ROWS[LOCAL_MOST] = {0, 1, 2, 3, 4, 5};
const int LOCAL_SLOTS[LOCAL_MOST * LOCAL_MOST] = {0,  1,  2,  3,  4,  5,  6,  7,  8,  9,  10, 11, 12, 13, 14, 15, 16, 17,
                                                  18, 19, 20, 21, 22, 23, 24, 25, 26, 27, 28, 29, 30, 31, 32, 33, 34, 35};

void stamp_local(const Work *work, const double *values, uint32_t number, double *f, double *j, double *q, double *c) {
    const Part *part = &work->plan->parts[number];
    unsigned k = part->form->k;
    double x[LOCAL_MOST];
    for (unsigned u = 0; u < k; u++) x[u] = work->x[work->plan->unknowns[part->unknown + u]];
    clear(f, k), clear(j, k * k);
    if (q != NULL) clear(q, k), clear(c, k * k);
    Local local = {values + part->parameter, x, f, j, LOCAL_ROWS, LOCAL_SLOTS, q, c, k, &work->world, NULL, false};
    part->form->evaluate(&local);
}

void stamp_states(Work *work, double *slope) {
    const Plan *plan = work->plan;
    Charges charges;
    double f[LOCAL_MOST], j[LOCAL_MOST * LOCAL_MOST];
    for (uint32_t i = 0; i < plan->dynamic_count; i++) {
        const Part *part = &plan->parts[plan->dynamic[i]];
        unsigned k = part->form->k;
        stamp_local(work, work->values, plan->dynamic[i], f, j, charges.q, charges.c);
        memcpy(work->q + part->state, charges.q, k * sizeof(double));
        for (unsigned r = 0; slope != NULL && r < k; r++) {
            slope[part->state + r] = 0;
            for (unsigned u = 0; u < k; u++) slope[part->state + r] += fabs(charges.c[r * k + u]);
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
