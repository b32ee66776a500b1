/* Many sets of parameters for one circuit: the plan is shared, each thread has its own numbers and factors, and each set
 * starts from the nominal answer, from where Newton's method takes three or four steps. */
#include "circuit/inside.h"

enum { STEPS = 25 };
static const double TWO_FROM = 5e4; /* sets times elements */

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

/* The probes by element, so that each element is asked once: a stable counting sort. Size probe_count. */
static uint32_t *order_probes(Arena *arena, const CircuitSampling *sampling, uint32_t elements) {
    uint32_t *order = arena_many(arena, uint32_t, sampling->probe_count + 1),
             *start = arena_many(arena, uint32_t, elements + 2);
    for (uint32_t i = 0; i < sampling->probe_count; i++) start[sampling->probes[i].element + 1]++;
    for (uint32_t e = 0; e < elements; e++) start[e + 1] += start[e];
    for (uint32_t i = 0; i < sampling->probe_count; i++) order[start[sampling->probes[i].element]++] = i;
    return order;
}

static bool solve_set(Work *work, const Work *nominal, const CircuitSampling *sampling, const uint32_t *order,
                      uint32_t set) {
    double *out = sampling->out + (size_t)set * sampling->probe_count;
    bool fine = set_values(work, nominal, sampling, set) && solve_from(work, nominal);
    Currents last = {0};
    for (uint32_t i = 0; fine && i < sampling->probe_count; i++) {
        out[order[i]] = work_probe_after(work, work->values, sampling->probes[order[i]], &last);
        fine = isfinite(out[order[i]]);
    }
    if (!fine) memset(out, 0, sampling->probe_count * sizeof *out);
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
    Arena *shared = arena_new();
    const uint32_t *order = order_probes(shared, &sampling, nominal->plan->circuit->elements.count);
    /* a second thread is worth its start where it has some milliseconds to do */
    bool two = (double)sampling.sets * nominal->plan->circuit->elements.count > TWO_FROM;
#pragma omp parallel num_threads(2) if (two) reduction(+ : fine)
    {
        Arena *arena = arena_new();
        Work work = work_like(arena, nominal);
#pragma omp for schedule(dynamic, 16)
        for (uint32_t set = 0; set < sampling.sets; set++) fine += solve_set(&work, nominal, &sampling, order, set);
        work_free(&work);
        arena_free(arena);
    }
    arena_free(shared);
    return fine;
}
