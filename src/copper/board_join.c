/* The faces' nets to the board's: united through plated holes, the surest first, unless a word keeps two nets apart; then
 * by words for which a face shows no way. Union and find; nets are numbered in the order of the top's own, then the
 * bottom's. */
#include "copper/board_inside.h"

#include <math.h>

static const double SNAP_MM = 0.4; /* a place given by hand is meant for the copper this near */

typedef struct Apart {
    uint32_t a, b; /* nodes */
    uint32_t line;
} Apart;

typedef struct Joining {
    Arena *arena;
    BoardCopper *board;
    uint32_t *up;                /* of each node: one of the same net, or itself */
    uint32_t first[BOARD_SIDES]; /* the node of a face's net n is first + n */
    LIST(Apart) aparts;
} Joining;

static uint32_t root_of(const Joining *joining, uint32_t node) {
    while (joining->up[node] != node) node = joining->up[node] = joining->up[joining->up[node]];
    return node;
}

/* The apart that forbids two nodes one net; NULL: none. */
static const Apart *kept_apart(const Joining *joining, uint32_t a, uint32_t b) {
    a = root_of(joining, a), b = root_of(joining, b);
    for (uint32_t i = 0; i < joining->aparts.count && a != b; i++) {
        const Apart *apart = &joining->aparts.at[i];
        uint32_t one = root_of(joining, apart->a), two = root_of(joining, apart->b);
        if ((one == a && two == b) || (one == b && two == a)) return apart;
    }
    return NULL;
}

static void unite(Joining *joining, uint32_t a, uint32_t b) {
    a = root_of(joining, a), b = root_of(joining, b);
    if (a < b) joining->up[b] = a;
    if (b < a) joining->up[a] = b;
}

/* The node of the copper nearest to a place of a face; 0: none near. */
static uint32_t node_near(const Joining *joining, BoardSide side, PlacePoint mm) {
    const Copper *copper = &joining->board->face[side].copper;
    PlacePoint at = board_to_face(joining->board, side, mm), step;
    double nearest = SNAP_MM, pixel = 1 / copper->scale;
    uint32_t net = copper_net_at(copper, at);
    if (net != 0) return joining->first[side] + net;
    for (step.y = -SNAP_MM; step.y <= SNAP_MM; step.y += pixel)
        for (step.x = -SNAP_MM; step.x <= SNAP_MM; step.x += pixel) {
            uint32_t here = copper_net_at(copper, (PlacePoint){at.x + step.x, at.y + step.y});
            double far = hypot(step.x, step.y);
            if (here != 0 && far <= nearest) nearest = far, net = here;
        }
    return net == 0 ? 0 : joining->first[side] + net;
}

static void conflict(const Joining *joining, BoardSide side, PlacePoint at, uint32_t line, Text says) {
    list_push(joining->arena, &joining->board->conflicts, ((BoardConflict){at, side, says, line}));
}

static Text line_text(Arena *arena, uint32_t line) {
    return line == 0 ? TEXT("what was said") : text_fmt(arena, "line %u", line);
}

static void take_aparts(Joining *joining, BoardSide side, const BoardFaceAsked *asked) {
    for (size_t i = 0; i < asked->word_count; i++) {
        const CopperWord *word = &asked->words[i];
        if (word->sort != COPPER_APART || word->count < 2) continue;
        uint32_t a = node_near(joining, side, word->at[0]), b = node_near(joining, side, word->at[1]);
        if (a != 0 && b != 0 && a != b) list_push(joining->arena, &joining->aparts, ((Apart){a, b, word->line}));
    }
}

/* ---- holes ---- */

static void join_hole(Joining *joining, const BoardHole *hole, const HoleNets *nets) {
    bool both = joining->board->face[BOARD_TOP].known && joining->board->face[BOARD_BOTTOM].known;
    for (BoardSide side = 0; side < BOARD_SIDES && both && hole->noted; side++)
        if (nets->face[side] == 0 && nets->face[!side] != 0)
            conflict(joining, side, hole->at, hole->line,
                     text_fmt(joining->arena, "a hole said to be plated, the photo of the %s shows no copper round it",
                              side == BOARD_TOP ? "top" : "bottom"));
    if (nets->face[BOARD_TOP] == 0 || nets->face[BOARD_BOTTOM] == 0) return;
    uint32_t a = joining->first[BOARD_TOP] + nets->face[BOARD_TOP],
             b = joining->first[BOARD_BOTTOM] + nets->face[BOARD_BOTTOM];
    const Apart *apart = kept_apart(joining, a, b);
    if (apart == NULL)
        unite(joining, a, b);
    else
        conflict(joining, BOARD_TOP, hole->at, hole->noted ? hole->line : apart->line,
                 text_fmt(joining->arena, "this hole seems to join what %.*s keeps apart, which counts",
                          TEXT_ARG(line_text(joining->arena, apart->line))));
}

static void join_holes(Joining *joining, const HoleNets *nets) {
    const BoardCopper *board = joining->board;
    for (unsigned turn = 0; turn < 3; turn++) /* noted, seen on both faces, filled on one */
        for (uint32_t i = 0; i < board->holes.count; i++) {
            const BoardHole *hole = &board->holes.at[i];
            unsigned own = hole->noted ? 0 : nets[i].filled ? 2 : 1;
            if (hole->plating == BOARD_PLATED && own == turn) join_hole(joining, hole, &nets[i]);
        }
}

/* ---- words that need the other side ---- */

static void join_left_out(Joining *joining, BoardSide side, const BoardFaceAsked *asked, const bool *left_out) {
    for (size_t i = 0; i < asked->word_count && left_out != NULL; i++) {
        const CopperWord *word = &asked->words[i];
        if (!left_out[i]) continue;
        uint32_t a = node_near(joining, side, word->at[0]), b = node_near(joining, side, word->at[1]);
        if (a == 0 || b == 0 || root_of(joining, a) == root_of(joining, b)) continue;
        const char *by = word->meter ? "a meter" : "an eye";
        const Apart *apart = kept_apart(joining, a, b);
        if (apart == NULL) unite(joining, a, b);
        conflict(joining, side, word->at[0], word->line,
                 apart == NULL ? text_fmt(joining->arena, "%s says joined, neither side shows a way for it", by)
                               : text_fmt(joining->arena, "%s says joined, against %.*s, which counts", by,
                                          TEXT_ARG(line_text(joining->arena, apart->line))));
    }
}

/* ---- numbers ---- */

static void number_nets(Joining *joining, uint32_t nodes) {
    BoardCopper *board = joining->board;
    uint32_t *number = arena_many(joining->arena, uint32_t, nodes + 1);
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        BoardFace *face = &board->face[side];
        face->net = arena_many(joining->arena, uint32_t, face->copper.nets.count + 1);
        for (uint32_t i = 1; i <= face->copper.nets.count; i++) {
            uint32_t root = root_of(joining, joining->first[side] + i);
            if (number[root] == 0) {
                list_push(joining->arena, &board->nets, ((BoardNet){0}));
                number[root] = board->nets.count;
            }
            face->net[i] = number[root];
        }
    }
}

void board_join(Arena *arena, const BoardAsked *asked, const bool *left_out[BOARD_SIDES], BoardCopper *board) {
    Joining joining = {.arena = arena, .board = board};
    joining.first[BOARD_BOTTOM] = board->face[BOARD_TOP].copper.nets.count;
    uint32_t nodes = joining.first[BOARD_BOTTOM] + board->face[BOARD_BOTTOM].copper.nets.count;
    joining.up = arena_many(arena, uint32_t, nodes + 1);
    for (uint32_t i = 0; i <= nodes; i++) joining.up[i] = i;
    HoleNets *holes = holes_find(arena, asked, board);
    for (BoardSide side = 0; side < BOARD_SIDES; side++)
        if (board->face[side].known) take_aparts(&joining, side, &asked->face[side]);
    join_holes(&joining, holes);
    for (BoardSide side = 0; side < BOARD_SIDES; side++)
        if (board->face[side].known) join_left_out(&joining, side, &asked->face[side], left_out[side]);
    number_nets(&joining, nodes);
    for (uint32_t i = 0; i < board->holes.count; i++)
        for (BoardSide side = 0; side < BOARD_SIDES; side++) {
            BoardHole *hole = &board->holes.at[i];
            if (!board->face[side].known) continue;
            hole->net[side] = board->face[side].net[holes[i].face[side]];
            if (hole->on_face[side] != UINT32_MAX)
                board->face[side].copper.holes.at[hole->on_face[side]].plated = hole->plating == BOARD_PLATED;
        }
    board_tell(arena, holes, board);
}
