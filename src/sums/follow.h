/* What follows from the solved modes, as claims: batteries, heat and ratings, lights, switches, stored energy, sound,
 * gears, memories. Private to the room. */
#ifndef UNPICK_SUMS_FOLLOW_H
#define UNPICK_SUMS_FOLLOW_H

#include "sums/inside.h"

typedef struct Following {
    Arena *arena;
    Sums *sums;
    const Bench *bench;
    Solved *solved;                 /* by mode: what follows may vary them, and puts back what no parameter is */
    bool switches[SUMS_MODES_MOST]; /* by mode: a pin switches, and figures are means */
    double *heard;                  /* size parts.count: W by mean of what switches, followed through time; 0: not known */
    uint32_t told;                  /* claims so far, at most FOLLOWED_MOST */
} Following;

enum { FOLLOWED_MOST = 2000 }; /* claims, whatever the notes hold: a board has some dozen */

/* A claim in the making, about one part. */
typedef struct Told {
    Following *f;
    ReasonClaim claim;
    LIST(ReasonBecause) because;
    LIST(ReasonValue) values;
    LIST(Text) warnings, cautions;
} Told;

/* slug: of its id, `slug:REF`. */
Told told_new(Following *f, const char *slug, const char *name, const char *block, uint32_t part);
void told_because(Told *told, Text says, uint32_t line);
/* That it was worked out of this mode, and what the figure hangs on most. */
void told_mode(Told *told, uint32_t mode, const SumsFigure *figure);
void told_value(Told *told, const char *name, Quantity value, const char *formula, const char *source);
void told_warn(Told *told, Text warning);
void told_caution(Told *told, Text caution);
/* Adds it to the reasoning; no claim when one has this id already, or beyond FOLLOWED_MOST. */
void told_add(Told *told, Text says);

Text follow_said(Following *f, Quantity quantity);
Text follow_range(Following *f, Quantity quantity);
/* " in pumping", " in sensing, on average" where pins switch; nothing when the mode has no name. */
Text follow_while(Following *f, uint32_t mode);
bool follow_is(const Following *f, uint32_t part, const char *kind);
/* The pin of the part's first unit by a pin name of its kind; BENCH_NONE. */
uint32_t follow_pin(const Following *f, uint32_t part, const char *name);
/* V from pin to pin in a mode with its limits; false: not known. */
bool follow_volts(const Following *f, uint32_t mode, uint32_t plus, uint32_t minus, Quantity *volts);
/* A current whichever way it flows, A. */
Quantity follow_size(const SumsFigure *current);
/* The solved mode in which the figure (of every mode, at `at`) is largest by size; BENCH_NONE: known in none. */
typedef const SumsFigure *FigureOf(const SumsMode *mode, uint32_t at);
uint32_t follow_most(const Following *f, FigureOf *of, uint32_t at);
const SumsFigure *figure_current(const SumsMode *mode, uint32_t part);
const SumsFigure *figure_power(const SumsMode *mode, uint32_t part);
const SumsFigure *figure_pin(const SumsMode *mode, uint32_t pin);

/* ---- each file's claims ---- */

void follow_batteries(Following *f);
void follow_heat(Following *f);
void follow_ratings(Following *f);
void follow_lights(Following *f);
void follow_switches(Following *f);
void follow_stored(Following *f);
void follow_switching(Following *f); /* before the sound */
void follow_sound(Following *f);
void follow_gears(Following *f);
void follow_memories(Following *f);

#endif
