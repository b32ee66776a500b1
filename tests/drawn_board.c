#include "tests/drawn_board.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

typedef struct Colour {
    double rgb[3];
} Colour;

static const Colour DESK = {{196, 190, 182}}, METAL = {{206, 202, 196}}, HOLE = {{22, 20, 20}};
static const DrawnColours GREEN = {{26, 84, 50}, {58, 138, 84}};

static double to_track(const DrawnTrack *track, PlacePoint p) {
    double dx = track->to.x - track->from.x, dy = track->to.y - track->from.y, square = dx * dx + dy * dy;
    double t = square > 0 ? ((p.x - track->from.x) * dx + (p.y - track->from.y) * dy) / square : 0;
    t = fmin(fmax(t, 0), 1);
    return hypot(p.x - track->from.x - t * dx, p.y - track->from.y - t * dy) - track->width / 2;
}

/* Paints over `below` where `away` (mm outside the shape) says, softly over a pixel. */
static Colour paint(Colour below, Colour over, double away) {
    double share = fmin(fmax(0.5 - away * DRAWN_SCALE, 0), 1);
    for (int i = 0; i < 3; i++) below.rgb[i] += share * (over.rgb[i] - below.rgb[i]);
    return below;
}

static Colour colour_at(const DrawnBoard *board, int side, PlacePoint p) {
    double outside = fmax(fmax(-p.x, p.x - board->width), fmax(-p.y, p.y - board->height));
    const DrawnColours *colours = board->colours != NULL ? board->colours : &GREEN;
    Colour colour, covered;
    memcpy(colour.rgb, colours->bare, sizeof colour.rgb);
    memcpy(covered.rgb, colours->copper, sizeof covered.rgb);
    for (int i = 0; i < board->track_count; i++)
        if (board->tracks[i].sides & side) colour = paint(colour, covered, to_track(&board->tracks[i], p));
    for (int i = 0; i < board->pad_count; i++) {
        const DrawnPad *pad = &board->pads[i];
        double far = hypot(p.x - pad->at.x, p.y - pad->at.y);
        double square = fmax(fabs(p.x - pad->at.x), fabs(p.y - pad->at.y));
        if (pad->sides & side)
            colour = paint(colour, pad->tented & side ? covered : METAL, (pad->hole > 0 ? far : square) - pad->width / 2);
    }
    for (int i = 0; i < board->pad_count; i++) { /* in a chain of them no pad covers the next one's */
        const DrawnPad *pad = &board->pads[i];
        if (pad->hole > 0 && !(pad->tented & side) && !(pad->filled & side))
            colour = paint(colour, HOLE, hypot(p.x - pad->at.x, p.y - pad->at.y) - pad->hole / 2);
    }
    return paint(colour, DESK, -outside);
}

bool drawn_photo(const DrawnBoard *board, int side, bool turned, const char *path, PlacePoint corners[4]) {
    double w = board->width, h = board->height;
    uint32_t width = (uint32_t)((w + 2 * DRAWN_MARGIN) * DRAWN_SCALE),
             height = (uint32_t)((h + 2 * DRAWN_MARGIN) * DRAWN_SCALE);
    unsigned char *rgb = malloc((size_t)width * height * 3);
    if (rgb == NULL) return false;
    uint64_t noise = 88172645463325252u;
    for (uint32_t y = 0; y < height; y++)
        for (uint32_t x = 0; x < width; x++) {
            PlacePoint p = {(x + 0.5) / DRAWN_SCALE - DRAWN_MARGIN, (y + 0.5) / DRAWN_SCALE - DRAWN_MARGIN};
            if (turned) p = (PlacePoint){w - p.x, h - p.y};
            if (side == DRAWN_BOTTOM) p.x = w - p.x;
            Colour colour = colour_at(board, side, p);
            for (int i = 0; i < 3; i++) {
                noise ^= noise << 13, noise ^= noise >> 7, noise ^= noise << 17; /* Marsaglia's xorshift */
                rgb[((size_t)y * width + x) * 3 + (size_t)i] = (unsigned char)(colour.rgb[i] + (double)(noise >> 60) * 0.5);
            }
        }
    bool done = photo_write_png(path, width, height, rgb);
    free(rgb);
    const PlacePoint mm[4] = {{0, 0}, {w, 0}, {w, h}, {0, h}};
    for (int i = 0; i < 4; i++) {
        PlacePoint at = turned ? mm[(i + 2) % 4] : mm[i];
        corners[i] = (PlacePoint){(at.x + DRAWN_MARGIN) * DRAWN_SCALE, (at.y + DRAWN_MARGIN) * DRAWN_SCALE};
    }
    return done;
}
