/* Ready-made noise: one tile of white and one of soft (blurred) Gaussian noise, both with mean 0 and deviation 1, that wrap
 * round. Every texture and the sensor's grain are looked up in them at their own scale, turn and offset. Made once, read by
 * all threads. */
#ifndef BOARDS_NOISE_H
#define BOARDS_NOISE_H

#include "rng.h"

enum { NOISE_SIDE = 256 };

typedef struct Noise {
    float white[NOISE_SIDE * NOISE_SIDE], soft[NOISE_SIDE * NOISE_SIDE];
} Noise;

/* A texture's place in the tile: cells per unit along its grain and across it, its turn and offset. */
typedef struct Grain {
    float along, across, turn, x, y;
} Grain;

Noise *noise_new(void); /* freed by free() */
Grain grain_new(Rng *rng, float along, float across, float turn);
float noise_at(const Noise *noise, const Grain *grain, float x, float y);
/* at[] (w * h) = soft noise at ((x0 + i) * step, (y0 + j) * step). */
void noise_fill(const Noise *noise, const Grain *grain, float x0, float y0, float step, int w, int h, float *at);

#endif
