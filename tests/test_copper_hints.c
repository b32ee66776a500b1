/* copper: what a person says of one spot tells how copper and laminate look on all of that side. */
#include "tests/two_sides.h"

/* Copper darker than the laminate, under blue mask: on most boards it is the other way, and so the network takes it. Seen
 * from the top, nothing lies where its mirror image does. */
static const DrawnTrack SHADES[] = {{{2, 2}, {6.5, 2}, 1.2, DRAWN_TOP | DRAWN_BOTTOM},
                                    {{2, 5}, {6.5, 5}, 1.2, DRAWN_TOP | DRAWN_BOTTOM},
                                    {{11.5, 2}, {11.5, 6}, 1.6, DRAWN_TOP | DRAWN_BOTTOM}};
static const DrawnColours DARK = {{40, 60, 110}, {30, 45, 85}};
static const DrawnBoard BLUE = {14, 8, SHADES, 3, NULL, 0, &DARK};
static const PlacePoint ON_FIRST = {4, 2}, ON_SECOND = {4, 5}, ON_THIRD = {11.5, 4}, BETWEEN = {4, 3.5}, BESIDE = {9, 4};

static int draw_blue(void **state) { return draw_sides(state, &BLUE); }

/* All three tracks are nets of their own, and the laminate is none. */
static bool as_drawn(const Drawn *drawn, BoardSide side) {
    const BoardCopper *board = &drawn->board;
    uint32_t first = board_net_at(board, side, ON_FIRST), second = board_net_at(board, side, ON_SECOND),
             third = board_net_at(board, side, ON_THIRD);
    bool bare = board_net_at(board, side, BETWEEN) == 0 && board_net_at(board, side, BESIDE) == 0;
    return bare && first != 0 && second != 0 && third != 0 && first != second && second != third && first != third;
}

static bool traced_as_drawn(Drawn *drawn, BoardSide side) {
    trace(drawn);
    bool good = as_drawn(drawn, side);
    board_free(&drawn->board);
    return good;
}

static void a_hint_spreads_to_its_colours_all_over_the_side(void **state) {
    Drawn *drawn = *state;
    const LayerHint hint = {ON_FIRST, true};
    for (BoardSide side = 0; side < BOARD_SIDES; side++) { /* seen alone; the bottom's hint is in the top's millimetres too */
        BoardFaceAsked *face = &drawn->asked.face[side], other = drawn->asked.face[BOARD_SIDES - 1 - side];
        drawn->asked.face[BOARD_SIDES - 1 - side] = (BoardFaceAsked){0};
        assert_false(traced_as_drawn(drawn, side));
        face->hints = &hint, face->hint_count = 1;
        assert_true(traced_as_drawn(drawn, side));
        face->hint_count = 0;
        drawn->asked.face[BOARD_SIDES - 1 - side] = other;
    }
}

static void a_hint_is_for_the_side_it_was_said_of(void **state) {
    Drawn *drawn = *state;
    const LayerHint hint = {ON_THIRD, true};
    drawn->asked.face[BOARD_BOTTOM].hints = &hint, drawn->asked.face[BOARD_BOTTOM].hint_count = 1;
    trace(drawn);
    assert_true(as_drawn(drawn, BOARD_BOTTOM));
    assert_false(as_drawn(drawn, BOARD_TOP));
    board_free(&drawn->board);
}

static void what_is_kept_is_kept_with_its_hints(void **state) {
    Drawn *drawn = *state;
    BoardFaceAsked *face = &drawn->asked.face[BOARD_TOP];
    const LayerHint copper = {ON_FIRST, true}, bare = {BESIDE, false};
    drawn->asked.face[BOARD_BOTTOM] = (BoardFaceAsked){0};
    drawn->asked.cache = in_folder(drawn, "derived");
    const struct {
        const LayerHint *hint;
        bool kept, good;
    } asked[] = {{NULL, false, false}, {&copper, false, true}, {&bare, false, false},
                 {NULL, true, false},  {&copper, true, true},  {&bare, true, false}};
    for (size_t i = 0; i < sizeof asked / sizeof *asked; i++) {
        face->hints = asked[i].hint, face->hint_count = asked[i].hint != NULL;
        trace(drawn);
        assert_int_equal(drawn->board.face[BOARD_TOP].cached, asked[i].kept);
        assert_int_equal(as_drawn(drawn, BOARD_TOP), asked[i].good);
        board_free(&drawn->board);
    }
}

#define blue_test(test) cmocka_unit_test_setup_teardown(test, draw_blue, wipe)

int main(void) {
    const struct CMUnitTest tests[] = {
        blue_test(a_hint_spreads_to_its_colours_all_over_the_side),
        blue_test(a_hint_is_for_the_side_it_was_said_of),
        blue_test(what_is_kept_is_kept_with_its_hints),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
