/* What went wrong, in words that name nodes and elements. */
#include "circuit/inside.h"

void fault_node(CircuitFault *fault, CircuitNode node) {
    if (fault->node_count < CIRCUIT_NAMED) fault->nodes[fault->node_count++] = node;
}

void fault_element(CircuitFault *fault, uint32_t element) {
    if (fault->element_count < CIRCUIT_NAMED) fault->elements[fault->element_count++] = element;
}

void fault_names(Out *out, const Circuit *circuit, const CircuitFault *fault, bool nodes, uint32_t all) {
    uint32_t listed = nodes ? fault->node_count : fault->element_count;
    for (uint32_t i = 0; i < listed; i++) {
        if (i > 0) out_add(out, i + 1 == listed && all == listed ? TEXT(" and ") : TEXT(", "));
        out_add(out, nodes ? circuit_node_name(circuit, fault->nodes[i]) : circuit_name(circuit, fault->elements[i]));
    }
    if (all > listed) out_fmt(out, " and %u more", all - listed);
}

/* Names an unknown: a node by its name, an inner quantity by its element. */
static void name_unknown(const Plan *plan, int unknown, CircuitFault *fault) {
    if (unknown < 0 || (uint32_t)unknown >= plan->n) return;
    if ((uint32_t)unknown < plan->nodes - 1) {
        fault_node(fault, (CircuitNode)unknown + 1);
        return;
    }
    for (uint32_t e = 0; e < plan->circuit->elements.count; e++)
        for (unsigned i = plan->parts[e].form->terminals; i < plan->parts[e].form->k; i++)
            if (plan->unknowns[plan->parts[e].unknown + i] == (uint32_t)unknown) fault_element(fault, e);
}

static int largest_step(const Work *work) {
    int at = -1;
    for (uint32_t i = 0; i < work->plan->n; i++)
        if (at < 0 || !(fabs(work->dx[i]) <= fabs(work->dx[at]))) at = (int)i;
    return at;
}

void fault_newton(CircuitSolver *solver, Newton end, CircuitFault *fault) {
    const Circuit *circuit = solver->plan->circuit;
    bool singular = end == NEWTON_SINGULAR;
    *fault = (CircuitFault){.trouble = singular ? CIRCUIT_SINGULAR : CIRCUIT_NO_ANSWER};
    name_unknown(solver->plan, singular ? solver->work.singular : largest_step(&solver->work), fault);
    Out out = out_new(solver->arena);
    out_add(&out,
            singular ? TEXT("no unique answer: nothing fixes ") : TEXT("no answer found: the search did not settle at "));
    if (fault->node_count == 0 && fault->element_count == 0) out_add(&out, TEXT("the circuit"));
    if (fault->node_count > 0)
        out_add(&out, TEXT("the voltage of ")), fault_names(&out, circuit, fault, true, fault->node_count);
    if (fault->element_count > 0)
        out_add(&out, TEXT("the current of ")), fault_names(&out, circuit, fault, false, fault->element_count);
    if (solver->work.world.time > 0) out_fmt(&out, ", %.4g s after the start", solver->work.world.time);
    fault->message = out_text(&out);
    fault->hint = singular ? TEXT("look for sources that contradict each other, or something that hangs in the air there")
                           : TEXT("look there for a value that is far off, or a feedback that has no stable point");
}
