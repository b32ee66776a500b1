/* A chip's pin with its clamp diodes, and the optocoupler. */
#include "circuit/inside.h"

enum { PIN, SUPPLY, GROUND };
enum { ANODE, CATHODE, COLLECTOR, EMITTER };

static void clamp(Local *l, unsigned slot, unsigned a, unsigned b) {
    double across = l->x[a] - l->x[b], saturation = l->p[PIN_CLAMP], vt = l->world->vt;
    double v = junction_limit(l, slot, across, saturation, vt);
    Slope i = junction(v, saturation, vt);
    local_conduct(l, a, b, i.y + (i.dy + l->world->gmin) * (across - v) + l->world->gmin * v, i.dy + l->world->gmin);
}

/* A resistor to the supply when high, to ground when low, none when open. */
void element_pin(Local *l) {
    const double *p = l->p;
    if (p[PIN_STATE] != PIN_OPEN) {
        double level = pin_level(p, l->world), high = level / p[PIN_HIGH_OHMS], low = (1 - level) / p[PIN_LOW_OHMS];
        local_conduct(l, PIN, SUPPLY, high * (l->x[PIN] - l->x[SUPPLY]), high);
        local_conduct(l, PIN, GROUND, low * (l->x[PIN] - l->x[GROUND]), low);
    }
    if (p[PIN_CLAMP] <= 0) return;
    clamp(l, 0, PIN, SUPPLY);
    clamp(l, 1, GROUND, PIN);
}

/* i_c = ratio i_f tanh(v_ce / knee); nothing flows for want of light. */
void element_optocoupler(Local *l) {
    const double *p = l->p;
    double nvt = p[OPTO_EMISSION] * l->world->vt, gmin = l->world->gmin, across = l->x[ANODE] - l->x[CATHODE];
    double v = junction_limit(l, 0, across, p[OPTO_SATURATION], nvt);
    Slope light = junction(v, p[OPTO_SATURATION], nvt);
    light.y += light.dy * (across - v);
    local_conduct(l, ANODE, CATHODE, light.y + gmin * across, light.dy + gmin);
    double ce = l->x[COLLECTOR] - l->x[EMITTER];
    Slope open = slope_tanh(ce / p[OPTO_KNEE]);
    double i = p[OPTO_RATIO] * light.y;
    local_conduct(l, COLLECTOR, EMITTER, i * open.y + gmin * ce, i * open.dy / p[OPTO_KNEE] + gmin);
    local_steer(l, COLLECTOR, EMITTER, ANODE, CATHODE, p[OPTO_RATIO] * light.dy * open.y);
}
