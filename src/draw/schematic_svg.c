/* A sheet of a schematic as SVG. Every wire, dot and label carries its net, every symbol its part and claim, every pin's lead
 * ends where the wire meets it: who reads the file has the whole circuit. */
#include "draw/schematic.h"

static const double DOT = 0.55; /* mm, radius */
static const double NAME_SIZE = 1.8, NUMBER_SIZE = 1.5; /* mm */

/* Everything takes the colour of the text around it, in light and in dark; a page may give --volts and --amps colours of their
 * own. Lines are 0.25 mm, as ISO 128 has for this size (from memory). */
static const char CSS[] =
    ".schematic{font-family:" SVG_FONTS "}\n"
    ".schematic line,.schematic polyline,.schematic path,.schematic rect,.schematic circle{fill:none;stroke:currentColor;"
    "stroke-width:.25;stroke-linecap:round;stroke-linejoin:round}\n"
    ".schematic text{fill:currentColor;stroke:none}\n"
    ".schematic .solid,.schematic .dot{fill:currentColor}\n"
    ".schematic .ref{font-weight:bold}\n"
    ".schematic .number,.schematic .unknown{opacity:.7}\n"
    ".schematic .volts,.schematic .amps{font-style:italic}\n"
    ".schematic .volts{fill:var(--volts,currentColor)}.schematic .amps{fill:var(--amps,currentColor)}\n";

static SvgPoint mm(SchematicAt at) { return (SvgPoint){at.x * SYMBOL_GRID, at.y * SYMBOL_GRID}; }

static Text net_name(const Schematic *schematic, uint32_t net) {
    return net == BENCH_NONE ? (Text){0} : schematic->bench->nets.at[net].name;
}

/* What belongs to a net: whose it is, and what it is for. */
static SvgMark net_mark(const Schematic *schematic, uint32_t net, const char *class) {
    if (net == BENCH_NONE) return (SvgMark){.class = class};
    return (SvgMark){.class = class, .net = net_name(schematic, net), .claim = schematic->net_claim[net]};
}

static void put_text(Out *out, const Schematic *schematic, const SchematicText *text, SvgMark mark) {
    mark.class = text->class;
    if (text->by_mode == NULL) svg_text(out, mark, text->at, text->size, text->anchor, text->text);
    for (uint32_t m = 0; text->by_mode != NULL && m < schematic->modes; m++) {
        if (text->by_mode[m].len == 0) continue;
        mark.class = text_cstring(out->arena, text_fmt(out->arena, "%s m-%u", text->class, m));
        svg_text(out, mark, text->at, text->size, text->anchor, text->by_mode[m]);
    }
}

static const double INWARD_X[] = {1, 0, -1, 0}, INWARD_Y[] = {0, 1, 0, -1}; /* by SymbolSide */

/* Written in a box: the pin's function inside, its number on the lead. What no note tells is a question mark. */
static void put_pin_texts(Out *out, const Schematic *schematic, const SchematicPin *pin) {
    static const double ROOM = 0.7;
    Text number = pin->pin == BENCH_NONE ? (Text){0} : schematic->bench->pins.at[pin->pin].label;
    SvgPoint end = mm(pin->at), body = {end.x + INWARD_X[pin->side] * pin->lead, end.y + INWARD_Y[pin->side] * pin->lead};
    bool level = pin->side == SYMBOL_WEST || pin->side == SYMBOL_EAST, known = pin->name.len > 0;
    SvgPoint inside = {body.x + INWARD_X[pin->side] * ROOM, body.y + INWARD_Y[pin->side] * ROOM};
    SvgAnchor anchor = !level ? SVG_MIDDLE : pin->side == SYMBOL_WEST ? SVG_START : SVG_END;
    inside.y += level ? SVG_ASCENT * NAME_SIZE / 2 : pin->side == SYMBOL_NORTH ? SVG_ASCENT * NAME_SIZE : 0;
    svg_text(out, (SvgMark){.class = known ? "name" : "unknown"}, inside, NAME_SIZE, anchor, known ? pin->name : TEXT("?"));
    if (text_same(number, pin->name) || number.len > SCHEMATIC_NUMBER_MOST) return;
    if (level)
        svg_text(out, (SvgMark){.class = "number"}, (SvgPoint){body.x - INWARD_X[pin->side] * ROOM, body.y - ROOM / 2}, NUMBER_SIZE,
                 pin->side == SYMBOL_WEST ? SVG_END : SVG_START, number);
    else
        svg_text(out, (SvgMark){.class = "number"},
                 (SvgPoint){body.x + ROOM / 2, body.y - INWARD_Y[pin->side] * ROOM + (pin->side == SYMBOL_NORTH ? 0 : SVG_ASCENT * NUMBER_SIZE)},
                 NUMBER_SIZE, SVG_START, number);
}

/* The lead's first end is where the wire meets it. */
static void put_lead(Out *out, const Schematic *schematic, const SchematicPin *pin) {
    SvgPoint end = mm(pin->at), body = {end.x + INWARD_X[pin->side] * pin->lead, end.y + INWARD_Y[pin->side] * pin->lead};
    Text label = pin->pin == BENCH_NONE ? (Text){0} : schematic->bench->pins.at[pin->pin].label;
    svg_line(out, (SvgMark){.class = "lead", .pin = label, .net = net_name(schematic, pin->net)}, end, body);
}

static void put_body(Out *out, const Schematic *schematic, const SchematicSymbol *symbol) {
    const SchematicBox *body = &symbol->body;
    if (symbol->symbol == NULL) {
        svg_rect(out, (SvgMark){.class = "body"}, (SvgPoint){body->left, body->top}, body->right - body->left, body->bottom - body->top, 0.4);
        return;
    }
    const char *lines = schematic->ansi && symbol->symbol->ansi != NULL ? symbol->symbol->ansi : symbol->symbol->lines;
    svg_group_at(out, (SvgMark){.class = "body"}, mm(symbol->at), symbol->turn, symbol->mirrored);
    svg_path(out, (SvgMark){0}, text_of(lines));
    if (symbol->symbol->solid != NULL) svg_path(out, (SvgMark){.class = "solid"}, text_of(symbol->symbol->solid));
    svg_group_end(out);
    static const double LETTER = 3;
    if (symbol->symbol->letter != NULL)
        svg_text(out, (SvgMark){.class = "letter"}, (SvgPoint){(body->left + body->right) / 2, (body->top + body->bottom) / 2 + SVG_ASCENT * LETTER / 2},
                 LETTER, SVG_MIDDLE, text_of(symbol->symbol->letter));
}

static void put_symbol(Out *out, const Schematic *schematic, const SchematicSymbol *symbol) {
    const BenchPart *part = &schematic->bench->parts.at[symbol->part];
    svg_group(out, (SvgMark){.class = "part", .ref = part->ref, .claim = symbol->claim});
    Out title = out_new(out->arena);
    out_fmt(&title, "%.*s, %.*s", TEXT_ARG(part->ref), TEXT_ARG(part->kind->name));
    if (part->remark.len > 0) out_fmt(&title, ": %.*s", TEXT_ARG(part->remark));
    svg_title(out, out_text(&title));
    put_body(out, schematic, symbol);
    for (uint32_t p = 0; p < symbol->pin_count; p++) {
        put_lead(out, schematic, &symbol->pins[p]);
        if (symbol->symbol == NULL) put_pin_texts(out, schematic, &symbol->pins[p]);
    }
    for (uint32_t i = 0; i < symbol->text_count; i++) put_text(out, schematic, &symbol->texts[i], (SvgMark){0});
    svg_group_end(out);
}

static void put_wire(Out *out, const Schematic *schematic, const SchematicWire *wire) {
    SvgPoint *at = arena_many(out->arena, SvgPoint, wire->count);
    for (uint32_t i = 0; i < wire->count; i++) at[i] = mm(wire->at[i]);
    svg_polyline(out, net_mark(schematic, wire->net, "wire"), at, wire->count);
}

static void path_at(Out *path, SvgPoint at, const char *format, ...) __attribute__((format(printf, 3, 4)));
static void path_at(Out *path, SvgPoint at, const char *format, ...) {
    va_list args;
    out_char(path, 'M');
    svg_number(path, at.x);
    out_char(path, ' ');
    svg_number(path, at.y);
    va_start(args, format);
    out_add(path, text_vfmt(path->arena, format, args));
    va_end(args);
}

static void put_flag(Out *out, const SchematicLabel *label, SvgMark mark) {
    static const double POINT = 1.25, SIZE = 2.0;
    SvgPoint at = mm(label->at);
    double far = label->side == SYMBOL_EAST ? label->box.right : label->box.left, way = label->side == SYMBOL_EAST ? 1 : -1;
    const SvgPoint outline[] = {at, {at.x + way * POINT, at.y - POINT}, {far, at.y - POINT}, {far, at.y + POINT}, {at.x + way * POINT, at.y + POINT}, at};
    svg_group(out, mark);
    svg_polyline(out, (SvgMark){.class = "sign"}, outline, sizeof outline / sizeof *outline);
    svg_text(out, (SvgMark){.class = "net"}, (SvgPoint){at.x + way * (POINT + 0.2), at.y + SVG_ASCENT * SIZE / 2}, SIZE,
             label->side == SYMBOL_EAST ? SVG_START : SVG_END, label->text);
    svg_group_end(out);
}

/* A supply: a bar above, with its name; below ground it hangs down. A ground: IEC 60617-02-15-01's three lines; one of several has its name below. */
static void put_rail(Out *out, const SchematicLabel *label, SvgMark mark) {
    static const double SIZE = 2.0;
    SvgPoint at = mm(label->at);
    Out path = out_new(out->arena);
    svg_group(out, mark);
    if (label->sort == SCHEMATIC_SUPPLY) {
        path_at(&path, at, "v-2m-1.5 0h3");
        svg_text(out, (SvgMark){.class = "net"}, (SvgPoint){at.x, at.y - 2.7}, SIZE, SVG_MIDDLE, label->text);
    } else if (label->negative) {
        path_at(&path, at, "v2m-1.5 0h3");
        svg_text(out, (SvgMark){.class = "net"}, (SvgPoint){at.x, at.y + 2.7 + SVG_ASCENT * SIZE}, SIZE, SVG_MIDDLE, label->text);
    } else {
        path_at(&path, at, "v1.6m-1.5 0h3m-2.4 .6h1.8m-1.2 .6h.6");
        svg_text(out, (SvgMark){.class = "net"}, (SvgPoint){at.x, at.y + 3.3 + SVG_ASCENT * SIZE}, SIZE, SVG_MIDDLE, label->text);
    }
    svg_path(out, (SvgMark){.class = "sign"}, out_text(&path));
    svg_group_end(out);
}

static void put_label(Out *out, const Schematic *schematic, const SchematicLabel *label) {
    static const char *const classes[] = {[SCHEMATIC_FLAG] = "flag", [SCHEMATIC_SUPPLY] = "supply", [SCHEMATIC_GROUND] = "ground"};
    SvgMark mark = net_mark(schematic, label->net, classes[label->sort]);
    if (label->sort == SCHEMATIC_FLAG)
        put_flag(out, label, mark);
    else
        put_rail(out, label, mark);
}

void schematic_svg(Out *out, const Schematic *schematic, uint32_t number, Text id) {
    const SchematicSheet *sheet = &schematic->sheets.at[number];
    SvgPage page = {.left = sheet->box.left, .top = sheet->box.top, .width = sheet->box.right - sheet->box.left,
                    .height = sheet->box.bottom - sheet->box.top, .id = id, .title = sheet->title, .css = CSS};
    page.desc = text_fmt(out->arena, "%u symbols, joined by wires and, where a name is written, by that name.", sheet->symbols.count);
    svg_open(out, &page);
    svg_group(out, (SvgMark){.class = "schematic"});
    for (uint32_t i = 0; i < sheet->wires.count; i++) put_wire(out, schematic, &sheet->wires.at[i]);
    for (uint32_t i = 0; i < sheet->dots.count; i++)
        svg_circle(out, net_mark(schematic, sheet->dots.at[i].net, "dot"), mm(sheet->dots.at[i].at), DOT);
    for (uint32_t i = 0; i < sheet->symbols.count; i++) put_symbol(out, schematic, &sheet->symbols.at[i]);
    for (uint32_t i = 0; i < sheet->labels.count; i++) put_label(out, schematic, &sheet->labels.at[i]);
    for (uint32_t i = 0; i < sheet->notes.count; i++) put_text(out, schematic, &sheet->notes.at[i], net_mark(schematic, sheet->notes.at[i].net, NULL));
    svg_group_end(out);
    svg_close(out);
}
