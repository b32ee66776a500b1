/* What could be wrong: every single mistake worth supposing. Private to the room. */
#ifndef UNPICK_SUMS_MISTAKES_H
#define UNPICK_SUMS_MISTAKES_H

#include "sums/fit.h"

typedef LIST(Change) ChangeList;

/* ---- misread.c: what a part's marking may have been taken for ---- */
typedef struct Misread {
    double value; /* what the part has if so, ohm */
    Text how;     /* "its third band is orange, not red" */
} Misread;
typedef LIST(Misread) MisreadList;
/* Values that the part has if its marking was misread, each once. None where its value is not by its marking. */
void misread_marking(Arena *arena, const Marks *marks, const BenchPart *part, MisreadList *list);

/* Mistakes about readings that differ, and about the circuit; the latter at most effort.hypotheses. `noted`: by mode, as
 * fitted. */
void mistakes_list(Arena *arena, const Fit *fit, Solved *noted, SumsEffort effort, ChangeList *list);
/* "R6 is 47 kohm, not 470 kohm ...", what would settle it, and the note lines that would be wrong. */
SumsExplanation mistake_words(Arena *arena, const Sums *sums, const Change *change);
/* `i(BT1) in idle` */
Text mistake_reading(Arena *arena, const Sums *sums, uint32_t reading);

#endif
