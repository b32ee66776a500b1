/* The solver beside bare KLU on the same matrix; its growth from 100 to a million nodes; and what asking again costs:
 * 10,000 tolerance samples and 1,000 single faults of a circuit of 30 parts. Times are the least of a few runs. */
#include "bench/measure.h"

#include "circuit/inside.h"

#include <stdlib.h>

enum { STEP_NODES = 100000, RUNS = 5, PARTS = 30, SAMPLES = 10000, FAULTS = 1000 };
static const double BAR_STEP = 1.5, BAR_GROWTH = 1.25, BAR_SAMPLES = 0.5, BAR_FAULTS = 0.5;

static uint64_t seed = 20261125;
static double random_unit(void) {
    seed = seed * 6364136223846793005u + 1442695040888963407u;
    return (double)(seed >> 33) / (double)(1ull << 31);
}
static uint32_t random_below(uint32_t below) { return (uint32_t)(random_unit() * below); }

/* ---- large circuits ---- */

/* A source, then n nodes: a resistor on from each, a resistor down, and a diode from every `each`-th. */
static Circuit *ladder_with(Arena *arena, uint32_t n, uint32_t each) {
    Circuit *circuit = circuit_new(arena);
    for (uint32_t i = 0; i <= n; i++) circuit_node(circuit, TEXT("n"), i);
    circuit_source(circuit, "V", 1, 0, 5);
    for (uint32_t i = 2; i <= n + 1; i++) {
        circuit_resistor(circuit, "R", i - 1, i, 100 + 100 * random_unit());
        circuit_resistor(circuit, "R", i, 0, 1e5 * (1 + random_unit()));
        if (i % each == 0) circuit_add(circuit, CIRCUIT_DIODE, TEXT("D"), 0, (const CircuitNode[]){i, 0});
        if (i % 50 == 0) circuit_current_source(circuit, "I", 0, i, 2e-3);
    }
    return circuit;
}

static Circuit *ladder(Arena *arena, uint32_t n) { return ladder_with(arena, n, 4); }
/* The worst case for us: KLU's work on a ladder is next to nothing, and every node has an exponential. */
static Circuit *ladder_of_diodes(Arena *arena, uint32_t n) { return ladder_with(arena, n, 1); }

enum { REACH = 12 };
/* Each node joined to the one before and to two drawn from the twelve before: a board's kind of mesh, where neighbours
 * join. (In a mesh without neighbourhood the factors themselves grow faster than the mesh, whoever makes them.) */
static Circuit *mesh(Arena *arena, uint32_t n) {
    Circuit *circuit = circuit_new(arena);
    for (uint32_t i = 0; i <= n; i++) circuit_node(circuit, TEXT("n"), i);
    circuit_source(circuit, "V", 1, 0, 5);
    for (uint32_t i = 2; i <= n + 1; i++) {
        circuit_resistor(circuit, "R", i - 1, i, 100 + 900 * random_unit());
        for (int k = 0; k < 2; k++)
            circuit_resistor(circuit, "R", i, i > REACH ? i - 1 - random_below(REACH) : 0, 1e3 + 9e3 * random_unit());
        if (i % 4 == 0)
            circuit_add(circuit, CIRCUIT_DIODE, TEXT("D"), 0,
                        (const CircuitNode[]){i, i > 50 ? i - 1 - random_below(40) : 0});
        if (i % 50 == 0) circuit_resistor(circuit, "R", i, 0, 1e3);
    }
    return circuit;
}

typedef Circuit *Make(Arena *arena, uint32_t n);

static CircuitSolver *solver_for(Arena *arena, Circuit *circuit) {
    CircuitFault fault;
    CircuitSolver *solver = circuit_solver_new(arena, circuit, (CircuitOptions){0}, &fault);
    if (solver != NULL && circuit_solve(solver, &fault)) return solver;
    fprintf(stderr, "bench_circuit: %.*s\n", TEXT_ARG(fault.message));
    exit(2);
}

/* Away from the answer, so that there is something to do. */
static void nudge(Work *work) {
    for (uint32_t i = 0; i < work->plan->n; i++) work->x[i] *= 0.999;
    newton_trust(work);
}

/* KLU by itself on the solver's matrix, as it comes: with its scaling of rows, which the solver goes without (matrix.c). */
typedef struct Bare {
    klu_common common;
    klu_numeric *numeric;
} Bare;

static Bare bare_new(const Work *work) {
    Bare bare;
    const Plan *plan = work->plan;
    klu_defaults(&bare.common);
    bare.numeric = klu_factor(plan->column, plan->row, work->a, plan->symbolic, &bare.common);
    return bare;
}

/* A Newton step of ours (all of stamp, factor, solve, check, the new unknowns' size) and KLU's refactor and solve alone. */
static void measure_step(const char *name, Arena *arena, Circuit *circuit) {
    CircuitSolver *solver = solver_for(arena, circuit);
    Work *work = &solver->work;
    const Plan *plan = solver->plan;
    double ours = INFINITY, bare = INFINITY;
    int times = (int)(STEP_NODES / plan->n) + 1; /* so that there is enough to measure */
    Bare alone = bare_new(work);
    for (int run = 0; run < RUNS; run++) {
        double before = measure_seconds();
        for (int i = 0; i < times; i++) {
            nudge(work);
            newton(work, 1);
        }
        double both = measure_seconds() - before;
        before = measure_seconds();
        for (int i = 0; i < times; i++) nudge(work);
        ours = fmin(ours, both - (measure_seconds() - before));
        for (int warm = 0; warm < 2; warm++) { /* its own factors are in the cache as ours were */
            before = measure_seconds();
            for (int i = 0; i < times; i++) {
                klu_refactor(plan->column, plan->row, work->a, plan->symbolic, alone.numeric, &alone.common);
                klu_solve(plan->symbolic, alone.numeric, (int)plan->n, 1, work->dx, &alone.common);
            }
            bare = fmin(bare, measure_seconds() - before);
        }
        circuit_solve(solver, &(CircuitFault){0});
    }
    char title[100], value[100], reference[100], ratio[40];
    snprintf(title, sizeof title, "circuit, a Newton step, %s", name);
    snprintf(value, sizeof value, "%.3g us (%u unknowns)", ours * 1e6 / times, plan->n);
    snprintf(reference, sizeof reference, "klu_refactor + klu_solve: %.3g us", bare * 1e6 / times);
    snprintf(ratio, sizeof ratio, "%.2f", ours / bare);
    measure_print(title, value, "1.5 x KLU alone", reference, ratio, ours <= BAR_STEP * bare);
    klu_free_numeric(&alone.numeric, &alone.common);
    circuit_solver_free(solver);
}

static void measure_large_step(const char *name, Make *make) {
    Arena *arena = arena_new();
    measure_step(name, arena, make(arena, STEP_NODES));
    arena_free(arena);
}

/* Seconds from the described circuit to its solved state of rest. */
static double time_whole(Make *make, uint32_t n, uint32_t *steps) {
    double best = INFINITY;
    for (int run = 0; run < (n <= 10000 ? RUNS : 1); run++) {
        Arena *arena = arena_new();
        seed = n;
        Circuit *circuit = make(arena, n);
        double before = measure_seconds();
        CircuitSolver *solver = solver_for(arena, circuit);
        best = fmin(best, measure_seconds() - before);
        *steps = circuit_iterations(solver);
        circuit_solver_free(solver);
        arena_free(arena);
    }
    return best;
}

/* The exponent of the whole way from 100 to 1,000,000 nodes; caches end on the way, for KLU as well. */
static void measure_growth(const char *name, Make *make) {
    double from = 0, to = 0;
    char title[100], value[100];
    for (uint32_t n = 100; n <= 1000000; n *= 10) {
        uint32_t steps = 0;
        to = time_whole(make, n, &steps);
        if (n == 100) from = to;
        snprintf(title, sizeof title, "circuit, %s of %u nodes", name, n);
        snprintf(value, sizeof value, "%.3g s, %.2f us a node (%u Newton steps)", to, to * 1e6 / n, steps);
        measure_print(title, value, "-", "-", "-", true);
    }
    double growth = log(to / from) / log(1e4);
    snprintf(title, sizeof title, "circuit, growth of %s", name);
    snprintf(value, sizeof value, "nodes^%.3f", growth);
    measure_print(title, value, "under nodes^1.25", "-", "-", growth <= BAR_GROWTH);
}

/* ---- asking again: an invented circuit of 30 parts, a motor and a light behind a chip ---- */

typedef struct Small {
    Arena *arena;
    Circuit *circuit;
    CircuitNode rail, base;
    uint32_t motor, resistors[13];
} Small;

static CircuitNode node(Circuit *circuit, const char *name) { return circuit_node(circuit, text_of(name), 0); }

static Small small_new(void) {
    Small s = {.arena = arena_new()};
    Circuit *c = s.circuit = circuit_new(s.arena);
    CircuitNode cells = node(c, "VBAT"), p5 = node(c, "U1.5"), p6 = node(c, "U1.6"), c1 = node(c, "Q1.C"),
                b2 = node(c, "Q2.B"), c2 = node(c, "Q2.C");
    CircuitNode vs = node(c, "VS"), mid = node(c, "U1.9"), led = node(c, "D3.A"), p2 = node(c, "U1.2"),
                k2 = node(c, "D2.K"), sw = node(c, "U1.8");
    s.rail = node(c, "VDD"), s.base = node(c, "Q1.B");
#define TWO(kind, name, a, b) circuit_add(c, kind, TEXT(name), 0, (const CircuitNode[]){a, b})
#define THREE(kind, name, x, y, z) circuit_add(c, kind, TEXT(name), 0, (const CircuitNode[]){x, y, z})
    TWO(CIRCUIT_BATTERY, "BT1", cells, 0);
    for (unsigned i = 0; i < BATTERY_POINTS; i++) circuit_set(c, 0, BATTERY_VOLTS + i, 4.4 + 0.18 * i);
    TWO(CIRCUIT_SWITCH, "SW1", cells, s.rail);
    s.motor = TWO(CIRCUIT_MOTOR, "M1", s.rail, c1);
    THREE(CIRCUIT_BIPOLAR, "Q1", c1, s.base, 0), THREE(CIRCUIT_BIPOLAR, "Q2", c2, b2, 0);
    TWO(CIRCUIT_DIODE, "D1", c1, s.rail);
    circuit_led(c, TWO(CIRCUIT_DIODE, "D2", s.rail, k2), LED_INFRARED),
        circuit_led(c, TWO(CIRCUIT_DIODE, "D3", led, 0), LED_GREEN_OLD);
    circuit_set(c, THREE(CIRCUIT_PIN, "U1.5", p5, s.rail, 0), PIN_STATE, PIN_HIGH);
    circuit_set(c, THREE(CIRCUIT_PIN, "U1.6", p6, s.rail, 0), PIN_STATE, PIN_HIGH);
    circuit_set(c, THREE(CIRCUIT_PIN, "U1.2", p2, s.rail, 0), PIN_STATE, PIN_HIGH);
    THREE(CIRCUIT_PIN, "U1.9", mid, s.rail, 0), THREE(CIRCUIT_PIN, "U1.8", sw, s.rail, 0);
    const struct {
        CircuitNode a, b;
        double ohms;
    } resistors[13] = {{p5, s.base, 100},    {p6, b2, 1e3},   {k2, c2, 22},        {s.rail, vs, 100}, {p2, led, 1e3},
                       {s.rail, mid, 470e3}, {mid, 0, 220e3}, {s.rail, sw, 100e3}, {s.base, 0, 10e3}, {vs, 0, 22e3},
                       {b2, 0, 47e3},        {sw, 0, 1e6},    {s.rail, 0, 15e3}};
    for (unsigned i = 0; i < 13; i++)
        s.resistors[i] = circuit_resistor(c, "R", resistors[i].a, resistors[i].b, resistors[i].ohms);
    circuit_capacitor(c, "C1", s.rail, 0, 220e-6), circuit_capacitor(c, "C2", s.rail, 0, 1e-7);
    circuit_capacitor(c, "C4", vs, 0, 1e-5), circuit_capacitor(c, "C6", sw, 0, 1e-7);
    return s;
}

enum { PROBES = 4 };
static void probes_of(const Small *s, CircuitProbe probes[PROBES]) {
    probes[0] = (CircuitProbe){.what = PROBE_VOLTAGE, .plus = s->rail};
    probes[1] = (CircuitProbe){.what = PROBE_VOLTAGE, .plus = s->base};
    probes[2] = (CircuitProbe){.what = PROBE_CURRENT, .element = s->motor};
    probes[3] = (CircuitProbe){.what = PROBE_POWER, .element = s->motor};
}

static void measure_samples(const Small *s) {
    CircuitSolver *solver = solver_for(s->arena, s->circuit);
    CircuitVary vary[20];
    uint32_t count = 0;
    for (unsigned i = 0; i < 13; i++) vary[count++] = (CircuitVary){s->resistors[i], RESISTOR_OHMS};
    vary[count++] = (CircuitVary){3, BIPOLAR_FORWARD}, vary[count++] = (CircuitVary){4, BIPOLAR_FORWARD};
    vary[count++] = (CircuitVary){3, BIPOLAR_SATURATION}, vary[count++] = (CircuitVary){s->motor, MOTOR_OHMS};
    vary[count++] = (CircuitVary){0, BATTERY_OHMS}, vary[count++] = (CircuitVary){8, PIN_HIGH_OHMS},
    vary[count++] = (CircuitVary){0, BATTERY_CHARGE};
    double *values = arena_many(s->arena, double, SAMPLES *count), *out = arena_many(s->arena, double, SAMPLES *PROBES);
    bool *solved = arena_many(s->arena, bool, SAMPLES);
    for (uint32_t i = 0; i < SAMPLES * count; i++) {
        CircuitVary v = vary[i % count];
        double spread = v.parameter == BIPOLAR_FORWARD && v.element <= 4 ? 0.5 : 0.1;
        values[i] = circuit_value(s->circuit, v.element, v.parameter) * (1 - spread * random_unit());
    }
    CircuitProbe probes[PROBES];
    probes_of(s, probes);
    double best = INFINITY;
    uint32_t fine = 0;
    for (int run = 0; run < RUNS; run++) {
        double before = measure_seconds();
        fine = circuit_sample(solver, (CircuitSampling){vary, values, count, SAMPLES, probes, PROBES, out, solved});
        best = fmin(best, measure_seconds() - before);
    }
    char value[100];
    snprintf(value, sizeof value, "%.3f s (%u of %d solved, %u parts, %u vary)", best, fine, SAMPLES,
             circuit_element_count(s->circuit), count);
    measure_print("circuit, 10,000 tolerance samples", value, "under 0.5 s", "-", "-",
                  best < BAR_SAMPLES && fine == SAMPLES);
    circuit_solver_free(solver);
}

/* What each single fault would read: in turn a value ten times off, an open leg, and a wrong join, each a circuit of its
 * own. */
static bool solve_fault(const Small *s, uint32_t number, double *rail) {
    Arena *arena = arena_new();
    Circuit *copy = circuit_copy(arena, s->circuit);
    uint32_t element = number % circuit_element_count(copy), way = number / circuit_element_count(copy) % 3;
    unsigned terminals = circuit_kind(circuit_kind_of(copy, element))->terminals;
    if (way == 0)
        circuit_set(copy, element, 0,
                    circuit_value(copy, element, 0) * (circuit_kind_of(copy, element) == CIRCUIT_RESISTOR ? 10 : 1));
    if (way == 1) circuit_move(copy, element, number % terminals, circuit_node(copy, TEXT("open"), 0));
    if (way == 2) {
        CircuitNode a = 1 + number % (circuit_node_count(copy) - 1), b = number / 7 % circuit_node_count(copy);
        if (a != b) circuit_resistor(copy, "join", a, b, 0.01);
    }
    CircuitFault fault;
    CircuitSolver *solver = circuit_solver_new(arena, copy, (CircuitOptions){.leak = 1e-12}, &fault);
    bool fine = solver != NULL && circuit_solve(solver, &fault);
    *rail = fine ? circuit_voltage(solver, s->rail) : 0;
    if (!fine) fprintf(stderr, "bench_circuit: fault %u: %.*s\n", number, TEXT_ARG(fault.message));
    circuit_solver_free(solver);
    arena_free(arena);
    return fine;
}

static void measure_faults(const Small *s) {
    double best = INFINITY;
    uint32_t fine = 0;
    for (int run = 0; run < RUNS; run++) {
        double before = measure_seconds();
        fine = 0;
#pragma omp parallel for num_threads(2) reduction(+ : fine) schedule(dynamic, 8)
        for (uint32_t i = 0; i < FAULTS; i++) {
            double rail;
            fine += solve_fault(s, i, &rail);
        }
        best = fmin(best, measure_seconds() - before);
    }
    char value[100];
    snprintf(value, sizeof value, "%.3f s (%u of %d solved)", best, fine, FAULTS);
    measure_print("circuit, 1,000 single faults", value, "under 0.5 s", "-", "-", best < BAR_FAULTS && fine == FAULTS);
}

int main(void) {
    measure_large_step("ladder, a diode every fourth node", ladder);
    measure_large_step("ladder, a diode every node", ladder_of_diodes);
    measure_large_step("mesh", mesh);
    Small s = small_new();
    measure_step("30 parts", s.arena, s.circuit);
    measure_samples(&s);
    measure_faults(&s);
    arena_free(s.arena);
    measure_growth("ladder", ladder);
    measure_growth("mesh", mesh);
    return 0;
}
