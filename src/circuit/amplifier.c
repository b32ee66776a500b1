/* Op-amp and comparator: terminals in+ 0, in- 1, out 2, supply+ 3, supply- 4, and the drive 5. Inputs take no current. */
#include "circuit/inside.h"

enum { IN, IN_BACK, OUT, HIGH, LOW, DRIVE };

static const double CORNER = 1e-3;  /* V */
static const double ROUNDED = 1e-6; /* V */
static const double CLAMP = 1e-3;   /* V: in time the drive may stand so far beyond a rail */
static const double SPLIT = 1e-12;  /* of the greatest current: corner between sourcing and sinking */

/* An output current splits: what is given comes from the upper supply, what is taken goes to the lower. */
static void from_supplies(Local *l, double i, const double slopes[LOCAL_MOST], double width) {
    Slope give = slope_positive(i, width), take = slope_positive(-i, width);
    local_flow(l, HIGH, OUT, give.y);
    local_flow(l, OUT, LOW, take.y);
    for (unsigned x = 0; x < l->k; x++) {
        local_slope(l, HIGH, OUT, x, give.dy * slopes[x]);
        local_slope(l, OUT, LOW, x, -take.dy * slopes[x]);
    }
}

/* Current between the supplies, once there is a voltage between them. */
static void quiet_current(Local *l, double quiet) {
    double v = l->x[HIGH] - l->x[LOW];
    Slope positive = slope_positive(v, CORNER), awake = slope_tanh(positive.y);
    local_conduct(l, HIGH, LOW, quiet * awake.y, quiet * awake.dy * positive.dy);
}

/* How far a drive stands outside the rails, less the way back inside, over the clamp's width. */
static double beyond(Local *l, double slopes[LOCAL_MOST]) {
    double u = l->x[DRIVE];
    Slope above = slope_positive(u - (l->x[HIGH] - l->p[OPAMP_ABOVE]), CORNER);
    Slope below = slope_positive(l->x[LOW] + l->p[OPAMP_BELOW] - u, CORNER);
    slopes[DRIVE] = (above.dy + below.dy) / CLAMP;
    slopes[HIGH] = -above.dy / CLAMP;
    slopes[LOW] = -below.dy / CLAMP;
    return (above.y - below.y) / CLAMP;
}

/* At rest the drive is where gain times input puts it, or at a rail: u = clip(u + v - u / gain, low, high). Written so,
 * Newton's method settles which of the three it is as an active-set method does (see regulator.c), whatever the gain. */
static void drive_at_rest(Local *l, double v) {
    double gain = l->p[OPAMP_GAIN], u = l->x[DRIVE], wanted = u + v - u / gain;
    double low = l->x[LOW] + l->p[OPAMP_BELOW], high = l->x[HIGH] - l->p[OPAMP_ABOVE];
    Slope some = slope_positive(wanted - low, ROUNDED), over = slope_positive(wanted - high, ROUNDED);
    double slope = some.dy - over.dy;
    local_row(l, DRIVE, u - (low + some.y - over.y));
    local_entry(l, DRIVE, DRIVE, 1 - slope * (1 - 1 / gain));
    local_entry(l, DRIVE, IN, -slope), local_entry(l, DRIVE, IN_BACK, slope);
    local_entry(l, DRIVE, LOW, some.dy - 1), local_entry(l, DRIVE, HIGH, -over.dy);
}

/* In time one pole, a greatest slope, and rails (the macromodel of G. R. Boyle et al., IEEE J. Solid-State Circuits 9,
 * 1974, put into one equation; from memory): with T = gain / (2 pi f), S the slew rate and v the input, T du/dt = T S
 * bounded((gain v - u) / (T S)) - 2 T S beyond(u) */
static void drive_in_time(Local *l, double v) {
    const double *p = l->p;
    double gain = p[OPAMP_GAIN], pole = gain / (2 * M_PI * p[OPAMP_HERTZ]), most = pole * p[OPAMP_SLEW], u = l->x[DRIVE];
    Slope push = slope_bounded((gain * v - u) / most);
    double out[LOCAL_MOST] = {0};
    local_row(l, DRIVE, 2 * most * beyond(l, out) - most * push.y);
    for (unsigned x = 0; x < l->k; x++) local_entry(l, DRIVE, x, 2 * most * out[x]);
    local_entry(l, DRIVE, IN, -push.dy * gain), local_entry(l, DRIVE, IN_BACK, push.dy * gain);
    local_entry(l, DRIVE, DRIVE, push.dy);
}

/* out = u - R i, i bounded */
void element_opamp(Local *l) {
    const double *p = l->p;
    double v = l->x[IN] - l->x[IN_BACK] + p[OPAMP_OFFSET], u = l->x[DRIVE];
    if (l->world->alpha > 0)
        drive_in_time(l, v);
    else
        drive_at_rest(l, v);
    double pole = p[OPAMP_GAIN] / (2 * M_PI * p[OPAMP_HERTZ]), limit = p[OPAMP_MOST], ohms = p[OPAMP_OHMS];
    if (l->q != NULL) l->q[DRIVE] += pole * u, l->c[DRIVE * l->k + DRIVE] += pole;
    Slope current = slope_bounded((u - l->x[OUT]) / (ohms * limit));
    const double slopes[LOCAL_MOST] = {[DRIVE] = current.dy / ohms, [OUT] = -current.dy / ohms};
    from_supplies(l, limit * current.y, slopes, SPLIT * limit);
    quiet_current(l, p[OPAMP_QUIET]);
}

/* The drive is a share s from 0 (output low) to 1 (high), which follows the input within the delay; the output is two
 * resistors to the supplies whose conductances it shares out. */
void element_comparator(Local *l) {
    const double *p = l->p;
    double v = p[COMPARATOR_GAIN] * (l->x[IN] - l->x[IN_BACK] + p[COMPARATOR_OFFSET]), s = l->x[DRIVE];
    Slope side = slope_bounded(v);
    local_row(l, DRIVE, s - (1 + side.y) / 2);
    local_entry(l, DRIVE, DRIVE, 1);
    double slope = side.dy * p[COMPARATOR_GAIN] / 2;
    local_entry(l, DRIVE, IN, -slope), local_entry(l, DRIVE, IN_BACK, slope);
    if (l->q != NULL) l->q[DRIVE] += p[COMPARATOR_DELAY] * s, l->c[DRIVE * l->k + DRIVE] += p[COMPARATOR_DELAY];
    double g = 1 / p[COMPARATOR_OHMS], down = l->x[OUT] - l->x[LOW], up = l->x[HIGH] - l->x[OUT];
    local_conduct(l, OUT, LOW, g * (1 - s) * down, g * (1 - s));
    local_slope(l, OUT, LOW, DRIVE, -g * down);
    if (p[COMPARATOR_OPEN] < 0.5) {
        local_conduct(l, HIGH, OUT, g * s * up, g * s);
        local_slope(l, HIGH, OUT, DRIVE, g * up);
    }
    quiet_current(l, p[COMPARATOR_QUIET]);
}
