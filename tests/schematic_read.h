/* A drawn schematic read back from its SVG: from wires, dots and names alone, what is joined to what. */
#ifndef UNPICK_TESTS_SCHEMATIC_READ_H
#define UNPICK_TESTS_SCHEMATIC_READ_H

#include "draw/schematic.h"

typedef struct ReadPin {
    Text ref, label;
    uint32_t joined; /* the same number for pins that are joined */
} ReadPin;

typedef struct ReadBack {
    LIST(ReadPin) pins;
    Out wrong; /* what a reader of the drawing could not tell: wires that touch without a dot, and the like; empty when fine */
} ReadBack;

/* All sheets, each an SVG text. */
ReadBack schematic_read(Arena *arena, const Text *sheets, uint32_t count);

/* What lies over what it should not, by the model; empty when nothing does. */
Text schematic_overlaps(Arena *arena, const Schematic *schematic);

#endif
