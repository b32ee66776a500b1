/* All readings of all modes at once against the circuit. Private to the room.
 *
 * Let t be the parameters, each counted in standard deviations from its middle, and h(t) what the readings would be. Linear
 * in t, h = h0 + G t, the readings y have the covariance S = G G' + R, where R is that of the meter. From S come at once
 * what the parts alone make of a reading, what all other readings make of it (leave one out: from the diagonal of the
 * inverse of S), the likeliest t, and the evidence for the circuit as a whole, ln N(y; h0, S). h is not linear, so it is
 * made so again at the likeliest t (Gauss and Newton). Kalman's measurement update, iterated: A. H. Jazwinski, Stochastic
 * Processes and Filtering Theory, 1970, ch. 8; leaving one out: C. E. Rasmussen, C. K. I. Williams, Gaussian Processes for
 * Machine Learning, 2006, ch. 5.4.2 (both from memory). Cost: readings^2 x parameters, and readings^3. */
#ifndef UNPICK_SUMS_FIT_H
#define UNPICK_SUMS_FIT_H

#include "sums/inside.h"

typedef struct Observed { /* a reading that the circuit can be asked for */
    uint32_t reading, mode;
    Figure figure;
    double y, sd; /* what was read, and the meter's standard uncertainty; of the logarithm, when so */
    double floor; /* logarithm: of |figure| + floor, for currents and powers, which spread by ratio; 0: the figure itself */
    double loads; /* ohms that the meter puts across it; 0: none */
    bool out;     /* left out: it does not fit the others */
    double density; /* ln of its own density where it is left out; see fit_evidence */
} Observed;

typedef struct Slope { /* of an observed figure, by a parameter's standard deviation */
    uint32_t id;
    double of;
} Slope;

typedef struct Row { /* an observed figure, made linear */
    double h;        /* at t */
    Slope *slopes;   /* size count, by id ascending, those that are not nothing */
    uint32_t count;
    double loaded; /* what share of a voltage the meter leaves */
    bool fine;     /* false: not in this circuit, or no answer */
} Row;

typedef struct Fit {
    Arena *arena;
    const Sums *sums;
    const Ids *ids;
    Solved *solved; /* size modes.count: the circuit as noted */
    LIST(Observed) observed;
    Row *rows;     /* size observed.count, at t */
    double *t;     /* size ids->count + 1: the likeliest */
    double *spare; /* size ids->count + 1: their variance after the readings, 1 before */
    double *expected,
        *deviation; /* size observed.count: what all others make of it, and how well known both together are */
    double
        *apart; /* size observed.count: how far it is off what the parts alone make of it, in standard deviations of both */
    double evidence;
    struct Normal *normal; /* of the last fit */
    double budget;         /* elements times solutions that may still be spent on making modes linear */
} Fit;

/* The readings of all modes, fitted; those that don't fit the others are left out one by one, the worst first. `solved`: by
 * mode; they are moved. */
Fit *fit_new(Arena *arena, const Sums *sums, const Ids *ids, Solved *solved);
/* ln of the evidence for a circuit with `change`, made linear anew in the `modes`; `rounds` of doing so; 0: one, in which
 * only readings that don't fit have their slopes made anew. `readings`: as fit->observed, with what is supposed of them.
 * `noted`: by mode, marked, the caller's own, and left as they were. -INFINITY when it has no answer; no
 * further round is done once it is below `hopeless`. */
double fit_evidence(const Fit *fit, Solved *noted, const Change *change, const Observed *readings, const bool *modes,
                    unsigned rounds, double hopeless);
/* Makes parameters t, size ids->count + 1, drawn from what was known before the readings into ones drawn from what is known
 * after them; noise: a draw for each reading, in standard deviations, or NULL. Matheron's rule (from memory): the readings'
 * error at t is taken off along their slopes. */
void fit_condition(const Fit *fit, double *t, const double *noise);
/* Sets a mode's parameters to what they are at t, size ids->count + 1. */
bool fit_move(Solved *solved, const double *t);
/* From what is observed back to the figure. */
double fit_figure(const Observed *observed, double y);

#endif
