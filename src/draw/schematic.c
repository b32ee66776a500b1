/* Groups onto sheets, row by row in the order of telling (power first). One sheet while that fits on A3; beyond, a block
 * begins a sheet where the one before is half full. */
#include "draw/schematic_inside.h"

#include <math.h>
#include <stdlib.h>

enum { SHEET_WIDE = 152, SHEET_TALL = 104, /* grid: A3 (ISO 216) lying, less its margins */ GROUP_GAP = 3 };
static const double SHAPE = 1.5; /* width to height that a sheet is given if it has the choice */

typedef struct Packed {
    Group *group;
    uint32_t number, sheet;
    int left, top, wide, tall; /* grid: what it covers */
    SchematicAt shift;
} Packed;

static int by_block(const void *a, const void *b) {
    const Packed *x = a, *y = b;
    if (x->group->block != y->group->block) return x->group->block < y->group->block ? -1 : 1;
    return x->number < y->number ? -1 : x->number > y->number;
}

/* Rows of at most `wide`; a new sheet when a row would go below `tall`, or where a block begins and the sheet is half full. How
 * many sheets. */
static uint32_t pack(Packed *packed, uint32_t count, int wide, int tall, bool sheet_a_block) {
    uint32_t sheet = 0;
    int x = 0, y = 0, row = 0;
    for (uint32_t i = 0; i < count; i++) {
        Packed *p = &packed[i];
        if (x > 0 && x + p->wide > wide) x = 0, y += row + GROUP_GAP, row = 0;
        bool block = sheet_a_block && i > 0 && packed[i - 1].group->block != p->group->block && y + row > tall / 2;
        if ((y > 0 && y + p->tall > tall) || block) sheet++, x = y = row = 0;
        p->sheet = sheet;
        p->shift = (SchematicAt){x - p->left, y - p->top};
        x += p->wide + GROUP_GAP;
        if (p->tall > row) row = p->tall;
    }
    return sheet + 1;
}

static uint32_t pack_well(Packed *packed, uint32_t count) {
    double area = 0;
    int widest = 0;
    for (uint32_t i = 0; i < count; i++) {
        area += (double)(packed[i].wide + GROUP_GAP) * (packed[i].tall + GROUP_GAP);
        if (packed[i].wide > widest) widest = packed[i].wide;
    }
    int wide = (int)sqrt(area * SHAPE);
    if (wide < widest) wide = widest;
    if (wide > SHEET_WIDE) wide = SHEET_WIDE;
    if (pack(packed, count, wide, SHEET_TALL, false) == 1) return 1;
    if (pack(packed, count, SHEET_WIDE, SHEET_TALL, false) == 1) return 1;
    return pack(packed, count, SHEET_WIDE, SHEET_TALL, true);
}

/* Names the blocks that it shows; packed: size count, in order. */
static Text sheet_title(Maker *maker, uint32_t sheets, uint32_t sheet, const Packed *packed, uint32_t count) {
    size_t blocks;
    const Text *block = reason_blocks(&blocks);
    if (sheets == 1) return TEXT("Schematic");
    Out out = out_new(maker->arena);
    out_fmt(&out, "Schematic, sheet %u of %u:", sheet + 1, sheets);
    uint32_t said = BENCH_NONE;
    for (uint32_t i = 0; i < count; i++) {
        if (packed[i].sheet != sheet || packed[i].group->block == said) continue;
        Text name = packed[i].group->block < blocks ? block[packed[i].group->block] : TEXT("other");
        out_fmt(&out, "%s %.*s", said == BENCH_NONE ? "" : ",", TEXT_ARG(name));
        said = packed[i].group->block;
    }
    return out_text(&out);
}

/* ---- what a sheet covers ---- */

static void widen(SchematicBox *box, SchematicBox by) {
    *box = (SchematicBox){fmin(box->left, by.left), fmin(box->top, by.top), fmax(box->right, by.right), fmax(box->bottom, by.bottom)};
}

static void widen_to(SchematicBox *box, SchematicAt at) {
    double x = at.x * SYMBOL_GRID, y = at.y * SYMBOL_GRID;
    widen(box, (SchematicBox){x, y, x, y});
}

static SchematicBox covered(const SchematicSheet *sheet) {
    SchematicBox box = {INFINITY, INFINITY, -INFINITY, -INFINITY};
    for (uint32_t i = 0; i < sheet->symbols.count; i++) {
        const SchematicSymbol *symbol = &sheet->symbols.at[i];
        widen(&box, symbol->body);
        for (uint32_t k = 0; k < symbol->text_count; k++) widen(&box, symbol->texts[k].box);
        for (uint32_t p = 0; p < symbol->pin_count; p++) widen_to(&box, symbol->pins[p].at);
    }
    for (uint32_t i = 0; i < sheet->labels.count; i++) widen(&box, sheet->labels.at[i].box);
    for (uint32_t i = 0; i < sheet->notes.count; i++) widen(&box, sheet->notes.at[i].box);
    for (uint32_t i = 0; i < sheet->wires.count; i++)
        for (uint32_t k = 0; k < sheet->wires.at[i].count; k++) widen_to(&box, sheet->wires.at[i].at[k]);
    return box.left <= box.right ? box : (SchematicBox){0};
}

static Packed packed_of(Group *group, uint32_t number) {
    SchematicBox box = covered(&group->drawn);
    Packed packed = {.group = group, .number = number, .left = (int)floor(box.left / SYMBOL_GRID), .top = (int)floor(box.top / SYMBOL_GRID)};
    packed.wide = (int)ceil(box.right / SYMBOL_GRID) - packed.left, packed.tall = (int)ceil(box.bottom / SYMBOL_GRID) - packed.top;
    return packed;
}

/* ---- a group onto its sheet ---- */

static void move_at(SchematicAt *at, SchematicAt by) { at->x += by.x, at->y += by.y; }

static void move_box(SchematicBox *box, SchematicAt by) {
    double x = by.x * SYMBOL_GRID, y = by.y * SYMBOL_GRID;
    *box = (SchematicBox){box->left + x, box->top + y, box->right + x, box->bottom + y};
}

static void move_text(SchematicText *text, SchematicAt by) {
    move_box(&text->box, by);
    text->at.x += by.x * SYMBOL_GRID, text->at.y += by.y * SYMBOL_GRID;
}

static void move_symbol(SchematicSymbol *symbol, SchematicAt by) {
    move_at(&symbol->at, by);
    move_box(&symbol->body, by);
    for (uint32_t p = 0; p < symbol->pin_count; p++) move_at(&symbol->pins[p].at, by);
    for (uint32_t k = 0; k < symbol->text_count; k++) move_text(&symbol->texts[k], by);
}

static void add_to_sheet(Arena *arena, SchematicSheet *sheet, SchematicSheet *drawn, SchematicAt by) {
    for (uint32_t i = 0; i < drawn->symbols.count; i++) {
        move_symbol(&drawn->symbols.at[i], by);
        list_push(arena, &sheet->symbols, drawn->symbols.at[i]);
    }
    for (uint32_t i = 0; i < drawn->wires.count; i++) {
        for (uint32_t k = 0; k < drawn->wires.at[i].count; k++) move_at(&drawn->wires.at[i].at[k], by);
        list_push(arena, &sheet->wires, drawn->wires.at[i]);
    }
    for (uint32_t i = 0; i < drawn->dots.count; i++) {
        move_at(&drawn->dots.at[i].at, by);
        list_push(arena, &sheet->dots, drawn->dots.at[i]);
    }
    for (uint32_t i = 0; i < drawn->labels.count; i++) {
        move_at(&drawn->labels.at[i].at, by);
        move_box(&drawn->labels.at[i].box, by);
        list_push(arena, &sheet->labels, drawn->labels.at[i]);
    }
    for (uint32_t i = 0; i < drawn->notes.count; i++) {
        move_text(&drawn->notes.at[i], by);
        list_push(arena, &sheet->notes, drawn->notes.at[i]);
    }
    sheet->crossings += drawn->crossings, sheet->bends += drawn->bends;
    sheet->flagged += drawn->flagged, sheet->undrawn += drawn->undrawn;
}

static void write_title(Arena *arena, SchematicSheet *sheet) {
    static const double SIZE = 3.5, ROOM = 5; /* mm */
    SchematicBox box = covered(sheet);
    double y = box.top - ROOM;
    SchematicText title = {.class = "title", .net = BENCH_NONE, .text = sheet->title, .at = {box.left, y}, .size = SIZE};
    title.box = (SchematicBox){box.left, y - SVG_ASCENT * SIZE, box.left + svg_text_width(sheet->title, SIZE), y + SVG_DESCENT * SIZE};
    list_push(arena, &sheet->notes, title);
}

Schematic *schematic_draw(Arena *arena, const SchematicAsked *asked) {
    Schematic *drawing = arena_one(arena, Schematic);
    const Bench *bench = asked->reasoning->bench;
    drawing->bench = bench;
    drawing->ansi = asked->ansi;
    drawing->modes = asked->modes;
    Maker maker = {.arena = arena, .asked = asked, .bench = bench, .drawing = drawing, .rails = rails_find(arena, bench), .budget = SCHEMATIC_BUDGET};
    maker_items(&maker);
    Groups groups = maker_groups(&maker);
    uint32_t *local = arena_many(arena, uint32_t, bench->nets.count);
    for (uint32_t n = 0; n < bench->nets.count; n++) local[n] = BENCH_NONE;
    Packed *packed = arena_many(arena, Packed, groups.count);
    for (uint32_t i = 0; i < groups.count; i++) {
        group_place(&maker, &groups.at[i], local);
        group_wire(&maker, &groups.at[i], local);
        packed[i] = packed_of(&groups.at[i], i);
    }
    if (groups.count > 0) qsort(packed, groups.count, sizeof *packed, by_block);
    uint32_t sheets = groups.count == 0 ? 0 : pack_well(packed, groups.count);
    for (uint32_t i = 0; i < groups.count; i++) {
        if (packed[i].sheet >= drawing->sheets.count) *list_add(arena, &drawing->sheets) = (SchematicSheet){.title = sheet_title(&maker, sheets, packed[i].sheet, packed, groups.count)};
        add_to_sheet(arena, &drawing->sheets.at[packed[i].sheet], &packed[i].group->drawn, packed[i].shift);
    }
    static const double EDGE = 5; /* mm */
    for (uint32_t i = 0; i < drawing->sheets.count; i++) {
        if (sheets > 1) write_title(arena, &drawing->sheets.at[i]);
        SchematicBox box = covered(&drawing->sheets.at[i]);
        drawing->sheets.at[i].box = (SchematicBox){box.left - EDGE, box.top - EDGE, box.right + EDGE, box.bottom + EDGE};
    }
    return drawing;
}
