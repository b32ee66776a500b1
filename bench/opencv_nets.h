/* The way from a photo to labelled copper as one would write it with OpenCV alone: the reference of bench_jpeg.c. */
#ifndef UNPICK_BENCH_OPENCV_NETS_H
#define UNPICK_BENCH_OPENCV_NETS_H

#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* imread; warpPerspective from the corners (x y x y ..., top-left first) to width x height; the network (the bytes of
 * data/copper.net) through OpenCV's dnn over the whole picture with `margin` round it; connectedComponents; findContours.
 * Two threads. Returns how many pieces of copper there are, 0 when anything failed. */
uint32_t opencv_nets(const char *path, const double corners[8], uint32_t width, uint32_t height, uint32_t margin,
                     const char *net, size_t net_bytes, double *net_seconds);

/* sgemm of OpenBLAS, m x k by k x n, one thread: products and sums a second, the best of some runs. */
double openblas_flops(int m, int n, int k);

#ifdef __cplusplus
}
#endif

#endif
