/* copper: the network in plain C, held against the same layers written out naively; and files that are no net. */
#include "tests/check.h"

#include "base/file.h"
#include "copper/net.h"

#include <stdio.h>
#include <stdlib.h>

enum { SIDE = 32 };

static uint64_t state_of_dice;

/* Small numbers that a half float holds exactly: sixteenths from -8/16 to 7/16. */
static double dice(void) {
    state_of_dice = state_of_dice * 6364136223846793005u + 1442695040888963407u;
    return ((double)(state_of_dice >> 60) - 8) / 16;
}

static uint16_t half_of(double value) {
    if (value == 0) return 0;
    int exponent;
    double fraction = frexp(fabs(value), &exponent); /* 0.5 <= fraction < 1 */
    return (uint16_t)((value < 0 ? 0x8000 : 0) | (exponent + 14) << 10 | (int)((fraction * 2 - 1) * 1024));
}

/* The convolution by its definition: output[o][y][x] = bias[o] + sum over i, ky, kx of weight[o][i][ky][kx] input. */
static void naive(const double *in, int channels, int side, const double *weights, const double *bias, int outs, int stride,
                  int dilation, bool relu, double *out) {
    int small = side / stride;
    for (int o = 0; o < outs; o++)
        for (int y = 0; y < small; y++)
            for (int x = 0; x < small; x++) {
                double sum = bias[o];
                for (int i = 0; i < channels; i++)
                    for (int k = 0; k < 9; k++) {
                        int v = y * stride + (k / 3 - 1) * dilation, u = x * stride + (k % 3 - 1) * dilation;
                        if (v < 0 || u < 0 || v >= side || u >= side) continue;
                        sum += weights[(o * channels + i) * 9 + k] * in[(i * side + v) * side + u];
                    }
                out[(o * small + y) * small + x] = relu && sum < 0 ? 0 : sum;
            }
}

/* 3 to 11 channels, halving, with relu; 11 to 16, dilated; unfolded to four planes of the size of the picture. */
static void convolutions_are_those_of_the_definition(void **state) {
    (void)state;
    Arena *arena = arena_new();
    Out file = out_new(arena);
    out_lit(&file, "unpick-net 1\nconv 3 11 2 1 relu\nconv 11 16 1 2 none\nunfold\nweights ");
    int first = 11 * 3 * 9, second = 16 * 11 * 9, count = first + 11 + second + 16;
    double *w = arena_many(arena, double, count);
    out_fmt(&file, "%d\n", count);
    for (int i = 0; i < count; i++) {
        w[i] = dice();
        uint16_t half = half_of(w[i]);
        out_char(&file, (char)(half & 255)), out_char(&file, (char)(half >> 8));
    }
    Diags problems = diags_new(arena);
    Net *net = net_new(arena, TEXT("net"), out_text(&file), &problems);
    assert_non_null(net);
    assert_int_equal(net_channels_out(net), 4);
    unsigned char *rgb = arena_take(arena, SIDE * SIDE * 3), *out = arena_take(arena, SIDE * SIDE * 4);
    double *in = arena_many(arena, double, SIDE * SIDE * 3), *middle = arena_many(arena, double, SIDE * SIDE * 11),
           *last = arena_many(arena, double, SIDE * SIDE * 16);
    for (int i = 0; i < SIDE * SIDE * 3; i++) rgb[i] = (unsigned char)(128 + 100 * dice());
    for (int c = 0; c < 3; c++)
        for (int i = 0; i < SIDE * SIDE; i++) in[c * SIDE * SIDE + i] = rgb[i * 3 + c] / 127.5 - 1;
    naive(in, 3, SIDE, w, w + first, 11, 2, 1, true, middle);
    naive(middle, 11, SIDE / 2, w + first + 11, w + first + 11 + second, 16, 1, 2, false, last);
    assert_true(net_run(net, SIDE, SIDE, rgb, out));
    for (int c = 0; c < 4; c++)
        for (int y = 0; y < SIDE; y++)
            for (int x = 0; x < SIDE; x++) {
                double logit = last[((c * 4 + y % 2 * 2 + x % 2) * SIDE / 2 + y / 2) * SIDE / 2 + x / 2];
                double expected = 255 / (1 + exp(-logit));
                if (fabs(out[(c * SIDE + y) * SIDE + x] - expected) > 0.51)
                    fail_msg("plane %d at %d,%d: %d, expected %.2f", c, x, y, out[(c * SIDE + y) * SIDE + x], expected);
            }
    arena_free(arena);
}

static void what_is_no_net_is_refused(void **state) {
    (void)state;
    static const Text files[] = {TEXT_INIT(""), TEXT_INIT("unpick-net 2\n"), TEXT_INIT("unpick-net 1\nweights 1\n"),
                                 TEXT_INIT("unpick-net 1\nconv 4 8 1 1 relu\nweights 0\n"), TEXT_INIT("unpick-net 1\njoin 0\nweights 0\n"),
                                 TEXT_INIT("unpick-net 1\ngrow\nweights 0\n"), TEXT_INIT("unpick-net 1\nfold\nfold\nfold\nfold\nfold\n")};
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
        Arena *arena = arena_new();
        Diags problems = diags_new(arena);
        assert_null(net_new(arena, TEXT("x.net"), files[i], &problems));
        assert_int_equal(problems.list.count, 1);
        arena_free(arena);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(convolutions_are_those_of_the_definition),
        cmocka_unit_test(what_is_no_net_is_refused),
    };
    return cmocka_run_group_tests_name("copper_net", tests, NULL, NULL);
}
