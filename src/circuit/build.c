/* The plan of a circuit's equations: unknowns numbered, the matrix's pattern in compressed columns, and for every place of
 * every element's own small matrix the slot where it adds. Two counting sorts, so linear in the size of the circuit. */
#include "circuit/inside.h"

enum { FALLS_AWAY = -1 /* a slot of the reference's, or of no equation */ };

typedef struct Entry {
    uint32_t row, column;
    uint32_t from; /* index into slots, or the unknown whose diagonal it is */
    bool diagonal;
} Entry;
typedef LIST(Entry) Entries;

typedef struct Offsets {
    uint32_t unknown, slot, parameter;
} Offsets;

static void place(Plan *plan, uint32_t number, Offsets *at) {
    Part *part = &plan->parts[number];
    const Form *form = part->form;
    part->unknown = at->unknown, part->slot = at->slot, part->parameter = at->parameter, part->memory = plan->memory;
    part->state = form->dynamic ? plan->states : UINT32_MAX;
    at->unknown += form->k, at->slot += form->k * form->k;
    at->parameter += circuit_kind(circuit_kind_of(plan->circuit, number))->parameters;
    plan->memory += form->memory;
    if (form->dynamic) plan->states += form->k, plan->dynamic[plan->dynamic_count++] = number;
    if (form->linear)
        plan->linear[plan->linear_count++] = *part;
    else
        plan->other[plan->other_count++] = *part;
}

/* First the parts that every iteration looks at, then the linear ones. */
static Offsets lay_out(Plan *plan) {
    const Circuit *circuit = plan->circuit;
    uint32_t count = circuit->elements.count;
    Offsets at = {0};
    plan->parts = arena_many(plan->arena, Part, count);
    plan->linear = arena_many(plan->arena, Part, count);
    plan->other = arena_many(plan->arena, Part, count);
    plan->dynamic = arena_many(plan->arena, uint32_t, count);
    plan->nodes = circuit->nodes.count;
    plan->n = plan->nodes - 1;
    for (uint32_t e = 0; e < count; e++) {
        const Element *element = &circuit->elements.at[e];
        const Form *form = form_of(element->kind, circuit->values.at + element->parameter);
        plan->parts[e] = (Part){.form = form};
        plan->n += form->k - form->terminals;
    }
    for (int linear = 0; linear <= 1; linear++)
        for (uint32_t e = 0; e < count; e++)
            if (plan->parts[e].form->linear == linear) place(plan, e, &at);
    plan->unknowns = arena_many(plan->arena, uint32_t, at.unknown);
    plan->slots = arena_many(plan->arena, int, at.slot);
    plan->sorts = arena_take(plan->arena, plan->n + 1);
    return at;
}

/* Node v is unknown v - 1; the reference is unknown n. Inner unknowns follow. */
static void number_unknowns(Plan *plan) {
    const Circuit *circuit = plan->circuit;
    uint32_t next = plan->nodes - 1;
    memset(plan->sorts, 'v', plan->n + 1);
    for (uint32_t e = 0; e < circuit->elements.count; e++) {
        const Part *part = &plan->parts[e];
        uint32_t *unknown = &plan->unknowns[part->unknown];
        for (unsigned i = 0; i < part->form->terminals; i++) {
            CircuitNode node = circuit_at(circuit, e, i);
            unknown[i] = node == 0 ? plan->n : node - 1;
        }
        for (unsigned i = part->form->terminals; i < part->form->k; i++) {
            plan->sorts[next] = part->form->inner[i - part->form->terminals];
            unknown[i] = next++;
        }
    }
}

static void list_entries(Arena *scratch, const Plan *plan, Entries *entries) {
    for (uint32_t e = 0; e < plan->circuit->elements.count; e++) {
        const Part *part = &plan->parts[e];
        const uint32_t *unknown = &plan->unknowns[part->unknown];
        uint32_t k = part->form->k, at = 0;
        for (const char *c = part->form->pattern; *c != '\0'; c++) {
            if (*c == ' ') continue;
            Entry entry = {unknown[at / k], unknown[at % k], part->slot + at, false};
            plan->slots[entry.from] = FALLS_AWAY;
            if (*c == 'x' && entry.row != plan->n && entry.column != plan->n) list_push(scratch, entries, entry);
            at++;
        }
    }
    for (uint32_t i = 0; i + 1 < plan->nodes; i++) list_push(scratch, entries, ((Entry){i, i, i, true})); /* for leaks */
}

/* Stable, by column or row; `start` (size n + 1) comes out as where each begins. */
static void sort_entries(const Entries *from, Entry *to, uint32_t n, bool by_column, uint32_t *start) {
    memset(start, 0, (n + 1) * sizeof *start);
    for (uint32_t i = 0; i < from->count; i++) start[(by_column ? from->at[i].column : from->at[i].row) + 1]++;
    for (uint32_t i = 0; i < n; i++) start[i + 1] += start[i];
    for (uint32_t i = 0; i < from->count; i++) to[start[by_column ? from->at[i].column : from->at[i].row]++] = from->at[i];
}

/* Entries in order of column, then row; equal ones share a slot. */
static void make_pattern(Plan *plan, const Entries *sorted) {
    plan->column = arena_many(plan->arena, int, plan->n + 1);
    plan->row = arena_many(plan->arena, int, sorted->count);
    plan->diagonal = arena_many(plan->arena, int, plan->n);
    for (uint32_t i = 0; i < plan->n; i++) plan->diagonal[i] = FALLS_AWAY;
    int slot = -1;
    for (uint32_t i = 0; i < sorted->count; i++) {
        const Entry *entry = &sorted->at[i];
        if (i == 0 || entry->column != entry[-1].column || entry->row != entry[-1].row) {
            plan->row[++slot] = (int)entry->row;
            plan->column[entry->column + 1]++;
        }
        if (entry->diagonal)
            plan->diagonal[entry->from] = slot;
        else
            plan->slots[entry->from] = slot;
    }
    for (uint32_t i = 0; i < plan->n; i++) plan->column[i + 1] += plan->column[i];
    plan->entries = slot + 1;
}

static void spill(int *slots, uint32_t count, int entries) {
    for (uint32_t i = 0; i < count; i++)
        if (slots[i] == FALLS_AWAY) slots[i] = entries + (int)(i % SPILL);
}

Plan *plan_new(Arena *arena, const Circuit *circuit) {
    Plan *plan = arena_one(arena, Plan);
    plan->arena = arena, plan->circuit = circuit, plan->values = circuit->values.count;
    uint32_t slot_count = lay_out(plan).slot;
    number_unknowns(plan);
    Arena *scratch = arena_new();
    Entries entries = {0};
    list_entries(scratch, plan, &entries);
    Entry *other = arena_many(scratch, Entry, entries.count);
    uint32_t *start = arena_many(scratch, uint32_t, plan->n + 1);
    sort_entries(&entries, other, plan->n, false, start);
    Entry *first = entries.at;
    entries.at = other;
    sort_entries(&entries, first, plan->n, true, start);
    entries.at = first;
    make_pattern(plan, &entries);
    arena_free(scratch);
    spill(plan->slots, slot_count, plan->entries);
    spill(plan->diagonal, plan->n, plan->entries);
    return plan;
}

bool plan_analyse(Plan *plan) {
    klu_common common;
    klu_defaults(&common);
    plan->symbolic = plan->n == 0 ? NULL : klu_analyze((int)plan->n, plan->column, plan->row, &common);
    return plan->n == 0 || plan->symbolic != NULL;
}

void plan_free(Plan *plan) {
    klu_common common;
    klu_defaults(&common);
    if (plan->symbolic != NULL) klu_free_symbolic(&plan->symbolic, &common);
}
