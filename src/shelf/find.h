/* The best of what an index finds. (Inside the shelf room.) */
#ifndef UNPICK_SHELF_FIND_H
#define UNPICK_SHELF_FIND_H

#include "shelf/index.h"

typedef struct Candidate {
    int weight;     /* tenths of a deciban, of the marking alone */
    uint32_t owner; /* of the spelling, in its index */
    uint32_t nth;
    Reading spelling;
    const Reading *marking; /* what it was compared with: the whole marking or one of its words */
    bool stored, code;      /* from the catalogue file; a body code */
} Candidate;

/* The best, one for each part, best first. */
typedef struct Pool {
    Candidate *at; /* size room */
    size_t count, room;
    const Damage *damage;
    const Index *index; /* being searched */
    const Reading *marking;
    bool stored;
    IndexAsker asker;
    size_t most;  /* how many are wanted in the end; what is behind them is kept only while it may still overtake */
    int overtake; /* tenths of a deciban by which body and pins may yet change the order */
} Pool;

enum { MARKING_WORDS_MOST = 4 };

/* The marking as a whole, and each of its words when it has several: the lines of a body say a part number beside a date
 * and a maker. readings: size MARKING_WORDS_MOST + 1. Returns the count. */
size_t marking_readings(Text marking, Reading *readings);

/* Adds the best of one index. NULL: nothing. */
void pool_search(Pool *pool, Index *index, bool stored, const Reading *marking);

#endif
