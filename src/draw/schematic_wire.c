/* The wires of one group: rails that sit right at their pins first, then signals from the shortest on, then the other rails;
 * then every signal is taken out and laid again, now that the others are known. What finds no way gets flags; where there is
 * not even room for those, all is laid out wider and wired anew. */
#include "draw/schematic_inside.h"

#include <stdlib.h>
#include <string.h>

enum { MARGIN = 8 /* grid around a group */, AGAIN = 2, SPREAD_MOST = 3, BUDGET_LOW = SCHEMATIC_BUDGET / 2 };

typedef struct WiredNet {
    uint32_t net;
    SchematicAt *pins; /* size count */
    SymbolSide *sides;
    uint32_t count;
    int reach; /* half of the outline of its pins */
    bool done;
} WiredNet;

typedef struct Wirer {
    Maker *maker;
    Group *group;
    SchematicSheet *sheet;
    Route *route;
    LIST(WiredNet) nets;
    uint32_t *number; /* by net: in nets, BENCH_NONE: none */
} Wirer;

static SchematicAt pin_place(const Item *item, const ItemPin *pin) { return (SchematicAt){item->at.x + pin->x, item->at.y + pin->y}; }

static SchematicBox moved(SchematicBox box, SchematicAt by) {
    double x = by.x * SYMBOL_GRID, y = by.y * SYMBOL_GRID;
    return (SchematicBox){box.left + x, box.top + y, box.right + x, box.bottom + y};
}

/* ---- what is in the way ---- */

/* The lead of a pin, without its very end. */
static SchematicBox lead_box(const ItemPin *pin) {
    static const double END = 0.5, HALF = 0.1;
    double x = pin->x * SYMBOL_GRID, y = pin->y * SYMBOL_GRID, long_x = 0, long_y = 0;
    if (pin->side == SYMBOL_WEST || pin->side == SYMBOL_EAST) long_x = pin->side == SYMBOL_WEST ? 1 : -1;
    if (pin->side == SYMBOL_NORTH || pin->side == SYMBOL_SOUTH) long_y = pin->side == SYMBOL_NORTH ? 1 : -1;
    double x1 = x + long_x * END, x2 = x + long_x * pin->lead, y1 = y + long_y * END, y2 = y + long_y * pin->lead;
    return (SchematicBox){(x1 < x2 ? x1 : x2) - HALF, (y1 < y2 ? y1 : y2) - HALF, (x1 > x2 ? x1 : x2) + HALF, (y1 > y2 ? y1 : y2) + HALF};
}

/* Above the lead of a box's pin, where its number is written. */
static SchematicBox number_box(const ItemPin *pin) {
    static const double TALL = 2, GAP = 0.1;
    SchematicBox box = lead_box(pin);
    if (pin->side == SYMBOL_WEST || pin->side == SYMBOL_EAST)
        box.bottom = box.top - GAP, box.top -= TALL;
    else
        box.left = box.right + GAP, box.right += 2 * TALL;
    return box;
}

static void block_item(Wirer *w, const Item *item, uint32_t *unwired) {
    if (item->role == ITEM_FLAG) { /* its point is where the wire ends */
        static const double END = 0.5;
        SchematicBox box = item->body;
        if (item->pins[0].side == SYMBOL_WEST)
            box.left += END;
        else
            box.right -= END;
        route_block(w->route, moved(box, item->at));
    } else {
        route_block(w->route, moved(item->body, item->at));
    }
    for (uint32_t i = 0; i < item->text_count; i++) route_block(w->route, moved(item->texts[i].box, item->at));
    for (uint32_t p = 0; p < item->pin_count; p++) {
        const ItemPin *pin = &item->pins[p];
        if (item->role != ITEM_FLAG) route_block(w->route, moved(lead_box(pin), item->at));
        if (item_is_box(item)) route_block(w->route, moved(number_box(pin), item->at));
        bool wired = pin->net != BENCH_NONE && w->maker->use[pin->net] != NET_LONE;
        route_add_pin(w->route, pin_place(item, pin), pin->side, wired ? pin->net : (*unwired)++);
    }
}

/* ---- rails and flags ---- */

typedef struct Fitting {
    const Wirer *w;
    SchematicLabelSort sort;
    double half; /* mm: of its text, or of its sign if that is wider */
    bool named;
    SchematicBox box; /* where it fitted last */
    SymbolSide side;
} Fitting;

static const double SIGN_HALF = 1.5, SUPPLY_TALL = 2.2, GROUND_TALL = 3.1, NAME_TALL = 2.2, END = 0.5; /* mm */

static bool fits(void *context, SchematicAt at, SymbolSide towards, SchematicBox *box) {
    Fitting *f = context;
    double x = at.x * SYMBOL_GRID, y = at.y * SYMBOL_GRID;
    if (f->sort == SCHEMATIC_FLAG) {
        f->side = towards == SYMBOL_WEST ? SYMBOL_WEST : SYMBOL_EAST;
        if (towards == SYMBOL_NORTH || towards == SYMBOL_SOUTH) return false;
        f->box = f->side == SYMBOL_EAST ? (SchematicBox){x + END, y - 1.25, x + 2 * f->half, y + 1.25}
                                        : (SchematicBox){x - 2 * f->half, y - 1.25, x - END, y + 1.25};
    } else if (f->sort == SCHEMATIC_SUPPLY) {
        if (towards == SYMBOL_SOUTH) return false;
        f->side = SYMBOL_NORTH;
        f->box = (SchematicBox){x - f->half, y - SUPPLY_TALL - NAME_TALL, x + f->half, y - END};
    } else {
        if (towards == SYMBOL_NORTH) return false;
        f->side = SYMBOL_SOUTH;
        f->box = (SchematicBox){x - f->half, y + END, x + f->half, y + GROUND_TALL + (f->named ? NAME_TALL : 0)};
    }
    *box = f->box;
    return route_is_free(f->w->route, f->box);
}

/* A label for the net, as near to a pin as there is room. */
static bool add_label(Wirer *w, SchematicLabelSort sort, uint32_t net, SchematicAt from, SymbolSide side) {
    Maker *maker = w->maker;
    Text text = sort == SCHEMATIC_GROUND && net == maker->ground ? (Text){0} : maker->net_name[net];
    Fitting f = {.w = w, .sort = sort, .named = text.len > 0, .half = svg_text_width(text, TEXT_SIZE) / 2};
    if (sort == SCHEMATIC_FLAG) f.half += 1.7;
    if (f.half < SIGN_HALF) f.half = SIGN_HALF;
    SchematicAt at;
    if (!route_to_fit(w->route, net, from, side, fits, &f, &at)) return false;
    route_block(w->route, f.box);
    list_push(maker->arena, &w->sheet->labels,
              ((SchematicLabel){.sort = sort, .net = net, .at = at, .side = f.side, .text = text, .negative = sort == SCHEMATIC_GROUND && maker->negative[net], .box = f.box}));
    return true;
}

/* at_once: only those that can sit right at their pins, which face the right way. */
static void add_rails(Wirer *w, bool at_once) {
    for (uint32_t i = 0; i < w->group->items.count; i++) {
        const Item *item = &w->maker->items.at[w->group->items.at[i]];
        for (uint32_t p = 0; p < item->pin_count; p++) {
            const ItemPin *pin = &item->pins[p];
            NetUse use = pin->net == BENCH_NONE ? NET_LONE : w->maker->use[pin->net];
            if (use != NET_SUPPLY && use != NET_GROUND) continue;
            bool right = pin->side == (use == NET_SUPPLY ? SYMBOL_NORTH : SYMBOL_SOUTH);
            if (right != at_once) continue;
            SchematicLabelSort sort = use == NET_SUPPLY ? SCHEMATIC_SUPPLY : SCHEMATIC_GROUND;
            if (!add_label(w, sort, pin->net, pin_place(item, pin), pin->side)) w->sheet->undrawn++;
        }
    }
}

/* ---- signals ---- */

static void list_nets(Wirer *w) {
    Arena *arena = w->maker->arena;
    for (int round = 0; round < 2; round++) {
        for (uint32_t n = 0; round == 1 && n < w->nets.count; n++) {
            WiredNet *net = &w->nets.at[n];
            net->pins = arena_many(arena, SchematicAt, net->count);
            net->sides = arena_many(arena, SymbolSide, net->count);
            net->count = 0;
        }
        for (uint32_t i = 0; i < w->group->items.count; i++) {
            const Item *item = &w->maker->items.at[w->group->items.at[i]];
            for (uint32_t p = 0; p < item->pin_count; p++) {
                uint32_t net = item->pins[p].net;
                if (net == BENCH_NONE || w->maker->use[net] != NET_SIGNAL) continue;
                if (w->number[net] == BENCH_NONE) {
                    w->number[net] = w->nets.count;
                    list_push(arena, &w->nets, (WiredNet){.net = net});
                }
                WiredNet *wired = &w->nets.at[w->number[net]];
                if (round == 1) wired->pins[wired->count] = pin_place(item, &item->pins[p]), wired->sides[wired->count] = item->pins[p].side;
                wired->count++;
            }
        }
    }
    for (uint32_t n = 0; n < w->nets.count; n++) w->number[w->nets.at[n].net] = BENCH_NONE;
}

static void measure_net(WiredNet *net) {
    SchematicAt low = net->pins[0], high = low;
    for (uint32_t i = 1; i < net->count; i++) {
        if (net->pins[i].x < low.x) low.x = net->pins[i].x;
        if (net->pins[i].y < low.y) low.y = net->pins[i].y;
        if (net->pins[i].x > high.x) high.x = net->pins[i].x;
        if (net->pins[i].y > high.y) high.y = net->pins[i].y;
    }
    int wide = high.x - low.x, tall = high.y - low.y;
    net->reach = wide + tall + (wide < tall ? wide : tall); /* straight ones first */
}

static int by_reach(const void *a, const void *b) {
    const WiredNet *x = a, *y = b;
    if (x->reach != y->reach) return x->reach < y->reach ? -1 : 1;
    return x->net < y->net ? -1 : x->net > y->net;
}

static void join(Wirer *w, WiredNet *net) {
    bool *joined = arena_many(w->maker->arena, bool, net->count);
    net->done = route_join(w->route, net->net, net->pins, net->count, joined);
}

/* Each piece that does not hang together gets the name. */
static void flag_pieces(Wirer *w, const WiredNet *net) {
    bool *joined = arena_many(w->maker->arena, bool, net->count), *named = arena_many(w->maker->arena, bool, net->count);
    for (uint32_t i = 0; i < net->count; i++) {
        if (named[i]) continue;
        route_piece(w->route, net->net, net->pins[i], net->pins, net->count, joined);
        if (!add_label(w, SCHEMATIC_FLAG, net->net, net->pins[i], net->sides[i])) w->sheet->undrawn++;
        for (uint32_t k = 0; k < net->count; k++) named[k] |= joined[k];
    }
    w->sheet->flagged++;
}

static void wire(Wirer *w) {
    for (uint32_t n = 0; n < w->nets.count; n++) measure_net(&w->nets.at[n]);
    if (w->nets.count > 0) qsort(w->nets.at, w->nets.count, sizeof *w->nets.at, by_reach);
    add_rails(w, true);
    for (uint32_t n = 0; n < w->nets.count; n++) join(w, &w->nets.at[n]);
    add_rails(w, false);
    for (int round = 0; round < AGAIN && w->maker->budget > BUDGET_LOW; round++)
        for (uint32_t n = 0; n < w->nets.count; n++) {
            WiredNet *net = &w->nets.at[n];
            route_rip(w->route, net->net, net->pins, net->count);
            join(w, net);
        }
    for (uint32_t n = 0; n < w->nets.count; n++)
        if (!w->nets.at[n].done) flag_pieces(w, &w->nets.at[n]);
}

/* ---- onto the sheet ---- */

static void put_symbol(Wirer *w, const Item *item) {
    Arena *arena = w->maker->arena;
    SchematicAt by = item->at;
    SchematicSymbol *symbol = list_add(arena, &w->sheet->symbols);
    *symbol = (SchematicSymbol){.part = item->part, .ref = item->ref, .claim = item->claim, .symbol = item->symbol, .turn = item->turn,
                                .mirrored = item->mirrored, .at = by, .body = moved(item->body, by), .pin_count = item->pin_count,
                                .text_count = item->text_count};
    symbol->pins = arena_many(arena, SchematicPin, item->pin_count);
    for (uint32_t p = 0; p < item->pin_count; p++) {
        const ItemPin *pin = &item->pins[p];
        symbol->pins[p] = (SchematicPin){pin->pin, pin->net, {by.x + pin->x, by.y + pin->y}, pin->side, pin->lead, pin->name};
    }
    symbol->texts = arena_many(arena, SchematicText, item->text_count);
    for (uint32_t i = 0; i < item->text_count; i++) {
        symbol->texts[i] = item->texts[i];
        symbol->texts[i].box = moved(item->texts[i].box, by);
        symbol->texts[i].at.x += by.x * SYMBOL_GRID, symbol->texts[i].at.y += by.y * SYMBOL_GRID;
    }
}

static void put_flag(Wirer *w, const Item *item) {
    SymbolSide side = item->pins[0].side == SYMBOL_WEST ? SYMBOL_EAST : SYMBOL_WEST;
    list_push(w->maker->arena, &w->sheet->labels,
              ((SchematicLabel){.sort = SCHEMATIC_FLAG, .net = item->pins[0].net, .at = item->at, .side = side, .text = item->ref, .box = moved(item->body, item->at)}));
}

/* Everything `times` as far apart as it was laid out. */
static void spread(Maker *maker, Group *group, int times) {
    for (uint32_t i = 0; i < group->items.count; i++) {
        Item *item = &maker->items.at[group->items.at[i]];
        item->at = (SchematicAt){item->laid.x * times, item->laid.y * times};
    }
}

static void try_to_wire(Maker *maker, Group *group, int times, uint32_t *local) {
    Wirer w = {.maker = maker, .group = group, .sheet = &group->drawn, .number = local};
    group->drawn = (SchematicSheet){0};
    w.route = route_new(maker->arena, (SchematicAt){group->left * times - MARGIN, group->top * times - MARGIN},
                        (SchematicAt){group->right * times + MARGIN, group->bottom * times + MARGIN}, &maker->budget);
    uint32_t unwired = maker->bench->nets.count;
    for (uint32_t i = 0; i < group->items.count; i++) {
        const Item *item = &maker->items.at[group->items.at[i]];
        block_item(&w, item, &unwired);
        if (item->role == ITEM_FLAG)
            put_flag(&w, item);
        else
            put_symbol(&w, item);
    }
    list_nets(&w);
    wire(&w);
    route_draw(w.route, maker->arena, &group->drawn);
    if (group->drawn.undrawn == 0 || times == SPREAD_MOST) group_notes(maker, group, w.route, local);
}

void group_wire(Maker *maker, Group *group, uint32_t *local) {
    for (uint32_t i = 0; i < group->items.count; i++) maker->items.at[group->items.at[i]].laid = maker->items.at[group->items.at[i]].at;
    for (int times = 1; times <= SPREAD_MOST; times++) {
        spread(maker, group, times);
        try_to_wire(maker, group, times, local);
        if (group->drawn.undrawn == 0) return;
    }
}
