/* Rows are made when they are wanted, and kept only as long as a later row needs them: of each stage a ring of rows, as
 * many as a trial without pixels found to be enough. So a picture of any height takes the memory of a few dozen rows of it,
 * nothing is computed twice, and what one stage wrote is still in the cache when the next reads it. */
#include "copper/net_inside.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    SIDE_MOST = 1 << 15,
    LOGISTIC_UNIT = 4096, /* steps of the logistic function's table: it changes by a 64th of a 255th between two */
    LOGISTIC_REACH = 13 * LOGISTIC_UNIT / 2 /* beyond, 0 or 255 */
};

/* The rows of one stage: channel c of row y lies at at + ((y % room) * channels + c) * pitch, behind NET_LEFT zeros. */
typedef struct NetRows {
    uint32_t width, height, room;
    uint32_t made; /* rows, from the top */
    size_t pitch;
    float *at;
} NetRows;

typedef struct NetRun {
    const Net *net;
    NetRows rows[NET_STAGES_MOST];
    const NetPort *port;
    unsigned char *bytes; /* of a row that is taken or put */
    float *memory;        /* of all rows, and of these two: */
    float *zeros, *tile;  /* a row outside the picture; what net_conv lays out */
    unsigned char logistic[2 * LOGISTIC_REACH];
    bool trial; /* only how many rows have to be kept is wanted */
} NetRun;

static float *row_at(const NetRun *run, uint32_t stage, uint32_t y) {
    const NetRows *rows = &run->rows[stage];
    return rows->at + (size_t)(y % rows->room) * run->net->stages[stage].channels * rows->pitch + NET_LEFT;
}

/* ---- rows of each sort of stage ---- */

static void input_row(const NetRun *run, uint32_t y) {
    const NetRows *rows = &run->rows[0];
    uint32_t planes = net_channels_in(run->net);
    const unsigned char *in = run->bytes;
    float *to = row_at(run, 0, y);
    run->port->take(run->port->given, y, run->bytes);
    for (uint32_t x = 0; x < rows->width; x++, in += planes)
        for (uint32_t c = 0; c < planes; c++) to[c * rows->pitch + x] = (float)in[c] / 127.5f - 1;
}

/* Pixel 0 of a part's channel in row y of what its view shows. */
static const float *part_row(const NetRun *run, const NetPart *part, uint32_t y, uint32_t channel) {
    return row_at(run, part->stage, y >> part->grown) + channel * run->rows[part->stage].pitch;
}

/* Channel c goes to 4 c, 4 c + 1 (right), 4 c + 2 (below), 4 c + 3. */
static void fold_row(const NetRun *run, uint32_t number, uint32_t y) {
    const NetView *in = &run->net->stages[number].in;
    const NetRows *rows = &run->rows[number];
    float *to = row_at(run, number, y);
    for (uint32_t p = 0; p < in->count; p++)
        for (uint32_t c = 0; c < in->parts[p].channels; c++)
            for (uint32_t k = 0; k < 4; k++, to += rows->pitch) {
                const float *from = part_row(run, &in->parts[p], 2 * y + k / 2, c);
                for (uint32_t x = 0; x < rows->width; x++) to[x] = from[(2 * x + k % 2) >> in->parts[p].grown];
            }
}

static void unfold_row(const NetRun *run, uint32_t number, uint32_t y) {
    const NetView *in = &run->net->stages[number].in;
    const NetRows *rows = &run->rows[number];
    float *to = row_at(run, number, y);
    for (uint32_t p = 0, c = 0; p < in->count; p++)
        for (uint32_t k = 0; k < in->parts[p].channels; k++, c++) {
            if (c % 4 / 2 != y % 2) continue;
            const float *from = part_row(run, &in->parts[p], y / 2, k);
            float *right = to + c / 4 * rows->pitch + c % 2;
            for (uint32_t x = 0; x < rows->width / 2; x++) right[2 * x] = from[x >> in->parts[p].grown];
        }
}

static void conv_rows(const NetRun *run, uint32_t number, uint32_t y, uint32_t count) {
    const NetStage *stage = &run->net->stages[number];
    NetConv conv = {
        .stage = stage, .out_step = run->rows[number].pitch, .width = run->rows[number].width, .tile = run->tile};
    for (uint32_t p = 0; p < stage->in.count; p++) {
        const NetPart *part = &stage->in.parts[p];
        for (uint32_t t = 0; t < stage->lines; t++) {
            int64_t at = (int64_t)y * stage->stride + ((int64_t)t - 1) * stage->dilation;
            bool inside = at >= 0 && at < (int64_t)run->rows[part->stage].height << part->grown;
            conv.lines[p][t] = inside ? (NetLine){part_row(run, part, (uint32_t)at, 0), run->rows[part->stage].pitch}
                                      : (NetLine){run->zeros + NET_LEFT, 0};
        }
    }
    for (uint32_t r = 0; r < count; r++) conv.out[r] = row_at(run, number, y + r);
    net_conv(&conv);
}

/* ---- which row when ---- */

/* The rows of its input that `count` rows from y on look at: from first to last, inside or not. */
static void rows_wanted(const NetStage *stage, uint32_t y, uint32_t count, int64_t *first, int64_t *last) {
    switch (stage->sort) {
    case NET_CONV:
        *first = (int64_t)y * stage->stride - stage->dilation;
        *last = (int64_t)(y + count - 1) * stage->stride + stage->dilation;
        break;
    case NET_FOLD:
        *first = 2 * (int64_t)y;
        *last = *first + 1;
        break;
    default:
        *first = *last = y / 2;
    }
}

/* On trial: the rows from `first` on of a stage's input must still be there. */
static void keep_from(NetRun *run, const NetStage *stage, int64_t first) {
    for (uint32_t p = 0; p < stage->in.count; p++) {
        NetRows *from = &run->rows[stage->in.parts[p].stage];
        uint32_t low = (uint32_t)(first < 0 ? 0 : first) >> stage->in.parts[p].grown;
        if (from->made - low > from->room) from->room = from->made - low;
    }
}

/* Makes the rows of a stage up to one, and what they need of the stages before. */
static void make_rows(NetRun *run, uint32_t number, uint32_t upto) {
    const NetStage *stage = &run->net->stages[number];
    NetRows *rows = &run->rows[number];
    while (rows->made <= upto) {
        uint32_t y = rows->made, count = stage->lines == NET_LINES_MOST ? NET_ROWS_MOST : 1;
        if (count > rows->height - y) count = rows->height - y;
        int64_t first, last;
        rows_wanted(stage, y, count, &first, &last);
        for (uint32_t p = 0; p < stage->in.count; p++) {
            const NetPart *part = &stage->in.parts[p];
            const NetRows *from = &run->rows[part->stage];
            uint32_t high = (uint32_t)last >> part->grown;
            make_rows(run, part->stage, high < from->height ? high : from->height - 1);
        }
        rows->made += count;
        if (run->trial) {
            if (rows->room < count) rows->room = count;
            keep_from(run, stage, first);
            continue;
        }
        if (stage->sort == NET_CONV) conv_rows(run, number, y, count);
        if (stage->sort == NET_FOLD) fold_row(run, number, y);
        if (stage->sort == NET_UNFOLD) unfold_row(run, number, y);
        if (stage->sort == NET_INPUT) input_row(run, y);
    }
}

/* ---- the whole ---- */

/* 255 / (1 + exp(-x)), rounded. */
static void fill_logistic(unsigned char table[2 * LOGISTIC_REACH]) {
    for (int i = 0; i < 2 * LOGISTIC_REACH; i++) {
        float x = ((float)(i - LOGISTIC_REACH) + 0.5f) / LOGISTIC_UNIT;
        table[i] = (unsigned char)(255 / (1 + expf(-x)) + 0.5f);
    }
}

static unsigned char logistic(const unsigned char *table, float x) {
    const float most = LOGISTIC_REACH - 1;
    float at = x * LOGISTIC_UNIT; /* not a number: as much as nothing */
    return table[LOGISTIC_REACH + (int)(at > most ? most : at > -most ? at : -most) - (at < 0)];
}

static void write_row(const NetRun *run, uint32_t y) {
    uint32_t last = run->net->count - 1;
    const NetRows *rows = &run->rows[last];
    const float *from = row_at(run, last, y);
    for (uint32_t c = 0; c < run->net->stages[last].channels; c++, from += rows->pitch) {
        for (uint32_t x = 0; x < rows->width; x++) run->bytes[x] = logistic(run->logistic, from[x]);
        run->port->put(run->port->given, y, c, run->bytes);
    }
}

/* How many rows each stage must keep, found by going through all of them without pixels. */
static void try_rows(NetRun *run) {
    uint32_t last = run->net->count - 1;
    run->trial = true;
    make_rows(run, last, run->rows[last].height - 1);
    run->trial = false;
    for (uint32_t i = 0; i <= last; i++) run->rows[i].made = 0;
}

/* All in one piece: many would each be rounded up to the system's large pages. */
static bool take_memory(NetRun *run) {
    size_t widest = 0, floats = NET_TILE + NET_BEYOND;
    for (uint32_t i = 0; i < run->net->count; i++) {
        NetRows *rows = &run->rows[i];
        rows->pitch = (NET_LEFT + rows->width + NET_RIGHT + 15) / 16 * 16;
        if (rows->pitch % 256 == 0)
            rows->pitch += 16; /* channels a few KiB apart would fall onto each other in the cache */
        if (rows->pitch > widest) widest = rows->pitch;
        floats += (size_t)rows->room * run->net->stages[i].channels * rows->pitch;
    }
    run->bytes = malloc((size_t)run->rows[0].width * net_channels_in(run->net));
    size_t bytes = (floats + widest + 15) / 16 * 16 * sizeof(float);
    run->memory = aligned_alloc(64, bytes);
    if (run->bytes == NULL || run->memory == NULL) return false;
    memset(run->memory, 0, bytes);
    run->tile = run->memory;
    run->zeros = run->tile + NET_TILE;
    float *at = run->zeros + widest;
    for (uint32_t i = 0; i < run->net->count; i++) {
        run->rows[i].at = at;
        at += (size_t)run->rows[i].room * run->net->stages[i].channels * run->rows[i].pitch;
    }
    return true;
}

/* Each stage's pixels are whole. */
static bool net_fits(const Net *net, uint32_t width, uint32_t height) {
    for (uint32_t i = 0; i < net->count; i++)
        if ((width | height) & ((1u << net->stages[i].shrink) - 1)) return false;
    return true;
}

bool net_stream(const Net *net, uint32_t width, uint32_t height, const NetPort *port) {
    if (width == 0 || height == 0 || width > SIDE_MOST || height > SIDE_MOST || !net_fits(net, width, height)) return false;
    NetRun *run = calloc(1, sizeof *run);
    if (run == NULL) return false;
    run->net = net;
    run->port = port;
    fill_logistic(run->logistic);
    for (uint32_t i = 0; i < net->count; i++)
        run->rows[i] = (NetRows){.width = width >> net->stages[i].shrink, .height = height >> net->stages[i].shrink};
    try_rows(run);
    bool done = take_memory(run);
    for (uint32_t y = 0; done && y < height; y++) {
        make_rows(run, net->count - 1, y);
        write_row(run, y);
    }
    free(run->bytes);
    free(run->memory);
    free(run);
    return done;
}

/* ---- a picture in memory ---- */

typedef struct NetPicture {
    const unsigned char *in;
    unsigned char *out;
    size_t width, height, planes;
} NetPicture;

static void take_row(void *given, uint32_t y, unsigned char *pixels) {
    const NetPicture *picture = given;
    size_t row = picture->width * picture->planes;
    memcpy(pixels, picture->in + y * row, row);
}

static void put_row(void *given, uint32_t y, uint32_t channel, const unsigned char *row) {
    const NetPicture *picture = given;
    memcpy(picture->out + (channel * picture->height + y) * picture->width, row, picture->width);
}

bool net_run(const Net *net, uint32_t width, uint32_t height, const unsigned char *in, unsigned char *out) {
    NetPicture picture = {in, out, width, height, net_channels_in(net)};
    return net_stream(net, width, height, &(NetPort){&picture, take_row, put_row});
}
