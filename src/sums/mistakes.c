/* Single mistakes, supposed one after the other: a reading misread, a value misread by a digit or a power of ten, joints
 * open and joins overlooked, parts shorted or open, pins exchanged, transistors of another sort, flat cells, a load not
 * seen, a pin or a switch that does something else. Where a mistake can be made in several ways its rarity is shared among
 * them.
 *
 * What can't change anything where readings differ isn't supposed: a joint that carries no current may as well be open, two
 * nets at one voltage may as well be joined, and how far a value can bend a figure is bounded by its slope, since a figure
 * of a linear circuit is a quotient of two linear functions of any one resistance. */
#include "sums/mistakes.h"

#include <math.h>

typedef struct Maker {
    Arena *arena;
    const Fit *fit;
    const Sums *sums;
    const Bench *bench;
    ChangeList *list;
    bool off[SUMS_MODES_MOST]; /* modes with a reading that differs */
    Solved *solved;            /* by mode: the circuit as noted */
    bool every;                /* also what can't matter */
    uint32_t most;
} Maker;

static double rarity(const Maker *m, Mistake mistake, double ways) {
    return m->sums->models->mistakes[mistake].decibans - 10 * log10(fmax(ways, 1));
}

static Change change_of(const Maker *m, Mistake mistake, uint32_t part) {
    return (Change){.mistake = mistake,
                    .wires = true,
                    .part = part,
                    .mode = BENCH_NONE,
                    .pin = BENCH_NONE,
                    .unit = BENCH_NONE,

                    .reading = BENCH_NONE,
                    .observed = BENCH_NONE,
                    .nets = {BENCH_NONE, BENCH_NONE},
                    .decibans = rarity(m, mistake, 1)};
}

static void add(Maker *m, Change change) {
    if (!change.wires || m->list->count < m->most) list_push(m->arena, m->list, change);
}

/* In all modes, and in each in which a reading differs alone. */
static void add_by_mode(Maker *m, Change change) {
    add(m, change);
    for (uint32_t mode = 0; mode < m->sums->modes.count && m->sums->modes.count > 1; mode++) {
        if (!m->off[mode]) continue;
        change.mode = mode;
        add(m, change);
    }
}

/* ---- what can't matter ---- */

static const double NO_AMPERES = 1e-8, NO_VOLTS = 1e-3;
static const double REACH = 0.5; /* of the doubt of a reading, that a value must be able to move it by */

static bool carries(Maker *m, uint32_t pin) {
    if (m->every) return true;
    for (uint32_t mode = 0; mode < m->sums->modes.count; mode++) {
        double amperes;
        Figure figure = {FIGURE_PIN, pin, BENCH_NONE};
        if (m->off[mode] && solved_figure(&m->solved[mode], figure, &amperes, NULL) && fabs(amperes) > NO_AMPERES)
            return true;
    }
    return false;
}

static bool differs(Maker *m, uint32_t a, uint32_t b) {
    if (m->every) return true;
    for (uint32_t mode = 0; mode < m->sums->modes.count; mode++) {
        double volts;
        Figure figure = {FIGURE_VOLTS, a, b};
        if (m->off[mode] && (!solved_figure(&m->solved[mode], figure, &volts, NULL) || fabs(volts) > NO_VOLTS)) return true;
    }
    return false;
}

/* Whether the part's value, `times` as large, can bend a reading that differs. */
static bool matters(const Maker *m, uint32_t part, double times) {
    const BenchPart *at = &m->bench->parts.at[part];
    if (m->every) return true;
    double spread =
        fmax(at->value.high - at->value.low, 1e-3 * at->value.value) / at->value.value; /* of which a slope is a quarter */
    for (uint32_t j = 0; j < m->fit->observed.count; j++) {
        const Row *row = &m->fit->rows[j];
        for (uint32_t i = 0; m->fit->observed.at[j].out && i < row->count; i++) {
            bool own = false;
            for (uint32_t u = 0; u < at->unit_count; u++)
                own = own || (row->slopes[i].id >= m->fit->ids->first[at->units[u]] &&
                              row->slopes[i].id < m->fit->ids->first[at->units[u] + 1]);
            double reach = 4 * fabs(row->slopes[i].of) / spread * (fmax(times, 1 / times) - 1);
            if (own && reach > REACH * m->fit->deviation[j]) return true;
        }
    }
    return false;
}

/* ---- readings ---- */

static void decimals(Maker *m, uint32_t observed) {
    static const struct {
        int power;
        double ways; /* a prefix or a place is slipped more often than two places */
    } slips[] = {{1, 2}, {-1, 2}, {3, 4}, {-3, 4}, {2, 8}, {-2, 8}};
    for (size_t i = 0; i < sizeof slips / sizeof *slips; i++) {
        Change change = change_of(m, MISTAKE_DECIMAL, BENCH_NONE);
        change.wires = false, change.observed = observed, change.reading = m->fit->observed.at[observed].reading,
        change.value = pow(10, slips[i].power);
        change.decibans = rarity(m, MISTAKE_DECIMAL, slips[i].ways);
        add(m, change);
    }
}

/* Nets that a part joins with this one: where a probe slips to. */
static void places(Maker *m, uint32_t observed) {
    enum { MOST = 12 };
    const Observed *of = &m->fit->observed.at[observed];
    uint32_t nets[MOST], count = 0;
    if (of->figure.sort != FIGURE_VOLTS || of->figure.against != BENCH_NONE) return;
    const BenchNet *net = &m->bench->nets.at[of->figure.at];
    for (uint32_t i = 0; i < net->pin_count; i++) {
        const BenchPart *part = &m->bench->parts.at[m->bench->pins.at[net->pins[i]].part];
        for (uint32_t k = 0; k < part->pin_count && part->pin_count <= 3 && count < MOST; k++) {
            uint32_t other = m->bench->pins.at[part->pins[k]].net, n = 0;
            while (n < count && nets[n] != other) n++;
            if (n == count && other != of->figure.at && other != m->sums->ground) nets[count++] = other;
        }
    }
    for (uint32_t i = 0; i < count; i++) {
        Change change = change_of(m, MISTAKE_PLACE, BENCH_NONE);
        change.wires = false, change.observed = observed, change.reading = m->fit->observed.at[observed].reading,
        change.nets[0] = nets[i];
        change.decibans = rarity(m, MISTAKE_PLACE, count);
        add(m, change);
    }
}

static void readings(Maker *m) {
    for (uint32_t j = 0; j < m->fit->observed.count; j++) {
        if (!m->fit->observed.at[j].out) continue;
        Change slip = change_of(m, MISTAKE_SLIP, BENCH_NONE);
        slip.wires = false, slip.observed = j, slip.reading = m->fit->observed.at[j].reading;
        decimals(m, j);
        places(m, j);
        add(m, slip);
    }
}

/* ---- values ---- */

static bool uses_value(const Maker *m, const BenchPart *part) {
    const Model *model = model_of(m->sums->models, part->kind);
    for (uint32_t e = 0; model != NULL && e < model->elements.count; e++)
        for (uint32_t s = 0; s < model->elements.at[e].set_count; s++)
            if (model->elements.at[e].sets[s].terms[0].factors[0].op == FACTOR_VALUE &&
                model->elements.at[e].sets[s].how == MODEL_SET)
                return model->elements.at[e].kind != CIRCUIT_CAPACITOR;
    return false;
}

static void suppose_value(Maker *m, uint32_t part, Mistake mistake, double value, Text how, double decibans) {
    const BenchPart *at = &m->bench->parts.at[part];
    double share = value / at->value.value;
    if (at->value.low < at->value.high && !matters(m, part, share)) return;
    Change change = change_of(m, mistake, part);
    change.value = value, change.low = at->value.low * share, change.high = at->value.high * share;
    change.how = how, change.decibans = decibans;
    add(m, change);
}

static bool listed(const MisreadList *list, double value) {
    for (uint32_t i = 0; i < list->count; i++)
        if (fabs(list->at[i].value - value) <= 1e-6 * value) return true;
    return false;
}

/* What its marking is easily taken for. */
static void markings(Maker *m, uint32_t part, const MisreadList *misread, double trust) {
    for (uint32_t i = 0; i < misread->count; i++)
        suppose_value(m, part, MISTAKE_BAND, misread->at[i].value, misread->at[i].how,
                      rarity(m, MISTAKE_BAND, misread->count) + trust);
}

/* One of the two figures of a value of IEC 60063's E24 read as another: 47 as 27, 10 as 18; rarer where the marking says
 * what it may be taken for. */
static void digits(Maker *m, uint32_t part, const MisreadList *misread, double trust) {
    enum { E24 = 24, RARER = 5 /* rule of thumb */ };
    double value = m->bench->parts.at[part].value.value, power = pow(10, floor(log10(value) + 1e-9) - 1);
    int own = (int)lround(value / power), count = 0, others[E24];
    for (unsigned i = 0; i < E24; i++) {
        int other = (int)mark_series(E24, i);
        bool near = other != own && (other / 10 == own / 10 || other % 10 == own % 10);
        if (near && !listed(misread, other * power)) others[count++] = other;
    }
    double ways = misread->count > 0 ? RARER * count : count;
    for (int i = 0; i < count; i++)
        suppose_value(m, part, MISTAKE_BAND, others[i] * power, (Text){0}, rarity(m, MISTAKE_BAND, ways) + trust);
}

/* Its power of ten; what its marking is easily taken for has its own reason. */
static void powers(Maker *m, uint32_t part, const MisreadList *misread, double trust) {
    static const struct { double times, ways; } slips[] = {{10, 2}, {0.1, 2}, {100, 8}, {0.01, 8}};
    const BenchPart *at = &m->bench->parts.at[part];
    Mistake mistake = at->note != NULL && at->note->with->by == NOTE_BY_GUESS ? MISTAKE_GUESS : MISTAKE_POWER;
    for (size_t i = 0; i < sizeof slips / sizeof *slips; i++) {
        double value = at->value.value * slips[i].times;
        if (!listed(misread, value))
            suppose_value(m, part, mistake, value, (Text){0}, rarity(m, mistake, slips[i].ways) + trust);
    }
}

/* A value that was measured, or whose part was, is not misread from its marking. */
static double value_trust(const Maker *m, uint32_t part) {
    const BenchPart *at = &m->bench->parts.at[part];
    double measured = bench_source_weight(m->bench->kinds, NOTE_BY_METER);
    if (at->note != NULL && at->note->with->by == NOTE_BY_METER) return -measured;
    for (uint32_t i = 0; i < m->bench->readings.count; i++) {
        const BenchReading *reading = &m->bench->readings.at[i];
        if (reading->about_count == 1 && reading->about_what == BENCH_ABOUT_PART && reading->about[0] == part &&
            text_is(reading->function, "r"))
            return -measured;
    }
    return 0;
}

static void values(Maker *m) {
    for (uint32_t p = 0; p < m->bench->parts.count; p++) {
        const BenchPart *part = &m->bench->parts.at[p];
        if (!part->has_value || !(part->value.value > 0) || !uses_value(m, part)) continue;
        double trust = value_trust(m, p);
        MisreadList misread = {0};
        misread_marking(m->arena, m->bench->marks, part, &misread);
        powers(m, p, &misread, trust);
        markings(m, p, &misread, trust);
        digits(m, p, &misread, trust);
    }
}

/* ---- joints, joins, shorts ---- */

/* How rare it is that this pin is joined with nothing on its net: as the lore says, or as often as the surest of the ways
 * in which it was seen fails. */
static double joint_rarity(const Maker *m, uint32_t pin) {
    enum { TRIED = 12 };
    const BenchNet *net = &m->bench->nets.at[m->bench->pins.at[pin].net];
    double surest = 0;
    uint32_t line;
    for (uint32_t i = 0; i < net->pin_count && i < TRIED; i++) {
        BenchChain chain;
        if (net->pins[i] == pin || bench_chain(m->bench, pin, net->pins[i], &line, 1, &chain) == 0) continue;
        surest = fmax(surest, chain.weakest);
    }
    return fmax(rarity(m, MISTAKE_JOINT, 1), 10 * log10(fmax(1 - surest, 1e-6)));
}

static void joints(Maker *m) {
    for (uint32_t pin = 0; pin < m->bench->pins.count; pin++) {
        const BenchPin *at = &m->bench->pins.at[pin];
        if (m->bench->nets.at[at->net].pin_count < 2) continue;
        const BenchPart *part = &m->bench->parts.at[at->part];
        if (!carries(m, pin)) continue;
        if (part->kind->pin_count == 1 || (part->pin_count == 2 && part->pins[1] == pin))
            continue; /* one end tells of both */
        Change change = change_of(m, MISTAKE_JOINT, at->part);
        change.pin = pin, change.decibans = joint_rarity(m, pin);
        add(m, change);
    }
}

static void pair(Maker *m, Mistake mistake, uint32_t part, uint32_t pin_a, uint32_t pin_b) {
    Change change = change_of(m, mistake, part);
    change.nets[0] = m->bench->pins.at[pin_a].net, change.nets[1] = m->bench->pins.at[pin_b].net;
    if (change.nets[0] == change.nets[1] || !differs(m, change.nets[0], change.nets[1])) return;
    change.pin = BENCH_NONE;
    add(m, change);
}

static bool neighbours(const BenchPin *a, const BenchPin *b) {
    Quantity x, y;
    return quantity_parse(a->label, &x) == a->label.len && quantity_parse(b->label, &y) == b->label.len &&
           fabs(x.value - y.value) == 1;
}

/* A part of two pins shorted; any two pins of one of three; pins of a chip that stand side by side joined by solder. */
static void shorts(Maker *m) {
    for (uint32_t p = 0; p < m->bench->parts.count; p++) {
        const BenchPart *part = &m->bench->parts.at[p];
        bool small = part->pin_count <= 3;
        for (uint32_t i = 0; i < part->pin_count && part->pin_count <= 256; i++)
            for (uint32_t k = i + 1; k < part->pin_count; k++) {
                const BenchPin *a = &m->bench->pins.at[part->pins[i]], *b = &m->bench->pins.at[part->pins[k]];
                if (small || neighbours(a, b))
                    pair(m, small ? MISTAKE_SHORT : MISTAKE_JOIN, p, part->pins[i], part->pins[k]);
            }
    }
}

/* ---- transistors and diodes ---- */

/* Pins that types of one body are made with either way, base 0, collector 1, emitter 2 (gate, drain, source): common
 * practice. NULL: no such habit is known of this order. */
static const char *habit_of(const BenchPart *part, const unsigned char order[3]) {
    Text name = part->package != NULL ? part->package->name : part->package_name;
    if (text_starts(name, "SOT-23") && order[0] == 2 && order[1] == 1)
        return "types for SOT-23 are made with these two either way";
    bool third =
        order[0] == 0 || order[2] == 2; /* two of its legs exchanged, but not the outer with the middle of the rest */
    return text_starts(name, "TO-92") && third ? "types for TO-92 differ in the order of their legs" : NULL;
}

static void turned(Maker *m, uint32_t unit, uint32_t part) {
    static const unsigned char orders[][3] = {{1, 0, 2}, {0, 2, 1}, {2, 1, 0}, {1, 2, 0}, {2, 0, 1}};
    static const double KNOWN = 2, UNKNOWN = 10; /* ways that share the mistake's weight: rules of thumb */
    uint32_t pins = m->bench->units.at[unit].pin_count, ways = pins == 3 ? 5 : 1;
    for (uint32_t i = 0; i < ways; i++) {
        Change change = change_of(m, MISTAKE_TURNED, part);
        const char *habit = pins == 3 ? habit_of(&m->bench->parts.at[part], orders[i]) : NULL;
        change.unit = unit;
        for (uint32_t k = 0; k < KIND_PINS_MOST; k++) change.order[k] = k < 3 && k < pins ? orders[i][k] : (unsigned char)k;
        change.how = text_of(habit);
        change.decibans = rarity(m, MISTAKE_TURNED, ways == 1 ? 1 : habit != NULL ? KNOWN : UNKNOWN);
        add(m, change);
    }
}

static void another_kind(Maker *m, Mistake mistake, uint32_t unit, const char *kind) {
    Change change = change_of(m, mistake, m->bench->units.at[unit].part);
    change.unit = unit, change.kind = bench_kind(m->bench->kinds, text_of(kind));
    if (change.kind != NULL) add(m, change);
}

static void semiconductors(Maker *m) {
    static const struct {
        const char *kind, *polarity, *family;
    } others[] = {{"npn", "pnp", "nmos"}, {"pnp", "npn", "pmos"}, {"nmos", "pmos", "npn"}, {"pmos", "nmos", "pnp"}};
    for (uint32_t u = 0; u < m->bench->units.count; u++) {
        const BenchUnit *unit = &m->bench->units.at[u];
        if (kind_is(m->bench, unit->kind, "diode")) turned(m, u, unit->part);
        for (size_t i = 0; i < sizeof others / sizeof *others; i++) {
            if (!kind_is(m->bench, unit->kind, others[i].kind)) continue;
            turned(m, u, unit->part);
            another_kind(m, MISTAKE_POLARITY, u, others[i].polarity);
            another_kind(m, MISTAKE_FAMILY, u, others[i].family);
        }
    }
}

/* ---- what feeds and what draws, drives and switches ---- */

static void feeds(Maker *m) {
    for (uint32_t p = 0; p < m->bench->parts.count; p++) {
        const BenchPart *part = &m->bench->parts.at[p];
        if (!kind_is(m->bench, part->kind, "battery") || !part->has_value) continue;
        Change flat = change_of(m, MISTAKE_FLAT, p);
        flat.low = 0.4 * part->value.value,
        flat.high = 0.8 * part->value.value; /* of its nominal volts: used up, common practice */
        flat.value = (flat.low + flat.high) / 2;
        add_by_mode(m, flat);
    }
    for (uint32_t n = 0; n < m->bench->nets.count; n++) {
        if (!m->sums->reasoning->supply[n] || m->bench->nets.at[n].pin_count < 2) continue;
        Change load = change_of(m, MISTAKE_LOAD, BENCH_NONE);
        load.nets[0] = n, load.nets[1] = m->sums->ground;
        load.low = 1, load.high = 1e6, load.value = 1e3; /* ohm: from a short to nothing that matters */
        add_by_mode(m, load);
    }
}

static void drives(Maker *m) {
    for (uint32_t pin = 0; pin < m->bench->pins.count; pin++) {
        const BenchPin *at = &m->bench->pins.at[pin];
        if (!kind_is(m->bench, m->bench->parts.at[at->part].kind, "chip") || m->bench->nets.at[at->net].pin_count < 2)
            continue;
        if (m->sums->reasoning->supply[at->net] || m->sums->reasoning->ground[at->net]) continue;
        for (uint32_t mode = 0; mode < m->sums->modes.count; mode++)
            for (PinState state = PIN_LOW; m->off[mode] && state <= PIN_OPEN; state++) {
                const BenchDrive *drive = bench_drive(m->bench, pin, m->sums->modes.at[mode].name);
                NoteLevel level = drive == NULL ? NOTE_LEVEL_OPEN : drive->says->level;
                if (state == (level == NOTE_LEVEL_HIGH   ? PIN_HIGH
                              : level == NOTE_LEVEL_LOW  ? PIN_LOW
                              : level == NOTE_LEVEL_OPEN ? PIN_OPEN
                                                         : PIN_SWITCHING))
                    continue;
                Change change = change_of(m, MISTAKE_DRIVE, at->part);
                change.pin = pin, change.state = state, change.mode = mode;
                change.decibans = rarity(m, MISTAKE_DRIVE, 2);
                add(m, change);
            }
    }
    for (uint32_t p = 0; p < m->bench->parts.count; p++)
        if (kind_is(m->bench, m->bench->parts.at[p].kind, "switch")) add_by_mode(m, change_of(m, MISTAKE_SWITCH, p));
}

void mistakes_list(Arena *arena, const Fit *fit, Solved *noted, SumsEffort effort, ChangeList *list) {
    Maker maker = {.arena = arena,
                   .fit = fit,
                   .sums = fit->sums,
                   .bench = fit->sums->bench,
                   .list = list,
                   .solved = noted,
                   .every = effort.every,
                   .most = effort.hypotheses};
    for (uint32_t j = 0; j < fit->observed.count; j++)
        if (fit->observed.at[j].out) maker.off[fit->observed.at[j].mode] = true;
    readings(&maker);
    maker.most += list->count;
    feeds(&maker);
    drives(&maker);
    semiconductors(&maker);
    values(&maker);
    joints(&maker);
    shorts(&maker);
}
