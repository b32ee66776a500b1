/* The order of stacks from left to right. It starts from the signal's way (nets ranked breadth first from where signals come
 * in, through transistors from their control to what they switch), as in layered drawing of graphs (Sugiyama, Tagawa and Toda
 * 1981). Then single stacks are moved and mirrored as long as that makes the wiring shorter, straighter and less crossed by
 * an estimate over the real places (steepest of single moves, a bounded number of rounds). */
#include "draw/schematic_inside.h"

#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { SEARCH_ROUNDS = 4, SEARCH_REACH = 8, SEARCH_SLOTS_MOST = 60, GAP = 1 /* grid, between stacks */ };
/* In grid steps: how much longer a wire may be to spare one of these. Chosen by eye. */
static const double BEND = 4, WRONG_SIDE = 10, THROUGH = 9, CLASH = 14, AGAINST = 6, MIRRORED = 12;

/* ---- the order to begin with ---- */

static double rank_of_slot(const Maker *maker, const Island *island, const Slot *slot) {
    double sum = 0, count = 0, top = 0, west = -INFINITY;
    for (uint32_t k = 0; k < slot->count; k++) {
        const Item *item = &maker->items.at[island->stacked[slot->first + k]];
        for (uint32_t p = 0; p < item->pin_count; p++) {
            uint32_t number = island->nets_of[item->place][p];
            if (number == BENCH_NONE) continue;
            double rank = island->nets.at[number].rank;
            if (maker->top[island->nets.at[number].net] && item->pin_count > 1) {
                top = rank;
                continue;
            }
            if (item->role == ITEM_PORT) return island->direction > 0 ? -1e6 : 1e6;
            if (item_lone(item)) return rank + (item->mirrored ? -0.6 : 0.6);
            if (item->feeds) rank -= 0.8;
            if (!item_two_ended(item) && !item->standing && item->pins[p].side == SYMBOL_WEST) west = fmax(west, rank + 0.5);
            sum += !item_control(item, p) ? rank : item->mirrored ? rank - 0.7 : rank + 0.7, count++;
        }
    }
    if (west > -INFINITY) return west; /* after all that comes in */
    return count > 0 ? sum / count : top;
}

typedef struct Ranked {
    double rank;
    uint32_t slot;
} Ranked;

static int by_rank(const void *a, const void *b) {
    const Ranked *x = a, *y = b;
    if (x->rank < y->rank) return -1;
    if (x->rank > y->rank) return 1;
    return x->slot < y->slot ? -1 : x->slot > y->slot;
}

/* ---- places and their cost ---- */

static void place_slots(Island *island, const uint32_t *order) {
    uint32_t count = island->slots.count;
    int before = INT_MIN;
    for (uint32_t i = 0; i < count; i++) {
        Slot *slot = &island->slots.at[order[i]];
        slot->x = before == INT_MIN ? 0 : before;
        for (uint32_t k = i; k-- > 0;) {
            const Slot *other = &island->slots.at[order[k]];
            if (other->y + other->top > slot->y + slot->bottom + GAP || slot->y + slot->top > other->y + other->bottom + GAP) continue;
            int least = other->x + other->right + slot->left + GAP;
            if (least > slot->x) slot->x = least;
        }
        before = slot->x;
    }
}

typedef struct Trunk {
    int y, left, right;
    uint32_t net;
} Trunk;

/* Most pins of a net are at this height; of several the first. */
static int level_of(const Island *island, const IslandNet *net) {
    int best = 0;
    uint32_t best_count = 0;
    for (uint32_t i = 0; i < net->count; i++) {
        int y = island->slots.at[net->pins[i].slot].y + net->pins[i].dy;
        uint32_t count = 0;
        for (uint32_t k = 0; k < net->count; k++) count += island->slots.at[net->pins[k].slot].y + net->pins[k].dy == y;
        if (count > best_count) best = y, best_count = count;
    }
    return best;
}

static double net_cost(const Maker *maker, const Island *island, const IslandNet *net, Trunk *trunk) {
    *trunk = (Trunk){.y = level_of(island, net), .left = INT_MAX, .right = INT_MIN, .net = net->net};
    double cost = 0;
    for (uint32_t i = 0; i < net->count; i++) {
        int x = island->slots.at[net->pins[i].slot].x + maker->items.at[net->pins[i].item].pins[net->pins[i].pin].x;
        if (x < trunk->left) trunk->left = x;
        if (x > trunk->right) trunk->right = x;
    }
    for (uint32_t i = 0; i < net->count; i++) {
        const Item *item = &maker->items.at[net->pins[i].item];
        const ItemPin *pin = &item->pins[net->pins[i].pin];
        const Slot *slot = &island->slots.at[net->pins[i].slot];
        int x = slot->x + pin->x, y = slot->y + net->pins[i].dy;
        if (y != trunk->y) cost += BEND + abs(y - trunk->y);
        bool level = y == trunk->y && !item->over;
        if (pin->side == SYMBOL_WEST && (x == trunk->left || level) && trunk->right > x) cost += WRONG_SIDE;
        if (pin->side == SYMBOL_EAST && (x == trunk->right || level) && trunk->left < x) cost += WRONG_SIDE;
        if (pin->side == SYMBOL_NORTH && trunk->y > y) cost += WRONG_SIDE;
        if (pin->side == SYMBOL_SOUTH && trunk->y < y) cost += WRONG_SIDE;
    }
    return cost + trunk->right - trunk->left;
}

static double through_cost(const Island *island, const IslandNet *net, const Trunk *trunk) {
    double cost = 0;
    for (uint32_t i = 0; i < island->slots.count; i++) {
        const Slot *slot = &island->slots.at[i];
        bool inside = slot->x > trunk->left && slot->x < trunk->right && trunk->y > slot->y + slot->top && trunk->y < slot->y + slot->bottom;
        for (uint32_t k = 0; inside && k < net->count; k++) inside = net->pins[k].slot != i;
        if (inside) cost += THROUGH;
    }
    return cost;
}

static double total_cost(const Maker *maker, const Island *island, Trunk *trunks) {
    double cost = 0;
    for (uint32_t n = 0; n < island->nets.count; n++) {
        cost += net_cost(maker, island, &island->nets.at[n], &trunks[n]);
        cost += through_cost(island, &island->nets.at[n], &trunks[n]);
        for (uint32_t k = 0; k < n; k++)
            if (trunks[k].y == trunks[n].y && trunks[k].left <= trunks[n].right && trunks[n].left <= trunks[k].right) cost += CLASH;
    }
    for (uint32_t i = 0; i < island->slots.count; i++) {
        const Slot *slot = &island->slots.at[i];
        for (uint32_t k = 0; k < slot->count; k++) {
            const Item *item = &maker->items.at[island->stacked[slot->first + k]];
            if (slot->mirrored) cost += item_two_ended(item) || item_lone(item) ? AGAINST : MIRRORED;
        }
    }
    return cost;
}

/* ---- search ---- */

typedef struct Search {
    Maker *maker;
    Island *island;
    uint32_t *order, *trial;
    Trunk *trunks;
    double cost;
} Search;

static double cost_of(Search *s, const uint32_t *order) {
    place_slots(s->island, order);
    return total_cost(s->maker, s->island, s->trunks);
}

static bool is_port(const Search *s, uint32_t slot) {
    return s->maker->items.at[s->island->stacked[s->island->slots.at[slot].first]].role == ITEM_PORT;
}

static void flip_slot(Search *s, uint32_t number) {
    Slot *slot = &s->island->slots.at[number];
    for (uint32_t k = 0; k < slot->count; k++) item_flip(&s->maker->items.at[s->island->stacked[slot->first + k]]);
    int left = slot->left;
    slot->left = slot->right, slot->right = left;
    slot->mirrored = !slot->mirrored;
}

static bool can_flip(const Search *s, uint32_t number) {
    const Slot *slot = &s->island->slots.at[number];
    for (uint32_t k = 0; k < slot->count; k++) {
        const Item *item = &s->maker->items.at[s->island->stacked[slot->first + k]];
        if (item->role == ITEM_PORT) return false;
        if (!item->standing || item->pin_count > 2) return true;
    }
    return false;
}

/* Slot at `from` moved to `to`, as it is or mirrored, when that is better. */
static bool try_move(Search *s, uint32_t from, uint32_t to, bool flip) {
    uint32_t count = s->island->slots.count, moved = s->order[from], at = 0;
    for (uint32_t i = 0; i <= count; i++) {
        if (at == to) s->trial[at++] = moved;
        if (i < count && i != from) s->trial[at++] = s->order[i];
    }
    if (flip) flip_slot(s, moved);
    double cost = cost_of(s, s->trial);
    if (cost < s->cost - 1e-9) {
        memcpy(s->order, s->trial, count * sizeof *s->order);
        s->cost = cost;
        return true;
    }
    if (flip) flip_slot(s, moved);
    return false;
}

static void search(Search *s) {
    uint32_t count = s->island->slots.count;
    for (int round = 0; round < SEARCH_ROUNDS; round++) {
        bool better = false;
        for (uint32_t slot = 0; slot < count; slot++) {
            if (is_port(s, slot)) continue;
            for (int flip = 0; flip <= can_flip(s, slot); flip++) {
                uint32_t from = 0;
                while (s->order[from] != slot) from++;
                uint32_t low = from < SEARCH_REACH ? 0 : from - SEARCH_REACH, high = from + SEARCH_REACH + 1;
                for (uint32_t to = low; to < high && to < count; to++) {
                    if (!try_move(s, from, to, flip)) continue;
                    better = true;
                    from = to;
                    if (flip) break;
                }
            }
        }
        if (!better) return;
    }
}

static void bound(Island *island) {
    island->left = island->top = INT_MAX, island->right = island->bottom = INT_MIN;
    for (uint32_t i = 0; i < island->slots.count; i++) {
        const Slot *slot = &island->slots.at[i];
        if (slot->x - slot->left < island->left) island->left = slot->x - slot->left;
        if (slot->x + slot->right > island->right) island->right = slot->x + slot->right;
        if (slot->y + slot->top < island->top) island->top = slot->y + slot->top;
        if (slot->y + slot->bottom > island->bottom) island->bottom = slot->y + slot->bottom;
    }
}

static void settle_items(Search *s) {
    Island *island = s->island;
    for (uint32_t i = 0; i < island->slots.count; i++)
        for (uint32_t k = 0; k < island->slots.at[i].count; k++) {
            uint32_t at = island->slots.at[i].first + k;
            s->maker->items.at[island->stacked[at]].at = (SchematicAt){island->slots.at[i].x, island->slots.at[i].y + island->dy[at]};
        }
    bound(island);
}

void island_order(Maker *maker, Island *island) {
    Arena *arena = maker->arena;
    uint32_t count = island->slots.count;
    Ranked *ranked = arena_many(arena, Ranked, count);
    for (uint32_t i = 0; i < count; i++) ranked[i] = (Ranked){rank_of_slot(maker, island, &island->slots.at[i]), i};
    qsort(ranked, count, sizeof *ranked, by_rank);
    Search s = {maker, island, arena_many(arena, uint32_t, count), arena_many(arena, uint32_t, count),
                arena_many(arena, Trunk, island->nets.count), 0};
    for (uint32_t i = 0; i < count; i++) s.order[i] = ranked[i].slot;
    s.cost = cost_of(&s, s.order);
    if (count <= SEARCH_SLOTS_MOST) search(&s);
    cost_of(&s, s.order);
    settle_items(&s);
}
