/* Chance, the same on every run: splitmix64 (public domain algorithm by Vigna, from memory). One Rng per board and purpose,
 * so that what one stage draws does not shift what another draws. */
#ifndef BOARDS_RNG_H
#define BOARDS_RNG_H

#include <math.h>
#include <stdbool.h>
#include <stdint.h>

typedef struct Rng {
    uint64_t state;
} Rng;

static inline uint64_t rng_next(Rng *rng) {
    uint64_t z = (rng->state += 0x9E3779B97F4A7C15u);
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    return z ^ (z >> 31);
}

/* A stream of its own for (seed, a, b). */
static inline Rng rng_new(uint64_t seed, uint64_t a, uint64_t b) {
    Rng rng = {seed * 0xD1342543DE82EF95u + a * 0x2545F4914F6CDD1Du + b * 0x9E6C63D0876A9A47u + 1};
    rng_next(&rng);
    rng.state ^= rng_next(&rng);
    return rng;
}

static inline float rng_unit(Rng *rng) { return (float)(rng_next(rng) >> 40) * (1.0f / 16777216.0f); } /* [0, 1) */
static inline float rng_between(Rng *rng, float low, float high) { return low + (high - low) * rng_unit(rng); }
static inline float rng_log(Rng *rng, float low, float high) {
    return low * powf(high / low, rng_unit(rng));
} /* even in the logarithm */
static inline int rng_below(Rng *rng, int count) { return count <= 0 ? 0 : (int)(rng_next(rng) % (uint64_t)count); }
static inline int rng_from(Rng *rng, int low, int high) {
    return low + rng_below(rng, high - low + 1);
} /* both ends included */
static inline bool rng_chance(Rng *rng, float share) { return rng_unit(rng) < share; }
static inline float rng_sign(Rng *rng) { return rng_chance(rng, 0.5f) ? 1.0f : -1.0f; }
static inline float
rng_gauss(Rng *rng) /* mean 0, deviation 1: a sum of twelve (good to three deviations, which is enough here) */
{
    float sum = -6.0f;
    for (int i = 0; i < 12; i++) sum += rng_unit(rng);
    return sum;
}

#endif
