/* Fitting how likely a doubtful place joins (src/copper/doubt.c) to boards with truth. */
#ifndef UNPICK_TOOLS_DOUBTS_H
#define UNPICK_TOOLS_DOUBTS_H

#include "copper/inside.h"
#include "tests/copper_truth.h"

/* One edge between two regions: what it looks like, and whether copper joins the two there. */
typedef struct DoubtSample {
    double feature[DOUBT_FEATURES];
    double p; /* as the program now has it */
    bool joined;
} DoubtSample;

typedef LIST(DoubtSample) DoubtSamples;

/* Adds the edges of one board whose truth can be told: both sides stand on true copper. */
void doubts_of(Arena *arena, const Truth *truth, const Layers *layers, DoubtSamples *samples);

/* Fits the weights by Newton's method with a small ridge. False when the samples don't determine them. */
bool doubts_fit(const DoubtSamples *samples, double weights[DOUBT_FEATURES]);

/* How often places that were called likely by so much were joined: ten bins and the mean squared error, as text. */
void doubts_table(Out *out, const DoubtSamples *samples, const double *weights);

#endif
