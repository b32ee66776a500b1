/* A teardown and its sums, from strings. */
#ifndef UNPICK_TESTS_SUMS_FIXTURE_H
#define UNPICK_TESTS_SUMS_FIXTURE_H

#include "sums/sums.h"
#include "tests/circuit_check.h"
#include "tests/teardown.h"

typedef struct Summed {
    Teardown t;
    const Sums *sums;
} Summed;

/* Each mode that has an answer is solved again and held to Kirchhoff's and Tellegen's laws. */
static inline Summed summed_of(const char *notes) {
    Summed s = {.t = teardown_of(notes, NULL)};
    const double leak = 1e-12; /* S, as the sums have it */
    for (uint32_t i = 0; i < s.t.notebook->problems.list.count; i++)
        fail_msg("note: %.*s", TEXT_ARG(s.t.notebook->problems.list.at[i].message));
    s.sums = sums_about(s.t.arena, s.t.reasoning, sums_models_new(s.t.arena, s.t.lore, s.t.kinds), (SumsEffort){0});
    for (uint32_t i = 0; i < s.sums->modes.count; i++) {
        if (!s.sums->modes.at[i].solved) continue;
        CircuitFault fault;
        CircuitSolver *solver = circuit_solver_new(s.t.arena, s.sums->modes.at[i].circuit, (CircuitOptions){.leak = leak}, &fault);
        assert_true(solver != NULL && circuit_solve(solver, &fault));
        assert_laws(s.sums->modes.at[i].circuit, solver, leak);
        circuit_solver_free(solver);
    }
    return s;
}

static inline void summed_end(Summed *s) { teardown_end(&s->t); }

static inline const SumsMode *mode_of(const Summed *s, const char *name) {
    uint32_t mode = sums_mode(s->sums, text_of(name));
    if (mode == BENCH_NONE) fail_msg("there is no mode %s", name);
    const SumsMode *found = &s->sums->modes.at[mode];
    if (!found->solved) fail_msg("%s: %.*s", name, TEXT_ARG(found->fault));
    return found;
}

static inline const SumsFigure *volts_of(const Summed *s, const char *mode, const char *net) {
    uint32_t number = bench_net(s->t.bench, text_of(net));
    assert_true(number != BENCH_NONE);
    return &mode_of(s, mode)->volts[number];
}

static inline const SumsFigure *amperes_of(const Summed *s, const char *mode, const char *ref) {
    uint32_t part = bench_part(s->t.bench, text_of(ref));
    assert_true(part != BENCH_NONE);
    return &mode_of(s, mode)->current[part];
}

static inline const SumsFigure *watts_of(const Summed *s, const char *mode, const char *ref) {
    return &mode_of(s, mode)->power[bench_part(s->t.bench, text_of(ref))];
}

/* The typical figure lies within, and so does what 95 of 100 products do. */
#define assert_within(figure, least, most)                                                                                     \
    do {                                                                                                                       \
        const SumsFigure *within = (figure);                                                                                   \
        if (!within->known || !(within->low >= (least) && within->high <= (most)))                                             \
            fail_msg("%s is %g, %g to %g, expected %g to %g", #figure, within->typical, within->low, within->high,             \
                     (double)(least), (double)(most));                                                                         \
    } while (0)

#endif
