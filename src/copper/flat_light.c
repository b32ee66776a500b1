/* Uneven light, gently: one smooth surface (quadratic in x and y, of the logarithm of lightness) is divided out, the same
 * for all three colours. It is fitted not to lightness but to its slopes between neighbouring cells: where a board changes
 * from pour to laminate the slope is large and in few cells, where light changes it is small and everywhere, so that robust
 * weights (Cauchy) tell them apart and a board whose left half is copper keeps its halves. */
#include "copper/flat_inside.h"
#include "copper/place_inside.h"

#include <math.h>
#include <stdlib.h>

enum { SLOPES = 5 /* x y xx xy yy */, PASSES = 8 };
static const double CELL = 0.8;         /* mm */
static const double FINE_WIDTH = 0.004; /* slopes between cells: light's are of this size */
static const double MOST = 0.5;         /* of the logarithm: more is no gentle change of light */
static const int CELLS_LEAST = 8;       /* along each side, or nothing is done */

typedef struct Cells {
    int width, height;
    uint32_t step; /* pixels */
    float *light;  /* mean logarithm; NAN where nothing is seen */
} Cells;

static void fill_cells(const Flat *flat, Cells *cells) {
    for (int j = 0; j < cells->height; j++) {
        for (int i = 0; i < cells->width; i++) {
            float sum = 0;
            uint32_t seen = 0;
            for (uint32_t y = (uint32_t)j * cells->step; y < ((uint32_t)j + 1) * cells->step; y++) {
                for (uint32_t x = (uint32_t)i * cells->step; x < ((uint32_t)i + 1) * cells->step; x += 2) {
                    size_t at = (size_t)y * flat->width + x;
                    if (flat->unseen[at]) continue;
                    const unsigned char *rgb = flat->rgb + 3 * at;
                    sum += logf((float)(rgb[0] + 2 * rgb[1] + rgb[2]) + 16);
                    seen++;
                }
            }
            cells->light[j * cells->width + i] = seen > cells->step ? sum / (float)seen : NAN;
        }
    }
}

/* The surface's terms at u, v in -1..1. */
static void terms_at(double u, double v, double term[SLOPES]) {
    const double all[SLOPES] = {u, v, u * u, u * v, v * v};
    memcpy(term, all, sizeof all);
}

static double u_of(const Cells *cells, double i) { return 2 * (i + 0.5) / cells->width - 1; }
static double v_of(const Cells *cells, double j) { return 2 * (j + 0.5) / cells->height - 1; }

/* Adds the slope between a cell and its neighbour to the sums. */
static void add_slope(const Cells *cells, int i, int j, int right, int down, const double surface[SLOPES], double width,
                      double a[SLOPES * SLOPES], double b[SLOPES]) {
    float here = cells->light[j * cells->width + i], next = cells->light[(j + down) * cells->width + i + right];
    if (isnan(here) || isnan(next)) return;
    double from[SLOPES], to[SLOPES], slope = next - here, off = slope;
    terms_at(u_of(cells, i), v_of(cells, j), from);
    terms_at(u_of(cells, i + right), v_of(cells, j + down), to);
    for (int k = 0; k < SLOPES; k++) {
        to[k] -= from[k];
        off -= surface[k] * to[k];
    }
    double weight = 1 / (1 + off * off / (width * width));
    weight *= weight; /* far slopes count as good as nothing */
    for (int k = 0; k < SLOPES; k++) {
        b[k] += weight * to[k] * slope;
        for (int l = 0; l < SLOPES; l++) a[k * SLOPES + l] += weight * to[k] * to[l];
    }
}

static bool fit(const Cells *cells, double surface[SLOPES]) {
    double width = 0.1;
    memset(surface, 0, SLOPES * sizeof *surface);
    for (int pass = 0; pass < PASSES; pass++) {
        double a[SLOPES * SLOPES] = {0}, b[SLOPES] = {0};
        for (int j = 0; j + 1 < cells->height; j++) {
            for (int i = 0; i + 1 < cells->width; i++) {
                add_slope(cells, i, j, 1, 0, surface, width, a, b);
                add_slope(cells, i, j, 0, 1, surface, width, a, b);
            }
        }
        double ridge = 1e-3 * (a[0] + a[SLOPES + 1]); /* a surface that nothing speaks for is flat */
        for (int k = 0; k < SLOPES; k++) a[k * SLOPES + k] += ridge;
        if (!place_solve(SLOPES, a, b)) return false;
        memcpy(surface, b, sizeof b);
        width = fmax(FINE_WIDTH, width * 0.6);
    }
    return true;
}

static double surface_at(const double surface[SLOPES], double u, double v) {
    double term[SLOPES], sum = 0;
    terms_at(u, v, term);
    for (int k = 0; k < SLOPES; k++) sum += surface[k] * term[k];
    return sum;
}

/* The mean over the board stays as it was. */
static void divide(Flat *flat, const Cells *cells, const double surface[SLOPES]) {
    double mean = surface[2] / 3 + surface[4] / 3; /* of a quadratic over -1..1 */
    double across = 2.0 / (cells->width * (double)cells->step), down = 2.0 / (cells->height * (double)cells->step);
#pragma omp parallel for num_threads(2)
    for (uint32_t y = 0; y < flat->height; y++) {
        unsigned char *rgb = flat->rgb + (size_t)y * flat->width * 3;
        for (uint32_t x = 0; x < flat->width; x++, rgb += 3) {
            double light = surface_at(surface, (x + 0.5) * across - 1, (y + 0.5) * down - 1) - mean;
            float times = expf((float)-fmin(fmax(light, -MOST), MOST));
            for (int c = 0; c < 3; c++) {
                float value = (float)rgb[c] * times + 0.5f;
                rgb[c] = (unsigned char)(value > 255 ? 255 : value);
            }
        }
    }
}

void flat_even_light(Flat *flat) {
    Cells cells = {.step = (uint32_t)fmax(2, round(CELL * flat->scale))};
    cells.width = (int)(flat->width / cells.step);
    cells.height = (int)(flat->height / cells.step);
    if (cells.width < CELLS_LEAST || cells.height < CELLS_LEAST) return;
    cells.light = malloc((size_t)cells.width * (size_t)cells.height * sizeof *cells.light);
    if (cells.light == NULL) return; /* as it was photographed */
    double surface[SLOPES];
    fill_cells(flat, &cells);
    if (fit(&cells, surface)) divide(flat, &cells, surface);
    free(cells.light);
}
