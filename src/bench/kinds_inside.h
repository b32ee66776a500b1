/* Inside bench/: what kinds_read.c fills and kinds.c answers from. */
#ifndef UNPICK_BENCH_KINDS_INSIDE_H
#define UNPICK_BENCH_KINDS_INSIDE_H

#include "bench/kinds.h"

enum { KIND_WORD_MOST = 64 }; /* bytes of a kind's name, a pin's or a rail's */

typedef struct KindSpelling {
    Text spelling;
    unsigned char position;
} KindSpelling;

typedef struct KindWord {
    const BenchKind *kind;
    bool builtin;
} KindWord;

/* Words with a meaning each: of[number] belongs to the name of that number. */
typedef struct KindWords {
    Names *names; /* folded */
    LIST(KindWord) of;
} KindWords;

struct BenchKinds {
    Arena *arena;
    LIST(BenchKind *) kinds;                             /* by number */
    LIST(struct { LIST(KindSpelling) list; }) spellings; /* by kind's number: own ones */
    KindWords words, letters;                            /* a kind's name and other words; reference letters */
    Names *grounds, *supplies, *pads;                    /* folded */
    Names *property_names;
    LIST(BenchProperty) properties; /* declared ones; value unused */
    struct {
        bool said, builtin;
        double decibans, probability;
    } weights[NOTE_SOURCE_COUNT + BENCH_WEIGHT_COUNT]; /* sources first */
};

/* The word in small letters, in `room`; empty when it is longer than KIND_WORD_MOST. */
Text kind_folded(char room[KIND_WORD_MOST], Text word);

#endif
