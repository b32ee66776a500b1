/* An invented board side: first as things (pads, tracks, parts, in mm), then as planes. */
#ifndef BOARDS_LAYOUT_H
#define BOARDS_LAYOUT_H

#include "raster.h"
#include "rng.h"

#include <stddef.h>

enum { LAYOUT_PADS = 700, LAYOUT_TRACKS = 6000, LAYOUT_PARTS = 90, LAYOUT_SHAPES = 400 };

typedef enum PartSort { PART_CHIP, PART_SMALL, PART_IC, PART_AXIAL, PART_CAN, PART_BLOCK, PART_BARE } PartSort;

typedef struct Pad {
    float x, y, w, h, turn, round; /* mm, radian; round: corner radius */
    float hole;                    /* diameter, 0: none */
    int net, part;                 /* part -1: a via, a test point ... */
    bool via, tented, thermal;
} Pad;

/* A point on a pad's copper, away from its hole, and the room round it, mm; room 0: there is none. */
typedef struct PadSample {
    float x, y, room;
} PadSample;

typedef struct Track {
    Shape shape;
    int net;
} Track;

typedef struct Part {
    PartSort sort;
    float x, y, turn, w, h, tall; /* body, mm */
    float reach_w, reach_h;       /* with its pads */
    bool through;                 /* its pins go through the board */
} Part;

/* How a board is drawn: the habits of one designer and one factory. */
typedef struct Style {
    bool through_hole; /* large parts, one side */
    bool two_sided;
    bool curved;                                 /* hand-drawn tracks */
    float track, wide, clearance, grid, annulus; /* mm */
    float pour_gap, thermal_gap, thermal_width;
    int pours; /* 0 none, 1 ground, 2 islands, 3 both */
    bool hatched;
    float mask_grow, mask_shift_x, mask_shift_y;
    float silk_width;
} Style;

typedef struct Board {
    float width, height; /* mm */
    Style style;
    Pad *pads; /* size pad_count */
    int pad_count;
    PadSample *samples; /* size pad_count; NULL: not looked for yet */
    Track *tracks;
    int track_count;
    Part *parts;
    int part_count;
    Shape *openings; /* mask left out beside pads */
    int opening_count;
    Shape *bores; /* holes without copper of their own */
    int bore_count;
    int net_count; /* nets 1 .. net_count, net 1 is ground */
    int w, h;      /* of each plane */
    Plane outline, copper, drill, land, open, silk;
    float *solder; /* height in mm, size w * h, NULL when nothing is soldered */
    bool crowded;  /* densely set (crowd.c) */
    bool hard;     /* its looks and photos are to be hard to read, too */
} Board;

/* How a board is soldered. */
typedef struct SolderHabit {
    float through, surface;        /* share of the pads with a hole, and without */
    float fat;                     /* 1: about to the pad's rim */
    float reach_least, reach_most; /* mm that it runs along bare copper */
    bool masked;                   /* it runs no farther than the mask's openings */
    bool clear;                    /* it never comes near the next copper */
} SolderHabit;

Board *layout_new(uint64_t seed, uint64_t number);
Board *layout_crowded(uint64_t seed, uint64_t number);    /* densely set and printed all over */
Board *layout_blank(float width, float height, Rng *rng); /* habits drawn by lot, planes empty */
/* What most often hid copper from a reader: print along gaps and over them, solder that runs over thermal spokes. To be
 * called once, on a finished board. */
void layout_harden(Board *board, Rng *rng);
void layout_free(Board *board);

/* Inside: each draws one stage on the board. */
void layout_place(Board *board, Rng *rng);                               /* parts.c: parts and their pads */
void layout_nets(Board *board, Rng *rng);                                /* which pads belong together */
void layout_route(Board *board, Rng *rng);                               /* route.c: tracks */
void layout_extras(Board *board, Rng *rng);                              /* extras.c: bundles, combs, rings, test shapes */
void layout_pour(Board *board, Rng *rng);                                /* pour.c: pours and islands onto board->copper */
void layout_print(Board *board, Rng *rng);                               /* print.c: silkscreen */
void layout_solder(Board *board, Rng *rng);                              /* solder.c: heights of solder */
void layout_solder_by(Board *board, Rng *rng, const SolderHabit *habit); /* in place of what was soldered before */
void layout_print_rings(Board *board, Rng *rng); /* print.c: closed outlines round pads, thin as tracks */
void layout_clip_print(Board *board);            /* print.c: none on openings of the mask */
void crowd_style(Style *style, Rng *rng);        /* crowd.c: what a crowded board has besides, or otherwise */
void crowd_outline(Board *board, Rng *rng);
void crowd_stitch(Board *board, Rng *rng);
void crowd_print(Board *board, Rng *rng);
bool layout_add_pad(Board *board, Pad pad);
bool layout_add_track(Board *board, Shape shape, int net);
bool layout_free_of(const Board *board, const Shape *shape, float clearance,
                    int net); /* of pads and tracks of other nets */
Shape layout_pad_shape(const Pad *pad);

#endif
