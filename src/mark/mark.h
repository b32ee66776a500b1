/* What a marking may mean, by the standards that define the codes; packages from measurements. Tables come from lore: the
 * heads `package`, `cell-system`, `cell-size`, `code`, `reading`, `narrow`, `sign` and `memory-family` belong to this room.
 * What a function gives lives as long as the arena it was given; what a Marks gives lives as long as the Marks. */
#ifndef UNPICK_MARK_MARK_H
#define UNPICK_MARK_MARK_H

#include "base/quantity.h"
#include "lore/lore.h"

typedef struct Marks Marks; /* the tables, read once */

/* Reads the entries that belong to this room; others are not touched. Problems go to the lore. */
Marks *marks_new(Arena *arena, Lore *lore);
/* Is this word the head of an entry that marks_new reads? */
bool marks_reads(Text head);

/* ---- markings ---- */

/* What narrows a reading. Empty texts: unknown. */
typedef struct MarkContext {
    Text kind;    /* as `--as` takes it (mark_kinds), or a part's kind: chip, transistor ... */
    Text package; /* 0805, SOT-23, or a word for the case: radial, electrolytic, disc ... */
    int year;     /* the latest year a date can be of; 0: unknown */
} MarkContext;

typedef struct MarkField {
    Text name, value;
} MarkField;

typedef struct MarkReading {
    Text kind; /* one of mark_kinds */
    Text says; /* one sentence, units said */
    bool has_value;
    Quantity value;          /* with tolerance as low and high where the marking or the standard gives one */
    const MarkField *fields; /* size field_count: further facts: "temperature coefficient" "±30 ppm/K", "chemistry" ... */
    uint32_t field_count;
    Text standard;   /* "IEC 60062:2016, clause 5; from memory" */
    Text assumed;    /* what was taken for granted, or empty */
    double decibans; /* weight of evidence for this reading beside the others */
} MarkReading;

typedef struct MarkReadings {
    const MarkReading *at; /* size count, likeliest first */
    uint32_t count;
    Text refused; /* when there is none: why the marking, which looks like a code, is not one; or empty */
} MarkReadings;

/* Every reading the standards allow. A marking of more than 128 bytes, with control bytes or with bad UTF-8 has none. */
MarkReadings mark_read(Arena *arena, const Marks *marks, Text marking, MarkContext context);

/* The share of reading `i`, 0..1, when one of these readings must be right. */
double mark_share(MarkReadings readings, uint32_t i);

/* The kinds that `--as` takes, for messages and completions. */
const Text *mark_kinds(size_t *count);

/* ---- packages ---- */

typedef struct MarkPin {
    Text number;
    double x,
        y; /* mm from the package's centre, x right, y down, seen from above, turn 0: where its lead meets the board */
} MarkPin;

/* Turn 0 is level A of IPC-7351 (from memory): pin 1 upper left, or left where the pins are in one row; numbers run
 * anticlockwise. The rows of a package with two or four rows stand upright; a single row lies along x. */
typedef struct MarkPackage {
    Text name;
    const Text *aliases; /* size alias_count */
    uint32_t alias_count;
    double body_length, body_width, body_height; /* mm, nominal; length along the rows of leads; 0 when unsaid */
    double size_x, size_y;                       /* mm over everything at turn 0, leads included */
    double span;                                 /* mm over the lead tips, across the rows; 0 when unsaid */
    double span_length;  /* mm over the lead tips, along body_length; 0 when no leads stick out there */
    double pitch;        /* mm; 0 for two-terminal bodies without leads */
    uint32_t leads;      /* pins; tab and thermal pad not counted */
    const MarkPin *pins; /* size pin_count; a tab is TAB, a thermal pad below is EP */
    uint32_t pin_count;
    Text style; /* chip, diode, melf, tantalum, dual, quad, sides, inline, radial, axial, can, array ... */
    bool through_hole;
    double rated;           /* W that a resistor of this body may turn to heat at 70 degC; 0 when unsaid */
    double heat, heat_case; /* K/W from the junction to still air on a small board, and to the case; 0 when unsaid */
    Text source; /* where the figures come from */
} MarkPackage;

/* By name or alias, regardless of letter case, blanks and dashes: `SO8` = `SO-8`; NULL when unknown. */
const MarkPackage *mark_package(const Marks *marks, Text name);
const MarkPackage *mark_packages(const Marks *marks, size_t *count);

typedef struct MarkMeasured {
    double body_a, body_b, body_height; /* mm, either order; 0: not measured */
    double pitch, span;
    uint32_t leads;
} MarkMeasured;

/* Takes one measurement: option `body` ("5.0x6.2mm", "5 x 6.2 x 1.75 mm"), `pitch` ("1.27mm", "50mil"), `span`, `height`,
 * `leads` ("8"). False, with the reason in the diags, when the value can't be it. */
bool mark_measure(Text option, Text value, MarkMeasured *measured, Diags *diags);

typedef struct MarkFit {
    const MarkPackage *package;
    double decibans; /* weight of evidence for it, beside a package that only chance would make fit */
    Text differs;    /* what fits least, in words with figures; empty when all fits well */
} MarkFit;

/* Best first, at most `most`; the count. Packages that the measurements rule out are left out. */
size_t mark_package_rank(Arena *arena, const Marks *marks, MarkMeasured measured, MarkFit *fits, size_t most);

/* ---- cells ---- */

typedef struct MarkCell {
    Text designation, chemistry, shape, size;
    Quantity volts;          /* nominal, per battery: 6F22 is 9 V; a range where the chemistry is not said */
    uint32_t in_series;      /* cells */
    double diameter, height; /* mm; 0 when unknown or not round */
    bool lithium, button, rechargeable;
    Text system; /* its letters in IEC 60086, 61951 or 61960: `L`, `-` for zinc-carbon; empty where it is not said */
    Text code;   /* the size without them: `R6`, `6F22`, `R18650` */
    Text source, assumed;
} MarkCell;

/* A designation of IEC 60086, 61951 or 61960 (LR6, CR2032, 6F22, HR6, ICR18650) or of common trade use (AAA, 18650); false
 * when it is none. */
bool mark_cell(Arena *arena, const Marks *marks, Text designation, MarkCell *cell);

enum { MARK_CHARGE_POINTS = 11, MARK_LOADS_MOST = 8 };

typedef struct MarkLoad {
    double load;  /* A; of a chemistry: times the capacity a second */
    double gives; /* A s, at this load down to the end; of a chemistry: share of the capacity */
} MarkLoad;

typedef struct MarkChemistry {
    Text name;
    double open[MARK_CHARGE_POINTS]; /* V of one cell with 0, 10 ... 100 % of its charge left, at rest */
    double end;                      /* V of one cell under load: used up */
    Quantity loses;                  /* share of its charge a year at 20 degC */
    double rises;                    /* resistance used up over fresh */
    double spread;                   /* of its charge, from make to make */
    MarkLoad rates[MARK_LOADS_MOST];
    uint32_t rate_count;
    Text source;
} MarkChemistry;

/* How a battery of one designation empties. */
typedef struct MarkDischarge {
    const MarkChemistry *chemistry;
    uint32_t in_series;              /* cells in the case */
    MarkLoad loads[MARK_LOADS_MOST]; /* size load_count >= 1, ascending */
    uint32_t load_count;
    double low, high; /* its charge may be so many times what is said: makes, and a range of what is sold */
    Quantity ohms;    /* fresh, of the whole battery */
    bool assumed;     /* the chemistry is not said (AA), and taken as alkaline */
    Text source;
} MarkDischarge;

/* stated: the charge that the label says, UNIT_COULOMB, or UNIT_NONE when it says none. False when lore has no such cell. */
bool mark_discharge(const Marks *marks, const MarkCell *cell, Quantity stated, MarkDischarge *discharge);
/* A s that it gives at a constant current down to its end. */
double mark_charge_at(const MarkDischarge *discharge, double amperes);
/* V of the whole battery at rest, and ohm within it, with this share of its charge left. */
double mark_open_volts(const MarkDischarge *discharge, double share);
double mark_inner_ohms(const MarkDischarge *discharge, double share);

/* ---- preferred values and dates ---- */

/* IEC 60063: value `i` (0 .. steps - 1) of the series of `steps` (3, 6, 12, 24, 48, 96, 192) values a decade, as an integer
 * of two figures up to E24 and of three from E48 on; 0 when there is no such series or value. */
unsigned mark_series(unsigned steps, unsigned i);
bool mark_in_series(double value, unsigned steps);
double mark_nearest_in_series(double value, unsigned steps); /* by ratio */

/* ISO 8601: weeks of a year, 52 or 53, and the Monday of a week. */
int mark_weeks_of(int year);
void mark_week_starts(int year, int week, int *monday_year, int *month, int *day);

#endif
