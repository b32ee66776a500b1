/* The tables of this room, read from the lore in one pass over its entries (codes first, since the others use their
 * weights). Tables are short lists searched from the start; packages are found by hash, since a bench asks for thousands.
 */
#include "mark/inside.h"

#include <limits.h>
#include <math.h>
#include <string.h>

static const char *const CODE_NAMES[CODE_COUNT] = {
    [CODE_WEIGHT] = "weight",
    [CODE_TOLERANCE] = "tolerance",
    [CODE_TOLERANCE_UNEVEN] = "tolerance, uneven",
    [CODE_TOLERANCE_PF] = "tolerance, picofarads",
    [CODE_EIA_96] = "EIA-96",
    [CODE_EIA_96_MULTIPLIER] = "EIA-96 multiplier",
    [CODE_COLOUR] = "colour",
    [CODE_COLOUR_DIGIT] = "colour digit",
    [CODE_COLOUR_POWER] = "colour multiplier",
    [CODE_COLOUR_TOLERANCE] = "colour tolerance",
    [CODE_COLOUR_DRIFT] = "colour temperature coefficient",
    [CODE_VOLT_LETTER] = "rated voltage",
    [CODE_TANTALUM_VOLTS] = "tantalum voltage",
    [CODE_CAPACITANCE_LETTER] = "capacitance letter",
    [CODE_CLASS_1] = "class 1 older name",
    [CODE_CLASS_1_FIGURE] = "class 1 figure",
    [CODE_CLASS_1_MULTIPLIER] = "class 1 multiplier",
    [CODE_CLASS_1_TOLERANCE] = "class 1 tolerance",
    [CODE_CLASS_2_LOW] = "class 2 low",
    [CODE_CLASS_2_HIGH] = "class 2 high",
    [CODE_CLASS_2_CHANGE] = "class 2 change",
    [CODE_SAFETY] = "suppression class",
    [CODE_YEAR] = "year letter",
    [CODE_MONTH] = "month letter",
    [CODE_IP_SOLID] = "IP first numeral",
    [CODE_IP_WATER] = "IP second numeral",
    [CODE_IP_ACCESS] = "IP additional letter",
    [CODE_IP_EXTRA] = "IP supplementary letter",
};

static const char *const FORM_NAMES[FORM_COUNT] = {
    [FORM_RESISTOR_DIGITS_3] = "resistor, three digits",
    [FORM_RESISTOR_DIGITS_4] = "resistor, four digits",
    [FORM_RESISTOR_LETTER] = "resistor, letter for the point",
    [FORM_RESISTOR_EIA_96] = "resistor, EIA-96",
    [FORM_RESISTOR_ZERO] = "resistor, zero",
    [FORM_RESISTOR_COLOURS] = "resistor, colours",
    [FORM_CAPACITOR_DIGITS] = "capacitor, three digits",
    [FORM_CAPACITOR_LETTER] = "capacitor, letter for the point",
    [FORM_CAPACITOR_PLAIN_PF] = "capacitor, picofarads as such",
    [FORM_CAPACITOR_PLAIN_UF] = "capacitor, microfarads as such",
    [FORM_CAPACITOR_EIA_198] = "capacitor, letter and digit",
    [FORM_CAPACITOR_TANTALUM] = "capacitor, tantalum",
    [FORM_CAPACITOR_CLASS_1] = "capacitor, class 1",
    [FORM_CAPACITOR_CLASS_2] = "capacitor, class 2",
    [FORM_CAPACITOR_VOLTS] = "capacitor, rated voltage",
    [FORM_CAPACITOR_SAFETY] = "capacitor, suppression class",
    [FORM_INDUCTOR_DIGITS] = "inductor, three digits",
    [FORM_INDUCTOR_LETTER] = "inductor, letter for the point",
    [FORM_INDUCTOR_COLOURS] = "inductor, colours",
    [FORM_DATE_LETTERS] = "date, letters",
    [FORM_DATE_YEAR_WEEK] = "date, year and week",
    [FORM_DATE_WEEK_YEAR] = "date, week and year",
    [FORM_DATE_DIGIT_WEEK] = "date, year digit and week",
    [FORM_CELL] = "cell",
    [FORM_IP] = "IP code",
    [FORM_SIGN] = "sign",
    [FORM_WIRE] = "wire gauge",
    [FORM_MEMORY] = "memory density",
    [FORM_MAKER] = "maker id",
};

/* The number of a name, or `count`. */
static unsigned name_number(const char *const *names, unsigned count, Text name) {
    unsigned i = 0;
    while (i < count && !text_is(name, names[i])) i++;
    return i;
}

/* code NAME ; lines: KEY [quantity ["dB"]] ["words"] { "," KEY ... } ; source TEXT */
static void code_line(Marks *marks, CodeTable *table, Line *line) {
    lex_start(&line->lexer, line->line->text);
    do {
        CodeEntry entry = {.key = line_text(line)};
        Lexer before = line->lexer;
        entry.has_value = !line->bad && lex_take_quantity(&line->lexer, &entry.value, NULL);
        if (!entry.has_value) line->lexer = before;
        line_take(line, "dB");
        if (lex_peek(&line->lexer).kind == LEX_STRING) entry.says = line_text(line);
        if (!line->bad && !entry.has_value && entry.says.len == 0)
            line_wrong(line, TEXT("this key stands for nothing"), TEXT("a quantity or a \"text\" after the key"));
        if (!line->bad) list_push(marks->arena, &table->entries, entry);
    } while (line_take(line, ","));
    line_end(line);
}

static void code_load(Marks *marks, Lore *lore, const LoreEntry *entry) {
    Line head = line_start(lore, &entry->head);
    unsigned code = name_number(CODE_NAMES, CODE_COUNT, lex_peek(&head.lexer).text);
    if (code == CODE_COUNT) {
        line_wrong(&head, TEXT("there is no such table of codes"), TEXT("a table's name, such as \"tolerance\""));
        return;
    }
    CodeTable *table = &marks->codes[code];
    for (uint32_t i = 0; i < entry->line_count; i++) {
        Line line = line_start(lore, &entry->lines[i]);
        if (!text_is(line.line->word, "source")) {
            code_line(marks, table, &line);
            continue;
        }
        table->source = line_text(&line);
        line_end(&line);
    }
}

/* on WORD ... WEIGHT dB | never WORD ... */
static void form_cases(Marks *marks, FormRule *rule, Line *line, bool never) {
    uint32_t first = rule->cases.count;
    while (line_more(line)) {
        Token token = lex_peek(&line->lexer);
        bool weight = token.kind == LEX_WORD && token.text.len > 0 && (token.text.at[0] == '+' || token.text.at[0] == '-');
        if (weight) break;
        FormCase *added = list_add(marks->arena, &rule->cases);
        added->word = line_text(line);
        added->decibans = -INFINITY;
    }
    double decibans = never ? -INFINITY : line_decibans(line);
    for (uint32_t i = first; i < rule->cases.count; i++) rule->cases.at[i].decibans = decibans;
}

/* reading NAME ; kind, standard, weight, on, never */
static void form_load(Marks *marks, Lore *lore, const LoreEntry *entry) {
    Line line = line_start(lore, &entry->head);
    unsigned form = name_number(FORM_NAMES, FORM_COUNT, lex_peek(&line.lexer).text);
    if (form == FORM_COUNT) {
        line_wrong(&line, TEXT("there is no such reading"), TEXT("a reading's name, such as \"resistor, EIA-96\""));
        return;
    }
    FormRule *rule = &marks->forms[form];
    rule->said = true;
    for (uint32_t i = 0; i < entry->line_count; i++) {
        line = line_start(lore, &entry->lines[i]);
        Text word = line.line->word;
        if (text_is(word, "kind"))
            rule->kind = line_text(&line);
        else if (text_is(word, "standard"))
            rule->standard = line_text(&line);
        else if (text_is(word, "weight"))
            rule->decibans = line_decibans(&line);
        else if (text_is(word, "on") || text_is(word, "never"))
            form_cases(marks, rule, &line, text_is(word, "never"));
        else
            line_wrong(&line, TEXT("a reading has no such line"), TEXT("kind, standard, weight, on or never"));
        line_end(&line);
    }
}

/* narrow NAME ... ; may KIND ... */
static void narrow_load(Marks *marks, Lore *lore, const LoreEntry *entry) {
    Narrow *narrow = list_add(marks->arena, &marks->narrows);
    Line line = line_start(lore, &entry->head);
    while (line_more(&line)) list_push(marks->arena, &narrow->names, line_text(&line));
    for (uint32_t i = 0; i < entry->line_count; i++) {
        line = line_start(lore, &entry->lines[i]);
        if (!text_is(line.line->word, "may")) line_wrong(&line, TEXT("narrow has no such line"), TEXT("may"));
        while (line_more(&line)) list_push(marks->arena, &narrow->may, line_text(&line));
        line_end(&line);
    }
}

typedef void Loader(Marks *marks, Lore *lore, const LoreEntry *entry);

static const struct {
    const char *head;
    Loader *load;
    bool first; /* others use it while they are read */
} HEADS[] = {
    {"code", code_load, true},
    {"package", package_load, false},
    {"cell-system", cell_system_load, false},
    {"cell-size", cell_size_load, false},
    {"cell-chemistry", chemistry_load, false},
    {"cell-stock", stock_load, false},
    {"reading", form_load, false},
    {"narrow", narrow_load, false},
    {"sign", sign_load, false},
    {"memory-family", memory_load, false},
};
enum { HEAD_COUNT = sizeof HEADS / sizeof HEADS[0] };

bool marks_reads(Text head) {
    for (size_t i = 0; i < HEAD_COUNT; i++)
        if (text_is(head, HEADS[i].head)) return true;
    return false;
}

static void load_pass(Marks *marks, Lore *lore, bool first) {
    for (uint32_t i = 0; i < lore->entries.count; i++) {
        const LoreEntry *entry = &lore->entries.at[i];
        for (size_t h = 0; h < HEAD_COUNT; h++)
            if (HEADS[h].first == first && text_is(entry->head.word, HEADS[h].head)) HEADS[h].load(marks, lore, entry);
    }
}

Marks *marks_new(Arena *arena, Lore *lore) {
    Marks *marks = arena_one(arena, Marks);
    marks->arena = arena;
    marks->package_names = names_new(arena);
    load_pass(marks, lore, true);
    load_pass(marks, lore, false);
    return marks;
}

const CodeEntry *code_find(const Marks *marks, Code code, Text key) {
    const CodeTable *table = &marks->codes[code];
    for (uint32_t i = table->entries.count; i-- > 0;) /* the last said wins: the person's own lore comes after */
        if (text_same(table->entries.at[i].key, key)) return &table->entries.at[i];
    return NULL;
}

const CodeEntry *code_letter(const Marks *marks, Code code, char key) { return code_find(marks, code, (Text){&key, 1}); }

double weight_of(const Marks *marks, const char *key) {
    const CodeEntry *entry = code_find(marks, CODE_WEIGHT, text_of(key));
    if (entry == NULL) return 0;
    return unit_same(entry->value.unit, UNIT_METRE) ? entry->value.value * 1e3 : entry->value.value;
}

int text_number(Text digits) {
    if (digits.len > 9 || !text_all_digits(digits)) return INT_MAX;
    int number = 0;
    for (size_t i = 0; i < digits.len; i++) number = number * 10 + (digits.at[i] - '0');
    return number;
}

Text quantity_said(Arena *arena, Quantity quantity) {
    Out out = out_new(arena);
    quantity_print(&out, quantity);
    return out_text(&out);
}

Text tolerance_said(Arena *arena, double low, double high) {
    low = round(low * 1e8) / 1e6, high = round(high * 1e8) / 1e6; /* per cent, without the last bits of a fraction */
    return low == -high ? text_fmt(arena, "±%.4g %%", high) : text_fmt(arena, "%+.4g/%+.4g %%", low, high);
}

Quantity memory_size(double bits) {
    Quantity size = quantity_exact(bits, UNIT_BIT);
    size.last = 1;
    while (bits / size.last >= 1024) size.last *= 1024;
    return size;
}

double size_decibans(const Marks *marks, double ohm) {
    bool usual = ohm >= weight_of(marks, "resistor-least") && ohm <= weight_of(marks, "resistor-most");
    return usual ? 0 : weight_of(marks, "resistor-odd-size");
}
