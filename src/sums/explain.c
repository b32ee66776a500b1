/* Which single mistake would best explain the readings that differ.
 *
 * Each one supposed gives another circuit, or another reading; how well all readings of all modes fit it is its evidence
 * (fit.h), its rarity stands in the lore, and Bayes' rule makes probabilities of both, shared with "something else" and
 * with chance. A mistake in the circuit is tried first where readings differ and only if it helps there in all modes. Two
 * threads: each mistake is on its own. */
#include "sums/mistakes.h"

#include <math.h>
#include <stdlib.h>

static const double LN10 = 2.302585092994046;
static const double DECADES = 6;   /* that a current or power which is wrong altogether may lie in: rule of thumb */
static const double HELPS = 1;     /* ln of evidence that a mistake must bring where readings differ, to be looked into */
static const double HOPELESS = 20; /* ln of evidence below that of no mistake, from which on a round more won't save it */
static const double SHOWN = 0.005; /* probability below which an explanation isn't told */
static const double EFFORT = 8e4;  /* parts times mistakes that look may wait for */
enum {
    SHOWN_MOST = 8,
    MISTAKES_MOST = 4000,
    MISTAKES_LEAST = 8,
    ROUNDS = 4,
    LARGE = 300 /* parts: from here on the slopes of the circuit as noted must do */
};

typedef struct Explainer {
    Arena *arena;
    Sums *sums;
    const Fit *fit;
    Solved *noted;      /* by mode: the circuit as fitted, for one thread at a time; marked */
    Observed *readings; /* size observed.count: all in */
    bool off[SUMS_MODES_MOST], all[SUMS_MODES_MOST];
    double base;
    unsigned rounds;
} Explainer;

typedef struct Tried {
    const Change *change;
    double evidence, posterior;
    uint32_t at;
} Tried;

/* ---- readings ---- */

/* ln of the density of a reading that is wrong altogether. */
static double slip_density(const Explainer *x, uint32_t j) {
    if (x->readings[j].floor > 0) return -log(DECADES * LN10);
    double most = 1;
    for (uint32_t i = 0; i < x->fit->observed.count; i++)
        if (x->readings[i].floor == 0) most = fmax(most, fabs(x->readings[i].y));
    return -log(2 * most);
}

/* The readings as they would be. out shift: ln of what the density of the reading as written has over that of the right
 * one. */
static Observed *supposed(const Explainer *x, Arena *arena, const Change *change, double *shift) {
    Observed *readings = arena_many(arena, Observed, x->fit->observed.count + 1);
    memcpy(readings, x->readings, x->fit->observed.count * sizeof *readings);
    *shift = 0;
    if (change == NULL || change->wires) return readings;
    Observed *of = &readings[change->observed];
    if (change->mistake == MISTAKE_SLIP) of->out = true;
    if (change->mistake == MISTAKE_PLACE) of->figure.at = change->nets[0];
    if (change->mistake == MISTAKE_DECIMAL && of->floor > 0) of->y = log(fit_figure(of, of->y) * change->value + of->floor);
    if (change->mistake == MISTAKE_DECIMAL && of->floor == 0)
        of->y *= change->value, of->sd *= change->value, *shift = log(change->value);
    return readings;
}

/* ---- trying ---- */

static void modes_of(const Explainer *x, const Change *change, bool *modes) {
    for (uint32_t i = 0; i < x->sums->modes.count; i++)
        modes[i] = x->all[i] && (change->mode == BENCH_NONE || change->mode == i);
    for (uint32_t i = 0; !change->wires && i < x->sums->modes.count; i++)
        modes[i] = x->readings[change->observed].mode == i;
}

static double try_change(const Explainer *x, Solved *noted, const Change *change) {
    Arena *scratch = arena_new();
    double shift, found = -INFINITY;
    Observed *readings = supposed(x, scratch, change, &shift);
    bool modes[SUMS_MODES_MOST], first[SUMS_MODES_MOST];
    modes_of(x, change, modes);
    for (uint32_t i = 0; i < x->sums->modes.count; i++) first[i] = modes[i] && x->off[i];
    if (!change->wires || fit_evidence(x->fit, noted, change, readings, first, 0, -INFINITY) > x->base + HELPS)
        found = fit_evidence(x->fit, noted, change, readings, modes, x->rounds, x->base - HOPELESS) + shift;
    arena_free(scratch);
    return found;
}

/* The circuit as fitted, in all modes, for a thread's own use. */
static Solved *modes_new(Arena *arena, const Explainer *x) {
    Solved *modes = arena_many(arena, Solved, x->sums->modes.count + 1);
    for (uint32_t i = 0; i < x->sums->modes.count; i++) {
        modes[i] = solve_mode(arena, x->sums, x->fit->ids, i, NULL, false);
        solved_mark(&modes[i]);
    }
    return modes;
}

static void modes_free(const Explainer *x, Solved *modes) {
    for (uint32_t i = 0; i < x->sums->modes.count; i++) solved_free(&modes[i]);
}

static void try_all(const Explainer *x, const ChangeList *list, Tried *tried) {
#pragma omp parallel num_threads(2)
    {
        Arena *arena = arena_new();
        Solved *noted = modes_new(arena, x);
#pragma omp for schedule(dynamic, 4)
        for (uint32_t i = 0; i < list->count; i++) {
            const Change *change = &list->at[i];
            double evidence = try_change(x, noted, change);
            tried[i] = (Tried){change, evidence, evidence + change->decibans * LN10 / 10, i};
        }
        modes_free(x, noted);
        arena_free(arena);
    }
}

/* Everything that differs is wrong altogether, each for itself. */
static double something_else(const Explainer *x) {
    Arena *scratch = arena_new();
    double shift;
    Observed *readings = supposed(x, scratch, NULL, &shift);
    for (uint32_t j = 0; j < x->fit->observed.count; j++) readings[j].out = x->fit->observed.at[j].out;
    double found = fit_evidence(x->fit, x->noted, NULL, readings, x->all, x->rounds, -INFINITY);
    arena_free(scratch);
    return found + x->sums->models->mistakes[MISTAKE_OTHER].decibans * LN10 / 10;
}

/* ---- ranking ---- */

static int likeliest_first(const void *a, const void *b) {
    const Tried *x = a, *y = b;
    if (x->posterior != y->posterior) return x->posterior > y->posterior ? -1 : 1;
    return (x->at > y->at) - (x->at < y->at);
}

static void rank(Explainer *x, Tried *tried, uint32_t count, double other) {
    double most = fmax(other, x->base), sum;
    if (count > 0) qsort(tried, count, sizeof *tried, likeliest_first);
    if (count > 0) most = fmax(most, tried[0].posterior);
    if (!isfinite(most)) return;
    sum = exp(other - most) + exp(x->base - most);
    x->sums->p_other = sum;
    for (uint32_t i = 0; i < count; i++) sum += exp(tried[i].posterior - most);
    for (uint32_t i = 0; i < count; i++) {
        double p = exp(tried[i].posterior - most) / sum;
        if (p < SHOWN || i == SHOWN_MOST) {
            x->sums->p_other += exp(tried[i].posterior - most);
            continue;
        }
        SumsExplanation words = mistake_words(x->sums->arena, x->sums, tried[i].change);
        words.p = probability_of_decibans(decibans_of_probability(p)); /* never quite 0 nor 1 */
        list_push(x->sums->arena, &x->sums->explanations, words);
    }
    x->sums->p_other = probability_of_decibans(decibans_of_probability(x->sums->p_other / sum));
}

/* ---- what would tell the first two apart ---- */

static const double DOUBT_SHARE = 0.02, DOUBT_VOLTS = 0.02; /* of a voltage computed and read: rule of thumb */
static const double APART = 4;                              /* such doubts between them, to be worth the reading */

typedef struct Telling {
    double apart, first, second;
    uint32_t net, mode;
} Telling;

/* Of every net, with the change; NAN where there are none. */
static double *volts_with(Arena *arena, const Explainer *x, uint32_t mode, const Change *change) {
    uint32_t nets = x->sums->bench->nets.count;
    double *all = arena_many(arena, double, nets + 1);
    Supposed supposed = suppose(arena, &x->noted[mode], x->fit->ids, change);
    bool fine = fit_move(&supposed.is, x->fit->t);
    for (uint32_t n = 0; n < nets; n++)
        if (!fine || !solved_figure(&supposed.is, (Figure){FIGURE_VOLTS, n, BENCH_NONE}, &all[n], NULL)) all[n] = NAN;
    supposed_end(&supposed);
    return all;
}

static void tell_mode(const Explainer *x, uint32_t mode, const Change *a, const Change *b, Telling *best) {
    const Bench *bench = x->sums->bench;
    Arena *scratch = arena_new();
    double *one = volts_with(scratch, x, mode, a), *other = volts_with(scratch, x, mode, b);
    for (uint32_t n = 0; n < bench->nets.count; n++) {
        double va = one[n], vb = other[n];
        if (isnan(va) || isnan(vb)) continue;
        double apart = fabs(va - vb) / (DOUBT_SHARE * fmax(fabs(va), fabs(vb)) + DOUBT_VOLTS);
        if (apart > best->apart * 1.01) *best = (Telling){apart, va, vb, n, mode};
    }
    arena_free(scratch);
}

static void volts(Out *out, double value) {
    out_fmt(out, fabs(value) < 0.995 ? "%.2f V" : "%.1f V", fabs(value) < 0.005 ? 0 : value);
}

static Text caution(const Explainer *x, uint32_t net) {
    const bool *mains = x->sums->reasoning->mains;
    if (mains == NULL) return TEXT("");
    return net != BENCH_NONE && mains[net]
               ? TEXT(" This net hangs on mains and can kill: only through an isolating transformer, with probes rated for "
                      "it, "
                      "and as local codes and licensed practice have it.")
               : TEXT(" Mains is near: keep clear of it, and measure only as local codes and licensed practice have it.");
}

static void best_reading(Explainer *x, const Tried *tried, uint32_t count) {
    Out out = out_new(x->sums->arena);
    const SumsExplanation *first = x->sums->explanations.count > 0 ? &x->sums->explanations.at[0] : NULL;
    if (first == NULL) return;
    const Change *a = tried[0].change->wires ? tried[0].change : NULL,
                 *b = count > 1 && tried[1].change->wires ? tried[1].change : NULL;
    Telling best = {.apart = APART};
    for (uint32_t mode = 0; (a != NULL || b != NULL) && mode < x->sums->modes.count; mode++)
        tell_mode(x, mode, a, b, &best);
    if (best.apart > APART) {
        const SumsMode *mode = &x->sums->modes.at[best.mode];
        out_fmt(&out, "Measure v(%.*s)%s%.*s: ", TEXT_ARG(x->sums->bench->nets.at[best.net].name),
                mode->name.len > 0 ? " in " : "", TEXT_ARG(mode->name));
        volts(&out, best.first);
        out_fmt(&out, " if %.*s; ", TEXT_ARG(first->says));
        volts(&out, best.second);
        if (x->sums->explanations.count > 1)
            out_fmt(&out, " if %.*s.", TEXT_ARG(x->sums->explanations.at[1].says));
        else
            out_lit(&out, " if not.");
        out_add(&out, caution(x, best.net));
    } else {
        out_char(&out, (char)(first->check.at[0] - 'a' + 'A'));
        out_fmt(&out, "%.*s.", TEXT_ARG(text_sub(first->check, 1, first->check.len)));
        out_add(&out, caution(x, BENCH_NONE));
    }
    x->sums->best_reading = out_text(&out);
}

void explain(Sums *sums, const Fit *fit, SumsEffort effort) {
    if (sums->differ == 0) return;
    Explainer x = {.arena = arena_new(), .sums = sums, .fit = fit, .rounds = sums->size < LARGE ? ROUNDS : 0};
    ChangeList list = {0};
    uint32_t count = fit->observed.count;
    x.readings = arena_many(x.arena, Observed, count + 1);
    for (uint32_t j = 0; j < count; j++) {
        x.readings[j] = fit->observed.at[j];
        x.all[x.readings[j].mode] = true;
        x.off[x.readings[j].mode] |= x.readings[j].out;
        x.readings[j].out = false;
    }
    for (uint32_t j = 0; j < count; j++) x.readings[j].density = slip_density(&x, j);
    x.noted = modes_new(x.arena, &x);
    x.base = fit_evidence(fit, x.noted, NULL, x.readings, x.all, x.rounds, -INFINITY);
    double look = EFFORT / (sums->size + 1.0);
    SumsEffort most = {.hypotheses = effort.hypotheses > 0 ? effort.hypotheses
                                                           : (uint32_t)fmin(fmax(look, MISTAKES_LEAST), MISTAKES_MOST),
                       .every = effort.every};
    mistakes_list(x.arena, fit, x.noted, most, &list);
    Tried *tried = arena_many(x.arena, Tried, list.count + 1);
    try_all(&x, &list, tried);
    sums->tried = list.count;
    rank(&x, tried, list.count, something_else(&x));
    best_reading(&x, tried, list.count);
    modes_free(&x, x.noted);
    arena_free(x.arena);
}
