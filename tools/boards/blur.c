/* Blurs over planes of floats. The wide one is three running means each way (cost independent of width); the exact one
 * multiplies by a Gaussian kernel, which the compiler turns into vector code, and is the faster of the two below a
 * deviation of about three. */
#include "raster.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static int clip(int v, int low, int high) { return v < low ? low : v > high ? high : v; }

static void mean_row(const float *in, float *out, int n, int radius) {
    float sum = 0, share = 1.0f / (float)(2 * radius + 1);
    for (int i = -radius; i <= radius; i++) sum += in[clip(i, 0, n - 1)];
    for (int i = 0; i < n; i++) {
        out[i] = sum * share;
        sum += in[clip(i + radius + 1, 0, n - 1)] - in[clip(i - radius, 0, n - 1)];
    }
}

static void mean_columns(const float *in, float *out, float *sum, int w, int h, int radius) {
    float share = 1.0f / (float)(2 * radius + 1);
    memset(sum, 0, (size_t)w * sizeof *sum);
    for (int i = -radius; i <= radius; i++) {
        const float *row = in + (long)clip(i, 0, h - 1) * w;
        for (int x = 0; x < w; x++) sum[x] += row[x];
    }
    for (int y = 0; y < h; y++) {
        const float *enter = in + (long)clip(y + radius + 1, 0, h - 1) * w,
                    *leave = in + (long)clip(y - radius, 0, h - 1) * w;
        float *row = out + (long)y * w;
        for (int x = 0; x < w; x++) {
            row[x] = sum[x] * share;
            sum[x] += enter[x] - leave[x];
        }
    }
}

void blur_floats(float *at, int w, int h, float sigma) {
    int radius = (int)lrintf((sqrtf(4 * sigma * sigma + 1) - 1) / 2); /* variance of one mean of 2r+1: r(r+1)/3 */
    if (radius < 1 || w < 2 || h < 2) return;
    float *spare = malloc(((size_t)w * (size_t)h + (size_t)w) * sizeof *spare);
    if (!spare) abort();
    float *sum = spare + (size_t)w * (size_t)h;
    for (int pass = 0; pass < 3; pass++) {
        for (int y = 0; y < h; y++) mean_row(at + (long)y * w, spare + (long)y * w, w, radius);
        mean_columns(spare, at, sum, w, h, radius);
    }
    free(spare);
}

static void convolve_row(const float *in, float *out, int w, const float *kernel, int radius) {
    for (int x = 0; x < w; x++) {
        if (x == radius && w > 2 * radius) {
            for (int i = x; i < w - radius; i++) out[i] = kernel[0] * in[i];
            for (int k = 1; k <= radius; k++)
                for (int i = x; i < w - radius; i++) out[i] += kernel[k] * (in[i - k] + in[i + k]);
            x = w - radius;
        }
        float sum = kernel[0] * in[x];
        for (int k = 1; k <= radius; k++) sum += kernel[k] * (in[clip(x - k, 0, w - 1)] + in[clip(x + k, 0, w - 1)]);
        out[x] = sum;
    }
}

void blur_exact(float *at, float *spare, int w, int h, float sigma) {
    float kernel[33], total = 0;
    int radius = clip((int)ceilf(sigma * 2.6f), 1, 32);
    if (sigma < 0.15f || w < 1 || h < 1) return;
    for (int k = 0; k <= radius; k++) {
        kernel[k] = expf(-(float)(k * k) / (2 * sigma * sigma));
        total += k ? 2 * kernel[k] : kernel[k];
    }
    for (int k = 0; k <= radius; k++) kernel[k] /= total;
    for (int y = 0; y < h; y++) convolve_row(at + (long)y * w, spare + (long)y * w, w, kernel, radius);
    for (int y = 0; y < h; y++) {
        float *out = at + (long)y * w;
        const float *middle = spare + (long)y * w;
        for (int x = 0; x < w; x++) out[x] = kernel[0] * middle[x];
        for (int k = 1; k <= radius; k++) {
            const float *up = spare + (long)clip(y - k, 0, h - 1) * w, *down = spare + (long)clip(y + k, 0, h - 1) * w;
            for (int x = 0; x < w; x++) out[x] += kernel[k] * (up[x] + down[x]);
        }
    }
}
