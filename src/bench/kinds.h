/* Kinds of part, from lore/kinds.lore: what a reference letter means, which pins a kind has and how they are spelled. */
#ifndef UNPICK_BENCH_KINDS_H
#define UNPICK_BENCH_KINDS_H

#include "base/names.h"
#include "base/quantity.h"
#include "lore/lore.h"
#include "note/note.h"

enum { KIND_PINS_MOST = 16 };

typedef struct BenchNumbering {
    Text package; /* `*`: any */
    uint32_t count;
    Text number[KIND_PINS_MOST];
    unsigned char position[KIND_PINS_MOST];
} BenchNumbering;

typedef struct BenchProperty {
    Text name, says; /* "vf" "forward voltage" */
    Unit unit;
    Quantity value;
    Text source;
} BenchProperty;

typedef struct BenchKind BenchKind;
struct BenchKind {
    Text name;
    const BenchKind *parent; /* NULL for `part` */
    uint32_t number;         /* dense, parents before children */
    uint32_t pin_count;      /* 0: any pins (chip, connector) */
    Text pins[KIND_PINS_MOST];
    /* mate[p]: the pin that p may change places with, or p itself */
    unsigned char mate[KIND_PINS_MOST];
    bool own_pins;                   /* false: the pins, their spellings and their numberings are the parent's */
    bool others;                     /* a part of this kind may have pins besides these */
    LIST(BenchNumbering) numberings; /* own ones; the parent's hold too unless own_pins */
    LIST(BenchProperty) properties;  /* own ones, before the parent's */
    bool has_unit;
    Unit unit;        /* of its value */
    bool varies;      /* its value depends on light, heat or use: one reading says little about it */
    double tolerance; /* as a fraction; 0 when unsaid */
};

typedef struct BenchKinds BenchKinds;

/* Reads `kind`, `rails`, `pads`, `property` and `weight` entries; problems go to the lore. Never fails: what is wrong is
 * left out. */
BenchKinds *bench_kinds_new(Arena *arena, Lore *lore);

const BenchKind *bench_kind(const BenchKinds *kinds, Text name);       /* by name or other word; NULL when unknown */
const BenchKind *bench_kind_of_ref(const BenchKinds *kinds, Text ref); /* by the letters before the first
    digit or sign, all of them; `part` when they tell nothing */
uint32_t bench_kind_count(const BenchKinds *kinds);
const BenchKind *bench_kind_at(const BenchKinds *kinds, uint32_t number);
bool bench_kind_is(const BenchKind *kind, const BenchKind *ancestor); /* itself counts */
/* Position of a pin by function or other spelling, -1 when the kind has none such. */
int bench_kind_pin(const BenchKinds *kinds, const BenchKind *kind, Text spelling);
/* Which pin is which in a package, or in any; NULL when lore does not say. `SOT23` is `SOT-23`; aliases are not looked up.
 */
const BenchNumbering *bench_kind_numbering(const BenchKind *kind, Text package);
/* Position of a pin by its number in a package; -1 when the numbering is not known. */
int bench_kind_pin_numbered(const BenchKind *kind, Text package, Text number);
/* A figure usual for the kind or an ancestor; NULL when there is none. */
const BenchProperty *bench_kind_property(const BenchKind *kind, Text name);
/* A declared property's unit; false when no `property` entry declares it. */
bool bench_property_unit(const BenchKinds *kinds, Text name, Unit *unit);
bool bench_is_ground_name(const BenchKinds *kinds, Text name);
bool bench_is_supply_name(const BenchKinds *kinds, Text name);
/* Metal under or behind the body that is not counted among a package's pins: `EP`, `TAB`. */
bool bench_is_pad_name(const BenchKinds *kinds, Text label);
/* Weight in decibans of an observation from this source; unsaid weighs as by eye. */
double bench_source_weight(const BenchKinds *kinds, NoteSource source);
/* The same as a probability. */
double bench_source_trust(const BenchKinds *kinds, NoteSource source);
/* The other weights, in decibans. */
typedef enum BenchWeight {
    BENCH_WEIGHT_LETTERS, /* for a kind, of the reference letters */
    BENCH_WEIGHT_ADOPT,   /* from which on a marking names the part's kind */
    BENCH_WEIGHT_PART,    /* of one part number before its marking is read */
    BENCH_WEIGHT_KIND,    /* for it when it is of the kind that a note says */
    BENCH_WEIGHT_DATE,    /* for a marking that can be a date to be one, besides the reading's own */
    BENCH_WEIGHT_COUNT
} BenchWeight;
double bench_weight(const BenchKinds *kinds, BenchWeight weight);

#endif
