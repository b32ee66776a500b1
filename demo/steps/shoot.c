/* From shapes to a picture: heights and colours on a grid, Lambert's light with a highlight, shadows by walking towards the
 * lamp, corners darker where little sky is seen; then what a small camera adds: falling off to the corners, noise, a little
 * blur. */
#include "steps.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct Ground {
    double *height;     /* mm, by pixel */
    float (*colour)[3]; /* linear light */
    float *gloss;
} Ground;

static const double LAMP[3] = {-0.52, -0.62, 0.59}; /* towards it */
static const double NOISE = 0.012, FALL_OFF = 0.32, SKY = 0.34, LIGHT = 0.92;

static double linear(unsigned byte) { return pow(byte / 255.0, 2.2); }

static double random_of(uint32_t *state) {
    *state = *state * 1664525u + 1013904223u;
    return (*state >> 8) / 16777216.0;
}

/* How far inside the shape a place is, mm; negative outside. */
static double inside(const Shape *shape, double x, double y) {
    double a = shape->turn * 0.017453292519943295, c = cos(a), s = sin(a), dx = x - shape->x, dy = y - shape->y;
    double u = fabs(c * dx + s * dy) - shape->wide / 2 + shape->round,
           v = fabs(c * dy - s * dx) - shape->tall / 2 + shape->round;
    return shape->round - hypot(fmax(u, 0), fmax(v, 0)) - fmin(fmax(u, v), 0);
}

/* The same from the longer sides alone. */
static double inside_barrel(const Shape *shape, double x, double y) {
    double a = shape->turn * 0.017453292519943295, c = cos(a), s = sin(a), dx = x - shape->x, dy = y - shape->y;
    return shape->wide < shape->tall ? shape->wide / 2 - fabs(c * dx + s * dy) : shape->tall / 2 - fabs(c * dy - s * dx);
}

static void put(Ground *ground, const Shape *shape) {
    double reach = hypot(shape->wide, shape->tall) / 2 + 1;
    int left = (int)fmax(0, (shape->x - reach) * STEPS_PIXELS_A_MM),
        right = (int)fmin(STEPS_WIDE - 1, (shape->x + reach) * STEPS_PIXELS_A_MM);
    int top = (int)fmax(0, (shape->y - reach) * STEPS_PIXELS_A_MM),
        bottom = (int)fmin(STEPS_TALL - 1, (shape->y + reach) * STEPS_PIXELS_A_MM);
    for (int y = top; y <= bottom; y++)
        for (int x = left; x <= right; x++) {
            double deep = inside(shape, (x + 0.5) / STEPS_PIXELS_A_MM, (y + 0.5) / STEPS_PIXELS_A_MM);
            int i = y * STEPS_WIDE + x;
            if (deep <= 0) continue;
            if (shape->barrel) deep = inside_barrel(shape, (x + 0.5) / STEPS_PIXELS_A_MM, (y + 0.5) / STEPS_PIXELS_A_MM);
            double lower = deep < shape->edge
                               ? shape->edge - sqrt(shape->edge * shape->edge - (shape->edge - deep) * (shape->edge - deep))
                               : 0;
            double height = shape->cut ? shape->top + lower : shape->top - lower;
            if (shape->cut ? height >= ground->height[i] : height < ground->height[i]) continue;
            ground->height[i] = height;
            for (int k = 0; k < 3; k++) ground->colour[i][k] = (float)linear(shape->colour >> (16 - 8 * k) & 255);
            ground->gloss[i] = (float)shape->gloss;
        }
}

static double height_at(const Ground *ground, int x, int y) {
    x = x < 0 ? 0 : x >= STEPS_WIDE ? STEPS_WIDE - 1 : x, y = y < 0 ? 0 : y >= STEPS_TALL ? STEPS_TALL - 1 : y;
    return ground->height[y * STEPS_WIDE + x];
}

/* Share of the lamp that is seen, softer the farther what hides it is. */
static double lit(const Ground *ground, int x, int y) {
    static const double FAR = 60, STEP = 0.5; /* mm */
    double seen = 1, flat = hypot(LAMP[0], LAMP[1]), start = height_at(ground, x, y);
    for (double far = STEP; far < FAR; far += STEP) {
        double over = height_at(ground, x + (int)lround(LAMP[0] / flat * far * STEPS_PIXELS_A_MM),
                                y + (int)lround(LAMP[1] / flat * far * STEPS_PIXELS_A_MM)) -
                      start - far * LAMP[2] / flat;
        seen = fmin(seen, 0.5 - over / (0.12 * far + 0.3));
        if (seen <= 0) return 0;
    }
    return fmin(seen, 1);
}

/* Share of the sky that is seen, from eight sides. */
static double open_sky(const Ground *ground, int x, int y) {
    static const int reach[] = {3, 8, 18};
    double closed = 0, start = height_at(ground, x, y);
    for (int k = 0; k < 8; k++) {
        double steepest = 0;
        for (int r = 0; r < 3; r++) {
            double rise = height_at(ground, x + (int)lround(cos(k * M_PI / 4) * reach[r]),
                                    y + (int)lround(sin(k * M_PI / 4) * reach[r])) -
                          start;
            steepest = fmax(steepest, rise * STEPS_PIXELS_A_MM / reach[r]);
        }
        closed += steepest / hypot(1, steepest) / 8;
    }
    return 1 - 0.85 * closed;
}

static void shade(const Ground *ground, int x, int y, double pixel[3]) {
    double nx = (height_at(ground, x - 1, y) - height_at(ground, x + 1, y)) * STEPS_PIXELS_A_MM / 2;
    double ny = (height_at(ground, x, y - 1) - height_at(ground, x, y + 1)) * STEPS_PIXELS_A_MM / 2,
           n = sqrt(nx * nx + ny * ny + 1);
    double lamp = fmax(0, (nx * LAMP[0] + ny * LAMP[1] + LAMP[2]) / n), seen = lit(ground, x, y);
    double half = sqrt(2 + 2 * LAMP[2]), mirror = fmax(0, (nx * LAMP[0] + ny * LAMP[1] + LAMP[2] + 1) / n / half);
    int i = y * STEPS_WIDE + x;
    double away = hypot((x - STEPS_WIDE / 2.0) / STEPS_WIDE, (y - STEPS_TALL / 2.0) / STEPS_WIDE),
           corner = 1 - FALL_OFF * away * away * 2;
    for (int k = 0; k < 3; k++)
        pixel[k] = corner * (ground->colour[i][k] * (LIGHT * lamp * seen + SKY * open_sky(ground, x, y)) +
                             ground->gloss[i] * 0.7 * seen * pow(mirror, 40));
}

bool scene_shoot(const Scene *scene, unsigned seed, unsigned char *rgb) {
    size_t pixels = (size_t)STEPS_WIDE * STEPS_TALL;
    Ground ground = {calloc(pixels, sizeof(double)), calloc(pixels, sizeof(float[3])), calloc(pixels, sizeof(float))};
    bool fine = ground.height != NULL && ground.colour != NULL && ground.gloss != NULL;
    uint32_t state = seed * 2654435761u + 1;
    for (size_t i = 0; fine && i < pixels; i++) /* the bench: grey, a little grained */
        for (int k = 0; k < 3; k++) ground.colour[i][k] = (float)(0.30 - 0.012 * k + 0.02 * random_of(&state));
    for (int i = 0; fine && i < scene->count; i++) put(&ground, &scene->shapes[i]);
    for (size_t i = 0; fine && i < pixels; i++) {
        double pixel[3];
        shade(&ground, (int)(i % STEPS_WIDE), (int)(i / STEPS_WIDE), pixel);
        for (int k = 0; k < 3; k++) {
            double light = pixel[k] * (1 + NOISE * 6 * (random_of(&state) - 0.5)) + NOISE * (random_of(&state) - 0.5);
            rgb[3 * i + (size_t)k] = (unsigned char)(255 * pow(fmin(fmax(light, 0), 1), 1 / 2.2) + 0.5);
        }
    }
    free(ground.height), free(ground.colour), free(ground.gloss);
    return fine;
}
