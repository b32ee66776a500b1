/* What can't be read. Glare: a disc of at least GLARE mm where nearly all is saturated (a shining pad is smaller, print is
 * thinner). Out of focus: places where the sharpest block of nine is much softer than the photo's usual one. Softness is
 * the energy of colour steps over one fine distance divided by that over a wide one, counted only where there is an edge:
 * on an empty stretch of board nothing tells sharp from soft, and nothing is marked. */
#include "copper/flat_inside.h"

#include <math.h>
#include <stdlib.h>

static const double GLARE = 2.4, GLARE_CELL = 0.3; /* mm */
static const int SATURATED = 250;
static const float FULL = 0.9f;         /* share of a cell that is saturated */
static const double BLOCK = 3;          /* mm */
static const double WIDE = 1.0;         /* mm between what is compared; the fine distance is two pixels */
static const int EDGE = 30;             /* of green, 0..255, over the wide distance: an edge */
static const double EDGES_LEAST = 0.02; /* of a block */
static const double SOFT = 0.4;         /* of the usual sharpness: about four times as wide an edge */

static void mark(Flat *flat, uint32_t x, uint32_t y, uint32_t size) {
    for (uint32_t j = y; j < y + size && j < flat->height; j++)
        for (uint32_t i = x; i < x + size && i < flat->width; i++) flat->unseen[(size_t)j * flat->width + i] = 255;
}

static bool is_full(const Flat *flat, uint32_t x, uint32_t y, uint32_t size) {
    uint32_t full = 0, all = 0;
    for (uint32_t j = y; j < y + size && j < flat->height; j++) {
        for (uint32_t i = x; i < x + size && i < flat->width; i++, all++) {
            const unsigned char *rgb = flat->rgb + 3 * ((size_t)j * flat->width + i);
            full += rgb[0] >= SATURATED && rgb[1] >= SATURATED && rgb[2] >= SATURATED;
        }
    }
    return all > 0 && (float)full >= FULL * (float)all;
}

/* A cell is glare when it lies in a square of full cells as wide as GLARE; a rim of one cell is taken with it. */
static void mark_glare(Flat *flat) {
    uint32_t step = (uint32_t)fmax(2, round(GLARE_CELL * flat->scale)), wide = (flat->width + step - 1) / step;
    uint32_t high = (flat->height + step - 1) / step, side = (uint32_t)round(GLARE / GLARE_CELL);
    uint16_t *square = calloc((size_t)wide * high, sizeof *square); /* side of the largest full square that ends here */
    if (square == NULL) return;
    for (uint32_t j = 0; j < high; j++) {
        for (uint32_t i = 0; i < wide; i++) {
            uint16_t *here = &square[(size_t)j * wide + i];
            if (!is_full(flat, i * step, j * step, step)) continue;
            uint16_t left = i > 0 ? here[-1] : 0, above = j > 0 ? here[-(ptrdiff_t)wide] : 0;
            uint16_t corner = i > 0 && j > 0 ? here[-(ptrdiff_t)wide - 1] : 0, least = left < above ? left : above;
            *here = (uint16_t)(1 + (least < corner ? least : corner));
        }
    }
    for (uint32_t j = 0; j < high; j++) {
        for (uint32_t i = 0; i < wide; i++) {
            uint32_t size = square[(size_t)j * wide + i];
            if (size < side) continue;
            uint32_t x = i + 1 - side, y = j + 1 - side, more = side + 1; /* the rim, where there is room for it */
            if (x > 0) x--, more++;
            if (y > 0) y--;
            mark(flat, x * step, y * step, more * step);
        }
    }
    free(square);
}

/* Fine over wide energy of a block, or NAN when too few edges are in it. */
static float sharpness(const Flat *flat, uint32_t x, uint32_t y, uint32_t size, uint32_t wide) {
    double fine_sum = 0, wide_sum = 0;
    uint32_t edges = 0, all = 0;
    for (uint32_t j = y; j < y + size; j++) {
        for (uint32_t i = x; i < x + size; i++, all++) {
            if (i < wide || j < wide || i + wide >= flat->width || j + wide >= flat->height) continue;
            const unsigned char *green = flat->rgb + 3 * ((size_t)j * flat->width + i) + 1;
            for (int axis = 0; axis < 2; axis++) {
                ptrdiff_t stride = axis == 0 ? 3 : 3 * (ptrdiff_t)flat->width;
                int far = green[stride * (ptrdiff_t)(wide / 2)] - green[-stride * (ptrdiff_t)(wide / 2)];
                int near = green[stride] - green[-stride];
                if (abs(far) < EDGE) continue;
                edges++;
                fine_sum += near * near;
                wide_sum += far * far;
            }
        }
    }
    return edges < EDGES_LEAST * all ? NAN : (float)(fine_sum / wide_sum);
}

static int by_value(const void *a, const void *b) {
    float x = *(const float *)a, y = *(const float *)b;
    return (x > y) - (x < y);
}

/* The sharpest of a block and its neighbours; NAN when fewer than three of them can be told. */
static float sharpest_near(const float *sharp, uint32_t across, uint32_t down, uint32_t i, uint32_t j) {
    float best = 0;
    int known = 0;
    for (uint32_t y = j > 0 ? j - 1 : 0; y <= j + 1 && y < down; y++) {
        for (uint32_t x = i > 0 ? i - 1 : 0; x <= i + 1 && x < across; x++) {
            float value = sharp[y * across + x];
            if (isnan(value)) continue;
            known++;
            best = value > best ? value : best;
        }
    }
    return known < 3 ? NAN : best;
}

static void mark_soft(Flat *flat) {
    uint32_t size = (uint32_t)fmax(8, round(BLOCK * flat->scale)), wide = (uint32_t)fmax(4, round(WIDE * flat->scale));
    uint32_t across = flat->width / size, down = flat->height / size, known = 0;
    float *sharp = malloc((size_t)across * down * 2 * sizeof *sharp + 1), *sorted = sharp + (size_t)across * down;
    if (sharp == NULL) return;
    for (uint32_t j = 0; j < down; j++) {
        for (uint32_t i = 0; i < across; i++) {
            float value = sharpness(flat, i * size, j * size, size, wide);
            sharp[j * across + i] = value;
            if (!isnan(value)) sorted[known++] = value;
        }
    }
    qsort(sorted, known, sizeof *sorted, by_value);
    for (uint32_t k = 0; known > 0 && k < across * down; k++)
        if (sharpest_near(sharp, across, down, k % across, k / across) < SOFT * sorted[known / 2])
            mark(flat, k % across * size, k / across * size, size); /* never when it is NAN */
    free(sharp);
}

void flat_mark_unseen(Flat *flat) {
    mark_glare(flat);
    mark_soft(flat);
}
