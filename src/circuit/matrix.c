/* The sparse equations, by SuiteSparse KLU (T. A. Davis, E. Palamadai Natarajan, ACM Trans. Math. Software 37, 2010):
 * analysed once a circuit, pivoted once a solver, after that refactored with the same pivots for as long as they serve.
 *
 * KLU's scaling of rows is left out: it takes a third of a small circuit's factorisation, and what it guards against is
 * looked for where it counts (matrix_check: pivots are chosen anew when a solution doesn't solve). */
#include "circuit/inside.h"

static bool factor_anew(Work *work) {
    const Plan *plan = work->plan;
    if (work->numeric != NULL) klu_free_numeric(&work->numeric, &work->common);
    work->numeric = klu_factor(plan->column, plan->row, work->a, plan->symbolic, &work->common);
    if (work->numeric == NULL) work->singular = work->common.singular_col;
    return work->numeric != NULL;
}

bool matrix_factor(Work *work) {
    const Plan *plan = work->plan;
    if (plan->n == 0) return true;
    if (work->numeric == NULL) return factor_anew(work);
    return klu_refactor(plan->column, plan->row, work->a, plan->symbolic, work->numeric, &work->common) ||
           factor_anew(work);
}

void matrix_solve(Work *work) {
    uint32_t n = work->plan->n;
    if (n == 0) return;
    for (uint32_t i = 0; i < n; i++) work->dx[i] = -work->f[i];
    klu_solve(work->plan->symbolic, work->numeric, (int)n, 1, work->dx, &work->common);
}

/* Whether A dx = -f to within a share of f's largest row; a NAN is not. */
static bool solved(const Work *work, double *left) {
    static const double SHARE = 1e-6;
    const Plan *plan = work->plan;
    double most = 0, worst = 0;
    for (uint32_t i = 0; i < plan->n; i++) left[i] = work->f[i], most = fmax(most, fabs(work->f[i]));
    for (uint32_t c = 0; c < plan->n; c++) {
        double x = work->dx[c];
        for (int e = plan->column[c]; e < plan->column[c + 1]; e++) left[plan->row[e]] += work->a[e] * x;
    }
    for (uint32_t i = 0; i < plan->n; i++) worst = fabs(left[i]) <= worst ? worst : fabs(left[i]);
    return worst <= SHARE * most;
}

bool matrix_check(Work *work) {
    if (work->plan->n == 0 || solved(work, work->left)) return true;
    if (!factor_anew(work)) return false;
    matrix_solve(work);
    return true;
}

bool matrix_solve_transposed(Work *work, double *b) {
    if (work->plan->n == 0) return true;
    return klu_tsolve(work->plan->symbolic, work->numeric, (int)work->plan->n, 1, b, &work->common) != 0;
}
