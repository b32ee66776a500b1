/* Many sets of parameters for one circuit: the plan is shared, each thread has its own numbers and factors, and each set
 * starts from the nominal answer, from where Newton's method takes three or four steps. */
#include "circuit/inside.h"

enum { STEPS = 25 };

static Work work_like(Arena *arena, const Work *nominal) {
    Work work = work_new(arena, nominal->plan);
    work.world = nominal->world;
    return work;
}

/* From the nominal answer, unlimited there; then, where that fails, from nothing with all means. */
static bool solve_from(Work *work, const Work *nominal) {
    memcpy(work->x, nominal->x, ((size_t)work->plan->n + 1) * sizeof *work->x);
    newton_trust(work);
    stamp_linear(work);
    if (newton(work, STEPS) == NEWTON_DONE) return true;
    newton_forget(work);
    return rest_find(work) == NEWTON_DONE;
}

static bool set_values(Work *work, const Work *nominal, const CircuitSampling *sampling, uint32_t set) {
    memcpy(work->values, nominal->values, work->plan->values * sizeof *work->values);
    const double *values = sampling->values + (size_t)set * sampling->vary_count;
    for (uint32_t i = 0; i < sampling->vary_count; i++) {
        CircuitVary vary = sampling->vary[i];
        CircuitKind kind = circuit_kind_of(work->plan->circuit, vary.element);
        if (!kind_allows(kind, vary.parameter, values[i]) || !work_vary(work, vary.element, vary.parameter, values[i]))
            return false;
    }
    return true;
}

static bool solve_set(Work *work, const Work *nominal, const CircuitSampling *sampling, uint32_t set) {
    double *out = sampling->out + (size_t)set * sampling->probe_count;
    bool fine = set_values(work, nominal, sampling, set) && solve_from(work, nominal);
    for (uint32_t i = 0; i < sampling->probe_count; i++) {
        out[i] = fine ? work_probe(work, work->values, sampling->probes[i]) : 0;
        fine = fine && isfinite(out[i]);
    }
    for (uint32_t i = 0; !fine && i < sampling->probe_count; i++) out[i] = 0;
    return sampling->solved[set] = fine;
}

uint32_t circuit_sample(const CircuitSolver *solver, CircuitSampling sampling) {
    const Work *nominal = &solver->work;
    uint32_t fine = 0;
    if (!nominal->has_answer || nominal->world.alpha > 0) {
        memset(sampling.solved, 0, sampling.sets * sizeof *sampling.solved);
        memset(sampling.out, 0, (size_t)sampling.sets * sampling.probe_count * sizeof *sampling.out);
        return 0;
    }
#pragma omp parallel num_threads(2) reduction(+ : fine)
    {
        Arena *arena = arena_new();
        Work work = work_like(arena, nominal);
#pragma omp for schedule(dynamic, 64)
        for (uint32_t set = 0; set < sampling.sets; set++) fine += solve_set(&work, nominal, &sampling, set);
        work_free(&work);
        arena_free(arena);
    }
    return fine;
}
