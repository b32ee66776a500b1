/* What the files flat*.c share: each of these changes a drawn flat in place, in memory that doesn't grow with it. */
#ifndef UNPICK_COPPER_FLAT_INSIDE_H
#define UNPICK_COPPER_FLAT_INSIDE_H

#include "copper/flat.h"

/* Takes out uneven light. */
void flat_even_light(Flat *flat);
/* Marks glare and what is out of focus as unseen. */
void flat_mark_unseen(Flat *flat);

#endif
