/* Flat materials first: laminate and copper under mask (or bare), mixed by coverage; mask relief at copper's edges; print;
 * pads in mask openings. Solder, holes, dirt and parts are laid over in relief.c and bodies.c. Cost: some 60 ns a pixel at
 * 40 pixels per mm. */
#include "material.h"

#include <stdlib.h>
#include <string.h>

enum {
    LAYER_CU,
    LAYER_RIM,
    LAYER_OPEN,
    LAYER_RIM_OPEN,
    LAYER_SILK,
    LAYER_BLOTCH,
    LAYER_FINE,
    LAYER_BRUSH,
    LAYER_WEAVE,
    LAYER_TARNISH,
    LAYER_LUMP,
    LAYER_GHOST,
    LAYER_SPARE,
    LAYER_ALL
};

typedef struct Layers {
    float *at[LAYER_ALL]; /* each size w * h */
} Layers;

static float clamp(float v, float low, float high) { return v < low ? low : v > high ? high : v; }

static void lift(const Plane *plane, const Scene *scene, float *out) {
    for (int y = 0; y < scene->h; y++)
        for (int x = 0; x < scene->w; x++)
            out[(long)y * scene->w + x] = (float)plane_at(plane, scene->x + x, scene->y + y) * (1 / 255.0f);
}

/* The other side's copper, invented by looking at this side's turned over: it darkens laminate that light shines through.
 */
static void ghost_layer(const Board *board, const Scene *scene, float *out, float *spare) {
    for (int y = 0; y < scene->h; y++)
        for (int x = 0; x < scene->w; x++)
            out[(long)y * scene->w + x] =
                (float)plane_at(&board->copper, board->w - 40 - scene->x - x, board->h - 60 - scene->y - y) * (1 / 255.0f);
    (void)spare;
    blur_floats(out, scene->w, scene->h, 10);
}

static void weave_layer(const Look *look, const Noise *noise, const Scene *s, float *out) {
    noise_fill(noise, &look->weave_grain, (float)s->x, (float)s->y, 1 / RASTER_SCALE, s->w, s->h, out);
    if (look->weave_grain.along < 1) return; /* paper: fibres, no weave */
    float k = 6.2832f / look->weave_period / RASTER_SCALE;
    for (int y = 0; y < s->h; y++) {
        float wy = sinf((float)(s->y + y) * k);
        for (int x = 0; x < s->w; x++) {
            float n = out[(long)y * s->w + x], wx = sinf((float)(s->x + x) * k + n * 0.5f);
            out[(long)y * s->w + x] = 0.8f * wx * wy + 0.4f * n + 0.3f * (wx > wy ? wx : wy);
        }
    }
}

static Layers layers_new(const Board *board, const Look *look, const Noise *noise, const Scene *s) {
    Layers l;
    size_t n = (size_t)s->w * (size_t)s->h;
    float *all = calloc(n * LAYER_ALL, sizeof *all);
    if (!all) abort();
    for (size_t i = 0; i < LAYER_ALL; i++) l.at[i] = all + i * n;
    const Grain *grains[] = {&look->blotch_grain, &look->fine_grain, &look->brush_grain};
    for (int i = 0; i < 3; i++)
        noise_fill(noise, grains[i], (float)s->x, (float)s->y, 1 / RASTER_SCALE, s->w, s->h, l.at[LAYER_BLOTCH + i]);
    if (look->tarnish > 0)
        noise_fill(noise, &look->tarnish_grain, (float)s->x, (float)s->y, 1 / RASTER_SCALE, s->w, s->h,
                   l.at[LAYER_TARNISH]);
    if (look->weave > 0) weave_layer(look, noise, s, l.at[LAYER_WEAVE]);
    noise_fill(noise, &look->lump_grain, (float)s->x, (float)s->y, 1 / RASTER_SCALE, s->w, s->h, l.at[LAYER_LUMP]);
    lift(&board->copper, s, l.at[LAYER_CU]);
    memcpy(l.at[LAYER_RIM], l.at[LAYER_CU], n * sizeof *all);
    blur_exact(l.at[LAYER_CU], l.at[LAYER_SPARE], s->w, s->h, look->finish >= FINISH_BARE ? 0.4f : look->bleed);
    blur_exact(l.at[LAYER_RIM], l.at[LAYER_SPARE], s->w, s->h, look->rim_reach);
    if (look->finish < FINISH_BARE) {
        lift(&board->open, s, l.at[LAYER_OPEN]);
        memcpy(l.at[LAYER_RIM_OPEN], l.at[LAYER_OPEN], n * sizeof *all);
        blur_exact(l.at[LAYER_RIM_OPEN], l.at[LAYER_SPARE], s->w, s->h, 1.6f);
    }
    if (look->silk_cover > 0) lift(&board->silk, s, l.at[LAYER_SILK]);
    if (look->ghost > 0) ghost_layer(board, s, l.at[LAYER_GHOST], l.at[LAYER_SPARE]);
    return l;
}

/* Laminate and copper, bare or as seen through mask. */
static Colour base_at(const Look *look, const Layers *l, const Scene *s, int x, int y) {
    long i = (long)y * s->w + x;
    float cu = l->at[LAYER_CU][i], b = l->at[LAYER_RIM][i];
    float right = l->at[LAYER_RIM][x + 1 < s->w ? i + 1 : i], left = l->at[LAYER_RIM][x ? i - 1 : i];
    float down = l->at[LAYER_RIM][y + 1 < s->h ? i + s->w : i], up = l->at[LAYER_RIM][y ? i - s->w : i];
    float fine = 1 + look->fine * l->at[LAYER_FINE][i];
    Colour lam = colour_scale(look->laminate,
                              fine * (1 + look->weave * l->at[LAYER_WEAVE][i]) * (1 - look->ghost * l->at[LAYER_GHOST][i]));
    Colour cop = colour_scale(look->copper, fine * (1 + look->brushed * l->at[LAYER_BRUSH][i]));
    if (look->tarnish > 0) {
        float t = look->tarnish * clamp(0.4f + 0.4f * l->at[LAYER_TARNISH][i], 0, 1);
        cop = colour_mix(cop,
                         (Colour){cop.r * look->tarnish_colour.r * 1.4f, cop.g * look->tarnish_colour.g * 1.4f,
                                  cop.b * look->tarnish_colour.b * 1.4f},
                         t);
    }
    float edge = 4 * b * (1 - b), slope = ((right - left) * look->light_x + (down - up) * look->light_y) * look->rim_reach;
    float shade = 1 + edge * (cu * look->rim_in + (1 - cu) * look->rim_out) - look->relief * slope;
    float blotch = 1 + look->blotch * l->at[LAYER_BLOTCH][i];
    return colour_scale(colour_mix(lam, cop, cu), clamp(shade * blotch, 0.1f, 3));
}

static Colour open_at(const Look *look, const Layers *l, const Scene *s, long i) {
    (void)s;
    float lump = 1 + look->pad_lumps * l->at[LAYER_LUMP][i], b = l->at[LAYER_RIM][i];
    Colour metal = colour_scale(look->pad, lump * (1 - 0.35f * clamp(4 * b * (1 - b), 0, 1) * (b < 0.9f)));
    Colour bare = colour_scale(look->bare_laminate, 1 + look->weave * l->at[LAYER_WEAVE][i]);
    return colour_mix(bare, metal, l->at[LAYER_CU][i]);
}

static void flat(Scene *s, const Look *look, const Layers *l) {
    for (int y = 0; y < s->h; y++)
        for (int x = 0; x < s->w; x++) {
            long i = (long)y * s->w + x;
            Colour c = base_at(look, l, s, x, y);
            float open = l->at[LAYER_OPEN][i], rim = l->at[LAYER_RIM_OPEN][i];
            float silk = l->at[LAYER_SILK][i];
            if (silk > 0) {
                float wear =
                    clamp(1 - look->silk_wear * clamp(l->at[LAYER_LUMP][i] + 0.3f * l->at[LAYER_FINE][i], 0, 2), 0, 1);
                c = colour_mix(c, look->silk, silk * look->silk_cover * wear);
            }
            if (open > 0) c = colour_mix(c, open_at(look, l, s, i), open);
            if (rim > 0) c = colour_scale(c, 1 - look->open_rim * 4 * rim * (1 - rim));
            s->rgb[0][i] = c.r, s->rgb[1][i] = c.g, s->rgb[2][i] = c.b;
        }
}

Scene scene_render(const Board *board, const Look *look, const Camera *camera, const Noise *noise, int x, int y, int w,
                   int h) {
    Scene s = {.x = x, .y = y, .w = w, .h = h};
    size_t n = (size_t)w * (size_t)h;
    float *all = malloc(3 * n * sizeof *all);
    s.hidden = calloc(2 * n, 1);
    if (!all || !s.hidden) abort();
    for (size_t c = 0; c < 3; c++) s.rgb[c] = all + c * n;
    Layers layers = layers_new(board, look, noise, &s);
    flat(&s, look, &layers);
    free(layers.at[0]);
    if (board->solder) scene_solder(&s, board, look, noise);
    if (look->stain > 0) scene_stains(&s, look, noise);
    if (look->populated) scene_parts(&s, board, look, camera);
    scene_holes(&s, board, look, camera, noise);
    scene_dirt(&s, look);
    return s;
}

void scene_free(Scene *scene) {
    free(scene->rgb[0]), free(scene->hidden);
    *scene = (Scene){0};
}
