/* Groups onto sheets, row by row in the order of telling (power first). One sheet while that fits on A3; beyond, each block
 * begins a sheet of its own. */
#include "draw/schematic_inside.h"

#include <math.h>
#include <stdlib.h>

enum { SHEET_WIDE = 152, SHEET_TALL = 104, /* grid: A3 (ISO 216) lying, less its margins */ GROUP_GAP = 3 };
static const double SHAPE = 1.5; /* width to height that a sheet is given if it has the choice */

typedef struct Packed {
    const Group *group;
    uint32_t number, sheet;
    SchematicAt shift;
} Packed;

static int width_of(const Group *group) { return group->right - group->left; }
static int height_of(const Group *group) { return group->bottom - group->top; }

static int by_block(const void *a, const void *b) {
    const Packed *x = a, *y = b;
    if (x->group->block != y->group->block) return x->group->block < y->group->block ? -1 : 1;
    return x->number < y->number ? -1 : x->number > y->number;
}

/* Rows of at most `wide`; a new sheet when a row would go below `tall`, or where a block begins. How many sheets; the height
 * of the last. */
static uint32_t pack(Packed *packed, uint32_t count, int wide, int tall, bool sheet_a_block) {
    uint32_t sheet = 0;
    int x = 0, y = 0, row = 0;
    for (uint32_t i = 0; i < count; i++) {
        const Group *group = packed[i].group;
        if (x > 0 && x + width_of(group) > wide) x = 0, y += row + GROUP_GAP, row = 0;
        bool block = sheet_a_block && i > 0 && packed[i - 1].group->block != group->block;
        if ((y > 0 && y + height_of(group) > tall) || block) sheet++, x = y = row = 0;
        packed[i].sheet = sheet;
        packed[i].shift = (SchematicAt){x - group->left, y - group->top};
        x += width_of(group) + GROUP_GAP;
        if (height_of(group) > row) row = height_of(group);
    }
    return sheet + 1;
}

static uint32_t pack_well(Packed *packed, uint32_t count) {
    double area = 0;
    int widest = 0;
    for (uint32_t i = 0; i < count; i++) {
        area += (double)(width_of(packed[i].group) + GROUP_GAP) * (height_of(packed[i].group) + GROUP_GAP);
        if (width_of(packed[i].group) > widest) widest = width_of(packed[i].group);
    }
    int wide = (int)sqrt(area * SHAPE);
    if (wide < widest) wide = widest;
    if (wide > SHEET_WIDE) wide = SHEET_WIDE;
    if (pack(packed, count, wide, SHEET_TALL, false) == 1) return 1;
    if (pack(packed, count, SHEET_WIDE, SHEET_TALL, false) == 1) return 1;
    return pack(packed, count, SHEET_WIDE, SHEET_TALL, true);
}

static Text sheet_title(Maker *maker, uint32_t sheets, const Packed *first) {
    size_t blocks;
    const Text *block = reason_blocks(&blocks);
    if (sheets == 1) return TEXT("Schematic");
    Text name = first->group->block < blocks ? block[first->group->block] : TEXT("other");
    return text_fmt(maker->arena, "Schematic, sheet %u of %u: %.*s", first->sheet + 1, sheets, TEXT_ARG(name));
}

static void widen(SchematicSheet *sheet, SchematicBox box) {
    sheet->box.left = fmin(sheet->box.left, box.left), sheet->box.top = fmin(sheet->box.top, box.top);
    sheet->box.right = fmax(sheet->box.right, box.right), sheet->box.bottom = fmax(sheet->box.bottom, box.bottom);
}

static void measure_sheet(SchematicSheet *sheet) {
    static const double EDGE_MM = 5;
    sheet->box = (SchematicBox){INFINITY, INFINITY, -INFINITY, -INFINITY};
    for (uint32_t i = 0; i < sheet->symbols.count; i++) {
        const SchematicSymbol *symbol = &sheet->symbols.at[i];
        widen(sheet, symbol->body);
        for (uint32_t k = 0; k < symbol->text_count; k++) widen(sheet, symbol->texts[k].box);
        for (uint32_t p = 0; p < symbol->pin_count; p++) {
            double x = symbol->pins[p].at.x * SYMBOL_GRID, y = symbol->pins[p].at.y * SYMBOL_GRID;
            widen(sheet, (SchematicBox){x, y, x, y});
        }
    }
    for (uint32_t i = 0; i < sheet->labels.count; i++) widen(sheet, sheet->labels.at[i].box);
    for (uint32_t i = 0; i < sheet->notes.count; i++) widen(sheet, sheet->notes.at[i].box);
    for (uint32_t i = 0; i < sheet->wires.count; i++)
        for (uint32_t k = 0; k < sheet->wires.at[i].count; k++) {
            double x = sheet->wires.at[i].at[k].x * SYMBOL_GRID, y = sheet->wires.at[i].at[k].y * SYMBOL_GRID;
            widen(sheet, (SchematicBox){x, y, x, y});
        }
    if (!(sheet->box.left <= sheet->box.right)) sheet->box = (SchematicBox){0, 0, 0, 0};
    sheet->box = (SchematicBox){sheet->box.left - EDGE_MM, sheet->box.top - EDGE_MM, sheet->box.right + EDGE_MM, sheet->box.bottom + EDGE_MM};
}

Schematic *schematic_draw(Arena *arena, const SchematicAsked *asked) {
    Schematic *drawing = arena_one(arena, Schematic);
    const Bench *bench = asked->reasoning->bench;
    drawing->bench = bench;
    drawing->ansi = asked->ansi;
    Maker maker = {.arena = arena, .asked = asked, .bench = bench, .drawing = drawing, .rails = rails_find(arena, bench)};
    maker_items(&maker);
    Groups groups = maker_groups(&maker);
    uint32_t *local = arena_many(arena, uint32_t, bench->nets.count);
    for (uint32_t n = 0; n < bench->nets.count; n++) local[n] = BENCH_NONE;
    Packed *packed = arena_many(arena, Packed, groups.count);
    for (uint32_t i = 0; i < groups.count; i++) {
        group_place(&maker, &groups.at[i], local);
        packed[i] = (Packed){.group = &groups.at[i], .number = i};
    }
    if (groups.count > 0) qsort(packed, groups.count, sizeof *packed, by_block);
    uint32_t sheets = groups.count == 0 ? 0 : pack_well(packed, groups.count);
    for (uint32_t i = 0; i < groups.count; i++) {
        if (packed[i].sheet >= drawing->sheets.count) *list_add(arena, &drawing->sheets) = (SchematicSheet){.title = sheet_title(&maker, sheets, &packed[i])};
        group_wire(&maker, &groups.at[packed[i].number], &drawing->sheets.at[packed[i].sheet], packed[i].shift, local);
    }
    for (uint32_t i = 0; i < drawing->sheets.count; i++) measure_sheet(&drawing->sheets.at[i]);
    return drawing;
}
