/* Draws a look by lot. Ranges are wide on purpose: what a network has seen varied it will not lean on. Colours are drawn as
 * hue, saturation and value as seen on a screen, because that is how one names the colour of a board. */
#include "look.h"

static float to_linear(float v) { return v <= 0.04045f ? v / 12.92f : powf((v + 0.055f) / 1.055f, 2.4f); }
static float clamp(float v, float low, float high) { return v < low ? low : v > high ? high : v; }

Colour colour_hsv(float hue, float saturation, float value) {
    float k[3], s = clamp(saturation, 0, 1), v = clamp(value, 0, 1);
    for (int i = 0; i < 3; i++) {
        float t = fmodf((float)(i == 0 ? 5 : i == 1 ? 3 : 1) + (hue + 720) / 60, 6);
        k[i] = to_linear(v - v * s * clamp(fminf(t, 4 - t), 0, 1));
    }
    return (Colour){k[0], k[1], k[2]};
}

Colour colour_mix(Colour a, Colour b, float t) {
    return (Colour){a.r + (b.r - a.r) * t, a.g + (b.g - a.g) * t, a.b + (b.b - a.b) * t};
}
Colour colour_scale(Colour a, float gain) { return (Colour){a.r * gain, a.g * gain, a.b * gain}; }
float colour_light(Colour a) { return 0.2126f * a.r + 0.7152f * a.g + 0.0722f * a.b; }

typedef struct MaskKind {
    float share, hue, hue_width, s_low, s_high, v_low, v_high; /* laminate under mask, display values */
    float lighter;                                             /* how often copper is the lighter one */
    float ratio_low, ratio_high;                               /* of display values, lighter over darker */
} MaskKind;

static const MaskKind masks[] = {
    {0.50f, 128, 26, 0.35f, 0.9f, 0.18f, 0.55f, 0.93f, 1.1f, 2.0f}, /* green */
    {0.12f, 215, 22, 0.5f, 0.95f, 0.2f, 0.6f, 0.7f, 1.1f, 1.8f},    /* blue */
    {0.10f, 358, 12, 0.6f, 0.95f, 0.35f, 0.75f, 0.75f, 1.1f, 1.6f}, /* red */
    {0.10f, 220, 180, 0.0f, 0.3f, 0.06f, 0.22f, 0.8f, 1.1f, 1.9f},  /* black */
    {0.08f, 50, 40, 0.0f, 0.1f, 0.72f, 0.95f, 0.2f, 1.05f, 1.25f},  /* white */
    {0.06f, 285, 18, 0.35f, 0.8f, 0.2f, 0.45f, 0.75f, 1.1f, 1.8f},  /* purple */
    {0.04f, 48, 12, 0.6f, 0.95f, 0.6f, 0.9f, 0.6f, 1.06f, 1.4f},    /* yellow */
};

static void draw_mask(Look *look, Rng *rng) {
    float t = rng_unit(rng);
    size_t kind = 0;
    while (kind + 1 < sizeof masks / sizeof *masks && t >= masks[kind].share) t -= masks[kind].share, kind++;
    const MaskKind *m = &masks[kind];
    float hue = m->hue + m->hue_width * rng_between(rng, -1, 1), s = rng_between(rng, m->s_low, m->s_high);
    float v = rng_between(rng, m->v_low, m->v_high), ratio = rng_log(rng, m->ratio_low, m->ratio_high);
    ratio = fmaxf(ratio, 1 + 0.035f / v); /* less no person can see either */
    if (!rng_chance(rng, m->lighter)) ratio = 1 / fminf(ratio, 1.5f);
    look->laminate = colour_hsv(hue, s, v);
    look->copper = colour_hsv(hue + rng_between(rng, -18, 10), s * rng_between(rng, 0.72f, 1.15f), fminf(v * ratio, 0.97f));
    look->bare_laminate =
        colour_hsv(rng_between(rng, 30, 70), rng_between(rng, 0.15f, 0.5f), rng_between(rng, 0.3f, 0.75f));
    look->silk = rng_chance(rng, 0.85f)
                     ? colour_hsv(rng_between(rng, 30, 60), rng_between(rng, 0, 0.12f), rng_between(rng, 0.85f, 0.98f))
                     : colour_hsv(rng_between(rng, 45, 58), rng_between(rng, 0.4f, 0.9f), 0.9f);
    if (v > 0.65f) look->silk = colour_hsv(0, 0, rng_between(rng, 0.08f, 0.3f));
}

/* Paper phenolic or cheap glass under green or clear lacquer: copper olive to golden, laminate brown to yellow, either
 * lighter. */
static void draw_lacquer(Look *look, Rng *rng) {
    float hue = rng_between(rng, 28, 100), s = rng_between(rng, 0.3f, 0.8f), v = rng_between(rng, 0.22f, 0.6f);
    float ratio = rng_log(rng, 1.15f, 2.2f);
    bool lighter = rng_chance(rng, 0.8f);
    look->laminate = colour_hsv(hue, s, lighter ? v : fminf(v * ratio, 0.9f));
    look->copper = colour_hsv(hue + rng_between(rng, -25, 25), s * rng_between(rng, 0.6f, 1.2f),
                              lighter ? fminf(v * ratio, 0.92f) : v);
    look->bare_laminate = colour_hsv(rng_between(rng, 20, 50), rng_between(rng, 0.3f, 0.7f), rng_between(rng, 0.3f, 0.65f));
    look->silk = rng_chance(rng, 0.75f) ? colour_hsv(45, rng_between(rng, 0.05f, 0.3f), rng_between(rng, 0.75f, 0.95f))
                                        : colour_hsv(30, 0.2f, rng_between(rng, 0.05f, 0.25f));
}

static void draw_bare(Look *look, Rng *rng, bool tinned) {
    look->laminate = colour_hsv(rng_between(rng, 28, 85), rng_between(rng, 0.12f, 0.6f), rng_between(rng, 0.35f, 0.85f));
    if (tinned)
        look->copper = colour_hsv(rng_between(rng, 20, 230), rng_between(rng, 0, 0.14f), rng_between(rng, 0.45f, 0.95f));
    else
        look->copper = colour_hsv(rng_between(rng, 8, 30), rng_between(rng, 0.28f, 0.65f), rng_between(rng, 0.5f, 0.98f));
    if (tinned && rng_chance(rng, 0.5f))
        look->laminate = colour_hsv(rng_between(rng, 25, 110), rng_between(rng, 0.2f, 0.7f), rng_between(rng, 0.15f, 0.6f));
    look->bare_laminate = look->laminate;
    look->silk = colour_hsv(40, 0.1f, 0.9f);
}

static Colour pad_colour(Rng *rng) {
    float t = rng_unit(rng);
    if (t < 0.6f)
        return colour_hsv(rng_between(rng, 20, 240), rng_between(rng, 0, 0.08f), rng_between(rng, 0.68f, 0.97f)); /* tin */
    if (t < 0.82f)
        return colour_hsv(rng_between(rng, 38, 50), rng_between(rng, 0.25f, 0.6f),
                          rng_between(rng, 0.7f, 0.97f));                                                      /* gold */
    return colour_hsv(rng_between(rng, 12, 28), rng_between(rng, 0.35f, 0.6f), rng_between(rng, 0.6f, 0.95f)); /* copper */
}

static void draw_textures(Look *look, Rng *rng, bool phenolic) {
    float turn = rng_between(rng, 0, 6.28f);
    look->blotch = rng_between(rng, 0, 0.1f), look->fine = rng_between(rng, 0.005f, 0.06f);
    look->weave = rng_chance(rng, 0.7f) ? rng_between(rng, 0.01f, phenolic ? 0.16f : 0.1f) : 0;
    look->brushed = rng_between(rng, 0, look->finish >= FINISH_BARE ? 0.12f : 0.03f);
    look->tarnish = look->finish == FINISH_BARE     ? rng_between(rng, 0, 0.6f)
                    : look->finish == FINISH_TINNED ? rng_between(rng, 0, 0.25f)
                                                    : 0;
    look->tarnish_colour =
        colour_hsv(rng_between(rng, 5, 35), rng_between(rng, 0.3f, 0.75f), rng_between(rng, 0.3f, 0.65f));
    look->pad_lumps = rng_between(rng, 0.02f, 0.16f);
    look->weave_period = rng_between(rng, 0.25f, 0.9f);
    look->blotch_grain = grain_new(rng, rng_log(rng, 0.15f, 1.2f), rng_log(rng, 0.15f, 1.2f), turn);
    look->fine_grain = grain_new(rng, rng_between(rng, 8, 22), rng_between(rng, 8, 22), turn);
    look->brush_grain =
        grain_new(rng, rng_between(rng, 0.4f, 1.5f), rng_between(rng, 9, 20), turn + rng_between(rng, 0, 3));
    look->tarnish_grain = grain_new(rng, rng_log(rng, 0.12f, 0.8f), rng_log(rng, 0.12f, 0.8f), turn);
    look->weave_grain =
        grain_new(rng, phenolic ? 0.6f : 2, phenolic ? rng_between(rng, 3, 8) : 2, rng_chance(rng, 0.5f) ? 0 : 1.5707963f);
    look->lump_grain = grain_new(rng, rng_between(rng, 2, 5), rng_between(rng, 2, 5), turn);
    look->wear_grain = grain_new(rng, 6, 6, turn);
}

static void draw_edges(Look *look, Rng *rng) {
    look->bleed = rng_between(rng, 0.3f, 1.6f), look->rim_reach = rng_between(rng, 1.2f, 3.2f);
    look->rim_in = rng_chance(rng, 0.75f) ? rng_between(rng, -0.3f, 0.25f) : 0;
    look->rim_out = rng_chance(rng, 0.6f) ? rng_between(rng, -0.3f, 0.15f) : 0;
    look->relief = rng_chance(rng, 0.75f) ? rng_between(rng, 0, 0.45f) : 0;
    look->open_rim = rng_between(rng, 0, 0.5f);
}

static void draw_light(Look *look, Rng *rng) {
    float turn = rng_between(rng, 0, 6.2832f);
    look->light_x = cosf(turn), look->light_y = sinf(turn);
    look->gloss = rng_log(rng, 4, 60);
    for (int i = 0; i < 3; i++) {
        float at = turn + rng_between(rng, -0.6f, 0.6f) + (i == 2 ? 2.5f : 0), steep = rng_between(rng, 0.15f, 0.9f);
        look->lamp[i][0] = cosf(at) * steep, look->lamp[i][1] = sinf(at) * steep;
        look->lamp[i][2] = i == 0 ? rng_between(rng, 0.3f, 2) : rng_chance(rng, 0.5f) ? rng_between(rng, 0, 1) : 0;
    }
    look->solder = colour_hsv(rng_between(rng, 20, 240), rng_between(rng, 0, 0.12f), rng_between(rng, 0.6f, 0.92f));
    look->solder_dull = rng_between(rng, 0.15f, 0.75f), look->solder_noise = rng_between(rng, 0, 0.8f);
}

static void draw_ground(Look *look, Rng *rng) {
    look->ground = (Ground)rng_below(rng, GROUND_COUNT);
    look->ground_turn = rng_between(rng, 0, 3.1f);
    look->ground_pitch = look->ground == GROUND_CLOTH ? rng_between(rng, 0.4f, 1.5f) : rng_chance(rng, 0.5f) ? 10 : 5;
    look->ground_a = colour_hsv(rng_between(rng, 0, 360), rng_between(rng, 0, 0.3f), rng_between(rng, 0.05f, 0.95f));
    if (look->ground == GROUND_WOOD)
        look->ground_a = colour_hsv(rng_between(rng, 18, 42), rng_between(rng, 0.25f, 0.6f), rng_between(rng, 0.3f, 0.9f));
    if (look->ground == GROUND_MAT)
        look->ground_a = colour_hsv(rng_between(rng, 120, 240), rng_between(rng, 0.2f, 0.8f), rng_between(rng, 0.2f, 0.5f));
    if (look->ground == GROUND_PAPER)
        look->ground_a = colour_hsv(40, rng_between(rng, 0, 0.1f), rng_between(rng, 0.75f, 0.98f));
    if (look->ground == GROUND_CLOTH)
        look->ground_a = colour_hsv(rng_between(rng, 0, 360), rng_between(rng, 0, 0.8f), rng_between(rng, 0.1f, 0.8f));
    look->ground_b = colour_scale(look->ground_a, rng_between(rng, 0.4f, 0.8f));
    if (look->ground != GROUND_WOOD && rng_chance(rng, 0.4f))
        look->ground_a = colour_hsv(rng_between(rng, 0, 360), rng_between(rng, 0.3f, 0.85f), rng_between(rng, 0.1f, 0.7f));
    if (look->ground == GROUND_MAT) look->ground_b = colour_hsv(rng_between(rng, 50, 70), 0.4f, 0.8f);
    look->ground_grain = grain_new(rng, 0.06f, look->ground == GROUND_WOOD ? 0.6f : 0.06f, look->ground_turn);
    look->ground_fine = grain_new(rng, 2, look->ground == GROUND_WOOD ? 6 : 2, look->ground_turn);
}

Look look_new(const Board *board, Rng *rng) {
    Look look = {0};
    float t = rng_unit(rng);
    bool old = board->style.through_hole && !board->style.two_sided;
    if (old)
        look.finish = t < 0.3f ? FINISH_MASK : t < 0.66f ? FINISH_LACQUER : t < 0.9f ? FINISH_BARE : FINISH_TINNED;
    else
        look.finish = t < 0.8f ? FINISH_MASK : t < 0.88f ? FINISH_LACQUER : t < 0.97f ? FINISH_BARE : FINISH_TINNED;
    if (look.finish == FINISH_MASK)
        draw_mask(&look, rng);
    else if (look.finish == FINISH_LACQUER)
        draw_lacquer(&look, rng);
    else
        draw_bare(&look, rng, look.finish == FINISH_TINNED);
    look.pad = look.finish >= FINISH_BARE ? look.copper : pad_colour(rng);
    look.silk_cover = rng_between(rng, 0.75f, 1), look.silk_wear = rng_between(rng, 0, 0.25f);
    if (look.finish >= FINISH_BARE && rng_chance(rng, 0.85f)) look.silk_cover = 0;
    look.wall = rng_chance(rng, 0.6f) && board->style.two_sided ? colour_scale(look.pad, 0.6f)
                                                                : colour_scale(look.bare_laminate, 0.5f);
    look.edge = colour_scale(look.bare_laminate, rng_between(rng, 0.6f, 1.2f));
    look.flux = colour_hsv(rng_between(rng, 25, 50), rng_between(rng, 0.4f, 0.8f), rng_between(rng, 0.4f, 0.75f));
    look.flux_amount = rng_chance(rng, 0.6f) ? rng_between(rng, 0, 0.45f) : 0;
    draw_textures(&look, rng, look.finish == FINISH_LACQUER || (look.finish >= FINISH_BARE && old));
    draw_edges(&look, rng);
    draw_light(&look, rng);
    look.ghost = board->style.two_sided && rng_chance(rng, 0.4f) ? rng_between(rng, 0, 0.1f) : 0;
    look.dust = rng_chance(rng, 0.7f) ? rng_log(rng, 0.02f, 1) : 0,
    look.scratches = rng_chance(rng, 0.3f) ? rng_log(rng, 0.005f, 0.08f) : 0;
    look.populated = rng_chance(rng, 0.13f);
    look.dice = (uint32_t)rng_next(rng);
    look.body = colour_hsv(rng_between(rng, 0, 360), rng_between(rng, 0, 0.2f), rng_between(rng, 0.08f, 0.25f));
    look.cap = colour_hsv(rng_between(rng, 25, 40), rng_between(rng, 0.2f, 0.6f), rng_between(rng, 0.3f, 0.75f));
    draw_ground(&look, rng);
    return look;
}

Colour ground_at(const Look *look, const Noise *noise, float x, float y) {
    float slow = noise_at(noise, &look->ground_grain, x, y), fine = noise_at(noise, &look->ground_fine, x, y), share = 0;
    float c = cosf(look->ground_turn), s = sinf(look->ground_turn), u = c * x + s * y, v = c * y - s * x;
    if (look->ground == GROUND_WOOD) share = clamp(0.5f + 0.35f * slow + 0.1f * fine, 0, 1);
    if (look->ground == GROUND_MAT) {
        float du = fabsf(u - look->ground_pitch * floorf(u / look->ground_pitch + 0.5f));
        float dv = fabsf(v - look->ground_pitch * floorf(v / look->ground_pitch + 0.5f));
        share = clamp(0.5f + (0.2f - fminf(du, dv)) * 10, 0, 1) * 0.8f;
    }
    if (look->ground == GROUND_CLOTH) {
        float k = 6.2832f / look->ground_pitch;
        share = clamp(0.5f + 0.35f * sinf(u * k + slow) * sinf(v * k + slow) + 0.1f * fine, 0, 1);
    }
    if (look->ground >= GROUND_PAPER) share = clamp(0.1f + 0.06f * slow + 0.04f * fine, 0, 1);
    return colour_scale(colour_mix(look->ground_a, look->ground_b, share), 1 + 0.03f * slow + 0.02f * fine);
}
