/* Independent sources: what they give when, and where the corners of their waves are. */
#include "circuit/inside.h"

/* A pulse as its corners after each start: up from 0, at the top from `top`, down from `down`, low again from `low`. */
typedef struct Pulse {
    double delay, period, top, down, low;
} Pulse;

static Pulse pulse_of(const double *p) {
    Pulse pulse = {.delay = p[SOURCE_DELAY], .top = p[SOURCE_RISE]};
    pulse.period = p[SOURCE_FREQUENCY] > 0 ? 1 / p[SOURCE_FREQUENCY] : 0;
    pulse.down =
        p[SOURCE_WAVE] == SOURCE_SQUARE ? fmax(p[SOURCE_DUTY] * pulse.period, pulse.top) : pulse.top + p[SOURCE_WIDTH];
    pulse.low = pulse.down + p[SOURCE_FALL];
    return pulse;
}

/* 0 at the lower level, 1 at the other. The middle of the step tells the stretch, so that a jump belongs to the step after.
 */
static double pulse_level(const Pulse *pulse, const World *world) {
    double middle = world->middle - pulse->delay;
    if (middle < 0) return 0;
    double start = pulse->period > 0 ? pulse->period * floor(middle / pulse->period) : 0;
    double at = world->time - pulse->delay - start;
    middle -= start;
    if (middle < pulse->top) return fmin(at / pulse->top, 1);
    if (middle < pulse->down) return 1;
    return middle < pulse->low ? fmax(1 - (at - pulse->down) / (pulse->low - pulse->down), 0) : 0;
}

static double pulse_next(const Pulse *pulse, double time) {
    double since = time - pulse->delay, soonest = INFINITY;
    if (since < 0) return pulse->delay;
    double round = pulse->period > 0 ? floor(since / pulse->period) : 0;
    for (int i = 0; i < 2; i++) {
        double start = pulse->delay + (round + i) * pulse->period;
        const double corners[] = {start, start + pulse->top, start + pulse->down, start + pulse->low};
        for (int c = 0; c < 4; c++)
            if (corners[c] > time && corners[c] < soonest) soonest = corners[c];
    }
    return soonest;
}

double wave_value(const double *p, const World *world) {
    double low = p[SOURCE_VALUE], to = p[SOURCE_TO];
    switch ((int)p[SOURCE_WAVE]) {
    case SOURCE_SINE:
        if (world->middle < p[SOURCE_DELAY]) return low;
        return low + to * sin(2 * M_PI * p[SOURCE_FREQUENCY] * (world->time - p[SOURCE_DELAY]) + p[SOURCE_PHASE]);
    case SOURCE_PULSE:
    case SOURCE_SQUARE: {
        Pulse pulse = pulse_of(p);
        double level = pulse_level(&pulse, world);
        return low * (1 - level) + to * level;
    }
    default:
        return low;
    }
}

double wave_next(const double *p, double time) {
    Pulse pulse = pulse_of(p);
    switch ((int)p[SOURCE_WAVE]) {
    case SOURCE_SINE:
        return time < pulse.delay ? pulse.delay : INFINITY;
    case SOURCE_PULSE:
    case SOURCE_SQUARE:
        return pulse_next(&pulse, time);
    default:
        return INFINITY;
    }
}

static Pulse pin_pulse(const double *p) {
    double period = 1 / p[PIN_FREQUENCY];
    return (Pulse){.period = period, .down = p[PIN_DUTY] * period, .low = p[PIN_DUTY] * period};
}

/* 1 high, 0 low; asked only of a pin that drives. */
double pin_level(const double *p, const World *world) {
    Pulse pulse = pin_pulse(p);
    return p[PIN_STATE] == PIN_SWITCHING ? pulse_level(&pulse, world) : p[PIN_STATE] == PIN_HIGH;
}

double pin_next(const double *p, double time) {
    Pulse pulse = pin_pulse(p);
    return p[PIN_STATE] == PIN_SWITCHING ? pulse_next(&pulse, time) : INFINITY;
}

/* v = E, the current an unknown */
void element_voltage(Local *l) {
    local_flow(l, 0, 1, l->x[2]);
    local_slope(l, 0, 1, 2, 1);
    local_row(l, 2, l->x[0] - l->x[1] - l->world->scale * wave_value(l->p, l->world));
    local_entry(l, 2, 0, 1), local_entry(l, 2, 1, -1);
}

/* i = I */
void element_current(Local *l) { local_flow(l, 0, 1, l->world->scale * wave_value(l->p, l->world)); }
