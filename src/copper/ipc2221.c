/* The current a track may carry: the formula fitted to the curves of IPC-2221, clause 6.2 (from memory). */
#include "copper/copper.h"

#include <math.h>

static const double K_OUTSIDE = 0.048, K_INSIDE = 0.024, RISE_POWER = 0.44, SECTION_POWER = 0.725;
static const double MIL_MM = 0.0254;

double copper_ipc2221_ampere(double width_mm, double thickness_mm, double rise_kelvin, bool outside) {
    if (!(width_mm > 0) || !(thickness_mm > 0) || !(rise_kelvin > 0)) return 0;
    double square_mil = width_mm * thickness_mm / (MIL_MM * MIL_MM);
    return (outside ? K_OUTSIDE : K_INSIDE) * pow(rise_kelvin, RISE_POWER) * pow(square_mil, SECTION_POWER);
}
