/* Small boards drawn into layers, edges covered in part as a picture has them. Shapes add up; `sure` is the probability
 * inside. */
#ifndef UNPICK_TESTS_COPPER_DRAW_H
#define UNPICK_TESTS_COPPER_DRAW_H

#include "copper/copper.h"

#include <math.h>

static inline Layers draw_layers(Arena *arena, double scale, double width_mm, double height_mm) {
    Layers layers = {scale, (uint32_t)lround(width_mm * scale), (uint32_t)lround(height_mm * scale), {0}};
    for (unsigned i = 0; i < LAYER_COUNT; i++) layers.at[i] = arena_take(arena, (size_t)layers.width * layers.height);
    return layers;
}

static inline double draw_off_line(double x, double y, PlacePoint a, PlacePoint b) {
    double dx = b.x - a.x, dy = b.y - a.y, square = dx * dx + dy * dy;
    double t = square > 0 ? fmin(1, fmax(0, ((x - a.x) * dx + (y - a.y) * dy) / square)) : 0;
    return hypot(x - a.x - t * dx, y - a.y - t * dy);
}

/* A line with round ends, mm; a round pad when both ends are the same. add: keeps what is more there already; else
 * replaces. */
static inline void draw_line(Layers *layers, unsigned layer, double x0, double y0, double x1, double y1, double width,
                             double sure, bool add) {
    for (uint32_t j = 0; j < layers->height; j++)
        for (uint32_t i = 0; i < layers->width; i++) {
            PlacePoint a = {x0, y0}, b = {x1, y1};
            double off = draw_off_line((i + 0.5) / layers->scale, (j + 0.5) / layers->scale, a, b);
            double part = fmin(1, fmax(0, (width / 2 - off) * layers->scale + 0.5));
            unsigned char *at = &layers->at[layer][(size_t)j * layers->width + i];
            double value = add ? fmax(*at, 255 * sure * part) : *at + (255 * sure - *at) * part;
            *at = (unsigned char)lround(value);
        }
}

static inline void draw_track(Layers *layers, double x0, double y0, double x1, double y1, double width) {
    draw_line(layers, LAYER_COPPER, x0, y0, x1, y1, width, 1, true);
}

/* A round pad with a hole. */
static inline void draw_pad(Layers *layers, double x, double y, double width, double hole) {
    draw_track(layers, x, y, x, y, width);
    draw_line(layers, LAYER_PAD, x, y, x, y, width, 1, true);
    if (hole > 0) draw_line(layers, LAYER_HOLE, x, y, x, y, hole, 1, true);
}

#endif
