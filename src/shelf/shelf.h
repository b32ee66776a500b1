/* The parts catalogue: generic families from lore, and the person's own parts in SQLite; search by a damaged, partial or
 * rebadged marking.
 *
 * What a shelf gives lives on the shelf's arena, or on the one handed in, and stays valid until that is freed; after
 * shelf_close nothing new can be asked. lore/parts-damage.lore is the model of damage and the language of `part` entries.
 */
#ifndef UNPICK_SHELF_SHELF_H
#define UNPICK_SHELF_SHELF_H

#include "base/quantity.h"
#include "lore/lore.h"

typedef struct Shelf Shelf;

typedef struct ShelfPin {
    Text number, function; /* "8" "VCC" */
} ShelfPin;

/* One working unit inside a part: one op-amp of two, one inverter of six. */
typedef struct ShelfUnit {
    Text kind;            /* a kind of lore/kinds.lore: opamp, comparator, inverter ... */
    const ShelfPin *pins; /* size pin_count: number of the package's pin, function in the unit's kind (out, in+, in-) */
    uint32_t pin_count;
} ShelfUnit;

typedef struct ShelfProperty {
    Text name; /* vref, vf, hfe ... as declared in lore/kinds.lore */
    Quantity value;
} ShelfProperty;

typedef struct ShelfPart {
    Text name;            /* "LM358" */
    Text kind;            /* a kind of lore/kinds.lore */
    Text about;           /* one line */
    const Text *packages; /* size package_count */
    uint32_t package_count;
    const ShelfPin *pins; /* size pin_count; empty when unknown or different by package */
    uint32_t pin_count;
    uint32_t leads;         /* of its body, where all its packages have as many; 0 when unknown */
    const ShelfUnit *units; /* size unit_count; 0 for parts that are one unit of their own kind */
    uint32_t unit_count;
    Quantity supply;                 /* UNIT_VOLT; low = high = value = 0 when unsaid */
    const ShelfProperty *properties; /* size property_count */
    uint32_t property_count;
    Text source;  /* "general knowledge", or file:line of the person's lore or CSV */
    double price; /* NAN when unsaid */
    Text currency;
} ShelfPart;

/* The built-in families of `lore` and the person's `part` entries, plus the catalogue file `database` when not NULL (made
 * when missing only by shelf_load). Problems of entries go to the lore, which must outlive the shelf. NULL with a problem
 * when the file is there but is no catalogue. */
Shelf *shelf_open(Arena *arena, Lore *lore, const char *database, Diags *problems);
void shelf_close(Shelf *shelf); /* NULL is fine */

/* Loads a CSV file into the catalogue, all or nothing: columns by name, errors by row. A part that is there already, by its
 * name, is replaced. rows: how many went in. */
bool shelf_load(Shelf *shelf, const char *csv_path, uint32_t *rows, Diags *problems);

/* The same for this shelf only, in memory: a teardown's own shelf.csv. A missing file is no error (rows: 0). */
bool shelf_add(Shelf *shelf, const char *csv_path, uint32_t *rows, Diags *problems);

typedef struct ShelfQuery {
    Text marking;  /* `?` an unreadable character, `*` an unreadable stretch */
    Text package;  /* empty: unknown */
    uint32_t pins; /* 0: unknown */
} ShelfQuery;

typedef struct ShelfMatch {
    const ShelfPart *part;
    Text matched; /* the spelling that was compared: a name, an alias or a body code */
    bool by_code; /* matched is a body code (SOT-23 "J3Y"), not a part number */
    Text differs; /* which characters differ, in words: "3rd: 8 read as B"; empty when none */
    double
        decibans; /* weight of evidence of marking and body against any other part; what is on the shelf counts nothing */
} ShelfMatch;

/* Best first, at most `most`; the count. On `arena`. A marking of which fewer than two characters are legible finds
 * nothing. Found is every spelling within two wrong, missing or extra characters of the marking (one where it has 3 to 5
 * characters, none below; look-alikes free), and every part number that is so within one of it besides letters before and
 * after, where four characters or more are left of the marking (or that is the same, where three are). */
size_t shelf_find(Shelf *shelf, Arena *arena, ShelfQuery query, ShelfMatch *matches, size_t most);

/* By exact name or alias, letters regardless of case; NULL when unknown. */
const ShelfPart *shelf_part(Shelf *shelf, Text name);

/* The parts held in memory (lore and shelf_add), in order; `number` below shelf_count. */
uint32_t shelf_count(const Shelf *shelf);
const ShelfPart *shelf_at(Shelf *shelf, uint32_t number);

#endif
