/* What the circuit of a teardown does in each mode, with tolerances, beside what the meter read.
 *
 *   1. sums_models_new   how kinds of part become elements of a circuit: `model` entries of the lore, read once
 *   2. sums_about        one plain circuit a mode, solved, with ranges; readings compared; what would explain those that
 *                        differ. Claims and open questions go to the reasoning, so that whatever tells it tells them too
 *   3. sums_again        the same sums for a bench on which they have not changed
 *   4. sums_mode         for what is built on the sums
 *
 * Voltages are against the net that was taken as ground. All figures in SI units. Everything lives on the arena handed in,
 * and nothing here changes a bench. */
#ifndef UNPICK_SUMS_SUMS_H
#define UNPICK_SUMS_SUMS_H

#include "circuit/circuit.h"
#include "reason/reason.h"

typedef struct SumsModels SumsModels;

/* Reads the `model`, `accuracy` and `mistake` entries; what is wrong is a problem of the lore and left out. */
SumsModels *sums_models_new(Arena *arena, Lore *lore, const BenchKinds *kinds);

/* A figure as computed. */
typedef struct SumsFigure {
    bool known;         /* false: nothing in the notes fixes it */
    double typical;     /* with every part at its middle */
    double low, high;   /* 95 of 100 products of these parts lie between */
    double least, most; /* the worst that all tolerances together can do */
    uint32_t hangs[3];  /* parameters that it hangs on, the most telling first; BENCH_NONE: no more */
} SumsFigure;

/* With its 95 % as limits; of `unit`. Not to be asked when unknown. */
Quantity sums_quantity(const SumsFigure *figure, Unit unit);

/* Something that is only known within limits, and that the figures hang on. */
typedef struct SumsParameter {
    uint32_t part; /* of the bench */
    Text name;     /* "resistance of R1" */
    double typical, low, high;
    bool ratio;    /* its limits are so far apart that it spreads by ratio */
    bool state;    /* no property of the part but how it is being used: a cell's charge, a motor's load. The meter tells */
    bool fitted;   /* a state that readings narrowed: typical, low and high are what they made of it */
    uint32_t mode; /* of the sums; BENCH_NONE: the same in all */
    Unit unit;
    Text symbol; /* of its unit, as the solver says it: "ohm", "V s/rad" */
    Text source;
    const uint32_t *lines; /* size line_count: notes behind it */
    uint32_t line_count;
} SumsParameter;

typedef struct SumsAssumption {
    Text says; /* "SW1 is closed" */
    const uint32_t *lines;
    uint32_t line_count;
} SumsAssumption;

typedef struct SumsMode {
    Text name;     /* empty: no mode is noted, and this is all at rest */
    uint32_t line; /* of its `mode` note; 0: none */
    bool solved;
    Text fault, hint;    /* when not solved: why, in nets and parts */
    SumsFigure *volts;   /* size bench->nets.count */
    SumsFigure *pin;     /* size bench->pins.count: current from the net into the pin, A */
    SumsFigure *current; /* size bench->parts.count, A: into its first pin, a transistor's collector or drain, a chip's
                            supply; out of the plus of what gives current */
    SumsFigure *power;   /* size bench->parts.count: that it takes, W; negative: gives */
    SumsFigure *inner;   /* size bench->parts.count: a motor's speed, rad/s; unknown for all others */
    LIST(SumsAssumption) assumptions;
    LIST(uint32_t) blocked; /* parts that were left out: nothing is known of how they work */
    /* The circuit itself, every parameter at its typical value: for a what-if, on a circuit_copy. Node tags are nets (or
     * BENCH_NONE, for nodes inside a part), element tags are parts. */
    const Circuit *circuit;
    const CircuitNode *node; /* size bench->nets.count; SUMS_NO_NODE where the net is not in the circuit */
} SumsMode;

#define SUMS_NO_NODE UINT32_MAX

typedef enum SumsVerdict {
    SUMS_AGREES,
    SUMS_OFF,
    SUMS_ALONE,  /* nothing but this reading tells: it was taken as it stands */
    SUMS_UNKNOWN /* can't be computed: `why` says */
} SumsVerdict;

/* A reading beside the sums. */
typedef struct SumsCompared {
    uint32_t reading; /* of the bench */
    uint32_t mode;    /* of the sums; BENCH_NONE: out of power, or none */
    SumsVerdict verdict;
    double typical, low, high; /* what the parts and all other readings make of it, 95 % */
    double off;                /* by how many of the standard uncertainty of both together; negative: read too low */
    Text why;
} SumsCompared;

/* One single mistake that would explain the readings that differ. */
typedef struct SumsExplanation {
    Text says;             /* "R6 is 47 kohm, not 470 kohm: one band or digit misread" */
    Text check;            /* what to look at or measure to settle it */
    double decibans;       /* its own rarity before the readings */
    double p;              /* after them, among all explanations and none; never 0 nor 1 */
    Text place;            /* of the lore that weighs it */
    const uint32_t *lines; /* size line_count: notes that it says are wrong */
    uint32_t line_count;
} SumsExplanation;

/* A battery as it empties in this duty, until it ends. */
typedef struct SumsBattery {
    uint32_t part;
    double seconds, low, high;  /* typical, and between makes and tolerances */
    double end;                 /* V under load at which it counts as used up */
    Text stops;                 /* "It ends in pumping when M1 no longer turns, with 20 % of the charge left." */
    const struct LifePoint *at; /* size count: sums/life.h */
    uint32_t count;
} SumsBattery;

typedef struct Sums {
    Arena *arena;
    Reasoning *reasoning;
    const Bench *bench;
    uint32_t ground; /* the net; BENCH_NONE: no ground was found, and nothing is solved */
    uint32_t size;   /* parts of which a pin is noted: by this, time is rationed */
    LIST(SumsMode) modes;
    LIST(SumsParameter) parameters;
    LIST(SumsCompared) compared;        /* those that differ first */
    LIST(SumsExplanation) explanations; /* likeliest first; empty when all agree */
    LIST(SumsBattery) batteries;        /* whose life can be told */
    double p_other;                     /* that none of them is it */
    Text best_reading;                  /* what would best separate the first two; empty */
    uint32_t differ;                    /* readings that are off */
    uint32_t tried;                     /* hypotheses */
    uint32_t left_out;                  /* modes beyond SUMS_MODES_MOST */
    LIST(ReasonOpen) asked;             /* the questions that they added */
    const SumsModels *models;
} Sums;

enum { SUMS_MODES_MOST = 16 };

typedef struct SumsEffort {
    uint32_t samples;    /* a mode; 0: as many as look wants */
    uint32_t hypotheses; /* at most; 0: as many as look wants */
    bool every;          /* suppose also mistakes that can't matter, which are left out for speed */
} SumsEffort;

/* Adds its claims and questions to the reasoning. Never fails: what can't be solved says so. */
const Sums *sums_about(Arena *arena, Reasoning *reasoning, const SumsModels *models, SumsEffort effort);

/* The sums of before, when they would come out the same: a note that changes nothing electrical costs no sums. Adds the
 * same claims and questions to this reasoning. What they hold stays on the arenas of `before`, its bench and its lore,
 * which must outlive them. NULL, and nothing is added: something that they hang on has changed. */
const Sums *sums_again(Arena *arena, const Sums *before, Reasoning *reasoning, const SumsModels *models);

uint32_t sums_mode(const Sums *sums, Text name); /* BENCH_NONE when there is none */

#endif
