/* copper: from layers to nets, their measures, their doubts, and what words do to them. */
#include "tests/check.h"
#include "tests/copper_draw.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

typedef struct Board {
    Arena *arena;
    Layers layers;
    Copper copper;
} Board;

static Board *board_new(double scale, double width, double height) {
    Arena *arena = arena_new();
    Board *board = arena_one(arena, Board);
    board->arena = arena;
    board->layers = draw_layers(arena, scale, width, height);
    return board;
}

static void trace(Board *board, const CopperWord *words, size_t count) {
    copper_free(&board->copper);
    assert_true(copper_trace(board->arena, &board->layers, words, count, &board->copper));
}

static void board_free(Board *board) {
    copper_free(&board->copper);
    arena_free(board->arena);
}

static uint32_t net_at(const Board *board, double x, double y) { return copper_net_at(&board->copper, (PlacePoint){x, y}); }

static void assert_within(double is, double should, double most) {
    if (!(fabs(is - should) <= most)) fail_msg("%g is not within %g of %g", is, most, should);
}

/* The doubt nearest to a place, or NULL when none is within 0.3 mm. */
static const CopperDoubt *doubt_at(const Board *board, double x, double y) {
    const CopperDoubt *best = NULL;
    double least = 0.3;
    for (uint32_t i = 0; i < board->copper.doubts.count; i++) {
        const CopperDoubt *doubt = &board->copper.doubts.at[i];
        double far = hypot(doubt->at.x - x, doubt->at.y - y);
        if (far < least) least = far, best = doubt;
    }
    return best;
}

/* ---- nets ---- */

static void what_touches_is_one_net(void **state) {
    (void)state;
    Board *board = board_new(20, 10, 10);
    draw_track(&board->layers, 1, 2, 9, 2, 0.3);
    draw_track(&board->layers, 5, 2, 5, 8, 0.3);
    draw_track(&board->layers, 1, 5, 4.55, 5, 0.3); /* ends 0.15 mm before the upright one */
    trace(board, NULL, 0);
    assert_int_equal(board->copper.nets.count, 2);
    assert_int_equal(net_at(board, 1, 2), 1);
    assert_int_equal(net_at(board, 5, 8), 1);
    assert_int_equal(net_at(board, 2, 5), 2);
    assert_int_equal(net_at(board, 8, 8), 0);
    assert_int_equal(net_at(board, -1, 50), 0);
    board_free(board);
}

static void dirt_is_no_net(void **state) {
    (void)state;
    Board *board = board_new(20, 5, 5);
    draw_track(&board->layers, 1, 1, 4, 1, 0.3);
    draw_track(&board->layers, 2, 3, 2, 3, 0.1);
    trace(board, NULL, 0);
    assert_int_equal(board->copper.nets.count, 1);
    assert_int_equal(net_at(board, 2, 3), 0);
    board_free(board);
}

/* Issue 3: outlines within 0.05 mm, from the coarsest scale to the finest. */
static void outlines_are_true_to_a_twentieth_of_a_millimetre(void **state) {
    (void)state;
    for (double scale = 12; scale <= 25; scale += 6.5) {
        Board *board = board_new(scale, 8, 8);
        draw_track(&board->layers, 4.03, 4.07, 4.03, 4.07, 5);
        draw_line(&board->layers, LAYER_COPPER, 4.03, 4.07, 4.03, 4.07, 3, 0, false); /* a ring 1 mm wide */
        trace(board, NULL, 0);
        assert_int_equal(board->copper.nets.count, 1);
        const CopperNet *net = board->copper.nets.at;
        assert_int_equal(net->ring_count, 2);
        assert_within(net->area, 3.14159265 * (2.5 * 2.5 - 1.5 * 1.5), 0.05);
        for (uint32_t r = 0; r < 2; r++) {
            double should = net->rings[r].hole ? 1.5 : 2.5, turn = 0;
            for (uint32_t i = 0; i < net->rings[r].count; i++) {
                PlacePoint p = net->rings[r].at[i], q = net->rings[r].at[(i + 1) % net->rings[r].count];
                assert_within(hypot(p.x - 4.03, p.y - 4.07), should, 0.05);
                assert_within(hypot((p.x + q.x) / 2 - 4.03, (p.y + q.y) / 2 - 4.07), should, 0.05);
                turn += p.x * q.y - q.x * p.y;
            }
            assert_true((turn < 0) == !net->rings[r].hole); /* copper anticlockwise on screen, y being down */
        }
        assert_within(net->low.x, 1.53, 0.05);
        assert_within(net->high.y, 6.57, 0.05);
        board_free(board);
    }
}

static void a_slanted_outline_is_straight(void **state) {
    (void)state;
    Board *board = board_new(15, 10, 8);
    draw_track(&board->layers, 1, 1, 9, 5, 0.6);
    trace(board, NULL, 0);
    assert_int_equal(board->copper.nets.count, 1);
    const CopperRing *ring = board->copper.nets.at[0].rings;
    for (uint32_t i = 0; i < ring->count; i++)
        assert_within(draw_off_line(ring->at[i].x, ring->at[i].y, (PlacePoint){1, 1}, (PlacePoint){9, 5}), 0.3, 0.05);
    assert_true(ring->count < 60);
    board_free(board);
}

/* ---- measures ---- */

static void the_narrowest_neck_between_two_pads(void **state) {
    (void)state;
    for (unsigned slant = 0; slant <= 2; slant++) {
        Board *board = board_new(20, 12, 12);
        double y1 = 6 + 2.0 * slant;
        draw_pad(&board->layers, 2, 6, 1.6, 0.8);
        draw_pad(&board->layers, 10, y1, 1.6, 0.8);
        draw_track(&board->layers, 2, 6, 5, 6 + 0.75 * slant, 0.5);
        draw_track(&board->layers, 5, 6 + 0.75 * slant, 7, 6 + 1.25 * slant, 0.2);
        draw_track(&board->layers, 7, 6 + 1.25 * slant, 10, y1, 0.5);
        draw_track(&board->layers, 2, 6, 2, 10, 0.15); /* narrower, but it leads to no pad */
        trace(board, NULL, 0);
        const CopperNet *net = board->copper.nets.at;
        assert_int_equal(board->copper.nets.count, 1);
        assert_int_equal(board->copper.pads.count, 2);
        assert_within(net->neck, 0.2, 0.03);
        assert_true(net->neck_at.x > 5 && net->neck_at.x < 7);
        assert_true(net->width_median > 0.1 && net->width_median < 0.55);
        board_free(board);
    }
}

static void the_width_of_a_track_is_told(void **state) {
    (void)state;
    Board *board = board_new(15, 10, 10);
    draw_track(&board->layers, 1, 2, 9, 2, 0.4);
    draw_track(&board->layers, 1, 4, 9, 8, 0.8);
    trace(board, NULL, 0);
    assert_within(board->copper.nets.at[0].width_median, 0.4, 0.03);
    assert_within(board->copper.nets.at[1].width_median, 0.8, 0.05);
    assert_near(board->copper.nets.at[0].neck, 0); /* it has no two pads */
    board_free(board);
}

static void the_smallest_gap_between_two_nets(void **state) {
    (void)state;
    Board *board = board_new(20, 10, 10);
    draw_track(&board->layers, 1, 2, 9, 2, 0.5);
    draw_track(&board->layers, 1, 4, 6, 2.8, 0.5); /* its round end comes nearest: 0.3 mm */
    draw_track(&board->layers, 1, 8, 9, 8, 0.5);
    trace(board, NULL, 0);
    assert_int_equal(board->copper.nets.count, 3);
    assert_within(board->copper.gap_least, 0.3, 0.03);
    assert_within(board->copper.gap_at.x, 6, 0.3);
    assert_within(board->copper.gap_at.y, 2.4, 0.15);
    board_free(board);
}

static void the_gap_between_sets_of_nets(void **state) {
    (void)state;
    Board *board = board_new(20, 30, 20);
    draw_track(&board->layers, 1, 2, 25, 2, 0.5);
    draw_track(&board->layers, 1, 3.5, 25, 3.5, 0.5); /* 1 mm below */
    draw_track(&board->layers, 20, 10, 20, 18, 1);    /* its round end is 6 mm - 0.25 mm off the second: 5.75 mm */
    draw_track(&board->layers, 2, 12, 8, 12, 3);      /* 7 mm - 0.25 mm off the second, 10 mm off the third */
    trace(board, NULL, 0);
    assert_int_equal(board->copper.nets.count, 4);
    uint32_t first = net_at(board, 5, 2), second = net_at(board, 5, 3.5), third = net_at(board, 20, 15),
             fourth = net_at(board, 5, 12);
    unsigned char side[5] = {0};
    PlacePoint at;
    side[first] = 1, side[second] = 2;
    assert_within(copper_gap_between(&board->copper, side, &at), 1, 0.05);
    assert_within(at.y, 2.75, 0.05);
    side[first] = 0, side[third] = 1, side[fourth] = 1;
    assert_within(copper_gap_between(&board->copper, side, &at), 5.75, 0.05);
    assert_within(at.x, 20, 0.2);
    side[second] = 0, side[fourth] = 2;
    assert_within(copper_gap_between(&board->copper, side, &at), 10, 0.05);
    side[fourth] = 0;
    assert_true(isinf(copper_gap_between(&board->copper, side, &at)));
    board_free(board);
}

static void pads_and_holes_are_found(void **state) {
    (void)state;
    Board *board = board_new(20, 10, 6);
    draw_pad(&board->layers, 2, 3, 1.6, 0.8);
    draw_pad(&board->layers, 6, 3, 2, 0);
    draw_line(&board->layers, LAYER_HOLE, 9, 3, 9, 3, 1.2, 1, true);
    trace(board, NULL, 0);
    assert_int_equal(board->copper.pads.count, 2);
    assert_int_equal(board->copper.holes.count, 2);
    const CopperPad *pads = board->copper.pads.at, *pad = &pads[pads[0].hole == UINT32_MAX];
    assert_within(pad->at.x, 2, 0.05);
    assert_within(pad->width, 1.6, 0.1);
    assert_int_not_equal(pad->hole, UINT32_MAX);
    const CopperHole *hole = &board->copper.holes.at[pad->hole], *bare = &board->copper.holes.at[1 - pad->hole];
    assert_within(hole->diameter, 0.8, 0.05);
    assert_int_equal(hole->net, pad->net);
    assert_int_equal(bare->net, 0);
    assert_int_equal(pads[pad == pads].hole, UINT32_MAX);
    board_free(board);
}

/* IPC-2221 (from memory): at 35 um and 10 K one ampere takes 11.8 mil on the outside and 30.8 mil inside, as the usual
 * calculators that follow the formula print. */
static void ipc2221_currents(void **state) {
    (void)state;
    assert_within(copper_ipc2221_ampere(11.8 * 0.0254, 0.035, 10, true), 1, 0.005);
    assert_within(copper_ipc2221_ampere(30.8 * 0.0254, 0.035, 10, false), 1, 0.005);
    assert_near(copper_ipc2221_ampere(0.0254, 0.0254, 1, true), 0.048); /* 1 square mil, 1 K: k itself */
    assert_near(copper_ipc2221_ampere(0.0254, 0.0254, 1, false), 0.024);
    assert_near(copper_ipc2221_ampere(0, 0.035, 10, true), 0);
}

/* ---- doubts and words ---- */

/* Two pads joined by a track in which `sure` stands over 0.2 mm. */
static Board *two_pads_and_a_place(double sure) {
    Board *board = board_new(20, 12, 6);
    draw_pad(&board->layers, 2, 3, 1.6, 0.8);
    draw_pad(&board->layers, 10, 3, 1.6, 0.8);
    draw_track(&board->layers, 2, 3, 10, 3, 0.4);
    draw_line(&board->layers, LAYER_COPPER, 6, 2.9, 6, 3.1, 0.2, sure, false);
    return board;
}

static void a_faint_break_is_a_doubt(void **state) {
    (void)state;
    Board *board = two_pads_and_a_place(0.3);
    trace(board, NULL, 0);
    assert_int_equal(board->copper.nets.count, 2);
    const CopperDoubt *doubt = doubt_at(board, 6, 3);
    assert_non_null(doubt);
    assert_ptr_equal(doubt, board->copper.doubts.at);
    assert_false(doubt->joined);
    assert_true(doubt->p_joined < 0.5 && doubt->p_joined > 0.005);
    assert_within(doubt->width, 0.2, 0.1);
    assert_true(text_starts(doubt->looks, "a gap of 0."));
    assert_within(fmin(doubt->a.x, doubt->b.x), 2, 0.1); /* the probes go on the pads */
    assert_within(fmax(doubt->a.x, doubt->b.x), 10, 0.1);
    assert_int_not_equal(doubt->net_a, doubt->net_b);
    board_free(board);
}

static void a_faint_neck_is_a_doubt_and_joined(void **state) {
    (void)state;
    Board *board = two_pads_and_a_place(0.65);
    trace(board, NULL, 0);
    assert_int_equal(board->copper.nets.count, 1);
    const CopperDoubt *doubt = doubt_at(board, 6, 3);
    assert_non_null(doubt);
    assert_true(doubt->joined && doubt->p_joined >= 0.5 && doubt->p_joined < 0.995);
    assert_int_equal(doubt->net_a, doubt->net_b);
    board_free(board);
}

/* When there is a second way, the first decides nothing. */
static void a_second_way_takes_the_doubt_away(void **state) {
    (void)state;
    Board *board = two_pads_and_a_place(0.65);
    draw_track(&board->layers, 2, 3, 2, 5, 0.4);
    draw_track(&board->layers, 2, 5, 10, 5, 0.4);
    draw_track(&board->layers, 10, 5, 10, 3, 0.4);
    trace(board, NULL, 0);
    assert_int_equal(board->copper.nets.count, 1);
    assert_null(doubt_at(board, 6, 3));
    board_free(board);
}

/* Three faint necks in a row, each joined by itself, are together too unsure a way from pad to pad; not so when a pad
 * between them lets two of them be measured by themselves. */
static void a_way_is_as_sure_as_all_its_places_together(void **state) {
    (void)state;
    for (int padded = 0; padded < 2; padded++) {
        Board *board = two_pads_and_a_place(0.65);
        draw_line(&board->layers, LAYER_COPPER, 4.5, 2.9, 4.5, 3.1, 0.2, 0.65, false);
        draw_line(&board->layers, LAYER_COPPER, 7.5, 2.9, 7.5, 3.1, 0.2, 0.65, false);
        if (padded) draw_pad(&board->layers, 5.25, 3, 0.8, 0), draw_pad(&board->layers, 6.75, 3, 0.8, 0);
        trace(board, NULL, 0);
        assert_int_equal(board->copper.nets.count, padded ? 1 : 2);
        assert_int_equal(net_at(board, 2, 3) == net_at(board, 10, 3), padded);
        board_free(board);
    }
}

static CopperWord word(CopperWordSort sort, const PlacePoint *at, uint32_t count, bool meter) {
    return (CopperWord){.sort = sort, .at = at, .count = count, .line = 7, .meter = meter};
}

static const PlacePoint ENDS[2] = {{2, 3}, {10, 3}};

static void joined_closes_the_likeliest_gap(void **state) {
    (void)state;
    Board *board = two_pads_and_a_place(0.3);
    CopperWord joined = word(COPPER_JOINED, ENDS, 2, true);
    trace(board, &joined, 1);
    assert_int_equal(board->copper.nets.count, 1);
    assert_null(doubt_at(board, 6, 3));
    assert_int_equal(board->copper.nets.at[0].ring_count, 1); /* drawn closed */
    board_free(board);
}

static void apart_cuts_the_least_likely_neck(void **state) {
    (void)state;
    Board *board = two_pads_and_a_place(0.65);
    CopperWord apart = word(COPPER_APART, ENDS, 2, true);
    trace(board, &apart, 1);
    assert_int_equal(board->copper.nets.count, 2);
    assert_int_not_equal(net_at(board, 5, 3), net_at(board, 7, 3));
    assert_int_equal(net_at(board, 5.5, 3), net_at(board, 2, 3));
    assert_int_equal(net_at(board, 6.5, 3), net_at(board, 10, 3));
    assert_null(doubt_at(board, 6, 3));
    assert_true(board->copper.gap_least > 0 && board->copper.gap_least < 0.15);
    board_free(board);
}

/* Where the photo is sure, the cut goes through the narrowest place, and the conflict says where. */
static void apart_in_sure_copper_cuts_where_it_is_narrowest(void **state) {
    (void)state;
    Board *board = board_new(20, 12, 6);
    draw_track(&board->layers, 2, 3, 10, 3, 2);
    draw_line(&board->layers, LAYER_COPPER, 4.5, 1.5, 4.5, 2.5, 0.6, 0, false); /* notches: 0.7 mm are left at x = 4.5 */
    draw_line(&board->layers, LAYER_COPPER, 4.5, 3.8, 4.5, 5, 0.6, 0, false);
    CopperWord apart = word(COPPER_APART, ENDS, 2, true);
    trace(board, &apart, 1);
    assert_int_equal(board->copper.nets.count, 2);
    assert_int_equal(net_at(board, 4, 3), net_at(board, 2, 3));
    assert_int_equal(net_at(board, 5, 3), net_at(board, 10, 3));
    assert_int_equal(board->copper.conflicts.count, 1);
    assert_within(board->copper.conflicts.at[0].at.x, 4.5, 0.4);
    assert_int_equal(board->copper.conflicts.at[0].line, 7);
    board_free(board);
}

static void a_meter_beats_an_eye(void **state) {
    (void)state;
    Board *board = two_pads_and_a_place(0.65);
    CopperWord words[2] = {word(COPPER_JOINED, ENDS, 2, false), word(COPPER_APART, ENDS, 2, true)};
    words[1].line = 9;
    trace(board, words, 2);
    assert_int_equal(board->copper.nets.count, 2);
    assert_int_equal(board->copper.conflicts.count, 1);
    assert_int_equal(board->copper.conflicts.at[0].line, 7); /* the eye's word lost, against line 9 */
    assert_int_not_equal(text_find(board->copper.conflicts.at[0].says, TEXT("line 9")), SIZE_MAX);
    words[0].meter = true, words[1].meter = false;
    trace(board, words, 2);
    assert_int_equal(board->copper.nets.count, 1);
    assert_int_equal(board->copper.conflicts.count, 1);
    assert_int_equal(board->copper.conflicts.at[0].line, 9);
    board_free(board);
}

static void joined_without_a_way_joins_and_says_so(void **state) {
    (void)state;
    Board *board = board_new(20, 12, 6);
    draw_pad(&board->layers, 2, 3, 1.6, 0.8);
    draw_pad(&board->layers, 10, 3, 1.6, 0.8);
    CopperWord joined = word(COPPER_JOINED, ENDS, 2, true);
    trace(board, &joined, 1);
    assert_int_equal(board->copper.nets.count, 1);
    assert_int_equal(net_at(board, 2, 3), net_at(board, 10, 3));
    assert_int_equal(net_at(board, 6, 3), 0);
    assert_int_equal(board->copper.conflicts.count, 1);
    PlacePoint beside[2] = {{2, 3}, {6, 5}};
    joined = word(COPPER_JOINED, beside, 2, true);
    trace(board, &joined, 1);
    assert_int_equal(board->copper.conflicts.count, 1);
    assert_within(board->copper.conflicts.at[0].at.x, 6, 1e-9); /* no copper there */
    board_free(board);
}

static void a_cut_and_a_bridge(void **state) {
    (void)state;
    Board *board = two_pads_and_a_place(1);
    PlacePoint at = {4, 3.05};
    CopperWord cut = word(COPPER_CUT, &at, 1, false);
    trace(board, &cut, 1);
    assert_int_equal(board->copper.nets.count, 2);
    assert_int_equal(net_at(board, 4, 3), 0);
    assert_int_equal(net_at(board, 4.2, 3), net_at(board, 10, 3));
    PlacePoint over[2] = {{3.5, 3}, {4.5, 3}};
    CopperWord words[2] = {cut, word(COPPER_BRIDGE, over, 2, false)};
    trace(board, words, 2);
    assert_int_equal(board->copper.nets.count, 1);
    assert_int_equal(net_at(board, 4, 3), 1);
    board_free(board);
}

/* A hidden place is neither copper nor bare: what ends there may go on. */
static void what_is_hidden_is_in_doubt(void **state) {
    (void)state;
    Board *board = board_new(20, 12, 6);
    draw_pad(&board->layers, 2, 3, 1.6, 0.8);
    draw_pad(&board->layers, 10, 3, 1.6, 0.8);
    draw_track(&board->layers, 2, 3, 5, 3, 0.4);
    draw_track(&board->layers, 7, 3, 10, 3, 0.4);
    trace(board, NULL, 0);
    assert_int_equal(board->copper.doubts.count, 0);
    PlacePoint part[4] = {{4.8, 2}, {7.2, 2}, {7.2, 4}, {4.8, 4}};
    CopperWord hidden = word(COPPER_HIDDEN, part, 4, false);
    trace(board, &hidden, 1);
    assert_int_equal(board->copper.nets.count, 2);
    assert_int_equal(board->copper.doubts.count, 1);
    assert_true(text_find(board->copper.doubts.at[0].looks, TEXT("shows nothing")) != SIZE_MAX);
    board_free(board);
}

/* ---- hostile layers ---- */

static void any_layers_are_traced(void **state) {
    (void)state;
    static const struct {
        uint32_t width, height;
        unsigned kind; /* 0 bare, 1 copper, 2 noise, 3 checkered */
    } CASES[] = {{1, 1, 1}, {1, 300, 2}, {300, 1, 2}, {2, 2, 3}, {257, 255, 2}, {200, 200, 3}, {64, 64, 1}, {64, 64, 0}};
    for (size_t c = 0; c < sizeof CASES / sizeof *CASES; c++) {
        Board *board = board_new(20, CASES[c].width / 20.0, CASES[c].height / 20.0);
        uint32_t random = 1;
        for (unsigned layer = 0; layer < LAYER_COUNT; layer++)
            for (uint32_t i = 0; i < CASES[c].width * CASES[c].height; i++) {
                random = random * 1664525 + 1013904223;
                unsigned kind = CASES[c].kind, checkered = (i % CASES[c].width + i / CASES[c].width) % 2 * 255;
                board->layers.at[layer][i] = (unsigned char)(kind == 0   ? 0
                                                             : kind == 1 ? 255
                                                             : kind == 2 ? random >> 24
                                                                         : checkered);
            }
        PlacePoint anywhere[4] = {{0.01, 0.02}, {1e300, -5}, {NAN, 0.5}, {0, 1e9}};
        CopperWord words[5];
        for (unsigned i = 0; i < 5; i++)
            words[i] = word((CopperWordSort)i, anywhere, i == COPPER_CUT ? 1 : i == COPPER_HIDDEN ? 3 : 2, i % 2);
        trace(board, words, 5);
        words[0].at = words[1].at = words[2].at = words[3].at = words[4].at = anywhere + 1;
        trace(board, words, 5);
        board_free(board);
    }
    Arena *arena = arena_new();
    Layers none = {.scale = 20};
    Copper copper;
    assert_false(copper_trace(arena, &none, NULL, 0, &copper));
    arena_free(arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_touches_is_one_net),
        cmocka_unit_test(dirt_is_no_net),
        cmocka_unit_test(outlines_are_true_to_a_twentieth_of_a_millimetre),
        cmocka_unit_test(a_slanted_outline_is_straight),
        cmocka_unit_test(the_narrowest_neck_between_two_pads),
        cmocka_unit_test(the_width_of_a_track_is_told),
        cmocka_unit_test(the_smallest_gap_between_two_nets),
        cmocka_unit_test(the_gap_between_sets_of_nets),
        cmocka_unit_test(pads_and_holes_are_found),
        cmocka_unit_test(ipc2221_currents),
        cmocka_unit_test(a_faint_break_is_a_doubt),
        cmocka_unit_test(a_faint_neck_is_a_doubt_and_joined),
        cmocka_unit_test(a_second_way_takes_the_doubt_away),
        cmocka_unit_test(a_way_is_as_sure_as_all_its_places_together),
        cmocka_unit_test(joined_closes_the_likeliest_gap),
        cmocka_unit_test(apart_cuts_the_least_likely_neck),
        cmocka_unit_test(apart_in_sure_copper_cuts_where_it_is_narrowest),
        cmocka_unit_test(a_meter_beats_an_eye),
        cmocka_unit_test(joined_without_a_way_joins_and_says_so),
        cmocka_unit_test(a_cut_and_a_bridge),
        cmocka_unit_test(what_is_hidden_is_in_doubt),
        cmocka_unit_test(any_layers_are_traced),
    };
    return cmocka_run_group_tests_name("copper_trace", tests, NULL, NULL);
}
