/* copper: one board from the photos of its sides. */
#include "tests/board_samples.h"
#include "tests/schema.h"
#include "tests/two_sides.h"

#include "copper/export_board.h"

#include <jansson.h>
#include <png.h>
#include <stdio.h>
#include <stdlib.h>

static const char BOARDS[] = "../shared/boards";

/* ---- sample pairs ---- */

typedef struct Pair {
    const BoardSample *top, *bottom;
    BoardAsked asked;
    BoardCopper board;
    BoardPlace camera[BOARD_SIDES], ours[BOARD_SIDES];
} Pair;

static const BoardSample *sample_named(const BoardSample *samples, int count, const char *name) {
    for (int i = 0; i < count; i++)
        if (strcmp(samples[i].name, name) == 0) return &samples[i];
    return NULL;
}

static json_t *truth_of(const BoardSample *sample, const char *key) {
    char path[300];
    snprintf(path, sizeof path, "%s/%s/truth.json", BOARDS, sample->name);
    json_t *truth = json_load_file(path, 0, NULL), *part = json_incref(json_object_get(truth, key));
    json_decref(truth);
    return part;
}

static PlacePoint hole_at(const json_t *hole) {
    return (PlacePoint){json_number_value(json_object_get(hole, "x_mm")), json_number_value(json_object_get(hole, "y_mm"))};
}

/* What the camera and our corners make of each side's millimetres. */
static void find_places(Pair *pair) {
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        const BoardSample *sample = side == BOARD_TOP ? pair->top : pair->bottom;
        BoardPlace *camera = &pair->camera[side], *ours = &pair->ours[side];
        Arena *arena = arena_new();
        Diags problems = diags_new(arena);
        Photo photo;
        assert_true(photo_read(sample->photo, &photo, &problems));
        uint32_t w = photo.width, h = photo.height;
        assert_true(place_from_corners(sample->corners, sample->width_mm, sample->height_mm, w, h, camera));
        assert_true(place_bend(sample->corners, sample->k1, camera));
        assert_true(place_from_corners(pair->board.face[side].corners, sample->width_mm, sample->height_mm, w, h, ours));
        place_refine(&photo, ours);
        photo_free(&photo);
        arena_free(arena);
    }
}

/* Where our board has a place whose true millimetres are known: by the camera to the photo, and back by our corners. */
static PlacePoint as_we_see(const Pair *pair, BoardSide side, PlacePoint mm) {
    PlacePoint pixel = place_to_photo(&pair->camera[side], mm);
    return board_from_face(&pair->board, side, place_to_board(&pair->ours[side], pixel));
}

/* Distances between the places of one hole by both photos, mm. */
static void measure_pair(const Pair *pair, double *mean, double *most) {
    json_t *tops = truth_of(pair->top, "holes"), *bottoms = truth_of(pair->bottom, "holes"), *hole;
    size_t i, count = 0;
    *mean = *most = 0;
    json_array_foreach(tops, i, hole) {
        json_int_t id = json_integer_value(json_object_get(hole, "id"));
        for (size_t k = 0; k < json_array_size(bottoms); k++) {
            const json_t *other = json_array_get(bottoms, k);
            if (json_integer_value(json_object_get(other, "id")) != id) continue;
            PlacePoint a = as_we_see(pair, BOARD_TOP, hole_at(hole)), b = as_we_see(pair, BOARD_BOTTOM, hole_at(other));
            double apart = hypot(a.x - b.x, a.y - b.y);
            *mean += apart, *most = fmax(*most, apart), count++;
        }
    }
    assert_true(count >= BOARD_FIT_HOLES);
    *mean /= (double)count;
    json_decref(tops);
    json_decref(bottoms);
}

static bool trace_pair(Arena *arena, const char *name, bool corners, Pair *pair) {
    static BoardSample samples[BOARD_SAMPLES_MOST];
    char top[64], bottom[64];
    int count = board_samples(BOARDS, samples);
    snprintf(top, sizeof top, "%s-top-green", name);
    snprintf(bottom, sizeof bottom, "%s-bottom-green", name);
    *pair = (Pair){.top = sample_named(samples, count, top), .bottom = sample_named(samples, count, bottom)};
    if (pair->top == NULL || pair->bottom == NULL) return false;
    pair->asked = (BoardAsked){.width_mm = pair->top->width_mm, .height_mm = pair->top->height_mm};
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        const BoardSample *sample = side == BOARD_TOP ? pair->top : pair->bottom;
        pair->asked.face[side].photo = sample->photo;
        pair->asked.face[side].has_corners = corners;
        memcpy(pair->asked.face[side].corners, sample->corners, sizeof sample->corners);
    }
    Diags problems = diags_new(arena);
    bool traced = board_trace(arena, &pair->asked, &pair->board, &problems);
    Out out = out_new(arena);
    diags_print(&out, &problems);
    printf("%.*s", TEXT_ARG(out_text(&out)));
    assert_true(traced);
    find_places(pair);
    return true;
}

/* ---- nets across both sides, against truth ---- */

enum { PADS_MOST = 1000 };

typedef struct TruePad {
    BoardSide side;
    int group;    /* of its own side; then the smallest of its net on the board */
    int hole;     /* id, or -1 */
    uint32_t net; /* ours */
} TruePad;

static json_int_t integer(const json_t *object, const char *key, json_int_t missing) {
    const json_t *value = json_object_get(object, key);
    return value == NULL ? missing : json_integer_value(value);
}

/* All pads of both sides; groups of the bottom stand beyond those of the top, then plated holes make them one. */
static int true_pads(const Pair *pair, TruePad pads[PADS_MOST]) {
    int count = 0;
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        json_t *list = truth_of(side == BOARD_TOP ? pair->top : pair->bottom, "pads"), *pad;
        size_t i;
        json_array_foreach(list, i, pad) {
            const json_t *at = json_object_get(pad, "sample");
            PlacePoint mm = {json_number_value(json_array_get(at, 0)), json_number_value(json_array_get(at, 1))};
            assert_true(count < PADS_MOST);
            bool plated = json_is_true(json_object_get(pad, "plated"));
            pads[count++] = (TruePad){side, (int)integer(pad, "group", 0) + (side == BOARD_TOP ? 0 : 100000),
                                      plated ? (int)integer(pad, "hole", -1) : -1,
                                      board_net_at(&pair->board, side, as_we_see(pair, side, mm))};
        }
        json_decref(list);
    }
    for (int i = 0; i < count; i++)
        for (int k = 0; k < count; k++) {
            if (pads[i].hole < 0 || pads[i].hole != pads[k].hole || pads[i].group >= pads[k].group) continue;
            int from = pads[k].group, to = pads[i].group;
            for (int n = 0; n < count; n++)
                if (pads[n].group == from) pads[n].group = to;
        }
    return count;
}

typedef struct AcrossScore {
    int through, joined, wrong; /* pairs of one hole's pads, those in one net of ours, pairs across that are not and are */
    double f1;                  /* over pairs of pads of both sides */
} AcrossScore;

static AcrossScore score_across(const Pair *pair) {
    static TruePad pads[PADS_MOST];
    AcrossScore score = {0};
    int count = true_pads(pair, pads), right = 0, ours = 0, theirs = 0;
    for (int i = 0; i < count; i++)
        for (int k = i + 1; k < count; k++) {
            bool same = pads[i].group == pads[k].group, told = pads[i].net != 0 && pads[i].net == pads[k].net;
            ours += told, theirs += same, right += same && told;
            bool through = pads[i].hole >= 0 && pads[i].hole == pads[k].hole && pads[i].side != pads[k].side;
            score.through += through, score.joined += through && told;
            score.wrong += told && !same && pads[i].side != pads[k].side;
        }
    score.f1 = 2.0 * right / (ours + theirs);
    return score;
}

/* One pair with its corners given, and the other without, which is turned by half besides. */
static void photos_of_two_sides_agree_to_a_tenth_of_a_millimetre(void **state) {
    (void)state;
    static const char *const names[] = {"square", "usb"};
    for (int i = 0; i < 2; i++) {
        Arena *arena = arena_new();
        Pair pair;
        if (!trace_pair(arena, names[i], i == 0, &pair)) {
            print_message("skipped: no %s\n", BOARDS);
            skip();
        }
        double mean, most;
        measure_pair(&pair, &mean, &most);
        printf("%s, corners %s: holes agree within %.3f mm on average, %.3f at most; %u matched, %.3f apart, %u turns; "
               "%u nets\n",
               names[i], i == 0 ? "given" : "found", mean, most, pair.board.fit.holes, pair.board.fit.mean,
               pair.board.fit.turns, pair.board.nets.count);
        assert_true(mean < 0.05 && most < 0.1);
        AcrossScore score = score_across(&pair);
        printf("  %d of %d plated holes join, %d wrong pairs across, F1 over both sides %.3f; %u doubts, %u conflicts\n",
               score.joined, score.through, score.wrong, score.f1, pair.board.doubts.count, pair.board.conflicts.count);
        assert_true(score.through > 0 && score.joined >= 0.8 * score.through);
        board_free(&pair.board);
        arena_free(arena);
    }
}

/* ---- a drawn board ---- */

static const BoardHole *hole_near(const Drawn *drawn, PlacePoint mm) {
    uint32_t number = board_hole_at(&drawn->board, mm, 0.3);
    assert_int_not_equal(number, UINT32_MAX);
    return &drawn->board.holes.at[number];
}

static const BoardDoubt *doubt_of_hole(const Drawn *drawn, PlacePoint mm) {
    for (uint32_t i = 0; i < drawn->board.doubts.count; i++) {
        const BoardDoubt *doubt = &drawn->board.doubts.at[i];
        if (doubt->hole && hypot(doubt->at.x - mm.x, doubt->at.y - mm.y) < 0.3) return doubt;
    }
    return NULL;
}

static void holes_seen_on_both_photos_join_the_sides(void **state) {
    Drawn *drawn = *state;
    trace(drawn);
    assert_int_not_equal(top(drawn, A), 0);
    assert_int_equal(top(drawn, A), top(drawn, B));
    assert_int_equal(top(drawn, A), bottom(drawn, (PlacePoint){8, 7}));
    assert_int_equal(top(drawn, (PlacePoint){10, 13}), bottom(drawn, (PlacePoint){10, 13}));
    assert_int_not_equal(top(drawn, C), top(drawn, A));
    assert_int_equal(hole_near(drawn, VIA_1)->plating, BOARD_PLATED);
    assert_int_equal(hole_near(drawn, VIA_2)->plating, BOARD_PLATED); /* filled with solder on the bottom */
    assert_true(hole_near(drawn, VIA_2)->p_plated < hole_near(drawn, VIA_1)->p_plated);
    assert_int_equal(hole_near(drawn, MOUNT)->plating, BOARD_PLATING_UNSAID);
    assert_int_equal(hole_near(drawn, MOUNT)->net[BOARD_TOP], 0);
    assert_true(drawn->board.fit.holes >= BOARD_FIT_HOLES && drawn->board.fit.most < 0.1);
    board_free(&drawn->board);
}

/* A slot drilled as a chain of holes, and a pad hardly wider than its hole, which solder fills on the bottom. */
static void slots_and_thin_rings_join_the_sides(void **state) {
    (void)state;
    static const DrawnTrack tracks[] = {{{13, 6}, {4, 12}, 0.5, DRAWN_TOP},     {{18, 3}, {18, 12}, 0.5, DRAWN_TOP},
                                        {{2, 14}, {20, 14}, 0.5, DRAWN_TOP},    {{5, 4}, {5, 9}, 0.5, DRAWN_BOTTOM},
                                        {{4, 12}, {18, 12}, 0.5, DRAWN_BOTTOM}, {{8, 2}, {16, 2}, 0.5, DRAWN_BOTTOM}};
    static const DrawnPad pads[] = {{{11.8, 6}, 1.95, 1.6, 3, 0, 0}, {{13, 6}, 1.95, 1.6, 3, 0, 0},
                                    {{14.2, 6}, 1.95, 1.6, 3, 0, 0}, {{5, 4}, 1.36, 1.05, 3, 0, DRAWN_BOTTOM},
                                    {{4, 12}, 1.6, 0.9, 3, 0, 0},    {{18, 12}, 1.6, 0.9, 3, 0, 0},
                                    {{18, 3}, 1.6, 0.9, 3, 0, 0}};
    static const DrawnBoard board = {22, 15, tracks, 6, pads, sizeof pads / sizeof *pads, NULL};
    void *drawn_state;
    assert_int_equal(draw_sides(&drawn_state, &board), 0);
    Drawn *drawn = drawn_state;
    trace(drawn);
    for (int i = 0; i < board.pad_count; i++) {
        assert_int_not_equal(top(drawn, pads[i].at), 0);
        assert_int_equal(top(drawn, pads[i].at), bottom(drawn, pads[i].at));
    }
    assert_int_equal(top(drawn, pads[2].at), bottom(drawn, pads[4].at)); /* by the slot */
    assert_int_not_equal(top(drawn, pads[3].at), top(drawn, pads[4].at));
    board_free(&drawn->board);
    wipe(&drawn_state);
}

static void a_hole_that_one_photo_shows_is_asked_about_and_a_note_answers(void **state) {
    Drawn *drawn = *state;
    trace(drawn);
    const BoardDoubt *doubt = doubt_of_hole(drawn, VIA_3);
    assert_non_null(doubt);
    assert_false(doubt->joined);
    assert_int_not_equal(top(drawn, C), bottom(drawn, FAR));
    assert_true(doubt->side_a == BOARD_TOP && doubt->net_a == top(drawn, C));
    assert_true(doubt->side_b == BOARD_BOTTOM && doubt->net_b == bottom(drawn, FAR));
    board_free(&drawn->board);
    const BoardHoleAsked notes[] = {{.at = {14.2, 3.9}, .plating = BOARD_PLATED, .line = 7},
                                    {.at = VIA_1, .plating = BOARD_BARE, .line = 8}};
    drawn->asked.holes = notes, drawn->asked.hole_count = 2;
    trace(drawn);
    assert_null(doubt_of_hole(drawn, VIA_3));
    assert_int_equal(top(drawn, C), bottom(drawn, FAR));
    assert_int_not_equal(top(drawn, A), top(drawn, B));
    assert_true(hole_near(drawn, VIA_3)->noted && hole_near(drawn, VIA_3)->line == 7);
    assert_true(hole_near(drawn, VIA_1)->plating == BOARD_BARE && hole_near(drawn, VIA_1)->p_plated < 0.05);
    assert_int_equal(drawn->board.conflicts.count, 0);
    board_free(&drawn->board);
}

static void a_plated_hole_without_copper_is_a_conflict(void **state) {
    Drawn *drawn = *state;
    const BoardHoleAsked note = {.at = {11.5, 11}, .plating = BOARD_PLATED, .line = 5}; /* on the top's track */
    drawn->asked.holes = &note, drawn->asked.hole_count = 1;
    trace(drawn);
    assert_int_equal(drawn->board.conflicts.count, 1);
    assert_int_equal(drawn->board.conflicts.at[0].line, 5);
    assert_int_equal(drawn->board.conflicts.at[0].side, BOARD_BOTTOM);
    board_free(&drawn->board);
}

static bool says(const Drawn *drawn, uint32_t line, const char *part) {
    for (uint32_t i = 0; i < drawn->board.conflicts.count; i++)
        if (drawn->board.conflicts.at[i].line == line &&
            text_find(drawn->board.conflicts.at[i].says, text_of(part)) != SIZE_MAX)
            return true;
    return false;
}

static void a_word_may_need_the_other_side(void **state) {
    Drawn *drawn = *state;
    const PlacePoint ends[] = {A, B}, others[] = {A, C};
    CopperWord word = {COPPER_JOINED, ends, 2, 9, true};
    drawn->asked.face[BOARD_TOP].words = &word, drawn->asked.face[BOARD_TOP].word_count = 1;
    trace(drawn); /* by the bottom and two vias */
    assert_int_equal(top(drawn, A), top(drawn, B));
    assert_int_equal(drawn->board.conflicts.count, 0);
    board_free(&drawn->board);
    word.at = others; /* by nothing that a photo shows */
    trace(drawn);
    assert_int_equal(top(drawn, A), top(drawn, C));
    assert_true(says(drawn, 9, "neither side shows a way"));
    board_free(&drawn->board);
    word = (CopperWord){COPPER_APART, ends, 2, 9, true}; /* a meter beats two photos */
    trace(drawn);
    assert_int_not_equal(top(drawn, A), top(drawn, B));
    assert_true(says(drawn, 9, "this hole seems to join"));
    board_free(&drawn->board);
}

static void the_bottom_alone_is_in_the_tops_millimetres(void **state) {
    Drawn *drawn = *state;
    drawn->asked.face[BOARD_TOP] = (BoardFaceAsked){0};
    trace(drawn);
    assert_int_not_equal(bottom(drawn, FAR), 0);
    assert_int_equal(bottom(drawn, FAR), bottom(drawn, VIA_3));
    assert_int_not_equal(bottom(drawn, FAR), bottom(drawn, VIA_1));
    assert_int_equal(bottom(drawn, VIA_2), bottom(drawn, (PlacePoint){8, 7}));
    assert_int_equal(top(drawn, A), 0);
    PlacePoint seen = board_to_face(&drawn->board, BOARD_BOTTOM, FAR);
    assert_true(fabs(seen.x - (DRAWN.width - FAR.x)) < 1e-9 && fabs(seen.y - FAR.y) < 1e-9);
    BoardUnder under = board_under(&drawn->board, BOARD_BOTTOM, FAR, 0.4);
    assert_true(under.count == 1 && under.net[0].share > 0.99 && under.copper > 0.99 && under.unseen < 0.01);
    assert_true(board_under(&drawn->board, BOARD_TOP, FAR, 0.4).unseen == 1);
    assert_true(board_under(&drawn->board, BOARD_BOTTOM, (PlacePoint){-5, -5}, 0.4).unseen == 1);
    board_free(&drawn->board);
}

static void a_bottom_photographed_upside_down_is_turned_by_its_holes(void **state) {
    Drawn *drawn = *state;
    drawn->asked.face[BOARD_BOTTOM].photo = in_folder(drawn, "turned.png");
    draw_bottom_turned(drawn, drawn->asked.face[BOARD_BOTTOM].photo);
    for (BoardSide side = 0; side < BOARD_SIDES; side++) drawn->asked.face[side].has_corners = false;
    trace(drawn);
    assert_int_equal(drawn->board.fit.turns, 2);
    assert_true(drawn->board.fit.most < 0.1);
    assert_int_equal(top(drawn, A), top(drawn, B));
    board_free(&drawn->board);
    drawn->asked.face[BOARD_TOP].has_corners = drawn->asked.face[BOARD_BOTTOM].has_corners = true; /* the upright photo's */
    drawn->problems = diags_new(drawn->arena);
    trace(drawn);
    assert_int_equal(drawn->board.fit.turns, 0); /* what was said counts, and is doubted */
    assert_int_equal(drawn->problems.list.count, 1);
    board_free(&drawn->board);
}

static void what_cannot_be_read_is_said(void **state) {
    Drawn *drawn = *state;
    drawn->asked.face[BOARD_BOTTOM].photo = "/nonexistent/bottom.jpg";
    trace(drawn); /* the top alone */
    assert_true(drawn->board.face[BOARD_TOP].known && !drawn->board.face[BOARD_BOTTOM].known);
    assert_int_equal(drawn->problems.list.count, 1);
    board_free(&drawn->board);
    drawn->asked.face[BOARD_TOP].corners[2] = drawn->asked.face[BOARD_TOP].corners[0];
    assert_false(board_trace(drawn->arena, &drawn->asked, &drawn->board, &drawn->problems));
    assert_int_equal(drawn->problems.list.count, 3);
    assert_true(drawn->problems.list.at[1].expected.len > 0);
}

/* Corners far off the photo, a board of two pixels a mm, width and height in each other's place: each would give nets. */
static void a_slip_in_corners_or_size_is_noticed(void **state) {
    Drawn *drawn = *state;
    BoardFaceAsked *face = &drawn->asked.face[BOARD_TOP];
    const BoardFaceAsked right = *face;
    drawn->asked.face[BOARD_BOTTOM].photo = NULL;
    face->corners[1].x *= 10;
    assert_false(board_trace(drawn->arena, &drawn->asked, &drawn->board, &drawn->problems));
    assert_true(drawn->board.face[BOARD_TOP].unplaced);
    assert_int_equal(drawn->problems.list.count, 1);
    *face = right;
    for (int i = 0; i < 4; i++) face->corners[i].x /= 20, face->corners[i].y /= 20;
    assert_false(board_trace(drawn->arena, &drawn->asked, &drawn->board, &drawn->problems));
    assert_int_equal(drawn->problems.list.count, 2);
    *face = right;
    double width = drawn->asked.width_mm;
    drawn->asked.width_mm = drawn->asked.height_mm, drawn->asked.height_mm = width;
    trace(drawn); /* told, and believed: there are boards photographed from aside */
    assert_true(drawn->problems.list.count > 2);
    board_free(&drawn->board);
}

static void too_few_holes_leave_it_to_the_corners(void **state) {
    Drawn *drawn = *state;
    DrawnBoard few = DRAWN;
    few.pad_count = 2; /* A, and VIA_1 */
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        BoardFaceAsked *face = &drawn->asked.face[side];
        face->photo = in_folder(drawn, side == BOARD_TOP ? "few-top.png" : "few-bottom.png");
        assert_true(drawn_photo(&few, side == BOARD_TOP ? DRAWN_TOP : DRAWN_BOTTOM, false, face->photo, face->corners));
    }
    trace(drawn);
    assert_true(drawn->board.fit.holes < BOARD_FIT_HOLES);
    for (int i = 0; i < 9; i++) assert_true(drawn->board.face[BOARD_BOTTOM].to_top[i] == (i % 4 == 0 ? 1 : 0));
    assert_int_equal(top(drawn, A), bottom(drawn, (PlacePoint){8, 7})); /* one hole at one place joins all the same */
    board_free(&drawn->board);
}

/* Three of four corners a fifth of a millimetre off: the homography that the holes tell takes it out. */
static void corners_given_wrongly_are_made_good_by_holes(void **state) {
    Drawn *drawn = *state;
    PlacePoint *corners = drawn->asked.face[BOARD_BOTTOM].corners;
    corners[0].x += 0.2 * DRAWN_SCALE, corners[1].y -= 0.2 * DRAWN_SCALE, corners[2].x += 0.2 * DRAWN_SCALE;
    trace(drawn);
    assert_true(drawn->board.fit.holes >= 5 && drawn->board.fit.most < 0.1);
    assert_int_equal(top(drawn, A), top(drawn, B));
    for (uint32_t i = 0; i < drawn->board.holes.count; i++) { /* where they were drawn */
        double nearest = INFINITY;
        for (int k = 0; k < DRAWN.pad_count; k++)
            nearest = fmin(nearest, hypot(DRAWN.pads[k].at.x - drawn->board.holes.at[i].at.x,
                                          DRAWN.pads[k].at.y - drawn->board.holes.at[i].at.y));
        assert_true(nearest < 0.1);
    }
    board_free(&drawn->board);
}

/* ---- told to others ---- */

static void two_sides_as_json_hold_to_the_schema(void **state) {
    Drawn *drawn = *state;
    const BoardHoleAsked note = {.at = {11.5, 11}, .plating = BOARD_PLATED, .line = 5};
    drawn->asked.holes = &note, drawn->asked.hole_count = 1;
    trace(drawn);
    Out out = out_new(drawn->arena);
    export_board_json(&out, &drawn->board, TEXT("A"));
    json_t *root = json_loadb(out.at, out.len, JSON_REJECT_DUPLICATES, NULL);
    Schema schema = {.root = json_load_file("doc/unpick.schema.json", JSON_REJECT_DUPLICATES, NULL)};
    assert_true(root != NULL && schema.root != NULL);
    if (!schema_one_of(&schema, json_object_get(schema.root, "oneOf"), root, "answer"))
        fail_msg("against the schema: %s", schema.why);
    assert_int_equal(json_array_size(json_object_get(root, "faces")), 2);
    assert_int_equal(json_array_size(json_object_get(root, "conflicts")), 1);
    assert_int_equal(json_array_size(json_object_get(root, "nets")), drawn->board.nets.count);
    json_decref(schema.root);
    json_decref(root);
    board_free(&drawn->board);
}

/* IPC-D-356A, from memory: columns 1-3 say 317 for a pad with a hole, 327 for one without; 38 P for a plated hole; 39-41
 * A00 for access from both sides, A01 from the top, A02 from the bottom. */
static void a_net_list_has_a_plated_hole_once_with_access_from_both_sides(void **state) {
    Drawn *drawn = *state;
    trace(drawn);
    Out out = out_new(drawn->arena);
    export_board_ipc356(&out, &drawn->board, TEXT("A"), NULL);
    unsigned plated = 0, top_only = 0, bottom_only = 0;
    char vias[8] = "";
    for (size_t at = 0; at < out.len;) {
        Text line = text_sub(out_text(&out), at, text_find(text_sub(out_text(&out), at, out.len), TEXT("\n")));
        at += line.len + 1;
        if (!text_starts(line, "3")) continue;
        bool both = text_same(text_sub(line, 37, 4), TEXT("PA00"));
        plated += both && text_starts(line, "317");
        top_only += text_same(text_sub(line, 38, 3), TEXT("A01"));
        bottom_only += text_same(text_sub(line, 38, 3), TEXT("A02"));
        double x = strtod(text_cstring(drawn->arena, text_sub(line, 42, 7)), NULL) / 1000,
               y = DRAWN.height - strtod(text_cstring(drawn->arena, text_sub(line, 50, 7)), NULL) / 1000;
        if (hypot(x - VIA_1.x, y - VIA_1.y) < 0.2 || hypot(x - VIA_2.x, y - VIA_2.y) < 0.2) strncat(vias, "v", 2);
    }
    assert_int_equal(plated, 4); /* two vias, two long tracks' ends */
    assert_string_equal(vias, "vv");
    assert_true(top_only >= 4 && bottom_only >= 1); /* A, B, C, VIA_3; FAR */
    board_free(&drawn->board);
}

static void labels_have_the_boards_numbers(void **state) {
    Drawn *drawn = *state;
    trace(drawn);
    const char *path = in_folder(drawn, "labels.png");
    assert_true(export_board_labels(path, &drawn->board, BOARD_BOTTOM, 0));
    png_image image = {.version = PNG_IMAGE_VERSION};
    assert_int_equal(png_image_begin_read_from_file(&image, path), 1);
    assert_int_equal(image.width, drawn->board.face[BOARD_BOTTOM].copper.width);
    image.format = PNG_FORMAT_LINEAR_Y;
    uint16_t *labels = malloc(PNG_IMAGE_SIZE(image));
    assert_int_equal(png_image_finish_read(&image, NULL, labels, 0, NULL), 1);
    PlacePoint at = board_to_face(&drawn->board, BOARD_BOTTOM, (PlacePoint){8, 7});
    double scale = drawn->board.face[BOARD_BOTTOM].copper.scale;
    uint16_t label = labels[(size_t)(at.y * scale) * image.width + (size_t)(at.x * scale)];
    assert_int_equal(label, top(drawn, A));
    free(labels);
    board_free(&drawn->board);
}

#define drawn_test(test) cmocka_unit_test_setup(test, ask_anew)

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(photos_of_two_sides_agree_to_a_tenth_of_a_millimetre),
        cmocka_unit_test(slots_and_thin_rings_join_the_sides),
        drawn_test(holes_seen_on_both_photos_join_the_sides),
        drawn_test(a_hole_that_one_photo_shows_is_asked_about_and_a_note_answers),
        drawn_test(a_plated_hole_without_copper_is_a_conflict),
        drawn_test(a_word_may_need_the_other_side),
        drawn_test(the_bottom_alone_is_in_the_tops_millimetres),
        drawn_test(a_bottom_photographed_upside_down_is_turned_by_its_holes),
        drawn_test(what_cannot_be_read_is_said),
        drawn_test(a_slip_in_corners_or_size_is_noticed),
        drawn_test(too_few_holes_leave_it_to_the_corners),
        drawn_test(corners_given_wrongly_are_made_good_by_holes),
        drawn_test(two_sides_as_json_hold_to_the_schema),
        drawn_test(a_net_list_has_a_plated_hole_once_with_access_from_both_sides),
        drawn_test(labels_have_the_boards_numbers),
    };
    return cmocka_run_group_tests(tests, draw_both, wipe);
}
