/* Parts in memory: `part` and `family` entries of the lore, read when asked for, and rows of a teardown's shelf.csv.
 * (Inside the shelf room.) */
#ifndef UNPICK_SHELF_PART_H
#define UNPICK_SHELF_PART_H

#include "base/names.h"
#include "shelf/shelf.h"

/* A way the part may be written on its body. */
typedef struct Spelling {
    Text text;
    Text body;     /* of a code: the package it stands for, or empty */
    uint32_t part; /* number in Parts */
    bool code;
} Spelling;

typedef struct PartSlot {
    ShelfPart part;          /* name and kind at once, the rest when `read` */
    const LoreEntry *entry;  /* NULL: not from lore */
    Text member, value;      /* of a family: what * and $ stand for */
    uint32_t first_spelling; /* in Parts; its others follow */
    bool read;
} PartSlot;

typedef struct Parts {
    Arena *arena;
    Lore *lore;
    LIST(PartSlot *) slots;
    LIST(Spelling) spellings;
    Names *kinds, *properties; /* declared in kinds.lore; empty when there is none */
    Names *exact;              /* folded names and aliases; number n is the part exact_part.at[n] */
    LIST(uint32_t) exact_part;
    size_t filled; /* bytes that families were written out to */
} Parts;

/* Heads, names and codes of all entries are read at once, built-in details later (they are checked by the tests); the
 * person's own entries are read in full, so that their problems show. */
Parts *parts_new(Arena *arena, Lore *lore);
/* The details too. */
const ShelfPart *parts_read(Parts *parts, uint32_t number);
/* UINT32_MAX when unknown. */
uint32_t parts_find(const Parts *parts, Text name);
/* A finished part from elsewhere; its texts are kept, not copied. */
void parts_add(Parts *parts, const ShelfPart *part, const Text *aliases, uint32_t alias_count, const Text *codes,
               uint32_t code_count);

/* Pins that a body of this name has, as far as its name says: SOP-8 8, SOT-23-5 5, SOT-23 0 (not said). */
uint32_t package_leads(Text package);

#endif
