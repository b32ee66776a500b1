/* What the files of tracing share. Private to the room.
 *
 * Pictures here have one pixel of border all round, so that every pixel of the board has eight neighbours: pixel (x, y)
 * lies at trace_at(trace, x, y). All of it is on a scratch arena that copper_trace gives back. */
#ifndef UNPICK_COPPER_INSIDE_H
#define UNPICK_COPPER_INSIDE_H

#include "copper/copper.h"

enum {
    TRACE_COPPER = 128, /* a pixel is taken for copper from this probability (of 255) on */
    DOUBT_FEATURES = 10
};

#define TRACE_PAD_LEAST_MM2 0.04 /* 0.2 mm squared: less bare metal is a glint */

/* A stretch of copper with no doubtful place inside. */
typedef struct TraceRegion {
    uint32_t area;    /* pixels */
    uint32_t peak_at; /* the pixel where it is surest */
    unsigned char peak;
    uint32_t up;  /* while nets are made: a region of the same net, or itself */
    uint32_t net; /* index of its net, from 1; 0: a speck, not copper */
} TraceRegion;

/* A neck or gap where two regions meet: the likeliest place of one stretch of border. */
typedef struct TraceEdge {
    uint32_t a, b;   /* regions */
    uint32_t at;     /* pixel */
    uint32_t border; /* pixels along which they meet about as likely as here */
    unsigned char value;
    bool copper;             /* the pixel there is taken for copper: a neck, else a gap */
    bool joined;             /* copper is taken to go on here */
    uint32_t told;           /* because a word says so, or not because a word says not: the word's index + 1 */
    bool tree;               /* the likeliest of the ways that hold its net together */
    double width;            /* of the neck or gap, mm; 0 when no edge was in reach */
    PlacePoint from, to;     /* the ends of that width */
    uint32_t side_a, side_b; /* the surest pixel of each region close by */
    double feature[DOUBT_FEATURES];
    double p;        /* that copper joins the two here */
    double together; /* of the likeliest edge of its two regions: that any of theirs joins them; of the others 0 */
} TraceEdge;

/* A way of metal that a person put there. */
typedef struct TraceBridge {
    PlacePoint from, to;
    uint32_t region;
} TraceBridge;

typedef struct Trace {
    Arena *arena; /* scratch */
    double scale; /* pixels per mm */
    uint32_t width, height, stride;
    unsigned char *copper; /* probability, with cuts drawn in */
    unsigned char *unseen;
    const unsigned char *pad, *hole; /* the layers' own, without border: at trace_label_at */
    unsigned char *value;            /* trace_value.c */
    uint32_t *region;                /* 0: none, n: regions.at[n - 1] */
    uint16_t *deep; /* neck.c: distance to the nearest edge of copper, in DEEP_UNIT of a pixel, inside and outside copper */
    uint32_t speck; /* pixels: copper smaller than this is no net */
    LIST(TraceRegion) regions;
    LIST(TraceEdge) edges;
    LIST(TraceBridge) bridges;
} Trace;

static inline size_t trace_at(const Trace *trace, uint32_t x, uint32_t y) {
    return ((size_t)y + 1) * trace->stride + x + 1;
}
static inline PlacePoint trace_mm(const Trace *trace, size_t at) {
    return (PlacePoint){((double)(at % trace->stride) - 0.5) / trace->scale,
                        ((double)(at / trace->stride) - 0.5) / trace->scale};
}
/* The same pixel among labels, which have no border. */
static inline size_t trace_label_at(const Trace *trace, size_t at) {
    return (at / trace->stride - 1) * trace->width + at % trace->stride - 1;
}
/* The pixel at a place; 0 when it is outside the board. */
size_t trace_pixel(const Trace *trace, PlacePoint mm);
/* The nearest pixel of copper that belongs to a region, within a reach in mm; 0 when there is none. */
size_t trace_copper_near(const Trace *trace, PlacePoint mm, double reach);
/* The region that stands for the net of a region while nets are made. */
uint32_t trace_root(Trace *trace, uint32_t region);

/* ---- trace.c ---- */
Trace trace_start(Arena *scratch, const Layers *layers);

/* ---- trace_value.c: how sure copper is, counting how wide it is ---- */
void trace_value(Trace *trace);

/* ---- trace_flood.c: regions and the edges between them ---- */
void trace_flood(Trace *trace);

/* ---- trace_split.c: one region made two, cut where the copper between the two pixels is narrowest ---- */
void trace_split(Trace *trace, size_t pixel_a, size_t pixel_b);

/* ---- trace_join.c: regions to nets ---- */
/* The edges of each region r: list[start[r]] ... list[start[r + 1] - 1]; all, or those of the tree. */
typedef struct TraceLinks {
    uint32_t *start, *list;
} TraceLinks;
TraceLinks trace_links(const Trace *trace, Arena *arena, bool tree_only);
/* Two regions must not be in one net. */
typedef struct TraceApart {
    uint32_t a, b, word; /* word: its index */
} TraceApart;
typedef LIST(TraceApart) TraceAparts;
/* The word that keeps the nets of these regions apart: index + 1; 0: none. */
uint32_t trace_kept_apart(Trace *trace, const TraceAparts *aparts, uint32_t a, uint32_t b);
/* Joins what is likely joined, likeliest first, unless a word forbids it or the way to the next pad is too unsure. */
void trace_join(Trace *trace, const TraceAparts *aparts);

/* ---- trace_label.c: nets to pixels ---- */
void trace_label(Arena *arena, Trace *trace, Copper *copper);

/* ---- pads.c: pads and holes ---- */
void pads_find(Arena *arena, const Trace *trace, Copper *copper);

/* ---- chord.c: widths by looking both ways from a place ---- */
typedef struct Chord {
    double width;        /* mm: of copper when cast in copper, else of the gap; 0: no edge within reach on both sides */
    PlacePoint from, to; /* its ends, mm */
    double turn;         /* its direction, radians from x to y */
} Chord;
typedef enum ChordEnds { CHORD_ANY, CHORD_REGIONS, CHORD_NETS } ChordEnds; /* in a gap: the ends must differ in this */
enum { CHORD_TURNS = 16 };
/* The shortest of `turns` directions. */
Chord chord_least(const Trace *trace, PlacePoint mm, ChordEnds ends, double reach_mm, unsigned turns);

/* ---- doubt.c: how likely an edge joins, from what it looks like ---- */
extern const char *const DOUBT_FEATURE_NAMES[DOUBT_FEATURES];
void doubt_weigh(Trace *trace);
/* Lists what is doubtful, most worth asking first. Pads, labels and depth must stand. */
void doubt_list(Arena *arena, Trace *trace, Copper *copper);

/* ---- words.c ---- */
/* Draws cuts and hidden places into the pictures. */
void words_draw(Trace *trace, const CopperWord *words, size_t count);
/* Joins and keeps apart as the words say; then trace_join does the rest. Conflicts go to copper, texts on the arena. */
void words_settle(Arena *arena, Trace *trace, const CopperWord *words, size_t count, Copper *copper);

/* ---- neck.c: depths and widths ---- */
enum { DEEP_UNIT = 32 /* of a pixel */ };
/* Fills trace->deep, and nearest (bordered, as deep): the label of each pixel, or of the copper nearest to a bare one. */
void neck_depths(Trace *trace, const Copper *copper, uint16_t *nearest);
/* Of each net the narrowest place between its pads, and how wide its tracks are. Uses up trace->region. */
void neck_measure(Trace *trace, Copper *copper);

/* ---- measure.c ---- */
/* How far, in pixels, from the centre of a copper pixel (probability `in`) to the edge that lies between it and its bare
 * neighbour (`out`), 0 ... 1. */
static inline double measure_edge(unsigned char in, unsigned char out) {
    if (in < TRACE_COPPER || out >= TRACE_COPPER) return 0.5; /* drawn by a word, or cut: no edge of the picture's own */
    return (in - (TRACE_COPPER - 0.5)) / (in - out);
}
void measure_gap(const Trace *trace, const uint16_t *nearest, Copper *copper);

/* ---- outline.c ---- */
void outline_rings(Arena *arena, const Trace *trace, Copper *copper);

#endif
