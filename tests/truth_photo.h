/* The whole way from a board's photo to layers, with the corners that truth gives. */
#ifndef UNPICK_TESTS_TRUTH_PHOTO_H
#define UNPICK_TESTS_TRUTH_PHOTO_H

#include "tests/copper_truth.h"

/* scale 0: what the photo bears out. False when the photo can't be read. Freed by layers_free. */
bool truth_photo_layers(Arena *arena, const char *folder, const Truth *truth, double scale, Layers *layers);

#endif
