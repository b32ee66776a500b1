/* Logistic regression by Newton's method (iteratively reweighted least squares), with a ridge that keeps measures which
 * hardly ever vary at 0, and the table that shows how far a probability can be believed. */
#include "tools/doubts/doubts.h"

#include <math.h>

enum { N = DOUBT_FEATURES, STEPS = 50, BINS = 10 };
static const double RIDGE = 1.0, STILL = 1e-9;

static double p_of(const double *feature, const double *weights) {
    double sum = 0;
    for (unsigned i = 0; i < N; i++) sum += weights[i] * feature[i];
    return 1 / (1 + exp(-sum));
}

/* Gaussian elimination with pivots; rows of N + 1. False when singular. */
static bool solve(double a[N][N + 1], double x[N]) {
    for (unsigned c = 0; c < N; c++) {
        unsigned pivot = c;
        for (unsigned r = c + 1; r < N; r++)
            if (fabs(a[r][c]) > fabs(a[pivot][c])) pivot = r;
        if (fabs(a[pivot][c]) < 1e-12) return false;
        for (unsigned k = 0; k <= N; k++) {
            double swap = a[c][k];
            a[c][k] = a[pivot][k], a[pivot][k] = swap;
        }
        for (unsigned r = 0; r < N; r++) {
            double factor = r == c ? 0 : a[r][c] / a[c][c];
            for (unsigned k = c; k <= N; k++) a[r][k] -= factor * a[c][k];
        }
    }
    for (unsigned i = 0; i < N; i++) x[i] = a[i][N] / a[i][i];
    return true;
}

bool doubts_fit(const DoubtSamples *samples, double weights[N]) {
    for (unsigned i = 0; i < N; i++) weights[i] = 0;
    for (unsigned step = 0; step < STEPS; step++) {
        double system[N][N + 1] = {{0}}, move[N], most = 0;
        for (uint32_t s = 0; s < samples->count; s++) {
            const double *x = samples->at[s].feature;
            double p = p_of(x, weights), slope = p * (1 - p);
            for (unsigned i = 0; i < N; i++) {
                for (unsigned k = 0; k < N; k++) system[i][k] += slope * x[i] * x[k];
                system[i][N] += (samples->at[s].joined - p) * x[i];
            }
        }
        for (unsigned i = 0; i < N; i++) system[i][i] += RIDGE, system[i][N] -= RIDGE * weights[i];
        if (!solve(system, move)) return false;
        for (unsigned i = 0; i < N; i++) weights[i] += move[i], most = fmax(most, fabs(move[i]));
        if (most < STILL) return true;
    }
    return false;
}

void doubts_table(Out *out, const DoubtSamples *samples, const double *weights) {
    double told[BINS] = {0}, joined[BINS] = {0}, count[BINS] = {0}, error = 0;
    for (uint32_t s = 0; s < samples->count; s++) {
        double p = weights == NULL ? samples->at[s].p : p_of(samples->at[s].feature, weights);
        unsigned bin = p >= 1 ? BINS - 1 : (unsigned)(p * BINS);
        told[bin] += p, joined[bin] += samples->at[s].joined, count[bin]++;
        error += (p - samples->at[s].joined) * (p - samples->at[s].joined);
    }
    out_fmt(out, "%-14s %8s %8s %8s\n", "said", "places", "mean", "joined");
    for (unsigned i = 0; i < BINS; i++)
        if (count[i] > 0)
            out_fmt(out, "%3u ... %3u %%   %8.0f %7.1f%% %7.1f%%\n", i * 100 / BINS, (i + 1) * 100 / BINS, count[i],
                    100 * told[i] / count[i], 100 * joined[i] / count[i]);
    out_fmt(out, "mean squared error %.4f over %u places\n", samples->count > 0 ? error / samples->count : 0,
            samples->count);
}
