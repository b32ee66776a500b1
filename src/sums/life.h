/* How long a battery lasts in a product that is so long in each of its modes. Pure: what the product draws is asked by a
 * function. */
#ifndef UNPICK_SUMS_LIFE_H
#define UNPICK_SUMS_LIFE_H

#include "mark/mark.h"

typedef enum LifeEnd {
    LIFE_USED_UP,  /* all its charge is out */
    LIFE_TOO_LOW,  /* a cell under load is below the volts at which it counts as used up */
    LIFE_NO_WORK,  /* the product does no longer work */
    LIFE_NO_ANSWER /* what it draws is not known */
} LifeEnd;

typedef enum LifeDraw { LIFE_DRAWS, LIFE_FAILS, LIFE_UNKNOWN } LifeDraw;

typedef struct LifeAsked {
    const MarkDischarge *discharge;
    uint32_t batteries; /* in series */
    uint32_t mode_count;
    const double *duty; /* size mode_count: share of the time */
    /* Out: A that the product draws in a mode from `volts` behind `ohms`. LIFE_FAILS: it doesn't work there. */
    LifeDraw (*draw)(void *context, uint32_t mode, double volts, double ohms, double *amperes);
    void *context;
} LifeAsked;

typedef struct LifePoint {
    double seconds;      /* since it was fresh */
    double rest, loaded; /* V of the whole battery: open, and in the mode in which it sags most */
    uint32_t mode;       /* that one */
} LifePoint;

enum { LIFE_STEPS = 20 };

typedef struct Life {
    double seconds, low, high; /* typical; between makes, and as much as is lost on the shelf */
    double amperes;            /* average over the modes, half way */
    double shelf;              /* share of the charge that is lost, not used */
    double left;               /* share of the charge left at the end */
    LifeEnd end;
    LifePoint at[LIFE_STEPS]; /* size point_count: the way there */
    uint32_t point_count;
    uint32_t mode; /* that ends it, when end is LIFE_TOO_LOW, LIFE_NO_WORK or LIFE_NO_ANSWER */
} Life;

/* Empties it in steps of a twentieth. A mode's charge is taken from what such a battery gives midway (by ratio) between its
 * gift at that mode's current, without a pause, and at the average of all modes, with pauses long enough to recover fully:
 * the intermittent tests of IEC 60086-2 lie about there (from memory). What it loses by itself goes on top. */
Life life_of(const LifeAsked *asked);

#endif
