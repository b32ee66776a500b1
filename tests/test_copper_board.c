/* copper: one board from the photos of its sides. */
#include "tests/board_samples.h"
#include "tests/check.h"

#include "copper/board.h"

#include <jansson.h>
#include <stdio.h>

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

static void photos_of_two_sides_agree_to_a_tenth_of_a_millimetre(void **state) {
    (void)state;
    static const char *const names[] = {"usb", "square"};
    for (size_t i = 0; i < 2; i++)
        for (int corners = 1; corners >= 0; corners--) {
            Arena *arena = arena_new();
            Pair pair;
            if (!trace_pair(arena, names[i], corners == 1, &pair)) {
                print_message("skipped: no %s\n", BOARDS);
                skip();
            }
            double mean, most;
            measure_pair(&pair, &mean, &most);
            printf("%s, corners %s: holes agree within %.3f mm on average, %.3f at most; %u matched, %.3f apart, %u turns; "
                   "%u nets\n",
                   names[i], corners == 1 ? "given" : "found", mean, most, pair.board.fit.holes, pair.board.fit.mean,
                   pair.board.fit.turns, pair.board.nets.count);
            assert_true(mean < 0.05 && most < 0.1);
            AcrossScore score = score_across(&pair);
            printf(
                "  %d of %d plated holes join, %d wrong pairs across, F1 over both sides %.3f; %u doubts, %u conflicts\n",
                score.joined, score.through, score.wrong, score.f1, pair.board.doubts.count, pair.board.conflicts.count);
            board_free(&pair.board);
            arena_free(arena);
        }
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(photos_of_two_sides_agree_to_a_tenth_of_a_millimetre)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
