/* Parts and their pads: dropped one by one where they fit, large ones first, as rows of pads with a body. Then pads are
 * bound into nets, mostly near ones, as people do who place parts well. */
#include "layout.h"

static bool room_for(const Board *board, float x, float y, float w, float h) {
    if (x - w / 2 < 0.5f || y - h / 2 < 0.5f || x + w / 2 > board->width - 0.5f || y + h / 2 > board->height - 0.5f)
        return false;
    for (int i = 0; i < board->part_count; i++) {
        const Part *p = &board->parts[i];
        if (fabsf(x - p->x) < (w + p->reach_w) / 2 && fabsf(y - p->y) < (h + p->reach_h) / 2) return false;
    }
    for (int i = 0; i < board->bore_count; i++) {
        float b[4];
        shape_bounds(&board->bores[i], b);
        if (x - w / 2 < b[2] + 0.4f && x + w / 2 > b[0] - 0.4f && y - h / 2 < b[3] + 0.4f && y + h / 2 > b[1] - 0.4f)
            return false;
    }
    return true;
}

typedef struct Row {
    float x, y, step_x, step_y; /* of the first pad and to the next, in the part's own frame */
    int count;
    float w, h, hole; /* pad */
    float round;      /* 0 square .. 1 fully round */
} Row;

static void add_row(Board *board, int part, const Row *row, bool thermal, bool first_square) {
    const Part *p = &board->parts[part];
    float c = cosf(p->turn), s = sinf(p->turn);
    for (int i = 0; i < row->count; i++) {
        float x = row->x + row->step_x * (float)i, y = row->y + row->step_y * (float)i;
        float round = row->round * fminf(row->w, row->h) / 2;
        Pad pad = {
            p->x + c * x - s * y, p->y + s * x + c * y, row->w, row->h, p->turn, round, row->hole, 0, part, 0, 0, thermal};
        if (first_square && i == 0) pad.round = 0;
        layout_add_pad(board, pad);
    }
}

/* Tries some places for a part of this size; its number, or -1. */
static int drop_part(Board *board, Rng *rng, Part part, float reach_w, float reach_h) {
    if (board->part_count == LAYOUT_PARTS) return -1;
    if (board->crowded) reach_w -= 0.2f, reach_h -= 0.2f;
    bool slanted = board->crowded && part.sort == PART_IC && rng_chance(rng, 0.2f);
    for (int tries = 0; tries < 14; tries++) {
        bool free_turn = rng_chance(rng, 0.03f) || slanted;
        int quarter = rng_below(rng, 4);
        part.turn = 1.5707963f * (float)quarter + (slanted ? 0.7853982f : free_turn ? rng_between(rng, 0, 1.5f) : 0);
        part.reach_w = quarter % 2 ? reach_h : reach_w;
        part.reach_h = quarter % 2 ? reach_w : reach_h;
        if (free_turn) part.reach_w = part.reach_h = hypotf(reach_w, reach_h);
        part.x = rng_between(rng, part.reach_w / 2 + 0.5f, board->width - part.reach_w / 2 - 0.5f);
        part.y = rng_between(rng, part.reach_h / 2 + 0.5f, board->height - part.reach_h / 2 - 0.5f);
        if (!room_for(board, part.x, part.y, part.reach_w, part.reach_h)) continue;
        board->parts[board->part_count] = part;
        return board->part_count++;
    }
    return -1;
}

static float round_or_oval(Rng *rng) { return rng_chance(rng, 0.7f) ? 1 : rng_between(rng, 0, 0.6f); }

/* A row or two rows of pins through the board, `pitch` apart; rows `span` apart (0: one row). */
static void pins_through(Board *board, Rng *rng, PartSort sort, int count, float pitch, float span, float tall) {
    float hole = rng_between(rng, 0.6f, 1.15f), pad = hole + 2 * board->style.annulus;
    if (pad > pitch - 0.3f && pitch > 0) pad = fmaxf(pitch - rng_between(rng, 0.3f, 0.7f), hole + 0.2f);
    float oval = rng_chance(rng, 0.35f) ? pad * rng_between(rng, 1.2f, 1.9f) : pad;
    float length = pitch * (float)(count - 1);
    Part part = {
        .sort = sort, .w = length + pitch * 0.8f, .h = fmaxf(span - oval * 0.2f, 2.2f), .tall = tall, .through = true};
    if (sort == PART_AXIAL) part.w = length * 0.6f, part.h = fminf(2.4f, length * 0.3f);
    if (sort == PART_CAN) part.w = part.h = fmaxf(4.5f, pitch * 1.8f);
    int n = drop_part(board, rng, part, length + pad + 0.8f, span + oval + 0.8f);
    if (n < 0) return;
    float round = round_or_oval(rng);
    bool square = rng_chance(rng, 0.5f), thermal = rng_chance(rng, 0.85f);
    Row row = {-length / 2, -span / 2, pitch, 0, count, pad, oval, hole, round};
    add_row(board, n, &row, thermal, square);
    row.y = span / 2;
    if (span > 0) add_row(board, n, &row, thermal, false);
}

static void chip_two(Board *board, Rng *rng) {
    static const float sizes[5][4] = {{0.55f, 0.6f, 1.0f, 0.35f},
                                      {0.85f, 0.9f, 1.6f, 0.45f},
                                      {1.05f, 1.35f, 2.0f, 0.6f},
                                      {1.2f, 1.8f, 3.1f, 0.6f},
                                      {2.2f, 2.0f, 4.3f, 1.6f}}; /* pad w, pad h, pitch, height */
    const float *s = sizes[board->style.through_hole ? rng_from(rng, 2, 4) : rng_from(rng, 0, 3)];
    Part part = {.sort = PART_CHIP, .w = s[2] * 1.05f, .h = s[1] * 0.95f, .tall = s[3]};
    int n = drop_part(board, rng, part, s[2] + s[0] + 0.4f, s[1] + 0.4f);
    Row row = {-s[2] / 2, 0, s[2], 0, 2, s[0], s[1], 0, rng_chance(rng, 0.4f) ? 0.5f : 0};
    if (n >= 0) add_row(board, n, &row, rng_chance(rng, 0.6f), false);
}

static void small_three(Board *board, Rng *rng) {
    Part part = {.sort = PART_SMALL, .w = 2.9f, .h = 1.4f, .tall = 1};
    int n = drop_part(board, rng, part, 3.6f, 3.6f);
    Row low = {-0.95f, 1.0f, 1.9f, 0, 2, 0.8f, 0.9f, 0, 0}, high = {0, -1.0f, 0, 0, 1, 0.8f, 0.9f, 0, 0};
    if (rng_chance(rng, 0.25f))
        low.step_x = 0.95f, low.count = 3, low.w = 0.6f, low.h = 1.1f, high.x = -0.95f, high.step_x = 1.9f, high.count = 2,
        high.w = 0.6f, high.h = 1.1f;
    if (n >= 0) add_row(board, n, &low, true, false), add_row(board, n, &high, true, false);
}

/* Two rows of narrow pads, or four. */
static void ic_flat(Board *board, Rng *rng) {
    static const float pitches[5] = {1.27f, 1.27f, 0.8f, 0.65f, 0.5f};
    float pitch = pitches[rng_below(rng, 5)], pad = pitch * rng_between(rng, 0.45f, 0.62f),
          length = rng_between(rng, 0.9f, 2.0f);
    int count = rng_from(rng, 4, pitch > 1 ? 8 : 12);
    bool four = pitch < 1 && rng_chance(rng, 0.35f);
    float side = pitch * (float)(count - 1), span = four ? side + length + pitch * 2 : rng_between(rng, 4.4f, 7.6f);
    Part part = {.sort = PART_IC, .w = side + pitch, .h = span - length * 1.4f, .tall = rng_between(rng, 0.8f, 2)};
    if (four) part.w = part.h;
    int n = drop_part(board, rng, part, (four ? span : side) + length + 0.5f, span + length + 0.5f);
    if (n < 0) return;
    float round = rng_chance(rng, 0.5f) ? 0 : rng_unit(rng);
    Row row = {-side / 2, span / 2, pitch, 0, count, pad, length, 0, round};
    add_row(board, n, &row, false, false);
    row.y = -span / 2;
    add_row(board, n, &row, false, false);
    Row column = {span / 2, -side / 2, 0, pitch, count, length, pad, 0, round};
    if (!four) return;
    add_row(board, n, &column, false, false);
    column.x = -span / 2;
    add_row(board, n, &column, false, false);
    if (rng_chance(rng, 0.6f)) {
        float slug = (span - length) * rng_between(rng, 0.4f, 0.75f);
        Row middle = {0, 0, 0, 0, 1, slug, slug, 0, 0};
        add_row(board, n, &middle, false, false);
    }
}

static void edge_fingers(Board *board, Rng *rng) {
    int count = rng_from(rng, 3, 12);
    float pitch = rng_between(rng, 1, 2.54f), length = rng_between(rng, 2, 5), w = pitch * rng_between(rng, 0.5f, 0.8f);
    float side = pitch * (float)(count - 1);
    Part part = {
        .sort = PART_BARE, .x = rng_between(rng, side / 2 + 1, board->width - side / 2 - 1), .w = side, .h = length};
    if (side + 3 > board->width || board->part_count == LAYOUT_PARTS) return;
    part.y = board->height - length / 2 - rng_between(rng, 0, 0.5f), part.reach_w = side + w + 1, part.reach_h = length + 1;
    board->parts[board->part_count++] = part;
    Row row = {-side / 2, 0, pitch, 0, count, w, length, 0, rng_chance(rng, 0.3f) ? 0.8f : 0};
    add_row(board, board->part_count - 1, &row, false, false);
}

/* A row of pins parallel to the board's longer edges: `at` across from one of them, its first pin `first` along. */
static void pins_along(Board *board, float at, float first, const Row *row, bool thermal, bool square) {
    if (board->part_count == LAYOUT_PARTS) return;
    bool wide = board->width > board->height;
    float side = row->step_x * (float)row->count, middle = first + row->step_x * (float)(row->count - 1) / 2,
          deep = row->h + 0.3f;
    Part part = {.sort = PART_BLOCK, .w = side, .h = row->step_x, .tall = 5, .through = true};
    part.x = wide ? middle : at, part.y = wide ? at : middle, part.turn = wide ? 0 : 1.5707963f;
    part.reach_w = wide ? side : deep, part.reach_h = wide ? deep : side;
    board->parts[board->part_count] = part;
    add_row(board, board->part_count++, row, thermal, square);
}

/* Rows of pins along both longer edges or one of them, one deep or two, the second row often a little beside the first. */
static void edge_pins(Board *board, Rng *rng) {
    static const float pitches[5] = {2.54f, 2.54f, 2.54f, 2, 1.27f};
    float pitch = pitches[rng_below(rng, 5)], hole = pitch * rng_between(rng, 0.3f, 0.42f);
    float pad = fminf(hole + 2 * board->style.annulus + 0.3f, pitch - 0.35f), edge = pad / 2 + rng_between(rng, 0.2f, 0.8f);
    float length = fmaxf(board->width, board->height), across = fminf(board->width, board->height);
    int edges = rng_from(rng, 0, 2), rows = rng_chance(rng, 0.3f) && across > 7 * pitch ? 2 : 1;
    int count = (int)((length - 2.5f) / pitch) - rng_below(rng, 3);
    float shift = rng_chance(rng, 0.5f) ? pitch * rng_between(rng, 0.05f, 0.5f) : 0;
    bool thermal = rng_chance(rng, 0.8f), square = rng_chance(rng, 0.4f);
    Row row = {-pitch * (float)(count - 1) / 2, 0, pitch, 0, count, pad, pad, hole, 1};
    for (int i = 0; i < edges * rows && count > 2; i++) {
        float deep = (float)(i / edges), at = edge + deep * pitch;
        pins_along(board, i % edges ? across - at : at, (length - pitch * (float)count + pitch) / 2 + deep * shift, &row,
                   thermal, square);
    }
}

/* Mounting holes near corners or anywhere: bare, or in a wide ring. */
static void mounting(Board *board, Rng *rng) {
    int count = rng_chance(rng, 0.6f) ? rng_from(rng, 1, 4) : 0;
    for (int i = 0; i < count; i++) {
        float d = rng_log(rng, 0.8f, 3.4f), ring = rng_chance(rng, 0.35f) ? rng_between(rng, 0.4f, 1.4f) : 0,
              reach = d + 2 * ring + 0.8f;
        Part part = {.sort = PART_BARE, .through = true};
        int n = drop_part(board, rng, part, reach, reach);
        if (n < 0) continue;
        Row row = {0, 0, 0, 0, 1, d + 2 * ring, d + 2 * ring, d, 1};
        if (ring > 0)
            add_row(board, n, &row, rng_chance(rng, 0.5f), false);
        else if (board->bore_count < LAYOUT_SHAPES)
            board->bores[board->bore_count++] = shape_disc(board->parts[n].x, board->parts[n].y, d);
    }
}

static void one_part(Board *board, Rng *rng) {
    float t = rng_unit(rng);
    bool th = board->style.through_hole;
    if (t < (th ? 0.12f : 0.08f))
        pins_through(board, rng, PART_IC, rng_from(rng, 3, 10), 2.54f, 7.62f, 3.5f);
    else if (t < (th ? 0.4f : 0.14f))
        pins_through(board, rng, PART_AXIAL, 2, rng_between(rng, 5.08f, 12.7f), 0, 2.2f);
    else if (t < (th ? 0.62f : 0.2f))
        pins_through(board, rng, PART_CAN, 2, rng_between(rng, 2.0f, 5.08f), 0, 6);
    else if (t < (th ? 0.74f : 0.24f))
        pins_through(board, rng, PART_SMALL, 3, rng_chance(rng, 0.5f) ? 2.54f : 1.9f, 0, 4);
    else if (t < (th ? 0.86f : 0.36f))
        pins_through(board, rng, PART_BLOCK, rng_from(rng, 2, 9), 2.54f, rng_chance(rng, 0.3f) ? 2.54f : 0, 5);
    else if (t < (th ? 0.95f : 0.72f))
        chip_two(board, rng);
    else if (t < (th ? 0.97f : 0.84f))
        small_three(board, rng);
    else
        ic_flat(board, rng);
}

void layout_place(Board *board, Rng *rng) {
    if (board->crowded) edge_pins(board, rng);
    mounting(board, rng);
    if (rng_chance(rng, 0.08f)) edge_fingers(board, rng);
    float crowd = board->crowded ? rng_between(rng, 0.8f, 1.8f) : rng_between(rng, 0.25f, 1);
    int wanted = (int)(board->width * board->height * crowd / (board->style.through_hole ? 22.0f : 11.0f));
    if (!board->style.through_hole) ic_flat(board, rng);
    for (int i = 0; i < wanted && i < 140; i++) one_part(board, rng);
    int points = rng_below(rng, 6);
    for (int i = 0; i < points; i++) {
        float d = rng_between(rng, 0.7f, 2.4f);
        int n = drop_part(board, rng, (Part){.sort = PART_BARE}, d + 0.6f, d + 0.6f);
        Row row = {0, 0, 0, 0, 1, d, d, 0, 1};
        if (n >= 0) add_row(board, n, &row, true, false);
    }
}

/* The nearest pad without a net, or one of the nearest few. */
static int near_pad(const Board *board, Rng *rng, int from) {
    int best = -1;
    float least = 1e9f, whim = rng_between(rng, 0.3f, 3);
    for (int i = 0; i < board->pad_count; i++) {
        const Pad *a = &board->pads[from], *b = &board->pads[i];
        if (b->net || (a->part == b->part && rng_chance(rng, 0.9f))) continue;
        float d = hypotf(a->x - b->x, a->y - b->y) * (1 + whim * rng_unit(rng));
        if (d < least) least = d, best = i;
    }
    return best;
}

void layout_nets(Board *board, Rng *rng) {
    float ground = rng_between(rng, 0.1f, 0.35f), lone = rng_between(rng, 0.02f, 0.25f);
    board->net_count = 1;
    for (int i = 0; i < board->pad_count; i++)
        if (rng_chance(rng, ground)) board->pads[i].net = 1;
    for (int i = 0; i < board->pad_count; i++) {
        if (board->pads[i].net) continue;
        board->pads[i].net = ++board->net_count;
        if (rng_chance(rng, lone)) continue;
        int more = rng_chance(rng, 0.7f) ? 1 : rng_from(rng, 2, 5), at = i;
        for (int k = 0; k < more; k++) {
            int next = near_pad(board, rng, at);
            if (next < 0) break;
            board->pads[next].net = board->net_count;
            at = next;
        }
    }
}
