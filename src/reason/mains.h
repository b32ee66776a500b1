/* Which nets hang on mains. */
#ifndef UNPICK_REASON_MAINS_H
#define UNPICK_REASON_MAINS_H

#include "bench/bench.h"

/* One for each net of the bench; NULL when nothing of mains is known. A net that is not marked may hang on mains all the
 * same: notes have holes. */
const bool *mains_find(Arena *arena, const Bench *bench);

#endif
