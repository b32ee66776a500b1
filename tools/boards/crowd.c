/* Crowded boards, as densely set designs for small parts are: rows of pins along the edges, parts as close as they may be,
 * a pour over all that is left, stitched with vias, and print wherever it finds room: a frame round the pads of every part,
 * side by side with its neighbour's, a name at each pin at some slant, emblems and filled labels over whatever lies
 * there. Each of its stages takes the place of, or adds to, one of layout_new's. */
#include "layout.h"
#include "print.h"

#include <string.h>

void crowd_style(Style *style, Rng *rng) {
    style->through_hole = style->curved = style->hatched = false;
    style->two_sided = true;
    style->track = rng_log(rng, 0.13f, 0.28f), style->wide = style->track * rng_between(rng, 1.2f, 3);
    style->clearance = rng_log(rng, 0.13f, 0.25f), style->grid = rng_between(rng, 0.15f, 0.22f);
    style->annulus = rng_between(rng, 0.15f, 0.35f);
    style->pours = rng_chance(rng, 0.2f) ? 0 : 1;
    style->pour_gap = rng_log(rng, 0.13f, 0.3f), style->thermal_gap = style->pour_gap * rng_between(rng, 0.9f, 1.3f);
    style->thermal_width = rng_log(rng, 0.18f, 0.5f);
    style->silk_width = rng_between(rng, 0.1f, 0.24f);
}

/* Corners cut off, as far as a tenth of the board. */
void crowd_outline(Board *board, Rng *rng) {
    if (!rng_chance(rng, 0.3f)) return;
    float off = rng_between(rng, 0.8f, 0.1f * (board->width + board->height));
    for (int k = 0; k < 4 && board->bore_count < LAYOUT_SHAPES; k++) {
        if (rng_chance(rng, 0.4f)) continue;
        Shape corner = shape_box(k % 2 ? board->width : 0, k / 2 ? board->height : 0, off, off, 0.7853982f, 0);
        plane_cut(&board->outline, &corner, 0);
        board->bores[board->bore_count++] = corner;
    }
}

/* Vias of the pour, many at random and some in a row along an edge. */
void crowd_stitch(Board *board, Rng *rng) {
    int count = rng_chance(rng, 0.6f) ? rng_from(rng, 4, 40) : 0;
    float hole = rng_between(rng, 0.2f, 0.5f), size = hole + rng_between(rng, 0.15f, 0.4f);
    bool tented = rng_chance(rng, 0.75f), row = rng_chance(rng, 0.2f);
    float along = rng_between(rng, 0.6f, 1.5f), pitch = rng_between(rng, size + 0.3f, 2.5f);
    for (int i = 0; i < count; i++) {
        float x = row ? along + pitch * (float)i : rng_between(rng, 0.5f, board->width - 0.5f);
        float y = row ? along : rng_between(rng, 0.5f, board->height - 0.5f);
        Shape disc = shape_disc(x, y, size);
        if (!layout_free_of(board, &disc, board->style.clearance, 1)) continue;
        layout_add_pad(board, (Pad){x, y, size, size, 0, size / 2, hole, 1, -1, true, tented, false});
    }
}

/* ---- print ---- */

/* What one designer prints round parts and beside pins. */
typedef struct Habit {
    float stroke, away;        /* mm; from the pads to the frame's middle */
    float framed, named, told; /* shares of parts, of parts, of pins */
    float height, slant;       /* of names; radian */
    int sides;                 /* which sides of a frame are drawn, a bit each */
    float cut;                 /* of a frame's corner, mm */
} Habit;

static Habit habit_new(const Board *board, Rng *rng) {
    static const int sides[5] = {15, 15, 15, 5, 10};
    return (Habit){.stroke = board->style.silk_width,
                   .away = rng_between(rng, 0.1f, 0.4f),
                   .framed = rng_between(rng, 0.5f, 1),
                   .named = rng_between(rng, 0.4f, 1),
                   .told = rng_chance(rng, 0.6f) ? rng_between(rng, 0.3f, 1) : 0,
                   .height = rng_log(rng, 0.6f, 1.5f),
                   .slant = rng_chance(rng, 0.5f) ? 0 : rng_between(rng, -1.2f, 1.2f),
                   .sides = sides[rng_below(rng, 5)],
                   .cut = rng_chance(rng, 0.75f) ? 0 : rng_between(rng, 0.1f, 0.6f)};
}

/* The box round a part's pads in the part's own frame: low x, low y, high x, high y. False when it has none. */
static bool part_box(const Board *board, int part, float box[4]) {
    const Part *p = &board->parts[part];
    float c = cosf(p->turn), s = sinf(p->turn);
    bool any = false;
    for (int i = 0; i < board->pad_count; i++) {
        const Pad *pad = &board->pads[i];
        if (pad->part != part) continue;
        float dx = pad->x - p->x, dy = pad->y - p->y, x = c * dx + s * dy, y = c * dy - s * dx;
        box[0] = any ? fminf(box[0], x - pad->w / 2) : x - pad->w / 2;
        box[1] = any ? fminf(box[1], y - pad->h / 2) : y - pad->h / 2;
        box[2] = any ? fmaxf(box[2], x + pad->w / 2) : x + pad->w / 2;
        box[3] = any ? fmaxf(box[3], y + pad->h / 2) : y + pad->h / 2;
        any = true;
    }
    return any;
}

static void stroke(Board *board, const Part *p, float x, float y, float x2, float y2, float width) {
    float c = cosf(p->turn), s = sinf(p->turn);
    Shape line =
        shape_line(p->x + c * x - s * y, p->y + s * x + c * y, p->x + c * x2 - s * y2, p->y + s * x2 + c * y2, width);
    plane_draw(&board->silk, &line, 0);
}

/* Sides that are drawn, and the short ones across cut corners between two of them. */
static void frame_pads(Board *board, const Part *p, const float box[4], const Habit *habit) {
    float away = habit->away, cut = habit->cut;
    float l = box[0] - away, t = box[1] - away, r = box[2] + away, b = box[3] + away;
    const float at[8][2] = {{l + cut, t}, {r - cut, t}, {r, t + cut}, {r, b - cut},
                            {r - cut, b}, {l + cut, b}, {l, b - cut}, {l, t + cut}};
    for (int i = 0; i < 8; i++) {
        bool side = i % 2 == 0, drawn = side ? habit->sides >> i / 2 & 1 : habit->sides == 15;
        const float *from = at[i], *to = at[(i + 1) % 8];
        if (drawn) stroke(board, p, from[0], from[1], to[0], to[1], habit->stroke);
    }
}

static void name_at(Board *board, Rng *rng, float x, float y, const Habit *habit) {
    char word[16];
    print_word(rng, word, sizeof word);
    float turn = (rng_chance(rng, 0.3f) ? 1.5707963f : 0) + habit->slant, c = cosf(turn), s = sinf(turn);
    float height = habit->height, half = 0.47f * height * (float)strlen(word);
    print_text(&board->silk, word, x - c * half + s * height / 2, y - s * half - c * height / 2, height, turn,
               fminf(habit->stroke, height / 5));
}

static void print_one(Board *board, Rng *rng, int part, const Habit *habit) {
    const Part *p = &board->parts[part];
    float box[4];
    if (!part_box(board, part, box)) return;
    bool pins = p->sort == PART_BLOCK;
    if (rng_chance(rng, habit->framed)) frame_pads(board, p, box, habit);
    if (rng_chance(rng, habit->named))
        name_at(board, rng, p->x + rng_between(rng, -0.8f, 0.8f) * p->reach_w,
                p->y + rng_between(rng, -0.8f, 0.8f) * p->reach_h, habit);
    for (int i = 0; pins && i < board->pad_count; i++) {
        const Pad *pad = &board->pads[i];
        if (pad->part != part || !rng_chance(rng, habit->told)) continue;
        float turn = 1.5707963f * (float)rng_below(rng, 4), far = fmaxf(pad->w, pad->h) / 2 + habit->height;
        name_at(board, rng, pad->x + cosf(turn) * far, pad->y + sinf(turn) * far, habit);
    }
}

/* A wheel with teeth and a hole, a box with its word left out, or a patch with slanted ends: nothing is seen through it. */
static void emblem(Board *board, Rng *rng) {
    float x = rng_between(rng, 0, board->width), y = rng_between(rng, 0, board->height), size = rng_log(rng, 1.5f, 6);
    float turn = rng_chance(rng, 0.7f) ? 0 : rng_between(rng, 0, 6.28f), t = rng_unit(rng);
    Shape body = t < 0.5f ? shape_disc(x, y, size) : shape_box(x, y, size, size * rng_between(rng, 0.2f, 0.8f), turn, 0);
    plane_draw(&board->silk, &body, 0);
    int teeth = t < 0.4f ? rng_from(rng, 5, 9) : 0;
    for (int i = 0; i < teeth; i++) {
        float at = turn + 6.2831853f * (float)i / (float)teeth;
        Shape tooth = shape_box(x + cosf(at) * size / 2, y + sinf(at) * size / 2, size * 0.3f, size * 0.25f, at, 0);
        plane_draw(&board->silk, &tooth, 0);
    }
    if (t < 0.5f) {
        Shape eye = shape_disc(x, y, size * rng_between(rng, 0.2f, 0.5f));
        plane_cut(&board->silk, &eye, 0);
    } else if (t < 0.8f) {
        char word[16];
        float height = size * 0.25f;
        Plane letters = plane_new(board->w, board->h);
        print_word(rng, word, sizeof word);
        print_text(&letters, word, x - size * 0.35f, y - height / 2, height, 0, height * 0.16f);
        for (long i = 0; i < (long)board->w * board->h; i++)
            if (letters.at[i] > 255 - board->silk.at[i]) board->silk.at[i] = (unsigned char)(255 - letters.at[i]);
        plane_free(&letters);
    }
}

void crowd_print(Board *board, Rng *rng) {
    if (rng_chance(rng, 0.08f)) return;
    Habit habit = habit_new(board, rng);
    int emblems = rng_chance(rng, 0.5f) ? rng_from(rng, 1, 3) : 0;
    for (int i = 0; i < emblems; i++) emblem(board, rng);
    for (int i = 0; i < board->part_count; i++) print_one(board, rng, i, &habit);
    if (rng_chance(rng, 0.85f)) layout_clip_print(board);
}
