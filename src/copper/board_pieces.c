/* Each doubtful neck taken as joined is covered by a disc as wide as the neck; what is left of its net falls into pieces
 * (flood fill, only of nets with such a neck), and the pieces that touch the disc's rim are those it holds together. */
#include "copper/board_pieces.h"

#include <math.h>
#include <string.h>

static const double BEYOND_PIXELS = 1.5; /* of the disc beyond the neck's ends */
enum { PIECES_MOST = UINT16_MAX };

typedef struct Cutting {
    Arena *arena, *scratch;
    const BoardCopper *board;
    BoardPieces *pieces;
    BoardSide side;
    const Copper *copper;
    uint16_t *of;
    uint32_t count; /* local pieces so far */
} Cutting;

/* Does `each` for the pixels of one net within a ring about a place, in pixels. */
static void round_place(const Cutting *cut, double x, double y, double inner, double outer, uint16_t net,
                        void (*each)(void *of, size_t pixel), void *of) {
    for (double v = fmax(floor(y - outer), 0); v <= y + outer && v < cut->copper->height; v++)
        for (double u = fmax(floor(x - outer), 0); u <= x + outer && u < cut->copper->width; u++) {
            double far = hypot(u + 0.5 - x, v + 0.5 - y);
            size_t pixel = (size_t)v * cut->copper->width + (size_t)u;
            if (far >= inner && far <= outer && cut->copper->labels[pixel] == net) each(of, pixel);
        }
}

/* A joined neck of this face: its place in pixels, the radius of its disc, and the face's own net. */
typedef struct Neck {
    double x, y, radius;
    uint16_t net;
} Neck;

static bool neck_of(const Cutting *cut, uint32_t doubt, Neck *neck) {
    const BoardDoubt *at = &cut->board->doubts.at[doubt];
    if (!at->joined || at->hole || at->side != cut->side || !(at->width > 0)) return false;
    PlacePoint place = board_to_face(cut->board, cut->side, at->at);
    neck->net = (uint16_t)copper_net_at(cut->copper, place);
    neck->x = place.x * cut->copper->scale, neck->y = place.y * cut->copper->scale;
    neck->radius = at->width / 2 * cut->copper->scale + BEYOND_PIXELS;
    return neck->net != 0;
}

static void clear_pixel(void *of, size_t pixel) { ((uint16_t *)of)[pixel] = 0; }

/* ---- pieces ---- */

typedef LIST(uint32_t) Pixels;

static void flood(Cutting *cut, uint32_t start, uint16_t net, uint16_t piece, Pixels *waiting) {
    uint32_t width = cut->copper->width, height = cut->copper->height;
    waiting->count = 0;
    list_push(cut->scratch, waiting, start);
    cut->of[start] = piece;
    while (waiting->count > 0) {
        uint32_t at = waiting->at[--waiting->count], x = at % width, y = at / width;
        for (uint32_t v = y == 0 ? 0 : y - 1; v <= y + 1 && v < height; v++)
            for (uint32_t u = x == 0 ? 0 : x - 1; u <= x + 1 && u < width; u++) {
                if (cut->of[(size_t)v * width + u] != net) continue;
                cut->of[(size_t)v * width + u] = piece;
                list_push(cut->scratch, waiting, v * width + u);
            }
    }
}

static uint32_t pixel_of(double mm, double scale, uint32_t most) {
    double pixel = floor(mm * scale);
    return pixel <= 0 ? 0 : pixel >= most ? most : (uint32_t)pixel;
}

/* All that is left of a net, piece by piece. */
static void flood_net(Cutting *cut, uint16_t net) {
    const CopperNet *at = &cut->copper->nets.at[net - 1];
    double scale = cut->copper->scale;
    uint32_t right = pixel_of(at->high.x, scale, cut->copper->width - 1) + 1,
             bottom = pixel_of(at->high.y, scale, cut->copper->height - 1) + 1;
    Pixels waiting = {0};
    for (uint32_t y = pixel_of(at->low.y, scale, cut->copper->height); y < bottom; y++)
        for (uint32_t x = pixel_of(at->low.x, scale, cut->copper->width); x < right; x++) {
            uint32_t pixel = y * cut->copper->width + x;
            if (cut->of[pixel] == net && cut->count < PIECES_MOST) flood(cut, pixel, net, (uint16_t)++cut->count, &waiting);
        }
}

/* ---- seams ---- */

enum { RIM_MOST = 8 };

typedef struct Rim {
    const uint16_t *of;
    uint16_t piece[RIM_MOST];
    uint32_t count;
} Rim;

static void note_piece(void *of, size_t pixel) {
    Rim *rim = of;
    uint16_t piece = rim->of[pixel];
    if (piece == 0 || rim->count == RIM_MOST) return;
    for (uint32_t i = 0; i < rim->count; i++)
        if (rim->piece[i] == piece) return;
    rim->piece[rim->count++] = piece;
}

static void add_seams(Cutting *cut, uint32_t doubt, const Neck *neck) {
    Rim rim = {.of = cut->of};
    uint32_t first = cut->pieces->first[cut->side];
    round_place(cut, neck->x, neck->y, neck->radius, neck->radius + 2, neck->net, note_piece, &rim);
    for (uint32_t i = 1; i < rim.count; i++)
        list_push(cut->arena, &cut->pieces->seams,
                  ((BoardSeam){first + rim.piece[0], first + rim.piece[i], cut->board->doubts.at[doubt].p_joined, doubt,
                               UINT32_MAX}));
}

static void cut_face(Cutting *cut) {
    size_t pixels = (size_t)cut->copper->width * cut->copper->height;
    unsigned char *doubtful = NULL;
    Neck neck;
    for (uint32_t i = 0; i < cut->board->doubts.count; i++) {
        if (!neck_of(cut, i, &neck)) continue;
        if (doubtful == NULL) {
            doubtful = arena_many(cut->scratch, unsigned char, cut->copper->nets.count + 1);
            cut->of = arena_many(cut->arena, uint16_t, pixels);
            memcpy(cut->of, cut->copper->labels, pixels * sizeof *cut->of);
        }
        doubtful[neck.net] = 1;
        round_place(cut, neck.x, neck.y, 0, neck.radius, neck.net, clear_pixel, cut->of);
    }
    if (doubtful == NULL) return;
    cut->pieces->of[cut->side] = cut->of;
    for (uint32_t net = 1; net <= cut->copper->nets.count; net++)
        if (doubtful[net]) flood_net(cut, (uint16_t)net);
    for (uint32_t i = 0; i < cut->board->doubts.count; i++)
        if (neck_of(cut, i, &neck)) add_seams(cut, i, &neck);
}

/* ---- holes ---- */

/* How sure it is that a hole joins its sides: as a doubt about it says, else as it was found. */
static double hole_sure(const BoardCopper *board, const BoardHole *hole, uint32_t *doubt) {
    for (uint32_t i = 0; i < board->doubts.count; i++) {
        const BoardDoubt *at = &board->doubts.at[i];
        if (!at->hole || hypot(at->at.x - hole->at.x, at->at.y - hole->at.y) > hole->diameter / 2) continue;
        *doubt = i;
        return at->p_joined;
    }
    return hole->p_plated;
}

static void add_holes(Arena *arena, const BoardCopper *board, BoardPieces *pieces) {
    for (uint32_t i = 0; i < board->holes.count; i++) {
        const BoardHole *hole = &board->holes.at[i];
        uint32_t piece[BOARD_SIDES], net = hole->net[BOARD_TOP], doubt = UINT32_MAX;
        if (net == 0 || net != hole->net[BOARD_BOTTOM] || hole->plating == BOARD_BARE) continue;
        for (BoardSide side = 0; side < BOARD_SIDES; side++)
            piece[side] = board_piece_under(pieces, side, hole->at, hole->diameter, net);
        double p = hole_sure(board, hole, &doubt);
        if (piece[BOARD_TOP] != 0 && piece[BOARD_BOTTOM] != 0)
            list_push(arena, &pieces->seams, ((BoardSeam){piece[BOARD_TOP], piece[BOARD_BOTTOM], p, doubt, i}));
    }
}

/* One pixel of each piece: the last of its middle row's would do as well; it is only to name it. */
static void find_pixels(Cutting *cut) {
    size_t pixels = (size_t)cut->copper->width * cut->copper->height;
    const uint16_t *of = cut->pieces->of[cut->side];
    uint32_t *pixel = cut->pieces->pixel[cut->side] = arena_many(cut->arena, uint32_t, cut->count + 1);
    for (uint32_t i = 0; i <= cut->count; i++) pixel[i] = UINT32_MAX;
    for (size_t i = 0; i < pixels; i++) pixel[of[i]] = (uint32_t)i;
}

/* ---- words ---- */

static uint32_t group_of(uint32_t *up, uint32_t piece) {
    while (up[piece] != piece) piece = up[piece] = up[up[piece]];
    return piece;
}

/* What of a net no neck and no hole holds together, a word does: a wire, or copper under something. */
static void add_rest(Arena *arena, BoardPieces *pieces) {
    Arena *scratch = arena_new();
    uint32_t *up = arena_many(scratch, uint32_t, pieces->count + 1),
             *first = arena_many(scratch, uint32_t, pieces->board->nets.count + 1);
    for (uint32_t i = 0; i <= pieces->count; i++) up[i] = i;
    for (uint32_t i = 0; i < pieces->seams.count; i++)
        up[group_of(up, pieces->seams.at[i].a)] = group_of(up, pieces->seams.at[i].b);
    for (uint32_t piece = 1; piece <= pieces->count; piece++) {
        uint32_t net = board_piece_net(pieces, piece);
        if (net == 0) continue;
        if (first[net] == 0) first[net] = piece;
        if (group_of(up, first[net]) == group_of(up, piece)) continue;
        up[group_of(up, piece)] = group_of(up, first[net]);
        list_push(arena, &pieces->seams, ((BoardSeam){first[net], piece, 1, UINT32_MAX, UINT32_MAX}));
    }
    arena_free(scratch);
}

BoardPieces board_pieces(Arena *arena, const BoardCopper *board) {
    BoardPieces pieces = {.board = board};
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        if (!board->face[side].known) continue;
        const Copper *copper = &board->face[side].copper;
        Cutting cut = {arena, arena_new(), board, &pieces, side, copper, NULL, copper->nets.count};
        pieces.first[side] = pieces.count;
        pieces.of[side] = copper->labels;
        cut_face(&cut);
        pieces.count += cut.count;
        find_pixels(&cut);
        arena_free(cut.scratch);
    }
    add_holes(arena, board, &pieces);
    add_rest(arena, &pieces);
    return pieces;
}

/* ---- asking ---- */

static BoardSide side_of(const BoardPieces *pieces, uint32_t *piece) {
    bool bottom = pieces->of[BOARD_BOTTOM] != NULL && *piece > pieces->first[BOARD_BOTTOM];
    BoardSide side = bottom ? BOARD_BOTTOM : BOARD_TOP;
    *piece -= pieces->first[side];
    return side;
}

uint32_t board_piece_net(const BoardPieces *pieces, uint32_t piece) {
    const BoardFace *face = &pieces->board->face[side_of(pieces, &piece)];
    const uint32_t *pixel = pieces->pixel[face - pieces->board->face];
    return pixel[piece] == UINT32_MAX ? 0 : face->net[face->copper.labels[pixel[piece]]];
}

PlacePoint board_piece_place(const BoardPieces *pieces, uint32_t piece) {
    BoardSide side = side_of(pieces, &piece);
    const Copper *copper = &pieces->board->face[side].copper;
    uint32_t pixel = pieces->pixel[side][piece];
    if (pixel == UINT32_MAX) return (PlacePoint){0, 0};
    PlacePoint at = {(pixel % copper->width + 0.5) / copper->scale,
                     (pixel / copper->width + 0.5) / copper->scale}; /* the face's */
    return board_from_face(pieces->board, side, at);
}

uint32_t board_piece_under(const BoardPieces *pieces, BoardSide side, PlacePoint mm, double radius, uint32_t net) {
    enum { TALLIED = 16 };
    const BoardFace *face = &pieces->board->face[side];
    if (!face->known || !isfinite(mm.x) || !isfinite(mm.y)) return 0;
    const Copper *copper = &face->copper;
    PlacePoint place = board_to_face(pieces->board, side, mm);
    double x = place.x * copper->scale, y = place.y * copper->scale,
           r = fmax(fmin(radius, BOARD_UNDER_MM) * copper->scale, 0.75); /* at least a pixel */
    uint32_t tally[TALLIED] = {0}, count = 0, best = 0;
    uint16_t piece[TALLIED];
    for (double v = fmax(floor(y - r), 0); v <= y + r && v < copper->height; v++)
        for (double u = fmax(floor(x - r), 0); u <= x + r && u < copper->width; u++) {
            size_t at = (size_t)v * copper->width + (size_t)u;
            uint16_t own = pieces->of[side][at];
            if (own == 0 || hypot(u + 0.5 - x, v + 0.5 - y) > r || face->net[copper->labels[at]] != net) continue;
            uint32_t i = 0;
            while (i < count && piece[i] != own) i++;
            if (i == TALLIED) continue;
            if (i == count) piece[count++] = own;
            if (++tally[i] > tally[best]) best = i;
        }
    return count == 0 ? 0 : pieces->first[side] + piece[best];
}
