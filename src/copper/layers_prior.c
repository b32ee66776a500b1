/* Two histograms of colour, of copper and of bare, each smoothed by two boxes of three steps a side; the prior of a colour is the
 * logarithm of their ratio, a natural unit a quarter of the whole range. The training makes it alike (tools/train/train.py,
 * colour_prior). 1 MiB, and a pass over the coarse picture. */
#include "copper/layers_prior.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { CELLS = PRIOR_STEPS * PRIOR_STEPS * PRIOR_STEPS };
static const float PIXELS = 20000, LEAST = 2; /* all pixels count as this many, and each colour has been seen this often before */
static const float HINT_SHARE = 0.02f;
static const double HINT_RADIUS_MM = 0.25; /* a colour is that of a little area */

typedef struct Tally {
    float copper[CELLS], bare[CELLS], spare[CELLS];
} Tally;

void prior_unknown(LayerPrior *prior) { memset(prior->of, PRIOR_UNKNOWN, sizeof prior->of); }

/* Pixels that count. */
static size_t count_look(const Flat *flat, const Layers *first, Tally *tally) {
    size_t pixels = (size_t)flat->width * flat->height, count = 0;
    for (size_t i = 0; i < pixels; i++) {
        if (first->at[LAYER_PAD][i] >= 128 || first->at[LAYER_HOLE][i] >= 128 || first->at[LAYER_UNSEEN][i] >= 128 || flat->unseen[i])
            continue;
        unsigned cell = prior_cell(flat->rgb + 3 * i);
        tally->copper[cell] += first->at[LAYER_COPPER][i] / 255.0f;
        tally->bare[cell] += 1 - first->at[LAYER_COPPER][i] / 255.0f;
        count++;
    }
    return count;
}

/* The colours round a hint, `weight` in all. */
static void count_hint(const Flat *flat, const LayerHint *hint, float weight, Tally *tally) {
    double radius = HINT_RADIUS_MM * flat->scale, x = hint->at.x * flat->scale, y = hint->at.y * flat->scale;
    if (!(x >= 0 && y >= 0 && x < flat->width && y < flat->height)) return;
    float each = weight / (float)(3.1416 * radius * radius + 1);
    int64_t left = (int64_t)fmax(x - radius, 0), right = (int64_t)fmin(x + radius, flat->width - 1);
    int64_t top = (int64_t)fmax(y - radius, 0), bottom = (int64_t)fmin(y + radius, flat->height - 1);
    for (int64_t j = top; j <= bottom; j++)
        for (int64_t i = left; i <= right; i++) {
            double dx = (double)i + 0.5 - x, dy = (double)j + 0.5 - y;
            if (dx * dx + dy * dy > radius * radius) continue;
            (hint->copper ? tally->copper : tally->bare)[prior_cell(flat->rgb + 3 * ((size_t)j * flat->width + (size_t)i))] += each;
        }
}

/* The mean of each cell and its two neighbours `step` apart; beyond the ends is nothing. */
static void box(const float *in, unsigned step, float *out) {
    for (unsigned i = 0; i < CELLS; i++) {
        unsigned at = i / step % PRIOR_STEPS;
        out[i] = (in[i] + (at > 0 ? in[i - step] : 0) + (at + 1 < PRIOR_STEPS ? in[i + step] : 0)) / 3;
    }
}

static void smooth(float *cells, float *spare) {
    for (int pass = 0; pass < 2; pass++) {
        box(cells, 1, spare);
        box(spare, PRIOR_STEPS, cells);
        box(cells, PRIOR_STEPS * PRIOR_STEPS, spare);
        memcpy(cells, spare, CELLS * sizeof *cells);
    }
}

bool prior_learn(const Flat *flat, const Layers *first, const LayerHint *hints, size_t hint_count, LayerPrior *prior) {
    Tally *tally = calloc(1, sizeof *tally);
    if (tally == NULL) return false;
    size_t count = count_look(flat, first, tally);
    for (size_t i = 0; i < hint_count; i++) count_hint(flat, &hints[i], HINT_SHARE * (float)(count + 1), tally);
    smooth(tally->copper, tally->spare);
    smooth(tally->bare, tally->spare);
    float times = PIXELS / (float)(count > 0 ? count : 1);
    for (unsigned i = 0; i < CELLS; i++) {
        float ratio = logf((tally->copper[i] * times + LEAST) / (tally->bare[i] * times + LEAST)) / 4;
        prior->of[i] = (unsigned char)lrintf(fminf(fmaxf(ratio, -1), 1) * 127.5f + 127.5f);
    }
    free(tally);
    return true;
}
