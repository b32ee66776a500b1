/* Plain circuits in, voltages and currents out. Knows nothing of notes: a node and an element carry the caller's name and
 * number, so that the caller can say what they stand for.
 *
 *   1. Describe:    circuit_new, circuit_node, circuit_add, circuit_set, and shorthands for the commonest elements
 *   2. Solve:       circuit_solver_new, circuit_solve (rest), circuit_run (time)
 *   3. Read:        circuit_voltage, circuit_current, circuit_power, circuit_inner, circuit_probe
 *   4. Ask again:   circuit_vary and circuit_back, circuit_start (what if), circuit_tangent (what results hang on),
 *                   circuit_sample (many parameter sets)
 *
 * Modified nodal analysis (Ho, Ruehli, Brennan, IEEE Trans. CAS 22, 1975, from memory): unknowns are node voltages and the
 * currents of elements that fix a voltage. The sparse equations go to SuiteSparse KLU, analysed once, refactored after. All
 * quantities in SI units, temperatures in kelvin. Nothing here is shared between solvers: one thread each. */
#ifndef UNPICK_CIRCUIT_CIRCUIT_H
#define UNPICK_CIRCUIT_CIRCUIT_H

#include "base/list.h"
#include "base/text.h"

/* ---- 1. describe ---- */

typedef struct Circuit Circuit;
typedef uint32_t CircuitNode; /* 0 is the reference: its voltage is 0 */

/* Kinds, with their terminals in order. Parameters are listed below; circuit_kind tells their names, units and limits. */
typedef enum CircuitKind {
    CIRCUIT_RESISTOR,    /* a b */
    CIRCUIT_CAPACITOR,   /* a b */
    CIRCUIT_INDUCTOR,    /* a b */
    CIRCUIT_VOLTAGE,     /* + -   a source of voltage */
    CIRCUIT_CURRENT,     /* + -   a source of current, which flows from + through it to - */
    CIRCUIT_VCVS,        /* out+ out- in+ in-   voltage by voltage */
    CIRCUIT_VCCS,        /* out+ out- in+ in-   current by voltage */
    CIRCUIT_CCCS,        /* out+ out- in+ in-   current by current; in+ and in- are at one voltage */
    CIRCUIT_CCVS,        /* out+ out- in+ in-   voltage by current; in+ and in- are at one voltage */
    CIRCUIT_DIODE,       /* anode cathode   also Zener (breakdown) and LED (circuit_led) */
    CIRCUIT_BIPOLAR,     /* collector base emitter */
    CIRCUIT_MOSFET,      /* drain gate source, the body joined to the source */
    CIRCUIT_SWITCH,      /* a b */
    CIRCUIT_MOTOR,       /* + -   direct current, permanent magnets */
    CIRCUIT_BATTERY,     /* + - */
    CIRCUIT_REGULATOR,   /* in out ground   linear, positive */
    CIRCUIT_OPAMP,       /* in+ in- out supply+ supply- */
    CIRCUIT_COMPARATOR,  /* in+ in- out supply+ supply- */
    CIRCUIT_OPTOCOUPLER, /* anode cathode collector emitter */
    CIRCUIT_PIN,         /* pin supply ground   a chip's pin with its clamp diodes */
    CIRCUIT_SPEAKER,     /* + - */
    CIRCUIT_ELECTRET,    /* + -   capsule with its transistor */
    CIRCUIT_THERMISTOR,  /* a b   falling with temperature */
    CIRCUIT_KINDS
} CircuitKind;

enum { CIRCUIT_TERMINALS = 5, CIRCUIT_PARAMETERS = 16 }; /* the most of any kind */

/* Parameters by number. Those without a remark are what their name says. */
enum { RESISTOR_OHMS };
enum { CAPACITOR_FARADS, CAPACITOR_START /* V, when a run starts from rest */ };
enum { INDUCTOR_HENRYS, INDUCTOR_OHMS, INDUCTOR_START /* A */ };
enum { SPEAKER_HENRYS, SPEAKER_OHMS }; /* of the voice coil */
enum {
    SOURCE_WAVE,      /* a SourceWave */
    SOURCE_VALUE,     /* V or A: the constant; the lower level of pulse and square; the middle of the sine */
    SOURCE_TO,        /* V or A: the other level; the amplitude of the sine */
    SOURCE_FREQUENCY, /* Hz; pulse: 0 comes once */
    SOURCE_DUTY,      /* square: share of the period at the other level */
    SOURCE_DELAY,     /* s before anything moves; until then (and at rest) it has its value */
    SOURCE_RISE,      /* s, pulse and square; 0: at once */
    SOURCE_FALL,      /* s */
    SOURCE_WIDTH,     /* s, pulse: between rise and fall */
    SOURCE_PHASE      /* rad, sine */
};
typedef enum SourceWave { SOURCE_CONSTANT, SOURCE_PULSE, SOURCE_SINE, SOURCE_SQUARE } SourceWave;
enum { CONTROLLED_GAIN /* V/V, A/V, A/A, V/A */ };
enum {
    DIODE_SATURATION, /* A */
    DIODE_EMISSION,   /* n */
    DIODE_OHMS,       /* in series; below 1 uohm counts as none */
    DIODE_BREAKDOWN,  /* V, positive; 0: never */
    DIODE_KNEE,       /* A, at the breakdown voltage */
    DIODE_SHARPNESS,  /* n of the breakdown: its slope is sharpness x 26 mV / current */
    DIODE_FARADS      /* across it, constant */
};
enum {
    BIPOLAR_SIGN,       /* 1 npn, -1 pnp */
    BIPOLAR_SATURATION, /* A */
    BIPOLAR_FORWARD,    /* current gain forward */
    BIPOLAR_REVERSE,    /* current gain reversed */
    BIPOLAR_EARLY,      /* V; 0: none */
    BIPOLAR_KNEE,       /* A where the gain falls off; 0: never */
    BIPOLAR_EMISSION,
    BIPOLAR_BE_FARADS,
    BIPOLAR_BC_FARADS
};
enum {
    MOSFET_SIGN,      /* 1 n-channel, -1 p-channel; enhancement or depletion by the threshold */
    MOSFET_THRESHOLD, /* V, in the channel's own sense: positive for both enhancement kinds */
    MOSFET_GAIN,      /* A/V^2: beta = k' W / L */
    MOSFET_LAMBDA,    /* 1/V */
    MOSFET_BODY,      /* A, saturation current of the body diode; 0: none */
    MOSFET_GS_FARADS,
    MOSFET_GD_FARADS
};
enum { SWITCH_CLOSED /* 0 or 1 */, SWITCH_OHMS /* closed; may be 0 */, SWITCH_SIEMENS /* open; may be 0 */ };
enum {
    MOTOR_OHMS,
    MOTOR_HENRYS,
    MOTOR_CONSTANT, /* V s/rad, and N m/A */
    MOTOR_INERTIA,  /* kg m^2 */
    MOTOR_VISCOUS,  /* N m s */
    MOTOR_FRICTION, /* N m, dry */
    MOTOR_LOAD,     /* N m, against the turning like dry friction */
    MOTOR_STALLED,  /* 1: the shaft is held */
    MOTOR_START     /* rad/s, when a run starts from rest */
};
enum { BATTERY_POINTS = 11 };
enum {
    BATTERY_CHARGE,     /* share left, 0 ... 1 */
    BATTERY_CAPACITY,   /* A s */
    BATTERY_OHMS,       /* full */
    BATTERY_OHMS_EMPTY, /* at no charge; between them in proportion */
    BATTERY_VOLTS       /* BATTERY_POINTS of them: open-circuit volts at 0, 10 ... 100 % */
};
enum {
    REGULATOR_VOLTS,
    REGULATOR_DROPOUT, /* V, least between in and out */
    REGULATOR_QUIET,   /* A out of ground, with or without load */
    REGULATOR_MOST,    /* A, where it limits */
    REGULATOR_OHMS     /* of its output */
};
enum {
    OPAMP_GAIN,  /* V/V at rest */
    OPAMP_HERTZ, /* gain x bandwidth */
    OPAMP_SLEW,  /* V/s */
    OPAMP_ABOVE, /* V: the output stays so far below supply+ */
    OPAMP_BELOW, /* V: and so far above supply- */
    OPAMP_OHMS,  /* of its output */
    OPAMP_MOST,  /* A out of its output */
    OPAMP_QUIET, /* A, supply+ to supply- */
    OPAMP_OFFSET /* V, added to in+ */
};
enum {
    COMPARATOR_GAIN,  /* 1/V: how sharply it changes sides */
    COMPARATOR_DELAY, /* s */
    COMPARATOR_OPEN,  /* 1: pulls down only (open collector) */
    COMPARATOR_OHMS,  /* of its output, either way */
    COMPARATOR_QUIET, /* A */
    COMPARATOR_OFFSET /* V, added to in+ */
};
enum {
    OPTO_RATIO,      /* current transfer ratio: collector over diode current */
    OPTO_SATURATION, /* A, of the diode */
    OPTO_EMISSION,
    OPTO_KNEE /* V, collector to emitter, where it saturates */
};
enum {
    PIN_STATE,     /* a PinState */
    PIN_HIGH_OHMS, /* to the supply when high */
    PIN_LOW_OHMS,  /* to ground when low */
    PIN_CLAMP,     /* A, saturation current of the clamp diodes; 0: none */
    PIN_FREQUENCY, /* Hz, when it is switching */
    PIN_DUTY
};
typedef enum PinState { PIN_LOW, PIN_HIGH, PIN_OPEN, PIN_SWITCHING /* low at rest */ } PinState;
enum { ELECTRET_AMPERES, ELECTRET_KNEE /* V */ };
enum { THERMISTOR_OHMS /* at 25 degC */, THERMISTOR_BETA /* K */, THERMISTOR_KELVIN /* its temperature now */ };

typedef struct CircuitParameter {
    const char *name, *unit;
    double usual, low, high; /* what it is unless set; limits, inclusive */
} CircuitParameter;

typedef struct CircuitKindFacts {
    const char *name;
    unsigned terminals, parameters;
    const char *terminal[CIRCUIT_TERMINALS];
    CircuitParameter parameter[CIRCUIT_PARAMETERS];
    const char *inner[2]; /* what circuit_inner gives, with its unit; NULL: nothing */
} CircuitKindFacts;

const CircuitKindFacts *circuit_kind(CircuitKind kind);

Circuit *circuit_new(Arena *arena);
/* A new node. The name is kept, not copied; tag is the caller's own. */
CircuitNode circuit_node(Circuit *circuit, Text name, uint32_t tag);
/* A new element with its usual parameters; `nodes` has as many as its kind has terminals. Gives its number, from 0. A
 * circuit that solvers already exist for must not grow. */
uint32_t circuit_add(Circuit *circuit, CircuitKind kind, Text name, uint32_t tag, const CircuitNode *nodes);
/* Any double may be set; a value outside its limits is refused, by name, when a solver is made. */
void circuit_set(Circuit *circuit, uint32_t element, unsigned parameter, double value);
double circuit_value(const Circuit *circuit, uint32_t element, unsigned parameter);
uint32_t circuit_node_count(const Circuit *circuit); /* the reference included */
uint32_t circuit_element_count(const Circuit *circuit);
Text circuit_node_name(const Circuit *circuit, CircuitNode node);
uint32_t circuit_node_tag(const Circuit *circuit, CircuitNode node);
CircuitKind circuit_kind_of(const Circuit *circuit, uint32_t element);
Text circuit_name(const Circuit *circuit, uint32_t element);
uint32_t circuit_tag(const Circuit *circuit, uint32_t element);
CircuitNode circuit_at(const Circuit *circuit, uint32_t element, unsigned terminal);
/* A circuit of its own, on `arena`, to change for a "what if": names are shared. */
Circuit *circuit_copy(Arena *arena, const Circuit *circuit);
/* Moves one terminal to another node: a joint that is open (a new node) or goes elsewhere. */
void circuit_move(Circuit *circuit, uint32_t element, unsigned terminal, CircuitNode to);

/* Shorthands: circuit_add for elements of two terminals with their first parameter set. */
uint32_t circuit_resistor(Circuit *circuit, const char *name, CircuitNode a, CircuitNode b, double ohms);
uint32_t circuit_capacitor(Circuit *circuit, const char *name, CircuitNode a, CircuitNode b, double farads);
uint32_t circuit_inductor(Circuit *circuit, const char *name, CircuitNode a, CircuitNode b, double henrys);
uint32_t circuit_source(Circuit *circuit, const char *name, CircuitNode plus, CircuitNode minus, double volts);
uint32_t circuit_current_source(Circuit *circuit, const char *name, CircuitNode plus, CircuitNode minus, double amperes);

typedef enum CircuitColour {
    LED_INFRARED,
    LED_RED,
    LED_ORANGE,
    LED_YELLOW,
    LED_GREEN_OLD /* GaP */,
    LED_GREEN /* InGaN */,
    LED_BLUE,
    LED_WHITE,
    LED_ULTRAVIOLET,
    LED_COLOURS
} CircuitColour;
/* Makes a diode of that colour's light-emitting diode: typical, led.c says from where. */
void circuit_led(Circuit *circuit, uint32_t diode, CircuitColour colour);
/* Makes a diode drop v1 at i1 and v2 at i2 (i2 > i1 > 0) with `ohms` in series. False, and nothing set, when no diode does.
 */
bool circuit_fit_diode(Circuit *circuit, uint32_t diode, double v1, double i1, double v2, double i2, double ohms);
/* Makes a Zener diode: `volts` at `amperes` with the slope `ohms` there, as data sheets give them. */
bool circuit_fit_zener(Circuit *circuit, uint32_t diode, double volts, double amperes, double ohms);

/* ---- 2. solve ---- */

typedef enum CircuitTrouble {
    CIRCUIT_FINE,
    CIRCUIT_BAD_VALUE,    /* a parameter outside its limits */
    CIRCUIT_FLOATING,     /* nodes that nothing ties to the reference */
    CIRCUIT_ONLY_SOURCES, /* nodes that only sources of current feed */
    CIRCUIT_LOOP,         /* a loop of elements that each fix a voltage */
    CIRCUIT_SINGULAR,     /* no unique answer for another reason */
    CIRCUIT_NO_ANSWER,    /* none found within the iterations allowed */
    CIRCUIT_TOO_SLOW,     /* a run that took all its steps before its end */
    CIRCUIT_TOO_LARGE     /* no memory for its equations */
} CircuitTrouble;

enum { CIRCUIT_NAMED = 8 }; /* the most nodes and elements that a fault lists */

typedef struct CircuitFault {
    CircuitTrouble trouble;
    Text message, hint; /* on the circuit's solver; names nodes and elements */
    CircuitNode nodes[CIRCUIT_NAMED];
    uint32_t elements[CIRCUIT_NAMED];
    uint32_t node_count, element_count;
} CircuitFault;

typedef struct CircuitOptions {
    double kelvin;            /* of all junctions; 0: 300.15 */
    double leak;              /* S from each node to the reference, so that floating nodes have an answer; 0: none */
    uint32_t iterations_most; /* Newton steps for one state of rest, all means together; 0: several thousand */
    bool for_time;            /* the solver will start from rest: capacitors tie nodes together and inductors break loops */
} CircuitOptions;

typedef struct CircuitSolver CircuitSolver;

/* NULL when the circuit has a bad value or no unique answer by its shape; *fault says which (its texts on `arena`). The
 * circuit must outlive the solver. */
CircuitSolver *circuit_solver_new(Arena *arena, const Circuit *circuit, CircuitOptions options, CircuitFault *fault);
void circuit_solver_free(CircuitSolver *solver); /* what KLU holds; NULL is fine */

/* Finds the state of rest: capacitors carry no current, inductors have no voltage, motors run steadily, batteries have the
 * charge they were given. Newton's method with limited junctions; then with conductance from every node to the reference,
 * lowered step by step; then with the sources raised step by step. Bounded time. Starts from the answer before, if any. */
bool circuit_solve(CircuitSolver *solver, CircuitFault *fault);
typedef struct CircuitRun {
    double until;        /* s */
    double step_most;    /* s; 0: a fiftieth of the run */
    double tolerance;    /* local error, as a share of each charge's or flux's largest value so far; 0: 1e-4 */
    uint32_t steps_most; /* 0: 1,000,000 */
    bool from_rest;      /* from CAPACITOR_START, INDUCTOR_START, motors at rest; else from circuit_solve's answer */
    /* Told of each accepted point, the first at 0 s; the solver may be read. False ends the run, which then succeeded. */
    bool (*watch)(void *context, const CircuitSolver *solver, double seconds);
    void *context;
} CircuitRun;

/* Follows the circuit through time: trapezoidal rule with its step by the local truncation error, backward Euler for the
 * two steps after a corner of a source. Afterwards the solver holds the last point. */
bool circuit_run(CircuitSolver *solver, CircuitRun run, CircuitFault *fault);
double circuit_seconds(const CircuitSolver *solver);
uint32_t circuit_iterations(const CircuitSolver *solver); /* Newton steps so far, all together */

/* ---- 3. read ---- */

double circuit_voltage(const CircuitSolver *solver, CircuitNode node);
/* The current that flows from the node into this terminal, computed from the element's own equation. */
double circuit_current(const CircuitSolver *solver, uint32_t element, unsigned terminal);
/* Taken in through all terminals together, in W; negative for what gives power. */
double circuit_power(const CircuitSolver *solver, uint32_t element);
/* What an element keeps inside: circuit_kind(kind)->inner says what (motor: rad/s; battery: A s left; amplifier: its
 * drive). */
double circuit_inner(const CircuitSolver *solver, uint32_t element, unsigned which);

typedef enum CircuitWhat { PROBE_VOLTAGE, PROBE_CURRENT, PROBE_POWER, PROBE_INNER } CircuitWhat;
typedef struct CircuitProbe {
    CircuitWhat what;
    CircuitNode plus, minus; /* voltage: between these */
    uint32_t element;
    unsigned which; /* terminal, or inner quantity */
} CircuitProbe;
double circuit_probe(const CircuitSolver *solver, CircuitProbe probe);

/* ---- 4. ask again ---- */

/* Changes a parameter for this solver alone. False (nothing changed) when it is outside its limits. */
bool circuit_vary(CircuitSolver *solver, uint32_t element, unsigned parameter, double value);
/* Remembers the solver's parameters and answer; circuit_back goes back to them, as often as one likes. */
void circuit_mark(CircuitSolver *solver);
void circuit_back(CircuitSolver *solver);
/* Lets the next circuit_solve start from the answer of another solver, whose circuit this one's is a changed copy of (nodes
 * and elements by number; what was moved to a new node starts at the voltage of the old). Nothing when that has none. */
void circuit_start(CircuitSolver *solver, const CircuitSolver *from);

typedef struct CircuitVary {
    uint32_t element;
    unsigned parameter;
} CircuitVary;

/* The equations around a solved state of rest, made once and asked often: one solution of the transposed equations gives a
 * probe's slope by every parameter, whatever their number (adjoint method: Director and Rohrer, IEEE Trans. Circuit Theory
 * 16, 1969, from memory). */
typedef struct CircuitTangent CircuitTangent;
/* For `count` parameters; `vary` is kept. Nothing can be asked before circuit_tangent_take. */
CircuitTangent *circuit_tangent_new(Arena *arena, CircuitSolver *solver, const CircuitVary *vary, uint32_t count);
/* Around the answer that the solver has now, until it is varied or solved again. False: it has none at rest, or the
 * equations can't be solved. */
bool circuit_tangent_take(CircuitTangent *tangent);
/* d probe / d parameter, size count. False when one is no number. */
bool circuit_tangent_slopes(CircuitTangent *tangent, CircuitProbe probe, double *out);
/* Ohms between the node and the reference, as a meter sees them: d voltage / d current pushed into it. */
double circuit_tangent_ohms(CircuitTangent *tangent, CircuitNode node);
/* The same for one probe alone: takes the tangent for it. */
bool circuit_sensitivity(CircuitSolver *solver, CircuitProbe probe, const CircuitVary *vary, uint32_t count, double *out);

typedef struct CircuitSampling {
    const CircuitVary *vary;
    const double *values; /* sets x vary_count, a set after the other */
    uint32_t vary_count, sets;
    const CircuitProbe *probes;
    uint32_t probe_count;
    double *out;  /* sets x probe_count; 0 where not solved */
    bool *solved; /* size sets */
} CircuitSampling;
/* Solves the state of rest for many sets of parameters, each starting from the solver's own answer, on two threads. What a
 * set doesn't name stays as it is. Gives how many were solved; a set with a value outside its limits isn't. */
uint32_t circuit_sample(const CircuitSolver *solver, CircuitSampling sampling);

#endif
