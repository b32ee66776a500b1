/* The matcher's question put to igraph: how often does a pattern fit a bench, as subgraph isomorphism with domains. The
 * search is LAD (C. Solnon, AllDifferent-based filtering for subgraph isomorphism, Artificial Intelligence 174, 2010).
 *
 * The bench as a graph: a vertex for each unit, for each pin of each unit, and for each net; edges unit-pin, pin-net, and
 * unit-net wherever a pin of the unit is on the net. The pattern in the same way; a `*` pin is its unit-net edge alone, for it
 * is some pin, whichever. What a vertex may stand for (units of a kind or below, pins of a position or its mate, grounds,
 * supplies) is its domain. A pin that need not be noted is asked for both ways: noted, and, without a
 * net, not noted. Vertices in no domain are left out, which only makes igraph faster. */
#ifndef UNPICK_TESTS_LAD_H
#define UNPICK_TESTS_LAD_H

#include "reason/pattern.h"
#include "reason/rails.h"

typedef struct LadAnswer {
    uint64_t count;
    double seconds;    /* in igraph's search alone, building the graphs not counted */
    uint32_t vertices; /* of the bench's graph */
    bool done;         /* false: igraph gave up */
} LadAnswer;

/* rails: of rails_find for this bench, size net count. seconds_most: igraph gives up after about so many; 0: never. */
LadAnswer lad_count(Arena *arena, const Bench *bench, const struct Rail *rails, const Pattern *pattern, int seconds_most);

#endif
