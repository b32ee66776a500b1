/* The motor with permanent magnets: terminals 0 and 1, winding current 2, speed 3.
 *
 *   v = R i + L di/dt + k w        J dw/dt = k i - b w - (dry + load) tanh(w / w0)
 *
 * A. E. Fitzgerald, C. Kingsley, S. D. Umans, Electric Machinery, chapter on d-c machines, from memory; the round corner of
 * dry friction at w0 is ours: below it the shaft creeps instead of standing, which carries the same torque. */
#include "circuit/inside.h"

enum { PLUS, MINUS, CURRENT, SPEED };

static const double CREEP = 0.1; /* rad/s, one turn a minute */

void element_motor(Local *l) {
    const double *p = l->p;
    double k = p[MOTOR_CONSTANT], i = l->x[CURRENT], w = l->x[SPEED];
    local_flow(l, PLUS, MINUS, i);
    local_slope(l, PLUS, MINUS, CURRENT, 1);
    local_row(l, CURRENT, l->x[PLUS] - l->x[MINUS] - p[MOTOR_OHMS] * i - k * w);
    local_entry(l, CURRENT, PLUS, 1), local_entry(l, CURRENT, MINUS, -1);
    local_entry(l, CURRENT, CURRENT, -p[MOTOR_OHMS]), local_entry(l, CURRENT, SPEED, -k);
    if (l->q != NULL) l->q[CURRENT] -= p[MOTOR_HENRYS] * i, l->c[CURRENT * l->k + CURRENT] -= p[MOTOR_HENRYS];
    if (p[MOTOR_STALLED] > 0.5) {
        local_row(l, SPEED, w);
        local_entry(l, SPEED, SPEED, 1);
        return;
    }
    double dry = p[MOTOR_FRICTION] + p[MOTOR_LOAD];
    Slope turn = slope_tanh(w / CREEP);
    local_row(l, SPEED, p[MOTOR_VISCOUS] * w + dry * turn.y - k * i);
    local_entry(l, SPEED, SPEED, p[MOTOR_VISCOUS] + dry * turn.dy / CREEP);
    local_entry(l, SPEED, CURRENT, -k);
    if (l->q != NULL) l->q[SPEED] += p[MOTOR_INERTIA] * w, l->c[SPEED * l->k + SPEED] += p[MOTOR_INERTIA];
}

void element_motor_start(const double *p, double *q) {
    if (p[MOTOR_STALLED] <= 0.5) q[SPEED] = p[MOTOR_INERTIA] * p[MOTOR_START];
}
