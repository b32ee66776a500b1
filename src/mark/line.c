/* Reading a line of this room's lore: each take_ either gives what was expected or notes one problem with its place. */
#include "mark/inside.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

Line line_start(Lore *lore, const LoreLine *line) { return (Line){lore, line, lore_lexer(line), false}; }

void line_wrong(Line *line, Text message, Text expected) {
    if (!line->bad) lore_problem(line->lore, line->line, lex_peek(&line->lexer).column, message, expected, TEXT(""));
    line->bad = true;
}

bool line_more(const Line *line) { return !line->bad && !lex_at_end(&line->lexer); }

bool line_take(Line *line, const char *word) { return !line->bad && lex_take_if(&line->lexer, word); }

Text line_text(Line *line) {
    if (line->bad) return TEXT("");
    Token token = lex_peek(&line->lexer);
    if (token.kind != LEX_STRING && token.kind != LEX_WORD) {
        line_wrong(line, TEXT("something is missing here"), TEXT("a word or a \"text\""));
        return TEXT("");
    }
    lex_take(&line->lexer);
    return token.kind == LEX_STRING ? lex_string(line->lore->arena, token) : token.text;
}

Quantity line_quantity(Line *line, Unit unit, const char *expected) {
    Quantity quantity = quantity_exact(0, unit), read;
    if (line->bad) return quantity;
    Lexer before = line->lexer;
    if (lex_take_quantity(&line->lexer, &read, NULL) && unit_same(read.unit, unit)) return read;
    line->lexer = before;
    line_wrong(line, TEXT("this is not a quantity of the right unit"), text_of(expected));
    return quantity;
}

double line_mm(Line *line) {
    return line_quantity(line, UNIT_METRE, "a length with its unit, such as 1.27 mm").value * 1e3;
}

double line_decibans(Line *line) {
    double decibans = line_quantity(line, UNIT_NONE, "a weight of evidence, such as 6 dB").value;
    if (!line->bad && !line_take(line, "dB")) line_wrong(line, TEXT("a weight of evidence has no unit"), TEXT("dB"));
    return decibans;
}

void line_end(Line *line) {
    if (line_more(line)) line_wrong(line, TEXT("this word is not expected here"), TEXT("the end of the line"));
}

/* The number before the unit, for a size whose unit stands only after its last figure: bytes used. */
static double bare_number(Text text) {
    char copy[32];
    size_t len = text.len < sizeof copy - 1 ? text.len : sizeof copy - 1;
    memcpy(copy, text.at, len);
    copy[len] = '\0';
    size_t end = strspn(copy, "+0123456789.");
    copy[end] = '\0';
    return strtod(copy, NULL);
}

static size_t skip_blanks(Text text, size_t at) {
    while (at < text.len && (text.at[at] == ' ' || text.at[at] == '\t')) at++;
    return at;
}

/* sizes = quantity { "x" quantity }; figures without a unit take the last one's */
size_t sizes_parse(Text text, double *mm, size_t most, size_t *count) {
    bool bare[SIZES_MOST] = {false};
    double factor = 0;
    size_t at = 0, n = 0, end = 0;
    for (;; n++) {
        Quantity q;
        Text rest = text_sub(text, at, text.len);
        size_t used = n < most && n < SIZES_MOST ? quantity_parse(rest, &q) : 0;
        if (used == 0 || !(q.value > 0)) return 0;
        bare[n] = unit_same(q.unit, UNIT_NONE);
        if (!bare[n] && !unit_same(q.unit, UNIT_METRE)) return 0;
        mm[n] = bare[n] ? q.value : q.value * 1e3;
        if (!bare[n]) factor = mm[n] / bare_number(rest);
        end = at + used;
        size_t sign = skip_blanks(text, end);
        if (sign >= text.len || (text.at[sign] != 'x' && text.at[sign] != 'X')) break;
        at = skip_blanks(text, sign + 1);
    }
    if (!isfinite(factor) || factor <= 0 || bare[n]) return 0;
    for (size_t i = 0; i <= n; i++)
        if (bare[i]) mm[i] *= factor;
    *count = n + 1;
    return end;
}

size_t line_sizes(Line *line, double *mm, size_t most) {
    size_t count = 0, start = lex_peek(&line->lexer).column - 1;
    if (line->bad) return 0;
    size_t used = sizes_parse(text_sub(line->lexer.line, start, line->lexer.line.len), mm, most, &count);
    if (used == 0) {
        line_wrong(line, TEXT("these are not lengths"), TEXT("lengths with a unit, such as 4.9 x 3.9 mm"));
        return 0;
    }
    lex_start_at(&line->lexer, line->lexer.line, start + used);
    return count;
}
