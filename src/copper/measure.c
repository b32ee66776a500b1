/* The smallest gap between two nets: where bare pixels whose nearest nets differ lie side by side, their two depths and the
 * step between them span the gap; the smallest of these is then measured by a chord. Linear. */
#include "copper/inside.h"

#include <math.h>

static const double REACH_MM = 3; /* of the chord; wider gaps are told from depths */

typedef struct Gap {
    uint32_t width; /* in DEEP_UNIT of a pixel */
    size_t a, b;    /* the two pixels */
} Gap;

/* What lies between two neighbours of different nets. */
static void look_at(const Trace *trace, const uint16_t *nearest, size_t a, size_t b, Gap *least) {
    if (nearest[a] == 0 || nearest[b] == 0 || nearest[a] == nearest[b]) return;
    uint32_t width = (uint32_t)trace->deep[a] + trace->deep[b] + DEEP_UNIT;
    if (least->a == 0 || width < least->width) *least = (Gap){width, a, b};
}

/* Across the edge of copper a depth counts backwards: the pixel's centre lies beyond it. */
static void look_across(const Trace *trace, const uint16_t *nearest, size_t bare, size_t copper, Gap *least) {
    if (nearest[bare] == 0 || nearest[bare] == nearest[copper]) return;
    double edge = 1 - measure_edge(trace->copper[copper], trace->copper[bare]);
    uint32_t width = trace->deep[bare] + (uint32_t)(edge * DEEP_UNIT);
    if (least->a == 0 || width < least->width) *least = (Gap){width, bare, copper};
}

void measure_gap(const Trace *trace, const uint16_t *nearest, Copper *copper) {
    Gap least = {0};
    for (uint32_t y = 0; y < trace->height; y++)
        for (uint32_t x = 0; x < trace->width; x++) {
            size_t at = trace_at(trace, x, y), label = (size_t)y * trace->width + x;
            for (unsigned i = 0; i < 2; i++) {
                if (i == 0 ? x + 1 == trace->width : y + 1 == trace->height) continue;
                size_t to = i == 0 ? at + 1 : at + trace->stride;
                if (nearest[at] == nearest[to]) continue;
                bool here = copper->labels[label] != 0,
                     there = copper->labels[i == 0 ? label + 1 : label + trace->width] != 0;
                if (!here && !there) look_at(trace, nearest, at, to, &least);
                if (here != there) look_across(trace, nearest, here ? to : at, here ? at : to, &least);
            }
        }
    if (least.a == 0) return;
    PlacePoint a = trace_mm(trace, least.a), b = trace_mm(trace, least.b);
    copper->gap_at = (PlacePoint){(a.x + b.x) / 2, (a.y + b.y) / 2};
    copper->gap_least = (double)least.width / DEEP_UNIT / trace->scale;
    size_t bare = copper->labels[trace_label_at(trace, least.a)] == 0 ? least.a : least.b;
    if (trace->copper[bare] >= TRACE_COPPER) return; /* cut by a word: the picture shows no gap to measure */
    Chord chord = chord_least(trace, trace_mm(trace, bare), CHORD_NETS, REACH_MM, CHORD_TURNS);
    if (chord.width > 0) copper->gap_least = chord.width;
}
