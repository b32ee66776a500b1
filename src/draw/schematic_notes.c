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

/* What is written at one place, in one mode or in several by turns. */
typedef struct Figures {
    Text longest;
    const Text *by_mode; /* NULL: in one */
} Figures;

/* From all: size modes * count, those of number `at`. */
static Figures figures_at(const Noter *n, const Text *all, uint32_t count, uint32_t at) {
    uint32_t modes = n->maker->asked->modes;
    if (modes == 0) return (Figures){.longest = all[at]};
    Text *by_mode = arena_many(n->maker->arena, Text, modes);
    Figures figures = {.by_mode = by_mode};
    for (uint32_t m = 0; m < modes; m++) {
        by_mode[m] = all[(size_t)m * count + at];
        if (svg_text_width(by_mode[m], SIZE) > svg_text_width(figures.longest, SIZE)) figures.longest = by_mode[m];
    }
    return figures;
}

/* A line of text with its base line's start, middle or end at a point, if nothing is there. */
static bool try_text(Noter *n, const char *class, uint32_t net, Figures figures, double x, double y, SvgAnchor anchor) {
    double wide = svg_text_width(figures.longest, SIZE), left = anchor == SVG_START ? x : anchor == SVG_END ? x - wide : x - wide / 2;
    SchematicBox box = {left, y - SVG_ASCENT * SIZE, left + wide, y + SVG_DESCENT * SIZE};
    if (!route_is_free(n->route, box)) return false;
    route_block(n->route, box);
    list_push(n->maker->arena, &n->group->drawn.notes,
              ((SchematicText){.class = class, .net = net, .text = figures.longest, .by_mode = figures.by_mode, .at = {x, y}, .size = SIZE, .anchor = anchor, .box = box}));
    return true;
}

static bool along_wire(Noter *n, const SchematicWire *wire, Figures figures) {
    for (uint32_t i = 0; i + 1 < wire->count; i++) {
        SchematicAt a = wire->at[i], b = wire->at[i + 1];
        int steps = a.x != b.x ? (a.x < b.x ? b.x - a.x : a.x - b.x) : (a.y < b.y ? b.y - a.y : a.y - b.y);
        for (int k = 0; k <= 2 * steps; k++) {
            double x = SYMBOL_GRID * (a.x + (b.x - a.x) * k / (2.0 * steps)), y = SYMBOL_GRID * (a.y + (b.y - a.y) * k / (2.0 * steps));
            if (a.y == b.y) {
                if (try_text(n, "volts", wire->net, figures, x, y - ABOVE - SVG_DESCENT * SIZE, SVG_MIDDLE)) return true;
                if (try_text(n, "volts", wire->net, figures, x, y + ABOVE + SVG_ASCENT * SIZE, SVG_MIDDLE)) return true;
            } else {
                if (try_text(n, "volts", wire->net, figures, x + ASIDE, y + SVG_ASCENT * SIZE / 2, SVG_START)) return true;
                if (try_text(n, "volts", wire->net, figures, x - ASIDE, y + SVG_ASCENT * SIZE / 2, SVG_END)) return true;
            }
        }
    }
    return false;
}

static bool beside_box(Noter *n, const char *class, uint32_t net, SchematicBox box, Figures figures) {
    double middle = (box.left + box.right) / 2, level = (box.top + box.bottom) / 2 + SVG_ASCENT * SIZE / 2;
    return try_text(n, class, net, figures, box.right + ASIDE, level, SVG_START) ||
           try_text(n, class, net, figures, box.left - ASIDE, level, SVG_END) ||
           try_text(n, class, net, figures, middle, box.bottom + ABOVE + SVG_ASCENT * SIZE, SVG_MIDDLE) ||
           try_text(n, class, net, figures, middle, box.top - ABOVE - SVG_DESCENT * SIZE, SVG_MIDDLE) ||
           try_text(n, class, net, figures, box.right + ASIDE, box.bottom, SVG_START) ||
           try_text(n, class, net, figures, box.left - ASIDE, box.bottom, SVG_END);
}

enum { TOLD_NOT, TOLD }; /* what `local` holds here while it is not BENCH_NONE */

static void tell_volts(Noter *n, uint32_t *local) {
    uint32_t nets = n->maker->bench->nets.count;
    const SchematicSheet *drawn = &n->group->drawn;
    for (uint32_t i = 0; i < drawn->wires.count; i++) {
        uint32_t net = drawn->wires.at[i].net;
        if (n->maker->use[net] != NET_SIGNAL || local[net] == TOLD) continue;
        Figures volts = figures_at(n, n->maker->asked->volts, nets, net);
        if (volts.longest.len > 0) local[net] = along_wire(n, &drawn->wires.at[i], volts) ? TOLD : TOLD_NOT;
    }
    for (uint32_t i = 0; i < drawn->labels.count; i++) {
        uint32_t net = drawn->labels.at[i].net;
        if (drawn->labels.at[i].sort == SCHEMATIC_GROUND || local[net] == TOLD) continue;
        Figures volts = figures_at(n, n->maker->asked->volts, nets, net);
        if (volts.longest.len > 0) local[net] = beside_box(n, "volts", net, drawn->labels.at[i].box, volts) ? TOLD : TOLD_NOT;
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

/* What a chip draws stands in it, below its value, where that leaves its pins' names alone. */
static bool inside_box(Noter *n, const Item *item, SchematicBox box, Figures figures) {
    static const double NAMES = 6, TALL = 14; /* mm: of pins on one side; with names above and below */
    double x = (box.left + box.right) / 2, wide = svg_text_width(figures.longest, SIZE);
    if (!item_is_box(item) || item->text_count == 0 || wide + 2 * NAMES > box.right - box.left || box.bottom - box.top < TALL) return false;
    double y = item->at.y * SYMBOL_GRID + item->texts[item->text_count - 1].box.bottom + ABOVE + SVG_ASCENT * SIZE;
    SchematicBox at = {x - wide / 2, y - SVG_ASCENT * SIZE, x + wide / 2, y + SVG_DESCENT * SIZE};
    list_push(n->maker->arena, &n->group->drawn.notes,
              ((SchematicText){.class = "amps", .net = BENCH_NONE, .text = figures.longest, .by_mode = figures.by_mode, .at = {x, y}, .size = SIZE, .anchor = SVG_MIDDLE, .box = at}));
    return true;
}

static void tell_amps(Noter *n) {
    for (uint32_t i = 0; i < n->group->items.count; i++) {
        const Item *item = &n->maker->items.at[n->group->items.at[i]];
        if (item->part == BENCH_NONE || item->role == ITEM_TERMINAL) continue;
        Figures amps = figures_at(n, n->maker->asked->amps, n->maker->bench->parts.count, item->part);
        if (amps.longest.len == 0) continue;
        SchematicBox all = item->all;
        double x = item->at.x * SYMBOL_GRID, y = item->at.y * SYMBOL_GRID;
        SchematicBox box = {all.left + x, all.top + y, all.right + x, all.bottom + y};
        SchematicBox body = {item->body.left + x, item->body.top + y, item->body.right + x, item->body.bottom + y};
        if (inside_box(n, item, body, amps)) continue;
        n->maker->drawing->untold += !beside_box(n, "amps", BENCH_NONE, box, amps);
    }
}

void group_notes(Maker *maker, Group *group, Route *route, uint32_t *local) {
    Noter n = {maker, group, route};
    if (maker->asked->volts != NULL) tell_volts(&n, local);
    if (maker->asked->amps != NULL) tell_amps(&n);
}
