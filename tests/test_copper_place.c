/* copper: pixels to millimetres. The homography is OpenCV's; what is distorted comes back undistorted; a board is found on
 * its background, and what is straightened lies where it was drawn, under even light, with the places marked that can't be
 * read. */
#include "tests/check.h"

#include "copper/flat.h"
#include "tests/board_samples.h"
#include "tests/opencv.h"

#include <stdio.h>

enum { WIDTH = 960, HEIGHT = 720 };
static const double BOARD_WIDTH = 40, BOARD_HEIGHT = 25; /* mm */

/* A fixed sequence of numbers in -1..1 (Numerical Recipes' quick generator). */
static double draw_number(uint32_t *draw) {
    *draw = *draw * 1664525u + 1013904223u;
    return (double)(*draw >> 8) / (1 << 23) - 1;
}

static void homography_is_opencvs(void **state) {
    (void)state;
    uint32_t draw = 7;
    for (int n = 0; n < 200; n++) {
        PlacePoint corners[4] = {{300, 200}, {2500, 260}, {2600, 1800}, {280, 1700}};
        double from[8] = {0, 0, 51.5, 0, 51.5, 30.25, 0, 30.25}, to[8], reference[9];
        for (int i = 0; i < 4; i++) {
            corners[i].x =
                (float)(corners[i].x + 200 * draw_number(&draw)); /* OpenCV takes single precision, and solves in double */
            corners[i].y = (float)(corners[i].y + 200 * draw_number(&draw));
            to[2 * i] = corners[i].x;
            to[2 * i + 1] = corners[i].y;
        }
        BoardPlace place;
        assert_true(place_from_corners(corners, 51.5, 30.25, 4000, 3000, &place));
        opencv_homography(from, to, reference);
        for (int i = 0; i < 25;
             i++) { /* OpenCV multiplies in single precision on the way: equal to a thousandth of a pixel */
            double x = 51.5 * (i % 5) / 4, y = 30.25 * (i / 5) / 4, w = reference[6] * x + reference[7] * y + reference[8];
            PlacePoint at = place_to_photo(&place, (PlacePoint){x, y});
            double off = hypot(at.x - (reference[0] * x + reference[1] * y + reference[2]) / w,
                               at.y - (reference[3] * x + reference[4] * y + reference[5]) / w);
            if (!(off < 1e-3)) fail_msg("%.3g pixels from OpenCV's place", off);
        }
        for (int i = 0; i < 4; i++) { /* the corners themselves exactly */
            PlacePoint at = place_to_photo(&place, (PlacePoint){from[2 * i], from[2 * i + 1]});
            assert_true(hypot(at.x - corners[i].x, at.y - corners[i].y) < 1e-9);
        }
    }
}

static void there_and_back(void **state) {
    (void)state;
    const PlacePoint corners[4] = {{301.5, 220.25}, {3507, 260}, {3600, 2500}, {250, 2400}};
    static const double k1s[] = {0, -0.02, -0.14, 0.1, 0.14};
    BoardPlace place;
    assert_true(place_from_corners(corners, 80, 50, 4000, 3000, &place));
    for (size_t k = 0; k < sizeof k1s / sizeof k1s[0]; k++) {
        assert_true(place_bend(corners, k1s[k], &place));
        const PlacePoint mm[4] = {{0, 0}, {80, 0}, {80, 50}, {0, 50}};
        for (int i = 0; i < 4; i++) { /* the corners stay where they were said to be */
            PlacePoint at = place_to_photo(&place, mm[i]);
            assert_true(hypot(at.x - corners[i].x, at.y - corners[i].y) < 1e-6);
        }
        for (double x = 0; x <= 80; x += 7.3) {
            for (double y = 0; y <= 50; y += 6.1) {
                PlacePoint back = place_to_board(&place, place_to_photo(&place, (PlacePoint){x, y}));
                assert_true(hypot(back.x - x, back.y - y) < 1e-8);
            }
        }
    }
    assert_false(place_bend(corners, 0.15, &place));
    assert_false(place_bend(corners, NAN, &place));
    assert_true(fabs(place_scale(&place, (PlacePoint){40, 25}) - 41) < 6); /* 3300 pixels for 80 mm */
}

static void no_quadrilateral(void **state) {
    (void)state;
    BoardPlace place;
    const PlacePoint good[4] = {{0, 0}, {100, 0}, {100, 100}, {0, 100}},
                     crossed[4] = {{0, 0}, {100, 100}, {100, 0}, {0, 100}};
    const PlacePoint other_way[4] = {{0, 0}, {0, 100}, {100, 100}, {100, 0}},
                     dented[4] = {{0, 0}, {100, 0}, {20, 20}, {0, 100}};
    const PlacePoint in_line[4] = {{0, 0}, {50, 0}, {100, 0}, {0, 100}},
                     nowhere[4] = {{0, 0}, {NAN, 0}, {100, 100}, {0, 100}};
    assert_true(place_from_corners(good, 10, 10, 200, 200, &place));
    assert_false(place_from_corners(crossed, 10, 10, 200, 200, &place));
    assert_false(place_from_corners(other_way, 10, 10, 200, 200, &place));
    assert_false(place_from_corners(dented, 10, 10, 200, 200, &place));
    assert_false(place_from_corners(in_line, 10, 10, 200, 200, &place));
    assert_false(place_from_corners(nowhere, 10, 10, 200, 200, &place));
    assert_false(place_from_corners(good, 0, 10, 200, 200, &place));
    assert_false(place_from_corners(good, 10, INFINITY, 200, 200, &place));
}

/* ---- drawn photos ---- */

typedef void Painter(PlacePoint mm, double rgb[3]);

/* A photo of a painted board on a speckled ground, each pixel the mean of nine points, under light that falls off to the
 * right. */
static Photo draw_photo(const BoardPlace *place, Painter *paint, const double ground[3]) {
    Photo photo;
    uint32_t draw = 3;
    assert_true(photo_new(WIDTH, HEIGHT, &photo));
    for (uint32_t y = 0; y < HEIGHT; y++) {
        for (uint32_t x = 0; x < WIDTH; x++) {
            double sum[3] = {0, 0, 0}, noise = 4 * draw_number(&draw), light = 1.1 - 0.3 * x / WIDTH;
            for (int k = 0; k < 9; k++) {
                double rgb[3] = {ground[0] + 3 * noise, ground[1] + 3 * noise, ground[2] + 3 * noise};
                PlacePoint mm = place_to_board(place, (PlacePoint){x + (k % 3 + 0.5) / 3, y + (k / 3 + 0.5) / 3});
                if (mm.x >= 0 && mm.y >= 0 && mm.x < place->width_mm && mm.y < place->height_mm) paint(mm, rgb);
                for (int c = 0; c < 3; c++) sum[c] += rgb[c] / 9;
            }
            for (int c = 0; c < 3; c++)
                photo.rgb[3 * (y * WIDTH + x) + (uint32_t)c] = (unsigned char)fmin(fmax(sum[c] * light + noise, 0), 255);
        }
    }
    return photo;
}

/* Green, with tracks 0.4 mm wide every 2 mm, a pour's rim 0.5 mm inside the edge, and pads. */
static void paint_green(PlacePoint mm, double rgb[3]) {
    bool rim = mm.x < 0.5 || mm.y < 0.5 || mm.x > BOARD_WIDTH - 0.5 || mm.y > BOARD_HEIGHT - 0.5;
    bool gap = fmod(mm.y, 2) < 0.4, pad = hypot(fmod(mm.x, 5) - 2.5, fmod(mm.y, 5) - 2.5) < 0.8;
    const double copper[3] = {50, 140, 60}, bare[3] = {25, 80, 40}, tin[3] = {200, 200, 195};
    memcpy(rgb, pad ? tin : rim || gap ? bare : copper, sizeof copper);
}

static void paint_black(PlacePoint mm, double rgb[3]) {
    paint_green(mm, rgb);
    for (int c = 0; c < 3; c++) rgb[c] = rgb[1] < 150 ? 18 + rgb[1] / 10 : rgb[c];
}

static void paint_blue(PlacePoint mm, double rgb[3]) {
    paint_green(mm, rgb);
    double kept = rgb[1];
    if (kept < 150) rgb[1] = rgb[2], rgb[2] = kept;
}

/* Where a camera with a lens like 28 mm sees the board's corners: turned by `turn`, tilted by `tilt` about an axis at
 * `axis` (degrees). */
static void see_corners(double turn, double tilt, double axis, PlacePoint corners[4]) {
    const double focal = 0.8 * WIDTH, distance = 52, degree = acos(-1) / 180; /* mm */
    for (int i = 0; i < 4; i++) {
        double x = (i == 1 || i == 2 ? 0.5 : -0.5) * BOARD_WIDTH, y = (i >= 2 ? 0.5 : -0.5) * BOARD_HEIGHT;
        double u = x * cos(turn * degree) - y * sin(turn * degree), v = x * sin(turn * degree) + y * cos(turn * degree);
        double ax = cos(axis * degree), ay = sin(axis * degree), across = ay * u - ax * v; /* from the axis */
        double along = ax * u + ay * v, depth = distance + across * sin(tilt * degree), flat = across * cos(tilt * degree);
        corners[i] = (PlacePoint){WIDTH / 2.0 + focal * (ax * along + ay * flat) / depth,
                                  HEIGHT / 2.0 + focal * (ay * along - ax * flat) / depth};
    }
}

static const double POSES[][3] = {{0, 0, 0}, {37, 12, 80}, {-12, 25, 200}, {88, 18, 300}}; /* turn, tilt, axis */
enum { POSE_COUNT = sizeof POSES / sizeof POSES[0] };

static void pose_corners(int pose, PlacePoint corners[4]) {
    see_corners(POSES[pose][0], POSES[pose][1], POSES[pose][2], corners);
}

static void a_board_is_found(void **state) {
    (void)state;
    static const double grounds[][3] = {{215, 212, 205}, {95, 95, 100}, {60, 90, 170}, {150, 110, 70}};
    Painter *const painters[] = {paint_green, paint_black, paint_green, paint_blue};
    for (int pose = 0; pose < POSE_COUNT; pose++) {
        BoardSample sample = {.width_mm = BOARD_WIDTH, .height_mm = BOARD_HEIGHT};
        pose_corners(pose, sample.corners);
        BoardPlace place;
        PlacePoint corners[4];
        double sure, mm[4];
        assert_true(place_from_corners(sample.corners, BOARD_WIDTH, BOARD_HEIGHT, WIDTH, HEIGHT, &place));
        Photo photo = draw_photo(&place, painters[pose], grounds[pose]);
        assert_true(place_find(&photo, BOARD_WIDTH, BOARD_HEIGHT, corners, &sure));
        board_sample_errors(&sample, &photo, corners, mm);
        for (int i = 0; i < 4; i++)
            if (mm[i] > 0.05) fail_msg("pose %d, corner %d: %.3f mm off", pose, i, mm[i]);
        assert_true(sure > 0.3 && sure <= 1);
        assert_true(corners[0].x + corners[0].y < corners[2].x + corners[2].y); /* of the two that fit, the upper left */
        photo_free(&photo);
    }
}

static const PlacePoint STRAIGHT[4] = {{170, 140}, {790, 130}, {800, 520}, {160, 530}};

static void paint_nothing(PlacePoint mm, double rgb[3]) { (void)mm, (void)rgb; }

static void nothing_is_not_found(void **state) {
    (void)state;
    BoardPlace place;
    PlacePoint corners[4];
    double sure, ground[3] = {120, 120, 125};
    assert_true(place_from_corners(STRAIGHT, BOARD_WIDTH, BOARD_HEIGHT, WIDTH, HEIGHT, &place));
    Photo photo = draw_photo(&place, paint_nothing, ground);
    assert_false(place_find(&photo, BOARD_WIDTH, BOARD_HEIGHT, corners, &sure));
    assert_true(sure == 0);
    photo_free(&photo);
    assert_true(photo_new(3, 2, &photo));
    assert_false(place_find(&photo, BOARD_WIDTH, BOARD_HEIGHT, corners, &sure));
    photo_free(&photo);
}

static void distortion_shows_in_the_edges(void **state) {
    (void)state;
    static const double k1s[] = {0, -0.03, 0.02}, ground[3] = {215, 212, 205};
    const PlacePoint wide[4] = {{90, 60}, {880, 70}, {870, 660}, {80, 650}};
    for (size_t k = 0; k < sizeof k1s / sizeof k1s[0]; k++) {
        BoardPlace place, found;
        assert_true(place_from_corners(wide, BOARD_WIDTH, BOARD_HEIGHT, WIDTH, HEIGHT, &place));
        found = place;
        assert_true(place_bend(wide, k1s[k], &place));
        Photo photo = draw_photo(&place, paint_green, ground);
        place_refine(&photo, &found);
        if (fabs(found.k1 - k1s[k]) > 0.003) fail_msg("k1 %.3f was taken for %.4f", k1s[k], found.k1);
        PlacePoint a = place_to_photo(&place, (PlacePoint){20, 12.5}), b = place_to_photo(&found, (PlacePoint){20, 12.5});
        assert_true(hypot(a.x - b.x, a.y - b.y) < 1);
        photo_free(&photo);
    }
}

/* ---- the board straightened ---- */

static void pixel_of(const Flat *flat, double x, double y, double rgb[3]) { /* mean over 0.4 mm */
    int half = (int)(0.2 * flat->scale), count = 0;
    rgb[0] = rgb[1] = rgb[2] = 0;
    for (int j = -half; j <= half; j++) {
        for (int i = -half; i <= half; i++, count++) {
            size_t at = (size_t)((int)(y * flat->scale) + j) * flat->width + (size_t)((int)(x * flat->scale) + i);
            for (int c = 0; c < 3; c++) rgb[c] += flat->rgb[3 * at + (size_t)c];
        }
    }
    for (int c = 0; c < 3; c++) rgb[c] /= count;
}

static void paint_dot(PlacePoint mm, double rgb[3]) {
    double value = hypot(mm.x - 31.3, mm.y - 7.7) < 1 ? 220 : 60;
    rgb[0] = rgb[1] = rgb[2] = value;
}

static void a_dot_lies_where_it_was_drawn(void **state) {
    (void)state;
    static const double scales[] = {0, 8, 20, 31};
    const double ground[3] = {90, 90, 90};
    for (int pose = 0; pose < POSE_COUNT; pose++) {
        BoardPlace place;
        PlacePoint corners[4];
        pose_corners(pose, corners);
        assert_true(place_from_corners(corners, BOARD_WIDTH, BOARD_HEIGHT, WIDTH, HEIGHT, &place));
        assert_true(place_bend(corners, -0.02, &place));
        Photo photo = draw_photo(&place, paint_dot, ground);
        Flat flat;
        assert_true(flat_from_photo(&photo, &place, scales[pose], &flat));
        assert_true(scales[pose] > 0 ? flat.scale == scales[pose] : flat.scale >= 12 && flat.scale <= 25);
        double sum = 0, x = 0, y = 0;
        for (uint32_t j = 0; j < flat.height; j++) {
            for (uint32_t i = 0; i < flat.width; i++) {
                double value = fmax(0, flat.rgb[3 * (j * flat.width + i)] - 100.0);
                sum += value, x += value * (i + 0.5), y += value * (j + 0.5);
            }
        }
        x /= sum * flat.scale, y /= sum * flat.scale;
        if (hypot(x - 31.3, y - 7.7) > 0.02) fail_msg("pose %d: the dot lies at %.3f, %.3f mm", pose, x, y);
        flat_free(&flat);
        photo_free(&photo);
    }
}

/* The left half is all copper, the right half all laminate: a wide pour, and no fault of the light. */
static void paint_halves(PlacePoint mm, double rgb[3]) {
    const double copper[3] = {60, 150, 70}, bare[3] = {40, 100, 47};
    memcpy(rgb, mm.x < BOARD_WIDTH / 2 ? copper : bare, sizeof copper);
}

static void light_is_evened_and_halves_stay(void **state) {
    (void)state;
    const double ground[3] = {215, 212, 205};
    BoardPlace place;
    Flat flat;
    double at[4][3];
    assert_true(place_from_corners(STRAIGHT, BOARD_WIDTH, BOARD_HEIGHT, WIDTH, HEIGHT, &place));
    Photo photo = draw_photo(&place, paint_halves, ground);
    assert_true(flat_from_photo(&photo, &place, 0, &flat));
    pixel_of(&flat, 2, 12, at[0]);
    pixel_of(&flat, 18, 12, at[1]);
    pixel_of(&flat, 22, 12, at[2]);
    pixel_of(&flat, 38, 12, at[3]);
    /* as photographed green falls by 8 % over each half */
    assert_true(fabs(at[0][1] / at[1][1] - 1) < 0.02);
    assert_true(fabs(at[2][1] / at[3][1] - 1) < 0.02);
    assert_true(fabs(at[1][1] / at[2][1] - 1.5) < 0.05); /* 150 to 100, as painted */
    flat_free(&flat);
    photo_free(&photo);
}

/* Tracks everywhere; a disc of glare round 10,12; out of focus (tracks with soft flanks) in the right third. */
static void paint_hard_to_read(PlacePoint mm, double rgb[3]) {
    double across = fabs(fmod(mm.y, 2) - 1) - 0.5, flank = mm.x > 27 ? 0.7 : 0.02;
    double copper = 1 / (1 + exp(fmin(4 * across / flank, 50)));
    double glare = hypot(mm.x - 10, mm.y - 12) < 3 ? 300 : 0;
    rgb[0] = 30 + 40 * copper + glare, rgb[1] = 70 + 90 * copper + glare, rgb[2] = 40 + 40 * copper + glare;
}

static void what_cannot_be_read_is_marked(void **state) {
    (void)state;
    const double ground[3] = {215, 212, 205};
    BoardPlace place;
    Flat flat;
    assert_true(place_from_corners(STRAIGHT, BOARD_WIDTH, BOARD_HEIGHT, WIDTH, HEIGHT, &place));
    Photo photo = draw_photo(&place, paint_hard_to_read, ground);
    assert_true(flat_from_photo(&photo, &place, 20, &flat));
#define UNSEEN(x, y) (flat.unseen[(size_t)((y)*20) * flat.width + (size_t)((x)*20)] != 0)
    assert_true(UNSEEN(10, 12) && UNSEEN(8.5, 12) && UNSEEN(10, 10.5)); /* glare */
    assert_false(UNSEEN(4, 12) || UNSEEN(10, 5) || UNSEEN(20, 20) || UNSEEN(22, 3));
    assert_true(UNSEEN(34, 12) && UNSEEN(35, 5) && UNSEEN(35, 20)); /* out of focus */
    flat_free(&flat);
    const PlacePoint beyond[4] = {{500, 140}, {1300, 130}, {1300, 560}, {500, 560}};
    assert_true(place_from_corners(beyond, BOARD_WIDTH, BOARD_HEIGHT, WIDTH, HEIGHT, &place));
    assert_true(flat_from_photo(&photo, &place, 20, &flat));
    assert_true(UNSEEN(35, 12)); /* not in the photo */
    assert_false(UNSEEN(5, 24));
    flat_free(&flat);
    const PlacePoint before[4] = {{-300, -40}, {WIDTH, -40}, {WIDTH + 9, 560}, {-300, HEIGHT + 20}};
    assert_true(place_from_corners(before, BOARD_WIDTH, BOARD_HEIGHT, WIDTH, HEIGHT, &place));
    assert_true(flat_from_photo(&photo, &place, 20, &flat)); /* over all four rims of the photo */
    assert_true(UNSEEN(0.5, 0.5));
    for (int again = 0; again < 3; again++) { /* whichever thread drew which row */
        Flat same;
        size_t pixels = (size_t)flat.width * flat.height;
        assert_true(flat_from_photo(&photo, &place, 20, &same));
        assert_memory_equal(same.rgb, flat.rgb, 3 * pixels);
        assert_memory_equal(same.unseen, flat.unseen, pixels);
        flat_free(&same);
    }
    flat_free(&flat);
    assert_false(flat_from_photo(&photo, &place, 1e6, &flat)); /* four hundred gigapixels */
    photo_free(&photo);
}

/* ../shared/boards, which is not part of the repository: corners within 0.15 mm on average. */
static void samples_are_found(void **state) {
    (void)state;
    static BoardSample samples[BOARD_SAMPLES_MOST];
    int count = board_samples("../shared/boards", samples);
    double sum = 0;
    if (count == 0) {
        print_message("no samples in ../shared/boards: left out\n");
        skip();
    }
    Diags problems = diags_new(arena_new());
    for (int i = 0; i < count; i++) {
        Photo photo;
        PlacePoint corners[4];
        double sure, mm[4];
        assert_true(photo_read(samples[i].photo, &photo, &problems));
        assert_true(place_find(&photo, samples[i].width_mm, samples[i].height_mm, corners, &sure));
        board_sample_errors(&samples[i], &photo, corners, mm);
        for (int k = 0; k < 4; k++) sum += mm[k] / 4 / count;
        photo_free(&photo);
    }
    arena_free(problems.arena);
    if (sum > 0.15) fail_msg("%.3f mm off on average", sum);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(homography_is_opencvs),
        cmocka_unit_test(there_and_back),
        cmocka_unit_test(no_quadrilateral),
        cmocka_unit_test(a_board_is_found),
        cmocka_unit_test(nothing_is_not_found),
        cmocka_unit_test(distortion_shows_in_the_edges),
        cmocka_unit_test(a_dot_lies_where_it_was_drawn),
        cmocka_unit_test(light_is_evened_and_halves_stay),
        cmocka_unit_test(what_cannot_be_read_is_marked),
        cmocka_unit_test(samples_are_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
