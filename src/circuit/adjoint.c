/* What results hang on. With F(x, p) = 0 solved and a result y(x, p), one vector z of the transposed equations
 * J' z = dy/dx gives every derivative: dy/dp = (dy/dp at fixed x) - z' dF/dp. An element's own dF/dp comes by central
 * differences of its few rows, once for all results; with steps of 1e-5 of p their error is about 1e-10 of the derivative.
 */
#include "circuit/inside.h"

static const double STEP = 1e-5;
static const double STEP_OF_ZERO = 1e-6; /* of the kind's usual value, or of 1, for a parameter that is 0 */

struct CircuitTangent {
    CircuitSolver *solver;
    const CircuitVary *vary;
    uint32_t count;
    double *rows; /* count x LOCAL_MOST: dF/dp of the parameter's element */
    double *z;    /* size n + 1 */
};

CircuitTangent *circuit_tangent_new(Arena *arena, CircuitSolver *solver, const CircuitVary *vary, uint32_t count) {
    CircuitTangent *tangent = arena_one(arena, CircuitTangent);
    *tangent = (CircuitTangent){.solver = solver, .vary = vary, .count = count};
    tangent->rows = arena_many(arena, double, (size_t)count *LOCAL_MOST + 1);
    tangent->z = arena_many(arena, double, solver->plan->n + 1);
    return tangent;
}

static double step_for(const Circuit *circuit, CircuitVary vary, double value) {
    if (value != 0) return STEP * fabs(value);
    double usual = circuit_kind(circuit_kind_of(circuit, vary.element))->parameter[vary.parameter].usual;
    return STEP_OF_ZERO * (usual != 0 ? fabs(usual) : 1);
}

/* The element's rows on both sides of the parameter's value, and their slope. */
static void differentiate(Work *work, CircuitVary vary, double *row) {
    double up[LOCAL_MOST], down[LOCAL_MOST], j[LOCAL_MOST * LOCAL_MOST];
    const Part *part = &work->plan->parts[vary.element];
    double *value = &work->values[part->parameter + vary.parameter], middle = *value;
    double step = step_for(work->plan->circuit, vary, middle);
    *value = middle + step;
    stamp_local(work, work->values, vary.element, up, j, NULL, NULL);
    *value = middle - step;
    stamp_local(work, work->values, vary.element, down, j, NULL, NULL);
    *value = middle;
    for (unsigned u = 0; u < part->form->k; u++) row[u] = (up[u] - down[u]) / (2 * step);
}

bool circuit_tangent_take(CircuitTangent *tangent) {
    Work *work = &tangent->solver->work;
    if (!work->has_answer || work->world.alpha > 0) return false;
    newton_trust(work);
    stamp_linear(work);
    stamp(work);
    if (!matrix_factor(work)) return false;
    for (uint32_t i = 0; i < tangent->count; i++)
        differentiate(work, tangent->vary[i], tangent->rows + (size_t)i * LOCAL_MOST);
    return true;
}

/* dy/dx, in the element's own unknowns: a current's row is its slope; a power is the sum of voltage times current. */
static void probe_gradient(const Work *work, CircuitProbe probe, double *z) {
    const Plan *plan = work->plan;
    if (probe.what == PROBE_VOLTAGE) {
        z[probe.plus == 0 ? plan->n : probe.plus - 1] += 1;
        z[probe.minus == 0 ? plan->n : probe.minus - 1] -= 1;
        return;
    }
    const Part *part = &plan->parts[probe.element];
    const uint32_t *unknown = &plan->unknowns[part->unknown];
    if (probe.what == PROBE_INNER) {
        z[unknown[part->form->terminals + probe.which]] += 1;
        return;
    }
    double f[LOCAL_MOST], j[LOCAL_MOST * LOCAL_MOST];
    unsigned k = part->form->k;
    stamp_local(work, work->values, probe.element, f, j, NULL, NULL);
    for (unsigned t = 0; t < part->form->terminals; t++) {
        double weight = probe.what == PROBE_POWER ? work->x[unknown[t]] : t == probe.which;
        for (unsigned u = 0; u < k; u++) z[unknown[u]] += weight * j[t * k + u];
        if (probe.what == PROBE_POWER) z[unknown[t]] += f[t];
    }
}

/* How the result itself changes with a parameter of its own element, at the same x. */
static double own_slope(const Work *work, CircuitProbe probe, const double *row) {
    const Part *part = &work->plan->parts[probe.element];
    if (probe.what == PROBE_CURRENT) return row[probe.which];
    double sum = 0;
    for (unsigned t = 0; probe.what == PROBE_POWER && t < part->form->terminals; t++)
        sum += work->x[work->plan->unknowns[part->unknown + t]] * row[t];
    return sum;
}

bool circuit_tangent_slopes(CircuitTangent *tangent, CircuitProbe probe, double *out) {
    Work *work = &tangent->solver->work;
    const Plan *plan = work->plan;
    double *z = tangent->z;
    memset(z, 0, (plan->n + 1) * sizeof *z);
    probe_gradient(work, probe, z);
    bool fine = matrix_solve_transposed(work, z);
    z[plan->n] = 0;
    for (uint32_t i = 0; i < tangent->count; i++) {
        CircuitVary vary = tangent->vary[i];
        const Part *part = &plan->parts[vary.element];
        const double *row = tangent->rows + (size_t)i * LOCAL_MOST;
        double sum = probe.what != PROBE_VOLTAGE && probe.element == vary.element ? own_slope(work, probe, row) : 0;
        for (unsigned u = 0; u < part->form->k; u++) sum -= z[plan->unknowns[part->unknown + u]] * row[u];
        out[i] = sum;
        fine = fine && isfinite(sum);
    }
    return fine;
}

double circuit_tangent_ohms(CircuitTangent *tangent, CircuitNode node) {
    Work *work = &tangent->solver->work;
    if (node == 0) return 0;
    memset(tangent->z, 0, (work->plan->n + 1) * sizeof *tangent->z);
    tangent->z[node - 1] = 1;
    return matrix_solve_transposed(work, tangent->z) ? fabs(tangent->z[node - 1]) : INFINITY;
}

bool circuit_sensitivity(CircuitSolver *solver, CircuitProbe probe, const CircuitVary *vary, uint32_t count, double *out) {
    Arena *scratch = arena_new();
    CircuitTangent *tangent = circuit_tangent_new(scratch, solver, vary, count);
    bool fine = circuit_tangent_take(tangent) && circuit_tangent_slopes(tangent, probe, out);
    arena_free(scratch);
    return fine;
}
