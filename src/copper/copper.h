/* A board's copper: nets in millimetres, with what is doubtful. The table of contents of this room:
 *   photo.h   a file to pixels             place.h   pixels to millimetres       flat.h   the board straightened
 *   layers.h  what each pixel is           copper.h  nets, pads, holes, doubts   export.h labels, SVG, Gerber, IPC-D-356A, JSON
 *   board.h   a board from the photos of its sides */
#ifndef UNPICK_COPPER_COPPER_H
#define UNPICK_COPPER_COPPER_H

#include "copper/layers.h"

typedef struct CopperRing {
    const PlacePoint *at; /* size count, closed; outer rings anticlockwise in x right y down seen on screen, holes the other way */
    uint32_t count;
    bool hole;
} CopperRing;

typedef struct CopperPad {
    PlacePoint at;      /* centre, mm */
    double width, height; /* mm along x and y */
    uint32_t net;
    uint32_t hole;      /* index of its hole, or UINT32_MAX */
} CopperPad;

typedef struct CopperHole {
    PlacePoint at;
    double diameter; /* mm */
    uint32_t net;    /* of the pad round it; 0 when bare */
    bool plated;     /* known from both sides or a note */
} CopperHole;

typedef struct CopperNet {
    double area;         /* mm2 */
    const CopperRing *rings; /* size ring_count */
    uint32_t ring_count;
    double neck;         /* narrowest place that all current between two of its pads must pass, mm; 0 when it has no two pads */
    PlacePoint neck_at;
    double width_median; /* along its tracks, mm; 0 when it has none */
    PlacePoint low, high; /* bounding box */
} CopperNet;

/* A place where one narrow neck or gap decides whether two regions are one net. */
typedef struct CopperDoubt {
    PlacePoint at;
    bool joined;      /* how it was taken */
    double p_joined;  /* calibrated probability */
    double width;     /* of the neck or gap, mm */
    Text looks;       /* "a gap of 0.12 mm, half as dark as its neighbours" */
    PlacePoint a, b;  /* a point well inside each of the two regions: where to put the probes; pads where there are any */
    uint32_t net_a, net_b; /* equal when joined */
} CopperDoubt;

/* What a person or a meter said. */
typedef enum CopperWordSort { COPPER_JOINED, COPPER_APART, COPPER_CUT, COPPER_BRIDGE, COPPER_HIDDEN } CopperWordSort;
typedef struct CopperWord {
    CopperWordSort sort;
    const PlacePoint *at; /* size count: two for joined, apart, bridge; one for cut; a polygon for hidden */
    uint32_t count;
    uint32_t line; /* of the note, 0 when an option */
    bool meter;    /* a meter said so; else an eye, which a meter overrules */
} CopperWord;

typedef struct CopperConflict {
    PlacePoint at;
    Text says;
    uint32_t line;
    uint32_t no_way; /* index + 1 of the word that says joined where this side shows no way; 0: another sort of conflict */
} CopperConflict;

typedef struct Copper {
    double scale, width_mm, height_mm;
    uint32_t width, height;
    uint16_t *labels; /* size width * height; 0: no copper, n: net n */
    LIST(CopperNet) nets; /* net n is nets.at[n - 1] */
    LIST(CopperPad) pads;
    LIST(CopperHole) holes;
    LIST(CopperDoubt) doubts; /* most doubtful first */
    LIST(CopperConflict) conflicts; /* a word that the picture speaks against, or two words that contradict */
    double gap_least;       /* smallest distance between two nets, mm */
    PlacePoint gap_at;
    double area; /* of all copper, mm2 */
} Copper;

/* From layers to nets. Words win over pixels (meter beats eye, eye beats photo). Everything on the arena but labels (copper_free). */
bool copper_trace(Arena *arena, const Layers *layers, const CopperWord *words, size_t word_count, Copper *copper);
void copper_free(Copper *copper);
uint32_t copper_net_at(const Copper *copper, PlacePoint mm); /* 0: none */

/* The smallest distance between two sets of nets, mm, and the middle of it: what counts between mains and low voltage. side: size
 * nets.count + 1; side[n] is 1 or 2 when net n belongs to that set, else 0. Infinite when a set has no net. */
double copper_gap_between(const Copper *copper, const unsigned char *side, PlacePoint *at);

/* IPC-2221 (from memory): the current in ampere that raises a track of this width and thickness (mm) by `rise` kelvin:
 * I = k dT^0.44 A^0.725, A in square mil, k = 0.048 outside, 0.024 inside. */
double copper_ipc2221_ampere(double width_mm, double thickness_mm, double rise_kelvin, bool outside);

#endif
