/* Items that carry one current are stacked: a load above its transistor, the halves of a divider. Then the stacks are moved
 * up and down so that as many pins as can be of one net are level: a union of stacks with offsets, the joints that would bend
 * most visibly first. Every stack has a strip of its own from left to right, so that this never makes two overlap. */
#include "draw/schematic_inside.h"

#include <limits.h>
#include <math.h>
#include <stdlib.h>

enum { JOINT_GAP = 1, SUPPLY_HIGH = 3, GROUND_DEEP = 2 }; /* grid */
enum { NET_PAIRS_MOST = 30 };

typedef struct Stacker {
    Maker *maker;
    Island *island;
    uint32_t *above, *below; /* by place; BENCH_NONE */
} Stacker;

static int weight_of(const Item *item) {
    static const int weights[] = {[ITEM_TRANSISTOR] = 6, [ITEM_LOAD] = 5,   [ITEM_LED] = 4,       [ITEM_RESISTOR] = 3,
                                  [ITEM_SERIES] = 3,     [ITEM_SWITCH] = 2, [ITEM_DIODE] = 2, [ITEM_CAPACITOR] = 1,
                                  [ITEM_SOURCE] = 1,     [ITEM_PORT] = 0};
    return weights[item->role];
}

static bool stackable(const Item *item, const ItemPin *pin) {
    return item->standing && pin->x == 0 && item->pin_count <= 3 && (pin->side == SYMBOL_NORTH || pin->side == SYMBOL_SOUTH);
}

static bool in_one_stack(const Stacker *s, uint32_t upper, uint32_t lower) {
    for (uint32_t i = upper; i != BENCH_NONE; i = s->above[i])
        if (i == lower) return true;
    return false;
}

/* Of what looks down on the net and what looks up at it, the weightiest two. */
static void pair_at(Stacker *s, const IslandNet *net) {
    uint32_t upper = BENCH_NONE, lower = BENCH_NONE;
    int upper_weight = 0, lower_weight = 0;
    for (uint32_t i = 0; i < net->count; i++) {
        const Item *item = &s->maker->items.at[net->pins[i].item];
        const ItemPin *pin = &item->pins[net->pins[i].pin];
        uint32_t place = s->maker->items.at[net->pins[i].item].place;
        int weight = weight_of(item);
        if (!stackable(item, pin)) continue;
        if (pin->side == SYMBOL_SOUTH && s->below[place] == BENCH_NONE && weight > upper_weight) upper = place, upper_weight = weight;
        if (pin->side == SYMBOL_NORTH && s->above[place] == BENCH_NONE && weight > lower_weight) lower = place, lower_weight = weight;
    }
    if (upper == BENCH_NONE || lower == BENCH_NONE || in_one_stack(s, upper, lower)) return;
    s->below[upper] = lower, s->above[lower] = upper;
}

static int pin_y(const Item *item, SymbolSide side) {
    for (uint32_t i = 0; i < item->pin_count; i++)
        if (item->pins[i].side == side) return item->pins[i].y;
    return 0;
}

static const ItemPin *pin_at(const Item *item, SymbolSide side) {
    for (uint32_t i = 0; i < item->pin_count; i++)
        if (item->pins[i].side == side) return &item->pins[i];
    return NULL;
}

static int up(double mm) { return (int)ceil(mm / SYMBOL_GRID - 1e-9); }
static int least(int a, int b) { return a < b ? a : b; }
static int most(int a, int b) { return a > b ? a : b; }

/* What the slot covers, with the rail symbols at its pins. */
static void measure(const Stacker *s, Slot *slot) {
    const Island *island = s->island;
    slot->left = slot->right = 0, slot->top = INT_MAX, slot->bottom = INT_MIN;
    for (uint32_t k = 0; k < slot->count; k++) {
        const Item *item = &s->maker->items.at[island->stacked[slot->first + k]];
        int dy = island->dy[slot->first + k];
        slot->left = most(slot->left, up(-item->all.left)), slot->right = most(slot->right, up(item->all.right));
        slot->top = least(slot->top, dy - up(-item->all.top)), slot->bottom = most(slot->bottom, dy + up(item->all.bottom));
        for (uint32_t p = 0; p < item->pin_count; p++) {
            const ItemPin *pin = &item->pins[p];
            NetUse use = pin->net == BENCH_NONE ? NET_LONE : s->maker->use[pin->net];
            if (use != NET_SUPPLY && use != NET_GROUND) continue;
            int half = use == NET_SUPPLY || pin->net != s->maker->ground
                           ? up(svg_text_width(s->maker->net_name[pin->net], TEXT_SIZE) / 2) : 1;
            int x = pin->x + (pin->side == SYMBOL_WEST ? -1 : pin->side == SYMBOL_EAST ? 1 : 0);
            slot->left = most(slot->left, half - x), slot->right = most(slot->right, half + x);
            if (use == NET_SUPPLY) slot->top = least(slot->top, dy + pin->y - SUPPLY_HIGH);
            if (use == NET_GROUND) slot->bottom = most(slot->bottom, dy + pin->y + GROUND_DEEP);
        }
    }
}

/* From the top of each stack downwards. */
static void make_slots(Stacker *s, const uint32_t *local) {
    Island *island = s->island;
    uint32_t count = island->items.count, next = 0;
    island->stacked = arena_many(s->maker->arena, uint32_t, count);
    island->dy = arena_many(s->maker->arena, int, count);
    island->slots.count = 0;
    for (uint32_t i = 0; i < count; i++) {
        if (s->above[i] != BENCH_NONE) continue;
        Slot *slot = list_add(s->maker->arena, &island->slots);
        *slot = (Slot){.first = next};
        int dy = 0;
        for (uint32_t k = i; k != BENCH_NONE; k = s->below[k]) {
            const Item *item = &s->maker->items.at[island->items.at[k]];
            island->stacked[next] = island->items.at[k];
            island->dy[next++] = dy;
            slot->count++;
            if (s->below[k] == BENCH_NONE) break;
            const ItemPin *south = pin_at(item, SYMBOL_SOUTH);
            bool series = island->nets.at[local[south->net]].count == 2;
            dy += south->y - pin_y(&s->maker->items.at[island->items.at[s->below[k]]], SYMBOL_NORTH) + (series ? 0 : JOINT_GAP);
        }
        measure(s, slot);
    }
}

static void settle_pins(Stacker *s) {
    Island *island = s->island;
    uint32_t *slot_of = arena_many(s->maker->arena, uint32_t, island->items.count);
    int *dy_of = arena_many(s->maker->arena, int, island->items.count);
    for (uint32_t i = 0; i < island->slots.count; i++)
        for (uint32_t k = 0; k < island->slots.at[i].count; k++) {
            uint32_t at = island->slots.at[i].first + k, place = s->maker->items.at[island->stacked[at]].place;
            slot_of[place] = i, dy_of[place] = island->dy[at];
        }
    for (uint32_t n = 0; n < island->nets.count; n++)
        for (uint32_t i = 0; i < island->nets.at[n].count; i++) {
            IslandPin *pin = &island->nets.at[n].pins[i];
            uint32_t place = s->maker->items.at[pin->item].place;
            pin->slot = slot_of[place];
            pin->dy = dy_of[place] + s->maker->items.at[pin->item].pins[pin->pin].y;
        }
}

/* ---- level pins ---- */

typedef struct Levels {
    uint32_t *parent; /* by slot */
    int *offset;      /* of its y from its parent's */
} Levels;

static uint32_t level_root(Levels *levels, uint32_t slot, int *offset) {
    uint32_t root = slot;
    int sum = 0;
    while (levels->parent[root] != root) sum += levels->offset[root], root = levels->parent[root];
    *offset = sum;
    while (levels->parent[slot] != root && levels->parent[slot] != slot) { /* shorten the way */
        uint32_t next = levels->parent[slot];
        int part = levels->offset[slot];
        levels->parent[slot] = root, levels->offset[slot] = sum;
        sum -= part, slot = next;
    }
    return root;
}

static bool sideways(const Maker *maker, const IslandPin *pin) {
    SymbolSide side = maker->items.at[pin->item].pins[pin->pin].side;
    return side == SYMBOL_WEST || side == SYMBOL_EAST;
}

/* Pins of one net that both look sideways first, then one of them, then none: priorities 2, 1, 0. */
static void level_net(Levels *levels, const Maker *maker, const IslandNet *net, int priority) {
    for (uint32_t i = 0; i < net->count; i++) {
        for (uint32_t k = i + 1; k < net->count; k++) {
            const IslandPin *a = &net->pins[i], *b = &net->pins[k];
            if (sideways(maker, a) + sideways(maker, b) != priority) continue;
            int a_offset, b_offset;
            uint32_t a_root = level_root(levels, a->slot, &a_offset), b_root = level_root(levels, b->slot, &b_offset);
            if (a_root == b_root) continue;
            levels->parent[b_root] = a_root;
            levels->offset[b_root] = a_offset + a->dy - b_offset - b->dy;
        }
        if (net->count > NET_PAIRS_MOST) break; /* all to the first */
    }
}

void island_stack(Maker *maker, Island *island, uint32_t *local) {
    uint32_t count = island->items.count;
    Stacker s = {maker, island, arena_many(maker->arena, uint32_t, count), arena_many(maker->arena, uint32_t, count)};
    for (uint32_t i = 0; i < count; i++) {
        maker->items.at[island->items.at[i]].place = i;
        s.above[i] = s.below[i] = BENCH_NONE;
    }
    for (uint32_t n = 0; n < island->nets.count; n++) local[island->nets.at[n].net] = n;
    for (int series = 1; series >= 0; series--)
        for (uint32_t n = 0; n < island->nets.count; n++)
            if ((island->nets.at[n].count == 2) == (series == 1)) pair_at(&s, &island->nets.at[n]);
    make_slots(&s, local);
    settle_pins(&s);
    Levels levels = {arena_many(maker->arena, uint32_t, island->slots.count), arena_many(maker->arena, int, island->slots.count)};
    for (uint32_t i = 0; i < island->slots.count; i++) levels.parent[i] = i;
    for (int priority = 2; priority >= 0; priority--)
        for (uint32_t n = 0; n < island->nets.count; n++) level_net(&levels, maker, &island->nets.at[n], priority);
    for (uint32_t i = 0; i < island->slots.count; i++) {
        int offset;
        level_root(&levels, i, &offset);
        island->slots.at[i].y = offset;
    }
    for (uint32_t n = 0; n < island->nets.count; n++) local[island->nets.at[n].net] = BENCH_NONE;
}
