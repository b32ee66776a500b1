/* Shapes are signed distance functions, and coverage is the distance clipped to one pixel: exact enough at 40 pixels per
 * mm, smooth at any angle, and growing a shape by a clearance is one addition. Cost: a few nanoseconds a pixel of the
 * shape's bounding box; long slanted lines are limited row by row. */
#include "raster.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static float least(float a, float b) { return a < b ? a : b; }
static float most_of(float a, float b) { return a > b ? a : b; }

Shape shape_line(float x, float y, float x2, float y2, float width) {
    return (Shape){SHAPE_CAPSULE, x, y, x2, y2, width / 2, 0};
}

Shape shape_disc(float x, float y, float diameter) { return (Shape){SHAPE_CAPSULE, x, y, x, y, diameter / 2, 0}; }

Shape shape_box(float x, float y, float width, float height, float turn, float round) {
    return (Shape){SHAPE_BOX, x, y, width / 2, height / 2, least(round, least(width, height) / 2), turn};
}

static float capsule_distance(const Shape *s, float x, float y) {
    float dx = s->x2 - s->x, dy = s->y2 - s->y, px = x - s->x, py = y - s->y;
    float length2 = dx * dx + dy * dy;
    float t = length2 > 0 ? (px * dx + py * dy) / length2 : 0;
    t = t < 0 ? 0 : t > 1 ? 1 : t;
    float ex = px - t * dx, ey = py - t * dy;
    return sqrtf(ex * ex + ey * ey) - s->r;
}

static float box_distance(const Shape *s, float x, float y) {
    float c = cosf(s->turn), k = sinf(s->turn), px = x - s->x, py = y - s->y;
    float qx = fabsf(c * px + k * py) - s->x2 + s->r, qy = fabsf(c * py - k * px) - s->y2 + s->r;
    float ox = most_of(qx, 0), oy = most_of(qy, 0);
    return sqrtf(ox * ox + oy * oy) + least(most_of(qx, qy), 0) - s->r;
}

static float ring_distance(const Shape *s, float x, float y) {
    float px = x - s->x, py = y - s->y, angle = atan2f(py, px) - s->turn;
    while (angle < 0) angle += 6.2831853f;
    if (angle <= s->y2) return fabsf(sqrtf(px * px + py * py) - s->x2) - s->r;
    float ax = s->x2 * cosf(s->turn), ay = s->x2 * sinf(s->turn);
    float bx = s->x2 * cosf(s->turn + s->y2), by = s->x2 * sinf(s->turn + s->y2);
    return least(hypotf(px - ax, py - ay), hypotf(px - bx, py - by)) - s->r;
}

float shape_distance(const Shape *s, float x, float y) {
    return s->sort == SHAPE_CAPSULE ? capsule_distance(s, x, y)
           : s->sort == SHAPE_BOX   ? box_distance(s, x, y)
                                    : ring_distance(s, x, y);
}

void shape_bounds(const Shape *s, float b[4]) {
    float ex = s->r, ey = s->r;
    b[0] = b[2] = s->x;
    b[1] = b[3] = s->y;
    if (s->sort == SHAPE_CAPSULE) {
        b[0] = least(s->x, s->x2), b[2] = most_of(s->x, s->x2), b[1] = least(s->y, s->y2), b[3] = most_of(s->y, s->y2);
    } else if (s->sort == SHAPE_BOX) {
        float c = fabsf(cosf(s->turn)), k = fabsf(sinf(s->turn));
        ex = c * s->x2 + k * s->y2, ey = k * s->x2 + c * s->y2;
    } else {
        ex = ey = s->x2 + s->r;
    }
    b[0] -= ex, b[2] += ex, b[1] -= ey, b[3] += ey;
}

Plane plane_new(int w, int h) {
    Plane plane = {w, h, calloc((size_t)w * (size_t)h, 1)};
    if (!plane.at) abort();
    return plane;
}

void plane_free(Plane *plane) {
    free(plane->at);
    *plane = (Plane){0};
}

Plane plane_copy(const Plane *plane) {
    Plane copy = plane_new(plane->w, plane->h);
    memcpy(copy.at, plane->at, (size_t)plane->w * (size_t)plane->h);
    return copy;
}

float plane_sample(const Plane *plane, float px, float py) {
    float fx = floorf(px - 0.5f), fy = floorf(py - 0.5f), u = px - 0.5f - fx, v = py - 0.5f - fy;
    int x = (int)fx, y = (int)fy;
    float top = (float)plane_at(plane, x, y) * (1 - u) + (float)plane_at(plane, x + 1, y) * u;
    float low = (float)plane_at(plane, x, y + 1) * (1 - u) + (float)plane_at(plane, x + 1, y + 1) * u;
    return top * (1 - v) + low * v;
}

/* The x range (mm) that a grown capsule can touch in the row y. */
static void capsule_row(const Shape *s, float reach, float y, float *low, float *high) {
    float dy = s->y2 - s->y, from = 0, to = 1;
    if (fabsf(dy) > 1e-6f) {
        float a = (y - reach - s->y) / dy, b = (y + reach - s->y) / dy;
        from = most_of(0, least(a, b)), to = least(1, most_of(a, b));
    }
    float xa = s->x + from * (s->x2 - s->x), xb = s->x + to * (s->x2 - s->x);
    *low = least(xa, xb) - reach, *high = most_of(xa, xb) + reach;
}

static int clip(int v, int low, int high) { return v < low ? low : v > high ? high : v; }

static void paint(Plane *plane, const Shape *shape, float grow, bool cut) {
    float b[4], pad = grow + 1.0f / RASTER_SCALE;
    shape_bounds(shape, b);
    int y0 = clip((int)floorf(plane_px(b[1] - pad)), 0, plane->h), y1 = clip((int)ceilf(plane_px(b[3] + pad)), 0, plane->h);
    for (int y = y0; y < y1; y++) {
        float my = ((float)y + 0.5f) / RASTER_SCALE - RASTER_MARGIN, low = b[0] - pad, high = b[2] + pad;
        if (shape->sort == SHAPE_CAPSULE) capsule_row(shape, shape->r + pad, my, &low, &high);
        int x0 = clip((int)floorf(plane_px(low)), 0, plane->w), x1 = clip((int)ceilf(plane_px(high)), 0, plane->w);
        unsigned char *row = plane->at + (long)y * plane->w;
        for (int x = x0; x < x1; x++) {
            float mx = ((float)x + 0.5f) / RASTER_SCALE - RASTER_MARGIN;
            float cover = 0.5f - (shape_distance(shape, mx, my) - grow) * RASTER_SCALE;
            if (cover <= 0) continue;
            int c = cover >= 1 ? 255 : (int)(cover * 255.0f + 0.5f);
            if (cut)
                row[x] = (unsigned char)(row[x] < 255 - c ? row[x] : 255 - c);
            else
                row[x] = (unsigned char)(row[x] > c ? row[x] : c);
        }
    }
}

void plane_draw(Plane *plane, const Shape *shape, float grow) { paint(plane, shape, grow, false); }
void plane_cut(Plane *plane, const Shape *shape, float grow) { paint(plane, shape, grow, true); }

void plane_add(Plane *plane, const Plane *other) {
    long count = (long)plane->w * plane->h;
    for (long i = 0; i < count; i++) plane->at[i] = plane->at[i] > other->at[i] ? plane->at[i] : other->at[i];
}

void plane_keep(Plane *plane, const Plane *other) {
    long count = (long)plane->w * plane->h;
    for (long i = 0; i < count; i++) plane->at[i] = plane->at[i] < other->at[i] ? plane->at[i] : other->at[i];
}

typedef struct Way {
    short x, y;
} Way;
enum { FAR = 12000 };

static long way_length(Way way) { return (long)way.x * way.x + (long)way.y * way.y; }

static void take(Way *ways, long i, long j, int dx, int dy) {
    if (ways[j].x >= FAR) return;
    Way via = {(short)(ways[j].x + dx), (short)(ways[j].y + dy)};
    if (way_length(via) < way_length(ways[i])) ways[i] = via;
}

/* One sweep down (step 1) or up (step -1): from the row before, then along the row in both directions. A way points from a
 * pixel to its nearest set pixel. */
static void sweep(Way *ways, int w, int h, int step) {
    for (int n = 0; n < h; n++) {
        int y = step > 0 ? n : h - 1 - n;
        long row = (long)y * w, before = row - (long)step * w;
        if (n > 0)
            for (int x = 0; x < w; x++) {
                take(ways, row + x, before + x, 0, -step);
                if (x > 0) take(ways, row + x, before + x - 1, -1, -step);
                if (x + 1 < w) take(ways, row + x, before + x + 1, 1, -step);
            }
        for (int x = 1; x < w; x++) take(ways, row + x, row + x - 1, -1, 0);
        for (int x = w - 2; x >= 0; x--) take(ways, row + x, row + x + 1, 1, 0);
    }
}

void distance_to(const unsigned char *set, int w, int h, float most, float *out, int *near) {
    long count = (long)w * h;
    Way *ways = malloc((size_t)count * sizeof *ways);
    if (!ways) abort();
    for (long i = 0; i < count; i++) ways[i] = set[i] ? (Way){0, 0} : (Way){FAR, FAR};
    sweep(ways, w, h, 1);
    sweep(ways, w, h, -1);
    for (long i = 0; i < count; i++) {
        bool far = ways[i].x >= FAR;
        float d = far ? most : sqrtf((float)way_length(ways[i]));
        out[i] = d < most ? d : most;
        if (near) near[i] = far ? -1 : (int)(i + ways[i].x + (long)ways[i].y * w);
    }
    free(ways);
}

void plane_grow(Plane *plane, float mm) {
    long count = (long)plane->w * plane->h;
    unsigned char *set = calloc((size_t)count, 1);
    float *d = malloc((size_t)count * sizeof *d), reach = mm * RASTER_SCALE;
    if (!set || !d) abort();
    for (long i = 0; i < count; i++) set[i] = plane->at[i] >= 128;
    distance_to(set, plane->w, plane->h, reach + 2, d, NULL);
    for (long i = 0; i < count; i++) {
        float cover = reach + 0.5f - d[i];
        plane->at[i] = cover <= 0 ? 0 : cover >= 1 ? 255 : (unsigned char)(cover * 255.0f);
    }
    free(set);
    free(d);
}

static int find_root(int *parent, int a) {
    while (parent[a] != a) a = parent[a] = parent[parent[a]];
    return a;
}

int plane_label(const Plane *plane, int *label) {
    int w = plane->w, h = plane->h, used = 1, count = 0;
    int *parent = malloc(((size_t)w * (size_t)h / 2 + 2) * sizeof *parent);
    if (!parent) abort();
    for (int y = 0; y < h; y++)
        for (int x = 0; x < w; x++) {
            long i = (long)y * w + x;
            label[i] = 0;
            if (plane->at[i] < 128) continue;
            const int nx[4] = {x - 1, x - 1, x, x + 1}, ny[4] = {y, y - 1, y - 1, y - 1};
            for (int k = 0; k < 4; k++) {
                if (nx[k] < 0 || ny[k] < 0 || nx[k] >= w) continue;
                int other = label[(long)ny[k] * w + nx[k]];
                if (!other) continue;
                int a = find_root(parent, other), b = label[i] ? find_root(parent, label[i]) : a;
                if (a < b)
                    parent[b] = a;
                else
                    parent[a] = b;
                label[i] = a < b ? a : b;
            }
            if (!label[i]) parent[used] = used, label[i] = used++;
        }
    int *name = calloc((size_t)used, sizeof *name);
    if (!name) abort();
    for (long i = 0; i < (long)w * h; i++) {
        if (!label[i]) continue;
        int root = find_root(parent, label[i]);
        if (!name[root]) name[root] = ++count;
        label[i] = name[root];
    }
    free(parent);
    free(name);
    return count;
}
