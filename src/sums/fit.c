#include "sums/fit.h"

#include <math.h>

static const double SQRT3 =
    1.7320508075688772;           /* an even spread over a half-width w has the standard deviation w / sqrt 3 */
static const double WIDTH = 4;    /* standard deviations from limit to limit: 95 of 100 are within */
static const double FURTHEST = 8; /* standard deviations that a parameter may be moved to */
static const double STRIDE = 2;   /* and in one round */
static const double FLOATS = 1e8; /* ohms from which on a net's voltage is nobody's business: surfaces leak as much */
static const double MISFIT = 3.5; /* standard deviations from which on a reading is left out */
static const double SUSPECT = 2;  /* from which on it is seen what the others say without it */
enum { ROUNDS = 8, OUT_MOST = 8, SUSPECTS_MOST = 4 };
/* What the largest of notes may take: elements times solutions; a solution of a hundred elements takes some ten
 * microseconds. */
static const double BUDGET = 4e6;
enum { OWN = 30 /* solutions' worth of wiring and solving a mode */, EACH = 3 /* and of a reading's slopes */ };

/* ---- parameters, in standard deviations ---- */

double fit_rate(const SumsParameter *is, double t) {
    return is->ratio ? fit_value(is, t) * log(is->high / is->low) / WIDTH : (is->high - is->low) / WIDTH;
}

double fit_value(const SumsParameter *is, double t) {
    if (is->ratio) return is->typical * exp(t * log(is->high / is->low) / WIDTH);
    double value = is->typical + t * (is->high - is->low) / WIDTH;
    return is->low >= 0 ? fmax(value, is->low / 2) : value; /* what can't be negative isn't */
}

/* ---- what was read ---- */

static Accuracy accuracy_of(const Sums *sums, Text function) {
    return text_is(function, "v")   ? sums->models->volts
           : text_is(function, "i") ? sums->models->amperes
                                    : sums->models->watts;
}

static bool figure_of(const BenchReading *reading, Figure *figure) {
    uint32_t first = reading->about[0];
    bool part = reading->about_what == BENCH_ABOUT_PART, pin = reading->about_what == BENCH_ABOUT_PIN;
    if (text_is(reading->function, "v") && reading->about_what == BENCH_ABOUT_NET && reading->about_count > 0) {
        *figure = (Figure){FIGURE_VOLTS, first, reading->about_count == 2 ? reading->about[1] : BENCH_NONE};
        return true;
    }
    if (reading->about_count != 1 || (!part && !pin)) return false;
    if (text_is(reading->function, "p") && part) return *figure = (Figure){FIGURE_POWER, first, BENCH_NONE}, true;
    *figure = (Figure){part ? FIGURE_CURRENT : FIGURE_PIN, first, BENCH_NONE};
    return text_is(reading->function, "i");
}

/* Fewer where the notes are so large that each takes long. */
static uint32_t readings_most(const Sums *sums) {
    enum { LEAST = 8 };
    double most = BUDGET / 20 / (sums->size + 1.0);
    return most < LEAST ? LEAST : most < READINGS_MOST ? (uint32_t)most : READINGS_MOST;
}

static void observe(Fit *fit) {
    const Sums *sums = fit->sums;
    for (uint32_t i = 0; i < sums->bench->readings.count && fit->observed.count < readings_most(sums); i++) {
        const BenchReading *reading = &sums->bench->readings.at[i];
        uint32_t mode = reading->mode.len > 0    ? sums_mode(sums, reading->mode)
                        : sums->modes.count == 1 ? 0
                                                 : (uint32_t)BENCH_NONE;
        Figure figure;
        if (mode == BENCH_NONE || !figure_of(reading, &figure)) continue;
        Accuracy accuracy = accuracy_of(sums, reading->function);
        double half =
            accuracy.share * fabs(reading->value.value) + accuracy.floor + (reading->value.high - reading->value.low) / 2;
        Observed *observed = list_add(fit->arena, &fit->observed);
        *observed = (Observed){.reading = i, .mode = mode, .figure = figure, .y = reading->value.value, .sd = half / SQRT3};
        if (figure.sort == FIGURE_VOLTS && figure.against == BENCH_NONE) observed->loads = accuracy.ohms;
        if (figure.sort == FIGURE_VOLTS) continue;
        observed->floor = accuracy.floor;
        observed->y = log(fabs(reading->value.value) + accuracy.floor);
        observed->sd = half / SQRT3 / (fabs(reading->value.value) + accuracy.floor);
    }
}

double fit_figure(const Observed *observed, double y) {
    return observed->floor > 0 ? fmax(exp(y) - observed->floor, 0) : y;
}

/* ---- one mode, made linear ---- */

/* By id, ascending, as they mostly are: what is supposed may have another. */
static void sort_slopes(Slope *slopes, uint32_t count) {
    for (uint32_t i = 1; i < count; i++) {
        Slope slope = slopes[i];
        uint32_t k = i;
        for (; k > 0 && slopes[k - 1].id > slope.id; k--) slopes[k] = slopes[k - 1];
        slopes[k] = slope;
    }
}

/* Keeps those that say something. All parts of a large board hang together by their supply, most of them by next to
 * nothing: what is left out is less than a hundredth of the whole, were there ten thousand of it. */
static void keep_slopes(Arena *arena, Row *row, const Slope *all, uint32_t count) {
    static const double NOTHING = 1e-4;
    double most = 0;
    uint32_t kept = 0;
    for (uint32_t i = 0; i < count; i++) most = fmax(most, fabs(all[i].of));
    for (uint32_t i = 0; i < count; i++) kept += fabs(all[i].of) > NOTHING * most;
    row->slopes = arena_many(arena, Slope, kept + 1);
    for (uint32_t i = 0; i < count; i++)
        if (fabs(all[i].of) > NOTHING * most) row->slopes[row->count++] = all[i];
    sort_slopes(row->slopes, row->count);
}

/* From the figure to what is compared: its logarithm where so. Gives d compared / d figure. */
static double compared(const Observed *observed, Row *row) {
    row->h *= row->loaded;
    if (observed->floor == 0) return row->loaded;
    double slope =
        (row->h < 0 ? -1 : 1) / (fabs(row->h) + observed->floor); /* which way round the meter stood, the notes don't say */
    row->h = log(fabs(row->h) + observed->floor);
    return slope;
}

/* What the meter shows of it, and the slopes, by each parameter's standard deviation. `slopes` and `all`: room for as many
 * as there are parameters. */
static Row row_of(Arena *arena, Solved *solved, const Observed *observed, const double *t, double *slopes, Slope *all) {
    Row row = {.fine = solved_figure(solved, observed->figure, &row.h, slopes), .loaded = 1};
    const Wiring *w = solved->wiring[0];
    uint32_t count = 0;
    if (!row.fine) return row;
    if (observed->figure.sort == FIGURE_VOLTS) {
        double ohms = solved_ohms(solved, observed->figure.at);
        row.fine = ohms < FLOATS;
        if (observed->loads > 0) row.loaded = observed->loads / (observed->loads + ohms);
    }
    double factor = compared(observed, &row);
    for (uint32_t i = 0; i < w->parameters.count; i++) {
        const Wired *wired = &w->parameters.at[i];
        double of = slopes[i] == 0 ? 0 : factor * slopes[i] * fit_rate(&wired->is, t[wired->id]);
        if (of != 0 && isfinite(of)) all[count++] = (Slope){wired->id, of};
    }
    keep_slopes(arena, &row, all, count);
    return row;
}

/* The same with the slopes that the circuit as noted had. */
static Row row_quick(Solved *solved, const Observed *observed, const Row *noted) {
    Row row = *noted;
    row.fine = noted->fine && solved_figure(solved, observed->figure, &row.h, NULL);
    if (row.fine) compared(observed, &row);
    return row;
}

bool fit_move(Solved *solved, const double *t) {
    Arena *scratch = arena_new();
    const Wiring *w = solved->wiring[0];
    double *values = arena_many(scratch, double, w->parameters.count + 1);
    for (uint32_t i = 0; i < w->parameters.count; i++)
        values[i] = fit_value(&w->parameters.at[i].is, t[w->parameters.at[i].id]);
    bool fine = solved->fine && solved_move(solved, values);
    arena_free(scratch);
    return fine;
}

/* Rows of one mode's readings at t. quick: as fit_evidence has it. */
static void linearise(Arena *arena, const Fit *fit, uint32_t mode, Solved *solved, const Observed *readings,
                      const double *t, bool quick, Row *rows) {
    Arena *scratch = arena_new();
    uint32_t count = solved->wiring[0]->parameters.count + 1;
    double *slopes = arena_many(scratch, double, count);
    Slope *all = arena_many(scratch, Slope, count);
    bool fine = fit_move(solved, t);
    for (uint32_t j = 0; j < fit->observed.count; j++) {
        if (readings[j].mode != mode) continue;
        if (!fine)
            rows[j] = (Row){0};
        else if (quick && !fit->observed.at[j].out)
            rows[j] = row_quick(solved, &readings[j], &fit->rows[j]);
        else
            rows[j] = row_of(arena, solved, &readings[j], t, slopes, all);
    }
    arena_free(scratch);
}

/* ---- the normal equations ---- */

typedef struct Normal {
    uint32_t m;
    uint32_t at[READINGS_MOST];                /* readings that count */
    double *l;                                 /* m x m, lower: S = L L' */
    double r[READINGS_MOST], w[READINGS_MOST]; /* what is left at t = 0; S^-1 of it */
} Normal;

static double covariance(const Row *a, const Row *b) {
    double sum = 0;
    for (uint32_t i = 0, k = 0; i < a->count && k < b->count;) {
        if (a->slopes[i].id == b->slopes[k].id)
            sum += a->slopes[i++].of * b->slopes[k++].of;
        else if (a->slopes[i].id < b->slopes[k].id)
            i++;
        else
            k++;
    }
    return sum;
}

/* Cholesky's factor in place; false when it isn't positive. */
static bool cholesky(double *a, uint32_t m) {
    for (uint32_t i = 0; i < m; i++)
        for (uint32_t k = 0; k <= i; k++) {
            double sum = a[i * m + k];
            for (uint32_t n = 0; n < k; n++) sum -= a[i * m + n] * a[k * m + n];
            if (i == k && !(sum > 0)) return false;
            a[i * m + k] = i == k ? sqrt(sum) : sum / a[k * m + k];
        }
    return true;
}

/* x = S^-1 x */
static void back(const Normal *normal, double *x) {
    uint32_t m = normal->m;
    for (uint32_t i = 0; i < m; i++) {
        for (uint32_t k = 0; k < i; k++) x[i] -= normal->l[i * m + k] * x[k];
        x[i] /= normal->l[i * m + i];
    }
    for (uint32_t i = m; i-- > 0;) {
        for (uint32_t k = i + 1; k < m; k++) x[i] -= normal->l[k * m + i] * x[k];
        x[i] /= normal->l[i * m + i];
    }
}

static double innovation(const Observed *observed, const Row *row, const double *t) {
    double r = observed->y - row->h;
    for (uint32_t i = 0; i < row->count; i++) r += row->slopes[i].of * t[row->slopes[i].id];
    return r;
}

static bool normal_new(Arena *arena, const Fit *fit, const Observed *readings, const Row *rows, const double *t,
                       Normal *normal) {
    normal->m = 0;
    for (uint32_t j = 0; j < fit->observed.count; j++)
        if (rows[j].fine && !readings[j].out) normal->at[normal->m++] = j;
    uint32_t m = normal->m;
    normal->l = arena_many(arena, double, (size_t)m *m + 1);
    for (uint32_t i = 0; i < m; i++) {
        const Observed *observed = &readings[normal->at[i]];
        for (uint32_t k = 0; k <= i; k++) normal->l[i * m + k] = covariance(&rows[normal->at[i]], &rows[normal->at[k]]);
        normal->l[i * m + i] += observed->sd * observed->sd;
        normal->r[i] = normal->w[i] = innovation(observed, &rows[normal->at[i]], t);
    }
    if (!cholesky(normal->l, m)) return false;
    back(normal, normal->w);
    return true;
}

/* The likeliest parameters; how far the furthest of them moved. */
static double step(const Fit *fit, const Normal *normal, const Row *rows, double *t) {
    double moved = 0;
    Arena *scratch = arena_new();
    double *next = arena_many(scratch, double, fit->ids->count + 1);
    for (uint32_t i = 0; i < normal->m; i++) {
        const Row *row = &rows[normal->at[i]];
        for (uint32_t k = 0; k < row->count; k++) next[row->slopes[k].id] += row->slopes[k].of * normal->w[i];
    }
    for (uint32_t i = 0; i <= fit->ids->count; i++) {
        double to = fmin(fmax(next[i], -FURTHEST), FURTHEST);
        to = fmin(fmax(to, t[i] - STRIDE), t[i] + STRIDE);
        moved = fmax(moved, fabs(to - t[i]));
        t[i] = to;
    }
    arena_free(scratch);
    return moved;
}

static double evidence(const Fit *fit, const Normal *normal, const Observed *readings, const Row *rows) {
    static const double HALF_LN_2PI = 0.9189385332046727;
    double sum = 0;
    for (uint32_t i = 0; i < normal->m; i++)
        sum -= normal->r[i] * normal->w[i] / 2 + log(normal->l[i * normal->m + i]) + HALF_LN_2PI;
    for (uint32_t j = 0; j < fit->observed.count; j++) {
        if (readings[j].out || !rows[j].fine) sum += readings[j].density;
    }
    return isfinite(sum) ? sum : -INFINITY;
}

/* ---- the circuit as noted ---- */

/* False when the budget is spent; what was made linear before then stands. */
static bool linearise_all(Arena *arena, Fit *fit, const double *t, Row *rows) {
    double size = fit->sums->size + fit->sums->bench->nets.count + 1.0;
    for (uint32_t mode = 0; mode < fit->sums->modes.count; mode++) fit->budget -= OWN * size;
    fit->budget -= EACH * size * fit->observed.count;
    if (fit->budget < 0 && fit->normal->l != NULL) return false;
    for (uint32_t mode = 0; mode < fit->sums->modes.count; mode++) {
        bool any = false;
        for (uint32_t j = 0; j < fit->observed.count; j++) any = any || fit->observed.at[j].mode == mode;
        if (any) linearise(arena, fit, mode, &fit->solved[mode], fit->observed.at, t, false, rows);
    }
    return true;
}

/* Fits from the middle of all parameters. */
static bool fit_once(Fit *fit, Normal *normal) {
    for (uint32_t i = 0; fit->budget >= 0 && i <= fit->ids->count; i++) fit->t[i] = 0;
    for (unsigned round = 0; round < ROUNDS; round++) {
        if (!linearise_all(fit->arena, fit, fit->t, fit->rows)) break;
        if (!normal_new(fit->arena, fit, fit->observed.at, fit->rows, fit->t, normal)) return false;
        if (step(fit, normal, fit->rows, fit->t) < 0.02) break;
    }
    fit->evidence = evidence(fit, normal, fit->observed.at, fit->rows);
    return true;
}

/* What all other readings make of each: from the inverse's diagonal for those that count, from t for those left out. */
static void expect(Fit *fit, const Normal *normal) {
    double x[READINGS_MOST];
    for (uint32_t j = 0; j < fit->observed.count; j++)
        fit->expected[j] = NAN, fit->deviation[j] = INFINITY, fit->apart[j] = 0;
    for (uint32_t i = 0; i < normal->m; i++) {
        for (uint32_t k = 0; k < normal->m; k++) x[k] = k == i;
        back(normal, x);
        uint32_t j = normal->at[i];
        fit->expected[j] = fit->observed.at[j].y - normal->w[i] / x[i];
        fit->deviation[j] = 1 / sqrt(x[i]);
        double alone = covariance(&fit->rows[j], &fit->rows[j]) + fit->observed.at[j].sd * fit->observed.at[j].sd;
        fit->apart[j] = fabs(normal->r[i]) / sqrt(alone);
    }
    for (uint32_t j = 0; j < fit->observed.count; j++) {
        if (!fit->observed.at[j].out || !fit->rows[j].fine) continue;
        double left = covariance(&fit->rows[j], &fit->rows[j]), y[READINGS_MOST];
        for (uint32_t k = 0; k < normal->m; k++) x[k] = y[k] = covariance(&fit->rows[j], &fit->rows[normal->at[k]]);
        back(normal, x);
        for (uint32_t k = 0; k < normal->m; k++) left -= x[k] * y[k];
        fit->expected[j] = fit->rows[j].h;
        fit->deviation[j] = sqrt(fmax(left, 0) + fit->observed.at[j].sd * fit->observed.at[j].sd);
    }
}

/* How far a reading is off what all others make of it, or off what the parts alone do, which several readings that share a
 * cause show together. */
static double off(const Fit *fit, uint32_t j) {
    if (!fit->rows[j].fine || fit->observed.at[j].out) return 0;
    return fmax(fabs(fit->observed.at[j].y - fit->expected[j]) / fit->deviation[j], fit->apart[j]);
}

/* The reading furthest off what all others make of it, when that is far; BENCH_NONE when all fit. The inverse's diagonal
 * says it where the circuit is linear; of those that it makes suspect each is left out in turn to see. */
static uint32_t worst(Fit *fit, Normal *normal) {
    uint32_t suspects[SUSPECTS_MOST], count = 0, found = BENCH_NONE;
    double most = MISFIT;
    for (; count < SUSPECTS_MOST; count++) {
        uint32_t next = BENCH_NONE;
        for (uint32_t j = 0; j < fit->observed.count; j++) {
            bool had = false;
            for (uint32_t i = 0; i < count; i++) had = had || suspects[i] == j;
            if (!had && off(fit, j) > SUSPECT && (next == BENCH_NONE || off(fit, j) > off(fit, next))) next = j;
        }
        if (next == BENCH_NONE) break;
        suspects[count] = next;
    }
    for (uint32_t i = 0; i < count && fit->budget >= 0; i++) {
        Observed *observed = &fit->observed.at[suspects[i]];
        double apart = fit->apart[suspects[i]];
        observed->out = true;
        bool fine = fit_once(fit, normal);
        if (fine) expect(fit, normal);
        observed->out = false;
        double is = fine ? fmax(off(fit, suspects[i]), apart) : 0;
        if (is > most) most = is, found = suspects[i];
    }
    return found;
}

/* How much of each parameter's spread the readings leave. */
static void narrow(Fit *fit, const Normal *normal) {
    Arena *scratch = arena_new();
    uint32_t m = normal->m, count = 0, *place = arena_many(scratch, uint32_t, fit->ids->count + 1);
    for (uint32_t i = 0; i < m; i++)
        for (uint32_t k = 0; k < fit->rows[normal->at[i]].count; k++) {
            uint32_t id = fit->rows[normal->at[i]].slopes[k].id;
            if (place[id] == 0) place[id] = ++count;
        }
    double x[READINGS_MOST], *g = arena_many(scratch, double, ((size_t)count + 1) * (m + 1));
    for (uint32_t i = 0; i < m; i++)
        for (uint32_t k = 0; k < fit->rows[normal->at[i]].count; k++) {
            Slope slope = fit->rows[normal->at[i]].slopes[k];
            g[(size_t)place[slope.id] * m + i] = slope.of;
        }
    for (uint32_t id = 0; id <= fit->ids->count; id++) {
        if (place[id] == 0) continue;
        const double *row = g + (size_t)place[id] * m;
        memcpy(x, row, m * sizeof *x);
        back(normal, x);
        for (uint32_t i = 0; i < m; i++) fit->spare[id] -= x[i] * row[i];
        fit->spare[id] = fmin(fmax(fit->spare[id], 0), 1);
    }
    arena_free(scratch);
}

Fit *fit_new(Arena *arena, const Sums *sums, const Ids *ids, Solved *solved) {
    Fit *fit = arena_one(arena, Fit);
    Normal *normal = arena_one(arena, Normal);
    *fit = (Fit){.arena = arena,
                 .sums = sums,
                 .ids = ids,
                 .solved = solved,
                 .evidence = -INFINITY,
                 .normal = normal,
                 .budget = BUDGET};
    observe(fit);
    uint32_t count = fit->observed.count + 1;
    fit->rows = arena_many(arena, Row, count);
    fit->t = arena_many(arena, double, ids->count + 1), fit->spare = arena_many(arena, double, ids->count + 1);
    fit->expected = arena_many(arena, double, count), fit->deviation = arena_many(arena, double, count);
    fit->apart = arena_many(arena, double, count);
    for (uint32_t i = 0; i <= ids->count; i++) fit->spare[i] = 1;
    if (fit->observed.count == 0) return fit;
    bool fine = fit_once(fit, normal);
    for (unsigned out = 0; fine && out < OUT_MOST && fit->budget >= 0; out++) {
        expect(fit, normal);
        uint32_t bad = normal->m > 0 ? worst(fit, normal) : (uint32_t)BENCH_NONE;
        if (bad != BENCH_NONE) fit->observed.at[bad].out = true;
        fine = fit_once(fit, normal);
        if (bad == BENCH_NONE) break;
    }
    if (!fine) return fit;
    expect(fit, normal);
    narrow(fit, normal);
    return fit;
}

void fit_condition(const Fit *fit, double *t, const double *noise) {
    const Normal *normal = fit->normal;
    double x[READINGS_MOST];
    for (uint32_t i = 0; i < normal->m; i++) {
        const Row *row = &fit->rows[normal->at[i]];
        const Observed *observed = &fit->observed.at[normal->at[i]];
        x[i] = observed->y - row->h + (noise == NULL ? 0 : noise[i] * observed->sd);
        for (uint32_t k = 0; k < row->count; k++)
            x[i] -= row->slopes[k].of * (t[row->slopes[k].id] - fit->t[row->slopes[k].id]);
    }
    back(normal, x);
    for (uint32_t i = 0; i < normal->m; i++) {
        const Row *row = &fit->rows[normal->at[i]];
        for (uint32_t k = 0; k < row->count; k++) t[row->slopes[k].id] += row->slopes[k].of * x[i];
    }
}

/* ---- another circuit ---- */

double fit_evidence(const Fit *fit, Solved *noted, const Change *change, const Observed *readings, const bool *modes,
                    unsigned rounds, double hopeless) {
    Arena *scratch = arena_new();
    Normal *normal = arena_one(scratch, Normal);
    Row *rows = arena_many(scratch, Row, fit->observed.count + 1);
    double *t = arena_many(scratch, double, fit->ids->count + 1), found = -INFINITY;
    Supposed supposed[SUMS_MODES_MOST];
    bool is[SUMS_MODES_MOST] = {false}; /* supposed, so far */
    for (uint32_t j = 0; j < fit->observed.count; j++) rows[j] = fit->rows[j];
    memcpy(t, fit->t, (fit->ids->count + 1) * sizeof *t);
    bool holds = change == NULL || (!change->wires && change->mistake != MISTAKE_PLACE); /* the fit's own rows, at first */
    for (unsigned round = 0; round < rounds || round == 0; round++) {
        for (uint32_t mode = 0; (round > 0 || !holds) && mode < fit->sums->modes.count; mode++) {
            if (!modes[mode]) continue;
            if (!is[mode]) supposed[mode] = suppose(scratch, &noted[mode], fit->ids, change), is[mode] = true;
            linearise(scratch, fit, mode, &supposed[mode].is, readings, t, rounds == 0, rows);
        }
        if (!normal_new(scratch, fit, readings, rows, t, normal)) break;
        found = evidence(fit, normal, readings, rows);
        if (found < hopeless || step(fit, normal, rows, t) < 0.05) break;
    }
    for (uint32_t mode = 0; mode < fit->sums->modes.count; mode++)
        if (is[mode]) supposed_end(&supposed[mode]);
    arena_free(scratch);
    return found;
}
