/* Convolutions of 3x3 pixels, a block of up to 48 pixels of a row at a time. The rows that a block needs are first laid
 * into a tile, channel by channel, where the processor's nearest cache holds them; then 8 channels of the result by 48
 * pixels are summed in registers.
 *
 * Stride and dilation 1, which is where nearly all time goes: Winograd's minimal filtering F(4, 3) down the columns (Lavin
 * and Gray 2016, from memory; points 0, 1, -1, 2, -2). Six rows of input become six others, each needs one row of weights,
 * and four rows of output come of the six sums: half the products. Along the row nothing is transformed, so that vectors
 * stay whole. */
#include "copper/net_inside.h"

#include <string.h>

/* A product and a sum in one instruction where the processor has it, which ISO C leaves out unless asked; and loops whose
 * pointers never meet. */
#if defined(__clang__)
#pragma STDC FP_CONTRACT ON
#pragma clang diagnostic ignored "-Wpass-failed" /* with sanitizers a loop may stay as it is */
#define NET_APART _Pragma("clang loop vectorize(assume_safety)")
#else
#pragma GCC optimize("fp-contract=fast")
#define NET_APART _Pragma("GCC ivdep")
#endif

enum {
    BLOCK = 48,
    SPAN = 64, /* pixels laid out for a block: NET_REACH_MOST on both sides */
    RAW = 2 * SPAN
};

typedef struct NetTile {
    uint32_t tap[3]; /* of the three columns: floats from a channel's first to the pixel that is the block's first */
    uint32_t step;   /* floats to the next channel */
} NetTile;

/* What a vector of floats may be: the widest that the processor has, and registers enough for all sums. */
#define NET_LANES 4
#define NET_ROWS_KEPT 4
#include "copper/net_sums.h"
#if defined(__x86_64__)
#define NET_LANES 8
#define NET_ROWS_KEPT 4
#include "copper/net_sums.h"
#define NET_LANES 16
#define NET_ROWS_KEPT 8
#include "copper/net_sums.h"
#endif

void net_transform_weights(const float w[3], float lines[NET_LINES_MOST]) {
    float even = w[0] + w[2], far = w[0] / 24 + w[2] / 6;
    lines[0] = w[0] / 4;
    lines[1] = -(even + w[1]) / 6;
    lines[2] = -(even - w[1]) / 6;
    lines[3] = far + w[1] / 12;
    lines[4] = far - w[1] / 12;
    lines[5] = w[2];
}

/* `count` pixels of a channel from pixel `first` on (a multiple of 8, perhaps negative), in `raw` where they have to be
 * made. */
static inline __attribute__((always_inline)) const float *fetch(NetLine line, uint32_t channel, uint32_t grown,
                                                                ptrdiff_t first, const int count, float *raw) {
    const float *from = line.at + channel * line.step;
    if (grown == 0) return from + first;
    if (grown == 1) {
        from += first / 2;
        for (int i = 0; i < count / 2; i++) raw[2 * i] = raw[2 * i + 1] = from[i];
    } else {
        for (int i = 0; i < count; i++) raw[i] = from[(first + i) >> grown];
    }
    return raw;
}

/* Six rows of a channel to six others. */
static inline __attribute__((always_inline)) void transform(const float *const row[NET_LINES_MOST], float *to,
                                                            size_t line_step) {
    const float *a = row[0], *b = row[1], *c = row[2], *d = row[3], *e = row[4], *f = row[5];
    NET_APART
    for (int i = 0; i < SPAN; i++, to++) {
        float near = d[i] - 4 * b[i], far = 2 * (d[i] - b[i]);
        to[0 * line_step] = 4 * a[i] - 5 * c[i] + e[i];
        to[1 * line_step] = e[i] - 4 * c[i] + near;
        to[2 * line_step] = e[i] - 4 * c[i] - near;
        to[3 * line_step] = e[i] - c[i] + far;
        to[4 * line_step] = e[i] - c[i] - far;
        to[5 * line_step] = 4 * b[i] - 5 * d[i] + f[i];
    }
}

/* Lays out what the block of pixels from x on needs: for each line of weights all channels. */
static inline __attribute__((always_inline)) void fill_tile(const NetConv *conv, uint32_t x, const NetTile *tile) {
    const NetStage *stage = conv->stage;
    size_t line_step = (size_t)stage->in.channels * tile->step;
    float *to = conv->tile, raw[NET_LINES_MOST][RAW];
    for (uint32_t p = 0; p < stage->in.count; p++) {
        const NetPart *part = &stage->in.parts[p];
        for (uint32_t c = 0; c < part->channels; c++, to += tile->step) {
            const float *row[NET_LINES_MOST];
            if (stage->stride == 2) {
                ptrdiff_t first = 2 * ((ptrdiff_t)x - NET_REACH_MOST);
                for (uint32_t t = 0; t < 3; t++) {
                    const float *from = fetch(conv->lines[p][t], c, part->grown, first, RAW, raw[0]);
                    for (int i = 0; i < SPAN; i++) {
                        to[t * line_step + (size_t)i] = from[2 * i];
                        to[t * line_step + SPAN + (size_t)i] = from[2 * i + 1];
                    }
                }
                continue;
            }
            ptrdiff_t first = (ptrdiff_t)x - NET_REACH_MOST;
            for (uint32_t t = 0; t < stage->lines; t++)
                row[t] = fetch(conv->lines[p][t], c, part->grown, first, SPAN, raw[t]);
            if (stage->lines == NET_LINES_MOST)
                transform(row, to, line_step);
            else
                for (uint32_t t = 0; t < 3; t++) memcpy(to + t * line_step, row[t], SPAN * sizeof(float));
        }
    }
}

static inline float finish(float sum, float bias, bool relu) {
    sum += bias;
    return relu && sum < 0 ? 0 : sum;
}

/* Four rows of the result from six sums. */
static inline __attribute__((always_inline)) void finish_four(const float (*sums)[NET_OUTS * BLOCK], float bias, bool relu,
                                                              uint32_t count, float *const out[NET_ROWS_MOST]) {
    float unwanted[BLOCK], *restrict to[NET_ROWS_MOST];
    for (int r = 0; r < NET_ROWS_MOST; r++) to[r] = out[r] != NULL ? out[r] : unwanted;
    NET_APART
    for (uint32_t i = 0; i < count; i++) {
        float one = sums[1][i] + sums[2][i], other = sums[1][i] - sums[2][i];
        float two = sums[3][i] + sums[4][i], four = sums[3][i] - sums[4][i];
        to[0][i] = finish(sums[0][i] + one + two, bias, relu);
        to[1][i] = finish(other + 2 * four, bias, relu);
        to[2][i] = finish(one + 4 * two, bias, relu);
        to[3][i] = finish(other + 8 * four + sums[5][i], bias, relu);
    }
}

/* lanes is constant where this is called. */
static inline __attribute__((always_inline)) void sum_tile(const int lanes, const NetTile *tile, const float *in,
                                                           uint32_t depth, const float *weights, uint32_t count,
                                                           float *sums) {
#if defined(__x86_64__)
    if (lanes == 16) return sum_tile16(tile, in, depth, weights, count, sums);
    if (lanes == 8) return sum_tile8(tile, in, depth, weights, count, sums);
#endif
    sum_tile4(tile, in, depth, weights, count, sums);
}

/* One row, or four. */
static inline __attribute__((always_inline)) void conv_rows(const NetConv *conv, const int lanes) {
    const NetStage *stage = conv->stage;
    uint32_t reach = NET_REACH_MOST, d = stage->dilation, depth = stage->in.channels, lines = stage->lines;
    NetTile tile = stage->stride == 2 ? (NetTile){{SPAN + reach - 1, reach, SPAN + reach}, 2 * SPAN}
                                      : (NetTile){{reach - d, reach, reach + d}, SPAN};
    bool four = lines == NET_LINES_MOST;
    for (uint32_t x = 0; x < conv->width; x += BLOCK) {
        float sums[NET_LINES_MOST][NET_OUTS * BLOCK];
        uint32_t count = conv->width - x < BLOCK ? conv->width - x : BLOCK;
        const float *weights = stage->weights;
        fill_tile(conv, x, &tile);
        for (uint32_t o = 0; o < stage->channels; o += NET_OUTS) {
            uint32_t goes = four ? lines : 1, deep = four ? depth : 3 * depth; /* lines are summed apart, or all in one */
            for (uint32_t t = 0; t < goes; t++, weights += (size_t)deep * 3 * NET_OUTS)
                sum_tile(lanes, &tile, conv->tile + (size_t)t * deep * tile.step, deep, weights, count, sums[t]);
            for (uint32_t k = 0; k < NET_OUTS && o + k < stage->channels; k++) {
                float *out[NET_ROWS_MOST] = {NULL}, bias = stage->bias[o + k];
                for (int r = 0; r < NET_ROWS_MOST; r++)
                    if (conv->out[r] != NULL) out[r] = conv->out[r] + (o + k) * conv->out_step + x;
                const float *sum = sums[0] + k * BLOCK;
                if (four)
                    finish_four((const float(*)[NET_OUTS * BLOCK])(const void *)sum, bias, stage->relu, count, out);
                else
                    for (uint32_t i = 0; i < count; i++) out[0][i] = finish(sum[i], bias, stage->relu);
            }
        }
    }
}

static void conv_plain(const NetConv *conv) { conv_rows(conv, 4); }
#if defined(__x86_64__)
__attribute__((target("avx2,fma"))) static void conv_avx2(const NetConv *conv) { conv_rows(conv, 8); }
__attribute__((target("avx512f,fma"))) static void conv_avx512(const NetConv *conv) { conv_rows(conv, 16); }
#endif

void net_conv(const NetConv *conv) {
#if defined(__x86_64__)
    if (__builtin_cpu_supports("avx512f")) return conv_avx512(conv);
    if (__builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma")) return conv_avx2(conv);
#endif
    conv_plain(conv);
}
