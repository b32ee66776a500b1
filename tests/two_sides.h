/* The drawn board that tests of two sides share, in a folder of its own; and small questions to it. */
#ifndef UNPICK_TESTS_TWO_SIDES_H
#define UNPICK_TESTS_TWO_SIDES_H

#include "tests/check.h"
#include "tests/drawn_board.h"

#include "copper/board.h"

/* A on the top goes by the bottom, between two vias, to B on the top; VIA_2 is filled with solder on the bottom. VIA_3,
 * from which a track goes to C, is covered by mask on the bottom, over an area that reaches to FAR. MOUNT has no copper. */
static const PlacePoint A = {3, 4}, VIA_1 = {8, 4}, VIA_2 = {8, 11}, B = {16, 11}, VIA_3 = {14, 4}, C = {18.5, 7},
                        FAR = {14, 8}, MOUNT = {20.5, 3};
extern const DrawnBoard DRAWN;

typedef struct Drawn {
    Arena *arena;
    const DrawnBoard *drawing;
    char folder[64];
    char photo[BOARD_SIDES][96];
    PlacePoint corners[BOARD_SIDES][4];
    BoardAsked asked;
    BoardCopper board;
    Diags problems;
} Drawn;

/* Set-up and tear-down of a test, or of a group: *state is a Drawn. */
int draw_both(void **state);
int draw_sides(void **state, const DrawnBoard *board); /* of another board */
int wipe(void **state);

/* Set-up of a test in a group that shares a Drawn: both photos with their corners and no more, and a cache, so that what
 * one test was told of a photo need not be found again for the next. */
int ask_anew(void **state);

const char *in_folder(Drawn *drawn, const char *name);

static inline void trace(Drawn *drawn) {
    assert_true(board_trace(drawn->arena, &drawn->asked, &drawn->board, &drawn->problems));
}

static inline uint32_t top(const Drawn *drawn, PlacePoint mm) { return board_net_at(&drawn->board, BOARD_TOP, mm); }
static inline uint32_t bottom(const Drawn *drawn, PlacePoint mm) { return board_net_at(&drawn->board, BOARD_BOTTOM, mm); }
void draw_bottom_turned(const Drawn *drawn, const char *path); /* a photo of it, by half */

#endif
