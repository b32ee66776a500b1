/* Exponentials that stay finite, corners that are round, and steps that stay small: what keeps Newton's method on its feet.
 */
#include "circuit/inside.h"

static const double EXP_MOST = 80; /* e^80 A is beyond any part; further on the tangent does */

Slope slope_exp(double x) {
    double y = exp(fmin(x, EXP_MOST));
    return x <= EXP_MOST ? (Slope){y, y} : (Slope){y * (1 + x - EXP_MOST), y};
}

Slope slope_positive(double x, double width) {
    double root = hypot(x, width);
    /* on the flat side the difference of two near numbers is got by their product */
    return (Slope){x >= 0 ? (x + root) / 2 : width * width / (2 * (root - x)), (1 + x / root) / 2};
}

Slope slope_bounded(double x) {
    double root = hypot(1, x);
    return (Slope){x / root, 1 / (root * root * root)};
}

Slope slope_tanh(double x) {
    double y = tanh(x);
    return (Slope){y, 1 - y * y};
}

Slope junction(double v, double saturation, double nvt) {
    static const double NEAR_NOTHING = 0.1; /* where e^u - 1 loses a digit */
    static const double NOTHING = -40;      /* e^u is lost beside the 1: most junctions of a circuit are off */
    double per_volt = 1 / nvt, u = v * per_volt;
    if (u < NOTHING) return (Slope){-saturation, 0};
    Slope e = slope_exp(u);
    return (Slope){saturation * (fabs(u) < NEAR_NOTHING ? expm1(u) : e.y - 1), saturation * per_volt * e.dy};
}

/* Along the logarithm of the current when the voltage would rise by more than two nvt beyond the knee: W. J. McCalla,
 * Fundamentals of Computer-Aided Circuit Simulation, 1988, and L. W. Nagel, memorandum ERL-M520, 1975 (from memory). */
double junction_limit(Local *local, unsigned slot, double v, double saturation, double nvt) {
    if (local->memory == NULL) return v;
    double before = local->memory[slot], now = v;
    if (fabs(v - before) > 2 * nvt) { /* not so when there is no before: a warm start is trusted */
        double knee = nvt * log(nvt / (sqrt(2) * saturation));
        if (v > knee) {
            double arg = 1 + (v - before) / nvt;
            if (before > 0)
                now = arg > 0 ? before + nvt * log(arg) : knee;
            else
                now = nvt * log(v / nvt);
            local->limited = true;
        }
    }
    return local->memory[slot] = now;
}

double voltage_limit(Local *local, unsigned slot, double v, double most) {
    if (local->memory == NULL) return v;
    double before = local->memory[slot], now = v;
    if (!isnan(before) && fabs(v - before) > most) {
        now = before + copysign(most, v - before);
        local->limited = true;
    }
    return local->memory[slot] = now;
}
