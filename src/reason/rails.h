/* Which nets are grounds and which are supplies, and what voltages are known. */
#ifndef UNPICK_REASON_RAILS_H
#define UNPICK_REASON_RAILS_H

#include "bench/bench.h"

typedef struct Rail {
    bool ground, supply;
    uint32_t anchor; /* the pin that makes it so, on this net; BENCH_NONE: its name does */
    bool known;      /* its voltage is */
    Quantity volts;
    BenchFact why;   /* of the voltage */
} Rail;

/* One for each net of the bench. */
Rail *rails_find(Arena *arena, const Bench *bench);

#endif
