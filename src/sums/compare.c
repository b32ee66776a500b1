/* Each reading beside the sums: what the parts and all other readings make of it, and by how many standard uncertainties of
 * both together it is off. */
#include "sums/fit.h"

#include <math.h>
#include <stdlib.h>

static const double OFF =
    3.5; /* standard deviations, as a reading is left out from the fit: one in two thousand by chance */
static const double NORMAL95 = 1.96;
static const double TELLS =
    1; /* of itself, from end to end of its 95 %: a figure less well known tells little of a reading */

static Text why_unknown(const Sums *sums, const BenchReading *reading) {
    if (sums->modes.count > 1 && reading->mode.len == 0) return TEXT("the note doesn't say in which mode");
    uint32_t mode = reading->mode.len > 0 ? sums_mode(sums, reading->mode) : 0;
    if (mode != BENCH_NONE && !sums->modes.at[mode].solved) return TEXT("the mode has no answer");
    return TEXT("nothing in the notes fixes it");
}

static bool summed(const BenchReading *reading) {
    return text_is(reading->function, "v") || text_is(reading->function, "i") || text_is(reading->function, "p");
}

static SumsCompared compared_of(const Sums *sums, const Fit *fit, uint32_t j) {
    const Observed *observed = &fit->observed.at[j];
    double meter = observed->sd * observed->sd;
    SumsCompared compared = {.reading = observed->reading, .mode = observed->mode, .verdict = SUMS_UNKNOWN};
    if (!fit->rows[j].fine || !isfinite(fit->expected[j]) || !isfinite(fit->deviation[j])) {
        compared.why = why_unknown(sums, &sums->bench->readings.at[observed->reading]);
        return compared;
    }
    double spread = sqrt(fmax(fit->deviation[j] * fit->deviation[j] - meter, 0));
    compared.typical = fit_figure(observed, fit->expected[j]);
    compared.low = fit_figure(observed, fit->expected[j] - NORMAL95 * spread);
    compared.high = fit_figure(observed, fit->expected[j] + NORMAL95 * spread);
    compared.off = (observed->y - fit->expected[j]) / fit->deviation[j];
    bool off = fabs(compared.off) > OFF,
         tells = compared.high - compared.low < TELLS * fabs(fit_figure(observed, observed->y));
    compared.verdict = off ? SUMS_OFF : tells ? SUMS_AGREES : SUMS_ALONE;
    return compared;
}

static int worst_first(const void *a, const void *b) {
    const SumsCompared *x = a, *y = b;
    bool off_x = x->verdict == SUMS_OFF, off_y = y->verdict == SUMS_OFF;
    if (off_x != off_y) return off_x ? -1 : 1;
    if (off_x && fabs(x->off) != fabs(y->off)) return fabs(x->off) > fabs(y->off) ? -1 : 1;
    return (x->reading > y->reading) - (x->reading < y->reading);
}

void compare_all(Sums *sums, const Fit *fit) {
    const Bench *bench = sums->bench;
    uint32_t j = 0;
    for (uint32_t i = 0; i < bench->readings.count; i++) {
        if (!summed(&bench->readings.at[i])) continue;
        SumsCompared compared = {
            .reading = i, .mode = BENCH_NONE, .verdict = SUMS_UNKNOWN, .why = why_unknown(sums, &bench->readings.at[i])};
        if (j < fit->observed.count && fit->observed.at[j].reading == i) compared = compared_of(sums, fit, j++);
        sums->differ += compared.verdict == SUMS_OFF;
        list_push(sums->arena, &sums->compared, compared);
    }
    if (sums->compared.count > 1) qsort(sums->compared.at, sums->compared.count, sizeof *sums->compared.at, worst_first);
}
