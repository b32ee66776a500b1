/* Diode and Zener diode, the electret capsule's transistor, and what data sheets say made into a diode's parameters. */
#include "circuit/inside.h"

/* i = Is (e^(v / n Vt) - 1) (W. Shockley, Bell System Technical Journal 28, 1949) and, beyond the breakdown voltage B, a
 * second exponential the other way: -Ib (e^(-(v + B) / m Vt) - e^(-B / m Vt)), which is none at 0 V. */
static void diode(Local *l, unsigned a, unsigned b) {
    const double *p = l->p;
    double nvt = p[DIODE_EMISSION] * l->world->vt, across = l->x[a] - l->x[b];
    double breakdown = p[DIODE_BREAKDOWN], mvt = p[DIODE_SHARPNESS] * l->world->vt, v = across;
    bool breaks = breakdown > 0;
    if (breaks && across < -breakdown / 2)
        v = -breakdown - junction_limit(l, 1, -across - breakdown, p[DIODE_KNEE], mvt);
    else
        v = junction_limit(l, 0, across, p[DIODE_SATURATION], nvt);
    Slope i = junction(v, p[DIODE_SATURATION], nvt);
    i.y += l->world->gmin * v, i.dy += l->world->gmin;
    if (breaks) {
        Slope back = slope_exp(-(v + breakdown) / mvt);
        i.y -= p[DIODE_KNEE] * (back.y - exp(-breakdown / mvt)), i.dy += p[DIODE_KNEE] / mvt * back.dy;
    }
    local_conduct(l, a, b, i.y + i.dy * (across - v), i.dy);
    local_charge(l, a, b, p[DIODE_FARADS]);
}

void element_diode(Local *l) { diode(l, 0, 1); }

/* With a resistance between the anode (0) and the junction (2). */
void element_diode_series(Local *l) {
    double g = 1 / l->p[DIODE_OHMS];
    local_conduct(l, 0, 2, g * (l->x[0] - l->x[2]), g);
    diode(l, 2, 1);
}

/* i = I tanh(v / knee): a field-effect transistor with its gate at its source, saturated from about two knees on. */
void element_electret(Local *l) {
    double knee = l->p[ELECTRET_KNEE];
    Slope s = slope_tanh((l->x[0] - l->x[1]) / knee);
    local_conduct(l, 0, 1, l->p[ELECTRET_AMPERES] * s.y, l->p[ELECTRET_AMPERES] * s.dy / knee);
}

static const double VT_ROOM = 0.025865; /* V, kT/q at 300.15 K */

static bool diode_allows(const double *fitted, const unsigned *parameters, unsigned count) {
    for (unsigned i = 0; i < count; i++)
        if (!kind_allows(CIRCUIT_DIODE, parameters[i], fitted[i])) return false;
    return true;
}

/* Two points fix the two parameters of the exponential: v2 - v1 - R (i2 - i1) = n Vt ln(i2 / i1), the 1 left out. */
bool circuit_fit_diode(Circuit *circuit, uint32_t element, double v1, double i1, double v2, double i2, double ohms) {
    static const unsigned parameters[] = {DIODE_SATURATION, DIODE_EMISSION, DIODE_OHMS};
    double nvt = (v2 - v1 - ohms * (i2 - i1)) / log(i2 / i1);
    const double fitted[] = {i1 / expm1((v1 - ohms * i1) / nvt), nvt / VT_ROOM, ohms};
    if (!(i2 > i1 && i1 > 0) || !diode_allows(fitted, parameters, 3)) return false;
    for (unsigned i = 0; i < 3; i++) circuit_set(circuit, element, parameters[i], fitted[i]);
    return true;
}

/* The slope of the second exponential at I is m Vt / I. */
bool circuit_fit_zener(Circuit *circuit, uint32_t element, double volts, double amperes, double ohms) {
    static const unsigned parameters[] = {DIODE_BREAKDOWN, DIODE_KNEE, DIODE_SHARPNESS};
    const double fitted[] = {volts, amperes, ohms * amperes / VT_ROOM};
    if (!(amperes > 0) || !(volts > 0) || !diode_allows(fitted, parameters, 3)) return false;
    for (unsigned i = 0; i < 3; i++) circuit_set(circuit, element, parameters[i], fitted[i]);
    return true;
}
