/* Claims about a bench and the evidence under each: idioms recognised in its nets, what chips must hold, hazards, what is
 * open. The rules come from lore (doc/lore.md); this room only finds where they apply and does the sums.
 *
 * Use: rules once (reason_rules_new), then reason_about as often as the bench changes. Nothing here changes a bench. */
#ifndef UNPICK_REASON_REASON_H
#define UNPICK_REASON_REASON_H

#include "bench/bench.h"

typedef struct ReasonRules ReasonRules;

/* Compiles the `idiom`, `capability` and `hazard` entries. A bad rule becomes a problem of the lore, with line and column,
 * and is left out; the others stand. */
ReasonRules *reason_rules_new(Arena *arena, Lore *lore, const BenchKinds *kinds);
/* How many rules of a sort there are, by name: for the documentation and its tests. */
uint32_t reason_rule_count(const ReasonRules *rules);
Text reason_rule_name(const ReasonRules *rules, uint32_t rule);
/* "idiom", "capability" or "hazard". */
Text reason_rule_sort(const ReasonRules *rules, uint32_t rule);

typedef enum ReasonSort { REASON_IDIOM, REASON_CAPABILITY, REASON_HAZARD, REASON_PART, REASON_STATED, REASON_SUM } ReasonSort;

/* One weight on the scales. */
typedef struct ReasonBecause {
    Text says;
    double decibans;
    Text place;            /* of the lore that weighs it, "lore/light.lore:12", or empty */
    const uint32_t *lines; /* size line_count: the notes it rests on, ascending */
    uint32_t line_count;
} ReasonBecause;

typedef struct ReasonValue {
    Text name;    /* "base-current" */
    Quantity value;
    Text formula; /* as in the lore */
    Text source;  /* of the formula */
} ReasonValue;

typedef struct ReasonPinRole {
    uint32_t pin; /* of the bench */
    Text role;    /* "loudspeaker output" */
} ReasonPinRole;

typedef struct ReasonClaim {
    Text id;    /* "low-side-switch-bipolar:Q1", stable while the parts keep their names */
    ReasonSort sort;
    Text name;  /* the idiom's name, "LM358", or what was stated */
    Text block; /* power, protection, conversion, clock, control, memory, input, light, sound, motion, output, radio,
                   interface; empty for parts and statements */
    const uint32_t *about; /* size about_count: parts, own ones first, then those it only touches */
    uint32_t about_count, own_count;
    Text says;
    double decibans, p; /* p is never 0 nor 1 */
    const ReasonValue *values;
    uint32_t value_count;
    const ReasonBecause *because; /* its decibans add up to the claim's */
    uint32_t because_count;
    const Text *warnings; /* what is wrong or risky in it */
    uint32_t warning_count;
    const Text *spared; /* what was left out to save money */
    uint32_t spared_count;
    const Text *cautions; /* hazards: what to do before the first screw */
    uint32_t caution_count;
    const ReasonPinRole *roles; /* what the pins of unmarked chips must be */
    uint32_t role_count;
} ReasonClaim;

/* What is not known, and what would settle it. Best first. */
typedef struct ReasonOpen {
    Text ask;    /* "Measure v(R3.1) while pumping" */
    Text claim;  /* id of the claim it would settle, or empty */
    double bits; /* expected gain of information, 0 when it can't be told */
    const uint32_t *lines; /* size line_count: notes behind the question */
    uint32_t line_count;
} ReasonOpen;

typedef struct Reasoning {
    const Bench *bench;
    LIST(ReasonClaim) hazards; /* worst first */
    LIST(ReasonClaim) claims;  /* in telling order: by block from power to output, then parts, then statements */
    LIST(ReasonOpen) open;
    const bool *mains;         /* size bench->nets.count: the net hangs on mains; NULL: none is known to */
    const bool *ground, *supply; /* size bench->nets.count: the net is a ground; it feeds the circuit */
    uint32_t cut;              /* instances beyond REASON_INSTANCES_MOST, not listed */
} Reasoning;

enum { REASON_INSTANCES_MOST = 20000 };

Reasoning *reason_about(Arena *arena, const Bench *bench, const ReasonRules *rules);

/* A claim or hazard by id; NULL when there is none. */
const ReasonClaim *reason_claim(const Reasoning *reasoning, Text id);
/* What rooms above this one found out, put in its place in telling order. The claim's id must be fresh; its p is computed from
 * its decibans. */
void reason_add_claim(Arena *arena, Reasoning *reasoning, ReasonClaim claim);
/* A question, put in its place by its bits. */
void reason_add_open(Arena *arena, Reasoning *reasoning, ReasonOpen open);

/* The blocks in telling order. */
const Text *reason_blocks(size_t *count);

/* Only the finding, for tests and benchmarks: how many ways each rule's own parts fit the bench, every assignment of parts
 * and pins counted (an injective match of the pattern: `needs`, `joined`, `apart`; no `where`, no grouping).
 * counts: size reason_rule_count. */
void reason_count_fits(const Bench *bench, const ReasonRules *rules, uint64_t *counts);

#endif
