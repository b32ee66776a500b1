/* A solver for one circuit: made, asked for the state of rest, read. */
#include "circuit/inside.h"

static const double KELVIN = 300.15;
static const double GMIN = 1e-12; /* S across each junction, as in L. W. Nagel, ERL-M520, 1975 (from memory) */

/* k/q, V/K: the SI's exact constants of 2019. */
static const double BOLTZMANN_OVER_CHARGE = 1.380649e-23 / 1.602176634e-19;

CircuitSolver *circuit_solver_new(Arena *arena, const Circuit *circuit, CircuitOptions options, CircuitFault *fault) {
    *fault = (CircuitFault){0};
    if (!check_values(arena, circuit, fault) || !check_shape(arena, circuit, options, fault)) return NULL;
    CircuitSolver *solver = arena_one(arena, CircuitSolver);
    *solver = (CircuitSolver){.arena = arena, .options = options, .plan = plan_new(arena, circuit)};
    solver->work = work_new(arena, solver->plan);
    solver->work.world.vt = BOLTZMANN_OVER_CHARGE * (options.kelvin > 0 ? options.kelvin : KELVIN);
    solver->work.world.gmin = GMIN;
    if (plan_analyse(solver->plan)) return solver;
    *fault = (CircuitFault){.trouble = CIRCUIT_TOO_LARGE,
                            .message = TEXT("no memory for the circuit's equations"),
                            .hint = TEXT("solve a part of it")};
    return NULL;
}

void circuit_solver_free(CircuitSolver *solver) {
    if (solver == NULL) return;
    work_free(&solver->work);
    plan_free(solver->plan);
}

bool circuit_solve(CircuitSolver *solver, CircuitFault *fault) {
    Work *work = &solver->work;
    *fault = (CircuitFault){0};
    work->world.time = 0, work->world.middle = -1, work->world.scale = 1;
    work->world.alpha = work->world.beta = 0, work->world.shunt = solver->options.leak;
    memset(work->rate, 0, work->plan->states * sizeof *work->rate);
    work->iterations_end = solver->options.iterations_most == 0 ? 0 : work->iterations + solver->options.iterations_most;
    if (!work->has_answer) newton_forget(work);
    Newton end = rest_find(work);
    work->iterations_end = 0;
    if (end == NEWTON_DONE) return true;
    fault_newton(solver, end, fault);
    return false;
}

bool circuit_vary(CircuitSolver *solver, uint32_t element, unsigned parameter, double value) {
    const Element *e = &solver->plan->circuit->elements.at[element];
    if (!kind_allows(e->kind, parameter, value)) return false;
    return work_vary(&solver->work, element, parameter, value);
}

void circuit_mark(CircuitSolver *solver) {
    Work *work = &solver->work;
    const Plan *plan = work->plan;
    if (work->marked == NULL)
        work->marked = arena_many(solver->arena, double, (size_t)plan->values + plan->n + 1 + plan->memory);
    memcpy(work->marked, work->values, plan->values * sizeof *work->marked);
    memcpy(work->marked + plan->values, work->x, (plan->n + 1) * sizeof *work->marked);
    memcpy(work->marked + plan->values + plan->n + 1, work->memory, plan->memory * sizeof *work->marked);
}

void circuit_back(CircuitSolver *solver) {
    Work *work = &solver->work;
    const Plan *plan = work->plan;
    if (work->marked == NULL) return;
    memcpy(work->values, work->marked, plan->values * sizeof *work->marked);
    memcpy(work->x, work->marked + plan->values, (plan->n + 1) * sizeof *work->marked);
    memcpy(work->memory, work->marked + plan->values + plan->n + 1, plan->memory * sizeof *work->marked);
    work->has_answer = true;
}

void circuit_start(CircuitSolver *solver, const CircuitSolver *from) {
    Work *work = &solver->work;
    const Plan *plan = work->plan, *old = from->plan;
    if (!from->work.has_answer || from->work.world.alpha > 0) return;
    uint32_t nodes = plan->nodes < old->nodes ? plan->nodes : old->nodes, elements = old->circuit->elements.count;
    memcpy(work->x, from->work.x, (nodes - 1) * sizeof *work->x);
    for (uint32_t e = 0; e < elements && e < plan->circuit->elements.count; e++) {
        const Part *part = &plan->parts[e], *was = &old->parts[e];
        if (part->form != was->form) continue;
        for (unsigned u = 0; u < part->form->k; u++) {
            uint32_t to = plan->unknowns[part->unknown + u];
            if (u >= part->form->terminals || (to != plan->n && to >= nodes - 1))
                work->x[to] = from->work.x[old->unknowns[was->unknown + u]];
        }
        memcpy(work->memory + part->memory, from->work.memory + was->memory, part->form->memory * sizeof *work->memory);
    }
    work->has_answer = true;
}

double circuit_seconds(const CircuitSolver *solver) { return solver->work.world.time; }
uint32_t circuit_iterations(const CircuitSolver *solver) { return solver->work.iterations; }
