/* The battery: an open-circuit voltage that follows the charge, and a resistance that grows as it empties. Terminals 0 and
 * 1, current into + 2, charge left 3 (A s).
 *
 *   v = E(q) + R(q) i        dq/dt = i
 *
 * E goes straight between the points given. Below no charge it falls to nothing within a fiftieth of the capacity, so that
 * an empty battery ends a run softly; above full it stays. */
#include "circuit/inside.h"

enum { PLUS, MINUS, CURRENT, CHARGE };

static const double LAST = 0.02; /* of the capacity */

static Slope open_voltage(const double *p, double share) {
    const double *points = &p[BATTERY_VOLTS];
    if (share <= -LAST) return (Slope){0, 0};
    if (share < 0) return (Slope){points[0] * (1 + share / LAST), points[0] / LAST};
    if (share >= 1) return (Slope){points[BATTERY_POINTS - 1], 0};
    double at = share * (BATTERY_POINTS - 1);
    unsigned i = (unsigned)at;
    double rise = points[i + 1] - points[i];
    return (Slope){points[i] + rise * (at - i), rise * (BATTERY_POINTS - 1)};
}

static Slope resistance(const double *p, double share) {
    double inside = fmin(fmax(share, 0), 1), rise = p[BATTERY_OHMS] - p[BATTERY_OHMS_EMPTY];
    return (Slope){p[BATTERY_OHMS_EMPTY] + rise * inside, inside == share ? rise : 0};
}

void element_battery(Local *l) {
    const double *p = l->p;
    double capacity = p[BATTERY_CAPACITY], i = l->x[CURRENT], charge = l->x[CHARGE], scale = l->world->scale;
    Slope e = open_voltage(p, charge / capacity), r = resistance(p, charge / capacity);
    local_flow(l, PLUS, MINUS, i);
    local_slope(l, PLUS, MINUS, CURRENT, 1);
    local_row(l, CURRENT, l->x[PLUS] - l->x[MINUS] - scale * e.y - r.y * i);
    local_entry(l, CURRENT, PLUS, 1), local_entry(l, CURRENT, MINUS, -1);
    local_entry(l, CURRENT, CURRENT, -r.y), local_entry(l, CURRENT, CHARGE, -(scale * e.dy + r.dy * i) / capacity);
    if (l->world->alpha == 0) { /* at rest it has the charge it was given */
        local_row(l, CHARGE, charge - p[BATTERY_CHARGE] * capacity);
        local_entry(l, CHARGE, CHARGE, 1);
    } else {
        local_row(l, CHARGE, -i);
        local_entry(l, CHARGE, CURRENT, -1);
    }
    if (l->q != NULL) l->q[CHARGE] += charge, l->c[CHARGE * l->k + CHARGE] += 1;
}

void element_battery_start(const double *p, double *q) { q[CHARGE] = p[BATTERY_CHARGE] * p[BATTERY_CAPACITY]; }
