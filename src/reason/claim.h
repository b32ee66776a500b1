/* Claims from finds, parts and statements. For this room only. */
#ifndef UNPICK_REASON_CLAIM_H
#define UNPICK_REASON_CLAIM_H

#include "reason/find.h"

typedef struct Lines {
    LIST(uint32_t) list;
} Lines;

typedef struct Claimer {
    Arena *arena;
    const Finder *finder;
    Reasoning *reasoning;
    Names *ids;              /* of claims made */
    LIST(uint32_t) claim_of; /* by id number: index in claims, BENCH_NONE for hazards */
    unsigned char *disputed; /* by line: stands in a contradiction; size notebook lines + 1 */
    /* For each claim, the weakest joint: what a beep would settle. Parallel to reasoning->claims. */
    LIST(BenchChain) weakest;
} Claimer;

/* Makes the claim, or adds to one; its id. */
Text claim_find(Claimer *claimer, const Find *find);
void claim_parts(Claimer *claimer);
void claim_statements(Claimer *claimer);
/* Writes a rule's text; false when something in it is not known. */
bool claim_words(Claimer *claimer, const Find *find, const RuleText *text, Out *out);

/* A sum of distinct line numbers, ascending. */
void lines_add(Arena *arena, Lines *lines, uint32_t line);
void lines_sort(Lines *lines);

/* open.c: what is not known, best first. */
void open_questions(Claimer *claimer);

#endif
