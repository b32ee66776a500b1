/* The model of a damaged marking: how well a marking that was read agrees with what a part's body should say, in decibans.
 * (Inside the shelf room.) */
#ifndef UNPICK_SHELF_DAMAGE_H
#define UNPICK_SHELF_DAMAGE_H

#include "lore/lore.h"

enum {
    READING_MOST = 40
}; /* characters of a marking or spelling that are looked at; a longer one is compared in its first 40 */

typedef enum Slip {
    SLIP_RIGHT,
    SLIP_ALIKE,
    SLIP_CHANGE,
    SLIP_MISSING,
    SLIP_EXTRA,
    SLIP_PREFIX,
    SLIP_ENDING,
    SLIP_ENDING_LETTER,
    SLIP_BODY_FITS,
    SLIP_BODY_DIFFERS,
    SLIP_PINS_FIT,
    SLIP_PINS_DIFFER,
    SLIP_COUNT
} Slip;

typedef struct Damage {
    int weight[SLIP_COUNT];  /* tenths of a deciban */
    unsigned char fold[256]; /* a character's group of look-alikes, named by its first; letters regardless of case */
    struct {
        Text word;
        uint32_t group;
    } * bodies; /* size body_count: spellings of packages, those of one group the same */
    uint32_t body_count;
} Damage;

/* From the `damage` entries; problems go to the lore. */
Damage *damage_new(Arena *arena, Lore *lore);

/* What is compared: letters and digits in capitals, no blanks, hyphens, dots or slashes; in a marking, `?` and `*` too. */
typedef struct Reading {
    unsigned char at[READING_MOST];
    unsigned char place[READING_MOST]; /* of each: its number in the text as written, from 1 (capped at 255) */
    uint32_t len;
    uint32_t prefix;        /* letters before the first digit, 0 to PREFIX_MOST; 0 when there are more, or no digit */
    bool has_star, has_any; /* holds `*`, `?` */
} Reading;

enum { PREFIX_MOST = 4, CORE_LEAST = 3, ENDING_MOST = 8 };

Reading reading_of(Text text, bool wildcards);
/* May an ending begin at character i (from 0)? A letter, behind at least CORE_LEAST characters with a digit among them, and
 * at most ENDING_MOST characters left. (Behind a digit of the core, letters of body and grade begin.) */
bool reading_may_end(const unsigned char *at, uint32_t len, uint32_t i);

/* Weight of the best way to read `marking` from `spelling`, in tenths of a deciban. */
int damage_weigh(const Damage *damage, const Reading *marking, const Reading *spelling, bool code);
/* The same way in words: "3rd: 8 read as B". Empty when nothing differs. */
Text damage_words(Arena *arena, const Damage *damage, const Reading *marking, const Reading *spelling, bool code);

/* Are the two one package? */
bool damage_same_body(const Damage *damage, Text a, Text b);

#endif
