/* An item turned, and its texts where they are out of the way: beside what stands, above and below what lies, inside what is
 * a box. */
#include "draw/schematic_inside.h"

#include <limits.h>
#include <math.h>

static const double ROOM = 0.7;        /* mm between a body and its text */
static const double LINE = 2.5;        /* mm from base line to base line */
static const double FLAG_HALF = 1.25;  /* mm: half a flag's height; its point is as long */
static const double LEAD_HALF = 0.2;   /* mm: what a lead covers to both sides */

static SchematicBox box_around(SchematicBox a, SchematicBox b) {
    return (SchematicBox){fmin(a.left, b.left), fmin(a.top, b.top), fmax(a.right, b.right), fmax(a.bottom, b.bottom)};
}

static SymbolSide side_turned(SymbolSide side, unsigned turn, bool mirrored) {
    if (mirrored && side == SYMBOL_WEST)
        side = SYMBOL_EAST;
    else if (mirrored && side == SYMBOL_EAST)
        side = SYMBOL_WEST;
    return (SymbolSide)(((unsigned)side + turn) % 4);
}

static SvgPoint turned(double x, double y, unsigned turn, bool mirrored) {
    if (mirrored) x = -x;
    for (unsigned i = 0; i < turn; i++) {
        double was = x;
        x = -y, y = was;
    }
    return (SvgPoint){x, y};
}

static void turn_symbol(Item *item) {
    const Symbol *symbol = item->symbol;
    for (uint32_t i = 0; i < item->pin_count; i++) {
        const SymbolPin *pin = &symbol->pins[i];
        SvgPoint at = turned(pin->x, pin->y, item->turn, item->mirrored);
        item->pins[i].x = (int)lround(at.x), item->pins[i].y = (int)lround(at.y);
        item->pins[i].side = side_turned((SymbolSide)pin->side, item->turn, item->mirrored);
        item->pins[i].lead = pin->lead / 10.0;
    }
    SvgPoint a = turned((double)symbol->left, (double)symbol->top, item->turn, item->mirrored);
    SvgPoint b = turned((double)symbol->right, (double)symbol->bottom, item->turn, item->mirrored);
    item->body = (SchematicBox){fmin(a.x, b.x), fmin(a.y, b.y), fmax(a.x, b.x), fmax(a.y, b.y)};
}

static void put_text(Item *item, const char *class, Text text, double x, double y, SvgAnchor anchor) {
    if (text.len == 0) return;
    double wide = svg_text_width(text, TEXT_SIZE), left = anchor == SVG_START ? x : anchor == SVG_END ? x - wide : x - wide / 2;
    item->texts[item->text_count++] = (SchematicText){
        .class = class, .net = BENCH_NONE, .text = text, .at = {x, y}, .size = TEXT_SIZE, .anchor = anchor,
        .box = {left, y - SVG_ASCENT * TEXT_SIZE, left + wide, y + SVG_DESCENT * TEXT_SIZE}};
}

static bool any_pin(const Item *item, SymbolSide side) {
    for (uint32_t i = 0; i < item->pin_count; i++)
        if (item->pins[i].side == side) return true;
    return false;
}

static void put_texts(Item *item) {
    const SchematicBox *body = &item->body;
    double middle = (body->left + body->right) / 2, level = (body->top + body->bottom) / 2 + SVG_ASCENT * TEXT_SIZE / 2;
    bool both = item->ref.len > 0 && item->value.len > 0;
    item->text_count = 0;
    if (item_is_box(item)) {
        put_text(item, "ref", item->ref, middle, level - (both ? LINE / 2 : 0), SVG_MIDDLE);
        put_text(item, "value", item->value, middle, level + (both ? LINE / 2 : 0), SVG_MIDDLE);
    } else if (!any_pin(item, SYMBOL_EAST)) {
        put_text(item, "ref", item->ref, body->right + ROOM, level - (both ? LINE / 2 : 0), SVG_START);
        put_text(item, "value", item->value, body->right + ROOM, level + (both ? LINE / 2 : 0), SVG_START);
    } else if (!any_pin(item, SYMBOL_WEST)) {
        put_text(item, "ref", item->ref, body->left - ROOM, level - (both ? LINE / 2 : 0), SVG_END);
        put_text(item, "value", item->value, body->left - ROOM, level + (both ? LINE / 2 : 0), SVG_END);
    } else if (any_pin(item, SYMBOL_NORTH)) { /* beside what goes up */
        put_text(item, "ref", item->ref, LINE / 3, body->top - ROOM, SVG_START);
        put_text(item, "value", item->value, LINE / 3, body->bottom + ROOM + SVG_ASCENT * TEXT_SIZE, SVG_START);
    } else {
        bool below = any_pin(item, SYMBOL_SOUTH);
        put_text(item, "ref", item->ref, middle, body->top - ROOM, SVG_MIDDLE);
        put_text(item, "value", item->value, below ? LINE / 3 : middle, body->bottom + ROOM + SVG_ASCENT * TEXT_SIZE,
                 below ? SVG_START : SVG_MIDDLE);
    }
}

static void dress_flag(Item *item) {
    double wide = svg_text_width(item->ref, TEXT_SIZE) + 2 * FLAG_HALF + ROOM;
    bool west = item->pins[0].side == SYMBOL_WEST; /* its text goes east */
    item->body = (SchematicBox){west ? 0 : -wide, -FLAG_HALF, west ? wide : 0, FLAG_HALF};
    item->all = item->body;
}

/* Everything it covers. */
static void measure(Item *item) {
    SchematicBox all = item->body;
    for (uint32_t i = 0; i < item->text_count; i++) all = box_around(all, item->texts[i].box);
    for (uint32_t i = 0; i < item->pin_count; i++) {
        double x = item->pins[i].x * SYMBOL_GRID, y = item->pins[i].y * SYMBOL_GRID;
        all = box_around(all, (SchematicBox){x - LEAD_HALF, y - LEAD_HALF, x + LEAD_HALF, y + LEAD_HALF});
    }
    item->all = all;
}

/* A box is turned by mirroring only. */
static void mirror_box(Item *item) {
    for (uint32_t i = 0; i < item->pin_count; i++) {
        item->pins[i].x = -item->pins[i].x;
        item->pins[i].side = side_turned(item->pins[i].side, 0, true);
    }
    item->body = (SchematicBox){-item->body.right, item->body.top, -item->body.left, item->body.bottom};
}

void item_turn(Item *item, unsigned turn, bool mirrored) {
    bool flip = item->mirrored != mirrored;
    item->turn = turn, item->mirrored = mirrored;
    if (item->role == ITEM_FLAG || item->role == ITEM_PORT) {
        item->pins[0].side = mirrored ? SYMBOL_EAST : SYMBOL_WEST;
        if (item->role == ITEM_FLAG) dress_flag(item);
        return;
    }
    if (item->symbol != NULL)
        turn_symbol(item);
    else if (flip)
        mirror_box(item);
    put_texts(item);
    measure(item);
}

/* ---- boxes ---- */

static int grids(double mm) { return (int)ceil(mm / SYMBOL_GRID - 1e-9); }

static double widest_name(const Item *item, SymbolSide side) {
    double widest = 0;
    for (uint32_t i = 0; i < item->pin_count; i++)
        if (item->pins[i].side == side) widest = fmax(widest, svg_text_width(item->pins[i].name, TEXT_SIZE));
    return widest;
}

static int pins_on(const Item *item, SymbolSide side) {
    int count = 0;
    for (uint32_t i = 0; i < item->pin_count; i++) count += item->pins[i].side == side;
    return count;
}

/* Spread along the upper or lower edge, far enough apart for their names. */
static void spread(Item *item, SymbolSide side, int y) {
    int pitch = grids(widest_name(item, side) + 2 * ROOM), count = pins_on(item, side), k = 0;
    if (pitch < BOX_PITCH) pitch = BOX_PITCH;
    for (uint32_t i = 0; i < item->pin_count; i++) {
        if (item->pins[i].side != side) continue;
        item->pins[i].x = k++ * pitch - (count - 1) * pitch / 2;
        item->pins[i].y = y;
    }
}

void item_box_frame(Item *item) {
    int top = INT_MAX, bottom = INT_MIN;
    for (uint32_t i = 0; i < item->pin_count; i++) {
        const ItemPin *pin = &item->pins[i];
        if (pin->side == SYMBOL_NORTH || pin->side == SYMBOL_SOUTH) continue;
        if (pin->y < top) top = pin->y;
        if (pin->y > bottom) bottom = pin->y;
    }
    if (top > bottom) top = 0, bottom = 0;
    top -= BOX_PITCH, bottom += BOX_PITCH;
    double middle = fmax(svg_text_width(item->ref, TEXT_SIZE), svg_text_width(item->value, TEXT_SIZE)) + 4 * ROOM;
    double names = 2 * fmax(widest_name(item, SYMBOL_WEST), widest_name(item, SYMBOL_EAST)) + 4 * ROOM;
    int half = grids((middle + names) / 2);
    for (int side = SYMBOL_NORTH; side <= SYMBOL_SOUTH; side += SYMBOL_SOUTH - SYMBOL_NORTH) {
        spread(item, (SymbolSide)side, side == SYMBOL_NORTH ? top - BOX_LEAD_GRIDS : bottom + BOX_LEAD_GRIDS);
        for (uint32_t i = 0; i < item->pin_count; i++)
            if ((int)item->pins[i].side == side && item->pins[i].x >= half) half = item->pins[i].x + 1;
    }
    for (uint32_t i = 0; i < item->pin_count; i++) {
        if (item->pins[i].side == SYMBOL_WEST) item->pins[i].x = -half - BOX_LEAD_GRIDS;
        if (item->pins[i].side == SYMBOL_EAST) item->pins[i].x = half + BOX_LEAD_GRIDS;
        item->pins[i].lead = BOX_LEAD_GRIDS * SYMBOL_GRID;
    }
    item->body = (SchematicBox){-half * SYMBOL_GRID, top * SYMBOL_GRID, half * SYMBOL_GRID, bottom * SYMBOL_GRID};
    put_texts(item);
    measure(item);
}

SymbolSide item_rail_side(const Maker *maker, const ItemPin *pin) {
    if (pin->net != BENCH_NONE && maker->use[pin->net] == NET_SUPPLY) return SYMBOL_NORTH;
    if (pin->net != BENCH_NONE && maker->use[pin->net] == NET_GROUND) return SYMBOL_SOUTH;
    return SYMBOL_WEST;
}

static bool is_feedback(Text name) {
    return text_same_folded(name, TEXT("FB")) || text_same_folded(name, TEXT("ADJ")) || text_same_folded(name, TEXT("SENSE"));
}

void item_box_pins(const Maker *maker, Item *item) {
    int next[4] = {0};
    for (int round = 0; round < 2; round++) /* first those whose place is known */
        for (uint32_t i = 0; i < item->pin_count; i++) {
            ItemPin *pin = &item->pins[i];
            SymbolSide side = item_rail_side(maker, pin);
            int flow = pin->pin == BENCH_NONE ? 0 : maker->flow[pin->pin];
            if (item->feeds && is_feedback(pin->name)) flow = 1; /* it comes back from where the output goes */
            if ((side == SYMBOL_WEST && flow == 0) != (round == 1)) continue;
            if (flow > 0 && side == SYMBOL_WEST) side = SYMBOL_EAST;
            if (flow == 0 && side == SYMBOL_WEST && next[SYMBOL_EAST] < next[SYMBOL_WEST]) side = SYMBOL_EAST;
            pin->side = side;
            pin->y = BOX_PITCH * next[side]++;
        }
    item_box_frame(item);
}
