/* A mode's circuit: nets become nodes, units of parts become elements by the model of their kind, pins of chips become
 * drivers as the notes say of that mode. Each net has a source of no current beside it: what a voltage gives way when a
 * meter draws a little is the sensitivity to it. Linear in the parts and their pins. */
#include "sums/inside.h"

#include <math.h>

static const double JOINT_OHMS = 0.01,
                    SHORT_OHMS = 0.1; /* of a join that was overlooked, of a shorted part: rule of thumb */
static const double DRIVE_OHMS = 1;   /* of what drives a pin of a part that is no chip: rule of thumb */

/* ---- numbers of parameters ---- */

/* Room for those of the kind, and of a transistor's other kinds, which it may be supposed to be. */
static uint32_t sets_of(const Sums *sums, const BenchKind *kind, const Model *model) {
    static const char *const others[] = {"npn", "pnp", "nmos", "pmos"};
    const BenchKinds *kinds = sums->bench->kinds;
    const BenchKind *transistor = bench_kind(kinds, TEXT("transistor"));
    uint32_t most = model == NULL ? 0 : model->set_count;
    for (size_t i = 0; transistor != NULL && bench_kind_is(kind, transistor) && i < sizeof others / sizeof *others; i++) {
        const BenchKind *other = bench_kind(kinds, text_of(others[i]));
        const Model *has = other == NULL ? NULL : model_of(sums->models, other);
        if (has != NULL && has->set_count > most) most = has->set_count;
    }
    return most;
}

Ids *wire_ids(Arena *arena, const Sums *sums) {
    const Bench *bench = sums->bench;
    Ids *ids = arena_one(arena, Ids);
    ids->first = arena_many(arena, uint32_t, bench->units.count + 1);
    ids->modes = sums->modes.count;
    for (uint32_t u = 0; u < bench->units.count; u++) {
        const Model *model = model_of(sums->models, bench->units.at[u].kind);
        SumsParameter is = {0};
        ids->first[u] = ids->count;
        ids->count += sets_of(sums, bench->units.at[u].kind, model) * ids->modes;
        bool feeds = model != NULL && !model->plugs && bench->parts.at[bench->units.at[u].part].pin_count > 0;
        for (uint32_t e = 0; feeds && e < model->elements.count; e++)
            for (uint32_t s = 0; model->elements.at[e].kind == CIRCUIT_VOLTAGE && s < model->elements.at[e].set_count; s++)
                ids->other_source |=
                    terms_value(arena, sums, NULL, bench->units.at[u].part, &model->elements.at[e].sets[s], &is);
    }
    ids->first[bench->units.count] = ids->count;
    return ids;
}

/* ---- nodes ---- */

static CircuitNode net_node(Wiring *w, uint32_t net) {
    if (w->node[net] != SUMS_NO_NODE) return w->node[net];
    Text name = w->sums->bench->nets.at[net].name;
    w->node[net] = circuit_node(w->circuit, name, net);
    return w->node[net];
}

static CircuitNode inner_node(Wiring *w, uint32_t part) {
    return circuit_node(w->circuit, text_fmt(w->arena, "inside %.*s", TEXT_ARG(w->sums->bench->parts.at[part].ref)),
                        BENCH_NONE);
}

/* The node that a pin is on; BENCH_NONE: one of its own. */
static CircuitNode pin_node(Wiring *w, uint32_t part, uint32_t pin) {
    if (pin == BENCH_NONE) return inner_node(w, part);
    if (wire_supposes(w, MISTAKE_JOINT) && w->change->pin == pin) {
        if (w->hanging == SUMS_NO_NODE) w->hanging = inner_node(w, part);
        return w->hanging;
    }
    return net_node(w, w->sums->bench->pins.at[pin].net);
}

static void note_end(Wiring *w, uint32_t pin, uint32_t element, unsigned terminal) {
    if (pin == BENCH_NONE) return;
    list_push(w->arena, &w->ends, ((PinEnd){pin, element, terminal, w->last_end[pin]}));
    w->last_end[pin] = w->ends.count;
}

/* ---- assumptions ---- */

static void assume(Wiring *w, Text says, uint32_t line) {
    if (!w->tell) return;
    uint32_t *lines = arena_many(w->arena, uint32_t, 1);
    *lines = line;
    list_push(w->arena, &w->assumptions, ((SumsAssumption){says, lines, line == 0 ? 0 : 1}));
}

/* ---- a chip's own rails ---- */

static bool called(const Wiring *w, const BenchPin *pin, bool supply) {
    Text name = pin->function.len > 0 ? pin->function : pin->label;
    return supply ? bench_is_supply_name(w->sums->bench->kinds, name) : bench_is_ground_name(w->sums->bench->kinds, name);
}

uint32_t wire_rail(const Wiring *w, uint32_t part, bool supply) {
    const Bench *bench = w->sums->bench;
    const BenchPart *at = &bench->parts.at[part];
    const bool *rail = supply ? w->sums->reasoning->supply : w->sums->reasoning->ground;
    uint32_t found = BENCH_NONE;
    for (uint32_t i = 0; i < at->pin_count; i++) {
        const BenchPin *pin = &bench->pins.at[at->pins[i]];
        if (called(w, pin, supply)) return at->pins[i];
        if (found == BENCH_NONE && rail[pin->net]) found = at->pins[i];
    }
    return found;
}

uint32_t wire_driver(const Wiring *w, uint32_t pin) {
    for (uint32_t i = w->last_end[pin]; i > 0; i = w->ends.at[i - 1].before)
        if (circuit_kind_of(w->circuit, w->ends.at[i - 1].element) == CIRCUIT_PIN && w->ends.at[i - 1].terminal == 0)
            return w->ends.at[i - 1].element;
    return BENCH_NONE;
}

/* ---- elements ---- */

static uint32_t unit_pin(const Wiring *w, uint32_t unit, uint32_t position) {
    const BenchUnit *at = &w->sums->bench->units.at[unit];
    if (wire_supposes(w, MISTAKE_TURNED) && w->change->unit == unit) position = w->change->order[position];
    return position < at->pin_count ? at->pins[position] : (uint32_t)BENCH_NONE;
}

static uint32_t end_pin(const Wiring *w, uint32_t unit, ModelEnd end) {
    if (end.sort == END_PIN) return unit_pin(w, unit, end.number);
    if (end.sort == END_SUPPLY || end.sort == END_GROUND) return w->rail[end.sort == END_SUPPLY];
    return BENCH_NONE;
}

static bool acted(const Wiring *w, uint32_t part, bool press) {
    const Bench *bench = w->sums->bench;
    Text name = w->sums->modes.at[w->mode].name;
    uint32_t count = press ? bench->presses.count : bench->stalls.count;
    const BenchAct *acts = press ? bench->presses.at : bench->stalls.at;
    for (uint32_t i = 0; i < count; i++)
        if (acts[i].part == part && (acts[i].mode.len == 0 || text_same(acts[i].mode, name))) return true;
    return false;
}

/* What the notes say of the mode, over what the model says. */
static void act_on(Wiring *w, uint32_t part, uint32_t element) {
    CircuitKind kind = circuit_kind_of(w->circuit, element);
    if (kind == CIRCUIT_SWITCH) {
        bool turned = acted(w, part, true) != (wire_supposes(w, MISTAKE_SWITCH) && w->change->part == part);
        if (turned)
            circuit_set(w->circuit, element, SWITCH_CLOSED,
                        circuit_value(w->circuit, element, SWITCH_CLOSED) > 0.5 ? 0 : 1);
    }
    if (kind == CIRCUIT_MOTOR && acted(w, part, false)) circuit_set(w->circuit, element, MOTOR_STALLED, 1);
}

static void add_element(Wiring *w, uint32_t unit, uint32_t part, const ModelElement *model, CircuitNode *inner,
                        uint32_t each) {
    CircuitNode nodes[CIRCUIT_TERMINALS];
    uint32_t pins[CIRCUIT_TERMINALS];
    unsigned terminals = circuit_kind(model->kind)->terminals;
    for (unsigned t = 0; t < terminals; t++) {
        ModelEnd end = model->ends[t];
        pins[t] = end.sort == END_EACH ? each : end_pin(w, unit, end);
        if (end.sort == END_INNER) {
            if (inner[end.number] == SUMS_NO_NODE) inner[end.number] = inner_node(w, part);
            nodes[t] = inner[end.number];
        } else {
            nodes[t] = pin_node(w, part, pins[t]);
        }
    }
    uint32_t element = circuit_add(w->circuit, model->kind, w->sums->bench->parts.at[part].ref, part, nodes);
    while (w->unit_of.count < element) list_push(w->arena, &w->unit_of, BENCH_NONE);
    list_push(w->arena, &w->unit_of, unit);
    for (unsigned t = 0; t < terminals; t++) note_end(w, pins[t], element, t);
    wire_parameters(w, unit, part, element, model);
    act_on(w, part, element);
}

static bool has_rails(const Wiring *w, const ModelElement *model) {
    for (unsigned t = 0; t < circuit_kind(model->kind)->terminals; t++) {
        ModelEndSort sort = model->ends[t].sort;
        if ((sort == END_SUPPLY || sort == END_GROUND) && w->rail[sort == END_SUPPLY] == BENCH_NONE) return false;
    }
    return true;
}

/* ---- pins as drivers ---- */

static bool taken(const Wiring *w, uint32_t from, uint32_t to, uint32_t pin) {
    for (uint32_t i = from; i < to; i++)
        if (w->ends.at[i].pin == pin) return true;
    return false;
}

/* High or low by the phase; beyond the pins that phases count, low. */
static PinState switching(Wiring *w, double duty) {
    uint32_t bit = w->switching++;
    if ((1u << bit) >= PHASES_MOST) return PIN_LOW;
    bool high = (w->phase >> bit & 1) != 0;
    w->weight *= high ? duty : 1 - duty;
    return high ? PIN_HIGH : PIN_LOW;
}

static PinState state_of(Wiring *w, const BenchDrive *drive) {
    switch (drive->says->level) {
    case NOTE_LEVEL_HIGH:
        return PIN_HIGH;
    case NOTE_LEVEL_LOW:
        return PIN_LOW;
    case NOTE_LEVEL_FREQUENCY:
        return switching(w, drive->says->duty.written.len > 0 ? fmin(fmax(drive->says->duty.quantity.value, 0), 1) : 0.5);
    default:
        return PIN_OPEN;
    }
}

/* A voltage behind ohms, against the part's ground. */
static void drive_volts(Wiring *w, uint32_t part, uint32_t pin, double volts) {
    uint32_t ground = w->rail[false];
    CircuitNode inner = inner_node(w, part), end = pin_node(w, part, pin);
    CircuitNode reference = ground == BENCH_NONE ? 0 : pin_node(w, part, ground);
    Text ref = w->sums->bench->parts.at[part].ref;
    uint32_t source = circuit_add(w->circuit, CIRCUIT_VOLTAGE, ref, part, (const CircuitNode[]){inner, reference});
    note_end(w, ground, source, 1);
    circuit_set(w->circuit, source, SOURCE_VALUE, volts);
    uint32_t ohms = circuit_add(w->circuit, CIRCUIT_RESISTOR, ref, part, (const CircuitNode[]){end, inner});
    note_end(w, pin, ohms, 0);
    circuit_set(w->circuit, ohms, RESISTOR_OHMS, DRIVE_OHMS);
}

static const ModelElement *driver_of(const Wiring *w, uint32_t part, uint32_t *unit) {
    const BenchPart *at = &w->sums->bench->parts.at[part];
    for (uint32_t u = 0; u < at->unit_count; u++) {
        const Model *model = model_of(w->sums->models, w->sums->bench->units.at[at->units[u]].kind);
        for (uint32_t e = 0; model != NULL && e < model->elements.count; e++)
            if (model->elements.at[e].kind == CIRCUIT_PIN) return *unit = at->units[u], &model->elements.at[e];
    }
    return NULL;
}

/* Whether it goes anywhere, and isn't a rail or taken by another element of the part. */
static bool may_drive(const Wiring *w, uint32_t pin, uint32_t from, uint32_t to) {
    const Bench *bench = w->sums->bench;
    return bench->nets.at[bench->pins.at[pin].net].pin_count > 1 && !taken(w, from, to, pin) && pin != w->rail[true] &&
           pin != w->rail[false];
}

static void drive_pins(Wiring *w, uint32_t part, uint32_t from) {
    const Bench *bench = w->sums->bench;
    const BenchPart *at = &bench->parts.at[part];
    uint32_t unit = 0, open = 0, ends = w->ends.count;
    const ModelElement *driver = driver_of(w, part, &unit);
    if (driver != NULL && !has_rails(w, driver)) driver = NULL;
    Out out = out_new(w->arena);
    for (uint32_t i = 0; i < at->pin_count; i++) {
        uint32_t pin = at->pins[i];
        const BenchDrive *drive = bench_drive(bench, pin, w->sums->modes.at[w->mode].name);
        bool supposed = wire_supposes(w, MISTAKE_DRIVE) && w->change->pin == pin;
        if (drive != NULL && drive->says->level == NOTE_LEVEL_VOLTS && !supposed) {
            drive_volts(w, part, pin, drive->says->value.quantity.value);
            continue;
        }
        if (driver == NULL && drive != NULL)
            assume(w,
                   text_fmt(w->arena, "the drive of %.*s is left out: what feeds the part is not noted",
                            TEXT_ARG(bench_pin_name(w->arena, bench, pin))),
                   drive->note->line);
        if (driver == NULL || (drive == NULL && !supposed && !may_drive(w, pin, from, ends))) continue;
        PinState state = supposed ? w->change->state : drive == NULL ? PIN_OPEN : state_of(w, drive);
        add_element(w, unit, part, driver, NULL, pin);
        circuit_set(w->circuit, circuit_element_count(w->circuit) - 1, PIN_STATE, state);
        if (drive == NULL && !supposed)
            out_fmt(&out, "%s%.*s", open++ == 0 ? "" : ", ", TEXT_ARG(bench_pin_name(w->arena, bench, pin)));
    }
    if (open > 0)
        assume(w,
               text_fmt(w->arena, "%.*s %s open: the notes don't say what the chip does there", TEXT_ARG(out_text(&out)),
                        open == 1 ? "is" : "are"),
               0);
}

/* ---- parts ---- */

static const Model *unit_model(const Wiring *w, uint32_t unit) {
    bool other = (wire_supposes(w, MISTAKE_POLARITY) || wire_supposes(w, MISTAKE_FAMILY)) && w->change->unit == unit;
    return model_of(w->sums->models, other ? w->change->kind : w->sums->bench->units.at[unit].kind);
}

static uint32_t nets_of(const Bench *bench, const BenchPart *part) {
    uint32_t joined = 0;
    for (uint32_t i = 0; i < part->pin_count; i++)
        joined += bench->nets.at[bench->pins.at[part->pins[i]].net].pin_count > 1;
    return joined;
}

static void block(Wiring *w, uint32_t part) {
    if (w->tell && nets_of(w->sums->bench, &w->sums->bench->parts.at[part]) > 1) list_push(w->arena, &w->blocked, part);
}

static void add_unit(Wiring *w, uint32_t unit, uint32_t part) {
    const Model *model = unit_model(w, unit);
    CircuitNode inner[MODEL_INNER_MOST] = {SUMS_NO_NODE, SUMS_NO_NODE, SUMS_NO_NODE, SUMS_NO_NODE};
    if (model == NULL || (model->elements.count == 0 && !model->open)) {
        block(w, part);
        return;
    }
    if (model->plugs && w->ids->other_source && !acted(w, part, true)) {
        assume(w, text_fmt(w->arena, "nothing is plugged into %.*s", TEXT_ARG(w->sums->bench->parts.at[part].ref)), 0);
        return;
    }
    for (uint32_t e = 0; e < model->elements.count; e++)
        if (!wire_can_be_set(w, part, &model->elements.at[e])) {
            block(w, part);
            return;
        }
    for (uint32_t e = 0; e < model->elements.count; e++) {
        const ModelElement *element = &model->elements.at[e];
        if (element->kind != CIRCUIT_PIN && has_rails(w, element)) add_element(w, unit, part, element, inner, BENCH_NONE);
    }
}

static void add_part(Wiring *w, uint32_t part) {
    const BenchPart *at = &w->sums->bench->parts.at[part];
    uint32_t from = w->ends.count;
    if (at->pin_count == 0) return; /* it hangs on nothing yet */
    for (int supply = 0; supply < 2; supply++) w->rail[supply] = wire_rail(w, part, supply);
    for (uint32_t u = 0; u < at->unit_count; u++) add_unit(w, at->units[u], part);
    drive_pins(w, part, from);
    if (wire_supposes(w, MISTAKE_SHORT) && w->change->part == part) {
        CircuitNode a = net_node(w, w->change->nets[0]), b = net_node(w, w->change->nets[1]);
        circuit_set(w->circuit, circuit_add(w->circuit, CIRCUIT_RESISTOR, at->ref, part, (const CircuitNode[]){a, b}),
                    RESISTOR_OHMS, SHORT_OHMS);
    }
}

void wire_load(Wiring *w, uint32_t element) {
    const Change *change = w->change;
    Wired wired = {.id = w->ids->count,
                   .at = change->value,
                   .is = {.part = BENCH_NONE,
                          .typical = change->value,
                          .low = change->low,
                          .high = change->high,
                          .ratio = true,
                          .state = true,
                          .unit = UNIT_OHM,
                          .mode = change->mode}};
    list_push(w->arena, &wired.places, ((Spot){.element = element, .parameter = RESISTOR_OHMS}));
    list_push(w->arena, &w->parameters, wired);
}

/* An overlooked join, or something that draws current: how much, the readings tell. */
static void add_supposed(Wiring *w) {
    const Change *change = w->change;
    bool load = wire_supposes(w, MISTAKE_LOAD);
    if (!load && !wire_supposes(w, MISTAKE_JOIN)) return;
    CircuitNode ends[] = {net_node(w, change->nets[0]), net_node(w, change->nets[1])};
    uint32_t element = circuit_add(w->circuit, CIRCUIT_RESISTOR, TEXT("what is supposed"), BENCH_NONE, ends);
    circuit_set(w->circuit, element, RESISTOR_OHMS, load ? change->value : JOINT_OHMS);
    if (load) wire_load(w, element);
}

/* ---- switches, told ---- */

static void tell_switches(Wiring *w, bool closed) {
    const Bench *bench = w->sums->bench;
    Out out = out_new(w->arena);
    uint32_t count = 0;
    for (uint32_t p = 0; w->tell && p < bench->parts.count; p++) {
        bool is = false;
        for (uint32_t e = w->first[p]; e < w->first[p + 1]; e++)
            if (circuit_kind_of(w->circuit, e) == CIRCUIT_SWITCH)
                is = is || (circuit_value(w->circuit, e, SWITCH_CLOSED) > 0.5) == closed;
        if (!is || acted(w, p, true) || bench->parts.at[p].unit_count != 1) continue;
        out_fmt(&out, "%s%.*s", count++ == 0 ? "" : ", ", TEXT_ARG(bench->parts.at[p].ref));
    }
    if (count > 0)
        assume(w,
               text_fmt(w->arena, "%.*s %s %s: no `press` says otherwise", TEXT_ARG(out_text(&out)),
                        count == 1 ? "is" : "are", closed ? "closed" : "open"),
               0);
}

static void tell_blocked(Wiring *w) {
    Out out = out_new(w->arena);
    enum { NAMED = 8 };
    for (uint32_t i = 0; i < w->blocked.count && i < NAMED; i++)
        out_fmt(&out, "%s%.*s", i == 0 ? "" : ", ", TEXT_ARG(w->sums->bench->parts.at[w->blocked.at[i]].ref));
    if (w->blocked.count > NAMED) out_fmt(&out, " and %u more", w->blocked.count - NAMED);
    if (w->blocked.count > 0)
        assume(w,
               text_fmt(w->arena, "%.*s %s left out: what current flows there is not known", TEXT_ARG(out_text(&out)),
                        w->blocked.count == 1 ? "is" : "are"),
               0);
}

/* ---- all of it ---- */

uint32_t wire_phases(const Sums *sums, uint32_t mode) {
    const Bench *bench = sums->bench;
    uint32_t phases = 1;
    for (uint32_t i = 0; i < bench->drives.count; i++) {
        const BenchDrive *drive = &bench->drives.at[i];
        if (drive->says->level == NOTE_LEVEL_FREQUENCY &&
            bench_drive(bench, drive->pin, sums->modes.at[mode].name) == drive && phases < PHASES_MOST)
            phases *= 2;
    }
    return phases;
}

Wiring *wire_mode(Arena *arena, const Sums *sums, const Ids *ids, uint32_t mode, uint32_t phase, const Change *change,
                  bool tell) {
    const Bench *bench = sums->bench;
    Wiring *w = arena_one(arena, Wiring);
    *w = (Wiring){.arena = arena,
                  .sums = sums,
                  .ids = ids,
                  .change = change,
                  .mode = mode,
                  .phase = phase,
                  .tell = tell,
                  .weight = 1,
                  .hanging = SUMS_NO_NODE,
                  .circuit = circuit_new(arena)};
    w->node = arena_many(arena, CircuitNode, bench->nets.count + 1);
    w->meter = arena_many(arena, uint32_t, bench->nets.count + 1);
    w->last_end = arena_many(arena, uint32_t, bench->pins.count + 1);
    w->first = arena_many(arena, uint32_t, bench->parts.count + 1);
    for (uint32_t n = 0; n < bench->nets.count; n++)
        w->node[n] = n == sums->ground ? 0 : SUMS_NO_NODE, w->meter[n] = BENCH_NONE;
    for (uint32_t p = 0; p < bench->parts.count; p++) {
        w->first[p] = circuit_element_count(w->circuit);
        add_part(w, p);
    }
    w->first[bench->parts.count] = circuit_element_count(w->circuit);
    if (change != NULL) add_supposed(w);
    for (uint32_t n = 0; n < bench->nets.count; n++) {
        if (w->node[n] == SUMS_NO_NODE || w->node[n] == 0) continue;
        CircuitNode ends[] = {w->node[n], 0};
        w->meter[n] = circuit_add(w->circuit, CIRCUIT_CURRENT, bench->nets.at[n].name, BENCH_NONE, ends);
    }
    tell_switches(w, true);
    tell_switches(w, false);
    tell_blocked(w);
    if (tell && w->switching > 0)
        assume(w,
               TEXT("switching pins are high and low in turn, each state at rest, weighted by their time: right where "
                    "nothing stores"),
               0);
    return w;
}
