/* Solder on pads as a height map: an elliptic dome over each pad, wetted to its rim or a little over or short of it, with a
 * wavy edge and often the end of a wire in the middle. The material stage shades it by its slope. */
#include "layout.h"

#include <stdlib.h>

typedef struct Blob {
    float tall, grow, wave, phase, lumps;  /* mm, mm, mm, radian, a number */
    float wire, wire_x, wire_y, wire_tall; /* radius in mm, 0 none */
    float full;                            /* 0 flat with round edges .. 1 a dome */
} Blob;

static float smooth(float t) { return t <= 0 ? 0 : t >= 1 ? 1 : t * t * (3 - 2 * t); }

static float height_at(const Shape *shape, const Blob *b, float x, float y) {
    float half = fmaxf(fminf(shape->x2, shape->y2) + b->grow, 0.05f), angle = atan2f(y - shape->y, x - shape->x);
    float d = shape_distance(shape, x, y) - b->grow - b->wave * sinf(b->lumps * angle + b->phase);
    if (d >= 0) return 0;
    float t = fminf(-d / half, 1), dome = sqrtf(1 - (1 - t) * (1 - t)), flat = smooth(-d / 0.15f);
    float height = b->tall * (b->full * dome + (1 - b->full) * flat);
    if (b->wire > 0) {
        float r = hypotf(x - shape->x - b->wire_x, y - shape->y - b->wire_y);
        height += b->wire_tall * smooth((b->wire - r) / 0.08f + 0.5f) * smooth(t * 3);
    }
    return height;
}

static void paint_blob(Board *board, const Shape *shape, const Blob *blob) {
    float b[4], reach = fmaxf(blob->grow, 0) + blob->wave + 0.05f;
    shape_bounds(shape, b);
    int x0 = (int)plane_px(b[0] - reach), x1 = (int)plane_px(b[2] + reach) + 1;
    int y0 = (int)plane_px(b[1] - reach), y1 = (int)plane_px(b[3] + reach) + 1;
    for (int y = y0 < 0 ? 0 : y0; y <= y1 && y < board->h; y++)
        for (int x = x0 < 0 ? 0 : x0; x <= x1 && x < board->w; x++) {
            long i = (long)y * board->w + x;
            float mx = ((float)x + 0.5f) / RASTER_SCALE - RASTER_MARGIN,
                  my = ((float)y + 0.5f) / RASTER_SCALE - RASTER_MARGIN;
            float height = board->outline.at[i] < 128 ? 0 : height_at(shape, blob, mx, my);
            if (height > board->solder[i]) board->solder[i] = height;
        }
}

static Blob blob_new(Rng *rng, const Pad *pad, float fat) {
    float small = fminf(pad->w, pad->h);
    Blob b = {.tall = small * rng_between(rng, 0.2f, 0.55f),
              .grow = fat * rng_between(rng, -0.12f, 0.09f),
              .wave = rng_between(rng, 0, 0.035f) * small,
              .phase = rng_between(rng, 0, 6.28f),
              .lumps = (float)rng_from(rng, 2, 5),
              .full = rng_between(rng, 0.7f, 1)};
    if (pad->hole > 0 && rng_chance(rng, 0.75f)) {
        b.wire = fminf(pad->hole * rng_between(rng, 0.3f, 0.48f), small * 0.3f);
        b.wire_x = rng_between(rng, -0.1f, 0.1f) * small, b.wire_y = rng_between(rng, -0.1f, 0.1f) * small;
        b.wire_tall = rng_between(rng, 0.05f, 0.3f);
    }
    if (pad->hole <= 0) b.tall *= rng_between(rng, 0.2f, 0.7f), b.full = rng_between(rng, 0.2f, 0.8f);
    return b;
}

/* Solder runs a little way along copper that is bare beside the pad: stubs of tracks and spokes. Pixels in reach take what
 * their highest neighbour has, less a step, as often as the reach is long. */
static void wet(Board *board, const Pad *pad, float reach, bool masked) {
    int steps = (int)(reach * RASTER_SCALE), w = board->w, h = board->h;
    float around = hypotf(pad->w, pad->h) / 2 + reach, fall = 0.3f / (float)(steps + 1);
    int x0 = (int)fmaxf(plane_px(pad->x - around), 1), x1 = (int)fminf(plane_px(pad->x + around), (float)w - 2);
    int y0 = (int)fmaxf(plane_px(pad->y - around), 1), y1 = (int)fminf(plane_px(pad->y + around), (float)h - 2);
    float *grown = malloc((size_t)w * (size_t)(y1 > y0 ? y1 - y0 + 1 : 1) * sizeof *grown);
    if (!grown) abort();
    for (int step = 0; step < steps; step++) {
        for (int y = y0; y <= y1; y++)
            for (int x = x0; x <= x1; x++) {
                long i = (long)y * w + x;
                const float *at = board->solder + i;
                float most = fmaxf(fmaxf(at[-1], at[1]), fmaxf(at[-w], at[w])) * (1 - fall) - 0.002f;
                bool bare = board->copper.at[i] >= 128 && (!masked || board->open.at[i] >= 128);
                grown[(long)(y - y0) * w + x] = bare && *at <= 0 && most > 0.01f ? fminf(most, 0.15f) : *at;
            }
        for (int y = y0; y <= y1; y++)
            for (int x = x0; x <= x1; x++) board->solder[(long)y * w + x] = grown[(long)(y - y0) * w + x];
    }
    free(grown);
}

/* Solder that grows over a pad's rim stays clear of the next copper. */
static float most_grow(const Board *board) { return 0.45f * fminf(board->style.clearance, board->style.pour_gap); }

static void solder_pads(Board *board, Rng *rng, const SolderHabit *habit) {
    for (int i = 0; i < board->pad_count; i++) {
        const Pad *pad = &board->pads[i];
        bool drilled = pad->hole > 0;
        if (pad->via || pad->hole > 2 || pad->part < 0 || !rng_chance(rng, drilled ? habit->through : habit->surface))
            continue;
        if (board->parts[pad->part].sort == PART_BARE && rng_chance(rng, 0.8f)) continue;
        Shape shape = layout_pad_shape(pad);
        Blob blob = blob_new(rng, pad, habit->fat);
        if (habit->clear)
            blob.grow = fminf(blob.grow, most_grow(board)), blob.wave = fminf(blob.wave, most_grow(board) / 2);
        paint_blob(board, &shape, &blob);
        if (habit->reach_most > 0)
            wet(board, pad, habit->reach_least + (habit->reach_most - habit->reach_least) * rng_unit(rng), habit->masked);
    }
}

/* On mask left out along tracks. */
static void solder_stretches(Board *board, Rng *rng) {
    for (int i = 0; i < board->opening_count; i++) {
        Shape s = board->openings[i];
        Blob blob = {.tall = fminf(s.r, 0.6f), .grow = -0.04f, .wave = 0.04f, .lumps = 5, .full = 0.8f};
        if (s.sort != SHAPE_CAPSULE || !rng_chance(rng, 0.6f)) continue;
        s.x2 += 1e-4f;
        Shape along = shape_box((s.x + s.x2) / 2, (s.y + s.y2) / 2, hypotf(s.x2 - s.x, s.y2 - s.y) + 2 * s.r, 2 * s.r,
                                atan2f(s.y2 - s.y, s.x2 - s.x), s.r);
        paint_blob(board, &along, &blob);
    }
}

void layout_solder_by(Board *board, Rng *rng, const SolderHabit *habit) {
    free(board->solder);
    board->solder = NULL;
    if (habit->through <= 0 && habit->surface <= 0) return;
    board->solder = calloc((size_t)board->w * (size_t)board->h, sizeof *board->solder);
    if (!board->solder) abort();
    solder_pads(board, rng, habit);
    solder_stretches(board, rng);
}

void layout_solder(Board *board, Rng *rng) {
    SolderHabit habit = {0};
    habit.through = rng_chance(rng, 0.5f) ? rng_chance(rng, 0.5f) ? 1 : rng_unit(rng) : 0,
    habit.fat = rng_between(rng, 0.3f, 1.6f);
    habit.surface = rng_chance(rng, 0.3f) ? rng_between(rng, 0.5f, 1) : 0;
    habit.reach_most = rng_chance(rng, 0.6f) ? rng_between(rng, 0.05f, 0.35f) : 0;
    habit.masked = rng_chance(rng, 0.75f);
    layout_solder_by(board, rng, &habit);
}
