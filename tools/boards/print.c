/* Silkscreen: part outlines, names and values in a stroke font, dots, lines and frames. Some of it runs over tracks and
 * between pads, as on real boards; most factories clip it at mask openings. */
#include "layout.h"
#include "print.h"

#include <stdio.h>
#include <string.h>

/* Strokes on a grid 4 wide and 6 high, y down: pairs of digits are points, a blank lifts the pen. */
static const char *const strokes[128] = {
    ['A'] = "06022042 4246 0444",
    ['B'] = "06003041423303 33444536 3606",
    ['C'] = "413000010506 0646",
    ['D'] = "00063645413000",
    ['E'] = "40000646 0333",
    ['F'] = "400006 0333",
    ['G'] = "4130100105163645 434533",
    ['H'] = "0006 4046 0343",
    ['I'] = "1030 2026 1636",
    ['J'] = "404536160504",
    ['K'] = "0006 4003 0346",
    ['L'] = "000646",
    ['M'] = "0600234046",
    ['N'] = "06004640",
    ['O'] = "103041453616050110",
    ['P'] = "0600304142330303",
    ['Q'] = "103041453616050110 3446",
    ['R'] = "0600304142330303 2346",
    ['S'] = "413010010213334445361605",
    ['T'] = "0040 2026",
    ['U'] = "000516364540",
    ['V'] = "002640",
    ['W'] = "0016233640",
    ['X'] = "0046 4006",
    ['Y'] = "002340 2326",
    ['Z'] = "00400646",
    ['0'] = "103041453616050110 4105",
    ['1'] = "012026 1636",
    ['2'] = "0110304142060646",
    ['3'] = "00402233444536160",
    ['4'] = "36300444",
    ['5'] = "400003334445361605",
    ['6'] = "4030100105163645443303",
    ['7'] = "004016",
    ['8'] = "1030414233130201101333444536160504 0413",
    ['9'] = "4313020110304145361606",
    ['+'] = "2125 0343",
    ['-'] = "0343",
    ['.'] = "2626",
    ['/'] = "0640",
    ['_'] = "0646",
};

void print_text(Plane *plane, const char *text, float x, float y, float height, float turn, float width) {
    float unit = height / 6, c = cosf(turn), s = sinf(turn);
    for (size_t i = 0; text[i]; i++) {
        const char *p = strokes[(unsigned char)text[i] & 127];
        float pen_x = 0, pen_y = 0;
        bool down = false;
        while (p && p[0]) {
            if (p[0] == ' ' || !p[1]) {
                down = false, p++;
                continue;
            }
            float gx = ((float)(p[0] - '0') + 5.6f * (float)i) * unit, gy = (float)(p[1] - '0') * unit;
            float nx = x + c * gx - s * gy, ny = y + s * gx + c * gy;
            Shape line = shape_line(down ? pen_x : nx, down ? pen_y : ny, nx, ny, width);
            plane_draw(plane, &line, 0);
            pen_x = nx, pen_y = ny, down = true, p += 2;
        }
    }
}

void print_word(Rng *rng, char *word, size_t room) {
    static const char *const names[] = {"R", "C", "D", "Q", "U", "L", "J", "SW", "F", "TP", "X", "LED", "T", "K"};
    static const char *const words[] = {"GND", "5V", "VCC",  "IN",  "OUT",  "BAT", "SIG", "A",    "B",
                                        "TX",  "RX", "LAMP", "MOT", "TEST", "12V", "REV", "V1.2", "NC",
                                        "L",   "N",  "+",    "-",   "2026", "TOP", "SDA", "CLK"};
    if (rng_chance(rng, 0.7f))
        snprintf(word, room, "%s%d", names[rng_below(rng, 14)], rng_from(rng, 1, rng_chance(rng, 0.3f) ? 120 : 12));
    else
        snprintf(word, room, "%s", words[rng_below(rng, 26)]);
}

static void frame(Board *board, const Part *part, float grow, float width) {
    float c = cosf(part->turn), s = sinf(part->turn), w = part->w / 2 + grow, h = part->h / 2 + grow;
    const float corner[5][2] = {{-w, -h}, {w, -h}, {w, h}, {-w, h}, {-w, -h}};
    for (int i = 0; i < 4; i++) {
        Shape line =
            shape_line(part->x + c * corner[i][0] - s * corner[i][1], part->y + s * corner[i][0] + c * corner[i][1],
                       part->x + c * corner[i + 1][0] - s * corner[i + 1][1],
                       part->y + s * corner[i + 1][0] + c * corner[i + 1][1], width);
        plane_draw(&board->silk, &line, 0);
    }
}

/* Two or three bars, or a cross, between the pads of a small part. */
static void print_sign(Board *board, Rng *rng, const Part *part) {
    float c = cosf(part->turn), s = sinf(part->turn), half = rng_between(rng, 0.2f, 0.6f);
    float width = rng_between(rng, 0.12f, 0.3f), apart = width + rng_between(rng, 0.1f, 0.3f);
    int bars = rng_from(rng, 1, 3);
    for (int i = 0; i < bars; i++) {
        float along = apart * ((float)i - 0.5f * (float)(bars - 1));
        Shape bar = shape_line(part->x + c * along - s * half, part->y + s * along + c * half,
                               part->x + c * along + s * half, part->y + s * along - c * half, width);
        plane_draw(&board->silk, &bar, 0);
    }
    if (bars > 1 && rng_chance(rng, 0.7f)) return;
    Shape bar = shape_line(part->x - c * half, part->y - s * half, part->x + c * half, part->y + s * half, width);
    plane_draw(&board->silk, &bar, 0);
}

static void print_part(Board *board, Rng *rng, const Part *part) {
    char word[16];
    float width = board->style.silk_width, height = rng_between(rng, 0.8f, 1.9f);
    if (part->sort == PART_CHIP && rng_chance(rng, 0.5f)) print_sign(board, rng, part);
    if (rng_chance(rng, 0.65f) && part->w > 0) {
        if (part->sort == PART_CAN) {
            Shape ring = {SHAPE_RING, part->x, part->y, part->w / 2, 6.2831f, width / 2, 0};
            plane_draw(&board->silk, &ring, 0);
        } else {
            frame(board, part, rng_between(rng, -0.1f, 0.4f), width);
        }
    }
    if (rng_chance(rng, 0.3f)) {
        Shape dot =
            shape_disc(part->x - part->reach_w * 0.4f, part->y - part->reach_h * 0.4f, rng_between(rng, 0.3f, 1.2f));
        plane_draw(&board->silk, &dot, 0);
    }
    if (!rng_chance(rng, 0.8f)) return;
    print_word(rng, word, sizeof word);
    float turn = rng_chance(rng, 0.7f) ? 0 : 1.5707963f * (float)rng_below(rng, 4);
    float x = part->x + rng_between(rng, -part->reach_w, part->reach_w) * 0.6f,
          y = part->y + rng_between(rng, -part->reach_h, part->reach_h) * 0.6f;
    print_text(&board->silk, word, x, y, height, turn, fminf(width, height / 6));
}

static void print_loose(Board *board, Rng *rng) {
    char word[16];
    float x = rng_between(rng, 0, board->width), y = rng_between(rng, 0, board->height), t = rng_unit(rng);
    if (t < 0.5f) {
        print_word(rng, word, sizeof word);
        float height = rng_log(rng, 0.8f, 3.5f);
        print_text(&board->silk, word, x, y, height, 1.5707963f * (float)rng_below(rng, 4),
                   height * rng_between(rng, 0.1f, 0.2f));
    } else if (t < 0.7f) {
        Shape line =
            shape_line(x, y, rng_between(rng, 0, board->width),
                       rng_chance(rng, 0.7f) ? y : rng_between(rng, 0, board->height), rng_between(rng, 0.1f, 0.6f));
        plane_draw(&board->silk, &line, 0);
    } else if (t < 0.85f) {
        Shape dot = shape_disc(x, y, rng_between(rng, 0.3f, 2.2f));
        plane_draw(&board->silk, &dot, 0);
    } else {
        Shape box = shape_box(x, y, rng_between(rng, 0.5f, 8), rng_between(rng, 0.3f, 3), 0, 0);
        plane_draw(&board->silk, &box, 0);
    }
}

/* A closed outline with cut corners round a place: half its sides and how much of each corner is cut, mm. */
static void print_ring(Board *board, float x, float y, float w, float h, float cut, float width) {
    const float corner[9][2] = {{-w + cut, -h}, {w - cut, -h}, {w, -h + cut},  {w, h - cut},  {w - cut, h},
                                {-w + cut, h},  {-w, h - cut}, {-w, -h + cut}, {-w + cut, -h}};
    for (int i = 0; i < 8; i++) {
        Shape line = shape_line(x + corner[i][0], y + corner[i][1], x + corner[i + 1][0], y + corner[i + 1][1], width);
        plane_draw(&board->silk, &line, 0);
    }
}

void layout_print_rings(Board *board, Rng *rng) {
    float share = rng_log(rng, 0.05f, 1), width = rng_log(rng, 0.1f, 0.3f), away = rng_log(rng, 0.08f, 0.5f);
    float cut = rng_chance(rng, 0.5f) ? 0 : rng_between(rng, 0.2f, 0.59f);
    bool drilled = rng_chance(rng, 0.6f); /* round pads with holes only */
    for (int i = 0; i < board->pad_count; i++) {
        const Pad *pad = &board->pads[i];
        if ((drilled && pad->hole <= 0) || pad->via || !rng_chance(rng, share)) continue;
        float w = fabsf(pad->w * cosf(pad->turn)) + fabsf(pad->h * sinf(pad->turn)),
              h = fabsf(pad->w * sinf(pad->turn)) + fabsf(pad->h * cosf(pad->turn));
        print_ring(board, pad->x, pad->y, w / 2 + away, h / 2 + away, cut * fminf(w, h), width);
    }
}

void layout_clip_print(Board *board) {
    long count = (long)board->w * board->h;
    for (long i = 0; i < count; i++) {
        int room = 255 - board->open.at[i];
        if (board->silk.at[i] > room) board->silk.at[i] = (unsigned char)room;
    }
}

void layout_print(Board *board, Rng *rng) {
    if (rng_chance(rng, 0.2f)) return;
    float share = rng_unit(rng);
    for (int i = 0; i < board->part_count; i++)
        if (rng_chance(rng, share)) print_part(board, rng, &board->parts[i]);
    int loose = rng_from(rng, 1, 14);
    for (int i = 0; i < loose; i++) print_loose(board, rng);
    if (rng_chance(rng, 0.85f)) layout_clip_print(board);
}
