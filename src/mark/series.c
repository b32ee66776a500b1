/* Preferred values of IEC 60063 (from memory). Up to E24 the values are older than the rule and stand in a table; from E48
 * on value i of n is 10^(i/n) rounded to three figures, but for 9.20 of E192, which the rule would make 9.19. */
#include "mark/inside.h"

#include <math.h>

static const unsigned E24[] = {10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30,
                               33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91};

static bool is_tabled(unsigned steps) { return steps == 3 || steps == 6 || steps == 12 || steps == 24; }
static bool is_computed(unsigned steps) { return steps == 48 || steps == 96 || steps == 192; }

unsigned mark_series(unsigned steps, unsigned i) {
    if (i >= steps) return 0;
    if (is_tabled(steps)) return E24[i * (24 / steps)]; /* each series is every second value of the next */
    if (!is_computed(steps)) return 0;
    unsigned value = (unsigned)lround(100 * pow(10, (double)i / steps));
    return value == 919 ? 920 : value;
}

/* value = figure x 10^power with 1 <= figure < 10 */
static double figure_of(double value, int *power) {
    *power = (int)floor(log10(value) + 1e-12);
    return value / pow(10, *power);
}

double mark_nearest_in_series(double value, unsigned steps) {
    if (!(value > 0) || !isfinite(value) || mark_series(steps, 0) == 0) return 0;
    int power;
    double figure = figure_of(value, &power), best = 0, scale = steps <= 24 ? 10 : 100;
    for (unsigned i = 0; i <= steps; i++) {
        double candidate = i == steps ? 10 : mark_series(steps, i) / scale;
        if (best == 0 || fabs(log(candidate / figure)) < fabs(log(best / figure))) best = candidate;
    }
    return best * pow(10, power);
}

bool mark_in_series(double value, unsigned steps) {
    double nearest = mark_nearest_in_series(value, steps);
    return nearest > 0 && fabs(value / nearest - 1) < 1e-6;
}

/* Values of three (two) figures that are of E24 or of the series. */
static unsigned preferred_count(unsigned steps, int figures) {
    if (figures < 3 || steps <= 24) return 24;
    unsigned count = steps;
    for (unsigned i = 0; i < 24; i++) count += !mark_in_series(E24[i], steps);
    return count;
}

double series_decibans(const Marks *marks, double value, unsigned steps, int figures) {
    if (!(value > 0)) return 0;
    double kept = weight_of(marks, "series-kept"), share = preferred_count(steps, figures) / (figures < 3 ? 90.0 : 900.0);
    bool member = mark_in_series(value, 24) || (figures >= 3 && mark_in_series(value, steps));
    return 10 * log10(member ? kept / share : (1 - kept) / (1 - share));
}
