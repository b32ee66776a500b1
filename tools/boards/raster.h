/* Drawing: shapes in millimetres with exact edges onto planes of area coverage, and distances and blurs over planes. */
#ifndef BOARDS_RASTER_H
#define BOARDS_RASTER_H

#include <stdbool.h>
#include <stdint.h>

#define RASTER_SCALE 40.0f /* pixels per mm of every plane of a board */
#define RASTER_MARGIN 2.0f /* mm of plane around the board */

typedef struct Plane {
    int w, h;
    unsigned char *at; /* size w * h; 255 is fully covered */
} Plane;

/* A capsule runs from (x, y) to (x2, y2) with radius r; a box has half sides (x2, y2), is turned by `turn` and rounded by
 * r; a ring has the middle radius x2 and the half width r, and runs over the angles turn .. turn + y2. */
typedef enum ShapeSort { SHAPE_CAPSULE, SHAPE_BOX, SHAPE_RING } ShapeSort;
typedef struct Shape {
    ShapeSort sort;
    float x, y, x2, y2, r, turn; /* mm, radian */
} Shape;

Shape shape_line(float x, float y, float x2, float y2, float width);
Shape shape_disc(float x, float y, float diameter);
Shape shape_box(float x, float y, float width, float height, float turn, float round);
/* Signed distance in mm from a point to the shape's edge, negative inside. */
float shape_distance(const Shape *shape, float x, float y);
/* Bounding box in mm: low x, low y, high x, high y. */
void shape_bounds(const Shape *shape, float bounds[4]);

Plane plane_new(int w, int h); /* all zero */
void plane_free(Plane *plane);
Plane plane_copy(const Plane *plane);
/* Value at a raster pixel, 0 outside. */
static inline int plane_at(const Plane *plane, int x, int y) {
    return x < 0 || y < 0 || x >= plane->w || y >= plane->h ? 0 : plane->at[(long)y * plane->w + x];
}
static inline float plane_px(float mm) { return (mm + RASTER_MARGIN) * RASTER_SCALE; } /* board mm to raster pixels */
float plane_sample(const Plane *plane, float px, float py); /* bilinear, raster pixels, 0 .. 255 */

void plane_draw(Plane *plane, const Shape *shape, float grow); /* union with the shape grown by `grow` mm */
void plane_cut(Plane *plane, const Shape *shape, float grow);  /* what the grown shape covers is taken away */
void plane_add(Plane *plane, const Plane *other);              /* union */
void plane_keep(Plane *plane, const Plane *other);             /* intersection */

/* out[i]: distance in pixels from pixel i to the nearest pixel with set[i] != 0 (up to `most`, beyond that `most`); near,
 * when not NULL, the index of that pixel or -1. Vector propagation in two sweeps (Danielsson), within 0.1 pixel of exact.
 */
void distance_to(const unsigned char *set, int w, int h, float most, float *out, int *near);
/* Grows a plane by `mm` with rounded corners. */
void plane_grow(Plane *plane, float mm);

/* Three box blurs in a row each way: a Gaussian of deviation `sigma` pixels, near enough. In place. */
void blur_floats(float *at, int w, int h, float sigma);
/* Separable Gaussian with a kernel of the right size, for small sigma. In place, `spare` of the same size. */
void blur_exact(float *at, float *spare, int w, int h, float sigma);

/* Connected regions (8 neighbours) of at[i] >= 128: labels 1 .. count in label[], 0 elsewhere. Gives the count. */
int plane_label(const Plane *plane, int *label);

#endif
