/* The four controlled sources. Terminals: out+ 0, out- 1, in+ 2, in- 3. A controlling current is that of a short from in+
 * to in-, unknown 4. */
#include "circuit/inside.h"

enum { OUT, OUT_BACK, IN, IN_BACK, INNER, OUT_CURRENT };

/* v_out = gain v_in */
void element_vcvs(Local *l) {
    double gain = l->p[CONTROLLED_GAIN];
    local_flow(l, OUT, OUT_BACK, l->x[INNER]);
    local_slope(l, OUT, OUT_BACK, INNER, 1);
    local_row(l, INNER, l->x[OUT] - l->x[OUT_BACK] - gain * (l->x[IN] - l->x[IN_BACK]));
    local_entry(l, INNER, OUT, 1), local_entry(l, INNER, OUT_BACK, -1);
    local_entry(l, INNER, IN, -gain), local_entry(l, INNER, IN_BACK, gain);
}

/* i_out = gain v_in */
void element_vccs(Local *l) {
    double gain = l->p[CONTROLLED_GAIN];
    local_flow(l, OUT, OUT_BACK, gain * (l->x[IN] - l->x[IN_BACK]));
    local_steer(l, OUT, OUT_BACK, IN, IN_BACK, gain);
}

static void sense(Local *l) {
    local_flow(l, IN, IN_BACK, l->x[INNER]);
    local_slope(l, IN, IN_BACK, INNER, 1);
    local_row(l, INNER, l->x[IN] - l->x[IN_BACK]);
    local_entry(l, INNER, IN, 1), local_entry(l, INNER, IN_BACK, -1);
}

/* i_out = gain i_in */
void element_cccs(Local *l) {
    double gain = l->p[CONTROLLED_GAIN];
    sense(l);
    local_flow(l, OUT, OUT_BACK, gain * l->x[INNER]);
    local_slope(l, OUT, OUT_BACK, INNER, gain);
}

/* v_out = gain i_in */
void element_ccvs(Local *l) {
    double gain = l->p[CONTROLLED_GAIN];
    sense(l);
    local_flow(l, OUT, OUT_BACK, l->x[OUT_CURRENT]);
    local_slope(l, OUT, OUT_BACK, OUT_CURRENT, 1);
    local_row(l, OUT_CURRENT, l->x[OUT] - l->x[OUT_BACK] - gain * l->x[INNER]);
    local_entry(l, OUT_CURRENT, OUT, 1), local_entry(l, OUT_CURRENT, OUT_BACK, -1),
        local_entry(l, OUT_CURRENT, INNER, -gain);
}
