/* From a seed to a board: habits, parts, nets, tracks, pours, print, and then planes. Nets are only a means to draw what
 * boards look like; the truth is taken from the finished copper. Cost: some 50 ms for a board of 30 x 30 mm, most of it
 * tracks and pours. */
#include "layout.h"

#include <stdlib.h>

bool layout_add_pad(Board *board, Pad pad) {
    if (board->pad_count == LAYOUT_PADS) return false;
    board->pads[board->pad_count++] = pad;
    return true;
}

bool layout_add_track(Board *board, Shape shape, int net) {
    if (board->track_count == LAYOUT_TRACKS) return false;
    board->tracks[board->track_count++] = (Track){shape, net};
    return true;
}

Shape layout_pad_shape(const Pad *pad) { return shape_box(pad->x, pad->y, pad->w, pad->h, pad->turn, pad->round); }

/* The distance between two shapes is sampled along the first: good enough to keep drawn extras off what is there. */
bool layout_free_of(const Board *board, const Shape *shape, float clearance, int net) {
    float length = hypotf(shape->x2 - shape->x, shape->y2 - shape->y);
    int steps = shape->sort == SHAPE_CAPSULE ? 1 + (int)(length / 0.3f) : 0;
    for (int i = 0; i <= steps; i++) {
        float t = steps ? (float)i / (float)steps : 0, x = shape->x, y = shape->y, reach = shape->r + clearance;
        if (shape->sort == SHAPE_CAPSULE)
            x += t * (shape->x2 - shape->x), y += t * (shape->y2 - shape->y);
        else
            reach = clearance + hypotf(shape->x2, shape->sort == SHAPE_BOX ? shape->y2 : 0);
        if (x < reach || y < reach || x > board->width - reach || y > board->height - reach) return false;
        for (int p = 0; p < board->pad_count; p++) {
            Shape pad = layout_pad_shape(&board->pads[p]);
            if (board->pads[p].net != net && shape_distance(&pad, x, y) < reach) return false;
        }
        for (int k = 0; k < board->track_count; k++)
            if (board->tracks[k].net != net && shape_distance(&board->tracks[k].shape, x, y) < reach) return false;
        for (int k = 0; k < board->bore_count; k++)
            if (shape_distance(&board->bores[k], x, y) < reach) return false;
    }
    return true;
}

static Style style_new(Rng *rng) {
    Style s = {0};
    s.through_hole = rng_chance(rng, 0.45f);
    s.two_sided = !s.through_hole || rng_chance(rng, 0.4f);
    s.curved = s.through_hole && rng_chance(rng, 0.22f);
    s.track = s.through_hole ? rng_log(rng, 0.25f, 1.2f) : rng_log(rng, 0.12f, 0.35f);
    s.wide = s.track * rng_between(rng, 1.2f, 3.5f);
    s.clearance = s.through_hole ? rng_log(rng, 0.2f, 0.6f) : rng_log(rng, 0.13f, 0.3f);
    s.grid = s.through_hole ? rng_between(rng, 0.25f, 0.42f) : rng_between(rng, 0.15f, 0.26f);
    s.annulus = s.through_hole ? rng_between(rng, 0.35f, 0.8f) : rng_between(rng, 0.15f, 0.4f);
    s.pour_gap = rng_chance(rng, 0.7f) ? rng_log(rng, 0.12f, 0.32f) : rng_log(rng, 0.25f, 0.7f);
    s.thermal_gap = s.pour_gap * rng_between(rng, 0.9f, 1.6f);
    s.thermal_width = rng_log(rng, 0.2f, 0.7f);
    s.pours = rng_chance(rng, 0.34f) ? 0 : rng_chance(rng, 0.66f) ? 1 : rng_chance(rng, 0.7f) ? 2 : 3;
    s.hatched = rng_chance(rng, 0.07f);
    s.mask_grow = rng_between(rng, -0.03f, 0.14f);
    s.mask_shift_x = 0.05f * rng_gauss(rng);
    s.mask_shift_y = 0.05f * rng_gauss(rng);
    s.silk_width = rng_between(rng, 0.1f, 0.3f);
    return s;
}

static Board *board_new(void) {
    Board *board = calloc(1, sizeof *board);
    if (!board) abort();
    board->pads = calloc(LAYOUT_PADS, sizeof *board->pads);
    board->tracks = calloc(LAYOUT_TRACKS, sizeof *board->tracks);
    board->parts = calloc(LAYOUT_PARTS, sizeof *board->parts);
    board->openings = calloc(LAYOUT_SHAPES, sizeof *board->openings);
    board->bores = calloc(LAYOUT_SHAPES, sizeof *board->bores);
    if (!board->pads || !board->tracks || !board->parts || !board->openings || !board->bores) abort();
    return board;
}

void layout_free(Board *board) {
    if (!board) return;
    plane_free(&board->outline), plane_free(&board->copper), plane_free(&board->drill);
    plane_free(&board->land), plane_free(&board->open), plane_free(&board->silk);
    free(board->solder), free(board->pads), free(board->tracks), free(board->parts);
    free(board->openings), free(board->bores), free(board->samples), free(board);
}

static void cut_notches(Board *board, Rng *rng) {
    int count = rng_chance(rng, 0.35f) ? rng_from(rng, 1, 4) : 0;
    bool windows = rng_chance(rng, 0.4f); /* large ones inside the board */
    for (int i = 0; i < count; i++) {
        float x = rng_between(rng, 0, board->width), y = rng_between(rng, 0, board->height);
        float w = rng_between(rng, 0.8f, windows ? 9 : 5), h = rng_between(rng, 0.8f, windows ? 7 : 3.5f);
        if (rng_chance(rng, windows ? 0.3f : 0.75f)) {
            if (rng_chance(rng, 0.5f))
                x = rng_chance(rng, 0.5f) ? 0 : board->width;
            else
                y = rng_chance(rng, 0.5f) ? 0 : board->height;
        }
        Shape notch = shape_box(x, y, w, h, 0, rng_chance(rng, 0.5f) ? rng_between(rng, 0, 0.9f) : 0);
        plane_cut(&board->outline, &notch, 0);
        if (board->bore_count < LAYOUT_SHAPES) board->bores[board->bore_count++] = notch;
    }
}

static void draw_outline(Board *board, Rng *rng) {
    float round = rng_chance(rng, 0.35f) ? rng_between(rng, 0.3f, 3) : 0;
    Shape body = shape_box(board->width / 2, board->height / 2, board->width, board->height, 0, round);
    plane_draw(&board->outline, &body, 0);
    cut_notches(board, rng);
}

/* Pads of no part that is drawn: tabs in long or wide holes with a thin rim, and large lands. */
static void lone_pads(Board *board, Rng *rng) {
    int count = rng_chance(rng, 0.5f) ? rng_from(rng, 1, 6) : 0;
    for (int i = 0; i < count; i++) {
        bool drilled = rng_chance(rng, 0.6f), square = drilled && rng_chance(rng, 0.4f);
        float h = drilled ? rng_between(rng, 1.1f, 3) : rng_log(rng, 0.4f, 4), w = square ? h : h * rng_between(rng, 1, 4);
        Pad pad = {.x = rng_between(rng, 1, board->width - 1),
                   .y = rng_between(rng, 1, board->height - 1),
                   .w = w,
                   .h = h,
                   .turn = rng_chance(rng, 0.5f) ? 0 : 1.5707963f,
                   .round = drilled                 ? h / 2
                            : rng_chance(rng, 0.7f) ? 0
                                                    : h * 0.25f,
                   .hole = drilled ? h - 2 * rng_log(rng, 0.06f, 0.4f) : 0,
                   .part = -1};
        Shape shape = shape_disc(pad.x, pad.y, hypotf(w, h));
        if (layout_free_of(board, &shape, 0.2f, -1)) layout_add_pad(board, pad);
    }
}

/* Everything that is copper but not poured; bores and the outline are cut last. */
static void draw_copper(Board *board, Rng *rng) {
    for (int i = 0; i < board->track_count; i++) plane_draw(&board->copper, &board->tracks[i].shape, 0);
    for (int i = 0; i < board->pad_count; i++) {
        Shape shape = layout_pad_shape(&board->pads[i]);
        plane_draw(&board->copper, &shape, 0);
        if (!board->pads[i].via || !board->pads[i].tented) plane_draw(&board->land, &shape, 0);
        if (board->pads[i].hole > 0) {
            Shape hole = shape_disc(board->pads[i].x, board->pads[i].y, board->pads[i].hole);
            float w = board->pads[i].w, h = board->pads[i].h, slot = fabsf(w - h) * 0.8f;
            if (slot > 0.8f && rng_chance(rng, board->pads[i].part < 0 ? 0.9f : 0.12f)) {
                float along = board->pads[i].turn + (w > h ? 0 : 1.5707963f), dx = cosf(along) * slot / 2,
                      dy = sinf(along) * slot / 2;
                hole = shape_line(hole.x - dx, hole.y - dy, hole.x + dx, hole.y + dy, board->pads[i].hole);
            }
            plane_draw(&board->drill, &hole, 0);
        }
    }
    for (int i = 0; i < board->bore_count; i++) {
        if (board->bores[i].sort != SHAPE_CAPSULE) continue;
        plane_draw(&board->drill, &board->bores[i], 0);
    }
    plane_keep(&board->copper, &board->outline);
    plane_keep(&board->land, &board->outline);
}

static void draw_openings(Board *board) {
    const Style *s = &board->style;
    for (int i = 0; i < board->pad_count; i++) {
        if (board->pads[i].tented) continue;
        Shape shape = layout_pad_shape(&board->pads[i]);
        shape.x += s->mask_shift_x, shape.y += s->mask_shift_y;
        plane_draw(&board->open, &shape, s->mask_grow);
    }
    for (int i = 0; i < board->opening_count; i++) plane_draw(&board->open, &board->openings[i], 0);
    for (int i = 0; i < board->bore_count; i++)
        if (board->bores[i].sort == SHAPE_CAPSULE) plane_draw(&board->open, &board->bores[i], 0.05f);
}

static void make_planes(Board *board) {
    board->w = (int)ceilf((board->width + 2 * RASTER_MARGIN) * RASTER_SCALE);
    board->h = (int)ceilf((board->height + 2 * RASTER_MARGIN) * RASTER_SCALE);
    board->outline = plane_new(board->w, board->h);
    board->copper = plane_new(board->w, board->h);
    board->drill = plane_new(board->w, board->h);
    board->land = plane_new(board->w, board->h);
    board->open = plane_new(board->w, board->h);
    board->silk = plane_new(board->w, board->h);
}

Board *layout_blank(float width, float height, Rng *rng) {
    Board *board = board_new();
    board->style = style_new(rng);
    board->width = width, board->height = height;
    make_planes(board);
    return board;
}

static Board *draw_board(uint64_t seed, uint64_t number, bool crowded) {
    Rng rng = rng_new(seed, number, 1), crowd = rng_new(seed, number, 8);
    Board *board = board_new();
    board->style = style_new(&rng);
    board->crowded = crowded;
    if (crowded) crowd_style(&board->style, &crowd);
    board->width = rng_log(&rng, 16, board->style.through_hole ? 46 : 38);
    board->height = rng_log(&rng, 13, board->style.through_hole ? 40 : 32);
    make_planes(board);
    draw_outline(board, &rng);
    if (crowded) crowd_outline(board, &crowd);
    layout_place(board, &rng);
    lone_pads(board, &rng);
    layout_nets(board, &rng);
    layout_route(board, &rng);
    layout_extras(board, &rng);
    if (crowded) crowd_stitch(board, &crowd);
    layout_pour(board, &rng);
    draw_copper(board, &rng);
    draw_openings(board);
    crowded ? crowd_print(board, &crowd) : layout_print(board, &rng);
    layout_solder(board, &rng);
    return board;
}

Board *layout_new(uint64_t seed, uint64_t number) { return draw_board(seed, number, false); }

Board *layout_crowded(uint64_t seed, uint64_t number) { return draw_board(seed, number, true); }
