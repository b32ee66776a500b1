/* The sample boards with truth that lie beside the repository (../shared/boards, never copied into it). */
#ifndef UNPICK_TESTS_BOARD_SAMPLES_H
#define UNPICK_TESTS_BOARD_SAMPLES_H

#include "copper/place.h"

typedef struct BoardSample {
    char name[64], photo[256]; /* the photo's path */
    double width_mm, height_mm;
    PlacePoint corners[4];
    double k1; /* of the camera that took it, in Place's terms; 0 when the truth does not say */
} BoardSample;

enum { BOARD_SAMPLES_MOST = 32 };

/* Reads what there is in the folder, in the order of names. Returns how many: 0 where the data is absent. */
int board_samples(const char *folder, BoardSample samples[BOARD_SAMPLES_MOST]);
/* Distances of found corners from true ones in mm, under the best of the turns that the rectangle allows (a nearly square
 * one: 4). */
void board_sample_errors(const BoardSample *sample, const Photo *photo, const PlacePoint corners[4], double mm[4]);

#endif
