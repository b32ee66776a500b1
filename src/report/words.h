/* Words that all three tellings have in common. Private to the room. */
#ifndef UNPICK_REPORT_WORDS_H
#define UNPICK_REPORT_WORDS_H

#include "report/report.h"

/* ---- characters (width.c) ---- */

uint32_t words_next(Text *text);  /* takes the next code point; a byte that is not UTF-8 gives U+FFFD. text not empty */
bool words_unsafe(uint32_t code); /* a control, or one that turns the writing direction */
uint32_t words_columns(uint32_t code); /* on a terminal: 0, 1 or 2 */
void words_clean(Out *out, Text text); /* unsafe ones become U+FFFD, a tab a blank */
/* Whether a line must not be broken between these two: a figure and its unit. */
bool words_glued(Text before, Text after);

/* ---- sentences (words.c) ---- */

Text words_sentence(Arena *arena, Text text); /* with a full stop, if it lacks an end */
Text words_capital(Arena *arena, Text text);  /* first letter large */
Text words_quantity(Arena *arena, Quantity quantity);
Text words_range(Arena *arena, Quantity quantity);
/* A figure of the sums: so little that it is told as 0 (half a millivolt, 0.1 uA, 0.1 uW); with its 95 %, empty when unknown. */
bool words_nothing(const SumsFigure *figure, Unit unit);
Text words_figure(Arena *arena, const SumsFigure *figure, Unit unit);
Text words_probability(Arena *arena, double p);
Text words_decibans(Arena *arena, double decibans);                      /* `+4.0 dB` */
Text words_lines(Arena *arena, const uint32_t *lines, uint32_t count);   /* `line 3`, `lines 3, 5 and 9`; empty for none */
Text words_sort(ReasonSort sort);                                        /* idiom, capability, hazard, part, stated, sum */
Text words_conflict(BenchConflictKind kind);                             /* `joined and apart` */
const Note *words_note(const Notebook *notebook, uint32_t line);         /* struck ones too; NULL when there is none */
Text words_quote(Arena *arena, const Notebook *notebook, uint32_t line); /* the note in canonical spacing, or empty */

/* ---- what is told, in order (story.c) ---- */

/* One chapter of `how it works`: the claims of a block, or those without one by sort. */
typedef struct StoryChapter {
    Text title;
    bool block; /* a stage between power and output */
    LIST(const ReasonClaim *) claims;
} StoryChapter;

typedef struct StoryRole { /* a pin of a chip, and what it must be */
    uint32_t pin;
    Text role;
    const ReasonClaim *claim; /* the surest that says so */
} StoryRole;

typedef struct StoryPart { /* a row of the parts table */
    uint32_t part;
    Text package, marking, value, is;
    const ReasonClaim *claim; /* that says what it is, or NULL */
} StoryPart;

typedef LIST(Text) StoryTexts;

typedef struct StoryBoard { /* a board whose copper is known */
    const BenchBoard *board;
    Text title;
    StoryTexts says, warns; /* sentences */
    StoryTexts corners;     /* notes to add, for corners that were found */
    uint32_t placed, landed; /* pins that have a place on it; of them, how many meet one net */
    double mains_gap;        /* mm between copper at mains and copper that isn't known to be; infinite: none of either */
    PlacePoint mains_gap_at;
    BoardSide mains_gap_side;
} StoryBoard;

typedef struct Story {
    Text title;
    Text intro;                  /* the product in a paragraph */
    LIST(StoryChapter) chapters; /* none is empty */
    LIST(StoryRole) roles;       /* by part, then pin */
    LIST(StoryPart) parts;       /* by reference, numbers in order of size */
    LIST(StoryBoard) boards;
    const Note **steps;          /* size step_count, by number */
    uint32_t step_count;
} Story;

const Story *story_of(Arena *arena, const Reasoning *reasoning);

/* boards.c: the boards whose copper is known, into story->boards; what a width carries by IPC-2221. */
void story_boards(Arena *arena, const Reasoning *reasoning, Story *story);
double story_board_ampere(double width_mm);

/* parts.c: one row of the parts table; the product in a paragraph. */
StoryPart story_part(Arena *arena, const Bench *bench, uint32_t number, const ReasonClaim *claim);
Text story_intro(Arena *arena, const Reasoning *reasoning);
Text story_product(Arena *arena, const Bench *bench); /* only what it is, what it cost and what its label says; may be empty */

/* The claims about one part, or one pin's roles; all when `what` is empty; the one with that id. */
typedef LIST(const ReasonClaim *) StoryClaims;
StoryClaims story_about(Arena *arena, const Reasoning *reasoning, Text what);
bool story_is_part_or_pin(const Bench *bench, Text what);
/* Up to `most` ids near to `what`; the count. */
size_t story_nearest(Arena *arena, const Reasoning *reasoning, Text what, Text *ids, size_t most);

#endif
