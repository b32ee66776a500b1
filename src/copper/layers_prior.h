/* How a board's own colours speak for copper. Under mask, copper and laminate are two shades that differ from board to board; a
 * first, coarse look at the whole board, and a person's hints, say which shade is which here. The network hears of it, pixel by
 * pixel, as its fourth plane. */
#ifndef UNPICK_COPPER_LAYERS_PRIOR_H
#define UNPICK_COPPER_LAYERS_PRIOR_H

#include "copper/layers.h"

enum { PRIOR_STEPS = 32 /* of each colour */, PRIOR_UNKNOWN = 128 };

typedef struct LayerPrior {
    unsigned char of[PRIOR_STEPS * PRIOR_STEPS * PRIOR_STEPS]; /* 255: surely copper, 0: surely bare, 128: nothing is known */
} LayerPrior;

void prior_unknown(LayerPrior *prior);

/* From how often each colour is copper in the first look (of the same flat), where it is neither pad nor hole nor unseen; a
 * hint that says otherwise than that look counts as a fifth of the board in the colours round it. False: no memory. */
bool prior_learn(const Flat *flat, const Layers *first, const LayerHint *hints, size_t hint_count, LayerPrior *prior);

static inline unsigned prior_cell(const unsigned char rgb[3]) {
    unsigned cell = 0;
    for (int c = 0; c < 3; c++) {
        unsigned step = (unsigned)rgb[c] * PRIOR_STEPS / 255;
        cell = cell * PRIOR_STEPS + (step < PRIOR_STEPS ? step : PRIOR_STEPS - 1);
    }
    return cell;
}
static inline unsigned char prior_at(const LayerPrior *prior, const unsigned char rgb[3]) {
    return prior->of[prior_cell(rgb)];
}

#endif
