/* Graphical symbols of parts, to IEC 60617 and, where it differs, to IEEE 315 (ANSI Y32.2). Both from memory. */
#ifndef UNPICK_DRAW_SYMBOL_H
#define UNPICK_DRAW_SYMBOL_H

#include "bench/kinds.h"

/* A schematic is laid out on a grid: pins are on its points, wires run along its lines. */
#define SYMBOL_GRID 2.5 /* mm; the module M of IEC 60617 */
enum { SYMBOL_PINS_MOST = 6 };

/* Clockwise, so that a quarter turn adds one. */
typedef enum SymbolSide { SYMBOL_WEST, SYMBOL_NORTH, SYMBOL_EAST, SYMBOL_SOUTH } SymbolSide;

typedef struct SymbolPin {
    signed char x, y;    /* grid, from the symbol's origin, y downwards: where a wire meets it */
    unsigned char side;  /* SymbolSide that it faces */
    unsigned char lead;  /* tenths of mm: from there to the body */
} SymbolPin;

typedef struct Symbol {
    const char *kind;     /* of part that is drawn so, and those below it that have no symbol of their own */
    unsigned char pin_count;
    SymbolPin pins[SYMBOL_PINS_MOST]; /* by position of the kind's pins */
    float left, top, right, bottom;   /* mm: what it covers, without leads */
    const char *lines;    /* path data, mm from the origin */
    const char *ansi;     /* instead of `lines` in the other style; NULL: the same */
    const char *solid;    /* filled; NULL: nothing */
    const char *letter;   /* in the middle; NULL: none */
} Symbol;

/* NULL when the kind has no symbol: it is drawn as a box. */
const Symbol *symbol_of(const BenchKind *kind);
/* An operational amplifier with in+ above in-, of the same pins; any other symbol as it is. */
const Symbol *symbol_other_way(const Symbol *symbol);
/* A lone end: what a pin of a connector is drawn as, the pin facing west. */
const Symbol *symbol_terminal(void);

#endif
