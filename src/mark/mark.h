/* What a marking may mean, by the standards that define the codes; packages from measurements. Tables come from lore. */
#ifndef UNPICK_MARK_MARK_H
#define UNPICK_MARK_MARK_H

#include "base/quantity.h"
#include "lore/lore.h"

typedef struct Marks Marks; /* the tables, read once */

/* Reads the entries that belong to this room (package, cell, ...); others are not touched. Problems go to the lore. */
Marks *marks_new(Arena *arena, Lore *lore);

/* What narrows a reading. Empty texts: unknown. */
typedef struct MarkContext {
    Text kind;    /* resistor, capacitor, inductor, diode, date, cell, ip, sign, wire, flash, maker ... as `--as` takes it */
    Text package; /* 0805, SOT-23, radial ... */
} MarkContext;

typedef struct MarkField {
    Text name, value;
} MarkField;

typedef struct MarkReading {
    Text kind; /* as in MarkContext.kind */
    Text says; /* one sentence, units said */
    bool has_value;
    Quantity value;      /* with tolerance as low and high where the marking or the standard gives one */
    const MarkField *fields; /* size field_count: further facts: "temperature coefficient" "±30 ppm/K", "chemistry" ... */
    uint32_t field_count;
    Text standard; /* "IEC 60062:2016, clause 5" */
    Text assumed;  /* what was taken for granted, or empty */
    double decibans; /* weight of evidence for this reading beside the others */
} MarkReading;

typedef struct MarkReadings {
    const MarkReading *at; /* size count, likeliest first */
    uint32_t count;
} MarkReadings;

MarkReadings mark_read(Arena *arena, const Marks *marks, Text marking, MarkContext context);

/* The kinds that `--as` takes, for messages and completions. */
const Text *mark_kinds(size_t *count);

/* ---- packages ---- */

typedef struct MarkPin {
    Text number;
    double x, y; /* mm from the package's centre, x right, y down, seen from above, turn 0 */
} MarkPin;

typedef struct MarkPackage {
    Text name;
    const Text *aliases; /* size alias_count */
    uint32_t alias_count;
    double body_length, body_width, body_height; /* mm, nominal; length along the rows of leads; 0 when unsaid */
    double span;                 /* mm over the lead tips; 0 when unsaid */
    double pitch;                /* mm; 0 for two-terminal and single-lead bodies */
    uint32_t leads;              /* pins, thermal pad not counted */
    const MarkPin *pins;         /* size pin_count */
    uint32_t pin_count;
    Text style;                  /* chip, dual, quad, array, through-hole ... */
    Text source;                 /* where the figures come from */
} MarkPackage;

/* By name or alias, letters regardless of case, `SO8` = `SO-8`; NULL when unknown. */
const MarkPackage *mark_package(const Marks *marks, Text name);
const MarkPackage *mark_packages(const Marks *marks, size_t *count);

typedef struct MarkMeasured {
    double body_a, body_b, body_height; /* mm, either order; 0: not measured */
    double pitch, span;
    uint32_t leads;
} MarkMeasured;

typedef struct MarkFit {
    const MarkPackage *package;
    double decibans; /* weight of evidence for it */
    Text differs;    /* what fits least, in words with figures */
} MarkFit;

/* Best first, at most `most`; the count. */
size_t mark_package_rank(Arena *arena, const Marks *marks, MarkMeasured measured, MarkFit *fits, size_t most);

/* ---- cells ---- */

typedef struct MarkCell {
    Text designation, chemistry, shape, size;
    Quantity volts;   /* nominal, per battery: 6F22 is 9 V */
    bool lithium, button;
} MarkCell;

/* A designation of IEC 60086 (LR6, CR2032, 6F22) or of common trade use (AAA, 18650); false when it is none. */
bool mark_cell(Arena *arena, const Marks *marks, Text designation, MarkCell *cell);

#endif
