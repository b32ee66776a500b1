/* What could be wrong: every single mistake worth supposing. Private to the room. */
#ifndef UNPICK_SUMS_MISTAKES_H
#define UNPICK_SUMS_MISTAKES_H

#include "sums/fit.h"

typedef LIST(Change) ChangeList;

/* Mistakes about readings that differ, and about the circuit; the latter at most effort.hypotheses. `noted`: by mode, as
 * fitted. */
void mistakes_list(Arena *arena, const Fit *fit, Solved *noted, SumsEffort effort, ChangeList *list);
/* "R6 is 47 kohm, not 470 kohm ...", what would settle it, and the note lines that would be wrong. */
SumsExplanation mistake_words(Arena *arena, const Sums *sums, const Change *change);
/* `i(BT1) in idle` */
Text mistake_reading(Arena *arena, const Sums *sums, uint32_t reading);

#endif
