/* From layers to nets on an invented board of 1000 x 800 pixels (tracks, pads with holes and a pour, in uncertain
 * probabilities), on one core; beside OpenCV's labelling of the same mask alone, which is the least of what it takes. Then
 * on nine times the area, to see that time grows as the board does. Best of several runs. */
#include "bench/measure.h"
#include "tests/copper_draw.h"
#include "tests/opencv.h"

#include <stdio.h>
#include <stdlib.h>

enum { RUNS = 9, RUNS_LARGE = 3, SCALE = 20 };
static const double BAR_SECONDS = 0.060; /* the part of two seconds' wait that nets may take */
static const double BAR_LINEAR = 1.3;    /* times as long for each pixel, on nine times the area */

static void put(Layers *layers, unsigned layer, uint32_t x, uint32_t y, double value) {
    if (x < layers->width && y < layers->height)
        layers->at[layer][(size_t)y * layers->width + x] = (unsigned char)(value < 0 ? 0 : value > 255 ? 255 : value);
}

/* How deep a place lies in copper, mm: lines of pads 2.54 mm apart, a slanted track to every other pad, a pour in each
 * fourth square. */
static double depth_at(double x, double y) {
    double u = x - 2.54 * round(x / 2.54), v = y - 2.54 * round(y / 2.54), pad = 0.8 - hypot(u, v);
    double track = 0.15 - fabs(v - 0.3 * sin(x));
    bool pour = ((long)(x / 10) + (long)(y / 10)) % 4 == 0;
    double away = fmin(hypot(u, v) - 1.05, fabs(v - 0.3 * sin(x)) - 0.4);
    return fmax(fmax(pad, track), pour ? away : -1);
}

static Layers invented(Arena *arena, double width_mm, double height_mm) {
    Layers layers = draw_layers(arena, SCALE, width_mm, height_mm);
    uint32_t random = 1;
    for (uint32_t y = 0; y < layers.height; y++)
        for (uint32_t x = 0; x < layers.width; x++) {
            random = random * 1664525 + 1013904223;
            double u = (x + 0.5) / SCALE, v = (y + 0.5) / SCALE, noise = (double)(random >> 24) / 255 - 0.5;
            double hole = hypot(u - 2.54 * round(u / 2.54), v - 2.54 * round(v / 2.54));
            put(&layers, LAYER_COPPER, x, y, 127.5 + 1800 * depth_at(u, v) + 60 * noise);
            put(&layers, LAYER_PAD, x, y, 127.5 + 2500 * (0.8 - hole));
            put(&layers, LAYER_HOLE, x, y, 127.5 + 2500 * (0.4 - hole));
        }
    return layers;
}

static double best_trace(const Layers *layers, unsigned runs, Copper *last) {
    double best = INFINITY;
    for (unsigned i = 0; i < runs; i++) {
        Arena *arena = arena_new();
        double start = measure_seconds();
        if (!copper_trace(arena, layers, NULL, 0, last)) exit(1);
        best = fmin(best, measure_seconds() - start);
        copper_free(last);
        arena_free(arena);
    }
    return best;
}

static double best_opencv(Arena *arena, const Layers *layers) {
    size_t pixels = (size_t)layers->width * layers->height;
    unsigned char *mask = arena_take(arena, pixels);
    uint32_t *labels = arena_many(arena, uint32_t, pixels);
    double best = INFINITY;
    for (size_t i = 0; i < pixels; i++) mask[i] = layers->at[LAYER_COPPER][i] >= 128;
    for (unsigned i = 0; i < RUNS; i++) {
        double start = measure_seconds();
        opencv_components(mask, layers->width, layers->height, labels);
        best = fmin(best, measure_seconds() - start);
    }
    return best;
}

int main(void) {
    Arena *arena = arena_new();
    Layers small = invented(arena, 50, 40), large = invented(arena, 150, 120);
    Copper copper;
    char value[80], reference[80], ratio[40];
    double seconds = best_trace(&small, RUNS, &copper), opencv = best_opencv(arena, &small);
    snprintf(value, sizeof value, "%.1f ms, %u nets", seconds * 1e3, copper.nets.count);
    snprintf(reference, sizeof reference, "OpenCV, labels alone: %.1f ms", opencv * 1e3);
    snprintf(ratio, sizeof ratio, "%.1f", seconds / opencv);
    measure_print("layers to nets, 1000 x 800", value, "60 ms", reference, ratio, seconds < BAR_SECONDS);
    double nine = best_trace(&large, RUNS_LARGE, &copper), growth = nine / 9 / seconds;
    snprintf(value, sizeof value, "%.1f ms, %.0f MiB", nine * 1e3, measure_peak_mib());
    snprintf(ratio, sizeof ratio, "%.2f a pixel", growth);
    measure_print("layers to nets, 3000 x 2400", value, "1.3 times a pixel", "1000 x 800", ratio, growth < BAR_LINEAR);
    arena_free(arena);
    return 0;
}
