/* Reads comma-separated text by RFC 4180: quoted fields, doubled quotes, newlines in quotes, CRLF or LF. One pass, no
 * copies but of fields with doubled quotes. What the RFC does not allow is refused with its place, since a guess would
 * shift columns. */
#include "shelf/csv.h"

#include <string.h>

void csv_problem(Diags *problems, Text file, const CsvField *field, Text message, Text expected, Text hint) {
    diag_add(problems,
             (Diag){.place = {file, field->line, field->column}, .message = message, .expected = expected, .hint = hint});
}

Csv csv_start(Text file, Text content, Diags *problems) {
    Csv csv = {.file = file, .content = content, .comma = ',', .line = 1, .problems = problems};
    if (text_starts(content, "\xEF\xBB\xBF")) csv.at = csv.line_start = 3;
    const char *end = content.len == 0 ? NULL : memchr(content.at, '\n', content.len);
    Text first = text_sub(content, 0, end == NULL ? content.len : (size_t)(end - content.at));
    if (text_find(first, TEXT(",")) != SIZE_MAX) return csv;
    if (text_find(first, TEXT(";")) != SIZE_MAX)
        csv.comma = ';';
    else if (text_find(first, TEXT("\t")) != SIZE_MAX)
        csv.comma = '\t';
    return csv;
}

static bool at_end(const Csv *csv) { return csv->at >= csv->content.len; }

/* The end of the line, before a CR that belongs to it. */
static bool at_line_end(const Csv *csv) {
    Text rest = text_sub(csv->content, csv->at, 2);
    return rest.len == 0 || rest.at[0] == '\n' || (rest.at[0] == '\r' && (rest.len == 1 || rest.at[1] == '\n'));
}

static void next_line(Csv *csv) {
    if (!at_end(csv) && csv->content.at[csv->at] == '\r') csv->at++;
    if (!at_end(csv)) csv->at++;
    csv->line_start = csv->at;
    csv->line++;
}

static CsvField here(const Csv *csv) {
    return (CsvField){.line = csv->line, .column = (uint32_t)(csv->at - csv->line_start) + 1};
}

static Text without_doubled_quotes(Arena *arena, Text text) {
    char *copy = arena_take(arena, text.len);
    size_t len = 0;
    for (size_t i = 0; i < text.len; i++) {
        copy[len++] = text.at[i];
        if (text.at[i] == '"') i++;
    }
    return (Text){copy, len};
}

/* escaped = DQUOTE *( TEXTDATA / COMMA / CR / LF / 2DQUOTE ) DQUOTE */
static bool quoted(Csv *csv, Arena *arena, CsvField *field) {
    size_t start = ++csv->at;
    bool doubled = false;
    for (; !at_end(csv); csv->at++) {
        char c = csv->content.at[csv->at];
        if (c == '\n') csv->line++, csv->line_start = csv->at + 1;
        if (c != '"') continue;
        bool two = csv->at + 1 < csv->content.len && csv->content.at[csv->at + 1] == '"';
        if (!two) break;
        doubled = true;
        csv->at++;
    }
    if (at_end(csv)) {
        csv_problem(csv->problems, csv->file, field, TEXT("this quote is never closed"), TEXT("a quote at the field's end"),
                    TEXT(""));
        return false;
    }
    field->text = text_sub(csv->content, start, csv->at++ - start);
    if (doubled) field->text = without_doubled_quotes(arena, field->text);
    if (at_line_end(csv) || csv->content.at[csv->at] == csv->comma) return true;
    csv_problem(csv->problems, csv->file, field, TEXT("something stands behind this field's closing quote"),
                TEXT("a comma or the line's end"), TEXT("a quote inside a quoted field is written twice"));
    return false;
}

/* non-escaped = *TEXTDATA */
static bool plain(Csv *csv, CsvField *field) {
    size_t start = csv->at;
    bool quote = false;
    for (; !at_line_end(csv) && csv->content.at[csv->at] != csv->comma; csv->at++) quote |= csv->content.at[csv->at] == '"';
    field->text = text_sub(csv->content, start, csv->at - start);
    if (!quote) return true;
    csv_problem(csv->problems, csv->file, field, TEXT("a quote inside a field that does not begin with one"),
                TEXT("the whole field in quotes, and the quote twice"), TEXT(""));
    return false;
}

/* field = escaped / non-escaped */
static bool read_field(Csv *csv, Arena *arena) {
    CsvField field = here(csv);
    bool fine = !at_end(csv) && csv->content.at[csv->at] == '"' ? quoted(csv, arena, &field) : plain(csv, &field);
    if (!fine) return false;
    if (csv->fields.count >= CSV_FIELDS_MOST || text_bad_byte(field.text) < field.text.len) {
        bool many = csv->fields.count >= CSV_FIELDS_MOST;
        csv_problem(csv->problems, csv->file, &field, many ? TEXT("too many fields") : TEXT("this field is not text"),
                    many ? TEXT("at most 1024 in a row") : TEXT("UTF-8 without NUL bytes"), TEXT(""));
        return false;
    }
    field.text = text_trim(field.text);
    list_push(arena, &csv->fields, field);
    return true;
}

/* record = field *( COMMA field ) ; blank lines are passed over */
bool csv_next(Csv *csv, Arena *arena) {
    for (;;) {
        while (!at_end(csv) && at_line_end(csv)) next_line(csv);
        if (at_end(csv)) return false;
        csv->fields.at = NULL, csv->fields.count = csv->fields.room = 0;
        bool fine;
        while ((fine = read_field(csv, arena)) && !at_line_end(csv)) csv->at++;
        if (!fine)
            while (!at_line_end(csv)) csv->at++;
        next_line(csv);
        if (fine) return true;
    }
}
