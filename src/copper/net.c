/* Tensors are rows of pixels of channels (channels innermost) with a zero border wide enough for every convolution, so that no
 * pixel is special. A convolution keeps a block of output pixels by up to 32 output channels in registers and runs over the
 * 3x3 neighbourhood and the input channels: one broadcast and a few fused multiply-adds a step, 60 to 80 % of what the
 * processor can do. Channels are padded to eight, a vector of floats. */
#include "copper/net.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { OPS_MOST = 64, KEPT_MOST = 8, LANES = 8, BORDER = 8, CHANNELS_MOST = 256, SIDE_MOST = 4096 };

typedef float Lanes __attribute__((vector_size(LANES * sizeof(float))));
typedef int32_t LaneMask __attribute__((vector_size(LANES * sizeof(int32_t))));
typedef float LooseLanes __attribute__((vector_size(LANES * sizeof(float)), aligned(4)));

typedef enum NetOpSort { NET_FOLD, NET_CONV, NET_KEEP, NET_GROW, NET_JOIN, NET_UNFOLD } NetOpSort;

typedef struct NetOp {
    NetOpSort sort;
    uint32_t in, out, stride, dilation, slot;
    bool relu;
    const float *weights; /* [out / 8 / block][9][in padded][block][8], block of up to 4 vectors */
    const float *bias;    /* size out padded */
} NetOp;

struct Net {
    NetOp ops[OPS_MOST];
    uint32_t op_count, channels_out, margin;
};

static uint32_t padded(uint32_t channels) { return (channels + LANES - 1) / LANES * LANES; }

/* ---- reading ---- */

static float half_to_float(uint16_t half) {
    uint32_t sign = (uint32_t)(half & 0x8000) << 16, exponent = half >> 10 & 31, fraction = half & 1023;
    if (exponent == 0) return (sign ? -1.0f : 1.0f) * ldexpf((float)fraction, -24);
    uint32_t bits = sign | (exponent == 31 ? 255u : exponent + 112) << 23 | fraction << 13;
    float value;
    memcpy(&value, &bits, sizeof value);
    return value;
}

typedef struct NetReader {
    Arena *arena;
    Net *net;
    Text left;      /* lines not read yet */
    const char *why;
    uint32_t width; /* channels now */
    uint32_t step;  /* input pixels to a pixel now */
    uint32_t kept[KEPT_MOST];
} NetReader;

static bool whole(Lexer *lexer, uint32_t most, uint32_t *number) {
    Quantity q;
    if (!lex_take_quantity(lexer, &q, NULL) || q.value < 0 || q.value > most || q.value != floor(q.value)) return false;
    *number = (uint32_t)q.value;
    return true;
}

static bool read_conv(NetReader *reader, Lexer *lexer, NetOp *op) {
    op->sort = NET_CONV;
    bool fine = whole(lexer, CHANNELS_MOST, &op->in) && whole(lexer, CHANNELS_MOST, &op->out) && whole(lexer, 2, &op->stride) &&
                whole(lexer, BORDER, &op->dilation) && op->in == reader->width && op->out > 0 && op->stride > 0 && op->dilation > 0;
    op->relu = lex_is(lexer, "relu");
    reader->net->margin += op->dilation * reader->step;
    reader->step *= op->stride == 2 ? 2 : 1;
    reader->width = op->out;
    return fine && (op->relu || lex_is(lexer, "none"));
}

static bool read_slot(NetReader *reader, Lexer *lexer, NetOp *op) {
    if (!whole(lexer, KEPT_MOST - 1, &op->slot)) return false;
    op->in = reader->width;
    if (op->sort == NET_KEEP) reader->kept[op->slot] = reader->width;
    if (op->sort == NET_JOIN) reader->width += reader->kept[op->slot];
    op->out = reader->width;
    return reader->width <= CHANNELS_MOST && reader->kept[op->slot] > 0;
}

/* line = "fold" | "conv" IN OUT STRIDE DILATION ( "relu" | "none" ) | "keep" N | "grow" | "join" N | "unfold" */
static bool read_op(NetReader *reader, Lexer *lexer) {
    if (reader->net->op_count == OPS_MOST) return false;
    NetOp *op = &reader->net->ops[reader->net->op_count++];
    op->in = reader->width;
    Text word = lex_take(lexer).text;
    if (text_is(word, "conv")) return read_conv(reader, lexer, op);
    if (text_is(word, "keep")) return op->sort = NET_KEEP, read_slot(reader, lexer, op);
    if (text_is(word, "join")) return op->sort = NET_JOIN, read_slot(reader, lexer, op);
    if (text_is(word, "fold"))
        op->sort = NET_FOLD, reader->width *= 4, reader->step *= 2;
    else if (text_is(word, "grow"))
        op->sort = NET_GROW, reader->step /= 2;
    else if (text_is(word, "unfold") && reader->width % 4 == 0)
        op->sort = NET_UNFOLD, reader->width /= 4, reader->step /= 2;
    else
        return false;
    op->out = reader->width;
    return reader->width <= CHANNELS_MOST && reader->step > 0;
}

/* Vectors of output channels held in registers at a time, from output vector `at` on. */
static uint32_t block_at(uint32_t vectors, uint32_t at) { return vectors - at < 4 ? vectors - at : 4; }

/* From [out][in][3][3] in the file to the order in which the kernel reads. */
static const unsigned char *take_weights(NetReader *reader, NetOp *op, const unsigned char *at) {
    uint32_t vectors = padded(op->out) / LANES, in = op->in;
    float *weights = arena_many(reader->arena, float, (size_t)padded(op->out) * 9 * in);
    float *bias = arena_many(reader->arena, float, padded(op->out));
    size_t next = 0;
    for (uint32_t v = 0; v < vectors; v += block_at(vectors, v))
        for (uint32_t k = 0; k < 9; k++)
            for (uint32_t i = 0; i < in; i++)
                for (uint32_t o = v * LANES; o < (v + block_at(vectors, v)) * LANES; o++, next++) {
                    if (o >= op->out) continue;
                    const unsigned char *p = at + 2 * (((size_t)o * in + i) * 9 + k);
                    weights[next] = half_to_float((uint16_t)(p[0] | p[1] << 8));
                }
    at += 2 * (size_t)op->out * in * 9;
    for (uint32_t o = 0; o < op->out; o++, at += 2) bias[o] = half_to_float((uint16_t)(at[0] | at[1] << 8));
    op->weights = weights;
    op->bias = bias;
    return at;
}

static size_t weights_wanted(const Net *net) {
    size_t sum = 0;
    for (uint32_t i = 0; i < net->op_count; i++)
        if (net->ops[i].sort == NET_CONV) sum += (size_t)net->ops[i].out * (net->ops[i].in * 9 + 1);
    return sum;
}

static Text next_line(NetReader *reader) {
    size_t end = text_find(reader->left, TEXT("\n"));
    Text line = text_sub(reader->left, 0, end);
    reader->left = end == SIZE_MAX ? TEXT("") : text_sub(reader->left, end + 1, reader->left.len);
    return line;
}

static bool read_net(NetReader *reader) {
    if (!text_is(next_line(reader), "unpick-net 1")) return reader->why = "does not begin with `unpick-net 1`", false;
    uint32_t count = 0;
    for (;;) {
        Lexer lexer;
        lex_start(&lexer, next_line(reader));
        if (lex_take_if(&lexer, "weights")) {
            if (!whole(&lexer, 100 * 1000 * 1000, &count)) return reader->why = "unclear count of weights", false;
            break;
        }
        if (!read_op(reader, &lexer)) return reader->why = "a line that is no step, or whose channels do not fit", false;
    }
    if (count != weights_wanted(reader->net) || reader->left.len != 2 * (size_t)count)
        return reader->why = "weights missing or too many", false;
    if (reader->step != 1) return reader->why = "the result has another size than the picture", false;
    const unsigned char *at = (const unsigned char *)reader->left.at;
    for (uint32_t i = 0; i < reader->net->op_count; i++)
        if (reader->net->ops[i].sort == NET_CONV) at = take_weights(reader, &reader->net->ops[i], at);
    reader->net->channels_out = reader->width;
    return true;
}

Net *net_new(Arena *arena, Text name, Text bytes, Diags *problems) {
    NetReader reader = {.arena = arena, .net = arena_one(arena, Net), .left = bytes, .width = 3, .step = 1};
    if (read_net(&reader)) return reader.net;
    diag_add(problems, (Diag){.place = {name, 0, 0}, .message = text_of(reader.why), .expected = TEXT("a net as tools/train makes it")});
    return NULL;
}

uint32_t net_channels_out(const Net *net) { return net->channels_out; }
uint32_t net_margin(const Net *net) { return net->margin; }

/* ---- running ---- */

typedef struct Tensor {
    uint32_t width, height, channels; /* channels as stored: padded */
    float *at;                        /* pixel (x, y) at ((y + BORDER) * (width + 2 BORDER) + x + BORDER) * channels */
} Tensor;

static size_t tensor_row(const Tensor *t) { return (size_t)(t->width + 2 * BORDER) * t->channels; }
static float *tensor_at(const Tensor *t, uint32_t x, uint32_t y) {
    return t->at + (size_t)(y + BORDER) * tensor_row(t) + (size_t)(x + BORDER) * t->channels;
}

static bool tensor_make(Tensor *t, uint32_t width, uint32_t height, uint32_t channels) {
    *t = (Tensor){width, height, channels, NULL};
    size_t floats = tensor_row(t) * (height + 2 * BORDER);
    t->at = aligned_alloc(64, (floats * sizeof(float) + 63) / 64 * 64);
    if (t->at != NULL) memset(t->at, 0, floats * sizeof(float));
    return t->at != NULL;
}

/* `pixels` output pixels by `vectors` vectors of output channels; both constant where this is called. */
static inline __attribute__((always_inline)) void conv_block(const float *in, size_t in_row, size_t in_step, const float *weights,
                                                             uint32_t channels, uint32_t stored, uint32_t dilation,
                                                             const float *bias, float *out, size_t out_step, bool relu,
                                                             const int pixels, const int vectors) {
    Lanes sum[6][4];
    for (int p = 0; p < pixels; p++)
        for (int v = 0; v < vectors; v++) sum[p][v] = ((const LooseLanes *)bias)[v];
    for (int ky = -1; ky <= 1; ky++)
        for (int kx = -1; kx <= 1; kx++) {
            const float *from = in + (ptrdiff_t)(ky * (int)dilation) * (ptrdiff_t)in_row + (ptrdiff_t)(kx * (int)dilation) * (ptrdiff_t)stored;
            for (uint32_t c = 0; c < channels; c++, weights += vectors * LANES)
                for (int p = 0; p < pixels; p++)
                    for (int v = 0; v < vectors; v++) sum[p][v] += from[(size_t)p * in_step + c] * ((const LooseLanes *)weights)[v];
        }
    for (int p = 0; p < pixels; p++)
        for (int v = 0; v < vectors; v++) {
            Lanes s = sum[p][v];
            if (relu) s = (Lanes)((LaneMask)s & (s > 0));
            ((LooseLanes *)(out + (size_t)p * out_step))[v] = s;
        }
}

typedef struct ConvRow {
    const NetOp *op;
    const float *in;
    size_t in_row, in_step, out_step;
    uint32_t stored, width;
    float *out;
} ConvRow;

#define CONV_ROW(pixels, vectors)                                                                                              \
    for (; x + (pixels) <= r->width; x += (pixels))                                                                            \
    conv_block(r->in + x * r->in_step, r->in_row, r->in_step, weights, r->op->in, r->stored, r->op->dilation, bias,            \
               r->out + at * LANES + x * r->out_step, r->out_step, r->op->relu, (pixels), (vectors))

/* One row of output, blocks of vectors by blocks of pixels; the clone that fits the processor is chosen when it runs. */
__attribute__((target_clones("fma", "default"))) static void conv_row(const ConvRow *r) {
    uint32_t vectors = padded(r->op->out) / LANES;
    const float *weights = r->op->weights;
    for (uint32_t at = 0; at < vectors; at += block_at(vectors, at)) {
        uint32_t block = block_at(vectors, at), x = 0;
        const float *bias = r->op->bias + at * LANES;
        if (block == 4) {
            CONV_ROW(3, 4);
            CONV_ROW(1, 4);
        } else if (block == 3) {
            CONV_ROW(4, 3);
            CONV_ROW(1, 3);
        } else if (block == 2) {
            CONV_ROW(6, 2);
            CONV_ROW(1, 2);
        } else {
            CONV_ROW(6, 1);
            CONV_ROW(1, 1);
        }
        weights += (size_t)block * LANES * 9 * r->op->in;
    }
}

static bool run_conv(const NetOp *op, const Tensor *in, Tensor *out) {
    if (!tensor_make(out, in->width / op->stride, in->height / op->stride, padded(op->out))) return false;
    for (uint32_t y = 0; y < out->height; y++) {
        ConvRow row = {.op = op,
                       .in = tensor_at(in, 0, y * op->stride),
                       .in_row = tensor_row(in),
                       .in_step = (size_t)op->stride * in->channels,
                       .out_step = out->channels,
                       .stored = in->channels,
                       .width = out->width,
                       .out = tensor_at(out, 0, y)};
        conv_row(&row);
    }
    return true;
}

/* Channel c of the input goes to 4 c, 4 c + 1 (right), 4 c + 2 (below), 4 c + 3. */
static bool run_fold(const NetOp *op, const Tensor *in, Tensor *out) {
    if (!tensor_make(out, in->width / 2, in->height / 2, padded(op->out))) return false;
    for (uint32_t y = 0; y < out->height; y++)
        for (uint32_t x = 0; x < out->width; x++) {
            float *to = tensor_at(out, x, y);
            for (uint32_t c = 0; c < op->in; c++)
                for (uint32_t k = 0; k < 4; k++) to[4 * c + k] = tensor_at(in, 2 * x + k % 2, 2 * y + k / 2)[c];
        }
    return true;
}

static bool run_unfold(const NetOp *op, const Tensor *in, Tensor *out) {
    if (!tensor_make(out, in->width * 2, in->height * 2, padded(op->out))) return false;
    for (uint32_t y = 0; y < out->height; y++)
        for (uint32_t x = 0; x < out->width; x++) {
            const float *from = tensor_at(in, x / 2, y / 2);
            float *to = tensor_at(out, x, y);
            for (uint32_t c = 0; c < op->out; c++) to[c] = from[4 * c + y % 2 * 2 + x % 2];
        }
    return true;
}

static bool run_grow(const NetOp *op, const Tensor *in, Tensor *out) {
    (void)op;
    if (!tensor_make(out, in->width * 2, in->height * 2, in->channels)) return false;
    for (uint32_t y = 0; y < out->height; y++)
        for (uint32_t x = 0; x < out->width; x++)
            memcpy(tensor_at(out, x, y), tensor_at(in, x / 2, y / 2), in->channels * sizeof(float));
    return true;
}

static bool run_join(const NetOp *op, const Tensor *in, const Tensor *kept, uint32_t kept_channels, Tensor *out) {
    if (kept->at == NULL || kept->width != in->width || kept->height != in->height) return false;
    if (!tensor_make(out, in->width, in->height, padded(op->out))) return false;
    for (uint32_t y = 0; y < out->height; y++)
        for (uint32_t x = 0; x < out->width; x++) {
            float *to = tensor_at(out, x, y);
            memcpy(to, tensor_at(in, x, y), op->in * sizeof(float));
            memcpy(to + op->in, tensor_at(kept, x, y), kept_channels * sizeof(float));
        }
    return true;
}

static bool run_op(const NetOp *op, Tensor *kept, const Tensor *now, Tensor *next) {
    switch (op->sort) {
    case NET_FOLD: return run_fold(op, now, next);
    case NET_CONV: return run_conv(op, now, next);
    case NET_GROW: return run_grow(op, now, next);
    case NET_UNFOLD: return run_unfold(op, now, next);
    case NET_JOIN: return run_join(op, now, &kept[op->slot], op->out - op->in, next);
    case NET_KEEP: break;
    }
    return false;
}

static void write_out(const Tensor *t, uint32_t planes, unsigned char *out) {
    for (uint32_t y = 0; y < t->height; y++)
        for (uint32_t x = 0; x < t->width; x++)
            for (uint32_t c = 0; c < planes; c++)
                out[((size_t)c * t->height + y) * t->width + x] =
                    (unsigned char)lrintf(255 / (1 + expf(-tensor_at(t, x, y)[c])));
}

bool net_run(const Net *net, uint32_t width, uint32_t height, const unsigned char *in, unsigned char *out) {
    Tensor now, next = {0}, kept[KEPT_MOST] = {0};
    if (width % 16 != 0 || height % 16 != 0 || width > SIDE_MOST || height > SIDE_MOST) return false;
    bool done = tensor_make(&now, width, height, padded(3));
    for (uint32_t y = 0; done && y < height; y++)
        for (uint32_t x = 0; x < width; x++)
            for (uint32_t c = 0; c < 3; c++)
                tensor_at(&now, x, y)[c] = (float)in[((size_t)y * width + x) * 3 + c] / 127.5f - 1;
    for (uint32_t i = 0; done && i < net->op_count; i++) {
        const NetOp *op = &net->ops[i];
        if (op->sort == NET_KEEP) { /* the next step reads it, and does not free it */
            free(kept[op->slot].at);
            kept[op->slot] = now;
            continue;
        }
        done = run_op(op, kept, &now, &next);
        bool is_kept = false;
        for (uint32_t k = 0; k < KEPT_MOST; k++) is_kept = is_kept || kept[k].at == now.at;
        if (!is_kept) free(now.at);
        now = next;
        if (!done) now.at = NULL;
        if (op->sort == NET_JOIN) free(kept[op->slot].at), kept[op->slot].at = NULL;
    }
    if (done) write_out(&now, net->channels_out, out);
    for (uint32_t k = 0; k < KEPT_MOST; k++)
        if (kept[k].at != now.at) free(kept[k].at);
    free(now.at);
    return done;
}
