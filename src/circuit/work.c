/* One thread's numbers. */
#include "circuit/inside.h"

/* From the circuit's order to the plan's. */
static void copy_values(const Plan *plan, double *to) {
    const Circuit *circuit = plan->circuit;
    for (uint32_t e = 0; e < circuit->elements.count; e++) {
        const Element *element = &circuit->elements.at[e];
        memcpy(to + plan->parts[e].parameter, circuit->values.at + element->parameter,
               circuit_kind(element->kind)->parameters * sizeof *to);
    }
}

Work work_new(Arena *arena, const Plan *plan) {
    Work work = {.plan = plan, .world = {.scale = 1, .middle = -1}};
    uint32_t size = plan->n + 1, entries = (uint32_t)plan->entries + SPILL;
    work.values = arena_many(arena, double, plan->values);
    copy_values(plan, work.values);
    work.x = arena_many(arena, double, size), work.f = arena_many(arena, double, size);
    work.dx = arena_many(arena, double, size), work.left = arena_many(arena, double, size);
    work.base_f = arena_many(arena, double, size);
    work.a = arena_many(arena, double, entries), work.base = arena_many(arena, double, entries);
    work.memory = arena_many(arena, double, plan->memory);
    work.q = arena_many(arena, double, plan->states), work.q0 = arena_many(arena, double, plan->states);
    work.rate = arena_many(arena, double, plan->states), work.rate0 = arena_many(arena, double, plan->states);
    klu_defaults(&work.common);
    work.common.scale = -1; /* none: matrix.c says why */
    newton_forget(&work);
    return work;
}

void work_free(Work *work) {
    if (work->numeric != NULL) klu_free_numeric(&work->numeric, &work->common);
}

/* A resistor whose voltage form divides by it, or a diode's series resistance, can't become nothing. */
bool work_vary(Work *work, uint32_t element, unsigned parameter, double value) {
    static const double LEAST_OHMS = 1e-3;
    const Element *e = &work->plan->circuit->elements.at[element];
    const Form *form = work->plan->parts[element].form;
    bool divides = (e->kind == CIRCUIT_RESISTOR && parameter == RESISTOR_OHMS && form->k == 2) ||
                   (e->kind == CIRCUIT_DIODE && parameter == DIODE_OHMS && form->k == 3);
    if (divides && value < LEAST_OHMS) return false;
    work->values[work->plan->parts[element].parameter + parameter] = value;
    return true;
}
