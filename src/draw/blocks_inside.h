/* What the files blocks*.c share. */
#ifndef UNPICK_DRAW_BLOCKS_INSIDE_H
#define UNPICK_DRAW_BLOCKS_INSIDE_H

#include "draw/blocks.h"

enum { BLOCKS_MOST = 60, BLOCKS_ARROWS_MOST = 300, BLOCKS_FIGURES_MOST = 2 };

typedef struct Block {
    Text title, parts;        /* "Light", "D2 Q2 R2" */
    const ReasonClaim *claim; /* its surest */
    uint32_t rank;            /* 0 sources ... ; what feeds has a lower one than what is fed */
    bool chip;
    LIST(const ReasonClaim *) claims;
    LIST(uint32_t) members; /* parts */
    SvgPoint at;            /* mm: its centre, once placed */
    double width, height;
} Block;

typedef struct BlockArrow {
    uint32_t from, to; /* blocks */
    bool feeds;        /* a supply */
    uint32_t net;
    Text figures; /* "6.2 V", "41 mA"; may be empty */
    SvgPoint *at; /* once placed: size count, 1 + 3 n: the points of a chain of Bezier curves */
    uint32_t count;
} BlockArrow;

typedef struct Blocks {
    Arena *arena;
    const BlocksAsked *asked;
    LIST(Block) list;
    LIST(BlockArrow) arrows;
    double width, height; /* mm, once placed */
} Blocks;

void blocks_find(Blocks *blocks);                  /* blocks_find.c: the boxes */
void blocks_join(Blocks *blocks);                  /* blocks_join.c: the arrows */
bool blocks_place(Blocks *blocks, Diags *problems); /* blocks_place.c */

#endif
