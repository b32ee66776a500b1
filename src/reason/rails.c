/* Grounds and supplies are seeded by names and by pins that can be nothing else (a battery's poles, a chip's supply pins), then
 * carried on through what only passes current: switches, fuses, beads, links, and rectifier diodes the way they conduct.
 * Voltages are those that were read, else what cells and their names promise, carried on the same way. Common practice. */
#include "reason/rails.h"

typedef struct Rails {
    Arena *arena;
    const Bench *bench;
    const BenchKinds *kinds;
    Rail *at;
    const BenchKind *source, *sw, *button, *fuse, *bead, *jumper, *diode, *led, *zener, *photodiode, *regulator, *bridge, *usb,
        *mosfet_p;
} Rails;

static const double PASSED_DECIBANS = 20; /* a closed switch or an intact fuse: rule of thumb */

static bool kind_is(const BenchKind *kind, const BenchKind *what) { return what != NULL && bench_kind_is(kind, what); }

static uint32_t net_at(const Rails *rails, const BenchUnit *unit, uint32_t position, uint32_t *pin) {
    if (position >= unit->pin_count || unit->pins[position] == BENCH_NONE) return BENCH_NONE;
    *pin = unit->pins[position];
    return rails->bench->pins.at[*pin].net;
}

static void mark_supply(Rails *rails, uint32_t net, uint32_t anchor) {
    Rail *rail = &rails->at[net];
    if (rail->ground || rail->supply) return;
    rail->supply = true;
    rail->anchor = anchor;
}

/* `VCC`, `+5V`, `5V`, `3V3`: a name that promises a supply; out volts when it says how many. */
static bool supply_name(const Rails *rails, Text name, Quantity *volts) {
    Text number = text_starts(name, "+") ? text_sub(name, 1, name.len) : name;
    *volts = quantity_exact(0, UNIT_NONE);
    size_t used = quantity_parse(number, volts);
    if (used > 0 && used == number.len && unit_same(volts->unit, UNIT_VOLT) && volts->value > 0) return true;
    *volts = quantity_exact(0, UNIT_NONE);
    return bench_is_supply_name(rails->kinds, name);
}

static void seed_by_name(Rails *rails, uint32_t net) {
    const BenchNet *named = &rails->bench->nets.at[net];
    Quantity volts;
    if (!named->named) return;
    if (bench_is_ground_name(rails->kinds, named->name)) rails->at[net].ground = true;
    if (!rails->at[net].ground && supply_name(rails, named->name, &volts)) rails->at[net].supply = true;
}

/* A source's minus is ground unless another source's plus sits on it (cells in series). */
static bool plus_of_source_on(const Rails *rails, uint32_t net) {
    const BenchNet *at = &rails->bench->nets.at[net];
    for (uint32_t i = 0; i < at->pin_count; i++) {
        const BenchPin *pin = &rails->bench->pins.at[at->pins[i]];
        if (pin->position == 0 && kind_is(rails->bench->parts.at[pin->part].kind, rails->source)) return true;
    }
    return false;
}

static void seed_grounds(Rails *rails, const BenchUnit *unit) {
    uint32_t pin, net;
    if (kind_is(unit->kind, rails->source) && (net = net_at(rails, unit, 1, &pin)) != BENCH_NONE && !plus_of_source_on(rails, net))
        rails->at[net].ground = true, rails->at[net].anchor = pin;
    if (kind_is(unit->kind, rails->bridge) && (net = net_at(rails, unit, 3, &pin)) != BENCH_NONE)
        rails->at[net].ground = true, rails->at[net].anchor = pin;
    for (uint32_t i = 0; i < unit->pin_count; i++) {
        if (unit->pins[i] == BENCH_NONE) continue;
        const BenchPin *at = &rails->bench->pins.at[unit->pins[i]];
        Text name = at->function.len > 0 ? at->function : at->label;
        if (unit->kind->pin_count == 2 || !bench_is_ground_name(rails->kinds, name) || rails->at[at->net].ground) continue;
        rails->at[at->net].ground = true;
        rails->at[at->net].anchor = unit->pins[i];
    }
}

static void seed_supplies(Rails *rails, const BenchUnit *unit) {
    uint32_t pin, net;
    if (kind_is(unit->kind, rails->source) && (net = net_at(rails, unit, 0, &pin)) != BENCH_NONE) mark_supply(rails, net, pin);
    if (kind_is(unit->kind, rails->bridge) && (net = net_at(rails, unit, 2, &pin)) != BENCH_NONE) mark_supply(rails, net, pin);
    if (kind_is(unit->kind, rails->regulator))
        for (uint32_t p = 0; p < 2; p++)
            if ((net = net_at(rails, unit, p, &pin)) != BENCH_NONE) mark_supply(rails, net, pin);
    if (unit->kind->pin_count == 2) return;
    for (uint32_t i = 0; i < unit->pin_count; i++) {
        if (unit->pins[i] == BENCH_NONE) continue;
        const BenchPin *at = &rails->bench->pins.at[unit->pins[i]];
        if (bench_is_supply_name(rails->kinds, at->function.len > 0 ? at->function : at->label))
            mark_supply(rails, at->net, unit->pins[i]);
    }
}

/* Does the part pass a rail on from one pin to the other? out from, to: positions; both ways when `either`. */
static bool passes(const Rails *rails, const BenchUnit *unit, uint32_t *from, uint32_t *to, bool *either) {
    const BenchKind *kind = unit->kind;
    *from = 0, *to = 1, *either = true;
    if (kind_is(kind, rails->sw)) return !kind_is(kind, rails->button);
    if (kind_is(kind, rails->fuse) || kind_is(kind, rails->bead) || kind_is(kind, rails->jumper)) return true;
    *either = false;
    if (kind_is(kind, rails->mosfet_p)) return *from = 1, *to = 2, true; /* body diode: drain to source */
    return kind_is(kind, rails->diode) && !kind_is(kind, rails->led) && !kind_is(kind, rails->zener) &&
           !kind_is(kind, rails->photodiode);
}

static bool carry(Rails *rails, const BenchUnit *unit, uint32_t from, uint32_t to) {
    uint32_t pin_from, pin_to, a = net_at(rails, unit, from, &pin_from), b = net_at(rails, unit, to, &pin_to);
    if (a == BENCH_NONE || b == BENCH_NONE || a == b) return false;
    Rail *rail = &rails->at[a], *next = &rails->at[b];
    bool changed = false;
    if (rail->supply && !next->supply && !next->ground && rails->bench->nets.at[b].pin_count > 1) {
        mark_supply(rails, b, pin_to);
        changed = true;
    }
    if (!rail->known || next->known || !next->supply) return changed;
    double drop_low = 0, drop_high = 0;
    const BenchProperty *vf = kind_is(unit->kind, rails->diode) ? bench_kind_property(unit->kind, TEXT("vf")) : NULL;
    if (vf != NULL) drop_low = vf->value.low, drop_high = vf->value.high;
    next->known = true;
    next->volts = quantity_within(rail->volts.value - (drop_low + drop_high) / 2, rail->volts.low - drop_high,
                                  rail->volts.high - drop_low, UNIT_VOLT);
    next->why = rail->why;
    next->why.says = text_fmt(rails->arena, "%.*s, through %.*s", TEXT_ARG(rail->why.says),
                              TEXT_ARG(rails->bench->parts.at[unit->part].ref));
    if (next->why.decibans > PASSED_DECIBANS) next->why.decibans = PASSED_DECIBANS;
    return true;
}

static BenchFact fact_of_line(Arena *arena, Text says, double decibans, uint32_t line) {
    uint32_t *lines = arena_many(arena, uint32_t, 1);
    *lines = line;
    return (BenchFact){says, decibans, lines, line == 0 ? 0 : 1};
}

static void know(Rails *rails, uint32_t net, Quantity volts, BenchFact why) {
    if (rails->at[net].known) return;
    rails->at[net].known = true;
    rails->at[net].volts = volts;
    rails->at[net].why = why;
}

/* Readings first: they beat what cells and names promise. One without a mode beats one in a mode. */
static void know_readings(Rails *rails, bool in_modes) {
    for (uint32_t i = 0; i < rails->bench->readings.count; i++) {
        const BenchReading *reading = &rails->bench->readings.at[i];
        if (!text_is(reading->function, "v") || reading->about_count == 0 || (reading->mode.len > 0) != in_modes) continue;
        if (reading->about_count == 2 && !rails->at[reading->about[1]].ground) continue;
        Text says = text_fmt(rails->arena, "%.*s was read%s%.*s", TEXT_ARG(rails->bench->nets.at[reading->about[0]].name),
                             in_modes ? " in " : "", TEXT_ARG(reading->mode));
        double decibans = bench_source_weight(rails->kinds, reading->note->with->by == NOTE_BY_UNSAID ? NOTE_BY_METER
                                                                                                      : reading->note->with->by);
        know(rails, reading->about[0], reading->value, fact_of_line(rails->arena, says, decibans, reading->note->line));
    }
}

static void know_source(Rails *rails, const BenchUnit *unit) {
    const BenchPart *part = &rails->bench->parts.at[unit->part];
    uint32_t plus_pin, minus_pin, plus, minus;
    if (!kind_is(unit->kind, rails->source) || (plus = net_at(rails, unit, 0, &plus_pin)) == BENCH_NONE) return;
    if ((minus = net_at(rails, unit, 1, &minus_pin)) != BENCH_NONE && !rails->at[minus].ground) return;
    Quantity volts = part->value;
    Text says = text_fmt(rails->arena, "%.*s's nominal voltage", TEXT_ARG(part->ref));
    if (part->cell->designation.len > 0) {
        double n = part->cell_count;
        Quantity one = part->cell->volts;
        volts = (Quantity){one.value * n, one.low * n, one.high * n, one.last * n, UNIT_VOLT};
        says = text_fmt(rails->arena, "%.*s is %u x %.*s, nominal voltage", TEXT_ARG(part->ref), part->cell_count,
                        TEXT_ARG(part->cell->designation));
    } else if (!part->has_value || !unit_same(volts.unit, UNIT_VOLT)) {
        return;
    }
    know(rails, plus, volts, fact_of_line(rails->arena, says, PASSED_DECIBANS, part->line));
}

static void know_promises(Rails *rails) {
    const Bench *bench = rails->bench;
    for (uint32_t n = 0; n < bench->nets.count; n++) {
        Quantity volts;
        if (rails->at[n].ground)
            know(rails, n, quantity_exact(0, UNIT_VOLT), fact_of_line(rails->arena, TEXT("ground is 0 V by definition"), 60, 0));
        else if (bench->nets.at[n].named && supply_name(rails, bench->nets.at[n].name, &volts) && volts.value > 0)
            know(rails, n, volts, fact_of_line(rails->arena, TEXT("its name says so"), bench_source_weight(rails->kinds, NOTE_BY_LABEL), 0));
    }
    for (uint32_t u = 0; u < bench->units.count; u++) know_source(rails, &bench->units.at[u]);
    for (uint32_t u = 0; u < bench->units.count; u++) {
        const BenchUnit *unit = &bench->units.at[u];
        const BenchPart *part = &bench->parts.at[unit->part];
        uint32_t pin, net;
        if (kind_is(unit->kind, rails->usb) && (net = net_at(rails, unit, 0, &pin)) != BENCH_NONE)
            know(rails, net, quantity_within(5, 4.75, 5.5, UNIT_VOLT),
                 fact_of_line(rails->arena, TEXT("USB bus voltage (USB Type-C specification 2.0, from memory)"), 20, part->line));
        if (!kind_is(unit->kind, rails->regulator) || part->shelf == NULL || (net = net_at(rails, unit, 1, &pin)) == BENCH_NONE) continue;
        for (uint32_t k = 0; k < part->shelf->property_count; k++)
            if (text_is(part->shelf->properties[k].name, "vout"))
                know(rails, net, part->shelf->properties[k].value,
                     fact_of_line(rails->arena, text_fmt(rails->arena, "%.*s is a %.*s", TEXT_ARG(part->ref), TEXT_ARG(part->shelf->name)),
                                  part->shelf_match.decibans, part->line));
    }
}

enum { CARRY_ROUNDS_MOST = 16 }; /* parts in series with a rail; more would be no rail */

Rail *rails_find(Arena *arena, const Bench *bench) {
    const BenchKinds *k = bench->kinds;
    Rails rails = {.arena = arena,
                   .bench = bench,
                   .kinds = k,
                   .at = arena_many(arena, Rail, bench->nets.count + 1),
                   .source = bench_kind(k, TEXT("source")),
                   .sw = bench_kind(k, TEXT("switch")),
                   .button = bench_kind(k, TEXT("button")),
                   .fuse = bench_kind(k, TEXT("fuse")),
                   .bead = bench_kind(k, TEXT("bead")),
                   .jumper = bench_kind(k, TEXT("jumper")),
                   .diode = bench_kind(k, TEXT("diode")),
                   .led = bench_kind(k, TEXT("led")),
                   .zener = bench_kind(k, TEXT("zener")),
                   .photodiode = bench_kind(k, TEXT("photodiode")),
                   .regulator = bench_kind(k, TEXT("regulator")),
                   .bridge = bench_kind(k, TEXT("bridge")),
                   .usb = bench_kind(k, TEXT("usb-c")),
                   .mosfet_p = bench_kind(k, TEXT("pmos"))};
    for (uint32_t n = 0; n < bench->nets.count; n++) rails.at[n].anchor = BENCH_NONE;
    for (uint32_t n = 0; n < bench->nets.count; n++) seed_by_name(&rails, n);
    for (uint32_t u = 0; u < bench->units.count; u++) seed_grounds(&rails, &bench->units.at[u]);
    for (uint32_t u = 0; u < bench->units.count; u++) seed_supplies(&rails, &bench->units.at[u]);
    know_readings(&rails, false);
    know_readings(&rails, true);
    know_promises(&rails);
    bool changed = true;
    for (int round = 0; changed && round < CARRY_ROUNDS_MOST; round++) {
        changed = false;
        for (uint32_t u = 0; u < bench->units.count; u++) {
            uint32_t from, to;
            bool either;
            if (!passes(&rails, &bench->units.at[u], &from, &to, &either)) continue;
            changed |= carry(&rails, &bench->units.at[u], from, to);
            if (either) changed |= carry(&rails, &bench->units.at[u], to, from);
        }
    }
    return rails.at;
}
