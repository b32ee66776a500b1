/* Reading an answer. Currents come from each element's own equation at the unknowns found, not from the matrix. */
#include "circuit/inside.h"

static double unknown(const Work *work, uint32_t element, unsigned local) {
    return work->x[work->plan->unknowns[work->plan->parts[element].unknown + local]];
}

double work_voltage(const Work *work, CircuitNode node) { return node == 0 ? 0 : work->x[node - 1]; }

static void currents_of(const Work *work, const double *values, uint32_t element, double *i) {
    double f[LOCAL_MOST], j[LOCAL_MOST * LOCAL_MOST];
    const Part *part = &work->plan->parts[element];
    stamp_local(work, values, element, f, j, NULL, NULL);
    for (unsigned t = 0; t < part->form->terminals; t++)
        i[t] = f[t] + (part->form->dynamic ? work->rate[part->state + t] : 0);
}

double work_probe_after(const Work *work, const double *values, CircuitProbe probe, Currents *last) {
    if (probe.what == PROBE_VOLTAGE) return work_voltage(work, probe.plus) - work_voltage(work, probe.minus);
    const Form *form = work->plan->parts[probe.element].form;
    if (probe.what == PROBE_INNER) return unknown(work, probe.element, form->terminals + probe.which);
    if (!last->known || last->element != probe.element) {
        currents_of(work, values, probe.element, last->i);
        last->known = true, last->element = probe.element;
    }
    if (probe.what == PROBE_CURRENT) return last->i[probe.which];
    double sum = 0;
    for (unsigned t = 0; t < form->terminals; t++) sum += unknown(work, probe.element, t) * last->i[t];
    return sum;
}

double work_probe(const Work *work, const double *values, CircuitProbe probe) {
    return work_probe_after(work, values, probe, &(Currents){0});
}

double circuit_probe(const CircuitSolver *solver, CircuitProbe probe) {
    return work_probe(&solver->work, solver->work.values, probe);
}

double circuit_voltage(const CircuitSolver *solver, CircuitNode node) { return work_voltage(&solver->work, node); }

double circuit_current(const CircuitSolver *solver, uint32_t element, unsigned terminal) {
    return circuit_probe(solver, (CircuitProbe){.what = PROBE_CURRENT, .element = element, .which = terminal});
}

double circuit_power(const CircuitSolver *solver, uint32_t element) {
    return circuit_probe(solver, (CircuitProbe){.what = PROBE_POWER, .element = element});
}

double circuit_inner(const CircuitSolver *solver, uint32_t element, unsigned which) {
    return circuit_probe(solver, (CircuitProbe){.what = PROBE_INNER, .element = element, .which = which});
}
