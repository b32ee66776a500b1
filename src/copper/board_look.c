/* Places on a board: from one face's view to the top's millimetres and back, and what copper is there. */
#include "copper/board_inside.h"

#include <math.h>

PlacePoint board_apply(const double h[9], PlacePoint at) {
    double w = h[6] * at.x + h[7] * at.y + h[8];
    return (PlacePoint){(h[0] * at.x + h[1] * at.y + h[2]) / w, (h[3] * at.x + h[4] * at.y + h[5]) / w};
}

PlacePoint board_to_face(const BoardCopper *board, BoardSide side, PlacePoint mm) {
    PlacePoint at = board_apply(board->face[side].from_top, mm);
    if (side == BOARD_BOTTOM) at.x = board->width_mm - at.x;
    return at;
}

PlacePoint board_from_face(const BoardCopper *board, BoardSide side, PlacePoint mm) {
    if (side == BOARD_BOTTOM) mm.x = board->width_mm - mm.x;
    return board_apply(board->face[side].to_top, mm);
}

uint32_t board_net_at(const BoardCopper *board, BoardSide side, PlacePoint mm) {
    const BoardFace *face = &board->face[side];
    return face->known ? face->net[copper_net_at(&face->copper, board_to_face(board, side, mm))] : 0;
}

/* ---- under a pad ---- */

typedef struct Disc {
    BoardUnder under;
    double far[4]; /* of each net's nearest copper, pixels squared */
    double pixels, copper, unseen;
} Disc;

/* Counts a pixel of a net; beyond the first few nets only as copper. */
static void count_net(Disc *disc, uint32_t net, PlacePoint at, double far) {
    BoardUnder *under = &disc->under;
    uint32_t i = 0, most = sizeof under->net / sizeof *under->net;
    while (i < under->count && under->net[i].net != net) i++;
    disc->copper++;
    if (i == most) return;
    if (i == under->count) {
        under->net[under->count++] = (BoardUnderNet){.net = net};
        disc->far[i] = INFINITY;
    }
    under->net[i].share++;
    if (far < disc->far[i]) disc->far[i] = far, under->net[i].nearest = at;
}

static void count_pixel(const BoardFace *face, PlacePoint centre, double x, double y, double square, Disc *disc) {
    double dx = x + 0.5 - centre.x, dy = y + 0.5 - centre.y, far = dx * dx + dy * dy;
    if (far > square) return;
    disc->pixels++;
    if (x < 0 || y < 0 || x >= face->copper.width || y >= face->copper.height) {
        disc->unseen++;
        return;
    }
    size_t at = (size_t)y * face->copper.width + (size_t)x;
    if (face->copper.labels[at] != 0)
        count_net(disc, face->net[face->copper.labels[at]],
                  (PlacePoint){(x + 0.5) / face->copper.scale, (y + 0.5) / face->copper.scale}, far);
    else if (face->unseen[at] >= 128)
        disc->unseen++;
}

static void sort_nets(BoardUnder *under) {
    for (uint32_t i = 1; i < under->count; i++)
        for (uint32_t k = i; k > 0 && under->net[k].share > under->net[k - 1].share; k--) {
            BoardUnderNet kept = under->net[k];
            under->net[k] = under->net[k - 1], under->net[k - 1] = kept;
        }
}

BoardUnder board_under(const BoardCopper *board, BoardSide side, PlacePoint mm, double radius) {
    const BoardFace *face = &board->face[side];
    if (!face->known || !isfinite(mm.x) || !isfinite(mm.y)) return (BoardUnder){.unseen = 1};
    PlacePoint at = board_to_face(board, side, mm);
    Disc disc = {0};
    double scale = face->copper.scale, r = fmax(fmin(radius, BOARD_UNDER_MM) * scale, 0.75); /* at least a pixel */
    PlacePoint centre = {at.x * scale, at.y * scale};
    for (double y = floor(centre.y - r); y <= centre.y + r; y++)
        for (double x = floor(centre.x - r); x <= centre.x + r; x++) count_pixel(face, centre, x, y, r * r, &disc);
    BoardUnder under = disc.under;
    for (uint32_t i = 0; i < under.count; i++) {
        under.net[i].share /= disc.pixels;
        under.net[i].nearest = board_from_face(board, side, under.net[i].nearest);
    }
    under.copper = disc.copper / disc.pixels;
    under.unseen = disc.unseen / disc.pixels;
    sort_nets(&under);
    return under;
}

uint32_t board_hole_at(const BoardCopper *board, PlacePoint mm, double reach) {
    uint32_t nearest = UINT32_MAX;
    for (uint32_t i = 0; i < board->holes.count; i++) {
        const BoardHole *hole = &board->holes.at[i];
        double far = hypot(hole->at.x - mm.x, hole->at.y - mm.y) - hole->diameter / 2;
        if (far <= reach) reach = far, nearest = i;
    }
    return nearest;
}

const Text *board_names(Arena *arena, const BoardCopper *board, BoardSide side, const Text *names) {
    const BoardFace *face = &board->face[side];
    Text *list = arena_many(arena, Text, face->copper.nets.count);
    for (uint32_t i = 0; i < face->copper.nets.count; i++) {
        uint32_t net = face->net[i + 1];
        list[i] = names != NULL && names[net - 1].len > 0 ? names[net - 1] : text_fmt(arena, "N%u", net);
    }
    return list;
}
