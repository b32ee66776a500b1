/* The linear regulator: terminals in 0, out 1, ground 2; the current it gives 3. It aims at its own voltage or, when the
 * input is too low, at the input less the dropout; it gives current through its output resistance, up to its limit, and
 * takes none back. What goes out comes in, and the quiet current with it once there is an input.
 *
 *   i = clip(i + g (aim - R i - out), 0, most)
 *
 * which is R i = aim - out within the limits; below, out stands higher than aim and i is nothing, above it stands lower and
 * i is the most. g only scales: Newton's method then goes from case to case as an active-set method does (complementarity
 * as a projection: F. Facchinei, J.-S. Pang, Finite-Dimensional Variational Inequalities, 2003, from memory). */
#include "circuit/inside.h"

enum { IN, OUT, GROUND, CURRENT };

static const double CORNER = 1e-3;   /* V, of the corner where the input becomes too low */
static const double ROUNDED = 1e-9;  /* of the limit: of the corners of the current */
static const double SCALE_LEAST = 1; /* V: g is the limit over the voltage, or over this */

/* max(in - dropout, 0) or the regulator's voltage, whichever is less. */
static Slope aim_of(const double *p, double in) {
    Slope room = slope_positive(in - p[REGULATOR_DROPOUT], CORNER);
    Slope over = slope_positive(room.y - p[REGULATOR_VOLTS], CORNER);
    return (Slope){room.y - over.y, room.dy * (1 - over.dy)};
}

void element_regulator(Local *l) {
    const double *p = l->p;
    double in = l->x[IN] - l->x[GROUND], out = l->x[OUT] - l->x[GROUND], i = l->x[CURRENT], most = p[REGULATOR_MOST];
    local_flow(l, IN, OUT, i);
    local_slope(l, IN, OUT, CURRENT, 1);
    double g = most / fmax(p[REGULATOR_VOLTS], SCALE_LEAST), ohms = p[REGULATOR_OHMS];
    Slope aim = aim_of(p, in);
    double wanted = i + g * (aim.y - ohms * i - out);
    Slope some = slope_positive(wanted, ROUNDED * most), over = slope_positive(wanted - most, ROUNDED * most);
    double slope = some.dy - over.dy;
    local_row(l, CURRENT, i - (some.y - over.y));
    local_entry(l, CURRENT, CURRENT, 1 - slope * (1 - g * ohms));
    local_entry(l, CURRENT, IN, -slope * g * aim.dy), local_entry(l, CURRENT, OUT, slope * g);
    local_entry(l, CURRENT, GROUND, slope * g * (aim.dy - 1));
    Slope positive = slope_positive(in, CORNER), awake = slope_tanh(positive.y);
    double quiet = p[REGULATOR_QUIET];
    local_flow(l, IN, GROUND, quiet * awake.y);
    local_steer(l, IN, GROUND, IN, GROUND, quiet * awake.dy * positive.dy);
}
