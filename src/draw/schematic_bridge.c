/* Bridges: a load between two half bridges, each a transistor from the supply above one to ground. Drawn as an H: the half
 * on the right is mirrored, and what controls it comes from the right. Common practice. */
#include "draw/schematic_inside.h"

typedef struct Bridger {
    Maker *maker;
    Island *island;
    uint32_t *reached; /* nets: what leads to the controls of the right half */
    uint32_t count;
    bool *in; /* size nets */
} Bridger;

static const ItemPin *pin_of(const Bridger *b, const IslandPin *pin) {
    return &b->maker->items.at[pin->item].pins[pin->pin];
}

/* A transistor's path ends here from above, another's begins here downwards. */
static bool is_half(const Bridger *b, const IslandNet *net) {
    bool above = false, below = false;
    for (uint32_t i = 0; i < net->count; i++) {
        const Item *item = &b->maker->items.at[net->pins[i].item];
        if (item->role != ITEM_TRANSISTOR || !item->standing || item_control(item, net->pins[i].pin)) continue;
        above |= pin_of(b, &net->pins[i])->side == SYMBOL_SOUTH, below |= pin_of(b, &net->pins[i])->side == SYMBOL_NORTH;
    }
    return above && below;
}

static void reach(Bridger *b, uint32_t net) {
    if (net == BENCH_NONE || b->in[net] || b->maker->top[b->island->nets.at[net].net]) return;
    b->in[net] = true;
    b->reached[b->count++] = net;
}

/* The controls of the transistors on this net. */
static void reach_controls(Bridger *b, const IslandNet *net) {
    for (uint32_t i = 0; i < net->count; i++) {
        const Item *item = &b->maker->items.at[net->pins[i].item];
        for (uint32_t p = 0; item->role == ITEM_TRANSISTOR && !item_control(item, net->pins[i].pin) && p < item->pin_count;
             p++)
            if (item_control(item, p)) reach(b, b->island->nets_of[item->place][p]);
    }
}

/* From there on through things of two ends. False when it comes to anything but lone ends: then the halves share what
 * drives them, and all of it stays on the left. */
static bool reach_all(Bridger *b, const IslandNet *right) {
    for (uint32_t head = 0; head < b->count; head++) {
        const IslandNet *net = &b->island->nets.at[b->reached[head]];
        for (uint32_t i = 0; i < net->count; i++) {
            const Item *item = &b->maker->items.at[net->pins[i].item];
            if (item_lone(item)) continue;
            if (item->role == ITEM_TRANSISTOR) { /* only those of this half */
                bool of_right = false;
                for (uint32_t p = 0; p < item->pin_count; p++) of_right |= item->pins[p].net == right->net;
                if (!of_right || !item_control(item, net->pins[i].pin)) return false;
                continue;
            }
            if (!item_two_ended(item)) return false;
            reach(b, b->island->nets_of[item->place][1 - net->pins[i].pin]);
        }
    }
    return !b->in[right - b->island->nets.at];
}

static void flip_slot(Bridger *b, Slot *slot) {
    for (uint32_t k = 0; k < slot->count; k++) item_flip(&b->maker->items.at[b->island->stacked[slot->first + k]]);
    int left = slot->left;
    slot->left = slot->right, slot->right = left;
}

static bool has_transistor_on(const Bridger *b, const Slot *slot, uint32_t net) {
    for (uint32_t k = 0; k < slot->count; k++) {
        const Item *item = &b->maker->items.at[b->island->stacked[slot->first + k]];
        for (uint32_t p = 0; item->role == ITEM_TRANSISTOR && p < item->pin_count; p++)
            if (item->pins[p].net == net && !item_control(item, p)) return true;
    }
    return false;
}

static void mirror(Bridger *b, const IslandNet *right) {
    for (uint32_t i = 0; i < b->count; i++) {
        IslandNet *net = &b->island->nets.at[b->reached[i]];
        if (net->rank <= right->rank) net->rank = 2 * right->rank + 1 - net->rank;
    }
    for (uint32_t i = 0; i < b->island->slots.count; i++)
        if (has_transistor_on(b, &b->island->slots.at[i], right->net)) flip_slot(b, &b->island->slots.at[i]);
}

void island_bridges(Maker *maker, Island *island) {
    uint32_t nets = island->nets.count;
    for (uint32_t i = 0; i < island->items.count && island->direction == 0; i++) {
        const Item *load = &maker->items.at[island->items.at[i]];
        if (!item_two_ended(load) || load->standing) continue;
        uint32_t one = island->nets_of[i][0], other = island->nets_of[i][1];
        if (one == BENCH_NONE || other == BENCH_NONE || one == other) continue;
        Bridger b = {maker, island, arena_many(maker->arena, uint32_t, nets), 0, arena_many(maker->arena, bool, nets)};
        const IslandNet *left = &island->nets.at[one], *right = &island->nets.at[other];
        if (!is_half(&b, left) || !is_half(&b, right)) continue;
        if (right->rank < left->rank) right = left;
        reach_controls(&b, right);
        if (reach_all(&b, right)) mirror(&b, right);
        return; /* one a drawing */
    }
}
