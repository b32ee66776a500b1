/* Which copper each pin meets, and the joins that this makes. A pin takes the net that covers most of a small disc at its
 * place; one that meets two nets, none, or a place that can't be seen is asked about.
 *
 * The joins are steps between pins and pieces of copper, and between pieces at each doubtful neck and each hole that joins
 * two sides: so the chain between two pins has its weakest neck in it. A step is trusted as photos are (lore), times the
 * probability of its copper. */
#include "bench/build.h"

static const double TWO_NETS =
    1.0 / 3; /* a second net with this much of the first's share is no mere edge: rule of thumb */
static const double LEAST_SHARE = 0.08; /* of the disc: less is an edge that the disc touches */
static const double UNSEEN_SHARE = 0.5;
static const double PLACE_REACH = 0.4; /* mm: a place that a note gives is meant for the copper this near */

static uint32_t piece_node(const BenchBoard *board, uint32_t piece) {
    return NODE_PIECE | (board->first_piece + piece - 1);
}

/* ---- pads ---- */

static BenchPad meet(const Build *b, const PinSpot *spot, BoardSide side) {
    const BenchBoard *board = &b->bench->photographed.at[spot->board];
    BoardUnder under = board_under(&board->copper, side, spot->at, spot->radius);
    BenchPad pad = {
        .pin = spot->pin, .board = spot->board, .side = side, .at = spot->at, .radius = spot->radius, .note = spot->note};
    bool first = under.count > 0 && under.net[0].share >= LEAST_SHARE;
    bool second = first && under.count > 1 && under.net[1].share >= LEAST_SHARE &&
                  under.net[1].share >= TWO_NETS * under.net[0].share;
    pad.meets = second                        ? BENCH_MEETS_TWO
                : first                       ? BENCH_MEETS_ONE
                : under.unseen > UNSEEN_SHARE ? BENCH_MEETS_UNSEEN
                                              : BENCH_MEETS_NONE;
    if (first) pad.net = under.net[0].net;
    if (second) pad.other = under.net[1].net;
    if (first && !second) pad.piece = board_piece_under(&board->pieces, side, spot->at, spot->radius, pad.net);
    if (pad.meets == BENCH_MEETS_ONE && pad.piece == 0)
        pad.meets = BENCH_MEETS_UNSEEN; /* it lies on the doubtful neck itself */
    return pad;
}

/* A leg through the board may meet copper on either side: what it misses on one does not matter when it meets the other. */
static void land(Build *b, const PinSpot *spot) {
    const BenchBoard *board = &b->bench->photographed.at[spot->board];
    BenchPad pads[BOARD_SIDES];
    uint32_t count = 0, one = 0;
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        if (!spot->on[side]) continue;
        bool through = spot->on[BOARD_TOP] && spot->on[BOARD_BOTTOM];
        if (through && !board->copper.face[side].known) continue;
        pads[count] = meet(b, spot, side);
        one += pads[count++].meets == BENCH_MEETS_ONE;
    }
    for (uint32_t i = 0; i < count; i++)
        if (one == 0 || pads[i].meets == BENCH_MEETS_ONE) list_push(b->arena, &b->bench->pads, pads[i]);
}

/* ---- steps ---- */

static void add_pad_steps(Build *b, double trust) {
    Bench *bench = b->bench;
    for (uint32_t i = 0; i < bench->pads.count; i++) {
        const BenchPad *pad = &bench->pads.at[i];
        if (pad->meets != BENCH_MEETS_ONE) continue;
        const BenchBoard *board = &bench->photographed.at[pad->board];
        list_push(b->arena, &bench->steps,
                  ((BenchStep){.board = pad->board,
                               .side = pad->side,
                               .at = pad->at,
                               .a = pad->pin,
                               .b = piece_node(board, pad->piece),
                               .doubt = BENCH_NONE,
                               .pad = i,
                               .trust = trust,
                               .photo = board->photo[pad->side]}));
    }
}

static PlacePoint place_of(const BenchBoard *board, const BoardSeam *seam) {
    if (seam->doubt != UINT32_MAX) return board->copper.doubts.at[seam->doubt].at;
    return seam->hole != UINT32_MAX ? board->copper.holes.at[seam->hole].at : board_piece_place(&board->pieces, seam->b);
}

static void add_seam_steps(Build *b, uint32_t number, double trust) {
    Bench *bench = b->bench;
    const BenchBoard *board = &bench->photographed.at[number];
    for (uint32_t i = 0; i < board->pieces.seams.count; i++) {
        const BoardSeam *seam = &board->pieces.seams.at[i];
        const BoardDoubt *doubt = seam->doubt == UINT32_MAX ? NULL : &board->copper.doubts.at[seam->doubt];
        BoardSide side = doubt != NULL ? doubt->side : board->photo[BOARD_BOTTOM] != NULL ? BOARD_BOTTOM : BOARD_TOP;
        list_push(b->arena, &bench->steps,
                  ((BenchStep){.board = number,
                               .side = side,
                               .a = piece_node(board, seam->a),
                               .b = piece_node(board, seam->b),
                               .at = place_of(board, seam),
                               .hole = seam->hole != UINT32_MAX,
                               .doubt = seam->doubt,
                               .pad = BENCH_NONE,
                               .trust = trust * seam->p,
                               .photo = board->photo[side]}));
    }
}

Text bench_step_says(Arena *arena, const Bench *bench, uint32_t step) {
    const BenchStep *at = &bench->steps.at[step];
    const BenchBoard *board = &bench->photographed.at[at->board];
    Text side = bench_side_name(arena, board, at->side);
    if (at->pad != BENCH_NONE)
        return text_fmt(arena, "%.*s on its pad at %.1f,%.1f mm on %.*s",
                        TEXT_ARG(bench_pin_name(arena, bench, bench->pads.at[at->pad].pin)), at->at.x, at->at.y,
                        TEXT_ARG(side));
    if (at->doubt == BENCH_NONE && !at->hole)
        return text_fmt(arena, "copper that a note joins at %.1f,%.1f mm on %.*s", at->at.x, at->at.y, TEXT_ARG(side));
    if (at->doubt == BENCH_NONE)
        return text_fmt(arena, "the hole at %.1f,%.1f mm of board %.*s", at->at.x, at->at.y, TEXT_ARG(board->name));
    const BoardDoubt *doubt = &board->copper.doubts.at[at->doubt];
    return text_fmt(arena, "%.*s at %.1f,%.1f mm on %.*s, joined with %.0f %%", TEXT_ARG(doubt->looks), at->at.x, at->at.y,
                    TEXT_ARG(side), 100 * doubt->p_joined);
}

/* ---- places in notes ---- */

/* The nodes of a statement's places: pieces of copper. */
static void find_places(Build *b, const Statements *statements) {
    for (uint32_t i = 0; i < statements->count; i++) {
        const Statement *s = &statements->at[i];
        const Note *note = &b->bench->notebook->notes.at[s->note];
        uint32_t board = note->net.place_count == 0 ? (uint32_t)BENCH_NONE : bench_board_of(b->bench, note);
        BoardSide side;
        if (board == BENCH_NONE || !build_side_of(b, board, note, &side)) continue;
        const BenchBoard *at = &b->bench->photographed.at[board];
        for (uint32_t k = 0; k < note->net.place_count; k++) {
            PlacePoint place = {note->net.places[k].x, note->net.places[k].y};
            BoardUnder under = board_under(&at->copper, side, place, PLACE_REACH);
            uint32_t piece =
                under.count == 0 ? 0 : board_piece_under(&at->pieces, side, place, PLACE_REACH, under.net[0].net);
            if (piece != 0) b->nodes.at[s->first + s->count - note->net.place_count + k] = piece_node(at, piece);
        }
    }
}

void build_landings(Build *b) {
    double trust = bench_source_trust(b->bench->kinds, NOTE_BY_PHOTO);
    for (uint32_t i = 0; i < b->spots.count; i++) {
        const BenchBoard *board = &b->bench->photographed.at[b->spots.at[i].board];
        if (board->copper.face[BOARD_TOP].known || board->copper.face[BOARD_BOTTOM].known) land(b, &b->spots.at[i]);
    }
    build_mates(b);
    add_pad_steps(b, trust);
    for (uint32_t i = 0; i < b->bench->photographed.count; i++) add_seam_steps(b, i, trust);
    find_places(b, &b->joins);
    find_places(b, &b->aparts);
}
