/* Plots of what the sums give. Every one has axes with units and ticks at round numbers, says in its description all that
 * it shows, and tells its series apart by colour (M. Okabe, K. Ito, "Color Universal Design", 2008), by hatching and by
 * name. */
#ifndef UNPICK_DRAW_PLOT_H
#define UNPICK_DRAW_PLOT_H

#include "draw/svg.h"
#include "sums/sums.h"

typedef struct PlotAsked {
    const Sums *sums; /* NULL: none */
    Text id;          /* for svg_open */
    bool alone;       /* a file of its own: its styles stand in it */
    uint32_t most;    /* rows of draw_ranges; 0: as many as it can */
} PlotAsked;

/* Each writes its SVG; false, with nothing written: the sums know too little for it. */

/* The current from the supply in each mode, and which parts it goes to. */
bool draw_currents(Out *out, const PlotAsked *asked);
/* The volts of a battery over the time that it lasts in this duty: number `which` of sums->batteries. */
bool draw_battery(Out *out, const PlotAsked *asked, uint32_t which);
/* What the meter read, beside what the parts and all other readings make of it. */
bool draw_ranges(Out *out, const PlotAsked *asked);

/* What flows from the supply into a part, or into a chain of parts that carry one current. */
typedef struct PlotDraw {
    uint32_t part;   /* at the supply */
    Text name;       /* "R3 D2" */
    double *amperes; /* size modes.count: 0 where it draws nothing or nothing is known */
} PlotDraw;

typedef struct PlotDraws {
    LIST(PlotDraw) list; /* what draws most in any mode first */
    double *total;       /* size modes.count, A; 0: the mode is not solved, or nothing flows */
} PlotDraws;

/* For a table beside the plot. */
PlotDraws plot_draws(Arena *arena, const Sums *sums);

extern const char DRAW_PLOT_CSS[]; /* plot.css, made by the build: what a page that holds plots needs */

#endif
