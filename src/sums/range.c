/* Ranges. Worst case: each figure is pushed to both sides by setting every parameter to the limit that its sensitivity
 * says, and solving there (so a bend between middle and limit is seen, though not one that turns round in between). 95 %:
 * many sets of parameters drawn evenly within their limits as a Latin hypercube, which no number of parameters makes uneven
 * (M. D. McKay, R. J. Beckman, W. J. Conover, Technometrics 21, 1979, from memory). All figures are read from every set, so
 * a worst case is never inside what a sample met.
 *
 * Both are made to agree with the readings (fit_condition): a motor's current that was read is not in doubt for its
 * friction and its constant being so. */
#include "sums/fit.h"

#include "base/names.h"

#include <math.h>

static const double FLOATS = 1e8; /* ohms: as in fit.c */
static const double LIMIT = 2;    /* standard deviations from a parameter's middle to its limits: as in fit.c */
enum { LARGE = 1000 /* elements: from here on a net's ohms are not asked one by one */ };
enum { TELLING = 3, SAMPLES_LEAST = 8, SAMPLES_MOST = 120 };

typedef struct Asked { /* a figure, its probes, and where it goes */
    Figure figure;
    uint32_t first, count; /* probes */
    bool pushed;           /* its own worst case is sought */
    SumsFigure *to;
} Asked;

typedef struct Range {
    Arena *scratch;
    Sums *sums;
    const Fit *fit;
    SumsMode *mode;
    Solved *solved;
    uint32_t *others; /* parameters of other modes that readings hang on */
    uint32_t other_count;
    uint64_t random;
    double *t; /* size ids->count + 1 */
    LIST(Asked) asked;
    WeighedList probes;
    uint32_t parameters, sets, corners, room;
    double *values;  /* room x parameters: a set after the other */
    double *figures; /* sets x asked.count */
    bool *solved_set;
    Names *corner_names;
} Range;

/* ---- what is asked ---- */

static void ask(Range *r, FigureSort sort, uint32_t at, bool pushed, SumsFigure *to) {
    Figure figure = {sort, at, BENCH_NONE};
    uint32_t first = r->probes.count;
    if (!figure_probes(r->scratch, r->solved->wiring[0], figure, &r->probes)) return;
    list_push(r->scratch, &r->asked, ((Asked){figure, first, r->probes.count - first, pushed, to}));
}

static void ask_all(Range *r) {
    const Bench *bench = r->sums->bench;
    for (uint32_t n = 0; n < bench->nets.count; n++)
        if (n != r->sums->ground) ask(r, FIGURE_VOLTS, n, true, &r->mode->volts[n]);
    for (uint32_t p = 0; p < bench->parts.count; p++) {
        ask(r, FIGURE_CURRENT, p, true, &r->mode->current[p]);
        ask(r, FIGURE_POWER, p, false, &r->mode->power[p]);
        ask(r, FIGURE_INNER, p, false, &r->mode->inner[p]);
    }
    for (uint32_t p = 0; p < bench->pins.count; p++) {
        bool many = bench->parts.at[bench->pins.at[p].part].pin_count > 2;
        ask(r, FIGURE_PIN, p, many, &r->mode->pin[p]);
    }
}

/* ---- corners ---- */

static const double NOTHING = 1e-6; /* of the most that one parameter does: what does less is left at its likeliest */

/* What a parameter alone does to a figure across its limits. */
static double reach_of(const SumsParameter *is, double slope) {
    return fabs(slope) * (is->ratio ? is->typical * log(is->high / is->low) : is->high - is->low);
}

static void add_corner(Range *r, const double *slopes, bool up) {
    const Wiring *w = r->solved->wiring[0];
    char *signs = arena_take(r->scratch, r->parameters + 1);
    double most = 0;
    for (uint32_t i = 0; i < r->parameters; i++) most = fmax(most, reach_of(&w->parameters.at[i].is, slopes[i]));
    for (uint32_t i = 0; i < r->parameters; i++) {
        bool none = !(reach_of(&w->parameters.at[i].is, slopes[i]) > NOTHING * most);
        signs[i] = none ? '0' : (slopes[i] > 0) == up ? '+' : '-';
    }
    Text name = {signs, r->parameters};
    if (r->corners == r->room || names_find(r->corner_names, name) != NAME_NONE) return;
    names_add(r->corner_names, name);
    double *set = r->values + (size_t)r->corners++ * r->parameters;
    for (uint32_t i = 0; i < r->parameters; i++) {
        double likely = fmin(fmax(r->fit->t[w->parameters.at[i].id], -LIMIT), LIMIT);
        set[i] = signs[i] == '0' ? likely : signs[i] == '+' ? LIMIT : -LIMIT;
    }
}

/* The parameters that a figure hangs on, by what each alone does to it across its limits. */
static void tell_hangs(Range *r, const Asked *asked, const double *slopes, const uint32_t *index) {
    const Wiring *w = r->solved->wiring[0];
    double most[TELLING] = {0};
    for (uint32_t i = 0; i < r->parameters; i++) {
        double does = reach_of(&w->parameters.at[i].is, slopes[i]);
        if (!(does > most[TELLING - 1])) continue;
        int k = TELLING - 1;
        for (; k > 0 && does > most[k - 1]; k--) most[k] = most[k - 1], asked->to->hangs[k] = asked->to->hangs[k - 1];
        most[k] = does, asked->to->hangs[k] = index[w->parameters.at[i].id] - 1;
    }
}

static void push(Range *r, uint32_t most, const uint32_t *index) {
    double *slopes = arena_many(r->scratch, double, r->parameters + 1), value;
    bool *floats = arena_many(r->scratch, bool, r->sums->bench->nets.count + 1),
         large = circuit_element_count(r->solved->wiring[0]->circuit) > LARGE;
    if (large) solved_floating(r->solved, floats);
    for (uint32_t a = 0; a < r->asked.count; a++) {
        const Asked *asked = &r->asked.at[a];
        for (int k = 0; k < TELLING; k++) asked->to->hangs[k] = BENCH_NONE;
        bool floating = asked->figure.sort == FIGURE_VOLTS &&
                        (large ? floats[asked->figure.at] : solved_ohms(r->solved, asked->figure.at) > FLOATS);
        if (floating) asked->to->known = false;
        if (!asked->pushed || !asked->to->known || most == 0 || !solved_figure(r->solved, asked->figure, &value, slopes))
            continue;
        most--;
        tell_hangs(r, asked, slopes, index);
        add_corner(r, slopes, true);
        add_corner(r, slopes, false);
    }
}

/* ---- samples ---- */

/* D. Knuth's 64-bit generator (MMIX); its upper bits are good enough to shuffle with. */
static uint32_t below(uint64_t *state, uint32_t most) {
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return (uint32_t)((*state >> 33) % most);
}

static double even(Range *r) { return LIMIT * (2.0 * below(&r->random, 1u << 30) / (1u << 30) - 1); }

/* Sets of parameters, in standard deviations from their middles. */
static void draw(Range *r, uint32_t samples) {
    uint32_t *order = arena_many(r->scratch, uint32_t, samples + 1);
    for (uint32_t i = 0; i < r->parameters; i++) {
        for (uint32_t s = 0; s < samples; s++) order[s] = s;
        for (uint32_t s = samples; s > 1; s--) {
            uint32_t k = below(&r->random, s), last = order[s - 1];
            order[s - 1] = order[k], order[k] = last;
        }
        for (uint32_t s = 0; s < samples; s++)
            r->values[(size_t)(r->corners + s) * r->parameters + i] = LIMIT * ((2 * order[s] + 1.0) / samples - 1);
    }
}

static void find_others(Range *r) {
    const Wiring *w = r->solved->wiring[0];
    bool *seen = arena_many(r->scratch, bool, r->fit->ids->count + 1);
    for (uint32_t i = 0; i < r->parameters; i++) seen[w->parameters.at[i].id] = true;
    LIST(uint32_t) others = {0};
    for (uint32_t j = 0; j < r->fit->observed.count; j++)
        for (uint32_t k = 0; k < r->fit->rows[j].count; k++) {
            uint32_t id = r->fit->rows[j].slopes[k].id;
            if (!seen[id]) list_push(r->scratch, &others, id);
            seen[id] = true;
        }
    r->others = others.at, r->other_count = others.count;
}

/* From standard deviations to values that agree with the readings and lie within their limits. */
static void settle_set(Range *r, double *set, bool sample) {
    const Wiring *w = r->solved->wiring[0];
    double noise[READINGS_MOST];
    for (uint32_t i = 0; i < READINGS_MOST; i++) noise[i] = even(r) / 2;
    for (uint32_t i = 0; i < r->other_count; i++) r->t[r->others[i]] = sample ? even(r) : r->fit->t[r->others[i]];
    for (uint32_t i = 0; i < r->parameters; i++) r->t[w->parameters.at[i].id] = set[i];
    fit_condition(r->fit, r->t, sample ? noise : NULL);
    for (uint32_t i = 0; i < r->parameters; i++) {
        const SumsParameter *is = &w->parameters.at[i].is;
        set[i] = fmin(fmax(fit_value(is, r->t[w->parameters.at[i].id]), is->low), is->high);
    }
}

/* ---- all sets, solved ---- */

/* Each place of each parameter, a set after the other. */
static double *places_of(Range *r, uint32_t phase) {
    const Wiring *w = r->solved->wiring[phase];
    double *all = arena_many(r->scratch, double, (size_t)r->sets * r->solved->places + 1);
    for (uint32_t s = 0; s < r->sets; s++) {
        double *to = all + (size_t)s * r->solved->places;
        for (uint32_t i = 0; i < r->parameters; i++)
            for (uint32_t k = 0; k < w->parameters.at[i].places.count; k++)
                *to++ = wired_value(&w->parameters.at[i], w->parameters.at[i].places.at[k],
                                    r->values[(size_t)s * r->parameters + i]);
    }
    return all;
}

static void sample_phase(Range *r, uint32_t phase) {
    uint32_t count = r->probes.count;
    WeighedList list = {0};
    for (uint32_t a = 0; a < r->asked.count; a++)
        figure_probes(r->scratch, r->solved->wiring[phase], r->asked.at[a].figure, &list);
    if (list.count != count) return;
    CircuitProbe *probes = arena_many(r->scratch, CircuitProbe, count + 1);
    for (uint32_t i = 0; i < count; i++) probes[i] = list.at[i].probe;
    double *out = arena_many(r->scratch, double, (size_t)r->sets *count + 1);
    bool *solved = arena_many(r->scratch, bool, r->sets + 1);
    circuit_sample(r->solved->solver[phase], (CircuitSampling){.vary = r->solved->vary[phase],
                                                               .values = places_of(r, phase),
                                                               .vary_count = r->solved->places,
                                                               .sets = r->sets,
                                                               .probes = probes,
                                                               .probe_count = count,
                                                               .out = out,
                                                               .solved = solved});
    for (uint32_t s = 0; s < r->sets; s++) {
        r->solved_set[s] = r->solved_set[s] && solved[s];
        for (uint32_t a = 0; a < r->asked.count; a++) {
            const Asked *asked = &r->asked.at[a];
            double sum = 0;
            for (uint32_t i = asked->first; i < asked->first + asked->count; i++)
                sum += list.at[i].factor * out[(size_t)s * count + i];
            r->figures[(size_t)a * r->sets + s] += r->solved->weight[phase] * sum;
        }
    }
}

/* The k-th smallest of them, from 0, which changes their order (C. A. R. Hoare, Communications of the ACM 4, 1961: Find).
 */
static double kth(double *a, uint32_t count, uint32_t k) {
    uint32_t from = 0, to = count - 1;
    while (from < to) {
        double middle = a[from + (to - from) / 2];
        uint32_t i = from, j = to;
        for (;;) {
            while (a[i] < middle) i++;
            while (a[j] > middle) j--;
            if (i >= j) break;
            double other = a[i];
            a[i++] = a[j], a[j--] = other;
        }
        if (k <= j)
            to = j;
        else
            from = j + 1;
    }
    return a[k];
}

static void conclude(Range *r, const Asked *asked, const double *figures, double *samples) {
    SumsFigure *to = asked->to;
    uint32_t count = 0;
    to->low = to->high = to->least = to->most = to->typical;
    for (uint32_t s = 0; s < r->sets; s++) {
        if (!r->solved_set[s]) continue;
        to->least = fmin(to->least, figures[s]), to->most = fmax(to->most, figures[s]);
        if (s >= r->corners) samples[count++] = figures[s];
    }
    if (count == 0) return;
    uint32_t tail = (uint32_t)(0.025 * count);
    to->low = fmin(to->low, kth(samples, count, tail)), to->high = fmax(to->high, kth(samples, count, count - 1 - tail));
}

/* ---- a mode ---- */

static void list_parameters(Range *r, uint32_t *index) {
    const Wiring *w = r->solved->wiring[0];
    for (uint32_t i = 0; i < w->parameters.count; i++) {
        if (index[w->parameters.at[i].id] > 0) continue;
        const SumsParameter *fitted = &r->fit->ids->fitted[w->parameters.at[i].id];
        list_push(r->sums->arena, &r->sums->parameters, fitted->fitted ? *fitted : w->parameters.at[i].is);
        index[w->parameters.at[i].id] = r->sums->parameters.count;
    }
}

static void ranges(Range *r, uint32_t samples, uint32_t pushed, uint32_t *index) {
    r->room = 2 * pushed;
    r->values = arena_many(r->scratch, double, (size_t)(r->room + samples) * r->parameters + 1);
    r->corner_names = names_new(r->scratch);
    push(r, pushed, index);
    draw(r, samples);
    r->sets = r->corners + samples;
    find_others(r);
    for (uint32_t s = 0; s < r->sets; s++) settle_set(r, r->values + (size_t)s * r->parameters, s >= r->corners);
    r->figures = arena_many(r->scratch, double, (size_t)r->sets * r->asked.count + 1);
    r->solved_set = arena_many(r->scratch, bool, r->sets + 1);
    for (uint32_t s = 0; s < r->sets; s++) r->solved_set[s] = true;
    for (uint32_t p = 0; p < r->solved->phases; p++) sample_phase(r, p);
    double *samples_of = arena_many(r->scratch, double, r->sets + 1);
    for (uint32_t a = 0; a < r->asked.count; a++)
        conclude(r, &r->asked.at[a], r->figures + (size_t)a * r->sets, samples_of);
}

static void fault_of(Range *r) {
    r->mode->fault = text_copy(r->sums->arena, r->solved->fault.message);
    r->mode->hint = text_copy(r->sums->arena, r->solved->fault.hint);
}

/* Every parameter as the readings make it, within its limits; so has the circuit them, for what-ifs. */
static void settle(Range *r) {
    Solved *solved = r->solved;
    double *values = arena_many(r->scratch, double, r->parameters + 1);
    for (uint32_t i = 0; i < r->parameters; i++) {
        const Wired *wired = &solved->wiring[0]->parameters.at[i];
        values[i] = fmin(fmax(fit_value(&wired->is, r->fit->t[wired->id]), wired->is.low), wired->is.high);
    }
    if (solved->fine) solved->fine = solved_move(solved, values);
    for (uint32_t p = 0; p < solved->phases; p++) wire_set(solved->wiring[p], values);
}

void range_mode(Sums *sums, const Fit *fit, uint32_t mode, Solved *solved, uint32_t samples, uint32_t *index) {
    const Wiring *w = solved->wiring[0];
    Range r = {.scratch = arena_new(),
               .sums = sums,
               .fit = fit,
               .mode = &sums->modes.at[mode],
               .solved = solved,
               .parameters = w->parameters.count,
               .random = 20260903};
    r.t = arena_many(r.scratch, double, fit->ids->count + 1);
    settle(&r);
    r.mode->circuit = w->circuit, r.mode->node = w->node;
    for (uint32_t i = 0; i < w->assumptions.count; i++) list_push(sums->arena, &r.mode->assumptions, w->assumptions.at[i]);
    for (uint32_t i = 0; i < w->blocked.count; i++) list_push(sums->arena, &r.mode->blocked, w->blocked.at[i]);
    list_parameters(&r, index);
    r.mode->solved = solved->fine;
    if (r.mode->solved) {
        ask_all(&r);
        uint32_t size = circuit_element_count(w->circuit) + 1;
        for (uint32_t a = 0; a < r.asked.count; a++)
            r.asked.at[a].to->known = solved_figure(solved, r.asked.at[a].figure, &r.asked.at[a].to->typical, NULL);
        double effort = 2e5 / size / (sums->modes.count + 1); /* solutions that look may wait for */
        uint32_t drawn = samples > 0 ? samples : (uint32_t)fmin(fmax(effort, SAMPLES_LEAST), SAMPLES_MOST);
        ranges(&r, drawn, (uint32_t)fmin(fmax(effort / 2, 4), r.asked.count), index);
    } else {
        fault_of(&r);
    }
    arena_free(r.scratch);
}
