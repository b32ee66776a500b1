/* Depths and widths. The depth of a pixel is its distance to the nearest edge of copper, from inside and from outside: edge
 * pixels from where the probability crosses one half, the rest by a chamfer of 1 and sqrt(2) (Borgefors 1986, from memory),
 * which is exact along and across tracks of the usual eight directions and at most 8 % long in between. Depths find a
 * place; what is told is then measured there by a chord.
 *
 * The narrowest neck of a net: its pixels flooded from the deepest down; the last time that two parts meet which both have
 * a pad, all current between these must pass there. Track width: the median over samples of the ridge of depths, outside
 * pads. */
#include "copper/inside.h"

#include <math.h>
#include <stdlib.h>

enum { STRAIGHT = DEEP_UNIT, SLANTED = 45, FAR = 32000, BUCKET = 4, SAMPLES = 9, SAMPLE_TURNS = 8 };
static const double NECK_MOST_MM = 3; /* wider than this is no neck, and no track */

/* ---- depths ---- */

/* The depth of a pixel that has the other side of the edge beside it; for a bare one, whose copper that is. */
static void at_edge(Trace *trace, const unsigned char *is, uint16_t *nearest, size_t at) {
    ptrdiff_t down = (ptrdiff_t)trace->stride;
    const ptrdiff_t round[4] = {-1, 1, -down, down};
    for (unsigned i = 0; i < 4; i++) {
        size_t to = (size_t)((ptrdiff_t)at + round[i]);
        if (is[to] == is[at]) continue;
        double edge = is[to] ? 1 - measure_edge(trace->copper[to], trace->copper[at])
                             : measure_edge(trace->copper[at], trace->copper[to]);
        uint16_t depth = (uint16_t)(edge * DEEP_UNIT);
        if (depth >= trace->deep[at]) continue;
        trace->deep[at] = depth;
        if (is[to]) nearest[at] = nearest[to];
    }
}

static void spread(uint16_t *deep, uint16_t *nearest, const unsigned char *is, size_t at, const ptrdiff_t round[4]) {
    static const uint16_t step[4] = {STRAIGHT, STRAIGHT, SLANTED, SLANTED};
    uint32_t least = deep[at];
    ptrdiff_t from = 0;
    for (unsigned i = 0; i < 4; i++) {
        uint32_t by = (uint32_t)deep[(ptrdiff_t)at + round[i]] + step[i];
        if (by < least) least = by, from = round[i];
    }
    if (from == 0) return;
    deep[at] = (uint16_t)least;
    if (!is[at]) nearest[at] = nearest[(ptrdiff_t)at + from];
}

/* No side need be told apart while spreading: what comes from across an edge is never the shorter way. */
void neck_depths(Trace *trace, const Copper *copper, uint16_t *nearest) {
    size_t pixels = (size_t)trace->stride * (trace->height + 2), from = trace_at(trace, 0, 0);
    size_t to = trace_at(trace, trace->width, trace->height - 1);
    ptrdiff_t down = (ptrdiff_t)trace->stride;
    const ptrdiff_t before[4] = {-1, -down, -down - 1, 1 - down}, after[4] = {1, down, down + 1, down - 1};
    Arena *scratch = arena_new();
    unsigned char *is = arena_many(scratch, unsigned char, pixels);
    trace->deep = arena_many(trace->arena, uint16_t, pixels);
    for (size_t i = 0; i < pixels; i++) trace->deep[i] = FAR;
    for (uint32_t y = 0; y < trace->height; y++) {
        const uint16_t *label = copper->labels + (size_t)y * trace->width;
        size_t row = trace_at(trace, 0, y);
        memcpy(nearest + row, label, trace->width * sizeof *label);
        for (uint32_t x = 0; x < trace->width; x++) is[row + x] = label[x] != 0;
    }
    for (uint32_t y = 0; y < trace->height; y++)
        for (size_t at = trace_at(trace, 0, y), end = at + trace->width; at < end; at++)
            if (is[at - 1] + is[at + 1] + is[at - trace->stride] + is[at + trace->stride] != 4 * is[at])
                at_edge(trace, is, nearest, at);
    for (size_t i = from; i < to; i++) spread(trace->deep, nearest, is, i, before);
    for (size_t i = to; i-- > from;) spread(trace->deep, nearest, is, i, after);
    arena_free(scratch);
}

/* ---- the narrowest neck ---- */

typedef struct Necks {
    const Trace *trace;
    Arena *arena; /* scratch */
    const Copper *copper;
    uint32_t *up;            /* where regions were. Of each pixel: one of the same part; 0: not flooded yet. Of a part's first: HAS_PAD too */
    unsigned char *two_pads; /* of each net: it has two pads or more */
    size_t *neck;            /* of each net: the pixel where its parts with pads met last */
} Necks;

static const uint32_t HAS_PAD = (uint32_t)1 << 31; /* no picture has so many pixels */

static uint32_t part_of(uint32_t *up, uint32_t at) {
    for (;;) {
        uint32_t next = up[at] & ~HAS_PAD;
        if (next == at) return at;
        at = up[at] = up[next] & ~HAS_PAD;
    }
}

/* The deepest pixel of a pad's net within the pad: where its current enters the copper. Of a large pad not every pixel is
 * asked. */
static size_t middle_of_pad(const Necks *necks, const CopperPad *pad) {
    enum { ASKED_ALONG = 256 };
    const Trace *trace = necks->trace;
    double x0 = fmax(0, (pad->at.x - pad->width / 2) * trace->scale),
           x1 = fmin(trace->width, x0 + pad->width * trace->scale);
    double y0 = fmax(0, (pad->at.y - pad->height / 2) * trace->scale),
           y1 = fmin(trace->height, y0 + pad->height * trace->scale);
    uint32_t step = 1 + (uint32_t)(fmax(x1 - x0, y1 - y0) / ASKED_ALONG);
    size_t best = 0;
    for (uint32_t y = (uint32_t)y0; y < y1; y += step)
        for (uint32_t x = (uint32_t)x0; x < x1; x += step) {
            size_t at = trace_at(trace, x, y);
            if (necks->copper->labels[(size_t)y * trace->width + x] != pad->net) continue;
            if (best == 0 || trace->deep[at] > trace->deep[best]) best = at;
        }
    return best;
}

static void flood_pixel(Necks *necks, uint32_t at) {
    const Trace *trace = necks->trace;
    ptrdiff_t down = (ptrdiff_t)trace->stride;
    const ptrdiff_t round[8] = {-down, -1, 1, down, -down - 1, 1 - down, down - 1, down + 1};
    uint32_t own = at;
    necks->up[at] |= at;
    for (unsigned i = 0; i < 8; i++) {
        uint32_t to = (uint32_t)((ptrdiff_t)at + round[i]);
        if ((necks->up[to] & ~HAS_PAD) == 0) continue;
        uint32_t other = part_of(necks->up, to);
        if (other == own) continue;
        if (necks->up[own] & necks->up[other] & HAS_PAD)
            necks->neck[necks->copper->labels[trace_label_at(trace, at)]] = at;
        necks->up[other] |= necks->up[own] & HAS_PAD;
        necks->up[own] = other;
        own = other;
    }
}

/* Copper pixels of nets with two pads, deepest first. */
static uint32_t *in_order(const Necks *necks, uint32_t *count) {
    enum { BUCKETS = FAR / BUCKET + 1 };
    const Trace *trace = necks->trace;
    uint32_t *start = arena_many(necks->arena, uint32_t, BUCKETS + 1), *order;
    uint32_t deepest = (uint32_t)fmin(FAR, NECK_MOST_MM / 2 * trace->scale * DEEP_UNIT) / BUCKET;
    for (unsigned pass = 0; pass < 2; pass++) {
        for (uint32_t y = 0; y < trace->height; y++)
            for (size_t x = 0, at = trace_at(trace, 0, y); x < trace->width; x++, at++) {
                uint16_t net = necks->copper->labels[(size_t)y * trace->width + x];
                if (!necks->two_pads[net]) continue;
                uint32_t depth = trace->deep[at] / BUCKET, slot = depth >= deepest ? 0 : deepest - depth;
                if (pass == 0)
                    start[slot + 1]++;
                else
                    order[start[slot]++] = (uint32_t)at;
            }
        if (pass == 1) break;
        for (uint32_t i = 1; i <= BUCKETS; i++) start[i] += start[i - 1];
        *count = start[BUCKETS];
        order = arena_many(necks->arena, uint32_t, *count);
    }
    return order;
}

static void find_necks(Necks *necks, Copper *copper) {
    const Trace *trace = necks->trace;
    uint32_t *pads = arena_many(necks->arena, uint32_t, copper->nets.count + 1), count;
    necks->two_pads = arena_many(necks->arena, unsigned char, copper->nets.count + 1);
    necks->neck = arena_many(necks->arena, size_t, copper->nets.count + 1);
    for (uint32_t i = 0; i < copper->pads.count; i++) pads[copper->pads.at[i].net]++;
    for (uint32_t i = 1; i <= copper->nets.count; i++) necks->two_pads[i] = pads[i] >= 2;
    for (uint32_t i = 0; i < copper->pads.count; i++) necks->up[middle_of_pad(necks, &copper->pads.at[i])] = HAS_PAD;
    const uint32_t *order = in_order(necks, &count);
    for (uint32_t i = 0; i < count; i++) flood_pixel(necks, order[i]);
    for (uint32_t i = 1; i <= copper->nets.count; i++) {
        if (necks->neck[i] == 0) continue;
        CopperNet *net = &copper->nets.at[i - 1];
        net->neck_at = trace_mm(trace, necks->neck[i]);
        net->neck = chord_least(trace, net->neck_at, CHORD_ANY, NECK_MOST_MM, CHORD_TURNS).width;
        if (net->neck <= 0) net->neck = fmax(2.0 * trace->deep[necks->neck[i]] / DEEP_UNIT, 1) / trace->scale;
    }
}

/* ---- track widths ---- */

/* Not less deep than both neighbours along some direction: the middle line of a track, and its even end points. */
static bool on_ridge(const Trace *trace, size_t at, uint32_t deepest) {
    const uint16_t *deep = trace->deep + at, own = *deep;
    ptrdiff_t down = (ptrdiff_t)trace->stride;
    if (own >= deepest) return false;
    return (own >= deep[-1] && own >= deep[1]) || (own >= deep[-down] && own >= deep[down]);
}

static int by_width(const void *a, const void *b) {
    double one = *(const double *)a, two = *(const double *)b;
    return one < two ? -1 : one > two ? 1 : 0;
}

typedef struct Samples {
    uint32_t ridge, seen, tried, count;
    double width[SAMPLES];
} Samples;

/* Ridge pixels of each net counted (pass 0), then evenly chosen ones measured (pass 1). */
static void sample(const Trace *trace, const Copper *copper, Samples *samples, unsigned pass) {
    uint32_t deepest = (uint32_t)fmin(FAR, NECK_MOST_MM / 2 * trace->scale * DEEP_UNIT);
    for (uint32_t y = 0; y < trace->height; y++)
        for (size_t x = 0, at = trace_at(trace, 0, y); x < trace->width; x++, at++) {
            size_t label = (size_t)y * trace->width + x;
            uint16_t net = copper->labels[label];
            if (net == 0 || trace->pad[label] >= TRACE_COPPER || !on_ridge(trace, at, deepest)) continue;
            Samples *of = &samples[net];
            if (pass == 0) {
                of->ridge++;
                continue;
            }
            if (of->tried == SAMPLES || (uint64_t)of->seen++ * SAMPLES < (uint64_t)of->tried * of->ridge) continue;
            of->tried++;
            double width = chord_least(trace, trace_mm(trace, at), CHORD_ANY, NECK_MOST_MM, SAMPLE_TURNS).width;
            if (width > 0) of->width[of->count++] = width;
        }
}

static void find_widths(const Trace *trace, Copper *copper) {
    Samples *samples = arena_many(trace->arena, Samples, copper->nets.count + 1);
    sample(trace, copper, samples, 0);
    sample(trace, copper, samples, 1);
    for (uint32_t i = 1; i <= copper->nets.count; i++) {
        if (samples[i].count == 0) continue;
        qsort(samples[i].width, samples[i].count, sizeof(double), by_width);
        copper->nets.at[i - 1].width_median = samples[i].width[samples[i].count / 2];
    }
}

void neck_measure(Trace *trace, Copper *copper) {
    Necks necks = {.trace = trace, .arena = arena_new(), .copper = copper, .up = trace->region};
    memset(necks.up, 0, (size_t)trace->stride * (trace->height + 2) * sizeof *necks.up);
    find_necks(&necks, copper);
    arena_free(necks.arena);
    find_widths(trace, copper);
}
