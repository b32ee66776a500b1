/* Which way round each item stands. Currents run from top to bottom, signals from left to right: what leads to ground or to
 * a supply stands, what passes a signal on lies. What lies in series with something standing stands too (a load's resistor,
 * the two halves of a divider), and what is parallel to it. Common practice. */
#include "draw/schematic_inside.h"

#include <string.h>

enum { ROUNDS_MOST = 8 };

typedef struct Turner {
    Maker *maker;
    Island *island;
    uint32_t *local; /* by net: number in island->nets */
} Turner;

static NetUse use_of(const Turner *t, uint32_t net) { return net == BENCH_NONE ? NET_LONE : t->maker->use[net]; }

/* The nets with their pins; slots are not known yet. */
static void find_nets(Turner *t) {
    Island *island = t->island;
    Arena *arena = t->maker->arena;
    island->nets.count = 0;
    for (int round = 0; round < 2; round++) {
        for (uint32_t n = 0; round == 1 && n < island->nets.count; n++) {
            island->nets.at[n].pins = arena_many(arena, IslandPin, island->nets.at[n].count);
            island->nets.at[n].count = 0;
        }
        for (uint32_t i = 0; i < island->items.count; i++) {
            const Item *item = &t->maker->items.at[island->items.at[i]];
            for (uint32_t p = 0; p < item->pin_count; p++) {
                uint32_t net = item->pins[p].net;
                if (use_of(t, net) != NET_SIGNAL) continue;
                if (t->local[net] == BENCH_NONE) {
                    t->local[net] = island->nets.count;
                    list_push(arena, &island->nets, (IslandNet){.net = net});
                }
                IslandNet *at = &island->nets.at[t->local[net]];
                if (round == 1) at->pins[at->count] = (IslandPin){.item = island->items.at[i], .pin = p};
                at->count++;
            }
        }
    }
}

/* What a symbol has beside it, an arrow or a plus, stays to the right. */
static void stand(Item *item, uint32_t pin_on_top) {
    item_turn(item, 1, pin_on_top != 0);
    item->standing = item->turned = true;
}

static void lie(Item *item) {
    item_turn(item, 0, false);
    item->turned = true;
}

/* Between a supply and something else, does it feed that (lie) or hang from it (stand)? */
static bool feeds(const Item *item, uint32_t supply_pin) {
    if (item->role == ITEM_SERIES || item->role == ITEM_SWITCH) return true;
    return item->role == ITEM_DIODE && supply_pin == 0; /* its anode */
}

static bool is_top(const Turner *t, uint32_t net) { return net != BENCH_NONE && t->maker->top[net]; }

/* By the rails at its ends, where those tell. */
static void turn_by_rails(const Turner *t, Item *item) {
    NetUse a = use_of(t, item->pins[0].net), b = use_of(t, item->pins[1].net);
    if (item->role == ITEM_SOURCE)
        stand(item, 0);
    else if (b == NET_GROUND)
        stand(item, a == NET_GROUND && t->maker->negative[item->pins[0].net] ? 1 : 0);
    else if (a == NET_GROUND)
        stand(item, 1);
    else if (is_top(t, item->pins[0].net) && is_top(t, item->pins[1].net))
        lie(item);
    else if (is_top(t, item->pins[0].net) && (b == NET_LONE || !feeds(item, 0)))
        stand(item, 0);
    else if (is_top(t, item->pins[1].net) && (a == NET_LONE || !feeds(item, 1)))
        stand(item, 1);
    else if (a != NET_SIGNAL || b != NET_SIGNAL)
        lie(item);
}

/* A symbol whose current runs from north to south, the other way up where its nets want that. Where the path that a transistor
 * switches leads from one supply to another it lies, its control below. */
static void turn_upright(const Turner *t, Item *item) {
    uint32_t north = 0, south = 0;
    for (uint32_t p = item->pin_count; p-- > 0;) { /* backwards: of several the first, a relay's coil */
        if (item->symbol->pins[p].side == SYMBOL_NORTH) north = p;
        if (item->symbol->pins[p].side == SYMBOL_SOUTH) south = p;
    }
    bool switches = item->role == ITEM_TRANSISTOR;
    bool up_top = is_top(t, item->pins[north].net), down_top = is_top(t, item->pins[south].net), both = switches && up_top && down_top;
    bool up_ground = use_of(t, item->pins[north].net) == NET_GROUND, down_ground = use_of(t, item->pins[south].net) == NET_GROUND;
    bool upside_down = (down_top && !up_top) || (up_ground && !down_ground);
    bool mirrored = upside_down; /* so that the control stays west */
    if (both)
        item_turn(item, 3, false);
    else
        item_turn(item, upside_down ? 2 : 0, mirrored);
    item->standing = switches && !both;
    item->turned = true;
}

static bool has_both_poles(const Symbol *symbol) {
    unsigned sides = 0;
    for (unsigned p = 0; p < symbol->pin_count; p++) sides |= 1u << symbol->pins[p].side;
    return (sides & 1u << SYMBOL_NORTH) != 0 && (sides & 1u << SYMBOL_SOUTH) != 0;
}

static void turn_potentiometer(const Turner *t, Item *item) {
    NetUse a = use_of(t, item->pins[0].net), b = use_of(t, item->pins[2].net);
    if (b == NET_GROUND || is_top(t, item->pins[0].net))
        item_turn(item, 1, false);
    else if (a == NET_GROUND || is_top(t, item->pins[2].net))
        item_turn(item, 1, true);
    else
        item_turn(item, 0, false);
    item->turned = true;
    item->standing = item->turn != 0;
}

static bool has_port(const Turner *t, uint32_t net) {
    if (use_of(t, net) != NET_SIGNAL) return false;
    const IslandNet *at = &t->island->nets.at[t->local[net]];
    for (uint32_t i = 0; i < at->count; i++)
        if (t->maker->items.at[at->pins[i].item].role == ITEM_PORT) return true;
    return false;
}

/* Beside a larger chip, a small one turns its pins to that. */
static void turn_box(const Turner *t, Item *item) {
    int towards = -t->island->direction;
    for (uint32_t p = 0; p < item->pin_count && towards != 0; p++)
        if (item->pins[p].pin != BENCH_NONE)
            t->maker->flow[item->pins[p].pin] = (signed char)(has_port(t, item->pins[p].net) ? towards : -towards);
    item_box_pins(t->maker, item);
}

static void turn_known(const Turner *t, Item *item) {
    if (item->turned) return;
    if (item_lone(item) || item->symbol == NULL) {
        if (item_is_box(item)) turn_box(t, item);
        item_turn(item, 0, item->mirrored);
        item->turned = true;
    } else if (item_two_ended(item)) {
        turn_by_rails(t, item);
    } else if (strcmp(item->symbol->kind, "potentiometer") == 0) {
        turn_potentiometer(t, item);
    } else if (has_both_poles(item->symbol)) {
        turn_upright(t, item);
    } else {
        lie(item);
    }
}

/* ---- what stands because of its neighbours ---- */

typedef struct Neighbour {
    bool series;       /* nothing else is on the net */
    bool above, below; /* the one other pin of a part on the net looks down from above, or up from below */
    bool any_below;    /* one of several does */
    bool resistor_below;
    bool port;
} Neighbour;

static Neighbour neighbour_at(const Turner *t, uint32_t item, uint32_t net) {
    const IslandNet *at = &t->island->nets.at[t->local[net]];
    Neighbour found = {.series = at->count == 2};
    uint32_t others = 0;
    for (uint32_t i = 0; i < at->count; i++) {
        const Item *other = &t->maker->items.at[at->pins[i].item];
        found.port |= other->role == ITEM_PORT;
        if (at->pins[i].item == item || item_lone(other)) continue;
        others++;
        if (!other->turned) continue;
        SymbolSide side = other->pins[at->pins[i].pin].side;
        found.above |= side == SYMBOL_SOUTH, found.below |= side == SYMBOL_NORTH;
        found.resistor_below |= side == SYMBOL_NORTH && other->role == ITEM_RESISTOR;
    }
    found.any_below = found.below;
    if (others != 1) found.above = found.below = false;
    return found;
}

static bool stand_in_series(const Turner *t, uint32_t number) {
    Item *item = &t->maker->items.at[number];
    if (item->pins[0].net == item->pins[1].net) return false;
    Neighbour a = neighbour_at(t, number, item->pins[0].net), b = neighbour_at(t, number, item->pins[1].net);
    bool extends = item->role == ITEM_RESISTOR || item->role == ITEM_LED || item->role == ITEM_LOAD;
    bool divides = item->role == ITEM_RESISTOR; /* the upper half of a divider from a line that others hang from */
    if (divides && a.any_below && b.resistor_below) return stand(item, 0), true;
    if (divides && b.any_below && a.resistor_below) return stand(item, 1), true;
    if ((a.above && b.below) || (extends && a.series && a.above) || (extends && b.series && b.below)) return stand(item, 0), true;
    if ((b.above && a.below) || (extends && b.series && b.above) || (extends && a.series && a.below)) return stand(item, 1), true;
    if (a.port && b.port) return stand(item, 0), true; /* between two pins of the chip: a crystal */
    return false;
}

static bool stand_in_parallel(const Turner *t, uint32_t number) {
    Item *item = &t->maker->items.at[number];
    const IslandNet *at = &t->island->nets.at[t->local[item->pins[0].net]];
    for (uint32_t i = 0; i < at->count; i++) {
        const Item *other = &t->maker->items.at[at->pins[i].item];
        if (at->pins[i].item == number || item_lone(other) || !other->turned) continue;
        SymbolSide side = other->pins[at->pins[i].pin].side;
        if (side != SYMBOL_NORTH && side != SYMBOL_SOUTH) continue;
        for (uint32_t p = 0; p < other->pin_count; p++) {
            if (other->pins[p].net != item->pins[1].net || (other->pins[p].side + 2) % 4 != side) continue;
            stand(item, side == SYMBOL_NORTH ? 0 : 1);
            return true;
        }
    }
    return false;
}

/* Lamps the other way round between the same two lines (charlieplexed, or two colours on two wires) stand between these, the
 * line that was named first on top. */
static bool stand_against(const Turner *t, uint32_t number) {
    Item *item = &t->maker->items.at[number];
    uint32_t a = item->pins[0].net, k = item->pins[1].net;
    if (item->role != ITEM_LED || a == k) return false;
    const IslandNet *at = &t->island->nets.at[t->local[a]];
    for (uint32_t i = 0; i < at->count; i++) {
        const Item *other = &t->maker->items.at[at->pins[i].item];
        if (other->role != ITEM_LED || other->pins[0].net != k || other->pins[1].net != a) continue;
        return stand(item, a < k ? 0 : 1), true;
    }
    return false;
}

void island_turn(Maker *maker, Island *island, uint32_t *local) {
    Turner t = {maker, island, local};
    find_nets(&t);
    for (uint32_t i = 0; i < island->items.count; i++) turn_known(&t, &maker->items.at[island->items.at[i]]);
    for (uint32_t i = 0; i < island->items.count; i++)
        if (!maker->items.at[island->items.at[i]].turned) stand_against(&t, island->items.at[i]);
    bool changed = true;
    for (int round = 0; changed && round < ROUNDS_MOST; round++) {
        changed = false;
        for (uint32_t i = 0; i < island->items.count; i++) {
            uint32_t number = island->items.at[i];
            if (!maker->items.at[number].turned) changed |= stand_in_parallel(&t, number) || stand_in_series(&t, number);
        }
    }
    for (uint32_t i = 0; i < island->items.count; i++)
        if (!maker->items.at[island->items.at[i]].turned) lie(&maker->items.at[island->items.at[i]]);
    for (uint32_t n = 0; n < island->nets.count; n++) local[island->nets.at[n].net] = BENCH_NONE;
}
