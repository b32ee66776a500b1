/* What tests and benchmarks ask of OpenCV, which speaks C++ only. */
#ifndef UNPICK_TESTS_OPENCV_H
#define UNPICK_TESTS_OPENCV_H

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* connectedComponents, 8 neighbours: labels (size width * height) of the pixels that are not 0; their count. */
uint32_t opencv_components(const unsigned char *mask, uint32_t width, uint32_t height, uint32_t *labels);

/* getPerspectiveTransform: the homography that takes four points (x y x y ...) to four others, row by row. */
void opencv_homography(const double from[8], const double to[8], double h[9]);

#ifdef __cplusplus
}
#endif

#endif
