/* Pins that switch, followed through time: what charges and fluxes make of it, which states at rest, weighed by their time,
 * do not know. A mode's circuit runs for a few periods from the mean of those states. What each charge and flux then drifts
 * by falls from period to period by some share, so that where it will end can be told after three of them (A. C. Aitken,
 * Proc. Royal Society of Edinburgh 46, 1926, from memory); from there it runs again, until nothing drifts: some hundred
 * periods are never walked through. Bounded in steps; what doesn't settle is not told. */
#include "sums/follow.h"

#include <math.h>

enum { TRACKS_MOST = 24, STATES_MOST = 64, ROUNDS = 10, PERIODS = 4, STEPS_MOST = 1000 /* a round */ };
static const double WORK_MOST =
    1.2e5;                          /* elements times steps of a round, which keeps the largest of notes within a second */
static const double SETTLED = 0.01; /* of a charge or flux: it is to drift no further than this in all */
static const double SMALL = 1e-3;   /* V, A, rad/s: what counts as none of them */
static const double NOTHING = 1e-5; /* A, V or W that are not told */
static const double TOLD_RIPPLE = 1e-3; /* V */

typedef struct Track { /* a figure over one period */
    Figure figure;
    WeighedList probes;
    double sum, low, high, last; /* so far */
    double mean, least, most;    /* of the last whole period */
} Track;

typedef struct Course {
    Following *f;
    uint32_t mode;
    double period, from, before; /* s: when this period began; the point before */
    uint32_t periods;            /* whole ones, of this round */
    Track tracks[TRACKS_MOST];
    uint32_t count;
    const Circuit *circuit;
    uint32_t states[STATES_MOST], state_count; /* elements that keep something */
    double at[PERIODS][STATES_MOST];           /* what they kept as each period ended */
} Course;

/* ---- one round ---- */

static double figure_now(const CircuitSolver *solver, const WeighedList *probes) {
    double sum = 0;
    for (uint32_t i = 0; i < probes->count; i++) sum += probes->at[i].factor * circuit_probe(solver, probes->at[i].probe);
    return sum;
}

/* V of a capacitor, A of a coil, rad/s of a motor. */
static double state_now(const Circuit *circuit, const CircuitSolver *solver, uint32_t element) {
    CircuitKind kind = circuit_kind_of(circuit, element);
    if (kind == CIRCUIT_CAPACITOR)
        return circuit_voltage(solver, circuit_at(circuit, element, 0)) -
               circuit_voltage(solver, circuit_at(circuit, element, 1));
    return circuit_inner(solver, element, kind == CIRCUIT_MOTOR ? 1 : 0);
}

static void set_state(Circuit *circuit, uint32_t element, double value) {
    CircuitKind kind = circuit_kind_of(circuit, element);
    unsigned parameter = kind == CIRCUIT_CAPACITOR ? (unsigned)CAPACITOR_START
                         : kind == CIRCUIT_MOTOR   ? (unsigned)MOTOR_START
                                                   : (unsigned)INDUCTOR_START;
    circuit_set(circuit, element, parameter, value);
}

static void close_period(Course *c, const CircuitSolver *solver, double seconds) {
    for (uint32_t i = 0; i < c->count; i++) {
        Track *t = &c->tracks[i];
        t->mean = t->sum / (seconds - c->from), t->least = t->low, t->most = t->high;
        t->sum = 0, t->low = t->high = t->last;
    }
    for (uint32_t i = 0; i < c->state_count; i++) c->at[c->periods][i] = state_now(c->circuit, solver, c->states[i]);
    c->from = seconds, c->periods++;
}

static bool watch(void *context, const CircuitSolver *solver, double seconds) {
    static const double EDGE = 1e-6; /* of a period: so near its end is its end */
    Course *c = context;
    for (uint32_t i = 0; i < c->count; i++) {
        Track *t = &c->tracks[i];
        double now = figure_now(solver, &t->probes);
        if (seconds == 0) t->last = t->low = t->high = now, t->sum = 0;
        t->sum += (t->last + now) / 2 * (seconds - c->before);
        t->low = fmin(t->low, now), t->high = fmax(t->high, now), t->last = now;
    }
    c->before = seconds;
    if (seconds - c->from >= c->period * (1 - EDGE)) close_period(c, solver, seconds);
    return c->periods < PERIODS;
}

/* Where each charge and flux will end by how it drifts; true when they are there. */
static bool look_ahead(const Course *c, Circuit *circuit) {
    static const double SHARE_LEAST = -0.9, SHARE_MOST = 0.9995;
    bool there = true;
    for (uint32_t i = 0; i < c->state_count; i++) {
        double last = c->at[PERIODS - 1][i], drift = last - c->at[PERIODS - 2][i],
               before = c->at[PERIODS - 2][i] - c->at[PERIODS - 3][i];
        double share = before != 0 ? fmin(fmax(drift / before, SHARE_LEAST), SHARE_MOST) : 0;
        double ahead = drift * share / (1 - share);
        there = there && fabs(ahead) <= SETTLED * fabs(last) + SMALL;
        set_state(circuit, c->states[i], last + ahead);
    }
    return there;
}

/* Pins that switch in this mode do so in the circuit; the longest of their periods, 0 when none does. */
static double set_pins(const Course *c, const Wiring *w, Circuit *circuit, uint32_t *pin) {
    const Bench *bench = c->f->bench;
    double period = 0;
    for (uint32_t i = 0; i < bench->drives.count; i++) {
        const BenchDrive *drive = &bench->drives.at[i];
        uint32_t element = wire_driver(w, drive->pin);
        double hertz = drive->says->value.quantity.value;
        if (drive->says->level != NOTE_LEVEL_FREQUENCY || element == BENCH_NONE || !(hertz > 0) ||
            bench_drive(bench, drive->pin, c->f->sums->modes.at[c->mode].name) != drive)
            continue;
        bool said = drive->says->duty.written.len > 0;
        circuit_set(circuit, element, PIN_STATE, PIN_SWITCHING);
        circuit_set(circuit, element, PIN_FREQUENCY, hertz);
        circuit_set(circuit, element, PIN_DUTY, said ? fmin(fmax(drive->says->duty.quantity.value, 0), 1) : 0.5);
        if (1 / hertz > period) period = 1 / hertz, *pin = drive->pin;
    }
    return period;
}

/* Junctions' and gates' own capacitances, some picofarads, make edges of nanoseconds and nothing that is told here. */
static void drop_capacitances(Circuit *circuit) {
    for (uint32_t e = 0; e < circuit_element_count(circuit); e++) {
        CircuitKind kind = circuit_kind_of(circuit, e);
        if (kind == CIRCUIT_DIODE) circuit_set(circuit, e, DIODE_FARADS, 0);
        if (kind == CIRCUIT_BIPOLAR)
            circuit_set(circuit, e, BIPOLAR_BE_FARADS, 0), circuit_set(circuit, e, BIPOLAR_BC_FARADS, 0);
        if (kind == CIRCUIT_MOSFET)
            circuit_set(circuit, e, MOSFET_GS_FARADS, 0), circuit_set(circuit, e, MOSFET_GD_FARADS, 0);
    }
}

/* Charges, fluxes and speeds begin at the mean of the states at rest. False: there are none, or too many. */
static bool set_starts(Course *c, const Solved *solved, Circuit *circuit) {
    bool stores = false;
    for (uint32_t e = 0; e < circuit_element_count(circuit); e++) {
        CircuitKind kind = circuit_kind_of(circuit, e);
        stores = stores || kind == CIRCUIT_SPEAKER;
        if (kind != CIRCUIT_CAPACITOR && kind != CIRCUIT_INDUCTOR && kind != CIRCUIT_MOTOR) continue;
        double mean = 0;
        for (uint32_t p = 0; p < solved->phases; p++) mean += solved->weight[p] * state_now(circuit, solved->solver[p], e);
        if (c->state_count == STATES_MOST) return false;
        c->states[c->state_count++] = e;
        set_state(circuit, e, mean);
        stores = true;
    }
    return stores;
}

static void track(Course *c, Arena *arena, const Wiring *w, Figure figure) {
    WeighedList probes = {0};
    if (c->count < TRACKS_MOST && figure_probes(arena, w, figure, &probes))
        c->tracks[c->count++] = (Track){.figure = figure, .probes = probes};
}

static const char *const PARTS[] = {"source", "led", "loudspeaker", "motor"};

/* What feeds, lights, sounds and turns; the supplies. */
static void track_all(Course *c, Arena *arena, const Wiring *w) {
    const Bench *bench = c->f->bench;
    for (size_t k = 0; k < sizeof PARTS / sizeof *PARTS; k++)
        for (uint32_t p = 0; p < bench->parts.count; p++) {
            if (!follow_is(c->f, p, PARTS[k])) continue;
            track(c, arena, w, (Figure){FIGURE_CURRENT, p, BENCH_NONE});
            if (follow_is(c->f, p, "loudspeaker")) track(c, arena, w, (Figure){FIGURE_POWER, p, BENCH_NONE});
        }
    for (uint32_t n = 0; n < bench->nets.count; n++)
        if (c->f->sums->reasoning->supply[n] && bench->nets.at[n].pin_count > 1)
            track(c, arena, w, (Figure){FIGURE_VOLTS, n, BENCH_NONE});
}

/* A few periods from where the circuit's elements start; false: no answer. */
static bool run_round(Course *c, const Circuit *circuit, uint32_t steps) {
    Arena *scratch = arena_new();
    CircuitFault fault;
    CircuitSolver *solver = circuit_solver_new(scratch, circuit, (CircuitOptions){.leak = 1e-12, .for_time = true}, &fault);
    CircuitRun run = {.until = (PERIODS + 1) * c->period,
                      .step_most = c->period / 20,
                      .tolerance = 1e-4,
                      .steps_most = steps,
                      .from_rest = true,
                      .watch = watch,
                      .context = c};
    c->from = c->before = 0, c->periods = 0;
    bool fine = solver != NULL && circuit_run(solver, run, &fault) && c->periods == PERIODS;
    circuit_solver_free(solver);
    arena_free(scratch);
    return fine;
}

/* False: nothing stores, or it doesn't settle within the steps that there are. */
static bool run(Course *c, Arena *scratch, uint32_t *pin) {
    enum { STEPS_LEAST = 150 };
    Solved *solved = &c->f->solved[c->mode];
    const Wiring *w = solved->wiring[0];
    Circuit *circuit = circuit_copy(scratch, w->circuit);
    double steps = fmin(STEPS_MOST, WORK_MOST / (circuit_element_count(circuit) + 1.0));
    bool fine = false;
    c->circuit = circuit, c->period = set_pins(c, w, circuit, pin);
    if (!(c->period > 0) || steps < STEPS_LEAST || !set_starts(c, solved, circuit)) return false;
    drop_capacitances(circuit);
    track_all(c, scratch, w);
    for (unsigned round = 0; !fine && round < ROUNDS; round++) {
        if (!run_round(c, circuit, (uint32_t)steps)) return false;
        fine = look_ahead(c, circuit);
    }
    for (uint32_t i = 0; fine && i < c->count; i++)
        fine = isfinite(c->tracks[i].mean) && isfinite(c->tracks[i].least) && isfinite(c->tracks[i].most);
    return fine && c->count > 0;
}

/* ---- told ---- */

static const char METHOD[] = "the circuit followed through time until its periods repeat, every part at its middle";
static const char SOURCE[] = "trapezoidal rule: L. W. Nagel, ERL-M520, 1975, from memory";

static const SumsFigure *at_rest(const Course *c, Figure figure) {
    const SumsMode *mode = &c->f->sums->modes.at[c->mode];
    return figure.sort == FIGURE_VOLTS   ? &mode->volts[figure.at]
           : figure.sort == FIGURE_POWER ? &mode->power[figure.at]
                                         : &mode->current[figure.at];
}

/* As much more or less as it is at rest, by the tolerances. */
static Quantity spread_like(const SumsFigure *rest, double value, Unit unit) {
    double size = fabs(rest->typical),
           half = rest->known && size > NOTHING ? fmin(fmax(rest->high - rest->low, 0) / 2 / size, 1) : 0.25;
    double low = value - half * fabs(value), high = value + half * fabs(value);
    return quantity_within(value, low, high, unit);
}

static void put(Told *told, const char *what, Text ref, Quantity value) {
    Text name = text_fmt(told->f->arena, "%s-of-%.*s", what, TEXT_ARG(ref));
    told_value(told, text_cstring(told->f->arena, name), value, METHOD, SOURCE);
}

static void say_part(Told *told, const Track *t, Out *out, const char *separator) {
    Text ref = told->f->bench->parts.at[t->figure.at].ref;
    double peak = fabs(t->most) > fabs(t->least) ? t->most : t->least;
    Quantity mean = quantity_within(t->mean, fmin(t->mean, 0.9 * t->mean), fmax(t->mean, 1.1 * t->mean), UNIT_AMPERE);
    out_fmt(
        out, "%s%.*s has %.*s on average, %.*s at its peaks", separator, TEXT_ARG(ref),
        TEXT_ARG(follow_said(told->f, mean)),
        TEXT_ARG(follow_said(told->f, quantity_within(peak, fmin(0.9 * peak, peak), fmax(1.1 * peak, peak), UNIT_AMPERE))));
    put(told, "current", ref, mean);
    put(told, "peak", ref, quantity_exact(peak, UNIT_AMPERE));
}

static void say_supply(Told *told, const Track *t, Out *out) {
    Text net = told->f->bench->nets.at[t->figure.at].name;
    double ripple = t->most - t->least;
    if (ripple < TOLD_RIPPLE) return;
    Quantity swings =
        quantity_within(ripple, 0.7 * ripple, 1.4 * ripple, UNIT_VOLT); /* capacitors by their usual tolerance */
    out_fmt(out, "; %.*s ripples by %.*s", TEXT_ARG(net), TEXT_ARG(follow_said(told->f, swings)));
    put(told, "ripple", net, swings);
}

static void say_source(Told *told, const Course *c, const Track *t, Out *out) {
    static const double DIFFERS = 0.1; /* of the figure at rest, from which on both are told */
    const SumsFigure *rest = at_rest(c, t->figure);
    Text ref = told->f->bench->parts.at[t->figure.at].ref;
    Quantity mean = spread_like(rest, t->mean, UNIT_AMPERE);
    out_fmt(out, ", %.*s gives %.*s on average", TEXT_ARG(ref), TEXT_ARG(follow_said(told->f, mean)));
    if (rest->known && fabs(t->mean - rest->typical) > DIFFERS * fabs(rest->typical) + NOTHING)
        out_fmt(out, " (%.*s if nothing stored)", TEXT_ARG(follow_said(told->f, sums_quantity(rest, UNIT_AMPERE))));
    put(told, "current", ref, mean);
}

static void tell(Course *c, uint32_t pin) {
    enum { PARTS_MOST = 4 };
    Following *f = c->f;
    const SumsMode *mode = &f->sums->modes.at[c->mode];
    Told told = told_new(f, "through-time", "a pin that switches, through time", "output", f->bench->pins.at[pin].part);
    Out id = out_new(f->arena), out = out_new(f->arena);
    Text name = bench_pin_name(f->arena, f->bench, pin);
    out_fmt(&id, "through-time:%.*s%s", TEXT_ARG(name), mode->name.len > 0 ? "-in-" : "");
    for (size_t i = 0; i < mode->name.len; i++) out_char(&id, mode->name.at[i] == ' ' ? '-' : mode->name.at[i]);
    told.claim.id = out_text(&id);
    told_mode(&told, c->mode, NULL);
    const BenchDrive *drive = bench_drive(f->bench, pin, mode->name);
    told_because(&told, text_fmt(f->arena, "%.*s switches, as noted", TEXT_ARG(name)),
                 drive == NULL ? 0 : drive->note->line);
    Quantity hertz = quantity_exact(1 / c->period, UNIT_HERTZ);
    told_value(&told, "frequency", hertz, "the notes", "the mode's `drive` note");
    out_fmt(&out, "While %.*s switches at %.*s%s%.*s", TEXT_ARG(name), TEXT_ARG(follow_said(f, hertz)),
            mode->name.len > 0 ? " in " : "", TEXT_ARG(mode->name));
    uint32_t parts = 0;
    for (uint32_t i = 0; i < c->count; i++) {
        const Track *t = &c->tracks[i];
        bool part = t->figure.sort == FIGURE_CURRENT, source = part && follow_is(f, t->figure.at, "source");
        bool some = fmax(fabs(t->least), fabs(t->most)) > NOTHING;
        if (source && some && parts == 0) say_source(&told, c, t, &out);
        if (part && !source && some && parts++ < PARTS_MOST) say_part(&told, t, &out, "; ");
        if (t->figure.sort == FIGURE_VOLTS) say_supply(&told, t, &out);
        if (t->figure.sort == FIGURE_POWER) f->heard[t->figure.at] = fmax(f->heard[t->figure.at], t->mean);
    }
    out_char(&out, '.');
    if (told.values.count > 1) told_add(&told, out_text(&out));
}

void follow_switching(Following *f) {
    enum { MODES_MOST = 4 }; /* each costs some hundred solutions */
    uint32_t told = 0;
    for (uint32_t m = 0; m < f->sums->modes.count && told < MODES_MOST; m++) {
        if (!f->switches[m] || !f->sums->modes.at[m].solved) continue;
        Arena *scratch = arena_new();
        Course *course = arena_one(scratch, Course);
        uint32_t pin = BENCH_NONE;
        *course = (Course){.f = f, .mode = m};
        if (run(course, scratch, &pin)) tell(course, pin);
        arena_free(scratch);
        told++;
    }
}
