/* A file to stages. `grow`, `join` and `keep` make no stage: they say how a later one sees what there is. Weights are laid
 * out in the order in which they will be read. */
#include "copper/net_inside.h"

#include <math.h>
#include <string.h>

enum { PLANES_MOST = 8, KEPT_MOST = 8, GROWN_MOST = 3, SHRINK_MOST = 8, WEIGHTS_MOST = 100 * 1000 * 1000 };

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
    Text left; /* lines not read yet */
    const char *why;
    NetView now, kept[KEPT_MOST];
} NetReader;

static bool whole(Lexer *lexer, uint32_t most, uint32_t *number) {
    Quantity q;
    if (!lex_take_quantity(lexer, &q, NULL) || q.value < 0 || q.value > most || q.value != floor(q.value)) return false;
    *number = (uint32_t)q.value;
    return true;
}

/* A stage that makes so many channels of what there is now. */
static bool add_stage(NetReader *reader, NetStage stage) {
    Net *net = reader->net;
    if (net->count == NET_STAGES_MOST || stage.channels == 0 || stage.channels > NET_CHANNELS_MOST ||
        stage.shrink > SHRINK_MOST)
        return false;
    stage.in = reader->now;
    reader->now = (NetView){{{.stage = net->count, .channels = stage.channels}}, 1, stage.channels, stage.shrink};
    net->stages[net->count++] = stage;
    return true;
}

static bool read_conv(NetReader *reader, Lexer *lexer) {
    uint32_t in;
    NetStage conv = {.sort = NET_CONV};
    if (!whole(lexer, NET_CHANNELS_MOST, &in) || !whole(lexer, NET_CHANNELS_MOST, &conv.channels) ||
        !whole(lexer, 2, &conv.stride) || !whole(lexer, NET_REACH_MOST, &conv.dilation) || in != reader->now.channels ||
        conv.stride == 0 || conv.dilation == 0 || (conv.stride == 2 && conv.dilation != 1))
        return false;
    conv.relu = lex_is(lexer, "relu");
    conv.shrink = reader->now.shrink + (conv.stride == 2);
    conv.lines = net_transforms(conv.stride, conv.dilation) ? NET_LINES_MOST : 3;
    return (conv.relu || lex_is(lexer, "none")) && add_stage(reader, conv);
}

static bool take_planes(NetReader *reader, Lexer *lexer) {
    NetStage *input = &reader->net->stages[0];
    if (reader->net->count != 1 || !whole(lexer, PLANES_MOST, &input->channels) || input->channels == 0) return false;
    reader->now.channels = reader->now.parts[0].channels = input->channels;
    return true;
}

static bool grow(NetView *now) {
    bool fits = now->shrink > 0;
    for (uint32_t p = 0; p < now->count; p++) fits &= ++now->parts[p].grown <= GROWN_MOST;
    now->shrink--;
    return fits;
}

static bool join(NetView *now, const NetView *kept) {
    if (kept->count == 0 || kept->shrink != now->shrink || now->count + kept->count > NET_PARTS_MOST) return false;
    memcpy(now->parts + now->count, kept->parts, kept->count * sizeof *kept->parts);
    now->count += kept->count;
    now->channels += kept->channels;
    return now->channels <= NET_CHANNELS_MOST;
}

/* line = "take" N | "fold" | "conv" IN OUT STRIDE DILATION ( "relu" | "none" ) | "keep" N | "grow" | "join" N | "unfold" */
static bool read_step(NetReader *reader, Lexer *lexer) {
    NetView *now = &reader->now;
    uint32_t slot;
    Text word = lex_take(lexer).text;
    if (text_is(word, "conv")) return read_conv(reader, lexer);
    if (text_is(word, "take")) return take_planes(reader, lexer);
    if (text_is(word, "keep")) return whole(lexer, KEPT_MOST - 1, &slot) && (reader->kept[slot] = *now, true);
    if (text_is(word, "join")) return whole(lexer, KEPT_MOST - 1, &slot) && join(now, &reader->kept[slot]);
    if (text_is(word, "grow")) return grow(now);
    if (text_is(word, "fold"))
        return add_stage(reader, (NetStage){.sort = NET_FOLD, .channels = now->channels * 4, .shrink = now->shrink + 1});
    return text_is(word, "unfold") && now->channels % 4 == 0 && now->shrink > 0 &&
           add_stage(reader, (NetStage){.sort = NET_UNFOLD, .channels = now->channels / 4, .shrink = now->shrink - 1});
}

/* A channel of the file's [out][in][3][3] to its place among the NET_OUTS that are read together. */
static void lay_out(const NetStage *conv, uint32_t o, const unsigned char *at, float *weights) {
    uint32_t in = conv->in.channels;
    float *block = weights + (size_t)(o / NET_OUTS) * conv->lines * in * 3 * NET_OUTS + o % NET_OUTS;
    for (uint32_t i = 0; i < in; i++)
        for (uint32_t k = 0; k < 3; k++) {
            float down[3], lines[NET_LINES_MOST];
            for (uint32_t t = 0; t < 3; t++) {
                const unsigned char *p = at + 2 * (i * 9 + t * 3 + k);
                down[t] = lines[t] = half_to_float((uint16_t)(p[0] | p[1] << 8));
            }
            if (conv->lines == NET_LINES_MOST) net_transform_weights(down, lines);
            for (uint32_t t = 0; t < conv->lines; t++) block[((t * in + i) * 3 + k) * NET_OUTS] = lines[t];
        }
}

static const unsigned char *take_weights(NetReader *reader, NetStage *conv, const unsigned char *at) {
    uint32_t in = conv->in.channels, padded = (conv->channels + NET_OUTS - 1) / NET_OUTS * NET_OUTS;
    float *weights = arena_many(reader->arena, float, (size_t)padded * conv->lines * in * 3);
    float *bias = arena_many(reader->arena, float, padded);
    for (uint32_t o = 0; o < conv->channels; o++, at += 2 * (size_t)in * 9) lay_out(conv, o, at, weights);
    for (uint32_t o = 0; o < conv->channels; o++, at += 2) bias[o] = half_to_float((uint16_t)(at[0] | at[1] << 8));
    conv->weights = weights;
    conv->bias = bias;
    return at;
}

static size_t weights_wanted(const Net *net) {
    size_t sum = 0;
    for (uint32_t i = 0; i < net->count; i++)
        if (net->stages[i].sort == NET_CONV) sum += (size_t)net->stages[i].channels * (net->stages[i].in.channels * 9 + 1);
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
    Net *net = reader->net;
    uint32_t count = 0;
    for (;;) {
        Lexer lexer;
        lex_start(&lexer, next_line(reader));
        if (lex_take_if(&lexer, "weights")) {
            if (!whole(&lexer, WEIGHTS_MOST, &count)) return reader->why = "unclear count of weights", false;
            break;
        }
        if (!read_step(reader, &lexer))
            return reader->why = "a line that is no step, or whose channels or sizes do not fit", false;
    }
    if (count != weights_wanted(net) || reader->left.len != 2 * (size_t)count)
        return reader->why = "weights missing or too many", false;
    const NetPart *last = &reader->now.parts[0];
    if (reader->now.shrink != 0 || reader->now.count != 1 || last->grown != 0 || last->stage != net->count - 1 ||
        net->count == 1)
        return reader->why = "the result is not what its last step makes, or has another size than the picture", false;
    const unsigned char *at = (const unsigned char *)reader->left.at;
    for (uint32_t i = 0; i < net->count; i++)
        if (net->stages[i].sort == NET_CONV) at = take_weights(reader, &net->stages[i], at);
    return true;
}

Net *net_new(Arena *arena, Text name, Text bytes, Diags *problems) {
    NetReader reader = {.arena = arena, .net = arena_one(arena, Net), .left = bytes};
    add_stage(&reader, (NetStage){.sort = NET_INPUT, .channels = 3});
    if (read_net(&reader)) return reader.net;
    diag_add(
        problems,
        (Diag){.place = {name, 0, 0}, .message = text_of(reader.why), .expected = TEXT("a net as tools/train makes it")});
    return NULL;
}

uint32_t net_channels_in(const Net *net) { return net->stages[0].channels; }
uint32_t net_channels_out(const Net *net) { return net->stages[net->count - 1].channels; }
