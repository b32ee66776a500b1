/* Reads the elements that a reader of the drawing sees: `lead` lines with the part and pin they belong to, `wire` polylines,
 * `dot` circles, and the text and place of each label. The nets' names in data-net are not looked at. */
#include "tests/schematic_read.h"

#include <math.h>
#include <stdlib.h>

typedef struct Point {
    long x, y; /* thousandths of mm */
} Point;

typedef struct Wire {
    Point *at;
    uint32_t count, sheet;
} Wire;

typedef struct End { /* of a wire, a pin's lead or a label */
    Point at;
    uint32_t sheet, node;
} End;

typedef struct Reader {
    Arena *arena;
    ReadBack back;
    LIST(Wire) wires;
    LIST(End) ends;
    LIST(End) dots;
    LIST(uint32_t) parent; /* of nodes */
    Names *names;          /* of labels */
    LIST(uint32_t) named;  /* by name: its node */
    uint32_t sheet;
    Text ref;
    LIST(uint32_t) pin_nodes;
} Reader;

static uint32_t new_node(Reader *r) {
    uint32_t node = r->parent.count;
    list_push(r->arena, &r->parent, node);
    return node;
}

static uint32_t root(Reader *r, uint32_t node) {
    while (r->parent.at[node] != node) node = r->parent.at[node] = r->parent.at[r->parent.at[node]];
    return node;
}

static void join(Reader *r, uint32_t a, uint32_t b) { r->parent.at[root(r, a)] = root(r, b); }

static Text after(Text text, const char *what) {
    size_t at = text_find(text, text_of(what));
    return at == SIZE_MAX ? (Text){0} : text_sub(text, at + strlen(what), text.len);
}

/* An attribute of the element that the text begins with. */
static Text attribute(Text element, const char *name) {
    size_t end = text_find(element, TEXT(">"));
    Text value = after(text_sub(element, 0, end), name);
    return text_sub(value, 0, text_find(value, TEXT("\"")));
}

static long number_at(Text *text) {
    char digits[32] = {0};
    size_t len = 0;
    while (len < text->len && len < sizeof digits - 1 && strchr("-.0123456789", text->at[len]) != NULL) digits[len] = text->at[len], len++;
    *text = text_sub(*text, len, text->len);
    return lround(atof(digits) * 1000);
}

static Point point_at(Text *text) {
    while (text->len > 0 && strchr("-0123456789", text->at[0]) == NULL) *text = text_sub(*text, 1, text->len);
    Point point = {.x = number_at(text)};
    *text = text_sub(*text, 1, text->len); /* the comma or the blank */
    point.y = number_at(text);
    return point;
}

static uint32_t add_end(Reader *r, Point at) {
    uint32_t node = new_node(r);
    list_push(r->arena, &r->ends, ((End){at, r->sheet, node}));
    return node;
}

static void read_wire(Reader *r, Text element) {
    Text points = attribute(element, " points=\"");
    LIST(Point) list = {0};
    while (points.len > 0) list_push(r->arena, &list, point_at(&points));
    list_push(r->arena, &r->wires, ((Wire){list.at, list.count, r->sheet}));
    join(r, add_end(r, list.at[0]), add_end(r, list.at[list.count - 1]));
}

static void read_lead(Reader *r, Text element) {
    Text x = attribute(element, " x1=\""), y = attribute(element, " y1=\"");
    uint32_t node = add_end(r, (Point){number_at(&x), number_at(&y)});
    list_push(r->arena, &r->back.pins, ((ReadPin){r->ref, attribute(element, " data-pin=\""), 0}));
    list_push(r->arena, &r->pin_nodes, node);
}

/* Its group holds a sign, which begins where the wire ends, and a text. */
static void read_label(Reader *r, Text group) {
    group = text_sub(group, 0, text_find(group, TEXT("</g>")));
    Text sign = after(group, "class=\"sign\""), text = after(group, "class=\"net\"");
    Text place = attribute(sign, text_find(sign, TEXT(" points=\"")) != SIZE_MAX ? " points=\"" : " d=\"");
    Text name = after(text, ">");
    name = text_sub(name, 0, text_find(name, TEXT("<")));
    if (name.len == 0) name = TEXT("ground without a name");
    uint32_t node = add_end(r, point_at(&place)), number = names_add(r->names, text_copy(r->arena, name));
    if (number == r->named.count) list_push(r->arena, &r->named, node);
    join(r, node, r->named.at[number]);
}

static void read_sheet(Reader *r, Text svg) {
    static const char *const labels[] = {"<g class=\"flag\"", "<g class=\"supply\"", "<g class=\"ground\""};
    for (; svg.len > 0; svg = text_sub(svg, 1, svg.len)) {
        if (svg.at[0] != '<') continue;
        if (text_starts(svg, "<g class=\"part\"")) r->ref = attribute(svg, " data-ref=\"");
        if (text_starts(svg, "<polyline class=\"wire\"")) read_wire(r, svg);
        if (text_starts(svg, "<line class=\"lead\"")) read_lead(r, svg);
        for (size_t i = 0; i < 3; i++)
            if (text_starts(svg, labels[i])) read_label(r, svg);
        if (!text_starts(svg, "<circle class=\"dot\"")) continue;
        Text x = attribute(svg, " cx=\""), y = attribute(svg, " cy=\"");
        list_push(r->arena, &r->dots, ((End){{number_at(&x), number_at(&y)}, r->sheet, 0}));
    }
}

static bool same(Point a, Point b) { return a.x == b.x && a.y == b.y; }

static bool dotted(const Reader *r, Point at, uint32_t sheet) {
    for (uint32_t i = 0; i < r->dots.count; i++)
        if (r->dots.at[i].sheet == sheet && same(r->dots.at[i].at, at)) return true;
    return false;
}

/* Strictly inside a stretch, or at a bend of the wire. */
static bool inside(const Wire *wire, Point at) {
    if (same(at, wire->at[0]) || same(at, wire->at[wire->count - 1])) return false;
    for (uint32_t i = 0; i + 1 < wire->count; i++) {
        Point a = wire->at[i], b = wire->at[i + 1];
        if (a.x == b.x && at.x == a.x && (at.y - a.y) * (at.y - b.y) <= 0) return true;
        if (a.y == b.y && at.y == a.y && (at.x - a.x) * (at.x - b.x) <= 0) return true;
    }
    return false;
}

static void wrong(Reader *r, const char *what, Point at, uint32_t sheet) {
    out_fmt(&r->back.wrong, "\n  sheet %u at %.3f,%.3f mm: %s", sheet + 1, (double)at.x / 1000, (double)at.y / 1000, what);
}

static void join_what_meets(Reader *r) {
    for (uint32_t i = 0; i < r->ends.count; i++) {
        const End *end = &r->ends.at[i];
        uint32_t meeting = 1;
        for (uint32_t k = 0; k < r->ends.count; k++) {
            if (k == i || r->ends.at[k].sheet != end->sheet || !same(r->ends.at[k].at, end->at)) continue;
            join(r, end->node, r->ends.at[k].node);
            meeting++;
        }
        if (meeting > 2 && !dotted(r, end->at, end->sheet)) wrong(r, "three ends meet without a dot", end->at, end->sheet);
        for (uint32_t w = 0; w < r->wires.count; w++) {
            if (r->wires.at[w].sheet != end->sheet || !inside(&r->wires.at[w], end->at)) continue;
            if (!dotted(r, end->at, end->sheet)) wrong(r, "an end touches a wire without a dot", end->at, end->sheet);
            for (uint32_t k = 0; k < r->ends.count; k++)
                if (r->ends.at[k].sheet == end->sheet && same(r->ends.at[k].at, r->wires.at[w].at[0])) join(r, end->node, r->ends.at[k].node);
        }
    }
}

static long low(long a, long b) { return a < b ? a : b; }
static long high(long a, long b) { return a > b ? a : b; }

/* Two stretches: do they cross at a dot, or run along each other? */
static void check_stretches(Reader *r, const Wire *one, uint32_t i, const Wire *other, uint32_t k) {
    Point a = one->at[i], b = one->at[i + 1], c = other->at[k], d = other->at[k + 1];
    long left = high(low(a.x, b.x), low(c.x, d.x)), right = low(high(a.x, b.x), high(c.x, d.x));
    long top = high(low(a.y, b.y), low(c.y, d.y)), bottom = low(high(a.y, b.y), high(c.y, d.y));
    if (left > right || top > bottom) return;
    if (left < right || top < bottom) {
        wrong(r, "two wires lie on each other", (Point){left, top}, one->sheet);
        return;
    }
    Point at = {left, top};
    bool ends_one = same(at, one->at[0]) || same(at, one->at[one->count - 1]), ends_other = same(at, other->at[0]) || same(at, other->at[other->count - 1]);
    bool bends = (!ends_one && (same(at, a) || same(at, b))) || (!ends_other && (same(at, c) || same(at, d)));
    if (ends_one || ends_other) return; /* looked at as an end */
    if (bends) wrong(r, "a wire bends on another", at, one->sheet);
    if (dotted(r, at, one->sheet)) wrong(r, "a crossing has a dot", at, one->sheet);
}

ReadBack schematic_read(Arena *arena, const Text *sheets, uint32_t count) {
    Reader r = {.arena = arena, .names = names_new(arena)};
    r.back.wrong = out_new(arena);
    for (r.sheet = 0; r.sheet < count; r.sheet++) read_sheet(&r, sheets[r.sheet]);
    join_what_meets(&r);
    for (uint32_t w = 0; w < r.wires.count; w++)
        for (uint32_t v = w + 1; v < r.wires.count; v++)
            for (uint32_t i = 0; r.wires.at[w].sheet == r.wires.at[v].sheet && i + 1 < r.wires.at[w].count; i++)
                for (uint32_t k = 0; k + 1 < r.wires.at[v].count; k++) check_stretches(&r, &r.wires.at[w], i, &r.wires.at[v], k);
    for (uint32_t p = 0; p < r.back.pins.count; p++) r.back.pins.at[p].joined = root(&r, r.pin_nodes.at[p]);
    return r.back;
}

/* ---- overlaps, by the model ---- */

typedef struct Covered {
    SchematicBox box;
    Text of;
    uint32_t symbol; /* a symbol and its own texts may touch */
    bool text;
} Covered;

static bool overlap(SchematicBox a, SchematicBox b) {
    static const double SLACK = 1e-6;
    return a.left < b.right - SLACK && b.left < a.right - SLACK && a.top < b.bottom - SLACK && b.top < a.bottom - SLACK;
}

typedef LIST(Covered) CoveredList;

static void cover_sheet(Arena *arena, const SchematicSheet *sheet, CoveredList *covered) {
    for (uint32_t i = 0; i < sheet->symbols.count; i++) {
        const SchematicSymbol *symbol = &sheet->symbols.at[i];
        list_push(arena, covered, ((Covered){symbol->body, symbol->ref, i, false}));
        for (uint32_t k = 0; k < symbol->text_count; k++) list_push(arena, covered, ((Covered){symbol->texts[k].box, symbol->texts[k].text, i, true}));
    }
    for (uint32_t i = 0; i < sheet->labels.count; i++)
        list_push(arena, covered, ((Covered){sheet->labels.at[i].box, sheet->labels.at[i].text, BENCH_NONE, true}));
    for (uint32_t i = 0; i < sheet->notes.count; i++)
        list_push(arena, covered, ((Covered){sheet->notes.at[i].box, sheet->notes.at[i].text, BENCH_NONE, true}));
}

static void wires_over(Out *out, const SchematicSheet *sheet, const Covered *covered) {
    static const double IN = 0.6; /* mm: a wire may end at the edge of a label */
    SchematicBox box = {covered->box.left + IN, covered->box.top + IN, covered->box.right - IN, covered->box.bottom - IN};
    for (uint32_t w = 0; w < sheet->wires.count; w++)
        for (uint32_t i = 0; i + 1 < sheet->wires.at[w].count; i++) {
            SchematicAt a = sheet->wires.at[w].at[i], b = sheet->wires.at[w].at[i + 1];
            SchematicBox line = {fmin(a.x, b.x) * SYMBOL_GRID - 1e-3, fmin(a.y, b.y) * SYMBOL_GRID - 1e-3,
                                 fmax(a.x, b.x) * SYMBOL_GRID + 1e-3, fmax(a.y, b.y) * SYMBOL_GRID + 1e-3};
            if (overlap(line, box)) out_fmt(out, "\n  a wire lies over %.*s", TEXT_ARG(covered->of));
        }
}

Text schematic_overlaps(Arena *arena, const Schematic *schematic) {
    Out out = out_new(arena);
    for (uint32_t s = 0; s < schematic->sheets.count; s++) {
        CoveredList covered = {0};
        cover_sheet(arena, &schematic->sheets.at[s], &covered);
        for (uint32_t i = 0; i < covered.count; i++) {
            wires_over(&out, &schematic->sheets.at[s], &covered.at[i]);
            for (uint32_t k = 0; k < i; k++) {
                const Covered *a = &covered.at[i], *b = &covered.at[k];
                bool own = a->symbol == b->symbol && a->symbol != BENCH_NONE && !(a->text && b->text);
                if (!own && overlap(a->box, b->box)) out_fmt(&out, "\n  %.*s lies over %.*s", TEXT_ARG(a->of), TEXT_ARG(b->of));
            }
        }
    }
    return out_text(&out);
}
