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

double work_probe(const Work *work, const double *values, CircuitProbe probe) {
    double i[LOCAL_MOST], sum = 0;
    switch (probe.what) {
    case PROBE_VOLTAGE:
        return work_voltage(work, probe.plus) - work_voltage(work, probe.minus);
    case PROBE_INNER:
        return unknown(work, probe.element, work->plan->parts[probe.element].form->terminals + probe.which);
    case PROBE_CURRENT:
        currents_of(work, values, probe.element, i);
        return i[probe.which];
    case PROBE_POWER:
        break;
    }
    currents_of(work, values, probe.element, i);
    for (unsigned t = 0; t < work->plan->parts[probe.element].form->terminals; t++)
        sum += unknown(work, probe.element, t) * i[t];
    return sum;
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
