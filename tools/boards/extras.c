/* What a router would not draw: bundles of parallel lines, interleaved combs, rings, and bare stretches of track: many thin
 * gaps and necks close together, where telling copper from laminate is hardest. */
#include "layout.h"

static int new_net(Board *board) { return ++board->net_count; }

/* Some parallel lines with one bend of 45 degrees; each line is kept only where it is free. */
static void bundle(Board *board, Rng *rng) {
    float width = rng_log(rng, 0.12f, 0.6f), gap = rng_log(rng, 0.12f, 0.5f), pitch = width + gap;
    float x = rng_between(rng, 1, board->width - 1), y = rng_between(rng, 1, board->height - 1);
    float turn = rng_chance(rng, 0.8f) ? 0.78539816f * (float)rng_below(rng, 8) : rng_between(rng, 0, 6.28f);
    float bend = rng_chance(rng, 0.6f) ? rng_sign(rng) * 0.78539816f : 0, length = rng_between(rng, 2, 9),
          after = rng_between(rng, 1, 6);
    int count = rng_from(rng, 2, 9);
    bool same = rng_chance(rng, 0.1f);
    int net = same ? new_net(board) : 0;
    float c = cosf(turn), s = sinf(turn), c2 = cosf(turn + bend), s2 = sinf(turn + bend), shear = tanf(bend / 2) * pitch;
    for (int i = 0; i < count; i++) {
        float k = (float)i, ax = x - s * pitch * k, ay = y + c * pitch * k;
        float reach = length - shear * k, bx = ax + c * reach, by = ay + s * reach;
        Shape first = shape_line(ax, ay, bx, by, width),
              second = shape_line(bx, by, bx + c2 * after, by + s2 * after, width);
        int mine = same ? net : new_net(board);
        if (reach < 0.5f || !layout_free_of(board, &first, gap * 0.98f, mine)) continue;
        layout_add_track(board, first, mine);
        if (bend != 0 && layout_free_of(board, &second, gap * 0.98f, mine)) layout_add_track(board, second, mine);
    }
}

/* Two combs that reach into each other: a key's contact, a capacitor, a water sensor. */
static void comb(Board *board, Rng *rng) {
    float width = rng_log(rng, 0.15f, 0.7f), gap = rng_log(rng, 0.13f, 0.6f), length = rng_between(rng, 1.5f, 6);
    int count = rng_from(rng, 3, 10), a = new_net(board), b = new_net(board);
    float w = (width + gap) * (float)count, x = rng_between(rng, 1, board->width - w),
          y = rng_between(rng, 1, board->height - length);
    Shape area = shape_box(x + w / 2, y + length / 2, w + 1, length + 2, 0, 0);
    if (x < 1 || y < 1 || !layout_free_of(board, &area, 0.2f, 0)) return;
    for (int i = 0; i < count; i++) {
        float cx = x + (width + gap) * (float)i;
        layout_add_track(board,
                         shape_line(cx, y + (i % 2 ? width + gap : 0), cx, y + length - (i % 2 ? 0 : width + gap), width),
                         i % 2 ? b : a);
    }
    layout_add_track(board, shape_line(x, y, x + w - width - gap, y, width), a);
    layout_add_track(board, shape_line(x, y + length, x + w - width - gap, y + length, width), b);
    if (board->opening_count < LAYOUT_SHAPES && rng_chance(rng, 0.5f)) board->openings[board->opening_count++] = area;
}

static void rings(Board *board, Rng *rng) {
    float width = rng_log(rng, 0.15f, 1), gap = rng_log(rng, 0.13f, 0.6f), radius = rng_between(rng, 0.5f, 1.5f);
    float x = rng_between(rng, 2, board->width - 2), y = rng_between(rng, 2, board->height - 2);
    int count = rng_from(rng, 1, 4);
    for (int i = 0; i < count; i++) {
        Shape ring = {SHAPE_RING,
                      x,
                      y,
                      radius + (width + gap) * (float)i,
                      rng_chance(rng, 0.6f) ? 6.2831f : rng_between(rng, 1, 5),
                      width / 2,
                      rng_between(rng, 0, 6)};
        Shape disc = shape_disc(x, y, 2 * ring.x2 + width);
        int net = new_net(board);
        if (i == 0 && !layout_free_of(board, &disc, 0.3f, net)) return;
        if (i > 0) {
            Shape outer = {SHAPE_RING, x, y, ring.x2, 6.2831f, width / 2, 0};
            float b[4];
            shape_bounds(&outer, b);
            Shape box = shape_disc(x, y, 2 * ring.x2 + width);
            (void)b;
            bool free = box.x - box.r > 0.3f && box.y - box.r > 0.3f && box.x + box.r < board->width - 0.3f &&
                        box.y + box.r < board->height - 0.3f;
            for (int p = 0; p < board->pad_count && free; p++) {
                Shape pad = layout_pad_shape(&board->pads[p]);
                free = shape_distance(&pad, x, y) > box.r + 0.2f;
            }
            if (!free) return;
        }
        layout_add_track(board, ring, net);
    }
}

/* A free line at any angle, wide or thin. */
static void stray(Board *board, Rng *rng) {
    float x = rng_between(rng, 1, board->width - 1), y = rng_between(rng, 1, board->height - 1),
          turn = rng_between(rng, 0, 6.28f);
    float length = rng_between(rng, 1, 8), width = rng_log(rng, 0.12f, 3);
    Shape line = shape_line(x, y, x + cosf(turn) * length, y + sinf(turn) * length, width);
    int net = new_net(board);
    if (layout_free_of(board, &line, rng_log(rng, 0.13f, 0.5f), net)) layout_add_track(board, line, net);
}

/* Mask left off a stretch of track, to be thickened with solder, or off a square of anything. */
static void bare_stretches(Board *board, Rng *rng) {
    int count = rng_chance(rng, 0.25f) ? rng_from(rng, 1, 5) : 0;
    for (int i = 0; i < count && board->opening_count < LAYOUT_SHAPES && board->track_count; i++) {
        Shape s = board->tracks[rng_below(rng, board->track_count)].shape;
        if (s.sort != SHAPE_CAPSULE || s.r < 0.15f) continue;
        s.r *= rng_between(rng, 0.6f, 1.2f);
        board->openings[board->opening_count++] = s;
    }
}

void layout_extras(Board *board, Rng *rng) {
    int bundles = rng_chance(rng, 0.6f) ? rng_from(rng, 1, 6) : 0, strays = rng_chance(rng, 0.4f) ? rng_from(rng, 1, 8) : 0;
    for (int i = 0; i < bundles; i++) bundle(board, rng);
    for (int i = 0; i < strays; i++) stray(board, rng);
    if (rng_chance(rng, 0.2f)) comb(board, rng);
    if (rng_chance(rng, 0.15f)) rings(board, rng);
    bare_stretches(board, rng);
}
