/* A board's copper told to others: labels, JSON, a picture, and the two files from which a board can be made and tested
 * again. */
#ifndef UNPICK_COPPER_EXPORT_H
#define UNPICK_COPPER_EXPORT_H

#include "base/quantity.h"
#include "copper/copper.h"

typedef struct ExportNames {
    Text board;       /* may be empty */
    const Text *nets; /* size nets.count, or NULL; an empty one is called N1, N2 ... */
    bool bottom;      /* the photo shows the bottom: what is made from it is mirrored into the top's view */
} ExportNames;

typedef struct ExportFound {
    PlacePoint corners[4]; /* pixels in the photo: top-left, top-right, bottom-right, bottom-left as seen */
    bool has_corners;
    double corners_sure; /* 1 when given by hand */
    double thickness_mm; /* of the copper, for its current; 0: EXPORT_THICKNESS_MM */
    double rise_kelvin;  /* 0: EXPORT_RISE_KELVIN */
} ExportFound;

/* 35 um and 10 K: common practice. */
#define EXPORT_THICKNESS_MM 0.035
#define EXPORT_RISE_KELVIN 10.0

/* A 16-bit grey PNG, 0 no copper, n net n, at `scale` pixels a mm (0: as traced), each pixel the net at its centre. False:
 * errno. */
bool export_labels(const char *path, const Copper *copper, double scale);

/* {"unpick": 1, "board": {...}, "figures": {...}, "nets": [...], "pads": [...], "holes": [...], "doubts": [...],
 * "conflicts": [...]} (doc/json.md). */
void export_json(Out *out, const Copper *copper, const ExportNames *names, const ExportFound *found);

/* The same for a person at a terminal: figures, the first nets, the most telling doubts, all conflicts. */
void export_text(Out *out, const Copper *copper, const ExportNames *names, const ExportFound *found);
/* A line on corners that were found, by which a person can correct them; none when they were given. whose: "" or " of the top". */
void export_corners_text(Out *out, const char *whose, const char *option, const PlacePoint corners[4], double sure);

/* The nets in colour over the straightened photo (flat NULL: without), doubts as numbered circles; 1 unit is 1 mm. */
void export_svg(Out *out, const Copper *copper, const ExportNames *names, const Flat *flat);

/* Gerber X2 (Ucamco, The Gerber Layer Format Specification, from memory) of the copper, millimetres, 6 decimals, origin at
 * the board's bottom-left corner: each outline a region, dark or clear, larger ones first, with its net as an object
 * attribute. */
void export_gerber(Out *out, const Copper *copper, const ExportNames *names);

/* Net list with pad and hole places, IPC-D-356A (from memory), 0.001 mm, origin as in the Gerber file. */
void export_ipc356(Out *out, const Copper *copper, const ExportNames *names);

/* What a net is called. */
Text export_net_name(Arena *arena, const ExportNames *names, uint32_t net);
/* The place of a point of the photo's view in the files above: x right and y up, seen from the top. */
PlacePoint export_place(const Copper *copper, const ExportNames *names, PlacePoint mm);

#endif
