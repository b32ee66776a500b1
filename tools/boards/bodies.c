/* Parts on the board: boxes and cylinders that stand up, seen from the camera's place, so that tall ones lean out and hide
 * what is beside them; soft shadows on the other side of the light; caps, print and legs. What they hide is marked. */
#include "material.h"

static float clamp(float v, float low, float high) { return v < low ? low : v > high ? high : v; }

static bool stands(const Board *board, const Look *look, int n) {
    const Part *p = &board->parts[n];
    uint32_t dice = ((uint32_t)n * 2654435761u ^ look->dice) * 2246822519u;
    if (p->sort == PART_BARE || (dice >> 8) % 100 < 12) return false;
    return !p->through || board->style.two_sided; /* through parts of a one-sided board stand on the other side */
}

/* The distance of a point from a part's body, in mm, in the board's plane; u and v come back in the part's frame. */
static float body_distance(const Part *p, float x, float y, float *u, float *v) {
    float c = cosf(p->turn), s = sinf(p->turn), dx = x - p->x, dy = y - p->y;
    *u = c * dx + s * dy, *v = c * dy - s * dx;
    if (p->sort == PART_CAN) return sqrtf(dx * dx + dy * dy) - p->w / 2;
    return fmaxf(fabsf(*u) - p->w / 2, fabsf(*v) - p->h / 2);
}

static Colour top_colour(const Part *p, const Look *look, float u, float v, float d) {
    Colour c = look->body;
    if (p->sort == PART_CHIP) {
        c = look->dice % 3 ? look->cap : look->body;
        if (fabsf(u) > p->w * 0.32f) c = colour_scale(look->solder, 0.9f);
    } else if (p->sort == PART_AXIAL) {
        c = colour_scale(look->cap, 1 - 0.5f * fabsf(v) / (p->h / 2));
        float band = u / p->w * 9;
        if (fmodf(band + 90, 2) < 0.8f) c = colour_scale(c, 0.3f);
    } else if (p->sort == PART_CAN) {
        c = d > -0.5f ? look->body : colour_scale(look->pad, 0.8f);
    } else if (d > -0.12f) {
        c = colour_scale(c, 1.6f);
    }
    return c;
}

static void shade(Scene *s, long i, float gain) {
    for (int c = 0; c < 3; c++) s->rgb[c][i] *= gain;
}

/* One pixel: the topmost point of the body on its ray, or shadow. */
static void part_pixel(Scene *s, const Part *p, const Look *look, const Camera *camera, int x, int y) {
    float mx = scene_mm(s->x, x), my = scene_mm(s->y, y), u, v;
    float lean_x = (mx - (float)camera->eye_x) / (float)camera->eye_z,
          lean_y = (my - (float)camera->eye_y) / (float)camera->eye_z;
    long i = (long)y * s->w + x;
    for (int k = 6; k >= 0; k--) {
        float t = p->tall * (float)k / 6, d = body_distance(p, mx - t * lean_x, my - t * lean_y, &u, &v);
        if (d > 0) continue;
        Colour c =
            k == 6 ? top_colour(p, look, u, v, d) : colour_scale(top_colour(p, look, u, v, 0), 0.3f + 0.08f * (float)k);
        s->rgb[0][i] = c.r, s->rgb[1][i] = c.g, s->rgb[2][i] = c.b;
        s->hidden[i] = 255;
        return;
    }
    float reach = p->tall * 0.5f,
          d = body_distance(p, mx + look->light_x * reach * 0.5f, my + look->light_y * reach * 0.5f, &u, &v);
    shade(s, i, 1 - 0.6f * clamp(0.5f - d / (0.2f + reach * 0.5f), 0, 1));
}

/* Flat legs from body to pads, for parts with pads beside them. */
static void legs(Scene *s, const Board *board, int n, const Look *look) {
    const Part *part = &board->parts[n];
    if (part->sort != PART_IC && part->sort != PART_SMALL) return;
    for (int k = 0; k < board->pad_count; k++) {
        const Pad *pad = &board->pads[k];
        float c = cosf(part->turn), t = sinf(part->turn), dx = pad->x - part->x, dy = pad->y - part->y, u = c * dx + t * dy,
              v = c * dy - t * dx;
        if (pad->part != n || pad->hole > 0 || (fabsf(u) < part->w / 2 && fabsf(v) < part->h / 2)) continue;
        float bu = clamp(u, -part->w / 2, part->w / 2), bv = clamp(v, -part->h / 2, part->h / 2);
        Shape leg =
            shape_line(pad->x, pad->y, part->x + c * bu - t * bv, part->y + t * bu + c * bv, fminf(pad->w, pad->h) * 0.75f);
        float b[4];
        shape_bounds(&leg, b);
        for (int y = (int)plane_px(b[1]) - s->y; y <= (int)plane_px(b[3]) - s->y; y++)
            for (int x = (int)plane_px(b[0]) - s->x; x <= (int)plane_px(b[2]) - s->x; x++) {
                if (x < 0 || y < 0 || x >= s->w || y >= s->h) continue;
                float d = shape_distance(&leg, scene_mm(s->x, x), scene_mm(s->y, y));
                long i = (long)y * s->w + x;
                if (d > 0 || s->hidden[i]) continue;
                float light = 0.55f + 0.4f * clamp(-d * 8, 0, 1);
                s->rgb[0][i] = look->solder.r * light, s->rgb[1][i] = look->solder.g * light,
                s->rgb[2][i] = look->solder.b * light;
            }
    }
}

void scene_parts(Scene *s, const Board *board, const Look *look, const Camera *camera) {
    for (int n = 0; n < board->part_count; n++) {
        const Part *p = &board->parts[n];
        if (!stands(board, look, n)) continue;
        float reach = hypotf(p->w, p->h) / 2 + p->tall * 0.8f;
        int x0 = (int)plane_px(p->x - reach) - s->x, x1 = (int)plane_px(p->x + reach) - s->x;
        int y0 = (int)plane_px(p->y - reach) - s->y, y1 = (int)plane_px(p->y + reach) - s->y;
        if (x1 < 0 || y1 < 0 || x0 >= s->w || y0 >= s->h) continue;
        for (int y = y0 < 0 ? 0 : y0; y <= y1 && y < s->h; y++)
            for (int x = x0 < 0 ? 0 : x0; x <= x1 && x < s->w; x++)
                if (!s->hidden[(long)y * s->w + x]) part_pixel(s, p, look, camera, x, y);
        legs(s, board, n, look);
    }
}
