/* A crop: a window of a board, its patch of photo, and the patch straightened again through corners that are a little
 * wrong. Only the window is rendered, not the photo. Cost: about 30 ms a crop of one core, a third each for material,
 * camera and JPEG. */
#include "crop.h"
#include "material.h"

#include <stdlib.h>
#include <string.h>

/* How the product would map mm to pixels: a homography to undistorted pixels, and its own idea of k1. */
typedef struct Flattening {
    double h[9], k1;
} Flattening;

static void bend(const Camera *camera, double k1, double u, double v, double *px, double *py) {
    double dx = (u - camera->centre_x) / camera->half_diagonal, dy = (v - camera->centre_y) / camera->half_diagonal;
    double f = 1 + k1 * (dx * dx + dy * dy);
    *px = camera->centre_x + dx * f * camera->half_diagonal;
    *py = camera->centre_y + dy * f * camera->half_diagonal;
}

static void unbend(const Camera *camera, double k1, double px, double py, double *u, double *v) {
    double dx = (px - camera->centre_x) / camera->half_diagonal, dy = (py - camera->centre_y) / camera->half_diagonal,
           ux = dx, uy = dy;
    for (int i = 0; i < 8; i++) {
        double f = 1 + k1 * (ux * ux + uy * uy);
        ux = dx / f, uy = dy / f;
    }
    *u = camera->centre_x + ux * camera->half_diagonal;
    *v = camera->centre_y + uy * camera->half_diagonal;
}

static Flattening flattening_new(const Board *board, const Camera *camera, Rng *rng) {
    Flattening flat = {.k1 = rng_chance(rng, 0.4f) ? 0 : camera->k1 * (double)rng_between(rng, 0, 1.3f)};
    const double corners[4][2] = {{0, 0}, {board->width, 0}, {board->width, board->height}, {0, board->height}};
    double seen[4][2], off = (double)(rng_between(rng, 0, 0.15f) * camera->scale);
    for (int i = 0; i < 4; i++) {
        double px, py;
        camera_to_photo(camera, corners[i][0], corners[i][1], &px, &py);
        px += off * (double)rng_between(rng, -1, 1), py += off * (double)rng_between(rng, -1, 1);
        unbend(camera, flat.k1, px, py, &seen[i][0], &seen[i][1]);
    }
    if (!homography_from_corners(corners, seen, flat.h)) memcpy(flat.h, camera->h, sizeof flat.h);
    return flat;
}

static void flat_to_photo(const Flattening *flat, const Camera *camera, double x, double y, double *px, double *py) {
    double u, v;
    homography_map(flat->h, x, y, &u, &v);
    bend(camera, flat->k1, u, v, px, py);
}

typedef struct Window {
    double x, y;        /* mm, top left of the crop on the straightened board */
    double scale, side; /* pixels per mm; mm */
} Window;

/* Three in four as fine as the photo bears out and a little finer or coarser, the others coarse, for a first look. */
static Window window_new(const Board *board, const Camera *camera, Rng *rng) {
    double scale = rng_chance(rng, 0.25f) ? (double)rng_between(rng, 12, 18)
                                          : fmin(fmax((double)(camera->scale * rng_between(rng, 0.85f, 1.35f)), 20),
                                                 (double)rng_between(rng, 26, 33));
    double side = CROP_SIDE / scale, slack_x = board->width - side, slack_y = board->height - side, over = 1;
    Window w = {slack_x / 2, slack_y / 2, scale, side};
    if (slack_x > -over) w.x = (double)rng_unit(rng) * (slack_x + 2 * over) - over;
    if (slack_y > -over) w.y = (double)rng_unit(rng) * (slack_y + 2 * over) - over;
    return w;
}

/* Blocks of the patch that the crop can't see, as far as blur and straightening errors reach, are left out. */
static void mark_live(const Camera *camera, Window at, Patch *p) {
    double side = at.side, reach = 0.9 + 28 / camera->scale;
    p->live = malloc((size_t)(p->w / 16) * (size_t)(p->h / 16));
    if (!p->live) abort();
    for (int j = 0; j < p->h / 16; j++)
        for (int i = 0; i < p->w / 16; i++) {
            double x, y;
            camera_to_board(camera, p->x + 16 * i + 8, p->y + 16 * j + 8, &x, &y);
            p->live[j * (p->w / 16) + i] =
                x > at.x - reach && y > at.y - reach && x < at.x + side + reach && y < at.y + side + reach;
        }
}

/* The rectangle of the photo that the crop looks at, with room for blur and on the grid of JPEG's blocks. */
static Patch patch_of(const Camera *camera, const Flattening *flat, Window at) {
    double low_x = 1e9, low_y = 1e9, high_x = -1e9, high_y = -1e9, side = at.side;
    for (int i = 0; i < 4; i++) {
        double px, py;
        flat_to_photo(flat, camera, at.x + (i % 2 ? side : 0), at.y + (i / 2 ? side : 0), &px, &py);
        low_x = fmin(low_x, px), high_x = fmax(high_x, px), low_y = fmin(low_y, py), high_y = fmax(high_y, py);
    }
    int x = (int)floor((low_x - 12) / 16) * 16, y = (int)floor((low_y - 12) / 16) * 16;
    Patch p = patch_new(x, y, (int)ceil((high_x + 12 - x) / 16) * 16, (int)ceil((high_y + 12 - y) / 16) * 16);
    mark_live(camera, at, &p);
    return p;
}

/* Half the size, for photos coarser than the raster. */
static void halve(Scene *s) {
    int w = s->w / 2, h = s->h / 2;
    for (int c = 0; c < 3; c++)
        for (int y = 0; y < h; y++)
            for (int x = 0; x < w; x++) {
                const float *a = s->rgb[c] + (long)2 * y * s->w + 2 * x;
                float mean = (a[0] + a[1] + a[s->w] + a[s->w + 1]) / 4;
                s->rgb[c][(long)y * w + x] = mean; /* behind what is still to be read */
            }
}

typedef struct Knot {
    float x, y, gain, glare; /* where in the scene's raster, and the light there */
} Knot;

static Knot *knots_new(const Camera *camera, const Patch *p, const Scene *s, float shrink, int step, int *across) {
    int w = p->w / step + 2, h = p->h / step + 2;
    Knot *knots = malloc((size_t)w * (size_t)h * sizeof *knots);
    if (!knots) abort();
    for (int j = 0; j < h; j++)
        for (int i = 0; i < w; i++) {
            double px = p->x + i * step + 0.5, py = p->y + j * step + 0.5, x, y;
            Knot *k = &knots[j * w + i];
            camera_to_board(camera, px, py, &x, &y);
            camera_light(camera, (float)x, (float)y, &k->gain, &k->glare);
            double dx = (px - camera->centre_x) / camera->half_diagonal,
                   dy = (py - camera->centre_y) / camera->half_diagonal;
            k->gain *= 1 - camera->vignette * (float)(dx * dx + dy * dy);
            k->x = (plane_px((float)x) - (float)s->x) * shrink - 0.5f,
            k->y = (plane_px((float)y) - (float)s->y) * shrink - 0.5f;
        }
    *across = w;
    return knots;
}

static float pick(const float *at, int stride, int w, int h, float x, float y) {
    x = x < 0 ? 0 : x > (float)(w - 2) ? (float)(w - 2) : x, y = y < 0 ? 0 : y > (float)(h - 2) ? (float)(h - 2) : y;
    int ix = (int)x, iy = (int)y;
    float u = x - (float)ix, v = y - (float)iy;
    const float *a = at + (long)iy * stride + ix;
    return (a[0] * (1 - u) + a[1] * u) * (1 - v) + (a[stride] * (1 - u) + a[stride + 1] * u) * v;
}

static Knot knot_between(const Knot *a, const Knot *b, float t) {
    return (Knot){a->x + (b->x - a->x) * t, a->y + (b->y - a->y) * t, a->gain + (b->gain - a->gain) * t,
                  a->glare + (b->glare - a->glare) * t};
}

/* The scene through perspective and lens onto the patch, red and blue a little apart, in the light that falls on it. */
void crop_project(const Camera *camera, struct Scene *s, Patch *p) {
    enum { STEP = 8 };
    bool small = camera->scale < 27;
    int across, w = small ? s->w / 2 : s->w, h = small ? s->h / 2 : s->h;
    if (small) halve(s);
    Knot *knots = knots_new(camera, p, s, small ? 0.5f : 1, STEP, &across);
    for (int y = 0; y < p->h; y++) {
        const Knot *row = knots + (y / STEP) * across;
        float v = (float)(y % STEP) / STEP, fringe_y = camera->fringe * ((float)(p->y + y) - (float)camera->centre_y);
        for (int i = 0; i < p->w / STEP; i++) {
            if (p->live && !p->live[y / 16 * (p->w / 16) + i * STEP / 16]) continue;
            Knot a = knot_between(&row[i], &row[i + across], v), b = knot_between(&row[i + 1], &row[i + 1 + across], v);
            float turn = RASTER_SCALE / camera->scale * (small ? 0.5f : 1);
            for (int x = 0; x < STEP; x++) {
                Knot k = knot_between(&a, &b, (float)x / STEP);
                float fringe_x = camera->fringe * ((float)(p->x + i * STEP + x) - (float)camera->centre_x);
                long at = (long)y * p->w + i * STEP + x;
                for (int c = 0; c < 3; c++) {
                    float off = (float)(1 - c) * turn;
                    p->rgb[c][at] = pick(s->rgb[c], w, w, h, k.x + off * fringe_x, k.y + off * fringe_y) * k.gain + k.glare;
                }
            }
        }
    }
    free(knots);
}

static void rgb_at(const Patch *p, float px, float py, int taps, float spread, unsigned char *out) {
    float sum[3] = {0}, step = spread / (float)taps, first = -0.5f * spread + 0.5f * step - 0.5f;
    for (int j = 0; j < taps; j++)
        for (int i = 0; i < taps; i++) {
            float x = px + first + (float)i * step, y = py + first + (float)j * step;
            x = x < 0 ? 0 : x > (float)(p->w - 2) ? (float)(p->w - 2) : x;
            y = y < 0 ? 0 : y > (float)(p->h - 2) ? (float)(p->h - 2) : y;
            int ix = (int)x, iy = (int)y;
            float u = x - (float)ix, v = y - (float)iy;
            const unsigned char *a = p->bytes + 3 * ((long)iy * p->w + ix), *b = a + 3L * p->w;
            for (int c = 0; c < 3; c++) {
                float top = (float)a[c] * (1 - u) + (float)a[3 + c] * u, low = (float)b[c] * (1 - u) + (float)b[3 + c] * u;
                sum[c] += top * (1 - v) + low * v;
            }
        }
    for (int c = 0; c < 3; c++) out[c] = (unsigned char)(sum[c] / (float)(taps * taps) + 0.5f);
}

/* Four samples of a plane within one pixel of the crop, `off` from its centre. */
static unsigned char cover_at(const Plane *plane, float px, float py, float off) {
    float sum = 0;
    for (int k = 0; k < 4; k++) sum += plane_sample(plane, px + (k % 2 ? off : -off), py + (k / 2 ? off : -off));
    return (unsigned char)(sum / 4 + 0.5f);
}

static unsigned char pad_at(const Board *board, const Look *look, float px, float py, float off, unsigned char copper) {
    int x = (int)floorf(px), y = (int)floorf(py);
    bool on = x >= 0 && y >= 0 && x < board->w && y < board->h;
    if (board->solder && on && board->solder[(long)y * board->w + x] > 0) return 255;
    unsigned char land = cover_at(look->finish >= FINISH_BARE ? &board->land : &board->open, px, py, off);
    return land < copper ? land : copper;
}

static unsigned char hole_at(const Board *board, float px, float py, float off) {
    int x = (int)floorf(px), y = (int)floorf(py);
    if (board->solder && x >= 0 && y >= 0 && x < board->w && y < board->h && board->solder[(long)y * board->w + x] > 0)
        return 0;
    return cover_at(&board->drill, px, py, off);
}

/* Print or solder lies there, so that what is below can only be told from its surroundings. */
static bool covered_at(const Board *board, const Look *look, float px, float py) {
    int x = (int)floorf(px), y = (int)floorf(py);
    if (x < 0 || y < 0 || x >= board->w || y >= board->h) return false;
    long i = (long)y * board->w + x;
    return (look->silk_cover > 0 && board->silk.at[i] >= 128) || (board->solder && board->solder[i] > 0);
}

/* Where the pixel (i, j) of the crop looks: in the patch, in the board's raster, and the glare there. */
typedef struct Spot {
    float px, py, rx, ry, glare;
} Spot;

enum { SPOT_STEP = 8, SPOTS = CROP_SIDE / SPOT_STEP + 1 };

/* Every eighth spot; between them all is straight enough. */
static void spots_fill(const Camera *camera, const Flattening *flat, Window at, const Patch *p, Spot spots[SPOTS * SPOTS]) {
    for (int k = 0; k < SPOTS * SPOTS; k++) {
        double px, py, x, y, i = k % SPOTS * SPOT_STEP + 0.5, j = k / SPOTS * SPOT_STEP + 0.5;
        float gain;
        flat_to_photo(flat, camera, at.x + i / at.scale, at.y + j / at.scale, &px, &py);
        camera_to_board(camera, px, py, &x, &y);
        camera_light(camera, (float)x, (float)y, &gain, &spots[k].glare);
        spots[k].px = (float)(px - p->x), spots[k].py = (float)(py - p->y);
        spots[k].rx = plane_px((float)x), spots[k].ry = plane_px((float)y);
    }
}

static Spot spot_at(const Spot *spots, int i, int j) {
    const Spot *a = spots + j / SPOT_STEP * SPOTS + i / SPOT_STEP;
    float u = (float)(i % SPOT_STEP) / SPOT_STEP, v = (float)(j % SPOT_STEP) / SPOT_STEP;
    float w[4] = {(1 - u) * (1 - v), u * (1 - v), (1 - u) * v, u * v};
    Spot out = {0};
    for (int k = 0; k < 4; k++) {
        const Spot *b = a + k / 2 * SPOTS + k % 2;
        out.px += w[k] * b->px, out.py += w[k] * b->py, out.rx += w[k] * b->rx, out.ry += w[k] * b->ry;
        out.glare += w[k] * b->glare;
    }
    return out;
}

static bool hidden_at(const Scene *s, float rx, float ry) {
    int x = (int)floorf(rx) - s->x, y = (int)floorf(ry) - s->y;
    return x >= 0 && y >= 0 && x < s->w && y < s->h && s->hidden[(long)y * s->w + x];
}

static void sample(const Board *board, const Look *look, const Camera *camera, const Spot *spots, float scale,
                   const Scene *s, const Patch *p, unsigned char *out, unsigned char *covered) {
    float ratio = camera->scale / scale, off = 0.25f * RASTER_SCALE / scale;
    int taps = ratio > 3.2f ? 4 : ratio > 2.2f ? 3 : ratio > 1.2f ? 2 : 1;
    for (int j = 0; j < CROP_SIDE; j++)
        for (int i = 0; i < CROP_SIDE; i++) {
            long k = (long)j * CROP_SIDE + i;
            Spot at = spot_at(spots, i, j);
            bool hidden = hidden_at(s, at.rx, at.ry);
            unsigned char copper = cover_at(&board->copper, at.rx, at.ry, off);
            rgb_at(p, at.px, at.py, taps, ratio, out + 3 * k);
            covered[k] = covered_at(board, look, at.rx, at.ry);
            out[3 * CROP_AREA + k] = copper;
            out[4 * CROP_AREA + k] = hidden ? 0 : pad_at(board, look, at.rx, at.ry, off, copper);
            out[5 * CROP_AREA + k] = hidden ? 0 : hole_at(board, at.rx, at.ry, off);
            out[6 * CROP_AREA + k] = hidden || at.glare * camera->exposure > 0.8f ? 255 : 0;
        }
}

static void crop_one(const Board *board, const Look *look, const Camera *camera, const Noise *noise, Rng *rng,
                     unsigned char *out) {
    Flattening flat = flattening_new(board, camera, rng);
    Window at = window_new(board, camera, rng);
    Patch p = patch_of(camera, &flat, at);
    int margin = (int)(0.8f * RASTER_SCALE), side = (int)ceil(at.side * (double)RASTER_SCALE) + 2 * margin;
    double cx, cy, mid = at.side / 2;
    flat_to_photo(&flat, camera, at.x + mid, at.y + mid, &cx, &cy);
    camera_to_board(camera, cx, cy, &cx, &cy);
    Scene s = scene_render(board, look, camera, noise, (int)plane_px((float)cx) - side / 2,
                           (int)plane_px((float)cy) - side / 2, side, side);
    crop_project(camera, &s, &p);
    camera_develop(camera, noise, rng, &p);
    Spot spots[SPOTS * SPOTS];
    spots_fill(camera, &flat, at, &p, spots);
    unsigned char covered[CROP_AREA];
    sample(board, look, camera, spots, (float)at.scale, &s, &p, out, covered);
    crop_weigh(out + 3 * CROP_AREA, covered, (float)at.scale, out + 7 * CROP_AREA);
    scene_free(&s);
    patch_free(&p);
}

void crop_board(const Noise *noise, const Board *board, uint64_t seed, uint64_t number, int count, unsigned char *out) {
    for (int i = 0; i < count; i++) {
        Rng rng = rng_new(seed, number, 100 + (uint64_t)i), look_rng = rng_new(seed, number, 200 + (uint64_t)i / 2);
        Look look = look_new(board, &look_rng);
        Camera camera = camera_new(board, &rng);
        if (board->hard) {
            Rng hard = rng_new(seed, number, 300 + (uint64_t)i), hard_look = rng_new(seed, number, 400 + (uint64_t)i / 2);
            look_harden(&look, &hard_look);
            camera_harden(&camera, board, &hard);
        }
        crop_one(board, &look, &camera, noise, &rng, out + (size_t)i * CROP_BYTES);
    }
}
