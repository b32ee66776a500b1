/* What stands up or goes down: solder shaded by its slope under a few lamps, flux round it, holes and edges seen at a
 * slant, dirt. */
#include "material.h"

#include <stdlib.h>
#include <string.h>

static float clamp(float v, float low, float high) { return v < low ? low : v > high ? high : v; }

static void set(Scene *s, long i, Colour c) { s->rgb[0][i] = c.r, s->rgb[1][i] = c.g, s->rgb[2][i] = c.b; }
static Colour get(const Scene *s, long i) { return (Colour){s->rgb[0][i], s->rgb[1][i], s->rgb[2][i]}; }

/* The brightness of a mirror-like bead with slope (gx, gy): darker where it leans away, bright near each lamp's slope. */
static float bead(const Look *look, float gx, float gy, float *spark) {
    float steep = sqrtf(gx * gx + gy * gy), up = 1 / sqrtf(1 + steep * steep),
          base = look->solder_dull + (1 - look->solder_dull) * 0.7f * up * up;
    float side = (gx * look->light_x + gy * look->light_y) * up;
    base *= 1 - 0.35f * clamp(side, -1, 1);
    base *= 1 - 0.55f * clamp((steep - 1.0f) * 0.5f, 0, 1);
    *spark = 0;
    for (int k = 0; k < 3; k++) {
        float dx = gx + look->lamp[k][0], dy = gy + look->lamp[k][1], d2 = dx * dx + dy * dy;
        if (look->lamp[k][2] > 0 && d2 * look->gloss < 12) *spark += look->lamp[k][2] * expf(-d2 * look->gloss);
    }
    return base;
}

static void flux_round(Scene *s, const Look *look, const float *height, const Noise *noise) {
    long n = (long)s->w * s->h;
    float *near = malloc((size_t)n * 2 * sizeof *near), *speck = near + n;
    if (!near) abort();
    for (long i = 0; i < n; i++) near[i] = height[i] > 0 ? 1 : 0;
    blur_floats(near, s->w, s->h, 22);
    noise_fill(noise, &look->blotch_grain, (float)s->x + 777, (float)s->y, 1 / RASTER_SCALE, s->w, s->h, speck);
    for (long i = 0; i < n; i++) {
        float amount = look->flux_amount * clamp(near[i] * 2 * (0.6f + 0.6f * speck[i]), 0, 1);
        Colour c = get(s, i);
        if (amount > 0)
            set(s, i,
                (Colour){c.r * (1 - amount * (1 - look->flux.r)), c.g * (1 - amount * (1 - look->flux.g)),
                         c.b * (1 - amount * (1 - look->flux.b))});
    }
    free(near);
}

void scene_solder(Scene *s, const Board *board, const Look *look, const Noise *noise) {
    long n = (long)s->w * s->h;
    float *height = calloc((size_t)n * 2, sizeof *height), *rough = height + n;
    if (!height) abort();
    for (int y = 0; y < s->h; y++)
        for (int x = 0; x < s->w; x++) {
            int bx = s->x + x, by = s->y + y;
            if (bx >= 0 && by >= 0 && bx < board->w && by < board->h)
                height[(long)y * s->w + x] = board->solder[(long)by * board->w + bx];
        }
    if (look->flux_amount > 0) flux_round(s, look, height, noise);
    noise_fill(noise, &look->lump_grain, (float)s->x, (float)s->y + 99, 2.2f / RASTER_SCALE, s->w, s->h, rough);
    for (int y = 1; y + 1 < s->h; y++)
        for (int x = 1; x + 1 < s->w; x++) {
            long i = (long)y * s->w + x;
            if (height[i] <= 0) continue;
            float gx = (height[i + 1] - height[i - 1]) * 0.5f * RASTER_SCALE +
                       look->solder_noise * (rough[i + 1] - rough[i - 1]) * 4;
            float gy = (height[i + s->w] - height[i - s->w]) * 0.5f * RASTER_SCALE +
                       look->solder_noise * (rough[i + s->w] - rough[i - s->w]) * 4;
            float spark, base = bead(look, clamp(gx, -4, 4), clamp(gy, -4, 4), &spark), cover = clamp(height[i] * 60, 0, 1);
            Colour c = colour_scale(look->solder, base * (1 + 0.1f * look->solder_noise * rough[i]));
            c = (Colour){c.r + spark, c.g + spark, c.b + spark};
            set(s, i, colour_mix(get(s, i), c, cover));
        }
    free(height);
}

/* Dried flux: pools with a darker (or whiter) rim where they dried last. */
void scene_stains(Scene *s, const Look *look, const Noise *noise) {
    long n = (long)s->w * s->h;
    float *pool = malloc(2 * (size_t)n * sizeof *pool), *fine = pool + n;
    if (!pool) abort();
    noise_fill(noise, &look->stain_grain, (float)s->x, (float)s->y, 1 / RASTER_SCALE, s->w, s->h, pool);
    noise_fill(noise, &look->lump_grain, (float)s->x + 55, (float)s->y, 1 / RASTER_SCALE, s->w, s->h, fine);
    for (long i = 0; i < n; i++) {
        float deep = (pool[i] + 0.15f * fine[i] - look->stain_from) * 3, rim = expf(-8 * (deep - 0.25f) * (deep - 0.25f));
        float amount = look->stain * clamp(deep, 0, 1) * (0.6f + 0.4f * rim + 0.15f * fine[i]);
        Colour c = get(s, i), to = look->stain_colour;
        if (amount <= 0) continue;
        if (!look->stain_white) to = (Colour){c.r * to.r, c.g * to.g, c.b * to.b};
        set(s, i, colour_mix(c, to, clamp(amount, 0, 0.9f)));
    }
    free(pool);
}

static float solid(const Board *board, float px, float py) {
    int x = (int)floorf(px), y = (int)floorf(py), out = plane_at(&board->outline, x, y),
        drill = plane_at(&board->drill, x, y);
    return (float)(out < 255 - drill ? out : 255 - drill);
}

/* Below the surface a ray goes on away from the eye: it meets a wall, or the desk. */
static Colour below(const Board *board, const Look *look, const Camera *camera, const Noise *noise, float x, float y,
                    bool drilled) {
    const float thick = 1.6f;
    float vx = (x - (float)camera->eye_x) / (float)camera->eye_z * thick,
          vy = (y - (float)camera->eye_y) / (float)camera->eye_z * thick;
    for (int k = 1; k <= 5; k++) {
        float t = (float)k / 5, px = plane_px(x + vx * t), py = plane_px(y + vy * t);
        if (solid(board, px, py) < 128) continue;
        float dark = drilled ? 1 - 0.6f * t : 1 - 0.25f * t;
        return colour_scale(drilled ? look->wall : look->edge, dark);
    }
    Colour desk = ground_at(look, noise, x + 1.4f * vx, y + 1.4f * vy);
    if (drilled) return colour_scale(desk, 0.25f);
    float shadow = 0;
    for (int k = 0; k < 6; k++) {
        float r = 0.3f + 0.35f * (float)k;
        if (solid(board, plane_px(x + vx + look->light_x * r), plane_px(y + vy + look->light_y * r)) >= 128)
            shadow += 1 / 6.0f;
    }
    return colour_scale(desk, 1 - 0.6f * shadow);
}

void scene_holes(Scene *s, const Board *board, const Look *look, const Camera *camera, const Noise *noise) {
    for (int y = 0; y < s->h; y++)
        for (int x = 0; x < s->w; x++) {
            int bx = s->x + x, by = s->y + y;
            int out = plane_at(&board->outline, bx, by), drill = plane_at(&board->drill, bx, by);
            float open = 1 - (float)(out < 255 - drill ? out : 255 - drill) / 255;
            long i = (long)y * s->w + x;
            bool inside = bx >= 0 && by >= 0 && bx < board->w && by < board->h;
            if (open <= 0 || s->hidden[i] ||
                (inside && drill && board->solder && board->solder[(long)by * board->w + bx] > 0))
                continue;
            set(s, i,
                colour_mix(get(s, i), below(board, look, camera, noise, scene_mm(s->x, x), scene_mm(s->y, y), out >= 128),
                           open));
        }
}

static void speck(Scene *s, float x, float y, float x2, float y2, float radius, Colour c, float cover) {
    Shape line = {SHAPE_CAPSULE, x, y, x2, y2, radius, 0};
    float b[4], pad = 1;
    shape_bounds(&line, b);
    for (int py = (int)(b[1] - pad); py <= (int)(b[3] + pad); py++)
        for (int px = (int)(b[0] - pad); px <= (int)(b[2] + pad); px++) {
            if (px < 0 || py < 0 || px >= s->w || py >= s->h) continue;
            float amount = clamp(0.5f - shape_distance(&line, (float)px + 0.5f, (float)py + 0.5f), 0, 1) * cover;
            long i = (long)py * s->w + px;
            if (amount > 0) set(s, i, colour_mix(get(s, i), c, amount));
        }
}

/* Dust, fibres and scratches, drawn per cell of 2 mm so that a place looks the same in every window. */
void scene_dirt(Scene *s, const Look *look) {
    int cell = (int)(2 * RASTER_SCALE), x0 = (int)floorf((float)s->x / (float)cell) - 1,
        y0 = (int)floorf((float)s->y / (float)cell) - 1;
    if (look->dust <= 0 && look->scratches <= 0) return;
    for (int cy = y0; cy <= (s->y + s->h) / cell + 1; cy++)
        for (int cx = x0; cx <= (s->x + s->w) / cell + 1; cx++) {
            Rng rng = rng_new(look->dice, (uint64_t)(cx + 1000), (uint64_t)(cy + 1000));
            float ox = (float)(cx * cell - s->x), oy = (float)(cy * cell - s->y), side = (float)cell;
            int specks = (int)(look->dust * 6 * rng_unit(&rng) + rng_unit(&rng));
            for (int k = 0; k < specks && look->dust > 0; k++) {
                float x = ox + side * rng_unit(&rng), y = oy + side * rng_unit(&rng),
                      length = rng_chance(&rng, 0.1f) ? rng_between(&rng, 5, 50) : 1;
                float turn = rng_between(&rng, 0, 6.28f),
                      light = rng_chance(&rng, 0.75f) ? rng_between(&rng, 0.3f, 0.9f) : 0.03f;
                speck(s, x, y, x + cosf(turn) * length, y + sinf(turn) * length, rng_log(&rng, 0.5f, 2),
                      (Colour){light, light, light}, rng_between(&rng, 0.2f, 0.8f));
            }
            if (rng_chance(&rng, look->scratches)) {
                float x = ox + side * rng_unit(&rng), y = oy + side * rng_unit(&rng), length = rng_between(&rng, 20, 79),
                      turn = rng_between(&rng, 0, 6.28f);
                float light = rng_between(&rng, 0.1f, 0.7f);
                speck(s, x, y, x + cosf(turn) * length, y + sinf(turn) * length, rng_between(&rng, 0.5f, 1.6f),
                      (Colour){light, light, light * 0.9f}, rng_between(&rng, 0.1f, 0.5f));
            }
        }
}
