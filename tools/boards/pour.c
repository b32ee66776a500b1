/* Poured copper: a ground plane round everything with clearance and thermal spokes, plain or hatched, and islands that grow
 * from each net until they meet (the style of old one-sided boards, thin gaps in much copper). The plane is cut with too
 * much clearance and grown back, so that no sliver is left that a factory could not etch. */
#include "layout.h"

#include <stdlib.h>
#include <string.h>

static const float sliver = 0.09f; /* mm: half the least width of poured copper */

/* Where copper may be poured: the board less a border, or some boxes of it. */
static Plane region(const Board *board, Rng *rng) {
    Plane area = plane_new(board->w, board->h);
    float border = rng_between(rng, 0.15f, 0.9f);
    Shape all = shape_box(board->width / 2, board->height / 2, board->width - 2 * border, board->height - 2 * border, 0,
                          rng_chance(rng, 0.3f) ? 1 : 0);
    plane_draw(&area, &all, 0);
    if (rng_chance(rng, 0.35f)) {
        memset(area.at, 0, (size_t)area.w * (size_t)area.h);
        int count = rng_from(rng, 1, 4);
        for (int i = 0; i < count; i++) {
            float w = rng_between(rng, 3, board->width), h = rng_between(rng, 3, board->height);
            Shape box = shape_box(rng_between(rng, 0, board->width), rng_between(rng, 0, board->height), w, h,
                                  rng_chance(rng, 0.2f) ? 0.7854f : 0, rng_chance(rng, 0.3f) ? 0.8f : 0);
            plane_draw(&area, &box, 0);
        }
        Plane body = plane_new(board->w, board->h);
        plane_draw(&body, &all, 0);
        plane_keep(&area, &body);
        plane_free(&body);
    }
    int keep_outs = rng_chance(rng, 0.4f) ? rng_from(rng, 1, 4) : 0;
    for (int i = 0; i < keep_outs; i++) {
        Shape box = shape_box(rng_between(rng, 0, board->width), rng_between(rng, 0, board->height),
                              rng_between(rng, 1, board->width / 2), rng_between(rng, 1, board->height / 2),
                              rng_chance(rng, 0.3f) ? 0.7854f : 0, rng_between(rng, 0, 1.5f));
        plane_cut(&area, &box, 0);
    }
    return area;
}

static void cut_others(const Board *board, Plane *area, int net, float gap) {
    for (int i = 0; i < board->track_count; i++)
        if (board->tracks[i].net != net) plane_cut(area, &board->tracks[i].shape, gap);
    for (int i = 0; i < board->pad_count; i++) {
        const Pad *pad = &board->pads[i];
        Shape shape = layout_pad_shape(pad);
        if (pad->net != net)
            plane_cut(area, &shape, gap);
        else if (pad->thermal)
            plane_cut(area, &shape, board->style.thermal_gap + sliver);
    }
}

static void cut_bores(const Board *board, Plane *area, float gap) {
    for (int i = 0; i < board->bore_count; i++) plane_cut(area, &board->bores[i], gap);
}

/* Four spokes, or two, or in a cross of 45 degrees: each only where it reaches poured copper. */
static void spokes(Board *board, Rng *rng, const Plane *area, int net) {
    float slant = rng_chance(rng, 0.2f) ? 0.7854f : 0;
    for (int i = 0; i < board->pad_count; i++) {
        const Pad *pad = &board->pads[i];
        if (pad->net != net || !pad->thermal) continue;
        float width = fminf(board->style.thermal_width, fminf(pad->w, pad->h) * 0.8f);
        for (int k = 0; k < 4; k++) {
            float turn = pad->turn + slant + 1.5707963f * (float)k, c = cosf(turn), s = sinf(turn);
            float reach = (slant > 0 ? fmaxf(pad->w, pad->h)
                           : k % 2   ? pad->h
                                     : pad->w) /
                              2 +
                          board->style.thermal_gap + 0.12f;
            float x = pad->x + c * reach, y = pad->y + s * reach;
            if (plane_sample(area, plane_px(x), plane_px(y)) < 200) continue;
            layout_add_track(board, shape_line(pad->x, pad->y, x, y, width), net);
        }
    }
}

static void hatch(const Board *board, Rng *rng, Plane *area) {
    Plane lines = plane_new(board->w, board->h);
    float width = rng_between(rng, 0.2f, 0.5f), pitch = width + rng_between(rng, 0.25f, 1.2f),
          reach = board->width + board->height;
    float turn = rng_chance(rng, 0.5f) ? 0.7854f : 0;
    for (int way = 0; way < 2; way++) {
        float c = cosf(turn + 1.5707963f * (float)way), s = sinf(turn + 1.5707963f * (float)way);
        for (float k = -reach; k < reach; k += pitch) {
            Shape line = shape_line(-s * k - c * reach, c * k - s * reach, -s * k + c * reach, c * k + s * reach, width);
            plane_draw(&lines, &line, 0);
        }
    }
    Plane rim = plane_copy(area), inner = plane_copy(area);
    long count = (long)area->w * area->h;
    for (long i = 0; i < count; i++) inner.at[i] = (unsigned char)(255 - inner.at[i]);
    plane_grow(&inner, width);
    for (long i = 0; i < count; i++)
        if (inner.at[i] < rim.at[i]) rim.at[i] = (unsigned char)(inner.at[i]);
    plane_add(&lines, &rim);
    plane_keep(area, &lines);
    plane_free(&rim), plane_free(&inner), plane_free(&lines);
}

static void ground_plane(Board *board, Rng *rng) {
    Plane area = region(board, rng);
    cut_others(board, &area, 1, board->style.pour_gap + sliver);
    cut_bores(board, &area, rng_between(rng, 0.15f, 0.6f) + sliver);
    for (int i = 0; i < board->w * board->h; i++)
        if (board->copper.at[i]) area.at[i] = 0; /* islands stand already, with their gap cut into copper below */
    plane_grow(&area, sliver);
    if (board->style.hatched) hatch(board, rng, &area);
    spokes(board, rng, &area, 1);
    plane_add(&board->copper, &area);
    plane_free(&area);
}

/* The net of the nearest thing, by a distance sweep that remembers where it came from; then gaps along the borders between
 * nets. */
static void islands(Board *board, Rng *rng) {
    size_t count = (size_t)board->w * (size_t)board->h;
    Plane one = plane_new(board->w, board->h), area = region(board, rng);
    uint16_t *net = calloc(count, sizeof *net);
    unsigned char *set = calloc(count, 1), *border = calloc(count, 1);
    float *d = malloc(count * sizeof *d), *e = malloc(count * sizeof *e), share = rng_between(rng, 0.5f, 1);
    int *near = malloc(count * sizeof *near);
    float reach = rng_log(rng, 0.6f, 8) * RASTER_SCALE, gap = board->style.pour_gap * RASTER_SCALE / 2;
    if (!net || !set || !border || !d || !e || !near) abort();
    for (int i = 0; i < board->track_count + board->pad_count; i++) {
        bool pad = i >= board->track_count;
        Shape shape = pad ? layout_pad_shape(&board->pads[i - board->track_count]) : board->tracks[i].shape;
        int mine = pad ? board->pads[i - board->track_count].net : board->tracks[i].net;
        float b[4];
        shape_bounds(&shape, b);
        plane_draw(&one, &shape, 0);
        for (int y = (int)plane_px(b[1]); y <= (int)plane_px(b[3]); y++)
            for (int x = (int)plane_px(b[0]); x <= (int)plane_px(b[2]); x++) {
                if (x < 0 || y < 0 || x >= board->w || y >= board->h) continue;
                long k = (long)y * board->w + x;
                if (one.at[k] >= 128) set[k] = 1, net[k] = net[k] ? net[k] : (uint16_t)mine, one.at[k] = 0;
            }
    }
    distance_to(set, board->w, board->h, 1e6f, d, near);
    for (size_t i = 0; i < count; i++) {
        int mine = near[i] >= 0 ? net[near[i]] : 0, right = i + 1 < count && near[i + 1] >= 0 ? net[near[i + 1]] : mine;
        int down = i + (size_t)board->w < count && near[i + (size_t)board->w] >= 0 ? net[near[i + (size_t)board->w]] : mine;
        border[i] = mine != right || mine != down;
    }
    distance_to(border, board->w, board->h, 1e6f, e, NULL);
    uint32_t chosen = (uint32_t)rng_next(rng);
    for (size_t i = 0; i < count; i++) {
        uint32_t mine = near[i] >= 0 ? net[near[i]] : 0, dice = (mine * 2654435761u ^ chosen) * 2246822519u;
        float cover = fminf(e[i] - gap + 0.5f, reach - d[i]);
        if (!mine || (float)(dice >> 8) / 16777216.0f > share || cover <= 0)
            area.at[i] = 0;
        else if (cover < 1)
            area.at[i] = (unsigned char)((float)area.at[i] * cover);
    }
    cut_bores(board, &area, 0.3f);
    plane_add(&board->copper, &area);
    plane_free(&one), plane_free(&area);
    free(net), free(set), free(border), free(d), free(e), free(near);
}

/* Ground poured where islands stand would touch them; it is kept off by a gap. */
static void keep_off(Board *board, Plane *islands_only) {
    Plane grown = plane_copy(islands_only);
    plane_grow(&grown, board->style.pour_gap);
    long count = (long)board->w * board->h;
    for (long i = 0; i < count; i++)
        if (grown.at[i] > 0 && islands_only->at[i] == 0) {
            int room = 255 - grown.at[i];
            if (board->copper.at[i] > room) board->copper.at[i] = (unsigned char)room;
        }
    plane_free(&grown);
}

void layout_pour(Board *board, Rng *rng) {
    if (board->style.pours >= 2) islands(board, rng);
    if (board->style.pours == 3) {
        Plane stood = plane_copy(&board->copper);
        ground_plane(board, rng);
        keep_off(board, &stood);
        plane_free(&stood);
    }
    if (board->style.pours == 1) ground_plane(board, rng);
}
