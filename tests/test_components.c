/* copper: connected pieces, against OpenCV's and Leptonica's on random masks. */
#include "tests/check.h"
#include "tests/opencv.h"

#include "copper/components.h"

#include <leptonica/allheaders.h>

enum { MASKS = 300, SIDE_MOST = 150 };

static uint32_t random_below(uint32_t below) {
    static uint64_t state = 20260901;
    state = state * 6364136223846793005u + 1442695040888963407u;
    return (uint32_t)((state >> 33) % below);
}

/* Each label of one stands for one label of the other. */
static void assert_same_pieces(const uint32_t *one, const uint32_t *two, size_t pixels, uint32_t count) {
    uint32_t *of_one = test_calloc(count + 1, sizeof *of_one), *of_two = test_calloc(count + 1, sizeof *of_two);
    for (size_t i = 0; i < pixels; i++) {
        assert_true(one[i] <= count && two[i] <= count);
        assert_int_equal(one[i] == 0, two[i] == 0);
        if (one[i] == 0) continue;
        if (of_one[one[i]] == 0) of_one[one[i]] = two[i];
        if (of_two[two[i]] == 0) of_two[two[i]] = one[i];
        assert_int_equal(of_one[one[i]], two[i]);
        assert_int_equal(of_two[two[i]], one[i]);
    }
    test_free(of_one);
    test_free(of_two);
}

static uint32_t leptonica_components(const unsigned char *mask, uint32_t width, uint32_t height, uint32_t *labels) {
    PIX *in = pixCreate((l_int32)width, (l_int32)height, 1);
    for (uint32_t y = 0; y < height; y++)
        for (uint32_t x = 0; x < width; x++)
            if (mask[(size_t)y * width + x] != 0) pixSetPixel(in, (l_int32)x, (l_int32)y, 1);
    PIX *out = pixConnCompTransform(in, 8, 32);
    uint32_t most = 0;
    for (uint32_t y = 0; y < height; y++)
        for (uint32_t x = 0; x < width; x++) {
            l_uint32 label;
            pixGetPixel(out, (l_int32)x, (l_int32)y, &label);
            labels[(size_t)y * width + x] = label;
            if (label > most) most = label;
        }
    pixDestroy(&in);
    pixDestroy(&out);
    return most;
}

static void pieces_of_random_masks(void **state) {
    (void)state;
    for (unsigned i = 0; i < MASKS; i++) {
        Arena *arena = arena_new();
        uint32_t width = 1 + random_below(SIDE_MOST), height = 1 + random_below(SIDE_MOST), density = 5 + random_below(91);
        size_t pixels = (size_t)width * height;
        unsigned char *mask = arena_take(arena, pixels);
        for (size_t k = 0; k < pixels; k++) mask[k] = random_below(100) < density ? 255 : 0;
        uint32_t *ours = arena_many(arena, uint32_t, pixels), *theirs = arena_many(arena, uint32_t, pixels);
        ComponentPicture picture = {mask, width, height, width, 128, NULL};
        Components found = components_of(arena, &picture, ours);
        assert_int_equal(opencv_components(mask, width, height, theirs), found.list.count);
        assert_same_pieces(ours, theirs, pixels, found.list.count);
        assert_int_equal(leptonica_components(mask, width, height, theirs), found.list.count);
        assert_same_pieces(ours, theirs, pixels, found.list.count);
        arena_free(arena);
    }
}

/* Pieces of several kinds at once are the pieces of each kind alone. */
static void pieces_within_kinds(void **state) {
    (void)state;
    for (unsigned i = 0; i < MASKS / 3; i++) {
        Arena *arena = arena_new();
        uint32_t width = 1 + random_below(40), height = 1 + random_below(40);
        size_t pixels = (size_t)width * height;
        unsigned char *mask = arena_take(arena, pixels), *alone = arena_take(arena, pixels);
        uint16_t *kind = arena_many(arena, uint16_t, pixels);
        memset(mask, 255, pixels);
        for (size_t k = 0; k < pixels; k++) kind[k] = (uint16_t)random_below(3);
        uint32_t *ours = arena_many(arena, uint32_t, pixels), *theirs = arena_many(arena, uint32_t, pixels), count = 0;
        ComponentPicture picture = {mask, width, height, width, 128, kind};
        Components found = components_of(arena, &picture, ours);
        for (uint16_t one = 1; one < 3; one++) {
            for (size_t k = 0; k < pixels; k++) alone[k] = kind[k] == one ? 255 : 0;
            uint32_t *pieces = arena_many(arena, uint32_t, pixels), more = opencv_components(alone, width, height, pieces);
            for (size_t k = 0; k < pixels; k++)
                if (pieces[k] != 0) theirs[k] = pieces[k] + count;
            count += more;
        }
        assert_int_equal(found.list.count, count);
        assert_same_pieces(ours, theirs, pixels, count);
        arena_free(arena);
    }
}

static void a_piece_is_measured(void **state) {
    (void)state;
    Arena *arena = arena_new();
    const unsigned char mask[] = {0, 200, 0, 0, 0, 100, 200, 0, 0, 0, 0, 200};
    uint32_t labels[12] = {0};
    ComponentPicture picture = {mask, 4, 3, 4, 100, NULL};
    Components found = components_of(arena, &picture, labels);
    assert_int_equal(found.list.count, 1);
    const Component *piece = found.list.at;
    assert_int_equal(piece->area, 4);
    assert_int_equal(piece->left, 1);
    assert_int_equal(piece->right, 3);
    assert_int_equal(piece->bottom, 2);
    assert_near(piece->sum_x / piece->weight, (200 * 1.5 + 100 * 1.5 + 200 * 2.5 + 200 * 3.5) / 700);
    arena_free(arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pieces_of_random_masks),
        cmocka_unit_test(pieces_within_kinds),
        cmocka_unit_test(a_piece_is_measured),
    };
    return cmocka_run_group_tests_name("components", tests, NULL, NULL);
}
