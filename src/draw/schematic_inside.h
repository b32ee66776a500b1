/* How a schematic is made, step by step. Private to the room.
 *
 *   schematic_items.c   parts into items: symbols, boxes, lone ends
 *   schematic_dress.c   an item turned, and its texts beside it
 *   schematic_turn.c    which way round each item stands
 *   schematic_stack.c   items that carry one current stacked on top of each other, stacks side by side
 *   schematic_rank.c    how far along its way a signal is on each net
 *   schematic_bridge.c  the right half of an H mirrored
 *   schematic_order.c   the order of stacks from left to right
 *   schematic_group.c   items into groups that are wired inside and joined by name outside
 *   schematic_hub.c     a chip with what hangs on its pins
 *   schematic_route.c   wires on the grid; schematic_wire.c: of one group
 *   schematic_notes.c   figures beside the drawing
 *   schematic.c         groups onto sheets */
#ifndef UNPICK_DRAW_SCHEMATIC_INSIDE_H
#define UNPICK_DRAW_SCHEMATIC_INSIDE_H

#include "draw/route.h"
#include "draw/schematic.h"
#include "reason/rails.h"

typedef enum NetUse {
    NET_LONE,   /* one pin or none drawn: nothing to wire */
    NET_SIGNAL, /* wired */
    NET_SUPPLY, /* a symbol above each pin */
    NET_GROUND, /* a symbol below each pin */
} NetUse;

/* What a part does for the picture. */
typedef enum ItemRole {
    ITEM_OTHER,
    ITEM_RESISTOR,
    ITEM_CAPACITOR,
    ITEM_SERIES, /* what lies in a supply line: fuse, bead, coil, link */
    ITEM_DIODE,
    ITEM_LED,
    ITEM_SWITCH,
    ITEM_LOAD,
    ITEM_SOURCE,
    ITEM_TRANSISTOR,
    ITEM_TERMINAL, /* one pin of a connector, or a test point */
    ITEM_FLAG,     /* the name of a net that goes on elsewhere */
    ITEM_PORT,     /* where a pin of the group's chip will be: not drawn */
} ItemRole;

typedef struct ItemPin {
    int x, y; /* grid, from the item's origin, as turned */
    SymbolSide side;
    double lead; /* mm */
    uint32_t pin, net;
    Text name; /* of boxes */
} ItemPin;

enum { ITEM_TEXTS_MOST = 2 };

typedef struct Item {
    ItemRole role;
    uint32_t part; /* BENCH_NONE: a flag or a port */
    Text ref, value;
    const Symbol *symbol; /* NULL: a box, a flag or a port */
    unsigned turn;
    bool mirrored, standing; /* standing: its current runs from top to bottom */
    bool turned;             /* that is settled */
    bool chip;               /* a box that may be the middle of a group */
    bool over;               /* joins two pins of one item, and is drawn above it */
    uint32_t feedback;       /* of its pins, the one at the control of the transistor that the other is driven by; BENCH_NONE */
    bool feeds;              /* a box that makes a supply: signals begin at its output */
    ItemPin *pins;
    uint32_t pin_count;
    SchematicBox body;                    /* mm, from the origin */
    SchematicText texts[ITEM_TEXTS_MOST]; /* reference and value; places from the origin */
    uint32_t text_count;
    SchematicBox all; /* body, pins and texts */
    SchematicAt at, laid; /* laid: at first, before anything was spread */
    uint32_t place; /* in its island's items */
    uint32_t block; /* of the claim that it is drawn for, among reason_blocks; their count when there is none */
    Text claim;
} Item;

typedef struct Maker {
    Arena *arena;
    const SchematicAsked *asked;
    const Bench *bench;
    Schematic *drawing;
    const Rail *rails;
    NetUse *use;         /* size nets */
    Text *net_name;      /* size nets: to join by */
    bool *beyond;        /* size nets: has pins of parts that are not drawn */
    bool *top;           /* size nets: a supply, or what looks like one: what hangs from it stands below it */
    signed char *flow;   /* size pins: 1 a signal leaves its chip here, -1 enters, 0 unknown */
    bool *negative;      /* size nets: its name says that it lies below ground */
    uint32_t ground;     /* the net drawn as ground without a name; BENCH_NONE when there is none */
    uint32_t *pin_place; /* size pins: which of its item's pins a pin is */
    uint32_t budget;     /* steps that the search for wires may still take */
    LIST(Item) items;
} Maker;

/* About three seconds; a board of 500 parts takes a hundredth. */
enum { SCHEMATIC_BUDGET = 16000000 };

/* ---- items ---- */

void maker_items(Maker *maker);
uint32_t maker_lone_end(Maker *maker, ItemRole role, uint32_t net, uint32_t pin); /* a flag or a port; its index */
/* Turned so, mirrored first; texts and pins follow. */
void item_turn(Item *item, unsigned turn, bool mirrored);
/* A box around its pins: their sides are given, and the heights of those west and east. */
void item_box_frame(Item *item);
/* The pins of a box to its four sides as far as is known, the others left and right; and its frame. */
void item_box_pins(const Maker *maker, Item *item);
/* Of a standing or lying transistor: does this pin control the path? */
static inline bool item_control(const Item *item, uint32_t pin) {
    return item->role == ITEM_TRANSISTOR && item->symbol != NULL && item->symbol->pin_count >= 3 && item->symbol->pins[pin].x != 0;
}
/* North for a pin at a supply, south at a ground, else west. */
SymbolSide item_rail_side(const Maker *maker, const ItemPin *pin);
enum { BOX_PITCH = 2, BOX_LEAD_GRIDS = 2 }; /* grid */
static inline bool item_lone(const Item *item) { return item->role >= ITEM_TERMINAL; }
static inline bool item_is_box(const Item *item) { return item->symbol == NULL && !item_lone(item); }
static inline bool item_two_ended(const Item *item) {
    return item->symbol != NULL && item->symbol->pin_count == 2 && item->symbol->pins[0].side == SYMBOL_WEST &&
           item->symbol->pins[1].side == SYMBOL_EAST;
}

/* ---- islands: items that hang together by wires, laid out as stacks side by side ---- */

/* Items on one upright line, top to bottom. */
typedef struct Slot {
    uint32_t first, count; /* in the island's `stacked` */
    bool mirrored;
    int x, y;              /* grid: of its line, and of its first item's origin */
    int left, right;       /* grid: how far it reaches from its line; both >= 0 */
    int top, bottom;       /* grid: from y */
} Slot;

typedef struct IslandPin {
    uint32_t slot, item, pin; /* pin: of the item */
    int dy;                   /* grid, from the slot's y */
} IslandPin;

typedef struct IslandNet {
    uint32_t net;
    IslandPin *pins; /* size count */
    uint32_t count;
    int rank;        /* steps of the signal from where it starts; from left to right it grows */
    bool driven;     /* something active sets its level */
} IslandNet;

typedef struct Island {
    LIST(uint32_t) items;
    LIST(IslandNet) nets; /* signals that two or more of its pins are on */
    uint32_t *stacked;    /* items by slot */
    int *dy;              /* of each in `stacked`: its origin from the slot's y */
    LIST(Slot) slots;     /* from left to right */
    int left, top, right, bottom; /* grid: what it covers */
    uint32_t **nets_of; /* by place of an item and its pin: number in `nets`, or BENCH_NONE */
    int direction; /* of the signal as seen from ports: 1 away from a chip to the left of it, -1 towards one to the right; 0 no chip */
    bool loose;    /* either side of the chip would do */
} Island;

/* The same seen in a mirror that stands upright. */
static inline void item_flip(Item *item) { item_turn(item, (4 - item->turn) % 4, !item->mirrored); }

/* Settles which way each item stands, and finds the nets. local: size nets, all BENCH_NONE, and left so. */
void island_turn(Maker *maker, Island *island, uint32_t *local);
/* Stacks; the ranks of nets, and what lies turned by them; the heights of stacks; their order and places. */
void island_stack(Maker *maker, Island *island, uint32_t *local);
void island_rank(Maker *maker, Island *island);
void island_bridges(Maker *maker, Island *island);
void island_level(Maker *maker, Island *island);
void island_order(Maker *maker, Island *island);
/* ---- groups: islands around a chip, wired inside and joined by name outside ---- */

typedef struct Group {
    uint32_t hub; /* the chip in the middle; BENCH_NONE: none */
    LIST(Island) islands;
    LIST(uint32_t) items; /* all, the hub's first; no ports */
    int left, top, right, bottom; /* grid */
    SchematicSheet drawn;
    uint32_t block;       /* most of its parts are drawn for */
} Group;

typedef LIST(Group) Groups;

Groups maker_groups(Maker *maker);
/* Places of everything in it. */
void group_place(Maker *maker, Group *group, uint32_t *local);

/* Its wires, and all of it into `drawn`. local: size nets, all BENCH_NONE, and left so. */
void group_wire(Maker *maker, Group *group, uint32_t *local);

/* Volts and amperes beside it, when they are asked for. */
void group_notes(Maker *maker, Group *group, Route *route, uint32_t *local);

#define TEXT_SIZE 2.0   /* mm; ISO 3098 has 2.5 for drawings on paper, screens bear less */
#define NUMBER_SIZE 1.5 /* mm: pin numbers */

#endif
