/* The smallest gap between two nets: where bare pixels whose nearest nets differ lie side by side, their two depths and the
 * step between them span the gap. Of the pairs of nets that come nearest by that, each gap is then measured by a chord: the
 * nearest may lie at copper that was drawn to close a gap, where the picture's own edges are further apart. Linear. */
#include "copper/inside.h"

#include <math.h>

static const double REACH_MM = 3; /* of the chord; wider gaps are told from depths */
enum { PAIRS = 16 };

typedef struct Gap {
    uint32_t width;  /* in DEEP_UNIT of a pixel */
    uint32_t a, b;   /* the two pixels */
    uint16_t net[2]; /* the lower first */
} Gap;

/* Of so many pairs of nets, the smallest of each, smallest first. */
typedef struct Gaps {
    Gap at[PAIRS];
    uint32_t count;
} Gaps;

static void keep(Gaps *gaps, uint32_t width, size_t a, size_t b, uint16_t net_a, uint16_t net_b) {
    if (gaps->count == PAIRS && width >= gaps->at[PAIRS - 1].width) return;
    Gap gap = {width, (uint32_t)a, (uint32_t)b, {net_a < net_b ? net_a : net_b, net_a < net_b ? net_b : net_a}};
    uint32_t i = 0;
    while (i < gaps->count && (gaps->at[i].net[0] != gap.net[0] || gaps->at[i].net[1] != gap.net[1])) i++;
    if (i < gaps->count && gaps->at[i].width <= width) return;
    if (i == gaps->count) i = gaps->count < PAIRS ? gaps->count++ : PAIRS - 1;
    for (; i > 0 && gaps->at[i - 1].width > width; i--) gaps->at[i] = gaps->at[i - 1];
    gaps->at[i] = gap;
}

/* What lies between two neighbours of different nets. */
static void look_at(const Trace *trace, const uint16_t *nearest, size_t a, size_t b, Gaps *gaps) {
    if (nearest[a] == 0 || nearest[b] == 0 || nearest[a] == nearest[b]) return;
    keep(gaps, (uint32_t)trace->deep[a] + trace->deep[b] + DEEP_UNIT, a, b, nearest[a], nearest[b]);
}

/* Across the edge of copper a depth counts backwards: the pixel's centre lies beyond it. */
static void look_across(const Trace *trace, const uint16_t *nearest, size_t bare, size_t copper, Gaps *gaps) {
    if (nearest[bare] == 0 || nearest[bare] == nearest[copper]) return;
    double edge = 1 - measure_edge(trace->copper[copper], trace->copper[bare]);
    keep(gaps, trace->deep[bare] + (uint32_t)(edge * DEEP_UNIT), bare, copper, nearest[bare], nearest[copper]);
}

/* One of them in mm. */
static double width_of(const Trace *trace, const Copper *copper, const Gap *gap) {
    size_t bare = copper->labels[trace_label_at(trace, gap->a)] == 0 ? gap->a : gap->b;
    double width = (double)gap->width / DEEP_UNIT / trace->scale;
    if (trace->copper[bare] >= TRACE_COPPER) return width; /* cut by a word: the picture shows no gap to measure */
    Chord chord = chord_least(trace, trace_mm(trace, bare), CHORD_NETS, REACH_MM, CHORD_TURNS);
    return chord.width > 0 ? chord.width : width;
}

void measure_gap(const Trace *trace, const uint16_t *nearest, Copper *copper) {
    Gaps gaps = {.count = 0};
    for (uint32_t y = 0; y < trace->height; y++)
        for (uint32_t x = 0; x < trace->width; x++) {
            size_t at = trace_at(trace, x, y), label = (size_t)y * trace->width + x;
            for (unsigned i = 0; i < 2; i++) {
                if (i == 0 ? x + 1 == trace->width : y + 1 == trace->height) continue;
                size_t to = i == 0 ? at + 1 : at + trace->stride;
                if (nearest[at] == nearest[to]) continue;
                bool here = copper->labels[label] != 0,
                     there = copper->labels[i == 0 ? label + 1 : label + trace->width] != 0;
                if (!here && !there) look_at(trace, nearest, at, to, &gaps);
                if (here != there) look_across(trace, nearest, here ? to : at, here ? at : to, &gaps);
            }
        }
    for (uint32_t i = 0; i < gaps.count; i++) {
        double width = width_of(trace, copper, &gaps.at[i]);
        if (i > 0 && width >= copper->gap_least) continue;
        PlacePoint a = trace_mm(trace, gaps.at[i].a), b = trace_mm(trace, gaps.at[i].b);
        copper->gap_at = (PlacePoint){(a.x + b.x) / 2, (a.y + b.y) / 2};
        copper->gap_least = width;
    }
}
