/* Bipolar and field-effect transistors. */
#include "circuit/inside.h"

enum { COLLECTOR, BASE, EMITTER };
enum { DRAIN, GATE, SOURCE };

/* The normalised base charge q and its slopes against the two junction voltages. */
typedef struct BaseCharge {
    double q, by_be, by_bc;
} BaseCharge;

/* q = q1 (1 + sqrt(1 + 4 q2)) / 2, q1 = 1 / (1 - vbc / VA), q2 = if / IK. */
static BaseCharge base_charge(const double *p, double vbc, Slope forward) {
    static const double LEAST = 0.1; /* of 1 - vbc / VA: the line of J. M. Early has no meaning further on */
    double early = p[BIPOLAR_EARLY], knee = p[BIPOLAR_KNEE], d = early > 0 ? 1 - vbc / early : 1, by_bc = 0;
    if (d < LEAST)
        d = LEAST;
    else if (early > 0)
        by_bc = 1 / (early * d * d);
    double q1 = 1 / d, q2 = knee > 0 ? fmax(forward.y, 0) / knee : 0, root = sqrt(1 + 4 * q2);
    double by_be = knee > 0 && forward.y > 0 ? q1 / root * forward.dy / knee : 0;
    return (BaseCharge){q1 * (1 + root) / 2, by_be, by_bc * (1 + root) / 2};
}

/* The transport form of J. J. Ebers and J. L. Moll (Proc. IRE 42, 1954) with the base charge of H. K. Gummel and H. C. Poon
 * (Bell System Technical Journal 49, 1970), both from memory: ic = (if - ir) / q - ir / BR,   ib = if / BF + ir / BR,   if
 * = Is (e^(vbe / n Vt) - 1),   ir = Is (e^(vbc / n Vt) - 1) */
void element_bipolar(Local *l) {
    const double *p = l->p;
    double sign = p[BIPOLAR_SIGN] < 0 ? -1 : 1, nvt = p[BIPOLAR_EMISSION] * l->world->vt, gmin = l->world->gmin;
    double be = sign * (l->x[BASE] - l->x[EMITTER]), bc = sign * (l->x[BASE] - l->x[COLLECTOR]);
    double vbe = junction_limit(l, 0, be, p[BIPOLAR_SATURATION], nvt),
           vbc = junction_limit(l, 1, bc, p[BIPOLAR_SATURATION], nvt);
    Slope f = junction(vbe, p[BIPOLAR_SATURATION], nvt), r = junction(vbc, p[BIPOLAR_SATURATION], nvt);
    BaseCharge base = base_charge(p, vbc, f);
    double carried = (f.y - r.y) / base.q;
    double carried_be = (f.dy - carried * base.by_be) / base.q, carried_bc = (-r.dy - carried * base.by_bc) / base.q;
    double ib_e = f.y / p[BIPOLAR_FORWARD] + gmin * vbe, ib_e_slope = f.dy / p[BIPOLAR_FORWARD] + gmin;
    double ib_c = r.y / p[BIPOLAR_REVERSE] + gmin * vbc, ib_c_slope = r.dy / p[BIPOLAR_REVERSE] + gmin;
    /* from the limited point along the tangent to the true one */
    carried += carried_be * (be - vbe) + carried_bc * (bc - vbc);
    ib_e += ib_e_slope * (be - vbe), ib_c += ib_c_slope * (bc - vbc);
    local_conduct(l, BASE, EMITTER, sign * ib_e, ib_e_slope);
    local_conduct(l, BASE, COLLECTOR, sign * ib_c, ib_c_slope);
    local_flow(l, COLLECTOR, EMITTER, sign * carried);
    local_steer(l, COLLECTOR, EMITTER, BASE, EMITTER, carried_be);
    local_steer(l, COLLECTOR, EMITTER, BASE, COLLECTOR, carried_bc);
    local_charge(l, BASE, EMITTER, p[BIPOLAR_BE_FARADS]);
    local_charge(l, BASE, COLLECTOR, p[BIPOLAR_BC_FARADS]);
}

/* Drain current and its slopes for vds >= 0: the square law of C. T. Sah (IEEE Trans. Electron Devices 11, 1964) as H.
 * Shichman and D. A. Hodges (IEEE J. Solid-State Circuits 3, 1968) gave it for computers, both from memory. */
typedef struct Channel {
    double i, by_gs, by_ds;
} Channel;

static Channel channel(const double *p, double vgs, double vds) {
    double beta = p[MOSFET_GAIN], lambda = p[MOSFET_LAMBDA], over = vgs - p[MOSFET_THRESHOLD], longer = 1 + lambda * vds;
    if (over <= 0) return (Channel){0};
    if (vds >= over)
        return (Channel){beta / 2 * over * over * longer, beta * over * longer, beta / 2 * over * over * lambda};
    double square = over * vds - vds * vds / 2;
    return (Channel){beta * square * longer, beta * vds * longer, beta * ((over - vds) * longer + square * lambda)};
}

void element_mosfet(Local *l) {
    const double *p = l->p;
    double sign = p[MOSFET_SIGN] < 0 ? -1 : 1, gmin = l->world->gmin;
    double ds = sign * (l->x[DRAIN] - l->x[SOURCE]);
    /* a channel is symmetric: its source is the end that carriers come from */
    unsigned d = ds >= 0 ? DRAIN : SOURCE, s = ds >= 0 ? SOURCE : DRAIN;
    double gs = sign * (l->x[GATE] - l->x[s]), across = fabs(ds), vgs = gs, vds = across;
    if (l->memory != NULL) {
        static const double LEAST = 2; /* V: a gate may move so far beyond twice its distance from the threshold */
        double before = l->memory[0];
        vgs = voltage_limit(l, 0, gs, LEAST + 2 * fabs((isnan(before) ? gs : before) - p[MOSFET_THRESHOLD]));
        before = l->memory[1];
        vds = voltage_limit(l, 1, across, LEAST + 3 * (isnan(before) ? across : before));
    }
    Channel c = channel(p, vgs, vds);
    double i = c.i + gmin * across + c.by_gs * (gs - vgs) + c.by_ds * (across - vds);
    local_flow(l, d, s, sign * i);
    local_steer(l, d, s, GATE, s, c.by_gs);
    local_steer(l, d, s, d, s, c.by_ds + gmin);
    if (p[MOSFET_BODY] > 0) {
        double v = junction_limit(l, 2, -ds, p[MOSFET_BODY], l->world->vt);
        Slope body = junction(v, p[MOSFET_BODY], l->world->vt);
        local_conduct(l, SOURCE, DRAIN, sign * (body.y + body.dy * (-ds - v)), body.dy);
    }
    local_charge(l, GATE, SOURCE, p[MOSFET_GS_FARADS]);
    local_charge(l, GATE, DRAIN, p[MOSFET_GD_FARADS]);
}
