/* Items that carry one current are stacked: a load above its transistor, the halves of a divider. Then the stacks are moved
 * up and down so that as many pins as can be of one net are level: a union of stacks with offsets, the joints that would bend
 * most visibly first. Every stack has a strip of its own from left to right, so that this never makes two overlap. */
#include "draw/schematic_inside.h"

#include <limits.h>
#include <math.h>
#include <string.h>

enum { JOINT_GAP = 1, SUPPLY_HIGH = 3, GROUND_DEEP = 2 }; /* grid */
enum { NET_PAIRS_MOST = 30 };

typedef struct Stacker {
    Maker *maker;
    Island *island;
    uint32_t *above, *below; /* by place; BENCH_NONE */
    uint32_t *under;         /* by place: what it is drawn over; BENCH_NONE */
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

/* Of what looks down on the net and what looks up at it, the weightiest two. True when there may be more: lamps between lines. */
static bool pair_at(Stacker *s, const IslandNet *net) {
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
    if (upper == BENCH_NONE || lower == BENCH_NONE || in_one_stack(s, upper, lower)) return false;
    s->below[upper] = lower, s->above[lower] = upper;
    return s->maker->items.at[s->island->items.at[upper]].role == ITEM_LED && s->maker->items.at[s->island->items.at[lower]].role == ITEM_LED;
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

/* ---- over an item: a feedback resistor above its amplifier, a capacitor above the resistor that it is parallel to ---- */

static bool may_be_under(const Item *item) {
    if (item->over || item->symbol == NULL || item_lone(item)) return false;
    return (item_two_ended(item) && !item->standing) || strcmp(item->symbol->kind, "comparing") == 0;
}

/* The pin of `host` on a net that looks sideways, or NULL. */
static const ItemPin *sideways_on(const Item *host, uint32_t net) {
    for (uint32_t p = 0; p < host->pin_count; p++)
        if (host->pins[p].net == net && (host->pins[p].side == SYMBOL_WEST || host->pins[p].side == SYMBOL_EAST)) return &host->pins[p];
    return NULL;
}

/* An amplifier fed back to its in+ is drawn with that on top, unless in- is fed back too. */
static void plus_on_top(Stacker *s, uint32_t place) {
    Item *host = &s->maker->items.at[s->island->items.at[place]];
    bool plus = false, minus = false;
    if (strcmp(host->symbol->kind, "comparing") != 0) return;
    for (uint32_t i = 0; i < s->island->items.count; i++) {
        const Item *item = &s->maker->items.at[s->island->items.at[i]];
        if (s->under[i] != place) continue;
        for (uint32_t p = 0; p < 2; p++) plus |= item->pins[p].net == host->pins[1].net, minus |= item->pins[p].net == host->pins[2].net;
    }
    if (!plus || minus) return;
    host->symbol = symbol_other_way(host->symbol);
    item_turn(host, host->turn, host->mirrored);
}

static void put_over(Stacker *s, uint32_t place) {
    Item *item = &s->maker->items.at[s->island->items.at[place]];
    if (!item_two_ended(item) || item->standing || item->pins[0].net == item->pins[1].net || item->role == ITEM_OTHER) return;
    for (uint32_t i = 0; i < s->island->items.count; i++)
        if (s->under[i] == place) return; /* has something over it itself */
    for (uint32_t i = 0; i < s->island->items.count; i++) {
        const Item *host = &s->maker->items.at[s->island->items.at[i]];
        if (i == place || !may_be_under(host) || s->under[i] != BENCH_NONE) continue;
        const ItemPin *one = sideways_on(host, item->pins[0].net), *other = sideways_on(host, item->pins[1].net);
        if (one == NULL || other == NULL || one->side == other->side) continue;
        s->under[place] = i;
        item->over = true;
        if (item->pins[0].side != one->side) item_flip(item);
        return;
    }
}

/* From what a transistor drives back to its control: drawn at the height of the former, its other end down to the control. */
static void find_feedback(Stacker *s, uint32_t place) {
    Item *item = &s->maker->items.at[s->island->items.at[place]];
    item->feedback = BENCH_NONE;
    if (!item_two_ended(item) || item->standing || item->pins[0].net == item->pins[1].net) return;
    for (uint32_t i = 0; i < s->island->items.count; i++) {
        const Item *host = &s->maker->items.at[s->island->items.at[i]];
        for (uint32_t p = 0; host->role == ITEM_TRANSISTOR && p < host->pin_count; p++)
            for (uint32_t q = 0; q < host->pin_count; q++)
                for (uint32_t end = 0; end < 2; end++)
                    if (item_control(host, p) && !item_control(host, q) && host->pins[q].side == SYMBOL_NORTH &&
                        host->pins[p].net == item->pins[end].net && host->pins[q].net == item->pins[1 - end].net)
                        item->feedback = end;
    }
}

static void find_over(Stacker *s, const uint32_t *local) {
    uint32_t count = s->island->items.count;
    for (uint32_t i = 0; i < count; i++) {
        s->under[i] = BENCH_NONE;
        find_feedback(s, i);
    }
    for (uint32_t i = 0; i < count; i++) {
        const Item *item = &s->maker->items.at[s->island->items.at[i]];
        if (item->pin_count != 2 || item->pins[0].net == BENCH_NONE || item->pins[1].net == BENCH_NONE) continue;
        if (local[item->pins[0].net] != BENCH_NONE && local[item->pins[1].net] != BENCH_NONE) put_over(s, i);
    }
    for (uint32_t i = 0; i < count; i++)
        if (s->under[i] != BENCH_NONE) plus_on_top(s, s->under[i]);
}

/* Above its host and what is there already. */
static void stack_over(Stacker *s, Slot *slot, uint32_t host, uint32_t *next) {
    Island *island = s->island;
    for (uint32_t i = 0; i < island->items.count; i++) {
        if (s->under[i] != host) continue;
        const Item *item = &s->maker->items.at[island->items.at[i]];
        measure(s, slot);
        island->stacked[*next] = island->items.at[i];
        island->dy[*next] = slot->top - up(item->all.bottom) - JOINT_GAP;
        *next += 1, slot->count++;
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
        if (s->above[i] != BENCH_NONE || s->under[i] != BENCH_NONE) continue;
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
        stack_over(s, slot, i, &next);
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

/* How much it shows when two pins of a net are not level: those that look at each other most, then what controls a transistor
 * beside anything, then a sideways one beside an upright one. Two that look to the same side can't be level at all. */
enum { SAME_SIDE, UPRIGHT, ASIDE, CONTROL, FACING, PRIORITIES };

static int priority_of(const Maker *maker, const IslandPin *a, const IslandPin *b) {
    const Item *x = &maker->items.at[a->item], *y = &maker->items.at[b->item];
    SymbolSide one = x->pins[a->pin].side, other = y->pins[b->pin].side;
    bool one_level = one % 2 == SYMBOL_WEST % 2, other_level = other % 2 == SYMBOL_WEST % 2;
    if (one_level && other_level) return one == other ? SAME_SIDE : FACING;
    if (item_control(x, a->pin) || item_control(y, b->pin)) return CONTROL;
    return one_level || other_level ? ASIDE : UPRIGHT;
}

/* A pin that need not be level with others of its net. */
static bool apart(const Maker *maker, const IslandPin *pin) {
    const Item *item = &maker->items.at[pin->item];
    return item->over || item->feedback == pin->pin;
}

static void level_net(Levels *levels, const Maker *maker, const Slot *slots, const IslandNet *net, int priority) {
    for (uint32_t i = 0; i < net->count; i++) {
        for (uint32_t k = i + 1; k < net->count; k++) {
            const IslandPin *a = &net->pins[i], *b = &net->pins[k];
            if (apart(maker, a) || apart(maker, b) || priority_of(maker, a, b) != priority) continue;
            int a_offset, b_offset;
            uint32_t a_root = level_root(levels, a->slot, &a_offset), b_root = level_root(levels, b->slot, &b_offset);
            if (a_root == b_root) continue;
            levels->parent[b_root] = a_root;
            levels->offset[b_root] = priority == SAME_SIDE ? a_offset + slots[a->slot].bottom + JOINT_GAP - b_offset - slots[b->slot].top
                                                            : a_offset + a->dy - b_offset - b->dy;
        }
        if (net->count > NET_PAIRS_MOST) break; /* all to the first */
    }
}

void island_stack(Maker *maker, Island *island, uint32_t *local) {
    uint32_t count = island->items.count;
    Stacker s = {maker, island, arena_many(maker->arena, uint32_t, count), arena_many(maker->arena, uint32_t, count),
                 arena_many(maker->arena, uint32_t, count)};
    for (uint32_t i = 0; i < count; i++) {
        maker->items.at[island->items.at[i]].place = i;
        s.above[i] = s.below[i] = BENCH_NONE;
    }
    for (uint32_t n = 0; n < island->nets.count; n++) local[island->nets.at[n].net] = n;
    find_over(&s, local);
    for (int series = 1; series >= 0; series--)
        for (uint32_t n = 0; n < island->nets.count; n++)
            while ((island->nets.at[n].count == 2) == (series == 1) && pair_at(&s, &island->nets.at[n])) {}
    make_slots(&s, local);
    settle_pins(&s);
    for (uint32_t n = 0; n < island->nets.count; n++) local[island->nets.at[n].net] = BENCH_NONE;
}

void island_level(Maker *maker, Island *island) {
    Levels levels = {arena_many(maker->arena, uint32_t, island->slots.count), arena_many(maker->arena, int, island->slots.count)};
    for (uint32_t i = 0; i < island->slots.count; i++) levels.parent[i] = i;
    for (int priority = PRIORITIES; priority-- > 0;)
        for (uint32_t n = 0; n < island->nets.count; n++) level_net(&levels, maker, island->slots.at, &island->nets.at[n], priority);
    for (uint32_t i = 0; i < island->slots.count; i++) {
        int offset;
        level_root(&levels, i, &offset);
        island->slots.at[i].y = offset;
    }
}
