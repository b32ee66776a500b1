/* Figures beside the drawing, where there is room: the volts of a net once in each group, along one of its wires or beside a
 * rail's symbol; the current of a part beside it. What finds no room is counted, not squeezed in. */
#include "draw/schematic_inside.h"

#include <math.h>

static const double SIZE = 1.8, ABOVE = 0.5, ASIDE = 0.8; /* mm */

typedef struct Noter {
    Maker *maker;
    Group *group;
    Route *route;
} Noter;

/* A line of text with its base line's start, middle or end at a point, if nothing is there. */
static bool try_text(Noter *n, const char *class, uint32_t net, Text text, double x, double y, SvgAnchor anchor) {
    double wide = svg_text_width(text, SIZE), left = anchor == SVG_START ? x : anchor == SVG_END ? x - wide : x - wide / 2;
    SchematicBox box = {left, y - SVG_ASCENT * SIZE, left + wide, y + SVG_DESCENT * SIZE};
    if (!route_is_free(n->route, box)) return false;
    route_block(n->route, box);
    list_push(n->maker->arena, &n->group->drawn.notes,
              ((SchematicText){.class = class, .net = net, .text = text, .at = {x, y}, .size = SIZE, .anchor = anchor, .box = box}));
    return true;
}

static bool along_wire(Noter *n, const SchematicWire *wire, Text text) {
    for (uint32_t i = 0; i + 1 < wire->count; i++) {
        SchematicAt a = wire->at[i], b = wire->at[i + 1];
        int steps = a.x != b.x ? (a.x < b.x ? b.x - a.x : a.x - b.x) : (a.y < b.y ? b.y - a.y : a.y - b.y);
        for (int k = 0; k <= 2 * steps; k++) {
            double x = SYMBOL_GRID * (a.x + (b.x - a.x) * k / (2.0 * steps)), y = SYMBOL_GRID * (a.y + (b.y - a.y) * k / (2.0 * steps));
            if (a.y == b.y) {
                if (try_text(n, "volts", wire->net, text, x, y - ABOVE - SVG_DESCENT * SIZE, SVG_MIDDLE)) return true;
                if (try_text(n, "volts", wire->net, text, x, y + ABOVE + SVG_ASCENT * SIZE, SVG_MIDDLE)) return true;
            } else {
                if (try_text(n, "volts", wire->net, text, x + ASIDE, y + SVG_ASCENT * SIZE / 2, SVG_START)) return true;
                if (try_text(n, "volts", wire->net, text, x - ASIDE, y + SVG_ASCENT * SIZE / 2, SVG_END)) return true;
            }
        }
    }
    return false;
}

static bool beside_box(Noter *n, const char *class, uint32_t net, SchematicBox box, Text text) {
    double middle = (box.left + box.right) / 2, level = (box.top + box.bottom) / 2 + SVG_ASCENT * SIZE / 2;
    return try_text(n, class, net, text, box.right + ASIDE, level, SVG_START) ||
           try_text(n, class, net, text, box.left - ASIDE, level, SVG_END) ||
           try_text(n, class, net, text, middle, box.bottom + ABOVE + SVG_ASCENT * SIZE, SVG_MIDDLE) ||
           try_text(n, class, net, text, middle, box.top - ABOVE - SVG_DESCENT * SIZE, SVG_MIDDLE) ||
           try_text(n, class, net, text, box.right + ASIDE, box.bottom, SVG_START) ||
           try_text(n, class, net, text, box.left - ASIDE, box.bottom, SVG_END);
}

enum { TOLD_NOT, TOLD }; /* what `local` holds here while it is not BENCH_NONE */

static void tell_volts(Noter *n, uint32_t *local) {
    const Text *volts = n->maker->asked->volts;
    const SchematicSheet *drawn = &n->group->drawn;
    for (uint32_t i = 0; i < drawn->wires.count; i++) {
        uint32_t net = drawn->wires.at[i].net;
        if (volts[net].len == 0 || n->maker->use[net] != NET_SIGNAL || local[net] == TOLD) continue;
        local[net] = along_wire(n, &drawn->wires.at[i], volts[net]) ? TOLD : TOLD_NOT;
    }
    for (uint32_t i = 0; i < drawn->labels.count; i++) {
        uint32_t net = drawn->labels.at[i].net;
        if (volts[net].len == 0 || drawn->labels.at[i].sort == SCHEMATIC_GROUND || local[net] == TOLD) continue;
        local[net] = beside_box(n, "volts", net, drawn->labels.at[i].box, volts[net]) ? TOLD : TOLD_NOT;
    }
    for (uint32_t i = 0; i < drawn->wires.count; i++) {
        n->maker->drawing->untold += local[drawn->wires.at[i].net] == TOLD_NOT;
        local[drawn->wires.at[i].net] = BENCH_NONE;
    }
    for (uint32_t i = 0; i < drawn->labels.count; i++) {
        n->maker->drawing->untold += local[drawn->labels.at[i].net] == TOLD_NOT;
        local[drawn->labels.at[i].net] = BENCH_NONE;
    }
}

static void tell_amps(Noter *n) {
    const Text *amps = n->maker->asked->amps;
    for (uint32_t i = 0; i < n->group->items.count; i++) {
        const Item *item = &n->maker->items.at[n->group->items.at[i]];
        if (item->part == BENCH_NONE || amps[item->part].len == 0 || item->role == ITEM_TERMINAL) continue;
        SchematicBox all = item->all;
        double x = item->at.x * SYMBOL_GRID, y = item->at.y * SYMBOL_GRID;
        SchematicBox box = {all.left + x, all.top + y, all.right + x, all.bottom + y};
        n->maker->drawing->untold += !beside_box(n, "amps", BENCH_NONE, box, amps[item->part]);
    }
}

void group_notes(Maker *maker, Group *group, Route *route, uint32_t *local) {
    Noter n = {maker, group, route};
    if (maker->asked->volts != NULL) tell_volts(&n, local);
    if (maker->asked->amps != NULL) tell_amps(&n);
}
