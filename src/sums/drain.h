/* A battery as it empties: every mode solved with the volts and ohms that its cells have at some share of their charge, and
 * what no longer works then. Private to the room. */
#ifndef UNPICK_SUMS_DRAIN_H
#define UNPICK_SUMS_DRAIN_H

#include "sums/follow.h"
#include "sums/life.h"

enum { WATCHED_MOST = 32 }; /* chips whose supply is watched, and motors */

typedef enum Stop { STOP_NONE, STOP_SUPPLY, STOP_START, STOP_MOTOR } Stop;

typedef struct Stopped {
    Stop why;
    uint32_t part;       /* the chip or the motor */
    double volts, least; /* a chip's supply, and what it needs */
} Stopped;

typedef struct Watched { /* a chip whose least supply is known, or a motor */
    uint32_t part;
    Figure figure; /* volts across its supply, or speed */
    double least;
} Watched;

typedef struct Draining {
    Following *f;
    uint32_t part, batteries;
    MarkDischarge discharge;
    Solved *solved; /* size modes.count */
    bool *fine;     /* size modes.count: solved with these cells */
    Watched chips[WATCHED_MOST], motors[WATCHED_MOST];
    uint32_t chip_count, motor_count;
    bool (*turns)[WATCHED_MOST]; /* by mode and motor: it turns while the cells are fresh */
    double *duty;                /* size modes.count */
    Stopped stopped;             /* by the last drain_draw that failed */
    double left;                 /* of the charge, when the cells count as used up; 0: out, or not known */
} Draining;

/* Solves the modes with fresh cells; false: none could be. Ended in any case. */
bool drain_begin(Draining *d);
void drain_end(Draining *d); /* the modes are as they were */
/* A mode with its cells at this share of their charge. False: no answer. */
bool drain_set(Draining *d, uint32_t mode, double share);
/* Holds the shafts of all motors, or lets them go as the mode has them; no answer: false. */
bool drain_hold(Draining *d, uint32_t mode, bool held);
bool drain_starts(const Draining *d, uint32_t mode); /* a motor that turns while the cells are fresh must start in it */
/* What the mode draws from cells with so many volts behind so many ohms; fails when something no longer works. */
LifeDraw drain_draw(void *draining, uint32_t mode, double volts, double ohms, double *amperes);
/* The same at a share of the charge. */
LifeDraw drain_draw_at(Draining *d, uint32_t mode, double share);
/* The share of the charge at which `stops` begins to say so, by halving to a fortieth: what fails goes on failing as the
 * cells sag further. 0: never before the charge is out; 1: from the first. */
double drain_fails_at(Draining *d, uint32_t mode, bool (*stops)(Draining *d, uint32_t mode, double share, uint32_t what),
                      uint32_t what);

/* ---- told of it: follow_margin.c ---- */
void follow_margins(
    Draining *d); /* each chip: what it needs, has, and when it has too little; how long its capacitors hold it */

#endif
