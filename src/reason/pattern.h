/* The shape a rule looks for, compiled from its `needs`, `joined` and `apart` lines, and the bench as the matcher sees it.
 * For this room, its tests and its benchmark only.
 *
 * A pattern is roles (parts to be found), pins of theirs, and net variables. A match assigns a unit to each role, a pin to
 * each pattern pin and a net to each variable, all three injectively. */
#ifndef UNPICK_REASON_PATTERN_H
#define UNPICK_REASON_PATTERN_H

#include "bench/bench.h"

enum { ROLES_MOST = 24, PATTERN_PINS_MOST = 96, PATTERN_NETS_MOST = 48, GROUPS_MOST = 12, WAYS_MOST = 8 };

typedef enum GroupSort { GROUP_NEEDS, GROUP_MAYBE, GROUP_EVERY, GROUP_NO } GroupSort;

typedef struct PatternGroup {
    GroupSort sort;
    uint32_t at_least; /* of every */
    uint32_t way;      /* 0: all ways; else its number from 1 */
    uint32_t roles[ROLES_MOST]; /* size role_count, in the order of search */
    uint32_t role_count;
} PatternGroup;

typedef struct PatternRole {
    Text name;
    const BenchKind *kind; /* NULL: not in this way */
    uint32_t group;
    bool aside;
} PatternRole;

enum { PIN_VARIABLE = -1, PIN_ANY = -2 };

typedef struct PatternPin {
    uint32_t role;
    int position; /* in the kind's pins, PIN_VARIABLE for a name of the rule's own, PIN_ANY for `*` */
    Text name;
    uint32_t net;   /* variable */
    uint32_t group; /* in which it is met: its role's; for PIN_ANY, and for a PIN_VARIABLE of a needed part that only a group
                       speaks of, that group */
    bool optional;  /* a needed part's fixed pin that only groups speak of: it need not be noted */
} PatternPin;

typedef struct PatternNet {
    bool ground, supply;
    bool no_ground, no_supply; /* must not be one: `apart R.1 ground` */
    uint32_t group; /* 0 when the main part binds it; else the group that does */
    bool floating;  /* ground or supply that no main pin is on: each group finds its own */
} PatternNet;

/* A net of the needs that must be no rail for a group to fit. */
typedef struct PatternBan {
    uint32_t net, group;
    bool no_ground, no_supply;
} PatternBan;

/* One arrangement of a rule. Group 0 is what it needs. */
typedef struct Pattern {
    PatternRole roles[ROLES_MOST]; /* size role_count; numbered as in the rule */
    uint32_t role_count;
    const PatternGroup *groups; /* size group_count; the rule's */
    uint32_t group_count;
    uint32_t way; /* 1.. when the rule has ways, else 0 */
    PatternPin pins[PATTERN_PINS_MOST];
    uint32_t pin_count;
    PatternNet nets[PATTERN_NETS_MOST];
    uint32_t net_count;
    PatternBan bans[PATTERN_NETS_MOST];
    uint32_t ban_count;
    uint32_t main_roles[ROLES_MOST]; /* size main_count */
    uint32_t main_count;
} Pattern;

/* ---- the bench, indexed for matching ---- */

typedef struct GraphEnd {
    uint32_t unit; /* in graph order */
    uint32_t pin;  /* of the bench */
    int position;  /* in the unit's kind, -1 for kinds without pins */
} GraphEnd;

typedef struct GraphUnit {
    const BenchKind *kind;
    uint32_t unit, part;  /* of the bench */
    const uint32_t *pins; /* as BenchUnit.pins */
    uint32_t pin_count;
} GraphUnit;

typedef struct Graph {
    const Bench *bench;
    GraphUnit *units; /* size unit_count, by reference in natural order, so that the notes' order tells nothing */
    uint32_t unit_count;
    GraphEnd *ends;      /* by net: those of net n are ends[net_start[n]] up to ends[net_start[n + 1]] */
    uint32_t *net_start; /* size net_count + 1 */
    uint32_t net_count;
    uint32_t *of_kind;    /* by kind: units of kind k or below are of_kind[kind_start[k]] ... */
    uint32_t *kind_start; /* size kind_count + 1 */
    unsigned char *is_a;  /* is_a[k * kind_count + a]: kind k is a or below it */
    uint32_t kind_count;
    const struct Rail *rails; /* size net_count */
    uint32_t *ground_nets, *supply_nets;
    uint32_t ground_count, supply_count;
} Graph;

Graph *graph_new(Arena *arena, const Bench *bench);

/* ---- matching ---- */

enum { MATCH_STEPS_MOST = 4 * 1000 * 1000 }; /* per pattern; hostile boards stop there */

typedef struct Match {
    const Pattern *pattern;
    const Graph *graph;
    uint32_t unit[ROLES_MOST];       /* graph unit, BENCH_NONE while unbound */
    uint32_t pin[PATTERN_PINS_MOST]; /* bench pin */
    uint32_t net[PATTERN_NETS_MOST];
    uint64_t steps;
    bool cut; /* ran out of steps */
} Match;

/* Called at each match; false stops the search. */
typedef bool MatchFound(void *of, Match *match);

void match_start(Match *match, const Pattern *pattern, const Graph *graph);
/* Every way the needs fit. */
void match_needs(Match *match, MatchFound *found, void *of);
/* Every way one group fits, on top of what is bound. */
void match_group(Match *match, uint32_t group, MatchFound *found, void *of);

#endif
