/* Items into groups. A chip with many signals is the middle of one; what hangs together by signals without going through such
 * a chip is an island, and islands go to the chip that they share most nets with. What is joined to another group gets a
 * flag with the net's name. Islands are grown breadth first up to a size, so that no input makes a group that takes long. */
#include "draw/schematic_inside.h"

#include <stdlib.h>
#include <string.h>

enum { PASSING_SIGNALS = 3, SATELLITE_SIGNALS = 8, ISLAND_MOST = 40, ROW_MOST = 8, BUS_PINS = 12, HUB_ISLANDS_MOST = 24 };

typedef struct Use {
    uint32_t item, pin;
} Use;

typedef struct Grouper {
    Maker *maker;
    uint32_t *start; /* uses of signal net n: uses[start[n]] up to start[n + 1] */
    Use *uses;
    bool *hub;          /* by item */
    uint32_t *island;   /* by item; BENCH_NONE: not yet */
    uint32_t *group_of; /* by hub item */
    uint32_t *shared;   /* by item: scratch, all 0 between uses */
    Groups groups;
} Grouper;

static bool is_signal(const Maker *maker, uint32_t net) { return net != BENCH_NONE && maker->use[net] == NET_SIGNAL; }

static void list_uses(Grouper *g) {
    Maker *maker = g->maker;
    uint32_t nets = maker->bench->nets.count, total = 0;
    g->start = arena_many(maker->arena, uint32_t, nets + 1);
    for (uint32_t i = 0; i < maker->items.count; i++)
        for (uint32_t p = 0; p < maker->items.at[i].pin_count; p++)
            if (is_signal(maker, maker->items.at[i].pins[p].net)) g->start[maker->items.at[i].pins[p].net + 1]++, total++;
    for (uint32_t n = 0; n < nets; n++) g->start[n + 1] += g->start[n];
    uint32_t *next = arena_many(maker->arena, uint32_t, nets);
    memcpy(next, g->start, nets * sizeof *next);
    g->uses = arena_many(maker->arena, Use, total);
    for (uint32_t i = 0; i < maker->items.count; i++)
        for (uint32_t p = 0; p < maker->items.at[i].pin_count; p++)
            if (is_signal(maker, maker->items.at[i].pins[p].net)) g->uses[next[maker->items.at[i].pins[p].net]++] = (Use){i, p};
}

static uint32_t signals_of(const Grouper *g, const Item *item) {
    uint32_t count = 0;
    for (uint32_t p = 0; p < item->pin_count; p++) count += is_signal(g->maker, item->pins[p].net);
    return count;
}

/* Few signals, and of each it is known whether it enters or leaves: it stands in the signal's way like any other part. */
static bool passes_on(const Grouper *g, const Item *item) {
    uint32_t signals = 0;
    for (uint32_t p = 0; p < item->pin_count; p++) {
        if (!is_signal(g->maker, item->pins[p].net)) continue;
        signals++;
        if (item->pins[p].pin == BENCH_NONE || item->pins[p].name.len == 0 || g->maker->flow[item->pins[p].pin] == 0) return false;
    }
    return signals <= PASSING_SIGNALS;
}

/* The one other chip that its signals go to, BENCH_NONE when there is none or several. */
static uint32_t lord_of(const Grouper *g, uint32_t number) {
    const Item *item = &g->maker->items.at[number];
    uint32_t lord = BENCH_NONE;
    for (uint32_t p = 0; p < item->pin_count; p++) {
        if (!is_signal(g->maker, item->pins[p].net)) continue;
        for (uint32_t u = g->start[item->pins[p].net]; u < g->start[item->pins[p].net + 1]; u++) {
            uint32_t other = g->uses[u].item;
            if (other == number || !g->hub[other]) continue;
            if (lord != BENCH_NONE && lord != other) return BENCH_NONE;
            lord = other;
        }
    }
    return lord;
}

static uint32_t known_functions(const Item *item) {
    uint32_t count = 0;
    for (uint32_t p = 0; p < item->pin_count; p++) count += item->pins[p].name.len > 0;
    return count;
}

static void find_hubs(Grouper *g) {
    for (uint32_t i = 0; i < g->maker->items.count; i++) {
        const Item *item = &g->maker->items.at[i];
        g->hub[i] = item_is_box(item) && item->chip && signals_of(g, item) > 0 && !passes_on(g, item);
    }
    /* a small chip that speaks to one larger one only is drawn beside that; of two alike, the one that more is known of */
    for (uint32_t i = 0; i < g->maker->items.count; i++) {
        const Item *item = &g->maker->items.at[i];
        uint32_t signals = signals_of(g, item), lord = g->hub[i] && signals <= SATELLITE_SIGNALS ? lord_of(g, i) : BENCH_NONE;
        if (lord == BENCH_NONE) continue;
        const Item *other = &g->maker->items.at[lord];
        uint32_t others = signals_of(g, other);
        if (others > signals || (others == signals && known_functions(item) > known_functions(other))) g->hub[i] = false;
    }
}

/* ---- islands ---- */

static void grow_island(Grouper *g, uint32_t seed, uint32_t number, Island *island) {
    Maker *maker = g->maker;
    list_push(maker->arena, &island->items, seed);
    g->island[seed] = number;
    for (uint32_t head = 0; head < island->items.count; head++) {
        const Item *item = &maker->items.at[island->items.at[head]];
        for (uint32_t p = 0; p < item->pin_count; p++) {
            uint32_t net = item->pins[p].net;
            if (!is_signal(maker, net) || g->start[net + 1] - g->start[net] > BUS_PINS) continue;
            for (uint32_t u = g->start[net]; u < g->start[net + 1]; u++) {
                uint32_t other = g->uses[u].item;
                if (g->hub[other] || g->island[other] != BENCH_NONE || island->items.count >= ISLAND_MOST) continue;
                g->island[other] = number;
                list_push(maker->arena, &island->items, other);
            }
        }
    }
}

/* The chip that most of its pins go to. */
static uint32_t hub_for(Grouper *g, const Island *island) {
    uint32_t best = BENCH_NONE;
    for (int round = 0; round < 2; round++) /* count, then clear */
        for (uint32_t i = 0; i < island->items.count; i++) {
            const Item *item = &g->maker->items.at[island->items.at[i]];
            for (uint32_t p = 0; p < item->pin_count; p++) {
                uint32_t net = item->pins[p].net;
                if (!is_signal(g->maker, net) || g->start[net + 1] - g->start[net] > BUS_PINS) continue;
                for (uint32_t u = g->start[net]; u < g->start[net + 1]; u++) {
                    uint32_t hub = g->uses[u].item;
                    if (!g->hub[hub]) continue;
                    g->shared[hub] = round == 0 ? g->shared[hub] + 1 : 0;
                    if (round == 0 && (best == BENCH_NONE || g->shared[hub] > g->shared[best])) best = hub;
                }
            }
        }
    return best;
}

/* -1: signals only enter it, 1: they only leave it; 0: both, or it can't be told. */
static int one_way(const Maker *maker, const Item *item) {
    bool enter = false, leave = false;
    for (uint32_t p = 0; item->pin_count > 2 && p < item->pin_count; p++) {
        if (item->pins[p].pin == BENCH_NONE || !is_signal(maker, item->pins[p].net)) continue;
        enter |= maker->flow[item->pins[p].pin] < 0, leave |= maker->flow[item->pins[p].pin] > 0;
    }
    return enter == leave ? 0 : enter ? -1 : 1;
}

/* 1: what it does comes out of the chip; -1: it brings something to it; 0: can't be told. */
static int direction_of(const Grouper *g, const Island *island, uint32_t hub) {
    const Maker *maker = g->maker;
    static const int leaning[] = {[ITEM_LED] = 2,     [ITEM_LOAD] = 3,     [ITEM_TRANSISTOR] = 1, [ITEM_SWITCH] = -3,
                                  [ITEM_SOURCE] = -3, [ITEM_TERMINAL] = 0, [ITEM_PORT] = 0};
    int sum = 0;
    for (uint32_t i = 0; i < island->items.count; i++) {
        const Item *item = &maker->items.at[island->items.at[i]];
        sum += leaning[item->role];
        if (item->symbol != NULL && (strcmp(item->symbol->kind, "crystal") == 0 || strcmp(item->symbol->kind, "microphone") == 0)) sum -= 3;
        for (uint32_t p = 0; p < item->pin_count; p++) {
            if (!is_signal(maker, item->pins[p].net)) continue;
            for (uint32_t u = g->start[item->pins[p].net]; u < g->start[item->pins[p].net + 1]; u++)
                if (g->uses[u].item == hub) sum += 4 * maker->flow[maker->items.at[hub].pins[g->uses[u].pin].pin];
        }
        sum -= 2 * one_way(maker, item);
    }
    return sum > 0 ? 1 : sum < 0 ? -1 : 0;
}

/* Pins of the net inside the island. */
static uint32_t uses_inside(const Grouper *g, uint32_t net, uint32_t island) {
    uint32_t count = 0;
    for (uint32_t u = g->start[net]; u < g->start[net + 1]; u++) count += g->island[g->uses[u].item] == island;
    return count;
}

/* Ports to the chip's pins that have none yet, and a flag where the net goes on elsewhere. taken: by pin of the chip. */
static void add_ends(Grouper *g, Island *island, uint32_t number, uint32_t hub, bool *taken) {
    Maker *maker = g->maker;
    uint32_t parts = island->items.count;
    for (uint32_t i = 0; i < parts; i++)
        for (uint32_t p = 0; p < maker->items.at[island->items.at[i]].pin_count; p++) {
            uint32_t net = maker->items.at[island->items.at[i]].pins[p].net;
            if (!is_signal(maker, net)) continue;
            bool seen = false;
            for (uint32_t k = parts; k < island->items.count && !seen; k++) seen = maker->items.at[island->items.at[k]].pins[0].net == net;
            if (seen) continue;
            uint32_t inside = uses_inside(g, net, number), all = g->start[net + 1] - g->start[net];
            for (uint32_t u = g->start[net]; u < g->start[net + 1]; u++) {
                uint32_t h = g->uses[u].pin;
                if (g->uses[u].item != hub || taken[h]) continue;
                taken[h] = true, inside++;
                list_push(maker->arena, &island->items, maker_lone_end(maker, ITEM_PORT, net, maker->items.at[hub].pins[h].pin));
            }
            if (inside < all || maker->beyond[net]) list_push(maker->arena, &island->items, maker_lone_end(maker, ITEM_FLAG, net, BENCH_NONE));
        }
}

/* The chip's pins that no island serves: with a flag, or only joined to each other. */
static void add_flags(Grouper *g, Group *group, bool *taken) {
    Maker *maker = g->maker;
    uint32_t pins = maker->items.at[group->hub].pin_count;
    for (uint32_t h = 0; h < pins; h++) {
        ItemPin pin = maker->items.at[group->hub].pins[h];
        if (!is_signal(maker, pin.net) || taken[h]) continue;
        Island *island = list_add(maker->arena, &group->islands);
        uint32_t ports = 0;
        for (uint32_t u = g->start[pin.net]; u < g->start[pin.net + 1]; u++) {
            uint32_t k = g->uses[u].pin;
            if (g->uses[u].item != group->hub || taken[k]) continue;
            ItemPin other = maker->items.at[group->hub].pins[k];
            taken[k] = true, ports++;
            list_push(maker->arena, &island->items, maker_lone_end(maker, ITEM_PORT, other.net, other.pin));
        }
        island->direction = maker->flow[pin.pin];
        if (ports < g->start[pin.net + 1] - g->start[pin.net] || maker->beyond[pin.net])
            list_push(maker->arena, &island->items, maker_lone_end(maker, ITEM_FLAG, pin.net, BENCH_NONE));
    }
}

/* Islands of parts, each to its group. */
static void make_islands(Grouper *g) {
    Maker *maker = g->maker;
    uint32_t parts = maker->items.count, number = 0;
    for (uint32_t i = 0; i < parts; i++) {
        if (g->hub[i] || g->island[i] != BENCH_NONE || signals_of(g, &maker->items.at[i]) == 0) continue;
        Island island = {0};
        grow_island(g, i, number++, &island);
        uint32_t hub = hub_for(g, &island);
        if (hub != BENCH_NONE && g->groups.at[g->group_of[hub]].islands.count >= HUB_ISLANDS_MOST) hub = BENCH_NONE;
        Group *group = hub != BENCH_NONE ? &g->groups.at[g->group_of[hub]] : list_add(maker->arena, &g->groups);
        if (hub == BENCH_NONE) *group = (Group){.hub = BENCH_NONE};
        if (hub != BENCH_NONE) island.direction = direction_of(g, &island, hub);
        list_push(maker->arena, &group->islands, island);
    }
}

/* What no signal reaches: capacitors across a supply, lone parts; in rows. */
static void make_rows(Grouper *g, uint32_t parts) {
    Maker *maker = g->maker;
    for (int rails = 1; rails >= 0; rails--) {
        Group *row = NULL;
        for (uint32_t i = 0; i < parts; i++) {
            const Item *item = &maker->items.at[i];
            if (g->hub[i] || signals_of(g, item) > 0) continue;
            bool on_rail = false;
            for (uint32_t p = 0; p < item->pin_count; p++)
                on_rail |= item->pins[p].net != BENCH_NONE && maker->use[item->pins[p].net] > NET_SIGNAL;
            if (on_rail != (rails == 1)) continue;
            if (row == NULL || row->islands.at[0].items.count >= ROW_MOST) {
                row = list_add(maker->arena, &g->groups);
                *row = (Group){.hub = BENCH_NONE};
                *list_add(maker->arena, &row->islands) = (Island){0};
            }
            list_push(maker->arena, &row->islands.at[0].items, i);
        }
    }
}

static uint32_t main_block(const Maker *maker, const Group *group, uint32_t blocks) {
    uint32_t *votes = arena_many(maker->arena, uint32_t, blocks + 1), best = blocks;
    for (uint32_t i = 0; i < group->items.count; i++)
        if (maker->items.at[group->items.at[i]].part != BENCH_NONE) votes[maker->items.at[group->items.at[i]].block]++;
    for (uint32_t b = blocks; b-- > 0;)
        if (votes[b] > 0 && (best == blocks || votes[b] >= votes[best])) best = b;
    return best;
}

static void finish(Grouper *g) {
    Maker *maker = g->maker;
    size_t blocks;
    reason_blocks(&blocks);
    for (uint32_t i = 0; i < g->groups.count; i++) {
        Group *group = &g->groups.at[i];
        if (group->hub != BENCH_NONE) list_push(maker->arena, &group->items, group->hub);
        for (uint32_t k = 0; k < group->islands.count; k++)
            for (uint32_t m = 0; m < group->islands.at[k].items.count; m++)
                if (maker->items.at[group->islands.at[k].items.at[m]].role != ITEM_PORT)
                    list_push(maker->arena, &group->items, group->islands.at[k].items.at[m]);
        group->block = main_block(maker, group, (uint32_t)blocks);
    }
}

Groups maker_groups(Maker *maker) {
    uint32_t parts = maker->items.count, number = 0;
    Arena *arena = maker->arena;
    Grouper g = {.maker = maker, .hub = arena_many(arena, bool, parts), .island = arena_many(arena, uint32_t, parts),
                 .group_of = arena_many(arena, uint32_t, parts), .shared = arena_many(arena, uint32_t, parts)};
    for (uint32_t i = 0; i < parts; i++) g.island[i] = BENCH_NONE;
    list_uses(&g);
    find_hubs(&g);
    for (uint32_t i = 0; i < parts; i++) {
        if (!g.hub[i]) continue;
        g.group_of[i] = g.groups.count;
        list_push(arena, &g.groups, ((Group){.hub = i}));
    }
    make_islands(&g);
    make_rows(&g, parts);
    for (uint32_t i = 0; i < g.groups.count; i++) {
        Group *group = &g.groups.at[i];
        bool *taken = group->hub == BENCH_NONE ? NULL : arena_many(arena, bool, maker->items.at[group->hub].pin_count);
        for (uint32_t k = 0; k < group->islands.count; k++) {
            Island *island = &group->islands.at[k];
            number = island->items.count > 0 ? g.island[island->items.at[0]] : BENCH_NONE;
            if (number != BENCH_NONE) add_ends(&g, island, number, group->hub, taken);
        }
        if (group->hub != BENCH_NONE) add_flags(&g, group, taken);
    }
    finish(&g);
    return g.groups;
}
