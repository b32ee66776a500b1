/* What a result hangs on. With F(x, p) = 0 solved and a result y(x, p), one vector z of the transposed equations
 * J' z = dy/dx gives every derivative: dy/dp = (dy/dp at fixed x) - z' dF/dp. An element's own dF/dp comes by central
 * differences of its few rows; with steps of 1e-5 of p their error is about 1e-10 of the derivative. */
#include "circuit/inside.h"

static const double STEP = 1e-5;
static const double STEP_OF_ZERO = 1e-6; /* of the kind's usual value, or of 1, for a parameter that is 0 */

static double step_for(const Circuit *circuit, CircuitVary vary, double value) {
    if (value != 0) return STEP * fabs(value);
    double usual = circuit_kind(circuit_kind_of(circuit, vary.element))->parameter[vary.parameter].usual;
    return STEP_OF_ZERO * (usual != 0 ? fabs(usual) : 1);
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

/* z' F of one element with one parameter changed, and the result at the same x. */
static double weighed(const Work *work, double *values, uint32_t at, double value, CircuitVary vary, const double *z,
                      CircuitProbe probe) {
    double f[LOCAL_MOST], j[LOCAL_MOST * LOCAL_MOST], sum = 0;
    const Part *part = &work->plan->parts[vary.element];
    double before = values[at];
    values[at] = value;
    stamp_local(work, values, vary.element, f, j, NULL, NULL);
    for (unsigned u = 0; u < part->form->k; u++) sum -= z[work->plan->unknowns[part->unknown + u]] * f[u];
    if (probe.what != PROBE_VOLTAGE && probe.element == vary.element) sum += work_probe(work, values, probe);
    values[at] = before;
    return sum;
}

bool circuit_sensitivity(CircuitSolver *solver, CircuitProbe probe, const CircuitVary *vary, uint32_t count, double *out) {
    Work *work = &solver->work;
    const Plan *plan = work->plan;
    if (!work->has_answer || work->world.alpha > 0) return false;
    Arena *scratch = arena_new();
    double *z = arena_many(scratch, double, plan->n + 1), *values = arena_many(scratch, double, plan->values);
    memcpy(values, work->values, plan->values * sizeof *values);
    newton_trust(work);
    stamp_linear(work);
    stamp(work);
    probe_gradient(work, probe, z);
    bool fine = matrix_factor(work) && matrix_solve_transposed(work, z);
    z[plan->n] = 0;
    for (uint32_t i = 0; fine && i < count; i++) {
        uint32_t at = plan->parts[vary[i].element].parameter + vary[i].parameter;
        double step = step_for(plan->circuit, vary[i], values[at]);
        double up = weighed(work, values, at, values[at] + step, vary[i], z, probe);
        double down = weighed(work, values, at, values[at] - step, vary[i], z, probe);
        out[i] = (up - down) / (2 * step);
        fine = isfinite(out[i]);
    }
    arena_free(scratch);
    return fine;
}
