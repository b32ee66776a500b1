/* copper: the network in plain C, held against the same layers written out naively; and files that are no net. */
#include "tests/check.h"

#include "base/file.h"
#include "copper/net.h"

#include <stdio.h>
#include <stdlib.h>

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

/* A picture: size channels * height * width, channel by channel. */
typedef struct Planes {
    int channels, width, height;
    double *at;
} Planes;

static Planes planes(Arena *arena, int channels, int width, int height) {
    return (Planes){channels, width, height, arena_many(arena, double, (size_t)(channels * width * height))};
}

static double *at(const Planes *p, int c, int y, int x) { return &p->at[(c * p->height + y) * p->width + x]; }

/* The convolution by its definition: output[o][y][x] = bias[o] + sum over i, ky, kx of weight[o][i][ky][kx] input; weights,
 * then the bias, are taken from *next. */
static Planes naive(Arena *arena, Planes in, const double **next, int outs, int stride, int dilation, bool relu) {
    Planes out = planes(arena, outs, in.width / stride, in.height / stride);
    const double *weights = *next, *bias = weights + outs * in.channels * 9;
    for (int o = 0; o < outs; o++)
        for (int y = 0; y < out.height; y++)
            for (int x = 0; x < out.width; x++) {
                double sum = bias[o];
                for (int i = 0; i < in.channels; i++)
                    for (int k = 0; k < 9; k++) {
                        int v = y * stride + (k / 3 - 1) * dilation, u = x * stride + (k % 3 - 1) * dilation;
                        if (v < 0 || u < 0 || v >= in.height || u >= in.width) continue;
                        sum += weights[(o * in.channels + i) * 9 + k] * *at(&in, i, v, u);
                    }
                *at(&out, o, y, x) = relu && sum < 0 ? 0 : sum;
            }
    *next = bias + outs;
    return out;
}

static Planes folded(Arena *arena, Planes in) {
    Planes out = planes(arena, in.channels * 4, in.width / 2, in.height / 2);
    for (int c = 0; c < out.channels; c++)
        for (int y = 0; y < out.height; y++)
            for (int x = 0; x < out.width; x++) *at(&out, c, y, x) = *at(&in, c / 4, 2 * y + c % 4 / 2, 2 * x + c % 2);
    return out;
}

static Planes unfolded(Arena *arena, Planes in) {
    Planes out = planes(arena, in.channels / 4, in.width * 2, in.height * 2);
    for (int c = 0; c < out.channels; c++)
        for (int y = 0; y < out.height; y++)
            for (int x = 0; x < out.width; x++) *at(&out, c, y, x) = *at(&in, c * 4 + y % 2 * 2 + x % 2, y / 2, x / 2);
    return out;
}

static Planes grown_and_joined(Arena *arena, Planes in, Planes kept) {
    Planes out = planes(arena, in.channels + kept.channels, kept.width, kept.height);
    for (int c = 0; c < out.channels; c++)
        for (int y = 0; y < out.height; y++)
            for (int x = 0; x < out.width; x++)
                *at(&out, c, y, x) = c < in.channels ? *at(&in, c, y / 2, x / 2) : *at(&kept, c - in.channels, y, x);
    return out;
}

/* A net of these steps with weights by lot, which come back. */
static Net *invented(Arena *arena, const char *steps, int count, double **weights) {
    Out file = out_new(arena);
    out_fmt(&file, "unpick-net 1\n%sweights %d\n", steps, count);
    *weights = arena_many(arena, double, (size_t)count);
    for (int i = 0; i < count; i++) {
        (*weights)[i] = dice() / 4;
        uint16_t half = half_of((*weights)[i]);
        out_char(&file, (char)(half & 255)), out_char(&file, (char)(half >> 8));
    }
    Diags problems = diags_new(arena);
    return net_new(arena, TEXT("net"), out_text(&file), &problems);
}

/* A picture by lot: as bytes, and as the net sees it. */
static unsigned char *invented_picture(Arena *arena, int count, int width, int height, Planes *in) {
    unsigned char *pixels = arena_take(arena, (size_t)(count * width * height));
    *in = planes(arena, count, width, height);
    for (int i = 0; i < count * width * height; i++) pixels[i] = (unsigned char)(128 + 100 * dice());
    for (int i = 0; i < count * width * height; i++) in->at[i % count * width * height + i / count] = pixels[i] / 127.5 - 1;
    return pixels;
}

static void expect(Arena *arena, const Net *net, const unsigned char *rgb, Planes logits) {
    assert_non_null(net);
    assert_int_equal(net_channels_out(net), logits.channels);
    unsigned char *out = arena_take(arena, (size_t)(logits.channels * logits.width * logits.height));
    assert_true(net_run(net, (uint32_t)logits.width, (uint32_t)logits.height, rgb, out));
    int between = 0;
    for (int c = 0; c < logits.channels; c++)
        for (int y = 0; y < logits.height; y++)
            for (int x = 0; x < logits.width; x++) {
                double expected = 255 / (1 + exp(-*at(&logits, c, y, x)));
                int got = out[(c * logits.height + y) * logits.width + x];
                between += got > 20 && got < 235;
                if (fabs(got - expected) > 0.51) fail_msg("plane %d at %d,%d: %d, expected %.2f", c, x, y, got, expected);
            }
    assert_true(between > logits.channels * logits.width * logits.height / 2); /* what is 0 or 255 anyhow tells little */
}

/* 3 to 11 channels, halving, with relu; 11 to 16, dilated; unfolded to four planes of the size of the picture. */
static void convolutions_are_those_of_the_definition(void **state) {
    (void)state;
    Arena *arena = arena_new();
    double *weights;
    const Net *net = invented(arena, "conv 3 11 2 1 relu\nconv 11 16 1 2 none\nunfold\n",
                              11 * (3 * 9 + 1) + 16 * (11 * 9 + 1), &weights);
    const double *next = weights;
    Planes in;
    const unsigned char *rgb = invented_picture(arena, 3, 32, 32, &in);
    Planes middle = naive(arena, in, &next, 11, 2, 1, true);
    expect(arena, net, rgb, unfolded(arena, naive(arena, middle, &next, 16, 1, 2, false)));
    arena_free(arena);
}

/* Down and up again beside what was kept, wider than any block of pixels and of a height that no block of rows divides. */
static void what_was_kept_is_joined_again(void **state) {
    (void)state;
    Arena *arena = arena_new();
    double *weights;
    const Net *net =
        invented(arena,
                 "take 4\nfold\nconv 16 9 1 1 relu\nkeep 0\nconv 9 10 2 1 relu\nconv 10 10 1 1 none\nconv 10 7 1 3 relu\n"
                 "grow\njoin 0\nconv 16 4 1 1 none\nunfold\n",
                 9 * (16 * 9 + 1) + 10 * (9 * 9 + 1) + 10 * (10 * 9 + 1) + 7 * (10 * 9 + 1) + 4 * (16 * 9 + 1), &weights);
    const double *next = weights;
    Planes in;
    const unsigned char *rgb = invented_picture(arena, 4, 232, 84, &in);
    Planes kept = naive(arena, folded(arena, in), &next, 9, 1, 1, true);
    Planes down = naive(arena, kept, &next, 10, 2, 1, true);
    Planes level = naive(arena, down, &next, 10, 1, 1, false);
    Planes wide = naive(arena, level, &next, 7, 1, 3, true);
    expect(arena, net, rgb, unfolded(arena, naive(arena, grown_and_joined(arena, wide, kept), &next, 4, 1, 1, false)));
    arena_free(arena);
}

static void what_is_no_net_is_refused(void **state) {
    (void)state;
    static const Text files[] = {TEXT_INIT(""),
                                 TEXT_INIT("unpick-net 2\n"),
                                 TEXT_INIT("unpick-net 1\nweights 1\n"),
                                 TEXT_INIT("unpick-net 1\nconv 4 8 1 1 relu\nweights 0\n"),
                                 TEXT_INIT("unpick-net 1\njoin 0\nweights 0\n"),
                                 TEXT_INIT("unpick-net 1\ngrow\nweights 0\n"),
                                 TEXT_INIT("unpick-net 1\ntake 9\nweights 0\n"),
                                 TEXT_INIT("unpick-net 1\nfold\ntake 3\nweights 0\n"),
                                 TEXT_INIT("unpick-net 1\nfold\nfold\nfold\nfold\nfold\n")};
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
        cmocka_unit_test(what_was_kept_is_joined_again),
        cmocka_unit_test(what_is_no_net_is_refused),
    };
    return cmocka_run_group_tests_name("copper_net", tests, NULL, NULL);
}
