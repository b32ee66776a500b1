/* Parts out of a comma-separated list. Columns go by their names, in any order; what people call them stands in the
 * `columns` entry of the lore. Columns that mean nothing here are passed over. */
#include "shelf/csv.h"
#include "shelf/part.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef enum Meaning {
    MEANS_NAME,
    MEANS_KIND,
    MEANS_ABOUT,
    MEANS_PACKAGE,
    MEANS_PINS,
    MEANS_SUPPLY,
    MEANS_PRICE,
    MEANS_CURRENCY,
    MEANS_ALSO,
    MEANS_CODE,
    MEANING_COUNT
} Meaning;

static const Text MEANINGS[MEANING_COUNT] = {
    TEXT_INIT("name"),   TEXT_INIT("kind"),  TEXT_INIT("about"),    TEXT_INIT("package"), TEXT_INIT("pins"),
    TEXT_INIT("supply"), TEXT_INIT("price"), TEXT_INIT("currency"), TEXT_INIT("also"),    TEXT_INIT("code"),
};

enum { NAME_MOST = 64, FIELD_MOST = 4096, ITEMS_MOST = 200, ROWS_AT_ONCE = 1024 };

/* ---- what columns are called ---- */

/* Letters and digits in small letters: `Part No.` is partno. */
static Text plain_name(Arena *arena, Text text) {
    char *plain = arena_take(arena, text.len + 1);
    size_t len = 0;
    for (size_t i = 0; i < text.len; i++) {
        char c = text.at[i];
        if (c >= 'A' && c <= 'Z') c = (char)(c - 'A' + 'a');
        if ((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9')) plain[len++] = c;
    }
    return (Text){plain, len};
}

/* called = "called" meaning string { string } */
static void read_called(CsvColumns *columns, Arena *arena, Lore *lore, const LoreLine *line) {
    Lexer lexer = lore_lexer(line);
    Token what = lex_take(&lexer);
    uint32_t meaning = 0;
    while (meaning < MEANING_COUNT && !text_same(MEANINGS[meaning], what.text)) meaning++;
    if (meaning == MEANING_COUNT || !text_is(line->word, "called")) {
        lore_problem(lore, line, what.column, TEXT("no such column"),
                     TEXT("called, then name, kind, about, package, pins, supply, price, currency, also or code"),
                     TEXT(""));
        return;
    }
    while (lex_peek(&lexer).kind == LEX_STRING) {
        uint32_t number = names_add(columns->called, plain_name(arena, lex_string(arena, lex_take(&lexer))));
        if (number == columns->meaning.count) list_push(arena, &columns->meaning, meaning);
    }
}

CsvColumns *csv_columns(Arena *arena, Lore *lore) {
    CsvColumns *columns = arena_one(arena, CsvColumns);
    columns->called = names_new(arena);
    for (uint32_t i = 0; i < lore->entries.count; i++) {
        const LoreEntry *entry = &lore->entries.at[i];
        if (!text_is(entry->head.word, "columns")) continue;
        for (uint32_t k = 0; k < entry->line_count; k++) read_called(columns, arena, lore, &entry->lines[k]);
    }
    return columns;
}

/* ---- the head row ---- */

typedef struct Rows {
    CsvList list;
    Csv csv;
    Arena *arena;                  /* for the rows at hand */
    uint32_t place[MEANING_COUNT]; /* of the column, from 1; 0: none */
    uint32_t width;                /* fields in a row */
    bool fine;
} Rows;

static void complain(Rows *rows, const CsvField *field, Text message, Text expected, Text hint) {
    csv_problem(rows->csv.problems, rows->list.file, field, message, expected, hint);
    rows->fine = false;
}

static bool read_titles(Rows *rows) {
    CsvField start = {.line = 1, .column = 1};
    if (!csv_next(&rows->csv, rows->arena)) {
        complain(rows, &start, TEXT("this list is empty"), TEXT("a row of column names, then one part a row"), TEXT(""));
        return false;
    }
    rows->width = rows->csv.fields.count;
    for (uint32_t i = 0; i < rows->width; i++) {
        const CsvField *title = &rows->csv.fields.at[i];
        uint32_t number = names_find(rows->list.columns->called, plain_name(rows->arena, title->text));
        if (number == NAME_NONE) continue;
        uint32_t meaning = rows->list.columns->meaning.at[number];
        if (rows->place[meaning] != 0)
            complain(rows, title,
                     text_fmt(rows->csv.problems->arena, "a second column for the %.*s", TEXT_ARG(MEANINGS[meaning])),
                     TEXT("one"), TEXT("rename or leave out the other"));
        rows->place[meaning] = i + 1;
    }
    if (rows->place[MEANS_NAME] == 0)
        complain(rows, &rows->csv.fields.at[0], TEXT("no column has the part's name"),
                 TEXT("a column called name, part, part number or mpn in the first row"), TEXT(""));
    return rows->fine;
}

/* ---- one row ---- */

static CsvField cell(const Rows *rows, Meaning meaning) {
    uint32_t place = rows->place[meaning];
    return place == 0 ? (CsvField){.text = TEXT("")} : rows->csv.fields.at[place - 1];
}

static void bad_cell(Rows *rows, Meaning meaning, const char *what, const char *expected) {
    CsvField field = cell(rows, meaning);
    Arena *arena = rows->csv.problems->arena;
    complain(rows, &field, text_fmt(arena, "%s in the column of the %.*s", what, TEXT_ARG(MEANINGS[meaning])),
             text_of(expected), TEXT(""));
}

typedef struct Items {
    const Text *at;
    uint32_t count;
} Items;

/* items = item { ( ";" | "," | "|" | newline | blank-if-blanks ) item } */
static Items split(Rows *rows, Meaning meaning, bool blanks) {
    LIST(Text) items = {0};
    Text text = cell(rows, meaning).text;
    for (size_t i = 0, from = 0; i <= text.len; i++) {
        bool between = i == text.len || strchr(blanks ? ";,|\n " : ";,|\n", text.at[i]) != NULL;
        if (!between) continue;
        Text item = text_trim(text_sub(text, from, i - from));
        from = i + 1;
        if (item.len > 0) list_push(rows->arena, &items, item);
        if (item.len > NAME_MOST || items.count > ITEMS_MOST) {
            bad_cell(rows, meaning, "too long a list or word", "up to 200 words of up to 64 characters");
            break;
        }
    }
    return (Items){items.at, items.count};
}

static uint32_t read_leads(Rows *rows) {
    Text text = cell(rows, MEANS_PINS).text;
    uint32_t leads = 0;
    for (size_t i = 0; i < text.len; i++) {
        if (text.at[i] < '0' || text.at[i] > '9' || leads > 9999) {
            bad_cell(rows, MEANS_PINS, "no number of pins", "a whole number such as 8");
            return 0;
        }
        leads = leads * 10 + (uint32_t)(text.at[i] - '0');
    }
    return leads;
}

static bool is_currency(Text text) {
    bool three = text.len == 3;
    for (size_t i = 0; i < text.len; i++) three = three && text.at[i] >= 'A' && text.at[i] <= 'Z';
    return three;
}

/* price = number [ currency ] ; a comma is a decimal comma unless three digits follow, which could be either */
static void read_price(Rows *rows, ShelfPart *part) {
    Text text = cell(rows, MEANS_PRICE).text, currency = cell(rows, MEANS_CURRENCY).text;
    part->price = NAN, part->currency = currency;
    if (currency.len > 0 && !is_currency(currency))
        bad_cell(rows, MEANS_CURRENCY, "no currency", "an ISO 4217 code such as EUR");
    if (text.len > 4 && is_currency(text_sub(text, text.len - 3, 3)) && currency.len == 0) {
        part->currency = text_sub(text, text.len - 3, 3);
        text = text_trim(text_sub(text, 0, text.len - 3));
    }
    if (text.len == 0) return;
    char digits[32] = {0};
    bool fine = text.len < sizeof digits, ambiguous = false;
    uint32_t points = 0;
    for (size_t i = 0; fine && i < text.len; i++) {
        bool comma = text.at[i] == ',', point = comma || text.at[i] == '.';
        points += point;
        ambiguous |= comma && text.len - i == 4;
        fine = point ? points == 1 : text.at[i] >= '0' && text.at[i] <= '9';
        digits[i] = comma ? '.' : text.at[i];
    }
    if (!fine || ambiguous || text.len == points)
        bad_cell(rows, MEANS_PRICE, ambiguous ? "a price that reads two ways" : "no price",
                 "a number such as 0.12, perhaps with EUR behind it");
    else
        part->price = strtod(digits, NULL);
}

static void read_supply(Rows *rows, ShelfPart *part) {
    Text text = cell(rows, MEANS_SUPPLY).text;
    if (text.len == 0) return;
    size_t used = quantity_parse(text, &part->supply);
    bool plain = used == text.len && unit_same(part->supply.unit, UNIT_NONE);
    if (plain) part->supply.unit = UNIT_VOLT;
    if (used != text.len || !unit_same(part->supply.unit, UNIT_VOLT)) {
        bad_cell(rows, MEANS_SUPPLY, "no supply voltage", "volts, such as 3..32 V");
        part->supply = (Quantity){0};
    }
}

/* A kind that nobody knows is kept as words: shops call parts many things. */
static void read_kind(Rows *rows, ShelfPart *part) {
    Text kind = cell(rows, MEANS_KIND).text;
    part->about = cell(rows, MEANS_ABOUT).text;
    bool known = kind.len > 0 && names_find(rows->list.kinds, kind) != NAME_NONE;
    part->kind = known ? kind : TEXT("part");
    if (!known && part->about.len == 0) part->about = kind;
    if (part->about.len > FIELD_MOST) bad_cell(rows, MEANS_ABOUT, "too long a text", "up to 4096 bytes");
}

static void read_row(Rows *rows, uint32_t *taken) {
    bool fine_before = rows->fine;
    rows->fine = true;
    CsvPart row = {.name = cell(rows, MEANS_NAME)};
    ShelfPart *part = &row.part;
    part->name = row.name.text;
    if (part->name.len == 0 || part->name.len > NAME_MOST)
        bad_cell(rows, MEANS_NAME, part->name.len == 0 ? "nothing" : "too long a name",
                 "a part number of up to 64 characters");
    Items packages = split(rows, MEANS_PACKAGE, true), also = split(rows, MEANS_ALSO, false),
          codes = split(rows, MEANS_CODE, true);
    read_kind(rows, part);
    read_supply(rows, part);
    read_price(rows, part);
    part->packages = packages.at, part->package_count = packages.count;
    part->leads = read_leads(rows);
    if (part->leads == 0 && packages.count == 1) part->leads = package_leads(packages.at[0]);
    part->source = text_fmt(rows->arena, "%.*s:%u", TEXT_ARG(rows->list.file), row.name.line);
    row.aliases = also.at, row.alias_count = also.count, row.codes = codes.at, row.code_count = codes.count;
    if (rows->fine) {
        rows->fine = rows->list.take(rows->list.context, &row);
        *taken += rows->fine;
    }
    rows->fine &= fine_before;
}

bool csv_read(CsvList list, uint32_t *taken, Diags *problems) {
    uint32_t before = problems->list.count + problems->left_out;
    Rows rows = {.list = list, .csv = csv_start(list.file, list.content, problems), .fine = true};
    Arena *own = list.keep == NULL ? arena_new() : NULL;
    *taken = 0;
    rows.arena = own == NULL ? list.keep : own;
    bool more = read_titles(&rows);
    for (uint32_t count = 1; more && (more = csv_next(&rows.csv, rows.arena)); count++) {
        if (rows.csv.fields.count == rows.width)
            read_row(&rows, taken);
        else
            complain(&rows, &rows.csv.fields.at[0],
                     text_fmt(problems->arena, "this row has %u fields", rows.csv.fields.count),
                     text_fmt(problems->arena, "%u, as in the first row", rows.width), TEXT(""));
        if (own == NULL || count % ROWS_AT_ONCE != 0) continue;
        arena_free(own);
        rows.arena = own = arena_new();
    }
    arena_free(own);
    return rows.fine && problems->list.count + problems->left_out == before;
}
