/* What is not background: the photo made small, its border learned as background (a curved surface for uneven light, and round
 * it the joint histogram of lightness and two ratios of colour: wood grain, cloth and the lines of a mat are simply in it), all
 * that is not in it taken together, the largest piece, its convex hull, and of all quadrilaterals made of four of the hull's
 * longer edges the smallest that holds the hull. Cost: one look at each pixel, the rest is small. */
#include "copper/place_hull.h"
#include "copper/place_inside.h"

#include <math.h>
#include <stdlib.h>

enum {
    SMALL = 640,   /* pixels of the longer side of the small photo, at most */
    TERMS = 6,     /* 1 x y xx xy yy */
    LIGHTS = 64,   /* histogram bins of lightness, */
    COLOURS = 40,  /* of each ratio */
    SHADOW = 11,   /* bins that a shadow may take from the light: almost half of it */
};
static const float BIN = 0.05f;          /* a bin is 5 % */
static const double BORDER = 0.06;       /* of each side is taken for background */
static const double NEVER = 0.004;       /* the rarest background colours may be missed: this share of the border */
static const double AREA_LEAST = 0.004;  /* of the photo that a board covers */

typedef struct Small {
    int width, height, step;
    float (*feature)[3]; /* log lightness, log red/green, log blue/green; then without the background's surface */
    unsigned char *mask;
} Small;

/* The mean of up to 16 pixels of each cell: enough against noise, and a large photo costs no more than a small one. */
static void make_small(const Photo *photo, Small *small) {
    int stride = small->step > 4 ? small->step / 4 : 1;
    for (int y = 0; y < small->height; y++) {
        for (int x = 0; x < small->width; x++) {
            unsigned sum[3] = {0, 0, 0}, count = 0;
            for (int j = 0; j < small->step; j += stride) {
                const unsigned char *row = photo->rgb + 3 * ((size_t)(y * small->step + j) * photo->width + (size_t)(x * small->step));
                for (int i = 0; i < small->step; i += stride, count++)
                    for (int c = 0; c < 3; c++) sum[c] += row[3 * i + c];
            }
            float r = (float)sum[0] / (float)count + 8, g = (float)sum[1] / (float)count + 8, b = (float)sum[2] / (float)count + 8;
            float *feature = small->feature[y * small->width + x];
            feature[0] = logf(r + g + b);
            feature[1] = logf(r / g);
            feature[2] = logf(b / g);
        }
    }
}

static bool in_border(const Small *small, int x, int y) {
    int wide = (int)(BORDER * (small->width < small->height ? small->width : small->height)) + 1;
    return x < wide || y < wide || x >= small->width - wide || y >= small->height - wide;
}

static void surface_terms(const Small *small, int x, int y, double term[TERMS]) {
    double u = 2.0 * x / small->width - 1, v = 2.0 * y / small->height - 1;
    const double all[TERMS] = {1, u, v, u * u, u * v, v * v};
    memcpy(term, all, sizeof all);
}

static double surface_at(const double surface[TERMS], const double term[TERMS]) {
    double sum = 0;
    for (int i = 0; i < TERMS; i++) sum += surface[i] * term[i];
    return sum;
}

/* Least squares over the border with Cauchy's weights, again and again: what lies in the border besides background counts little. */
static bool fit_surface(const Small *small, int channel, double surface[TERMS]) {
    double width = 1e3;
    memset(surface, 0, TERMS * sizeof *surface);
    for (int pass = 0; pass < 4; pass++) {
        double a[TERMS * TERMS] = {0}, b[TERMS] = {0}, spread = 0, weight_sum = 0;
        for (int y = 0; y < small->height; y++) {
            for (int x = 0; x < small->width; x++) {
                if (!in_border(small, x, y)) continue;
                double term[TERMS];
                surface_terms(small, x, y, term);
                double value = small->feature[y * small->width + x][channel], off = value - surface_at(surface, term);
                double weight = 1 / (1 + off * off / (width * width));
                for (int i = 0; i < TERMS; i++) {
                    b[i] += weight * term[i] * value;
                    for (int j = 0; j < TERMS; j++) a[i * TERMS + j] += weight * term[i] * term[j];
                }
                spread += pass == 0 ? 0 : weight * fabs(off), weight_sum += weight;
            }
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

/* As it is, or lit better: what lies in the board's shadow is background too. */
static bool is_background(const float *histogram, float least, const float feature[3]) {
    for (int k = 0; k <= SHADOW; k++) {
        float lit[3] = {feature[0] + (float)k * BIN, feature[1], feature[2]};
        if (histogram[bin_of(lit)] >= least) return true;
    }
    return false;
}

/* Marks what the border's colours don't explain. */
static bool mark_unexplained(Small *small) {
    size_t bins = (size_t)LIGHTS * COLOURS * COLOURS, pixels = (size_t)(small->width * small->height), seen = 0;
    float *histogram = calloc(bins, sizeof *histogram), *border = malloc(pixels * sizeof *border);
    bool done = histogram != NULL && border != NULL;
    for (int pass = 0; done && pass < 2; pass++) {
        for (int y = 0; y < small->height; y++) {
            for (int x = 0; x < small->width; x++) {
                if (!in_border(small, x, y)) continue;
                float *bin = &histogram[bin_of(small->feature[y * small->width + x])];
                if (pass == 0) *bin += 1;
                else border[seen++] = *bin;
            }
        }
        if (pass > 0) break;
        for (int again = 0; again < 2; again++) {
            spread(histogram, bins, (size_t)COLOURS * COLOURS, LIGHTS);
            spread(histogram, bins, COLOURS, COLOURS);
            spread(histogram, bins, 1, COLOURS);
        }
    }
    if (done) {
        qsort(border, seen, sizeof *border, by_value);
        float least = border[(size_t)(NEVER * (double)seen)];
        for (size_t i = 0; i < pixels; i++) small->mask[i] = !is_background(histogram, least, small->feature[i]);
    }
    free(histogram);
    free(border);
    return done;
}

/* Median of 3 x 3: single pixels and hairlines go. */
static bool clean_mask(Small *small) {
    int w = small->width, h = small->height;
    unsigned char *kept = malloc((size_t)(w * h));
    if (kept == NULL) return false;
    memcpy(kept, small->mask, (size_t)(w * h));
    for (int y = 1; y + 1 < h; y++) {
        for (int x = 1; x + 1 < w; x++) {
            int sum = 0;
            for (int j = -1; j <= 1; j++)
                for (int i = -1; i <= 1; i++) sum += kept[(y + j) * w + x + i];
            small->mask[y * w + x] = sum >= 5;
        }
    }
    free(kept);
    return true;
}

/* Keeps the largest connected piece (mask 2) and returns its pixels. */
static int keep_largest(Small *small) {
    int w = small->width, count = w * small->height, best = 0, best_start = -1, *stack = malloc((size_t)count * sizeof *stack);
    for (int pass = 0; stack != NULL && pass < 2; pass++) {
        unsigned char from = pass == 0 ? 1 : 3, to = pass == 0 ? 3 : 2;
        for (int start = pass == 0 ? 0 : best_start; start >= 0 && start < count; start++) {
            if (small->mask[start] != from) continue;
            int top = 0, size = 0;
            stack[top++] = start;
            small->mask[start] = to;
            while (top > 0) {
                int at = stack[--top], x = at % w;
                size++;
                const int near[4] = {x > 0 ? at - 1 : -1, x + 1 < w ? at + 1 : -1, at - w, at + w};
                for (int k = 0; k < 4; k++) {
                    if (near[k] < 0 || near[k] >= count || small->mask[near[k]] != from) continue;
                    small->mask[near[k]] = to;
                    stack[top++] = near[k];
                }
            }
            if (pass == 0 && size > best) best = size, best_start = start;
            if (pass > 0) break;
        }
    }
    free(stack);
    return best;
}

bool place_outline(const Photo *photo, PlacePoint corners[4], double *sure) {
    uint32_t longer = photo->width > photo->height ? photo->width : photo->height;
    Small small = {.step = (int)((longer + SMALL - 1) / SMALL)};
    small.width = (int)photo->width / small.step;
    small.height = (int)photo->height / small.step;
    if (small.width < 32 || small.height < 32) return false;
    size_t pixels = (size_t)(small.width * small.height);
    small.feature = malloc(pixels * sizeof *small.feature);
    small.mask = calloc(pixels, 1);
    bool done = small.feature != NULL && small.mask != NULL;
    if (done) make_small(photo, &small);
    for (int c = 0; done && c < 3; c++) {
        double surface[TERMS], term[TERMS];
        done = fit_surface(&small, c, surface);
        for (size_t i = 0; done && i < pixels; i++) {
            surface_terms(&small, (int)i % small.width, (int)i / small.width, term);
            small.feature[i][c] -= (float)surface_at(surface, term);
        }
    }
    done = done && mark_unexplained(&small) && clean_mask(&small);
    int area = done ? keep_largest(&small) : 0;
    done = area > AREA_LEAST * (double)pixels && hull_quad(small.mask, 2, small.width, small.height, corners);
    if (done) *sure = fmin(1, area / hull_area(corners, 4));
    for (int i = 0; i < 4; i++) corners[i] = (PlacePoint){corners[i].x * small.step, corners[i].y * small.step};
    free(small.feature);
    free(small.mask);
    return done;
}
