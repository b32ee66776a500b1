/* What the files of the solver share. Private to the room.
 *
 * Circuit   what the caller described
 * Form      the equations of one kind of element, over its own few unknowns
 * Plan      a circuit's unknowns, the pattern of its matrix, and where each entry of each element goes: made once, then
 * only read, by any number of threads Work      one thread's numbers: parameters, unknowns, matrix, factors
 *
 * Every element gives F(x) + dQ(x)/dt = 0 over its local unknowns: first its terminals' voltages, whose rows are the
 * currents that flow into it, then its inner unknowns, each with a row of its own. Q are charges, fluxes, angular momenta.
 * At rest the second term is left out; in time it is alpha (Q - Q0) - beta Q'0, by which rule of integration alpha and beta
 * say. */
#ifndef UNPICK_CIRCUIT_INSIDE_H
#define UNPICK_CIRCUIT_INSIDE_H

#include "circuit/circuit.h"

#include <math.h>
#include <suitesparse/klu.h>

enum {
    LOCAL_MOST = 6, /* unknowns of one element */
    MEMORY_MOST = 3 /* voltages it remembers between iterations */
};

typedef struct World {
    double vt;           /* kT/q, V */
    double time, middle; /* s; middle: inside the step, tells on which side of a corner it lies. Negative: before all */
    double scale;        /* of independent sources, while they are raised step by step; else 1 */
    double gmin;         /* S across each junction */
    double shunt;        /* S from each node to the reference: leak, and more while it is lowered step by step */
    double alpha, beta;  /* alpha 0: at rest */
} World;

/* One element's equations at one point, added to what others gave: its row r to f[row[r]], the derivative of row r by
 * unknown u to j[slot[r * k + u]]. Its charges q (k) and their derivatives c (k x k, row by row) are its own, zero before.
 */
typedef struct Local {
    const double *p; /* parameters */
    const double *x; /* unknowns, k of them */
    double *f, *j;
    const uint32_t *row;
    const int *slot;
    double *q, *c; /* NULL when nothing asks for them */
    unsigned k;
    const World *world;
    double *memory; /* voltages of the iteration before, NAN at first; NULL: no limiting */
    bool limited;   /* out: the equations are those at another point, and their tangent there */
} Local;

/* The rows and slots of an element that stands alone: f of size k, j of k x k, row by row. */
extern const uint32_t LOCAL_ROWS[LOCAL_MOST];
extern const int LOCAL_SLOTS[LOCAL_MOST * LOCAL_MOST];

typedef struct Form {
    unsigned k, terminals, memory;
    bool linear, dynamic;
    const char *pattern; /* rows of 'x' (may be nonzero) and '.', with blanks between */
    const char *inner;   /* a letter for each inner unknown: 'v' a node, 'i' a current, 'o' another quantity */
    void (*evaluate)(Local *local);
    void (*start)(const double *p, double *q); /* Q when a run starts from rest; NULL: zero */
    const char
        *ties; /* a letter for each terminal: those of one letter conduct to each other at rest; '.' conducts to none */
} Form;

/* ---- elements: one file a subject ---- */
void element_resistor(Local *local);
void element_resistor_low(Local *local);
void element_capacitor(Local *local);
void element_capacitor_start(const double *p, double *q);
void element_inductor(Local *local);
void element_inductor_start(const double *p, double *q);
void element_switch(Local *local);
void element_thermistor(Local *local);
void element_voltage(Local *local);
void element_current(Local *local);
void element_vcvs(Local *local);
void element_vccs(Local *local);
void element_cccs(Local *local);
void element_ccvs(Local *local);
void element_diode(Local *local);
void element_diode_series(Local *local);
void element_bipolar(Local *local);
void element_mosfet(Local *local);
void element_motor(Local *local);
void element_motor_start(const double *p, double *q);
void element_battery(Local *local);
void element_battery_start(const double *p, double *q);
void element_regulator(Local *local);
void element_opamp(Local *local);
void element_comparator(Local *local);
void element_optocoupler(Local *local);
void element_pin(Local *local);
void element_electret(Local *local);

/* A current i from terminal a through the element to terminal b, and its slope against the voltage between c and d. */
static inline void local_row(Local *l, unsigned row, double value) { l->f[l->row[row]] += value; }
/* How a row hangs on an unknown. */
static inline void local_entry(Local *l, unsigned row, unsigned x, double g) { l->j[l->slot[row * l->k + x]] += g; }
static inline void local_flow(Local *l, unsigned a, unsigned b, double i) { local_row(l, a, i), local_row(l, b, -i); }
static inline void local_slope(Local *l, unsigned a, unsigned b, unsigned x, double g) {
    local_entry(l, a, x, g), local_entry(l, b, x, -g);
}
static inline void local_steer(Local *l, unsigned a, unsigned b, unsigned c, unsigned d, double g) {
    local_slope(l, a, b, c, g), local_slope(l, a, b, d, -g);
}
static inline void local_conduct(Local *l, unsigned a, unsigned b, double i, double g) {
    local_flow(l, a, b, i), local_steer(l, a, b, a, b, g);
}
/* A charge `farads` times the voltage from a to b. */
static inline void local_charge(Local *l, unsigned a, unsigned b, double farads) {
    if (l->q == NULL) return;
    double q = farads * (l->x[a] - l->x[b]);
    l->q[a] += q, l->q[b] -= q;
    l->c[a * l->k + a] += farads, l->c[b * l->k + b] += farads;
    l->c[a * l->k + b] -= farads, l->c[b * l->k + a] -= farads;
}

/* ---- junction.c: exponentials that stay finite, and steps that stay small ---- */
/* A function's value and slope. */
typedef struct Slope {
    double y, dy;
} Slope;
Slope slope_exp(double x);                    /* e^x, going on along its tangent beyond x = EXP_MOST */
Slope slope_positive(double x, double width); /* max(x, 0) with a rounded corner */
Slope slope_bounded(double x);                /* x / sqrt(1 + x^2): from -1 to 1, slope 1 at 0 */
Slope slope_tanh(double x);
/* A diode's current and conductance: saturation (e^(v / nvt) - 1), without gmin. */
Slope junction(double v, double saturation, double nvt);
/* The voltage at which to take a junction in this iteration; remembers it. */
double junction_limit(Local *local, unsigned slot, double v, double saturation, double nvt);
/* The same for a voltage that must not move by more than `most`. */
double voltage_limit(Local *local, unsigned slot, double v, double most);

/* ---- source.c ---- */
double wave_value(const double *source, const World *world);
double wave_next(const double *source, double time); /* the next corner after `time`; INFINITY: none */
double pin_level(const double *pin, const World *world);
double pin_next(const double *pin, double time);

/* ---- circuit.c ---- */
typedef struct Node {
    Text name;
    uint32_t tag;
} Node;
typedef struct Element {
    Text name;
    CircuitKind kind;
    uint32_t tag, parameter, terminal; /* the latter two: offsets into values and at */
} Element;
struct Circuit {
    Arena *arena;
    LIST(Node) nodes;
    LIST(Element) elements;
    LIST(double) values;
    LIST(CircuitNode) at;
};

/* ---- kinds.c ---- */
const Form *form_of(CircuitKind kind, const double *p);
bool kind_allows(CircuitKind kind, unsigned parameter, double value);

/* ---- build.c ---- */
enum { SPILL = 8 /* places beyond the matrix for what falls away: several, so that none waits for the one before */ };
typedef struct Part {
    const Form *form;
    uint32_t parameter, unknown, slot, memory, state; /* offsets; state: UINT32_MAX when there is none */
} Part;
typedef struct Plan {
    Arena *arena;
    const Circuit *circuit;
    uint32_t n, nodes;    /* unknowns; the first nodes - 1 are node voltages. Unknown n stands for the reference */
    Part *parts;          /* size element count */
    Part *linear, *other; /* the same by sort, so that what an iteration needs lies together */
    uint32_t *unknowns;   /* of each part, k of them: at part.unknown */
    int *slots;        /* of each part's k x k places: index into the matrix's values, in the spill for what falls away */
    int *column, *row; /* compressed columns: size n + 1, entries */
    int *diagonal;     /* size n: its slot for node voltages, in the spill for the others */
    int entries;
    char *sorts;       /* size n: 'v', 'i' or 'o' */
    uint32_t *dynamic; /* parts by number */
    uint32_t linear_count, other_count, dynamic_count, memory, states, values;
    klu_symbolic *symbolic;
} Plan;
Plan *plan_new(Arena *arena, const Circuit *circuit);
bool plan_analyse(Plan *plan); /* false: no memory */
void plan_free(Plan *plan);

/* ---- work.c ---- */
typedef struct Work {
    const Plan *plan;
    World world;
    double *values;                /* parameters, each part's at part.parameter */
    double *x, *f, *dx, *left;     /* size n + 1; x[n] is 0; left: what a solution misses */
    double *a, *base;              /* size entries + SPILL: the matrix; what the linear elements give */
    double *base_f;                /* size n + 1: their rows at x = 0 */
    double *memory;                /* of limited voltages */
    double *q, *q0, *rate, *rate0; /* states, and their rates of change */
    klu_numeric *numeric;
    klu_common common;
    uint32_t iterations, iterations_end; /* so far; where to give up, 0: nowhere */
    bool factored;                       /* of a matrix that only linear elements made, which hasn't changed since */
    bool has_answer;
    double *marked; /* values, x and memory as circuit_mark found them, one behind the other; NULL: no mark */
    int singular;   /* the unknown where the last factorisation ended */
} Work;
Work work_new(Arena *arena, const Plan *plan);
void work_free(Work *work);
bool work_vary(Work *work, uint32_t element, unsigned parameter, double value); /* false: its form doesn't allow it */

/* ---- answer.c ---- */
double work_voltage(const Work *work, CircuitNode node);
double work_probe(const Work *work, const double *values, CircuitProbe probe);
/* The same when many are asked: the currents of the element that was asked for last are kept. */
typedef struct Currents {
    double i[LOCAL_MOST];
    uint32_t element;
    bool known;
} Currents;
double work_probe_after(const Work *work, const double *values, CircuitProbe probe, Currents *last);

struct CircuitSolver {
    Arena *arena;
    Plan *plan;
    CircuitOptions options;
    Work work;
};

/* ---- stamp.c ---- */
void stamp_linear(Work *work); /* after parameters, world or step have changed */
bool stamp(Work *work);        /* a and f at x; true when no voltage was limited */
/* One part's rows and slopes at x, without limiting; q and c may be NULL. */
void stamp_local(const Work *work, const double *values, uint32_t part, double *f, double *j, double *q, double *c);
void stamp_states(Work *work, double *slope); /* q at x; slope: sums of |dq/dx| of each state, or NULL */
void stamp_start(Work *work);                 /* q as a run from rest starts */

/* ---- matrix.c ---- */
bool matrix_factor(Work *work); /* false: singular */
void matrix_solve(Work *work);  /* dx = A \ -f */
bool matrix_check(
    Work *work); /* sees that dx is that, and pivots anew when the old pivots no longer serve; false: singular */
bool matrix_solve_transposed(Work *work, double *b);

/* ---- newton.c ---- */
typedef enum Newton { NEWTON_DONE, NEWTON_TIRED, NEWTON_SINGULAR, NEWTON_WILD } Newton;
Newton newton(Work *work, unsigned most);
void newton_forget(Work *work); /* no limited voltages, no answer */
void newton_trust(Work *work);  /* takes x as near the answer: the next limited voltages are those there */
bool newton_finite(const Work *work);

/* ---- homotopy.c ---- */
Newton rest_find(Work *work);

/* ---- check.c and fault.c ---- */
bool check_shape(Arena *arena, const Circuit *circuit, CircuitOptions options, CircuitFault *fault);
bool check_values(Arena *arena, const Circuit *circuit, CircuitFault *fault);
void fault_node(CircuitFault *fault, CircuitNode node);
void fault_element(CircuitFault *fault, uint32_t element);
/* `R1, R2 and 3 more` */
void fault_names(Out *out, const Circuit *circuit, const CircuitFault *fault, bool nodes, uint32_t all);
void fault_newton(CircuitSolver *solver, Newton end, CircuitFault *fault);

#endif
