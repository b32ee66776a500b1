/* Boards and photos that are hard to read, by what was misread most: print along fine gaps and over them, solder run over
 * thermal spokes, dull and grainy solder, copper hardly told from laminate through its mask, dried flux, coloured and
 * uneven light, strong JPEG. All of it is laid over what was drawn by lot before, from streams of its own, so that a board
 * and its photos without it stay what they were. */
#include "camera.h"
#include "print.h"

#include <stdlib.h>

static float clamp(float v, float low, float high) { return v < low ? low : v > high ? high : v; }

/* Where copper is near on both sides: each pixel's distance to copper, and the nearest pixel of it. */
typedef struct Gaps {
    float *far; /* raster pixels */
    int *near, w, h;
} Gaps;

static const float wide = 9; /* raster pixels: half of the widest gap that is printed on */

static Gaps gaps_new(const Board *board) {
    size_t count = (size_t)board->w * (size_t)board->h;
    Gaps gaps = {malloc(count * sizeof *gaps.far), malloc(count * sizeof *gaps.near), board->w, board->h};
    unsigned char *set = malloc(count);
    if (!gaps.far || !gaps.near || !set) abort();
    for (size_t i = 0; i < count; i++) set[i] = board->copper.at[i] >= 128;
    distance_to(set, board->w, board->h, 200, gaps.far, gaps.near);
    free(set);
    return gaps;
}

static float far_at(const Gaps *gaps, float x, float y) {
    int ix = (int)floorf(x), iy = (int)floorf(y);
    return ix < 0 || iy < 0 || ix >= gaps->w || iy >= gaps->h ? 0 : gaps->far[(long)iy * gaps->w + ix];
}

/* A point in the middle of a gap, raster pixels, found by climbing from a point by lot; and the gap's direction there. */
static bool find_gap(const Gaps *gaps, Rng *rng, float at[2], float along[2]) {
    for (int tries = 0; tries < 400; tries++) {
        int x = rng_from(rng, 2, gaps->w - 3), y = rng_from(rng, 2, gaps->h - 3);
        float far = far_at(gaps, (float)x, (float)y);
        if (far <= 0 || far > wide) continue;
        int near = gaps->near[(long)y * gaps->w + x];
        float dx = (float)(x - near % gaps->w), dy = (float)(y - near / gaps->w), length = hypotf(dx, dy);
        if (length <= 0) continue;
        dx /= length, dy /= length;
        float reach = 0; /* away from the nearest copper up to the middle */
        while (reach < wide && far_at(gaps, (float)x + dx * (reach + 1), (float)y + dy * (reach + 1)) > far)
            reach++, far = far_at(gaps, (float)x + dx * reach, (float)y + dy * reach);
        if (far >= wide) continue;
        at[0] = (float)x + dx * reach, at[1] = (float)y + dy * reach;
        along[0] = -dy, along[1] = dx;
        return true;
    }
    return false;
}

/* One step along the middle of a gap, bent to where it goes on. False where it ends or widens. */
static bool follow(const Gaps *gaps, float at[2], float along[2]) {
    enum { STEP = 5, ASIDE = 4 };
    float best = 0, bx = 0, by = 0;
    for (int k = -ASIDE; k <= ASIDE; k++) {
        float x = at[0] + along[0] * STEP - along[1] * (float)k, y = at[1] + along[1] * STEP + along[0] * (float)k;
        float far = far_at(gaps, x, y) - 0.05f * fabsf((float)k);
        if (far > best) best = far, bx = x, by = y;
    }
    if (best <= 0.5f || best > wide + 1) return false;
    float length = fmaxf(hypotf(bx - at[0], by - at[1]), 1e-3f);
    along[0] = (bx - at[0]) / length, along[1] = (by - at[1]) / length;
    at[0] = bx, at[1] = by;
    return true;
}

static float to_mm(float px) { return px / RASTER_SCALE - RASTER_MARGIN; }

/* A stroke that keeps to a gap, in its middle or a little beside, at most 12 mm long. */
static void print_along(Board *board, const Gaps *gaps, Rng *rng) {
    float at[2], along[2], width = rng_log(rng, 0.09f, 0.35f);
    float aside = rng_chance(rng, 0.5f) ? 0 : rng_between(rng, -0.22f, 0.22f) * RASTER_SCALE;
    if (!find_gap(gaps, rng, at, along)) return;
    if (rng_chance(rng, 0.5f)) along[0] = -along[0], along[1] = -along[1];
    int steps = rng_from(rng, 6, 96), kept = rng_from(rng, 1, 8); /* pieces of a stroke: short ones bend with the gap */
    float from[2] = {at[0] - along[1] * aside, at[1] + along[0] * aside};
    for (int i = 1; i <= steps; i++) {
        bool last = !follow(gaps, at, along) || i == steps;
        if (!last && i % kept) continue;
        float to[2] = {at[0] - along[1] * aside, at[1] + along[0] * aside};
        Shape line = shape_line(to_mm(from[0]), to_mm(from[1]), to_mm(to[0]), to_mm(to[1]), width);
        plane_draw(&board->silk, &line, 0);
        from[0] = to[0], from[1] = to[1];
        if (last) return;
    }
}

/* Words, bars and filled boxes with their middle on a gap. */
static void print_over(Board *board, const Gaps *gaps, Rng *rng) {
    float at[2], along[2], t = rng_unit(rng);
    if (!find_gap(gaps, rng, at, along)) return;
    float x = to_mm(at[0]), y = to_mm(at[1]), turn = atan2f(along[1], along[0]);
    if (rng_chance(rng, 0.6f)) turn = 1.5707963f * (float)rng_below(rng, 4);
    float c = cosf(turn), s = sinf(turn);
    if (t < 0.65f) {
        char word[16];
        float height = rng_log(rng, 0.6f, 2.2f), left = height * rng_between(rng, 0, 2), up = height * rng_unit(rng);
        print_word(rng, word, sizeof word);
        print_text(&board->silk, word, x - c * left + s * up, y - s * left - c * up, height, turn,
                   height * rng_between(rng, 0.1f, 0.19f));
    } else if (t < 0.9f) {
        float half = rng_log(rng, 0.3f, 4);
        Shape bar = shape_line(x - c * half, y - s * half, x + c * half, y + s * half, rng_log(rng, 0.09f, 0.5f));
        plane_draw(&board->silk, &bar, 0);
    } else {
        Shape box = shape_box(x, y, rng_log(rng, 0.4f, 5), rng_log(rng, 0.4f, 2), turn, 0);
        plane_draw(&board->silk, &box, 0);
    }
}

static void print_gaps(Board *board, Rng *rng) {
    Gaps gaps = gaps_new(board);
    int along = rng_chance(rng, 0.75f) ? rng_from(rng, 2, 24) : 0, over = rng_chance(rng, 0.75f) ? rng_from(rng, 2, 16) : 0;
    for (int i = 0; i < along; i++) print_along(board, &gaps, rng);
    for (int i = 0; i < over; i++) print_over(board, &gaps, rng);
    free(gaps.far), free(gaps.near);
}

/* Openings so large that the spokes of some pads lie bare. */
static void bare_spokes(Board *board, Rng *rng) {
    for (int i = 0; i < board->pad_count; i++) {
        Shape shape = layout_pad_shape(&board->pads[i]);
        if (!board->pads[i].thermal || board->pads[i].tented || !rng_chance(rng, 0.7f)) continue;
        plane_draw(&board->open, &shape, board->style.thermal_gap * rng_between(rng, 0.5f, 1.6f));
    }
}

/* One opening for a row of pads so close that no mask would hold between them. */
static void gang_openings(Board *board, Rng *rng) {
    float closest = rng_between(rng, 0.45f, 1), grow = rng_between(rng, 0, 0.12f);
    for (int i = 0; i + 1 < board->pad_count; i++) {
        const Pad *a = &board->pads[i], *b = a + 1;
        float dx = b->x - a->x, dy = b->y - a->y, pitch = hypotf(dx, dy);
        if (a->part < 0 || a->part != b->part || a->hole > 0 || b->hole > 0 || pitch > closest || pitch <= 0) continue;
        float along = fabsf((dx * cosf(a->turn) + dy * sinf(a->turn)) / pitch), across = along > 0.7f ? a->h : a->w;
        Shape between = shape_box((a->x + b->x) / 2, (a->y + b->y) / 2, pitch, across, atan2f(dy, dx), 0);
        plane_draw(&board->open, &between, grow);
    }
}

/* Slots drilled as a chain of round holes, whose rim is as thin as their waists let it be. */
static void chain_holes(Board *board, Rng *rng) {
    for (int i = 0; i < board->pad_count; i++) {
        const Pad *pad = &board->pads[i];
        float slot = fabsf(pad->w - pad->h) * 0.8f, along = pad->turn + (pad->w > pad->h ? 0 : 1.5707963f);
        if (pad->part >= 0 || pad->hole <= 0 || slot < 0.8f || !rng_chance(rng, 0.6f)) continue;
        float dx = cosf(along) * slot / 2, dy = sinf(along) * slot / 2;
        Shape whole = shape_line(pad->x - dx, pad->y - dy, pad->x + dx, pad->y + dy, pad->hole);
        plane_cut(&board->drill, &whole, 0.05f);
        int last = (int)ceilf(slot / (pad->hole * rng_between(rng, 0.55f, 0.95f)));
        for (int k = 0; k <= last; k++) {
            float t = 2 * (float)k / (float)last - 1;
            Shape hole = shape_disc(pad->x + t * dx, pad->y + t * dy, pad->hole);
            plane_draw(&board->drill, &hole, 0);
        }
    }
}

void layout_harden(Board *board, Rng *rng) {
    board->hard = true;
    chain_holes(board, rng);
    if (rng_chance(rng, 0.4f)) gang_openings(board, rng);
    if (rng_chance(rng, 0.3f)) bare_spokes(board, rng);
    if (rng_chance(rng, 0.8f)) print_gaps(board, rng);
    if (rng_chance(rng, 0.35f)) layout_print_rings(board, rng);
    if (rng_chance(rng, 0.85f)) layout_clip_print(board);
    if (!rng_chance(rng, 0.55f)) return;
    float across = board->style.thermal_gap + 0.3f;
    SolderHabit habit = {.through = rng_between(rng, 0.5f, 1),
                         .surface = rng_chance(rng, 0.4f) ? rng_between(rng, 0.5f, 1) : 0,
                         .fat = rng_between(rng, 0.6f, 2.2f),
                         .reach_least = rng_between(rng, 0, across),
                         .reach_most = across + rng_between(rng, 0, 0.4f),
                         .masked = rng_chance(rng, 0.75f),
                         .clear = true};
    layout_solder_by(board, rng, &habit);
}

static float shown(Colour c) { return powf(clamp(colour_light(c), 0, 1), 1 / 2.2f); } /* as a display value, near enough */

/* Copper nearer to laminate, down to six levels of 255. */
static void lower_contrast(Look *look, Rng *rng) {
    const float least = 6 / 255.0f;
    float t = rng_between(rng, 0.25f, 0.75f);
    for (int i = 0; i < 6; i++, t *= 0.7f) {
        Colour copper = colour_mix(look->copper, look->laminate, t);
        if (fabsf(shown(copper) - shown(look->laminate)) < least) continue;
        look->copper = copper;
        return;
    }
}

static void dull_solder(Look *look, Rng *rng) {
    float grey = rng_between(rng, 0.32f, 0.8f);
    look->solder = colour_hsv(rng_between(rng, 20, 240), rng_between(rng, 0, 0.14f), grey);
    look->solder_dull = rng_between(rng, 0.5f, 0.95f), look->solder_noise = rng_between(rng, 0.4f, 1.8f);
    look->gloss = rng_log(rng, 1.5f, 10);
    for (int i = 0; i < 3; i++) look->lamp[i][2] *= rng_between(rng, 0, 0.4f);
    if (look->finish < FINISH_BARE && rng_chance(rng, 0.4f))
        look->pad = colour_scale(look->pad, rng_between(rng, 0.35f, 0.8f));
}

static void stains(Look *look, Rng *rng) {
    look->stain = rng_between(rng, 0.1f, 0.75f), look->stain_from = rng_between(rng, -0.4f, 1.3f);
    look->stain_white = rng_chance(rng, 0.45f);
    look->stain_colour =
        look->stain_white
            ? colour_hsv(rng_between(rng, 30, 60), rng_between(rng, 0, 0.2f), rng_between(rng, 0.5f, 0.9f))
            : colour_hsv(rng_between(rng, 15, 50), rng_between(rng, 0.3f, 0.8f), rng_between(rng, 0.45f, 0.85f));
    if (look->stain_white) look->stain *= 0.55f;
    float turn = rng_between(rng, 0, 6.28f);
    look->stain_grain = grain_new(rng, rng_log(rng, 0.15f, 1), rng_log(rng, 0.15f, 1), turn);
}

void look_harden(Look *look, Rng *rng) {
    if (look->finish < FINISH_BARE && rng_chance(rng, 0.45f)) lower_contrast(look, rng);
    if (rng_chance(rng, 0.6f)) dull_solder(look, rng);
    if (rng_chance(rng, 0.45f)) stains(look, rng);
    if (look->silk_cover > 0 && rng_chance(rng, 0.25f)) look->silk_cover = rng_between(rng, 0.35f, 0.75f);
    if (look->silk_cover > 0 && rng_chance(rng, 0.2f))
        look->silk = colour_hsv(rng_between(rng, 40, 62), rng_between(rng, 0.4f, 0.95f), rng_between(rng, 0.6f, 0.95f));
    if (look->silk_cover > 0 && rng_chance(rng, 0.15f))
        look->silk = colour_mix(look->silk, look->copper, rng_between(rng, 0.2f, 0.6f));
    if (look->finish >= FINISH_BARE && rng_chance(rng, 0.4f)) look->tarnish = rng_between(rng, 0.4f, 0.9f);
    if (rng_chance(rng, 0.25f)) look->weave *= 1.6f, look->blotch = rng_between(rng, 0.08f, 0.2f);
}

static void colour_cast(Camera *camera, Rng *rng) {
    float warm = rng_between(rng, -0.35f, 0.35f), tint = rng_between(rng, -0.14f, 0.14f);
    camera->balance[0] = 1 + warm, camera->balance[1] = 1 + tint, camera->balance[2] = 1 - warm;
}

void camera_harden(Camera *camera, const Board *board, Rng *rng) {
    if (rng_chance(rng, 0.4f)) colour_cast(camera, rng);
    if (rng_chance(rng, 0.3f)) {
        float steep = rng_between(rng, 0.02f, 0.05f), turn = rng_between(rng, 0, 6.2832f);
        camera->slope_x = steep * cosf(turn), camera->slope_y = steep * sinf(turn);
    }
    if (rng_chance(rng, 0.35f)) {
        camera->shadow = rng_between(rng, 0.25f, 0.75f), camera->shadow_soft = rng_log(rng, 0.8f, 14);
        camera->shadow_turn = rng_between(rng, 0, 6.2832f),
        camera->shadow_at = rng_between(rng, -0.4f, 0.4f) * board->width;
    }
    if (rng_chance(rng, 0.35f)) camera->quality = rng_from(rng, 50, 78);
    if (rng_chance(rng, 0.2f)) camera->shot_noise = fmaxf(camera->shot_noise, rng_log(rng, 0.015f, 0.05f));
}
