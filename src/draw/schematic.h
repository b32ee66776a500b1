/* A schematic of a teardown: first a model of what is drawn where, then SVG of it. The model is what tests and pages read.
 *
 * Places are points of a grid of SYMBOL_GRID mm, y downwards; boxes are in mm. Everything is on the arena given. */
#ifndef UNPICK_DRAW_SCHEMATIC_H
#define UNPICK_DRAW_SCHEMATIC_H

#include "draw/svg.h"
#include "draw/symbol.h"
#include "reason/reason.h"

typedef struct SchematicAsked {
    const Reasoning *reasoning;
    const Text *volts; /* size modes * nets, mode by mode: what to write at each net, empty for nothing; NULL: none */
    const Text *amps;  /* size modes * parts: what to write at each part; NULL: none */
    uint32_t modes;    /* that figures are given for; in the SVG those of mode m carry the class m-m. 0: one, and no such class */
    bool ansi;         /* symbols of IEEE 315 where they differ from IEC 60617 */
    const bool *only;  /* size parts: which are drawn; what they are joined to beyond gets a name. NULL: all */
} SchematicAsked;

typedef struct SchematicAt {
    int x, y;
} SchematicAt;

typedef struct SchematicBox {
    double left, top, right, bottom; /* mm */
} SchematicBox;

typedef struct SchematicText {
    const char *class; /* ref, value, volts, amps, title */
    Text text;
    SvgPoint at; /* mm, on the base line */
    double size; /* mm */
    SvgAnchor anchor;
    SchematicBox box;
    uint32_t net; /* that it tells of, or BENCH_NONE */
    const Text *by_mode; /* size modes: what stands there in each, `text` being the longest; NULL: `text` in all */
} SchematicText;

enum { SCHEMATIC_NUMBER_MOST = 4 }; /* bytes of a pin's label that is written at its lead */

typedef struct SchematicPin {
    uint32_t pin;    /* of the bench; BENCH_NONE: the symbol has it, no note speaks of it */
    uint32_t net;    /* of the bench, or BENCH_NONE */
    SchematicAt at;  /* where a wire meets it */
    SymbolSide side; /* it faces */
    double lead;     /* mm, from there to the body */
    Text name;       /* its function, written in a box; empty: unknown */
} SchematicPin;

typedef struct SchematicSymbol {
    uint32_t part;
    Text ref;             /* `U1`, of a part drawn in pieces also `U1A`, `J1.2` */
    Text claim;           /* id of the claim that it is drawn for, or empty */
    const Symbol *symbol; /* NULL: a box */
    unsigned turn;        /* quarter turns clockwise, after mirroring left to right */
    bool mirrored;
    SchematicAt at;
    SchematicBox body;
    SchematicPin *pins; /* size pin_count */
    uint32_t pin_count;
    SchematicText *texts; /* size text_count */
    uint32_t text_count;
} SchematicSymbol;

/* Wires of a net join where their ends meet, and where an end meets a wire with a dot on it; nowhere else. */
typedef struct SchematicWire {
    uint32_t net;
    SchematicAt *at; /* size count >= 2; each stretch level or upright */
    uint32_t count;
} SchematicWire;

typedef struct SchematicDot {
    uint32_t net;
    SchematicAt at;
} SchematicDot;

typedef enum SchematicLabelSort { SCHEMATIC_FLAG, SCHEMATIC_SUPPLY, SCHEMATIC_GROUND } SchematicLabelSort;

/* Ends of wires of one net that are joined by name. */
typedef struct SchematicLabel {
    SchematicLabelSort sort;
    uint32_t net;
    SchematicAt at;
    SymbolSide side; /* where it extends from there */
    Text text;       /* empty for the one ground of a drawing that has only one */
    bool negative;   /* no ground but a supply below it (V-, VEE): a bar, its name below */
    SchematicBox box;
} SchematicLabel;

typedef struct SchematicSheet {
    Text title;
    SchematicBox box; /* mm: all of it, with an edge */
    LIST(SchematicSymbol) symbols;
    LIST(SchematicWire) wires;
    LIST(SchematicDot) dots;
    LIST(SchematicLabel) labels;
    LIST(SchematicText) notes; /* volts at nets, headings */
    uint32_t crossings, bends;
    uint32_t flagged; /* nets joined by name because no way was found for a wire */
    uint32_t undrawn; /* joints for which there was not even room for a name: should be none */
} SchematicSheet;

typedef struct Schematic {
    const Bench *bench;
    bool ansi;
    uint32_t modes; /* as asked */
    const Text *net_claim; /* size nets: id of the claim that all parts on the net are drawn for, or empty */
    LIST(SchematicSheet) sheets;
    uint32_t untold; /* figures for which there was no room */
} Schematic;

/* Never fails: what can't be wired is joined by name. */
Schematic *schematic_draw(Arena *arena, const SchematicAsked *asked);

/* One sheet as an SVG file of its own. id: of the page's element; stands alone: with colours of its own. */
void schematic_svg(Out *out, const Schematic *schematic, uint32_t sheet, Text id);

#endif
