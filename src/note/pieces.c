/* What statements are made of: names, numbers, points, file names, terminals; and how a problem with one is said.
 * Numbers of up to 15 digits are read exactly without strtod: the digits as an integer, divided by an exact power of ten
 * (W. D. Clinger, "How to read floating point numbers accurately", 1990, the case that needs no more). */
#include "note/parser.h"

#include <string.h>

enum { SHOWN_MOST = 40, DECIMAL_DIGITS_MOST = 15 };

/* ---- problems ---- */

static bool overflowing(const Parser *p) { return p->problems->list.count >= DIAGS_MOST; }

bool parser_problem(Parser *p, uint32_t column, Text message, const char *expected, Text hint) {
    p->failed = true;
    diag_add(p->problems, (Diag){{p->file, p->line, column}, message, text_of(expected), hint, p->source});
    return false;
}

/* As much of a token as a message can bear, cut between characters. */
static Text shown(Text text) {
    if (text.len <= SHOWN_MOST) return text;
    text.len = SHOWN_MOST;
    while (text.len > 0 && ((unsigned char)text.at[text.len] & 0xC0) == 0x80) text.len--;
    return text;
}

static Text quoted(Parser *p, Token token, const char *complaint) {
    if (overflowing(p)) return TEXT("");
    Text text = shown(token.text);
    const char *dots = text.len < token.text.len ? "..." : "";
    const char *mark = token.kind == LEX_STRING ? "\"" : "`";
    return text_fmt(p->arena, "%s%.*s%s%s %s", mark, TEXT_ARG(text), dots, mark, complaint);
}

bool parser_wrong(Parser *p, Token token, const char *complaint, const char *expected, Text hint) {
    return parser_problem(p, token.column, quoted(p, token, complaint), expected, hint);
}

static bool open_quote(Parser *p, Token token) {
    Text message =
        overflowing(p) ? TEXT("") : text_fmt(p->arena, "the quote that opens at column %u is never closed", token.column);
    return parser_problem(p, token.column, message, "a closing \"", TEXT("a quote inside is written \\\""));
}

bool parser_wanted(Parser *p, const char *what, Text hint) {
    Token token = lex_peek(&p->lex);
    if (token.kind == LEX_OPEN_STRING) return open_quote(p, token);
    if (token.kind == LEX_END) return parser_problem(p, token.column, TEXT("the note ends too early"), what, hint);
    return parser_wrong(p, token, "stands in the wrong place", what, hint);
}

Text parser_nearest(Parser *p, Text word, const Text *words, size_t count) {
    if (overflowing(p)) return TEXT("");
    Text near = text_nearest(word, words, count);
    return near.len == 0 ? near : text_fmt(p->arena, "did you mean `%.*s`?", TEXT_ARG(near));
}

/* ---- words and strings ---- */

const Text *parser_keep_words(Parser *p) {
    if (p->words.count == 0) return NULL;
    Text *kept = arena_many(p->arena, Text, p->words.count);
    memcpy(kept, p->words.at, p->words.count * sizeof *kept);
    return kept;
}

bool parser_string(Parser *p, const char *what, Text *text) {
    if (!parser_qualifiers(p, false)) return false;
    if (lex_peek(&p->lex).kind != LEX_STRING)
        return parser_wanted(p, what, lex_peek(&p->lex).kind == LEX_WORD ? TEXT("put the words between quotes") : TEXT(""));
    Token token = lex_take(&p->lex);
    *text = lex_string(p->arena, token);
    return text->len > 0 || parser_wrong(p, token, "says nothing", what, TEXT(""));
}

bool parser_word(Parser *p, const char *what, Token *token) {
    if (lex_peek(&p->lex).kind != LEX_WORD || qualifier_word(lex_peek(&p->lex).text))
        return parser_wanted(p, what, TEXT(""));
    *token = lex_take(&p->lex);
    return true;
}

/* name = a word without a dot */
bool parser_name(Parser *p, const char *what, Text *name) {
    Token token;
    if (!parser_word(p, what, &token)) return false;
    if (memchr(token.text.at, '.', token.text.len) != NULL)
        return parser_wrong(p, token, "has a dot, which parts a pin from its part", what, TEXT(""));
    *name = token.text;
    return true;
}

static bool ascii_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }

bool parser_ref(Parser *p, const char *what, Text *ref) {
    Token token = lex_peek(&p->lex);
    if (!parser_name(p, what, ref)) return false;
    return letter_first(*ref) || parser_wrong(p, token, "does not begin with a letter", what, TEXT(""));
}

bool letter_first(Text text) { return text.len > 0 && (ascii_letter(text.at[0]) || (unsigned char)text.at[0] >= 0x80); }

/* ---- numbers ---- */

static bool digit(char c) { return c >= '0' && c <= '9'; }

bool token_whole(Token token, uint32_t *number) {
    uint64_t value = 0;
    if (token.kind != LEX_WORD || token.text.len > 10 || !text_all_digits(token.text)) return false;
    for (size_t i = 0; i < token.text.len; i++) value = value * 10 + (uint64_t)(token.text.at[i] - '0');
    *number = (uint32_t)value;
    return value > 0 && value < UINT32_MAX;
}

bool parser_whole(Parser *p, const char *what, uint32_t *number) {
    Token token;
    if (!parser_word(p, what, &token)) return false;
    return token_whole(token, number) || parser_wrong(p, token, "is not a whole number from 1", what, TEXT(""));
}

/* decimal = [ "-" | "+" ] digits [ "." digits ] */
bool text_decimal(Text text, double *number) {
    static const double tens[] = {1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};
    size_t i = text.len > 0 && (text.at[0] == '-' || text.at[0] == '+');
    uint64_t value = 0;
    size_t digits = 0, decimals = 0;
    for (; i < text.len && digit(text.at[i]); i++, digits++) value = value * 10 + (uint64_t)(text.at[i] - '0');
    if (digits == 0 || digits > DECIMAL_DIGITS_MOST) return false;
    if (i < text.len && text.at[i] == '.') {
        for (i++; i < text.len && digit(text.at[i]) && digits <= DECIMAL_DIGITS_MOST; i++, digits++, decimals++)
            value = value * 10 + (uint64_t)(text.at[i] - '0');
        if (decimals == 0) return false;
    }
    if (i < text.len || digits > DECIMAL_DIGITS_MOST) return false;
    *number = (double)value / tens[decimals];
    if (text.at[0] == '-' && value != 0) *number = -*number;
    return true;
}

bool parser_number(Parser *p, const char *what, double least, double most, double *number) {
    Token token;
    if (!parser_word(p, what, &token)) return false;
    if (!text_decimal(token.text, number)) return parser_wrong(p, token, "is not a plain number", what, TEXT(""));
    return (*number >= least && *number <= most) || parser_wrong(p, token, "is out of bounds", what, TEXT(""));
}

bool lexer_at_point(Lexer ahead) {
    Token token = lex_take(&ahead);
    return token.kind == LEX_WORD && (digit(token.text.at[0]) || strchr("+-", token.text.at[0]) != NULL) &&
           lex_is(&ahead, ",");
}

bool parser_at_point(const Parser *p) { return lexer_at_point(p->lex); }

/* point = number "," number */
bool parser_point(Parser *p, NotePoint *point) {
    static const char what[] = "a point X,Y such as 21.2,9.8";
    const double far = 1e6; /* a kilometre in mm; no photo has as many pixels in a row */
    if (!parser_number(p, what, -far, far, &point->x)) return false;
    if (!lex_take_if(&p->lex, ",")) return parser_wanted(p, what, TEXT("a comma stands between X and Y"));
    return parser_number(p, what, -far, far, &point->y);
}

/* side = "top" | "bottom" */
bool token_side(Token token, NoteSide *side) {
    if (token.kind != LEX_WORD) return false;
    *side = text_is(token.text, "top")      ? NOTE_SIDE_TOP
            : text_is(token.text, "bottom") ? NOTE_SIDE_BOTTOM
                                            : NOTE_SIDE_UNSAID;
    return *side != NOTE_SIDE_UNSAID;
}

/* ---- files and terminals ---- */

static bool climbs(Text name) {
    if (name.at[0] == '/') return true;
    for (size_t i = 0; i + 1 < name.len; i++)
        if (name.at[i] == '.' && name.at[i + 1] == '.' && (i == 0 || name.at[i - 1] == '/') &&
            (i + 2 == name.len || name.at[i + 2] == '/'))
            return true;
    return false;
}

bool token_names_file(Token token) {
    return token.kind == LEX_STRING || (token.kind == LEX_WORD && memchr(token.text.at, '.', token.text.len) != NULL);
}

/* file = a word or a string with a dot in it, inside the folder photos/ */
bool parser_file(Parser *p, Text *name) {
    static const char what[] = "a file name such as a-bottom.jpg";
    Token token = lex_peek(&p->lex);
    if (token.kind != LEX_WORD && token.kind != LEX_STRING) return parser_wanted(p, what, TEXT(""));
    Text said = token.kind == LEX_STRING ? lex_string(p->arena, token) : token.text;
    if (memchr(said.at, '.', said.len) == NULL || said.len == 0)
        return parser_wrong(p, token, "is not a file name with its ending", what, TEXT(""));
    if (climbs(said))
        return parser_wrong(p, token, "leads out of the teardown's folder", what, TEXT("the file belongs into photos/"));
    lex_take(&p->lex);
    *name = said;
    return true;
}

/* terminal = REF "." PIN | REF | NET ; a name that does not begin with a letter (`3.3V`, `+5V`) is a net, dots and all */
bool parser_terminal(Parser *p, NoteTerminal *terminal) {
    static const char what[] = "a pin such as U1.8, a part or a net";
    Token token = lex_peek(&p->lex);
    if (token.kind != LEX_WORD) return parser_wanted(p, what, TEXT(""));
    lex_take(&p->lex);
    *terminal = (NoteTerminal){token.text, {"", 0}};
    const char *dot = letter_first(token.text) ? memchr(token.text.at, '.', token.text.len) : NULL;
    if (dot == NULL) return true;
    size_t before = (size_t)(dot - token.text.at);
    *terminal = (NoteTerminal){text_sub(token.text, 0, before), text_sub(token.text, before + 1, token.text.len)};
    return terminal->pin.len > 0 || parser_wrong(p, token, "names no pin after the dot", what, TEXT(""));
}
