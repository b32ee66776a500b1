#include "base/lex.h"

#include <string.h>

static bool is_sign(char c) { return c == '(' || c == ')' || c == ',' || c == '=' || c == ':'; }
static bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\r'; }

/* string = '"' { any | '\"' | '\\' } '"' */
static Token string_token(Text line, size_t *at) {
    size_t start = *at, i = start + 1;
    while (i < line.len && line.at[i] != '"') i += line.at[i] == '\\' && i + 1 < line.len ? 2 : 1;
    bool closed = i < line.len;
    if (i > line.len) i = line.len;
    *at = closed ? i + 1 : i;
    return (Token){closed ? LEX_STRING : LEX_OPEN_STRING, (uint32_t)start + 1, {line.at + start + 1, i - start - 1}};
}

static Token scan(Text line, size_t *at) {
    size_t i = *at;
    while (i < line.len && is_blank(line.at[i])) i++;
    *at = i;
    if (i == line.len || line.at[i] == '#') {
        *at = line.len;
        return (Token){LEX_END, (uint32_t)i + 1, {line.at + i, 0}};
    }
    if (line.at[i] == '"') return string_token(line, at);
    if (is_sign(line.at[i])) {
        *at = i + 1;
        return (Token){LEX_SIGN, (uint32_t)i + 1, {line.at + i, 1}};
    }
    size_t start = i;
    while (i < line.len && !is_blank(line.at[i]) && !is_sign(line.at[i]) && line.at[i] != '"') i++;
    *at = i;
    return (Token){LEX_WORD, (uint32_t)start + 1, {line.at + start, i - start}};
}

void lex_start(Lexer *lexer, Text line) { lex_start_at(lexer, line, 0); }

void lex_start_at(Lexer *lexer, Text line, size_t from) {
    lexer->line = line;
    lexer->at = from;
    lexer->next = scan(line, &lexer->at);
}

Token lex_take(Lexer *lexer) {
    Token token = lexer->next;
    if (token.kind != LEX_END) lexer->next = scan(lexer->line, &lexer->at);
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
    if (end < lexer->line.len && !is_blank(lexer->line.at[end]) && !is_sign(lexer->line.at[end])) return false;
    if (written != NULL) *written = text_sub(lexer->line, start, used);
    lexer->at = end;
    lexer->next = scan(lexer->line, &lexer->at);
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
