/* Beeps to truth: a person with a meter who answers the first doubt, sees the board traced again, and goes on. */
#ifndef UNPICK_TESTS_BEEPS_H
#define UNPICK_TESTS_BEEPS_H

#include "tests/copper_truth.h"

typedef struct Beeps {
    Score first, last;    /* without answers, and after `answers` of them */
    uint32_t answers;     /* at most one for ten pads */
    uint32_t doubts;      /* listed in the first run */
    uint32_t wrong;       /* wrong joins and splits of the first run */
    uint32_t wrong_after; /* of these, left when all doubts of the first run are answered at once: they were not listed */
} Beeps;

/* False when the layers can't be traced. */
bool beeps_run(Arena *arena, const Truth *truth, const Layers *layers, Beeps *beeps);

#endif
