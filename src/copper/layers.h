/* What each pixel of a straightened board is, as probabilities 0..255 of a small convolutional network trained on generated
 * boards (tools/train/README.md). Plain C; the weights are data/copper.net. */
#ifndef UNPICK_COPPER_LAYERS_H
#define UNPICK_COPPER_LAYERS_H

#include "copper/flat.h"

enum { LAYER_SCALE = 28 }; /* pixels per mm; the net was trained on 12 to 33, its first look is half as fine */
enum { LAYER_COPPER, LAYER_PAD, LAYER_HOLE, LAYER_UNSEEN, LAYER_COUNT };
/* COPPER: copper here, whatever lies on it (mask, print, solder), drilled holes of pads filled. PAD: bare metal or solder.
 * HOLE: drilled. UNSEEN: can't be told (glare, a part above it, out of focus). */

typedef struct Layers {
    double scale; /* as Flat.scale */
    uint32_t width, height;
    unsigned char *at[LAYER_COUNT]; /* each size width * height */
} Layers;

typedef struct LayerHint {
    PlacePoint at; /* mm */
    bool copper;   /* or bare */
} LayerHint;

/* A hint beats the picture on its spot, and tells how copper or laminate look on all of this board. One off the board says
 * nothing. False: no memory. */
bool layers_from_flat(const Flat *flat, const LayerHint *hints, size_t hint_count, Layers *layers);
/* The same for a preview: a third less to compute, and now and then a wrong net where the picture was cut in two. */
bool layers_coarse(const Flat *flat, const LayerHint *hints, size_t hint_count, Layers *layers);
void layers_free(Layers *layers);

#endif
