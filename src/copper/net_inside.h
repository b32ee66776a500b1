/* What the files net*.c share: a net as stages, each of which makes rows of pixels from rows of the stages before it.
 *
 * net.c reads a file into stages, net_run.c decides which row is made when, net_conv.c makes the rows of a convolution. */
#ifndef UNPICK_COPPER_NET_INSIDE_H
#define UNPICK_COPPER_NET_INSIDE_H

#include "copper/net.h"

enum {
    NET_STAGES_MOST = 65,
    NET_PARTS_MOST = 8,
    NET_CHANNELS_MOST = 256,
    NET_REACH_MOST = 8, /* of a convolution: its dilation */
    NET_OUTS = 8,       /* channels of the result whose weights lie side by side */
    NET_LINES_MOST = 6, /* rows that one go of a convolution looks at */
    NET_ROWS_MOST = 4,  /* and makes */
    NET_LEFT = 24,      /* floats before a row's first pixel, at least 16 of them zero for what lies outside */
    NET_RIGHT = 16,     /* and behind its last, all zero */
    NET_BEYOND = 136    /* a block may read so far behind a row's last pixel; nothing comes of what it reads there */
};

typedef enum NetSort { NET_INPUT, NET_FOLD, NET_CONV, NET_UNFOLD } NetSort;

/* Channels as they are seen by what comes next: those of one stage, with each pixel made 2x2 so many times. */
typedef struct NetPart {
    uint32_t stage, channels, grown;
} NetPart;

/* The channels of several, one behind the other: nothing is copied for `grow` and `join`. */
typedef struct NetView {
    NetPart parts[NET_PARTS_MOST];
    uint32_t count, channels, shrink; /* shrink: pixels of the picture to one here, as a power of two */
} NetView;

typedef struct NetStage {
    NetSort sort;
    NetView in;
    uint32_t channels, shrink; /* of what it makes */
    uint32_t stride, dilation;
    bool relu;
    uint32_t lines;       /* of weights: 3, or NET_LINES_MOST when they are transformed (net_conv.c) */
    const float *weights; /* [channels / NET_OUTS rounded up][lines][in.channels][3][NET_OUTS] */
    const float *bias;    /* size channels rounded up to NET_OUTS */
} NetStage;

struct Net {
    NetStage stages[NET_STAGES_MOST]; /* the first is the picture itself */
    uint32_t count;
};

/* ---- net_conv.c ---- */

/* Whether a convolution's weights are transformed: four rows are then made at a time, with half the products. */
static inline bool net_transforms(uint32_t stride, uint32_t dilation) { return stride == 1 && dilation == 1; }
/* One column of three weights of the file to the NET_LINES_MOST that stand for it. */
void net_transform_weights(const float down[3], float lines[NET_LINES_MOST]);

/* Pixel 0 of a row's first channel; the next channel's lies `step` floats further. Readable from -NET_LEFT on. */
typedef struct NetLine {
    const float *at;
    size_t step;
} NetLine;

typedef struct NetConv {
    const NetStage *stage;
    NetLine lines[NET_PARTS_MOST][NET_LINES_MOST]; /* of each part of its input */
    float *out[NET_ROWS_MOST];                     /* NULL: not wanted */
    size_t out_step;
    uint32_t width; /* of the result */
    float *tile;    /* scratch: NET_TILE floats */
} NetConv;

enum { NET_TILE = NET_LINES_MOST * NET_CHANNELS_MOST * 64 };

/* Makes one row, or four when its weights are transformed. */
void net_conv(const NetConv *conv);

#endif
