/* Resistor, capacitor, inductor (and loudspeaker), switch, thermistor. */
#include "circuit/inside.h"

/* i = v / R */
void element_resistor(Local *l) {
    double g = 1 / l->p[RESISTOR_OHMS];
    local_conduct(l, 0, 1, g * (l->x[0] - l->x[1]), g);
}

/* v = R i with the current as an unknown: exact down to nothing, where v / R would be lost in v's last digit. */
static void series(Local *l, double ohms) {
    local_flow(l, 0, 1, l->x[2]);
    local_slope(l, 0, 1, 2, 1);
    local_row(l, 2, l->x[0] - l->x[1] - ohms * l->x[2]);
    local_entry(l, 2, 0, 1), local_entry(l, 2, 1, -1), local_entry(l, 2, 2, -ohms);
}

void element_resistor_low(Local *l) { series(l, l->p[RESISTOR_OHMS]); }

/* i = d(C v)/dt with the current as an unknown, for the same reason: C / step may be large. */
void element_capacitor(Local *l) {
    local_flow(l, 0, 1, l->x[2]);
    local_slope(l, 0, 1, 2, 1);
    local_row(l, 2, -l->x[2]);
    local_entry(l, 2, 2, -1);
    if (l->q == NULL) return;
    double farads = l->p[CAPACITOR_FARADS];
    l->q[2] += farads * (l->x[0] - l->x[1]);
    l->c[2 * l->k] += farads, l->c[2 * l->k + 1] -= farads;
}

void element_capacitor_start(const double *p, double *q) { q[2] = p[CAPACITOR_FARADS] * p[CAPACITOR_START]; }

/* v = R i + d(L i)/dt */
void element_inductor(Local *l) {
    series(l, l->p[INDUCTOR_OHMS]);
    if (l->q == NULL) return;
    l->q[2] -= l->p[INDUCTOR_HENRYS] * l->x[2];
    l->c[2 * l->k + 2] -= l->p[INDUCTOR_HENRYS];
}

void element_inductor_start(const double *p, double *q) { q[2] = -p[INDUCTOR_HENRYS] * p[INDUCTOR_START]; }

/* Closed: v = R i. Open: i = G v. */
void element_switch(Local *l) {
    if (l->p[SWITCH_CLOSED] > 0.5) {
        series(l, l->p[SWITCH_OHMS]);
        return;
    }
    double g = l->p[SWITCH_SIEMENS];
    local_flow(l, 0, 1, l->x[2]);
    local_slope(l, 0, 1, 2, 1);
    local_row(l, 2, g * (l->x[0] - l->x[1]) - l->x[2]);
    local_entry(l, 2, 0, g), local_entry(l, 2, 1, -g), local_entry(l, 2, 2, -1);
}

/* R = R25 exp(B (1/T - 1/298.15 K)): the B-parameter equation of IEC 60539-1, from memory. */
void element_thermistor(Local *l) {
    static const double KELVIN_25 = 298.15;
    double g = slope_exp(l->p[THERMISTOR_BETA] * (1 / KELVIN_25 - 1 / l->p[THERMISTOR_KELVIN])).y / l->p[THERMISTOR_OHMS];
    local_conduct(l, 0, 1, g * (l->x[0] - l->x[1]), g);
}
