/* The background as the photo's border shows it: a curved surface for uneven light in each of lightness and two ratios of
 * colour (quadratic, least squares with Cauchy's weights), and round it the joint histogram of what is left: wood grain,
 * cloth and the lines of a mat are simply in it. A colour is background when the histogram knows it, or knows it lit
 * better: what lies in a shadow is background too. */
#include "copper/place_ground.h"

#include "copper/place_inside.h"

#include <math.h>
#include <stdlib.h>

enum {
    TERMS = 6,    /* 1 x y xx xy yy */
    LIGHTS = 64,  /* histogram bins of lightness, */
    COLOURS = 40, /* of each ratio */
    SHADOW = 11,  /* bins that a shadow may take from the light: almost half of it */
};
static const float BIN = 0.05f;    /* a bin is 5 % */
static const double NEVER = 0.004; /* the rarest background colours may be missed: this share of the border */
static const float DARK = 8;       /* added to each colour, so that noise in the dark has no hue */

struct Ground {
    double surface[3][TERMS];
    float least; /* known from here on */
    float bins[LIGHTS * COLOURS * COLOURS];
};

static void surface_terms(double u, double v, double term[TERMS]) {
    const double all[TERMS] = {1, u, v, u * u, u * v, v * v};
    memcpy(term, all, sizeof all);
}

static double surface_at(const double surface[TERMS], const double term[TERMS]) {
    double sum = 0;
    for (int i = 0; i < TERMS; i++) sum += surface[i] * term[i];
    return sum;
}

static void find_feature(const float rgb[3], float feature[3]) {
    feature[0] = logf(rgb[0] + rgb[1] + rgb[2] + 3 * DARK);
    feature[1] = logf((rgb[0] + DARK) / (rgb[1] + DARK));
    feature[2] = logf((rgb[2] + DARK) / (rgb[1] + DARK));
}

/* Fits one surface, again and again: what lies in the border besides background counts less each time. */
static bool fit_surface(const GroundSample *samples, size_t count, int channel, double surface[TERMS]) {
    double width = 1e3;
    memset(surface, 0, TERMS * sizeof *surface);
    for (int pass = 0; pass < 4; pass++) {
        double a[TERMS * TERMS] = {0}, b[TERMS] = {0}, spread = 0, weight_sum = 0;
        for (size_t k = 0; k < count; k++) {
            double term[TERMS];
            float feature[3];
            surface_terms(samples[k].u, samples[k].v, term);
            find_feature(samples[k].rgb, feature);
            double value = feature[channel], off = value - surface_at(surface, term),
                   weight = 1 / (1 + off * off / (width * width));
            for (int i = 0; i < TERMS; i++) {
                b[i] += weight * term[i] * value;
                for (int j = 0; j < TERMS; j++) a[i * TERMS + j] += weight * term[i] * term[j];
            }
            spread += pass == 0 ? 0 : weight * fabs(off), weight_sum += weight;
        }
        if (!place_solve(TERMS, a, b)) return false;
        memcpy(surface, b, sizeof b);
        width = pass == 0 ? 0.3 : 2 * spread / weight_sum + 0.01;
    }
    return true;
}

static int clip_bin(float value, int count) {
    int bin = (int)floorf(value / BIN) + count / 2;
    return bin < 0 ? 0 : bin >= count ? count - 1 : bin;
}

static size_t bin_of(const float feature[3]) {
    return ((size_t)clip_bin(feature[0], LIGHTS) * COLOURS + (size_t)clip_bin(feature[1], COLOURS)) * COLOURS +
           (size_t)clip_bin(feature[2], COLOURS);
}

/* Spreads counts to the neighbours along one axis: 1 4 6 4 1. */
static void spread(float *bins, size_t count, size_t stride, size_t length) {
    float kept[LIGHTS];
    for (size_t first = 0; first < count; first++) {
        if (first / stride % length != 0) continue;
        for (size_t k = 0; k < length; k++) kept[k] = bins[first + k * stride];
        for (size_t k = 0; k < length; k++) {
            float far = (k >= 2 ? kept[k - 2] : 0) + (k + 2 < length ? kept[k + 2] : 0);
            float near = (k >= 1 ? kept[k - 1] : 0) + (k + 1 < length ? kept[k + 1] : 0);
            bins[first + k * stride] = (6 * kept[k] + 4 * near + far) / 16;
        }
    }
}

static int by_value(const void *a, const void *b) {
    float x = *(const float *)a, y = *(const float *)b;
    return (x > y) - (x < y);
}

/* The histogram bin of a colour there, lit better by so many bins. */
static size_t bin_at(const Ground *ground, double u, double v, const float rgb[3], float feature[3]) {
    double term[TERMS];
    surface_terms(u, v, term);
    find_feature(rgb, feature);
    for (int c = 0; c < 3; c++) feature[c] -= (float)surface_at(ground->surface[c], term);
    return bin_of(feature);
}

Ground *ground_learn(const GroundSample *samples, size_t count) {
    Ground *ground = count == 0 ? NULL : calloc(1, sizeof *ground);
    float *known = ground == NULL ? NULL : malloc(count * sizeof *known), feature[3];
    bool done = known != NULL;
    for (int c = 0; done && c < 3; c++) done = fit_surface(samples, count, c, ground->surface[c]);
    for (size_t i = 0; done && i < count; i++)
        ground->bins[bin_at(ground, samples[i].u, samples[i].v, samples[i].rgb, feature)] += 1;
    for (int again = 0; done && again < 2; again++) {
        size_t all = (size_t)LIGHTS * COLOURS * COLOURS;
        spread(ground->bins, all, (size_t)COLOURS * COLOURS, LIGHTS);
        spread(ground->bins, all, COLOURS, COLOURS);
        spread(ground->bins, all, 1, COLOURS);
    }
    for (size_t i = 0; done && i < count; i++)
        known[i] = ground->bins[bin_at(ground, samples[i].u, samples[i].v, samples[i].rgb, feature)];
    if (done) {
        qsort(known, count, sizeof *known, by_value);
        ground->least = known[(size_t)(NEVER * (double)count)];
    }
    free(known);
    if (done) return ground;
    free(ground);
    return NULL;
}

bool ground_holds(const Ground *ground, double u, double v, const float rgb[3]) {
    float feature[3];
    bin_at(ground, u, v, rgb, feature);
    for (int k = 0; k <= SHADOW; k++, feature[0] += BIN)
        if (ground->bins[bin_of(feature)] >= ground->least) return true;
    return false;
}
