/* Parts into items: which symbol, which pins, what is written beside. A part drawn in pieces (a chip of two amplifiers, a
 * connector) becomes several. */
#include "draw/schematic_inside.h"

#include <string.h>

enum { TERMINALS_MOST = 12, CHIP_PINS = 6, TEXT_BYTES_MOST = 28 };

static bool kind_is(const Maker *maker, const BenchKind *kind, const char *name) {
    const BenchKind *what = bench_kind(maker->bench->kinds, text_of(name));
    return what != NULL && bench_kind_is(kind, what);
}

static ItemRole role_of(const Maker *maker, const BenchKind *kind) {
    static const struct {
        const char *kind;
        ItemRole role;
    } roles[] = {
        {"resistor", ITEM_RESISTOR},  {"varistor", ITEM_RESISTOR}, {"capacitor", ITEM_CAPACITOR}, {"inductor", ITEM_SERIES},
        {"bead", ITEM_SERIES},        {"fuse", ITEM_SERIES},       {"jumper", ITEM_SERIES},       {"led", ITEM_LED},
        {"laser", ITEM_LED},          {"diode", ITEM_DIODE},       {"tvs", ITEM_DIODE},           {"switch", ITEM_SWITCH},
        {"source", ITEM_SOURCE},      {"load", ITEM_LOAD},         {"transistor", ITEM_TRANSISTOR}, {"testpoint", ITEM_TERMINAL},
        {"shunt-reference", ITEM_TRANSISTOR}, {"thyristor", ITEM_TRANSISTOR}, {"triac", ITEM_TRANSISTOR},
    };
    for (size_t i = 0; i < sizeof roles / sizeof *roles; i++)
        if (kind_is(maker, kind, roles[i].kind)) return roles[i].role;
    return ITEM_OTHER;
}

/* No longer than what fits beside a symbol: whole characters (UTF-8), then three dots. */
static Text shortened(Arena *arena, Text text) {
    if (text.len <= TEXT_BYTES_MOST) return text;
    size_t len = TEXT_BYTES_MOST - 3;
    while (len > 0 && ((unsigned char)text.at[len] & 0xc0) == 0x80) len--;
    return text_fmt(arena, "%.*s...", (int)len, text.at);
}

static Text value_of(const Maker *maker, const BenchPart *part) {
    Out out = out_new(maker->arena);
    if (part->cell_count > 0 && part->cell->designation.len > 0) {
        out_fmt(&out, "%u x %.*s", part->cell_count, TEXT_ARG(part->cell->designation));
    } else if (part->has_value) {
        quantity_print(&out, part->value);
    } else if (part->shelf != NULL) {
        out_add(&out, part->shelf->name);
    } else if (part->has_marking && part->marking.len > 0) {
        out_fmt(&out, "\"%.*s\"", TEXT_ARG(part->marking));
    } else if (symbol_of(part->kind) == NULL && !text_is(part->kind->name, "part")) {
        out_add(&out, text_is(part->kind->name, "chip") ? TEXT("unknown chip") : part->kind->name);
    }
    return shortened(maker->arena, out_text(&out));
}

static uint32_t add_item(Maker *maker, uint32_t part, ItemRole role, const Symbol *symbol, uint32_t pin_count) {
    const BenchPart *of = &maker->bench->parts.at[part];
    Item *item = list_add(maker->arena, &maker->items);
    *item = (Item){.role = role, .part = part, .symbol = symbol, .pin_count = pin_count};
    item->ref = shortened(maker->arena, of->ref);
    item->value = value_of(maker, of);
    item->pins = arena_many(maker->arena, ItemPin, pin_count);
    for (uint32_t i = 0; i < pin_count; i++) item->pins[i] = (ItemPin){.pin = BENCH_NONE, .net = BENCH_NONE};
    return maker->items.count - 1;
}

static void put_pin(Maker *maker, Item *item, uint32_t position, uint32_t pin) {
    item->pins[position].pin = pin;
    item->pins[position].net = maker->bench->pins.at[pin].net;
}

/* Every noted pin has a place of its own in the symbol, or shares one with a pin of the same net (a button's two legs). */
static bool symbol_holds(const Maker *maker, const Symbol *symbol, const BenchPart *part) {
    uint32_t net_at[SYMBOL_PINS_MOST];
    memset(net_at, 0xff, sizeof net_at);
    for (uint32_t i = 0; i < part->pin_count; i++) {
        const BenchPin *pin = &maker->bench->pins.at[part->pins[i]];
        if (pin->position < 0 || pin->position >= symbol->pin_count) return false;
        if (net_at[pin->position] != BENCH_NONE && net_at[pin->position] != pin->net) return false;
        net_at[pin->position] = pin->net;
    }
    return true;
}

/* An amplifier whose supply pins nobody noted is drawn without them, as is usual. */
static void leave_out_supplies(Item *item) {
    bool amplifier = item->pin_count == 5 && strcmp(item->symbol->kind, "comparing") == 0;
    if (amplifier && item->pins[3].pin == BENCH_NONE && item->pins[4].pin == BENCH_NONE) item->pin_count = 3;
}

static void add_symbol(Maker *maker, uint32_t index, const Symbol *symbol) {
    const BenchPart *part = &maker->bench->parts.at[index];
    uint32_t added = add_item(maker, index, role_of(maker, part->kind), symbol, symbol->pin_count);
    Item *item = &maker->items.at[added];
    for (uint32_t i = part->pin_count; i-- > 0;) /* backwards: the first mentioned stays */
        put_pin(maker, item, (uint32_t)maker->bench->pins.at[part->pins[i]].position, part->pins[i]);
    leave_out_supplies(item);
}

static bool makes_supply(const Maker *maker, const BenchKind *kind) {
    static const char *const kinds[] = {"regulator", "adjustable-regulator", "boost", "buck", "mains-inlet", "usb-c"};
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        if (kind_is(maker, kind, kinds[i])) return true;
    return false;
}

static void add_box(Maker *maker, uint32_t index, const uint32_t *pins, uint32_t pin_count) {
    uint32_t added = add_item(maker, index, ITEM_OTHER, NULL, pin_count);
    Item *item = &maker->items.at[added];
    item->chip = kind_is(maker, maker->bench->parts.at[index].kind, "chip") || pin_count >= CHIP_PINS;
    item->feeds = makes_supply(maker, maker->bench->parts.at[index].kind);
    for (uint32_t i = 0; i < pin_count; i++) {
        const BenchPin *pin = &maker->bench->pins.at[pins[i]];
        put_pin(maker, item, i, pins[i]);
        bool told = pin->function.len > 0 || pin->label.len <= SCHEMATIC_NUMBER_MOST; /* a long label is no number: it is written inside */
        item->pins[i].name = shortened(maker->arena, told ? pin->function : pin->label);
    }
}

static void add_terminals(Maker *maker, uint32_t index) {
    const BenchPart *part = &maker->bench->parts.at[index];
    for (uint32_t i = 0; i < part->pin_count; i++) {
        uint32_t added = add_item(maker, index, ITEM_TERMINAL, symbol_terminal(), 1);
        Item *item = &maker->items.at[added];
        put_pin(maker, item, 0, part->pins[i]);
        Text label = maker->bench->pins.at[part->pins[i]].label;
        item->ref = shortened(maker->arena, text_fmt(maker->arena, "%.*s.%.*s", TEXT_ARG(part->ref), TEXT_ARG(label)));
        item->value = (Text){0};
    }
}

/* A chip of several units, each with its letter; supply pins go to the first that has room for them, what is left to a box. */
static bool add_units(Maker *maker, uint32_t index) {
    const BenchPart *part = &maker->bench->parts.at[index];
    if (part->unit_count < 2) return false;
    bool *placed = arena_many(maker->arena, bool, part->pin_count);
    uint32_t first = maker->items.count, left = 0;
    for (uint32_t u = 1; u < part->unit_count; u++) {
        const BenchUnit *unit = &maker->bench->units.at[part->units[u]];
        const Symbol *symbol = symbol_of(unit->kind);
        uint32_t noted = 0;
        for (uint32_t p = 0; p < unit->pin_count; p++) noted += unit->pins[p] != BENCH_NONE;
        if (symbol == NULL || unit->pin_count > symbol->pin_count || noted == 0) continue;
        uint32_t added = add_item(maker, index, role_of(maker, unit->kind), symbol, symbol->pin_count);
        Item *item = &maker->items.at[added];
        item->ref = text_fmt(maker->arena, "%.*s%c", TEXT_ARG(item->ref), (char)('A' + (u - 1) % 26));
        for (uint32_t p = 0; p < unit->pin_count; p++) {
            if (unit->pins[p] == BENCH_NONE) continue;
            put_pin(maker, item, p, unit->pins[p]);
            for (uint32_t i = 0; i < part->pin_count; i++) placed[i] |= part->pins[i] == unit->pins[p];
        }
    }
    uint32_t *rest = arena_many(maker->arena, uint32_t, part->pin_count);
    for (uint32_t i = 0; i < part->pin_count; i++) {
        if (placed[i]) continue;
        uint32_t pin = part->pins[i], net = maker->bench->pins.at[pin].net;
        bool ground = maker->rails[net].ground, supply = maker->rails[net].supply;
        Item *item = first < maker->items.count ? &maker->items.at[first] : NULL;
        bool amplifier = item != NULL && item->pin_count == 5 && strcmp(item->symbol->kind, "comparing") == 0;
        uint32_t position = ground ? 4 : 3;
        if (amplifier && (ground || supply) && item->pins[position].pin == BENCH_NONE)
            put_pin(maker, item, position, pin);
        else
            rest[left++] = pin;
    }
    for (uint32_t i = first; i < maker->items.count; i++) leave_out_supplies(&maker->items.at[i]);
    if (left > 0) add_box(maker, index, rest, left);
    return true;
}

static void add_part(Maker *maker, uint32_t index) {
    const BenchPart *part = &maker->bench->parts.at[index];
    const Symbol *symbol = symbol_of(part->kind);
    bool connector = text_is(part->kind->name, "connector");
    if (connector && part->pin_count > 0 && part->pin_count <= TERMINALS_MOST) {
        add_terminals(maker, index);
    } else if (symbol != NULL && symbol_holds(maker, symbol, part)) {
        add_symbol(maker, index, symbol);
    } else if (!add_units(maker, index)) {
        add_box(maker, index, part->pins, part->pin_count);
    }
}

/* ---- what nets are drawn as ---- */

/* Few pins of a supply line are better joined by a wire than by names, if it has one of its own only where no chip is on it. */
enum { WIRED_NAMED_MOST = 2, WIRED_NAMELESS_MOST = 4 };

/* Unlike any other's, even where only the beginning of a long name is written. */
static Text name_to_join_by(const Maker *maker, Names *names, uint32_t net) {
    Text name = shortened(maker->arena, maker->bench->nets.at[net].name);
    while (names_find(names, name) != NAME_NONE) name = text_fmt(maker->arena, "%.*s #%u", TEXT_ARG(name), net);
    names_add(names, name);
    return name;
}

/* V-, VEE, -5V: below ground where there is another ground. Common practice. */
static bool negative_name(const BenchNet *net) {
    static const char *const names[] = {"V-", "VEE", "VNEG", "VSS-"};
    Quantity volts;
    for (size_t i = 0; net->named && i < sizeof names / sizeof *names; i++)
        if (text_same_folded(net->name, text_of(names[i]))) return true;
    return net->named && text_starts(net->name, "-") && quantity_parse(net->name, &volts) == net->name.len && unit_same(volts.unit, UNIT_VOLT) && volts.value < 0;
}

static void use_nets(Maker *maker) {
    const Bench *bench = maker->bench;
    uint32_t *drawn = arena_many(maker->arena, uint32_t, bench->nets.count), most = 0;
    bool *chip = arena_many(maker->arena, bool, bench->nets.count);
    for (uint32_t i = 0; i < maker->items.count; i++)
        for (uint32_t p = 0; p < maker->items.at[i].pin_count; p++) {
            uint32_t net = maker->items.at[i].pins[p].net;
            if (net == BENCH_NONE) continue;
            drawn[net]++;
            chip[net] |= item_is_box(&maker->items.at[i]);
        }
    maker->use = arena_many(maker->arena, NetUse, bench->nets.count);
    maker->net_name = arena_many(maker->arena, Text, bench->nets.count);
    maker->negative = arena_many(maker->arena, bool, bench->nets.count + 1);
    maker->ground = BENCH_NONE;
    Names *names = names_new(maker->arena);
    for (uint32_t n = 0; n < bench->nets.count; n++) {
        const BenchNet *net = &bench->nets.at[n];
        maker->net_name[n] = name_to_join_by(maker, names, n);
        bool few = net->named ? drawn[n] <= WIRED_NAMED_MOST && !chip[n] : drawn[n] <= WIRED_NAMELESS_MOST;
        maker->negative[n] = negative_name(net);
        bool low = maker->rails[n].ground || maker->negative[n];
        if (low && (drawn[n] > 1 || net->named || maker->beyond[n]))
            maker->use[n] = NET_GROUND;
        else if (drawn[n] < 2 && !maker->beyond[n])
            maker->use[n] = NET_LONE;
        else
            maker->use[n] = maker->rails[n].supply && (!few || maker->beyond[n]) ? NET_SUPPLY : NET_SIGNAL;
        if (maker->use[n] != NET_GROUND) continue;
        uint32_t weight = maker->negative[n] ? 1 : 1 + drawn[n]; /* a negative supply only where there is no ground */
        if (weight > most) most = weight, maker->ground = n;
    }
    if (maker->ground != BENCH_NONE) maker->negative[maker->ground] = false;
}

/* What one end of a part says of the net there: 1 that the part surely hangs from it (its other end is what a transistor
 * switches), 2 that it may, -1 that the net is no supply. */
static int hangs(const Maker *maker, const bool *driven, const Item *item, uint32_t pin) {
    uint32_t far = item->pins[1 - pin].net;
    if (far == BENCH_NONE || maker->use[far] == NET_SUPPLY || maker->use[far] == NET_GROUND) return -1;
    if (item->role == ITEM_CAPACITOR) return -1;
    return driven[far] ? 1 : 2;
}

/* A line that two or more parts hang from, one of them a load of a transistor, and nothing else is on: a supply that nobody
 * called so. */
static void find_tops(Maker *maker) {
    uint32_t nets = maker->bench->nets.count;
    maker->top = arena_many(maker->arena, bool, nets);
    bool *driven = arena_many(maker->arena, bool, nets), *no = arena_many(maker->arena, bool, nets);
    unsigned char *may = arena_many(maker->arena, unsigned char, nets), *surely = arena_many(maker->arena, unsigned char, nets);
    for (int round = 0; round < 2; round++)
        for (uint32_t i = 0; i < maker->items.count; i++) {
            const Item *item = &maker->items.at[i];
            for (uint32_t p = 0; p < item->pin_count; p++) {
                uint32_t net = item->pins[p].net;
                if (net == BENCH_NONE) continue;
                if (round == 0) {
                    driven[net] |= item->role == ITEM_TRANSISTOR && !item_control(item, p);
                    no[net] |= !item_two_ended(item) && !item_lone(item);
                    continue;
                }
                int hanging = item_two_ended(item) ? hangs(maker, driven, item, p) : 0;
                no[net] |= hanging < 0;
                if (hanging > 0 && may[net] < 2) may[net]++;
                if (hanging == 1) surely[net] = 1;
            }
        }
    for (uint32_t n = 0; n < nets; n++)
        maker->top[n] = maker->rails[n].supply || (maker->use[n] == NET_SIGNAL && !no[n] && may[n] >= 2 && surely[n] > 0);
}

/* ---- which way signals go ---- */

static bool has(Text text, const char *part) { return text_find(text, text_of(part)) != SIZE_MAX; }

static void flow_of_pins(Maker *maker) {
    static const char *const out[] = {"OUT", "VOUT", "OUT1", "OUT2", "TX", "TXD", "SW", "LX", "Q", "Y", "CHRG", "STDBY", "RESET", "OD", "OC"};
    static const char *const in[] = {"IN", "VIN", "IN+", "IN-", "RX", "RXD", "EN", "FB", "A", "TRIG", "THRES", "DISCH", "CTRL", "SCL", "CLK"};
    const Bench *bench = maker->bench;
    maker->flow = arena_many(maker->arena, signed char, bench->pins.count);
    for (uint32_t p = 0; p < bench->pins.count; p++) {
        const BenchKind *kind = bench->parts.at[bench->pins.at[p].part].kind;
        int position = bench->pins.at[p].position;
        bool two_sided = text_is(kind->name, "bridge") || text_is(kind->name, "transformer") || text_is(kind->name, "opto");
        if (text_is(kind->name, "mains-inlet") || text_is(kind->name, "usb-c")) maker->flow[p] = 1;
        if (two_sided && position >= 0) maker->flow[p] = position < 2 ? -1 : 1;
        if (maker->flow[p] != 0) continue;
        for (size_t i = 0; i < sizeof out / sizeof *out; i++)
            if (text_same_folded(bench->pins.at[p].function, text_of(out[i]))) maker->flow[p] = 1;
        for (size_t i = 0; i < sizeof in / sizeof *in; i++)
            if (text_same_folded(bench->pins.at[p].function, text_of(in[i]))) maker->flow[p] = -1;
    }
    const Reasoning *reasoning = maker->asked->reasoning;
    for (uint32_t c = reasoning->claims.count; c-- > 0;) {
        const ReasonClaim *claim = &reasoning->claims.at[c];
        for (uint32_t r = 0; r < claim->role_count; r++) {
            signed char *flow = &maker->flow[claim->roles[r].pin];
            if (has(claim->roles[r].role, "output")) *flow = 1;
            if (has(claim->roles[r].role, "input")) *flow = -1;
        }
    }
}

/* The surest idiom that a part is one of the own parts of. */
static void claims_of_parts(Maker *maker) {
    const Reasoning *reasoning = maker->asked->reasoning;
    size_t blocks;
    const Text *block = reason_blocks(&blocks);
    const ReasonClaim **best = arena_many(maker->arena, const ReasonClaim *, maker->bench->parts.count);
    for (uint32_t c = 0; c < reasoning->claims.count; c++) {
        const ReasonClaim *claim = &reasoning->claims.at[c];
        for (uint32_t i = 0; claim->sort == REASON_IDIOM && i < claim->own_count; i++) {
            const ReasonClaim **at = &best[claim->about[i]];
            if (*at == NULL || (*at)->decibans < claim->decibans) *at = claim;
        }
    }
    for (uint32_t i = 0; i < maker->items.count; i++) {
        Item *item = &maker->items.at[i];
        const ReasonClaim *claim = best[item->part];
        item->block = (uint32_t)blocks;
        if (claim == NULL) continue;
        item->claim = claim->id;
        for (uint32_t b = 0; b < blocks; b++)
            if (text_same(block[b], claim->block)) item->block = b;
    }
}

/* What a net is for, where all that is on it is for the same. */
static void claims_of_nets(Maker *maker) {
    uint32_t nets = maker->bench->nets.count;
    Text *claim = arena_many(maker->arena, Text, nets);
    bool *seen = arena_many(maker->arena, bool, nets);
    for (uint32_t i = 0; i < maker->items.count; i++) {
        const Item *item = &maker->items.at[i];
        for (uint32_t p = 0; p < item->pin_count && !item_is_box(item) && item->role != ITEM_TERMINAL; p++) {
            uint32_t net = item->pins[p].net;
            if (net == BENCH_NONE || maker->use[net] != NET_SIGNAL) continue;
            if (seen[net] && !text_same(claim[net], item->claim)) claim[net] = (Text){0};
            if (!seen[net]) claim[net] = item->claim, seen[net] = true;
        }
    }
    maker->drawing->net_claim = claim;
}

void maker_items(Maker *maker) {
    const bool *only = maker->asked->only;
    maker->beyond = arena_many(maker->arena, bool, maker->bench->nets.count + 1);
    for (uint32_t i = 0; i < maker->bench->parts.count; i++)
        if (only == NULL || only[i]) add_part(maker, i);
    for (uint32_t i = 0; only != NULL && i < maker->bench->pins.count; i++)
        maker->beyond[maker->bench->pins.at[i].net] |= !only[maker->bench->pins.at[i].part];
    maker->pin_place = arena_many(maker->arena, uint32_t, maker->bench->pins.count);
    for (uint32_t i = 0; i < maker->items.count; i++)
        for (uint32_t p = 0; p < maker->items.at[i].pin_count; p++)
            if (maker->items.at[i].pins[p].pin != BENCH_NONE) maker->pin_place[maker->items.at[i].pins[p].pin] = p;
    use_nets(maker);
    find_tops(maker);
    flow_of_pins(maker);
    claims_of_parts(maker);
    claims_of_nets(maker);
}

uint32_t maker_lone_end(Maker *maker, ItemRole role, uint32_t net, uint32_t pin) {
    size_t blocks;
    reason_blocks(&blocks);
    Item *item = list_add(maker->arena, &maker->items);
    *item = (Item){.role = role, .part = BENCH_NONE, .pin_count = 1, .block = (uint32_t)blocks};
    item->pins = arena_many(maker->arena, ItemPin, 1);
    item->pins[0] = (ItemPin){.side = SYMBOL_WEST, .pin = pin, .net = net};
    if (role == ITEM_FLAG) item->ref = maker->net_name[net];
    return maker->items.count - 1;
}
