/* The linear regulator: terminals in 0, out 1, ground 2. It aims at its own voltage or, when the input is too low, at the input
 * less the dropout; it gives current through its output resistance up to its limit, and takes none back. What goes out comes
 * in, and the quiet current with it once there is an input. */
#include "circuit/inside.h"

enum { IN, OUT, GROUND };

static const double CORNER = 1e-3; /* V, of the corners where one rule gives way to the next */
static const double ONE_WAY = 1e-9; /* the least share of its limit that it gives against a higher voltage */

void element_regulator(Local *l) {
    const double *p = l->p;
    double in = l->x[IN] - l->x[GROUND], out = l->x[OUT] - l->x[GROUND], most = p[REGULATOR_MOST], scale = p[REGULATOR_OHMS] * most;
    Slope room = slope_positive(in - p[REGULATOR_DROPOUT], CORNER);
    Slope over = slope_positive(room.y - p[REGULATOR_VOLTS], CORNER); /* aim = min(room, volts) = room - over */
    double aim = room.y - over.y, aim_in = room.dy * (1 - over.dy);
    Slope way = slope_positive((aim - out) / scale, ONE_WAY), part = slope_bounded(way.y);
    double slope = most * part.dy * way.dy / scale;
    local_flow(l, IN, OUT, most * part.y);
    local_steer(l, IN, OUT, IN, GROUND, slope * aim_in);
    local_steer(l, IN, OUT, OUT, GROUND, -slope);
    Slope awake = slope_tanh(slope_positive(in, CORNER).y);
    double quiet = p[REGULATOR_QUIET];
    local_flow(l, IN, GROUND, quiet * awake.y);
    local_steer(l, IN, GROUND, IN, GROUND, quiet * awake.dy * slope_positive(in, CORNER).dy);
}
