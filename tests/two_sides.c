#include "tests/two_sides.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

static const DrawnTrack TRACKS[] = {
    {{3, 4}, {8, 4}, 0.5, DRAWN_TOP},    {{8, 4}, {8, 11}, 0.5, DRAWN_BOTTOM},
    {{8, 11}, {16, 11}, 0.5, DRAWN_TOP}, {{14, 4}, {18.5, 7}, 0.5, DRAWN_TOP},
    {{14, 4}, {14, 8}, 3, DRAWN_BOTTOM}, {{3, 13}, {20, 13}, 0.4, DRAWN_TOP | DRAWN_BOTTOM}};
static const DrawnPad PADS[] = {{{3, 4}, 1.4, 0, DRAWN_TOP, 0, 0},
                                {{8, 4}, 1.2, 0.6, 3, 0, 0},
                                {{8, 11}, 1.4, 0.7, 3, 0, DRAWN_BOTTOM},
                                {{16, 11}, 1.4, 0, DRAWN_TOP, 0, 0},
                                {{14, 4}, 1.2, 0.6, DRAWN_TOP, DRAWN_BOTTOM, 0},
                                {{18.5, 7}, 1.4, 0, DRAWN_TOP, 0, 0},
                                {{14, 8}, 1.4, 0, DRAWN_BOTTOM, 0, 0},
                                {{3, 13}, 1.6, 0.9, 3, 0, 0},
                                {{20, 13}, 1.6, 0.9, 3, 0, 0},
                                {{20.5, 3}, 0, 1.6, 0, 0, 0}};
const DrawnBoard DRAWN = {23, 16, TRACKS, sizeof TRACKS / sizeof *TRACKS, PADS, sizeof PADS / sizeof *PADS, NULL};

static void ask(Drawn *drawn) {
    drawn->asked = (BoardAsked){.width_mm = drawn->drawing->width, .height_mm = drawn->drawing->height};
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        BoardFaceAsked *face = &drawn->asked.face[side];
        face->photo = drawn->photo[side];
        face->has_corners = true;
        memcpy(face->corners, drawn->corners[side], sizeof face->corners);
    }
    drawn->problems = diags_new(drawn->arena);
}

int draw_sides(void **state, const DrawnBoard *board) {
    Arena *arena = arena_new();
    Drawn *drawn = arena_one(arena, Drawn);
    *drawn = (Drawn){.arena = arena, .drawing = board, .folder = "/tmp/unpick-board-XXXXXX"};
    if (mkdtemp(drawn->folder) == NULL) return -1;
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        char *path = drawn->photo[side];
        snprintf(path, sizeof drawn->photo[side], "%s/%s.png", drawn->folder, side == BOARD_TOP ? "top" : "bottom");
        if (!drawn_photo(board, side == BOARD_TOP ? DRAWN_TOP : DRAWN_BOTTOM, false, path, drawn->corners[side])) return -1;
    }
    ask(drawn);
    *state = drawn;
    return 0;
}

int draw_both(void **state) { return draw_sides(state, &DRAWN); }

int ask_anew(void **state) {
    Drawn *drawn = *state;
    ask(drawn);
    drawn->asked.cache = in_folder(drawn, "derived");
    return 0;
}

int wipe(void **state) {
    Drawn *drawn = *state;
    char command[96];
    snprintf(command, sizeof command, "rm -r %s", drawn->folder);
    int failed = system(command);
    arena_free(drawn->arena);
    return failed;
}

const char *in_folder(Drawn *drawn, const char *name) {
    return text_fmt(drawn->arena, "%s/%s%c", drawn->folder, name, 0).at;
}

void draw_bottom_turned(const Drawn *drawn, const char *path) {
    PlacePoint corners[4];
    assert_true(drawn_photo(drawn->drawing, DRAWN_BOTTOM, true, path, corners));
}
