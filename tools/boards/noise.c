/* The soft tile is white noise blurred by 1.6 cells, so that bilinear look-up shows no grid. */
#include "noise.h"
#include "raster.h"

#include <stdlib.h>
#include <string.h>

static void even_out(float *at) {
    double sum = 0, squares = 0;
    int count = NOISE_SIDE * NOISE_SIDE;
    for (int i = 0; i < count; i++) sum += at[i], squares += (double)at[i] * at[i];
    float mean = (float)(sum / count), scale = 1 / sqrtf((float)(squares / count) - mean * mean);
    for (int i = 0; i < count; i++) at[i] = (at[i] - mean) * scale;
}

Noise *noise_new(void) {
    Noise *noise = malloc(sizeof *noise);
    int big = NOISE_SIDE + 32;
    float *wide = malloc((size_t)(big * big) * 2 * sizeof *wide);
    if (!noise || !wide) abort();
    Rng rng = rng_new(7, 7, 7);
    for (int i = 0; i < NOISE_SIDE * NOISE_SIDE; i++) noise->white[i] = rng_gauss(&rng);
    for (int y = 0; y < big; y++)
        for (int x = 0; x < big; x++) wide[y * big + x] = noise->white[(y & 255) * NOISE_SIDE + (x & 255)];
    blur_exact(wide, wide + big * big, big, big, 1.6f);
    for (int y = 16; y < big - 16; y++)
        for (int x = 16; x < big - 16; x++) noise->soft[(y & 255) * NOISE_SIDE + (x & 255)] = wide[y * big + x];
    even_out(noise->white);
    even_out(noise->soft);
    free(wide);
    return noise;
}

Grain grain_new(Rng *rng, float along, float across, float turn) {
    return (Grain){along, across, turn, rng_between(rng, 0, 256), rng_between(rng, 0, 256)};
}

static float look_up(const float *tile, float u, float v) {
    float fu = floorf(u), fv = floorf(v), a = u - fu, b = v - fv;
    int x = (int)fu & 255, y = (int)fv & 255, x1 = (x + 1) & 255, y1 = (y + 1) & 255;
    float top = tile[y * NOISE_SIDE + x] * (1 - a) + tile[y * NOISE_SIDE + x1] * a;
    float low = tile[y1 * NOISE_SIDE + x] * (1 - a) + tile[y1 * NOISE_SIDE + x1] * a;
    return top * (1 - b) + low * b;
}

float noise_at(const Noise *noise, const Grain *g, float x, float y) {
    float c = cosf(g->turn), s = sinf(g->turn);
    return look_up(noise->soft, (c * x + s * y) * g->along + g->x, (c * y - s * x) * g->across + g->y);
}

/* A slow texture is looked up on every 8th pixel and filled in between. */
static void fill_slow(const Noise *noise, const Grain *g, float x0, float y0, float step, int w, int h, float *at) {
    int cw = w / 8 + 2, ch = h / 8 + 2;
    float *coarse = malloc((size_t)(cw * ch) * sizeof *coarse);
    if (!coarse) abort();
    for (int y = 0; y < ch; y++)
        for (int x = 0; x < cw; x++)
            coarse[y * cw + x] = noise_at(noise, g, (x0 + 8.0f * (float)x) * step, (y0 + 8.0f * (float)y) * step);
    for (int y = 0; y < h; y++) {
        const float *row = coarse + (y / 8) * cw, *next = row + cw;
        float v = (float)(y % 8) / 8;
        for (int x = 0; x < w; x++) {
            int k = x / 8;
            float u = (float)(x % 8) / 8, a = row[k] * (1 - v) + next[k] * v, b = row[k + 1] * (1 - v) + next[k + 1] * v;
            at[(long)y * w + x] = a * (1 - u) + b * u;
        }
    }
    free(coarse);
}

void noise_fill(const Noise *noise, const Grain *g, float x0, float y0, float step, int w, int h, float *at) {
    float c = cosf(g->turn) * step, s = sinf(g->turn) * step;
    if (fmaxf(g->along, g->across) * step < 0.1f) {
        fill_slow(noise, g, x0, y0, step, w, h, at);
        return;
    }
    for (int y = 0; y < h; y++) {
        float fy = y0 + (float)y;
        for (int x = 0; x < w; x++) {
            float fx = x0 + (float)x;
            at[(long)y * w + x] =
                look_up(noise->soft, (c * fx + s * fy) * g->along + g->x, (c * fy - s * fx) * g->across + g->y);
        }
    }
}
