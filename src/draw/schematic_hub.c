/* A group's places. Each island is laid out by itself; then those that bring signals are piled up left of the chip and those
 * that take them right of it, and the chip's pins, which may be in any order, are put at the heights where the islands want
 * them: most wires to the chip are straight, and none need cross. */
#include "draw/schematic_inside.h"

#include <limits.h>
#include <stdlib.h>

enum { COLUMN_TALL = 80 /* most of a sheet */, ISLAND_GAP = 2, CHANNEL = 2, ROW_GAP = 2 }; /* grid */

typedef struct Wish { /* of a pin of the chip */
    int y;
    uint32_t pin; /* of the bench */
} Wish;

typedef struct Column {
    LIST(uint32_t) islands;
    LIST(Wish) wishes;
    int height;
} Column;

static int height_of(const Island *island) { return island->bottom - island->top; }

static void lay_island(Maker *maker, Island *island, uint32_t *local) {
    island_turn(maker, island, local);
    island_stack(maker, island, local);
    island_rank(maker, island);
    island_level(maker, island);
    island_order(maker, island);
}

static void shift(Maker *maker, Island *island, int dx, int dy) {
    for (uint32_t i = 0; i < island->items.count; i++) {
        Item *item = &maker->items.at[island->items.at[i]];
        item->at.x += dx, item->at.y += dy;
    }
    island->left += dx, island->right += dx, island->top += dy, island->bottom += dy;
}

static void add_to_column(Maker *maker, Group *group, Column *column, uint32_t number) {
    list_push(maker->arena, &column->islands, number);
    column->height += height_of(&group->islands.at[number]) + ISLAND_GAP;
}

/* Taller than a sheet, a column gives what comes next to the other side, whatever way its signals go. */
static bool too_tall(const Column columns[2], int direction) {
    int own = columns[direction > 0].height, other = columns[direction < 0].height;
    return own > COLUMN_TALL && other < own / 2;
}

/* Those of which neither side is known fill up the shorter column. */
static void fill_columns(Maker *maker, Group *group, Column columns[2], uint32_t *local) {
    for (int round = 0; round < 2; round++)
        for (uint32_t i = 0; i < group->islands.count; i++) {
            Island *island = &group->islands.at[i];
            if (island->loose != (round == 1)) continue;
            if (island->loose) island->direction = columns[0].height <= columns[1].height ? -1 : 1;
            if (too_tall(columns, island->direction)) island->direction = -island->direction;
            lay_island(maker, island, local);
            add_to_column(maker, group, &columns[island->direction > 0], i);
        }
}

static int by_height(const void *a, const void *b) {
    const Wish *x = a, *y = b;
    return x->y != y->y ? (x->y > y->y) - (x->y < y->y) : (x->pin > y->pin) - (x->pin < y->pin);
}

/* Piles the islands up from `y`; what heights its ports have. */
static void pile(Maker *maker, Group *group, Column *column, int y) {
    for (uint32_t i = 0; i < column->islands.count; i++) {
        Island *island = &group->islands.at[column->islands.at[i]];
        shift(maker, island, 0, y - island->top);
        y = island->bottom + ISLAND_GAP;
        for (uint32_t k = 0; k < island->items.count; k++) {
            const Item *item = &maker->items.at[island->items.at[k]];
            if (item->role == ITEM_PORT) list_push(maker->arena, &column->wishes, ((Wish){item->at.y, item->pins[0].pin}));
        }
    }
    if (column->wishes.count > 0) qsort(column->wishes.at, column->wishes.count, sizeof *column->wishes.at, by_height);
}

/* Pins of one side at the heights wished for, or as near below as there is room; the least height free then. */
static int grant(const Maker *maker, Item *hub, const Column *column, SymbolSide side) {
    int free = INT_MIN;
    for (uint32_t i = 0; i < column->wishes.count; i++) {
        ItemPin *pin = &hub->pins[maker->pin_place[column->wishes.at[i].pin]];
        pin->side = side;
        pin->y = column->wishes.at[i].y < free ? free : column->wishes.at[i].y;
        free = pin->y + BOX_PITCH;
    }
    return free;
}

static void place_hub(Maker *maker, Group *group, Column columns[2]) {
    Item *hub = &maker->items.at[group->hub];
    for (uint32_t i = 0; i < hub->pin_count; i++) hub->pins[i].side = item_rail_side(maker, &hub->pins[i]);
    int next[2] = {grant(maker, hub, &columns[0], SYMBOL_WEST), grant(maker, hub, &columns[1], SYMBOL_EAST)};
    for (int c = 0; c < 2; c++)
        if (next[c] == INT_MIN) next[c] = 0;
    for (uint32_t i = 0; i < hub->pin_count; i++) { /* pins that nothing is joined to */
        ItemPin *pin = &hub->pins[i];
        if (pin->net != BENCH_NONE && maker->use[pin->net] != NET_LONE) continue;
        int c = next[0] <= next[1] ? 0 : 1;
        pin->side = c == 0 ? SYMBOL_WEST : SYMBOL_EAST;
        pin->y = next[c];
        next[c] += BOX_PITCH;
    }
    hub->at = (SchematicAt){0, 0};
    hub->turned = true;
    item_box_frame(hub);
}

/* Room beside the chip for the wires that are not straight. */
static int channel(const Maker *maker, const Group *group, const Column *column) {
    const Item *hub = &maker->items.at[group->hub];
    int bent = 0;
    for (uint32_t i = 0; i < column->wishes.count; i++) {
        const ItemPin *pin = &hub->pins[maker->pin_place[column->wishes.at[i].pin]];
        bent += pin->y != column->wishes.at[i].y;
    }
    return CHANNEL + bent;
}

static void place_around_hub(Maker *maker, Group *group, uint32_t *local) {
    Column columns[2] = {0};
    for (uint32_t i = 0; i < group->islands.count; i++) group->islands.at[i].loose = group->islands.at[i].direction == 0;
    fill_columns(maker, group, columns, local);
    int less = columns[0].height - columns[1].height;
    pile(maker, group, &columns[0], less < 0 ? -less / 2 : 0);
    pile(maker, group, &columns[1], less > 0 ? less / 2 : 0);
    place_hub(maker, group, columns);
    const Item *hub = &maker->items.at[group->hub];
    int half = (int)(hub->body.right / SYMBOL_GRID + 0.5) + BOX_LEAD_GRIDS;
    for (int c = 0; c < 2; c++) {
        int room = half + channel(maker, group, &columns[c]);
        for (uint32_t i = 0; i < columns[c].islands.count; i++) {
            Island *island = &group->islands.at[columns[c].islands.at[i]];
            shift(maker, island, c == 0 ? -room - island->right : room - island->left, 0);
        }
    }
}

static void bound(Maker *maker, Group *group) {
    group->left = group->top = INT_MAX, group->right = group->bottom = INT_MIN;
    for (uint32_t i = 0; i < group->islands.count; i++) {
        const Island *island = &group->islands.at[i];
        if (island->left < group->left) group->left = island->left;
        if (island->right > group->right) group->right = island->right;
        if (island->top < group->top) group->top = island->top;
        if (island->bottom > group->bottom) group->bottom = island->bottom;
    }
    if (group->hub == BENCH_NONE) return;
    const Item *hub = &maker->items.at[group->hub];
    static const int RAIL = 4; /* grid: a supply's symbol and name */
    int left = (int)(hub->all.left / SYMBOL_GRID) - 1, right = (int)(hub->all.right / SYMBOL_GRID) + 1;
    int top = (int)(hub->all.top / SYMBOL_GRID) - RAIL, bottom = (int)(hub->all.bottom / SYMBOL_GRID) + RAIL;
    if (left < group->left) group->left = left;
    if (right > group->right) group->right = right;
    if (top < group->top) group->top = top;
    if (bottom > group->bottom) group->bottom = bottom;
}

void group_place(Maker *maker, Group *group, uint32_t *local) {
    if (group->hub != BENCH_NONE) {
        place_around_hub(maker, group, local);
    } else {
        int y = 0;
        for (uint32_t i = 0; i < group->islands.count; i++) {
            Island *island = &group->islands.at[i];
            lay_island(maker, island, local);
            shift(maker, island, -island->left, y - island->top);
            y = island->bottom + ROW_GAP;
        }
    }
    bound(maker, group);
}
