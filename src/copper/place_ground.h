/* Which colours are background, learned from samples of it. */
#ifndef UNPICK_COPPER_PLACE_GROUND_H
#define UNPICK_COPPER_PLACE_GROUND_H

#include <stdbool.h>
#include <stddef.h>

typedef struct Ground Ground; /* given back by free */

typedef struct GroundSample {
    float u, v;   /* place in the photo, -1..1 */
    float rgb[3]; /* 0..255 */
} GroundSample;

/* From samples of which most are background. NULL: no memory, or samples that all lie in one place. */
Ground *ground_learn(const GroundSample *samples, size_t count);
bool ground_holds(const Ground *ground, double u, double v, const float rgb[3]);

#endif
