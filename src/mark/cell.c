/* Cells and batteries by their designation: IEC 60086 (primary), 61951 (nickel) and 61960 (lithium-ion), and what the trade
 * says for them. Systems and sizes stand in lore/cells.lore; the rule by which a size code of four or five digits tells the
 * size is here. All from memory of the standards.
 *
 *   designation = [ cells in series ] [ system ] shape size [ suffix ]
 *   shape       = R (round) | F (flat layers) | S (box) | P (not round)
 *   size        = a code of the table | two digits of mm, two of tenths (2032) | two of mm, three of tenths (18650)
 *               | mm / mm [ / mm ] (IEC 61960) */
#include "mark/inside.h"

#include <string.h>

enum { DESIGNATION_MOST = 24 };

void cell_system_load(Marks *marks, Lore *lore, const LoreEntry *entry) {
    Line line = line_start(lore, &entry->head);
    CellSystem system = {.letter = line_text(&line)};
    bool bad = line.bad;
    for (uint32_t i = 0; i < entry->line_count; i++) {
        line = line_start(lore, &entry->lines[i]);
        Text word = line.line->word;
        if (text_is(word, "chemistry"))
            system.chemistry = line_text(&line);
        else if (text_is(word, "volts"))
            system.volts = line_quantity(&line, UNIT_VOLT, "volts").value;
        else if (text_is(word, "lithium"))
            system.lithium = true;
        else if (text_is(word, "rechargeable"))
            system.rechargeable = true;
        else if (text_is(word, "source"))
            system.source = line_text(&line);
        else
            line_wrong(&line, TEXT("a cell system has no such line"),
                       TEXT("chemistry, volts, lithium, rechargeable, source"));
        line_end(&line);
        bad |= line.bad;
    }
    if (!bad) list_push(marks->arena, &marks->systems, system);
}

void cell_size_load(Marks *marks, Lore *lore, const LoreEntry *entry) {
    Line line = line_start(lore, &entry->head);
    CellSize size = {.code = line_text(&line)};
    bool bad = line.bad;
    for (uint32_t i = 0; i < entry->line_count; i++) {
        line = line_start(lore, &entry->lines[i]);
        Text word = line.line->word;
        if (text_is(word, "round") || text_is(word, "box")) {
            size.shape = text_is(word, "box") ? CELL_BOX : CELL_ROUND;
            size_t expected = size.shape == CELL_BOX ? 3 : 2;
            if (line_sizes(&line, size.mm, expected) != expected)
                line_wrong(&line, TEXT("sizes are missing"), TEXT("round DIAMETER x HEIGHT or box A x B x C"));
        } else if (text_is(word, "trade"))
            while (line_more(&line)) list_push(marks->arena, &size.trade, line_text(&line));
        else if (text_is(word, "same"))
            while (line_more(&line)) list_push(marks->arena, &size.same, line_text(&line));
        else if (text_is(word, "source"))
            size.source = line_text(&line);
        else if (text_is(word, "system"))
            size.system = line_text(&line);
        else
            line_wrong(&line, TEXT("a cell size has no such line"), TEXT("round, box, trade, same, system, source"));
        line_end(&line);
        bad |= line.bad;
    }
    if (!bad) list_push(marks->arena, &marks->sizes, size);
}

typedef struct Parts {
    uint32_t count; /* cells in series, at least 1 */
    Text system;    /* letters, may be empty */
    char shape;
    Text size; /* "44", "8D425", "18650", "19/66" */
} Parts;

/* Cuts an upper-case designation; false when it has not that form. */
static bool cut(Text t, Parts *parts) {
    size_t i = 0, letters;
    while (i < t.len && is_digit(t.at[i])) i++;
    if (i > 2) return false;
    parts->count = i == 0 ? 1 : (uint32_t)text_number(text_sub(t, 0, i));
    letters = i;
    while (i < t.len && is_upper(t.at[i])) i++;
    if (i == letters || i - letters > 3 || parts->count == 0) return false;
    parts->shape = t.at[i - 1];
    parts->system = text_sub(t, letters, i - letters - 1);
    size_t size = i;
    while (i < t.len && (is_digit(t.at[i]) || t.at[i] == '/')) i++;
    if (i + 3 < t.len && t.at[i] == 'D' && is_digit(t.at[i + 1])) { /* 8D425: diameter and height */
        i++;
        while (i < t.len && is_digit(t.at[i])) i++;
    }
    parts->size = text_sub(t, size, i - size);
    size_t suffix = i;
    while (i < t.len && (is_upper(t.at[i]) || (t.at[i] == '-' && i == suffix))) i++;
    return parts->size.len > 0 && i == t.len && i - suffix <= 3 && memchr("RFSP", parts->shape, 4) != NULL;
}

static const CellSystem *system_of(const Marks *marks, Text letters) {
    for (uint32_t i = 0; i < marks->systems.count; i++)
        if (text_same(marks->systems.at[i].letter, letters.len == 0 ? TEXT("-") : letters)) return &marks->systems.at[i];
    return NULL;
}

static const CellSize *size_of(const Marks *marks, Text code) {
    for (uint32_t i = 0; i < marks->sizes.count; i++)
        if (text_same(marks->sizes.at[i].code, code)) return &marks->sizes.at[i];
    return NULL;
}

static void say_box(Arena *arena, MarkCell *cell, const double *mm) {
    cell->shape = TEXT("box");
    cell->size = text_fmt(arena, "%.4g mm x %.4g mm x %.4g mm", mm[0], mm[1], mm[2]);
}

static void say_round(Arena *arena, MarkCell *cell, double diameter, double height) {
    cell->diameter = diameter, cell->height = height;
    cell->button = height < diameter && cell->in_series == 1;
    cell->shape = cell->button ? TEXT("button or coin") : TEXT("round");
    cell->size = text_fmt(arena, "%.4g mm x %.4g mm", diameter, height);
}

/* IEC 61960 writes the largest diameter and height, or thickness, width and height, in whole millimetres. */
static bool size_slashed(Arena *arena, Text size, MarkCell *cell) {
    double mm[3];
    size_t count = 0;
    while (count < 3 && size.len > 0) {
        size_t slash = text_find(size, TEXT("/"));
        Text part = text_sub(size, 0, slash);
        if (!text_all_digits(part) || part.len > 3) return false;
        mm[count++] = text_number(part);
        size = slash == SIZE_MAX ? TEXT("") : text_sub(size, slash + 1, size.len);
    }
    if (count < 2 || size.len > 0) return false;
    if (count == 3)
        say_box(arena, cell, mm);
    else
        say_round(arena, cell, mm[0], mm[1]);
    cell->assumed = TEXT("sizes are the largest, rounded up to whole millimetres");
    return true;
}

/* Four digits: mm and tenths of height; five: mm, then three digits of tenths; three: one digit of mm (IEC 60086-2). */
static bool size_by_rule(Arena *arena, Text size, MarkCell *cell) {
    if (text_find(size, TEXT("/")) != SIZE_MAX) return size_slashed(arena, size, cell);
    if (!text_all_digits(size) || size.len < 3 || size.len > 5) return false;
    size_t wide = size.len == 3 ? 1 : 2;
    double diameter = text_number(text_sub(size, 0, wide)), height = text_number(text_sub(size, wide, 3)) / 10.0;
    if (diameter < 4 || height < 1) return false;
    say_round(arena, cell, diameter, height);
    if (size.len < 5) cell->assumed = TEXT("the code gives the diameter rounded down to whole millimetres");
    return true;
}

static void set_system(MarkCell *cell, const CellSystem *system) {
    cell->chemistry = system->chemistry;
    cell->system = system->letter;
    cell->lithium = system->lithium, cell->rechargeable = system->rechargeable;
    cell->volts = quantity_exact(system->volts * cell->in_series, UNIT_VOLT);
    cell->volts.last = 0.1;
    if (cell->source.len == 0) cell->source = system->source;
}

static void set_size(Arena *arena, MarkCell *cell, const CellSize *size) {
    if (size->shape == CELL_BOX)
        say_box(arena, cell, size->mm);
    else
        say_round(arena, cell, size->mm[0], size->mm[1]);
    cell->code = size->code;
    cell->source = size->source;
}

/* A designation by the rules. An assembly (6F22, 6LR61) is looked up without its system; then its cell alone. */
static bool by_designation(Arena *arena, const Marks *marks, Text t, MarkCell *cell) {
    Parts parts;
    if (!cut(t, &parts)) return false;
    const CellSystem *system = system_of(marks, parts.system);
    if (system == NULL) return false;
    *cell = (MarkCell){.designation = t, .in_series = parts.count};
    Text code = text_fmt(arena, "%c%.*s", parts.shape, TEXT_ARG(parts.size));
    cell->code = parts.count > 1 ? text_fmt(arena, "%u%.*s", parts.count, TEXT_ARG(code)) : code;
    const CellSize *size = size_of(marks, cell->code);
    if (size != NULL)
        set_size(arena, cell, size);
    else if (parts.count > 1 && (size_of(marks, code) != NULL || size_by_rule(arena, parts.size, cell)))
        cell->shape = TEXT("assembly"), cell->size = text_fmt(arena, "%u cells of size %.*s", parts.count, TEXT_ARG(code));
    else if (parts.count > 1 || !(parts.shape == 'R' && parts.system.len > 0 && size_by_rule(arena, parts.size, cell)))
        if (!size_slashed(arena, parts.size, cell)) return false;
    set_system(cell, system);
    return true;
}

/* A name of the trade that says the size only: the volts of what may be in it. */
static void any_chemistry(MarkCell *cell, uint32_t count) {
    cell->in_series = count;
    cell->chemistry = TEXT("not said: zinc-carbon, alkaline, or nickel-metal hydride");
    cell->volts = quantity_within(1.5 * count, 1.2 * count, 1.5 * count, UNIT_VOLT);
    cell->assumed = TEXT("the name says the size, not the chemistry");
}

static bool by_trade_name(Arena *arena, const Marks *marks, Text t, MarkCell *cell) {
    for (uint32_t i = 0; i < marks->sizes.count; i++) {
        const CellSize *size = &marks->sizes.at[i];
        uint32_t count = is_digit(size->code.at[0]) ? (uint32_t)(size->code.at[0] - '0') : 1;
        bool same = false, trade = false;
        for (uint32_t k = 0; k < size->same.count; k++) same |= text_same(size->same.at[k], t);
        for (uint32_t k = 0; k < size->trade.count; k++) trade |= text_same(size->trade.at[k], t);
        const CellSystem *system = same ? system_of(marks, size->system) : NULL;
        if (system == NULL && !trade) continue;
        *cell = (MarkCell){.designation = t, .in_series = count};
        if (system != NULL)
            set_system(cell, system);
        else
            any_chemistry(cell, count);
        set_size(arena, cell, size);
        return true;
    }
    return false;
}

/* 18650, 14500, 21700: a bare size that the trade uses for lithium-ion cells. */
static bool by_bare_size(Arena *arena, const Marks *marks, Text t, MarkCell *cell) {
    const CellSystem *ion = system_of(marks, TEXT("IC"));
    *cell = (MarkCell){.designation = t, .code = text_fmt(arena, "R%.*s", TEXT_ARG(t)), .in_series = 1};
    if (t.len != 5 || ion == NULL || !size_by_rule(arena, t, cell)) return false;
    if (cell->diameter < 10 || cell->diameter > 36 || cell->height < 25 || cell->height > 85) return false;
    set_system(cell, ion);
    cell->chemistry = TEXT("lithium-ion, kind not said");
    cell->volts = quantity_within(ion->volts, 3.2, 3.7, UNIT_VOLT);
    cell->assumed = TEXT("trade name: lithium iron phosphate would be 3.2 V, the others 3.6 to 3.7 V");
    return true;
}

bool mark_cell(Arena *arena, const Marks *marks, Text designation, MarkCell *cell) {
    char upper[DESIGNATION_MOST];
    designation = text_trim(designation);
    if (designation.len == 0 || designation.len > sizeof upper) return false;
    for (size_t i = 0; i < designation.len; i++) upper[i] = to_upper(designation.at[i]);
    Text t = text_copy(arena, (Text){upper, designation.len});
    return by_trade_name(arena, marks, t, cell) || by_designation(arena, marks, t, cell) ||
           by_bare_size(arena, marks, t, cell);
}

void read_cell(Reader *reader) {
    MarkCell cell;
    bool asked = reader_asked(reader, "cell");
    if (reader->whole.len < 2 && !asked) return; /* D, C and N say too little by themselves */
    if (!mark_cell(reader->arena, reader->marks, reader->whole, &cell)) return;
    Out says = out_new(reader->arena);
    out_fmt(&says, "%s of ", cell.in_series > 1 ? "battery" : cell.rechargeable ? "rechargeable cell" : "cell");
    quantity_print_range(&says, cell.volts);
    out_fmt(&says, ", %.*s, %.*s", TEXT_ARG(cell.size), TEXT_ARG(cell.chemistry));
    Draft *draft = reading_add(reader, FORM_CELL, 0, out_text(&says));
    reading_value(draft, cell.volts);
    draft->reading.standard = cell.source;
    draft->reading.assumed = cell.assumed;
    reading_field(reader, draft, "chemistry", cell.chemistry);
    reading_field(reader, draft, "shape", cell.shape);
    reading_field(reader, draft, "size", cell.size);
    if (cell.in_series > 1) reading_field(reader, draft, "cells", text_fmt(reader->arena, "%u in series", cell.in_series));
}
