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

static void stand(Item *item, uint32_t pin_on_top) {
    item_turn(item, pin_on_top == 0 ? 1 : 3, false);
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

/* By the rails at its ends, where those tell. */
static void turn_by_rails(const Turner *t, Item *item) {
    NetUse a = use_of(t, item->pins[0].net), b = use_of(t, item->pins[1].net);
    if (item->role == ITEM_SOURCE)
        stand(item, 0);
    else if (b == NET_GROUND)
        stand(item, 0);
    else if (a == NET_GROUND)
        stand(item, 1);
    else if (a == NET_SUPPLY && b == NET_SUPPLY)
        lie(item);
    else if (a == NET_SUPPLY && (b == NET_LONE || !feeds(item, 0)))
        stand(item, 0);
    else if (b == NET_SUPPLY && (a == NET_LONE || !feeds(item, 1)))
        stand(item, 1);
    else if (a != NET_SIGNAL || b != NET_SIGNAL)
        lie(item);
}

/* Where the path that a transistor switches leads from one supply to another it lies, its control below. */
static void turn_transistor(const Turner *t, Item *item) {
    uint32_t north = 1, south = 2;
    for (uint32_t p = 0; p < item->pin_count && p < SYMBOL_PINS_MOST; p++) {
        if (item->symbol->pins[p].side == SYMBOL_NORTH) north = p;
        if (item->symbol->pins[p].side == SYMBOL_SOUTH) south = p;
    }
    NetUse up = use_of(t, item->pins[north].net), down = use_of(t, item->pins[south].net);
    bool both = up == NET_SUPPLY && down == NET_SUPPLY;
    bool upside_down = (down == NET_SUPPLY && up != NET_SUPPLY) || (up == NET_GROUND && down != NET_GROUND);
    bool mirrored = upside_down; /* so that the control stays west */
    if (both)
        item_turn(item, 3, false);
    else
        item_turn(item, upside_down ? 2 : 0, mirrored);
    item->standing = !both;
    item->turned = true;
}

static void turn_known(const Turner *t, Item *item) {
    if (item->turned) return;
    if (item_lone(item) || item->symbol == NULL) {
        if (item_is_box(item) && !item->turned) item_box_pins(t->maker, item);
        item_turn(item, 0, item->mirrored);
        item->turned = true;
    } else if (item_two_ended(item)) {
        turn_by_rails(t, item);
    } else if (item->role == ITEM_TRANSISTOR) {
        turn_transistor(t, item);
    } else {
        lie(item);
    }
}

/* ---- what stands because of its neighbours ---- */

typedef struct Neighbour {
    bool series; /* nothing else is on the net */
    bool above, below; /* the one other pin of a part on the net looks down from above, or up from below */
} Neighbour;

static Neighbour neighbour_at(const Turner *t, uint32_t item, uint32_t net) {
    const IslandNet *at = &t->island->nets.at[t->local[net]];
    Neighbour found = {.series = at->count == 2};
    uint32_t others = 0;
    for (uint32_t i = 0; i < at->count; i++) {
        const Item *other = &t->maker->items.at[at->pins[i].item];
        if (at->pins[i].item == item || item_lone(other)) continue;
        others++;
        if (!other->turned) continue;
        SymbolSide side = other->pins[at->pins[i].pin].side;
        found.above |= side == SYMBOL_SOUTH, found.below |= side == SYMBOL_NORTH;
    }
    if (others != 1) found.above = found.below = false;
    return found;
}

static bool stand_in_series(const Turner *t, uint32_t number) {
    Item *item = &t->maker->items.at[number];
    if (item->pins[0].net == item->pins[1].net) return false;
    Neighbour a = neighbour_at(t, number, item->pins[0].net), b = neighbour_at(t, number, item->pins[1].net);
    bool extends = item->role == ITEM_RESISTOR || item->role == ITEM_LED || item->role == ITEM_LOAD;
    if ((a.above && b.below) || (extends && a.series && a.above) || (extends && b.series && b.below)) return stand(item, 0), true;
    if ((b.above && a.below) || (extends && b.series && b.above) || (extends && a.series && a.below)) return stand(item, 1), true;
    return false;
}

static bool stand_in_parallel(const Turner *t, uint32_t number) {
    Item *item = &t->maker->items.at[number];
    const IslandNet *at = &t->island->nets.at[t->local[item->pins[0].net]];
    for (uint32_t i = 0; i < at->count; i++) {
        const Item *other = &t->maker->items.at[at->pins[i].item];
        if (at->pins[i].item == number || !item_two_ended(other) || !other->turned || !other->standing) continue;
        uint32_t same = at->pins[i].pin;
        if (other->pins[1 - same].net != item->pins[1].net) continue;
        stand(item, other->pins[same].side == SYMBOL_NORTH ? 0 : 1);
        return true;
    }
    return false;
}

void island_turn(Maker *maker, Island *island, uint32_t *local) {
    Turner t = {maker, island, local};
    find_nets(&t);
    for (uint32_t i = 0; i < island->items.count; i++) turn_known(&t, &maker->items.at[island->items.at[i]]);
    bool changed = true;
    for (int round = 0; changed && round < ROUNDS_MOST; round++) {
        changed = false;
        for (uint32_t i = 0; i < island->items.count; i++) {
            uint32_t number = island->items.at[i];
            if (!maker->items.at[number].turned) changed |= stand_in_series(&t, number) || stand_in_parallel(&t, number);
        }
    }
    for (uint32_t i = 0; i < island->items.count; i++)
        if (!maker->items.at[island->items.at[i]].turned) lie(&maker->items.at[island->items.at[i]]);
    for (uint32_t n = 0; n < island->nets.count; n++) local[island->nets.at[n].net] = BENCH_NONE;
}
