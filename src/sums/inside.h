/* What the files of this room share.
 *
 * The order of work: models.c and terms.c (from lore to parameters), wire.c (a mode's circuit, once for all that follows),
 * solve.c (its answer, and what each figure hangs on), suppose.c (the same with a mistake in it), fit.c (all readings of
 * all modes at once against them), range.c (95 % and worst case), compare.c, mistakes.c (what could be wrong) and explain.c
 * (which of it would explain the readings), tell.c (claims and questions). */
#ifndef UNPICK_SUMS_INSIDE_H
#define UNPICK_SUMS_INSIDE_H

#include "sums/models.h"

enum {
    PHASES_MOST = 4,     /* states of switching pins that are solved for one mode: two such pins */
    READINGS_MOST = 128, /* that are weighed together */
};

/* ---- a mistake supposed (mistakes.c) ---- */

typedef struct Change {
    Mistake mistake;
    bool wires; /* false: it is about a reading, and the circuit is as noted */
    uint32_t part;
    uint32_t pin;                        /* joint: the pin that hangs in the air; drive: the pin driven otherwise */
    uint32_t nets[2];                    /* join: these; short: none */
    uint32_t unit;                       /* turned, family, polarity: the unit */
    unsigned char order[KIND_PINS_MOST]; /* turned: position p has the pin noted for position order[p] */
    const BenchKind *kind;               /* family, polarity: taken as this */
    double value;     /* band, power, guess: the value; load: ohm; short: ohm; decimal: what to multiply the reading with */
    double low, high; /* of the value */
    Text how;         /* band, turned: what was taken for what; empty: not said */
    uint32_t mode;    /* flat, drive, load, switch: only in this mode; BENCH_NONE: all */
    PinState state;   /* drive */
    uint32_t reading, observed; /* decimal, place, slip: of the bench; of the fit */
    double decibans;            /* its rarity, with whatever speaks for or against it */
} Change;

/* ---- a mode's circuit (wire.c) ---- */

typedef struct Spot { /* where a parameter acts */
    uint32_t element;
    unsigned parameter;
    double whole; /* 0: there it is itself; else what it leaves of this is */
} Spot;

typedef struct Wired {
    uint32_t id; /* the same in all circuits made of one bench */
    SumsParameter is;
    const ModelSet *set; /* of the model; NULL: of what is supposed */
    double at;           /* what the circuit has it set to */
    bool drop;           /* a drop of volts: the element's parameter is the saturation current that makes it */
    double drop_at, emission, ohms;
    LIST(Spot) places;
} Wired;

typedef struct PinEnd { /* a terminal that hangs on a pin of the bench */
    uint32_t pin, element;
    unsigned terminal;
    uint32_t before; /* another end of the same pin, plus one; 0: none */
} PinEnd;

typedef struct Wiring {
    Arena *arena;
    const Sums *sums;
    const struct Ids *ids;
    const Change *change;
    uint32_t mode, phase;
    bool tell; /* gather assumptions */
    Circuit *circuit;
    CircuitNode *node;      /* size nets.count; SUMS_NO_NODE: nothing of it is in the circuit */
    uint32_t *meter;        /* size nets.count: the source of no current at each net's node: where a meter would load it */
    uint32_t *first;        /* size parts.count + 1: the elements of part p are first[p] to first[p + 1] - 1 */
    LIST(uint32_t) unit_of; /* by element, as far as units made them */
    CircuitNode hanging;    /* the node of a pin whose joint is supposed to be open */
    LIST(PinEnd) ends;
    uint32_t *last_end;     /* size pins.count: the pin's last end, plus one; 0: none */
    uint32_t rail[2];       /* of the part being added: its pins for ground and for supply */
    LIST(Wired) parameters; /* by id, ascending */
    LIST(SumsAssumption) assumptions;
    LIST(uint32_t) blocked;
    uint32_t switching; /* pins that switch, counted so far */
    double weight;      /* share of the time of this phase */
} Wiring;

/* Numbers of parameters: those of unit u begin at first[u]; each set has one, or one a mode. */
typedef struct Ids {
    uint32_t *first; /* size units.count + 1 */
    uint32_t modes, count;
    bool other_source;           /* something feeds the circuit besides what is plugged in */
    const SumsParameter *fitted; /* size count + 1, those that are `fitted` as the readings narrowed them; NULL: none yet */
    const double *likely; /* size count + 1: what the readings make of each, in its standard deviations; NULL: not yet */
    bool exact;           /* even beyond their limits */
} Ids;

Ids *wire_ids(Arena *arena, const Sums *sums);
/* The circuit of one phase of a mode, every parameter as the readings make it, where they did. `change` may be NULL. */
Wiring *wire_mode(Arena *arena, const Sums *sums, const Ids *ids, uint32_t mode, uint32_t phase, const Change *change,
                  bool tell);
uint32_t wire_phases(const Sums *sums, uint32_t mode);
/* wire_parameters.c: sets an element's parameters as its model says, and lists them; whether all of them are known: a
 * resistor without ohms says nothing. */
void wire_parameters(Wiring *w, uint32_t unit, uint32_t part, uint32_t element, const ModelElement *model);
bool wire_can_be_set(Wiring *w, uint32_t part, const ModelElement *element);
/* Whether this mistake is supposed of this mode. */
bool wire_supposes(const Wiring *w, Mistake mistake);
/* The element that drives this pin of a chip; BENCH_NONE: none does. */
uint32_t wire_driver(const Wiring *w, uint32_t pin);
/* The resistor that the change supposes to draw current is a parameter from here on. */
void wire_load(Wiring *w, uint32_t element);
/* Sets the circuit's parameters, size parameters.count; what solvers have stays. */
void wire_set(Wiring *w, const double *values);
/* A cell's volts, where they are a parameter of its part, become those of a flat one. */
void wire_flat(const Wiring *w, const Change *change, Wired *wired);
/* A chip's own pin for supply or ground: by its name, else the first on a net that is such a rail; BENCH_NONE. */
uint32_t wire_rail(const Wiring *w, uint32_t part, bool supply);

/* What an element's parameter is when the parameter of the part is `value`; and d element / d part, for all places but for
 * the sign that `whole` makes. */
double wired_value(const Wired *wired, Spot place, double value);
double wired_slope(const Wired *wired, double value);

/* ---- its answer (solve.c) ---- */

typedef struct Solved {
    Arena *arena;
    Wiring *wiring[PHASES_MOST];
    CircuitSolver *solver[PHASES_MOST];
    CircuitVary *vary[PHASES_MOST];       /* every place of every parameter, in order */
    CircuitTangent *tangent[PHASES_MOST]; /* by those; NULL until it is asked for */
    double weight[PHASES_MOST];           /* of each phase, their sum 1 */
    double *now;                          /* size parameters.count: what each parameter is now */
    uint32_t phases, places;
    bool fine, stale; /* stale: something else was varied, and no answer is sought yet */
    bool tangents;    /* they are around the answer of now */
    CircuitFault fault;
} Solved;

typedef enum FigureSort { FIGURE_VOLTS, FIGURE_PIN, FIGURE_CURRENT, FIGURE_POWER, FIGURE_INNER } FigureSort;

typedef struct Figure { /* what is asked for: by net, pin, or part */
    FigureSort sort;
    uint32_t at, against; /* volts: against this net; BENCH_NONE: the ground */
} Figure;

typedef struct Weighed { /* a figure is a sum of probes */
    CircuitProbe probe;
    double factor;
} Weighed;
typedef LIST(Weighed) WeighedList;

/* Wires and solves all phases. Free it in any case. */
Solved solve_mode(Arena *arena, const Sums *sums, const Ids *ids, uint32_t mode, const Change *change, bool tell);
/* What solvers are for, made of wirings, which may start from the answers of others (NULL: from nothing); solved. */
void solved_make(Solved *solved, const Solved *from);
void solved_free(Solved *solved);
/* Sets the parameters and solves again, unless they are what they were. */
bool solved_move(Solved *solved, const double *values);
/* The probes of a figure in one phase; false: it has none in this circuit. */
bool figure_probes(Arena *arena, const Wiring *w, Figure figure, WeighedList *list);
/* The figure, and its slope over each wired parameter (size parameters.count; NULL: not asked). False: not in the circuit.
 */
bool solved_figure(Solved *solved, Figure figure, double *value, double *slopes);
/* Ohms that a meter sees between the net and the ground. */
double solved_ohms(Solved *solved, uint32_t net);
/* The same question for all nets at once, and less exactly: floats, size nets.count. */
void solved_floating(Solved *solved, bool *floats);

/* A parameter's value at t standard deviations from its middle, and d value / d t: its limits count as two (fit.c). */
double fit_value(const SumsParameter *is, double t);
double fit_rate(const SumsParameter *is, double t);

/* ---- a mode with one mistake in it (suppose.c) ---- */

typedef struct Supposed {
    Solved is;
    Solved *lent; /* whose solvers it has; NULL: its own */
} Supposed;

/* A small change of the mode as noted, whose solvers are lent for it where one parameter is all the change; to be moved, by
 * fit_move, before it is asked. `noted` must have been marked (solved_mark), and is as it was after supposed_end. */
Supposed suppose(Arena *arena, Solved *noted, const Ids *ids, const Change *change);
void supposed_end(Supposed *supposed);
void solved_mark(Solved *solved);

/* Whether it is of this kind, or of one that descends from it. */
bool kind_is(const Bench *bench, const BenchKind *kind, const char *what);

/* ---- terms (terms.c) ---- */

/* Fills part, typical, low, high, unit, ratio, source and lines; false when none of the set's terms is known. */
bool terms_value(Arena *arena, const Sums *sums, const Change *change, uint32_t part, const ModelSet *set,
                 SumsParameter *is);

/* ---- the stages ---- */

struct Fit;
/* Figures of a mode with their ranges (range.c). samples: 0 for as many as look may wait for. `index`: size ids->count + 1,
 * of a parameter in sums->parameters plus one, 0 until it has one. */
void range_mode(Sums *sums, const struct Fit *fit, uint32_t mode, Solved *solved, uint32_t samples, uint32_t *index);
void compare_all(Sums *sums, const struct Fit *fit);                /* compare.c */
void explain(Sums *sums, const struct Fit *fit, SumsEffort effort); /* explain.c */
/* What follows from the modes, as claims; `solved` by mode, as the readings narrowed them, NULL when nothing is. */
void follow_all(Sums *sums, Solved *solved); /* follow.c */
void sums_ask(Sums *sums, ReasonOpen open);  /* sums.c: a question, to the reasoning too */
void tell_all(Sums *sums);                   /* tell.c */

#endif
