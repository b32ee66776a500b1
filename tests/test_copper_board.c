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
} Pair;

static const BoardSample *sample_named(const BoardSample *samples, int count, const char *name) {
    for (int i = 0; i < count; i++)
        if (strcmp(samples[i].name, name) == 0) return &samples[i];
    return NULL;
}

static json_t *holes_of(const BoardSample *sample) {
    char path[300];
    snprintf(path, sizeof path, "%s/%s/truth.json", BOARDS, sample->name);
    json_t *truth = json_load_file(path, 0, NULL), *holes = json_incref(json_object_get(truth, "holes"));
    json_decref(truth);
    return holes;
}

static PlacePoint hole_at(const json_t *hole) {
    return (PlacePoint){json_number_value(json_object_get(hole, "x_mm")), json_number_value(json_object_get(hole, "y_mm"))};
}

/* Where our board has a place whose true millimetres are known: by the camera to the photo, and back by our corners. */
static PlacePoint as_we_see(const Pair *pair, BoardSide side, PlacePoint mm) {
    const BoardSample *sample = side == BOARD_TOP ? pair->top : pair->bottom;
    const BoardFace *face = &pair->board.face[side];
    Arena *arena = arena_new();
    Diags problems = diags_new(arena);
    Photo photo;
    BoardPlace camera, ours;
    assert_true(photo_read(sample->photo, &photo, &problems));
    assert_true(
        place_from_corners(sample->corners, sample->width_mm, sample->height_mm, photo.width, photo.height, &camera));
    assert_true(place_bend(sample->corners, sample->k1, &camera));
    assert_true(place_from_corners(face->corners, sample->width_mm, sample->height_mm, photo.width, photo.height, &ours));
    place_refine(&photo, &ours);
    photo_free(&photo);
    arena_free(arena);
    return board_from_face(&pair->board, side, place_to_board(&ours, place_to_photo(&camera, mm)));
}

/* Distances between the places of one hole by both photos, mm. */
static void measure_pair(const Pair *pair, double *mean, double *most) {
    json_t *tops = holes_of(pair->top), *bottoms = holes_of(pair->bottom), *hole;
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
    return true;
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
            board_free(&pair.board);
            arena_free(arena);
        }
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(photos_of_two_sides_agree_to_a_tenth_of_a_millimetre)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
