/* Finds: where rules apply on a bench. For this room only. */
#ifndef UNPICK_REASON_FIND_H
#define UNPICK_REASON_FIND_H

#include "reason/rails.h"
#include "reason/rule.h"

/* The members of one `every` group: graph units, role_count to a member. */
typedef struct Members {
    LIST(uint32_t) units;
    uint32_t count;
} Members;

typedef struct Find {
    const Rule *rule;
    Match match; /* needs and maybes bound */
    Members members[GROUPS_MOST];
    uint32_t *parts; /* size part_count: bench parts, own ones first (needs, then maybe, then every), then neighbours */
    uint32_t part_count, own_count;
    Text claim_id; /* of the claim made of it, empty when none was */
    bool outdone; /* a find of a rule that goes over this one holds all its own parts */
} Find;

typedef struct Finder {
    Arena *arena;
    const Bench *bench;
    const ReasonRules *rules;
    const Graph *graph;
    LIST(Find *) finds;
    uint32_t *part_start, *of_part; /* finds with part p: of_part[part_start[p]] up to part_start[p + 1]; NULL while they are sought */
    uint32_t cut;
} Finder;

/* Applies every rule; finds that another goes over are marked. */
Finder *find_all(Arena *arena, const Bench *bench, const ReasonRules *rules);

/* What a find knows while formulas, conditions and words ask. */
typedef struct FindWorld {
    const Finder *finder;
    const Match *match;
    const Members *members; /* size GROUPS_MOST, or NULL while the search goes on */
} FindWorld;

FormulaWorld find_world(FindWorld *world);
/* The bench pin that a role's pin stands for, BENCH_NONE when it is not noted. */
uint32_t find_pin(const Match *match, uint32_t role, Text name);
/* Net of "ground" or "supply" in this find; BENCH_NONE when there is none. */
uint32_t find_rail(const Finder *finder, const Match *match, Text name);
/* Bench part of a role, BENCH_NONE when unbound. */
uint32_t find_part(const Match *match, uint32_t role);
/* How many different units stand in one column of a group. */
uint32_t find_distinct(const Members *members, uint32_t columns, uint32_t column);
/* Why a leaf has its value, for the tally. */
BenchFact find_leaf_why(const FindWorld *world, const Formula *leaf);

#endif
