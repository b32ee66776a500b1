/* Two histograms of colour, of copper and of bare, each smoothed by two boxes of three steps a side; the prior of a colour is the
 * logarithm of their ratio, a natural unit a quarter of the whole range. The training makes it alike (tools/train/train.py,
 * colour_prior). 1 MiB, and a pass over the coarse picture. */
#include "copper/layers_prior.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { CELLS = PRIOR_STEPS * PRIOR_STEPS * PRIOR_STEPS };
static const float PIXELS = 20000, LEAST = 2; /* all pixels count as this many, and each colour has been seen this often before */
static const float HINT_SHARE = 0.2f; /* so that one outweighs a first look that took its colours for the other */
static const double HINT_RADIUS_MM = 0.25; /* a colour is that of a little area */
enum { SPOT_MOST = 512 /* pixels of it */ };

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

/* The pixels round a hint, and how many. None when it lies off the board. */
static uint32_t spot_of(const Flat *flat, const LayerHint *hint, size_t pixels[SPOT_MOST]) {
    double radius = HINT_RADIUS_MM * flat->scale, x = hint->at.x * flat->scale, y = hint->at.y * flat->scale;
    uint32_t count = 0;
    if (!(x >= 0 && y >= 0 && x < flat->width && y < flat->height)) return 0;
    int64_t left = (int64_t)fmax(x - radius, 0), right = (int64_t)fmin(x + radius, flat->width - 1);
    int64_t top = (int64_t)fmax(y - radius, 0), bottom = (int64_t)fmin(y + radius, flat->height - 1);
    for (int64_t j = top; j <= bottom; j++)
        for (int64_t i = left; i <= right && count < SPOT_MOST; i++)
            if (hypot((double)i + 0.5 - x, (double)j + 0.5 - y) <= radius)
                pixels[count++] = (size_t)j * flat->width + (size_t)i;
    return count;
}

/* Counts the colours of the hints that say otherwise than the first look; what it found itself needs no more weight, which
 * would only blur it. */
static void count_hints(const Flat *flat, const Layers *first, const LayerHint *hints, size_t hint_count, float weight,
                        Tally *tally) {
    size_t pixels[SPOT_MOST];
    for (size_t k = 0; k < hint_count; k++) {
        uint32_t count = spot_of(flat, &hints[k], pixels), found = 0;
        for (uint32_t i = 0; i < count; i++) found += first->at[LAYER_COPPER][pixels[i]];
        if (hints[k].copper == (found > 128 * count)) continue;
        float *cells = hints[k].copper ? tally->copper : tally->bare;
        for (uint32_t i = 0; i < count; i++) cells[prior_cell(flat->rgb + 3 * pixels[i])] += weight / (float)count;
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
    count_hints(flat, first, hints, hint_count, HINT_SHARE * (float)(count + 1), tally);
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
