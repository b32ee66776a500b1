/* Ranks: how far along its way a signal is on each net, breadth first from where signals come in, through transistors and
 * amplifiers from their control to what they drive. From left to right ranks grow; what lies is turned so. */
#include "draw/schematic_inside.h"

#include <limits.h>
#include <string.h>

enum { RANK_NONE = INT_MIN, TOP_RANK = 1000 /* a supply is before all signals */ };

/* ---- ranks ---- */

static int flow_at(const Maker *maker, const ItemPin *pin) { return pin->pin == BENCH_NONE ? 0 : maker->flow[pin->pin]; }

/* Could a signal that is at pin `from` come out at pin `to`? */
static bool passes(const Maker *maker, const Item *item, uint32_t from, uint32_t to, bool backwards) {
    if (backwards) return true;
    if (item->role == ITEM_TRANSISTOR) return item_control(item, from) || !item_control(item, to);
    if (item->pin_count <= 2) return true;
    return flow_at(maker, &item->pins[from]) <= 0 && flow_at(maker, &item->pins[to]) >= 0;
}

typedef struct Ranker {
    Maker *maker;
    Island *island;
    uint32_t *queue; /* nets */
    uint32_t head, tail;
    uint32_t *reach, *walked, walk; /* size nets */
    uint32_t *depth, driven_depth;  /* size nets: things between it and where reach_passively began; the least to a driven net */
} Ranker;

static void reach(Ranker *r, uint32_t net, int rank) {
    if (net == BENCH_NONE || r->island->nets.at[net].rank != RANK_NONE) return;
    r->island->nets.at[net].rank = rank;
    r->queue[r->tail++] = net;
}

static void spread_ranks(Ranker *r, int step) {
    while (r->head < r->tail) {
        const IslandNet *net = &r->island->nets.at[r->queue[r->head++]];
        if (r->maker->top[net->net]) continue; /* a supply is everywhere */
        for (uint32_t i = 0; i < net->count; i++) {
            const Item *item = &r->maker->items.at[net->pins[i].item];
            for (uint32_t p = 0; p < item->pin_count; p++)
                if (passes(r->maker, item, net->pins[i].pin, p, step < 0))
                    reach(r, r->island->nets_of[item->place][p], net->rank + step);
        }
    }
}

static bool takes_signals(const Ranker *r, const Item *item) {
    for (uint32_t p = 0; p < item->pin_count; p++)
        if (r->island->nets_of[item->place][p] != BENCH_NONE && flow_at(r->maker, &item->pins[p]) <= 0) return true;
    return false;
}

/* How much a net looks like one where a signal comes in; 0: not at all. */
static int source_like(const Ranker *r, const IslandNet *net) {
    int score = 0;
    for (uint32_t i = 0; i < net->count; i++) {
        const Item *item = &r->maker->items.at[net->pins[i].item];
        int flow = flow_at(r->maker, &item->pins[net->pins[i].pin]);
        if (item->role == ITEM_TRANSISTOR) score += item_control(item, net->pins[i].pin) ? 1 : -4;
        if (item->role == ITEM_SOURCE && net->pins[i].pin == 0) score += 8;
        if (item->role == ITEM_TERMINAL || item->role == ITEM_FLAG) score += 2;
        if (item->role == ITEM_LOAD) score -= 2;
        if (item->symbol != NULL && (strcmp(item->symbol->kind, "microphone") == 0 || strcmp(item->symbol->kind, "antenna") == 0)) score += 6;
        if (flow > 0) score += item->feeds ? 8 : takes_signals(r, item) ? -3 : 5;
        if (item_is_box(item) && flow < 0) score += 1;
    }
    return score;
}

/* What makes a supply begins several nets at once. */
static void reach_feeders(Ranker *r, const IslandNet *net) {
    for (uint32_t i = 0; i < net->count; i++) {
        const Item *item = &r->maker->items.at[net->pins[i].item];
        for (uint32_t p = 0; item->feeds && p < item->pin_count; p++)
            if (flow_at(r->maker, &item->pins[p]) > 0) reach(r, r->island->nets_of[item->place][p], 0);
    }
}

static bool driven(const Ranker *r, const IslandNet *net) {
    for (uint32_t i = 0; i < net->count; i++) {
        const Item *item = &r->maker->items.at[net->pins[i].item];
        if (item->role == ITEM_TRANSISTOR && !item_control(item, net->pins[i].pin)) return true;
        if ((item->pin_count > 2 || item->feeds || item->role == ITEM_PORT) && flow_at(r->maker, &item->pins[net->pins[i].pin]) > 0) return true;
    }
    return false;
}

static bool comes_in(const Ranker *r, const IslandNet *net) {
    for (uint32_t i = 0; i < net->count; i++)
        if (item_lone(&r->maker->items.at[net->pins[i].item])) return true;
    return false;
}

/* What a net is joined to through things of two ends that nothing drives, nearest first: r->reach, its count. */
static uint32_t reach_passively(Ranker *r, uint32_t net) {
    uint32_t head = 0, tail = 0, *queue = r->reach;
    r->walk++;
    r->driven_depth = UINT32_MAX;
    queue[tail++] = net, r->walked[net] = r->walk, r->depth[net] = 0;
    while (head < tail) {
        uint32_t depth = r->depth[queue[head]] + 1;
        const IslandNet *at = &r->island->nets.at[queue[head++]];
        for (uint32_t i = 0; i < at->count; i++) {
            const Item *item = &r->maker->items.at[at->pins[i].item];
            if (!item_two_ended(item)) continue;
            uint32_t next = r->island->nets_of[item->place][1 - at->pins[i].pin];
            if (next == BENCH_NONE || r->walked[next] == r->walk) continue;
            const IslandNet *beyond = &r->island->nets.at[next];
            if (beyond->driven && depth < r->driven_depth) r->driven_depth = depth;
            if (beyond->rank != RANK_NONE || r->maker->top[beyond->net] || beyond->driven) continue;
            queue[tail++] = next, r->walked[next] = r->walk, r->depth[next] = depth;
        }
    }
    return tail;
}

static bool controls(const Ranker *r, const IslandNet *net) {
    for (uint32_t i = 0; i < net->count; i++) {
        const Item *item = &r->maker->items.at[net->pins[i].item];
        if (item_control(item, net->pins[i].pin)) return true;
        if (item->pin_count > 2 && flow_at(r->maker, &item->pins[net->pins[i].pin]) < 0) return true;
    }
    return false;
}

/* Ends that are nearer to a control than to anything that drives them: signals come in there, all at once. */
static void reach_inputs(Ranker *r) {
    for (uint32_t n = 0; n < r->island->nets.count; n++) {
        const IslandNet *net = &r->island->nets.at[n];
        if (net->driven || r->maker->top[net->net] || !comes_in(r, net)) continue;
        uint32_t count = reach_passively(r, n);
        for (uint32_t i = 0; i < count; i++)
            if (controls(r, &r->island->nets.at[r->reach[i]]) && r->depth[r->reach[i]] < r->driven_depth) reach(r, n, 0);
    }
}

static void rank_nets(Ranker *r) {
    Island *island = r->island;
    for (uint32_t n = 0; n < island->nets.count; n++) island->nets.at[n].rank = RANK_NONE;
    for (uint32_t i = 0; i < island->items.count && island->direction != 0; i++)
        if (r->maker->items.at[island->items.at[i]].role == ITEM_PORT) reach(r, r->island->nets_of[i][0], 0);
    if (island->direction == 0) reach_inputs(r);
    if (r->tail > 0) spread_ranks(r, island->direction < 0 ? -1 : 1);
    for (;;) { /* from the likeliest source on, then from what that has not reached */
        uint32_t best = BENCH_NONE;
        int best_score = INT_MIN;
        for (uint32_t n = 0; n < island->nets.count; n++) {
            if (island->nets.at[n].rank != RANK_NONE) continue;
            int score = source_like(r, &island->nets.at[n]) - (r->maker->top[island->nets.at[n].net] && island->direction == 0 ? 1 : 0);
            if (score > best_score) best = n, best_score = score;
        }
        if (best == BENCH_NONE) return;
        /* its resistor, its switch: the signal begins where it is farthest from */
        if (!island->nets.at[best].driven && !comes_in(r, &island->nets.at[best])) best = r->reach[reach_passively(r, best) - 1];
        reach(r, best, 0);
        reach_feeders(r, &island->nets.at[best]);
        spread_ranks(r, island->direction < 0 ? -1 : 1);
    }
}

/* ---- what follows from ranks ---- */

/* Those that look to the wrong side are mirrored: the pin with the lower rank goes west. */
static void face(const Ranker *r, Item *item) {
    double west = 0, east = 0, wests = 0, easts = 0;
    bool driven = false;
    for (uint32_t p = 0; p < item->pin_count; p++) {
        uint32_t number = r->island->nets_of[item->place][p];
        if (number == BENCH_NONE) continue;
        const IslandNet *net = &r->island->nets.at[number];
        double rank = r->maker->top[net->net] && !item_lone(item) ? -TOP_RANK : net->rank;
        driven |= net->driven;
        if (item->pins[p].side == SYMBOL_WEST) west += rank, wests++;
        if (item->pins[p].side == SYMBOL_EAST) east += rank, easts++;
    }
    if (item->role == ITEM_PORT) {
        if ((r->island->direction > 0) != item->mirrored) item_flip(item);
    } else if (item_lone(item)) {
        bool brings = r->island->direction != 0 ? r->island->direction < 0 : west + east <= 0 && !driven;
        if (brings != item->mirrored) item_flip(item);
    } else if (wests > 0 && easts > 0 && item_two_ended(item) && !item->standing && west / wests > east / easts) {
        item_flip(item);
    }
}

static void find_nets_of(Maker *maker, Island *island) {
    Arena *arena = maker->arena;
    island->nets_of = arena_many(arena, uint32_t *, island->items.count);
    for (uint32_t i = 0; i < island->items.count; i++) {
        uint32_t pins = maker->items.at[island->items.at[i]].pin_count;
        island->nets_of[i] = arena_many(arena, uint32_t, pins);
        for (uint32_t p = 0; p < pins; p++) island->nets_of[i][p] = BENCH_NONE;
    }
    for (uint32_t n = 0; n < island->nets.count; n++)
        for (uint32_t i = 0; i < island->nets.at[n].count; i++) {
            const IslandPin *pin = &island->nets.at[n].pins[i];
            island->nets_of[maker->items.at[pin->item].place][pin->pin] = n;
        }
}

/* Mirrors what looks the wrong way; the strip of a slot of one item follows. */
static void face_all(const Ranker *r) {
    Island *island = r->island;
    for (uint32_t i = 0; i < island->slots.count; i++) {
        Slot *slot = &island->slots.at[i];
        Item *item = &r->maker->items.at[island->stacked[slot->first]];
        bool was = item->mirrored;
        face(r, item);
        if (was == item->mirrored) continue;
        for (uint32_t k = 1; k < slot->count; k++) item_flip(&r->maker->items.at[island->stacked[slot->first + k]]);
        int left = slot->left;
        slot->left = slot->right, slot->right = left;
    }
}

void island_rank(Maker *maker, Island *island) {
    Arena *arena = maker->arena;
    uint32_t nets = island->nets.count;
    Ranker r = {.maker = maker, .island = island, .queue = arena_many(arena, uint32_t, nets), .reach = arena_many(arena, uint32_t, nets), .depth = arena_many(arena, uint32_t, nets),
                .walked = arena_many(arena, uint32_t, nets)};
    find_nets_of(maker, island);
    for (uint32_t n = 0; n < nets; n++) island->nets.at[n].driven = driven(&r, &island->nets.at[n]);
    rank_nets(&r);
    island_bridges(maker, island);
    face_all(&r);
}
