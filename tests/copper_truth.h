/* Boards whose copper is known (../shared/boards/README.md says how their truth is written): read, turned into layers that
 * a network might have given, and used to count what tracing got right. */
#ifndef UNPICK_TESTS_COPPER_TRUTH_H
#define UNPICK_TESTS_COPPER_TRUTH_H

#include "copper/copper.h"

typedef struct TruthPad {
    PlacePoint at, sample;        /* mm; sample: on its copper, away from the hole */
    double width, height, radius; /* mm; radius of the disc at the sample */
    uint32_t group;
    bool hidden; /* by a part's body */
} TruthPad;

typedef struct TruthHole {
    PlacePoint from, to; /* ends of a slot; the same for a round hole */
    double diameter;
} TruthHole;

typedef struct Truth {
    double width_mm, height_mm;
    PlacePoint corners[4]; /* in the photo, pixels */
    LIST(TruthPad) pads;
    LIST(TruthHole) holes;
    unsigned char *mask; /* size mask_width * mask_height: 255 copper, holes filled; NULL when there is none */
    uint32_t mask_width, mask_height;
    double mask_scale;
} Truth;

/* False when there is no such folder, or it can't be read. */
bool truth_read(Arena *arena, const char *folder, Truth *truth);

/* Layers as a network might give them: the clean copper, blurred (sigma in pixels), with noise (standard deviation, of 255)
 * that is itself smooth over a few pixels, and then steepened about one half, as what is trained to decide does. On the
 * arena. */
typedef struct TruthDirt {
    double blur, noise;
    double steep; /* 0: not at all */
    uint64_t seed;
} TruthDirt;
void truth_layers(Arena *arena, const Truth *truth, double scale, TruthDirt dirt, Layers *layers);

typedef struct Score {
    uint32_t pads, missed, shorts, opens, shorted_groups, open_groups;
    double precision, recall, f1, iou; /* iou: -1 when there is no mask */
} Score;

/* As score.py counts. labels: size width * height. */
Score truth_score(Arena *arena, const Truth *truth, const uint16_t *labels, uint32_t width, uint32_t height, double scale);
/* The label that most pixels of a pad's disc have. */
uint32_t truth_label(const TruthPad *pad, const uint16_t *labels, uint32_t width, uint32_t height, double scale);

/* The folders under `boards` that hold a truth.json, sorted; 0 when there are none. */
uint32_t truth_folders(Arena *arena, const char *boards, const char ***folders);

#endif
