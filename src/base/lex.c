#include "base/lex.h"

#include <string.h>

typedef enum Class { IN_WORD, BLANK, SIGN, QUOTE } Class;

static const unsigned char CLASS[256] = {[' '] = BLANK, ['\t'] = BLANK, ['\r'] = BLANK, ['('] = SIGN, [')'] = SIGN,
                                         [','] = SIGN,  ['='] = SIGN,   [':'] = SIGN,   ['"'] = QUOTE};

static Class class_of(char c) { return (Class)CLASS[(unsigned char)c]; }
static bool is_sign(char c) { return class_of(c) == SIGN; }
static bool is_blank(char c) { return class_of(c) == BLANK; }

/* string = '"' { any | '\"' | '\\' } '"' */
static void scan_string(Lexer *lexer, size_t start) {
    Text line = lexer->line;
    size_t i = start + 1;
    while (i < line.len && line.at[i] != '"') i += line.at[i] == '\\' && i + 1 < line.len ? 2 : 1;
    bool closed = i < line.len;
    if (i > line.len) i = line.len;
    lexer->at = closed ? i + 1 : i;
    lexer->next = (Token){closed ? LEX_STRING : LEX_OPEN_STRING, (uint32_t)start + 1, {line.at + start + 1, i - start - 1}};
}

/* Makes what starts at lexer->at the next token. */
static void scan(Lexer *lexer) {
    const char *line = lexer->line.at;
    size_t len = lexer->line.len, start = lexer->at;
    while (start < len && is_blank(line[start])) start++;
    size_t end = start;
    LexKind kind = LEX_WORD;
    if (start == len || line[start] == '#') {
        lexer->at = len;
        lexer->next = (Token){LEX_END, (uint32_t)start + 1, {line + start, 0}};
        return;
    }
    if (line[start] == '"') {
        scan_string(lexer, start);
        return;
    }
    if (is_sign(line[start]))
        kind = LEX_SIGN, end++;
    else
        while (end < len && class_of(line[end]) == IN_WORD) end++;
    lexer->at = end;
    lexer->next = (Token){kind, (uint32_t)start + 1, {line + start, end - start}};
}

void lex_start(Lexer *lexer, Text line) { lex_start_at(lexer, line, 0); }

void lex_start_at(Lexer *lexer, Text line, size_t from) {
    lexer->line = line;
    lexer->at = from;
    scan(lexer);
}

Token lex_take(Lexer *lexer) {
    Token token = lexer->next;
    if (token.kind != LEX_END) scan(lexer);
    return token;
}

bool lex_is(const Lexer *lexer, const char *word) {
    return (lexer->next.kind == LEX_WORD || lexer->next.kind == LEX_SIGN) && text_is(lexer->next.text, word);
}

bool lex_take_if(Lexer *lexer, const char *word_or_sign) {
    if (!lex_is(lexer, word_or_sign)) return false;
    lex_take(lexer);
    return true;
}

bool lex_at_end(const Lexer *lexer) { return lexer->next.kind == LEX_END; }

bool lex_take_quantity(Lexer *lexer, Quantity *quantity, Text *written) {
    if (lexer->next.kind != LEX_WORD) return false;
    size_t start = lexer->next.column - 1;
    size_t used = quantity_parse(text_sub(lexer->line, start, lexer->line.len), quantity);
    size_t end = start + used;
    if (used == 0) return false;
    if (end < lexer->line.len && class_of(lexer->line.at[end]) == IN_WORD) return false;
    if (written != NULL) *written = text_sub(lexer->line, start, used);
    lexer->at = end;
    scan(lexer);
    return true;
}

Text lex_string(Arena *arena, Token token) {
    if (token.text.len == 0 || memchr(token.text.at, '\\', token.text.len) == NULL) return token.text;
    char *copy = arena_take(arena, token.text.len);
    size_t len = 0;
    for (size_t i = 0; i < token.text.len; i++) {
        bool escape = token.text.at[i] == '\\' && i + 1 < token.text.len;
        copy[len++] = token.text.at[escape ? ++i : i];
    }
    return (Text){copy, len};
}

void lex_print_string(Out *out, Text text) {
    out_char(out, '"');
    for (size_t i = 0; i < text.len; i++) {
        if (text.at[i] == '"' || text.at[i] == '\\') out_char(out, '\\');
        out_char(out, text.at[i]);
    }
    out_char(out, '"');
}

Text lex_rest(const Lexer *lexer) {
    size_t start = lexer->next.column - 1;
    return text_trim(text_sub(lexer->line, start, lexer->line.len));
}
