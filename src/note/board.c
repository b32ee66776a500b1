/* The board and its size. A size is two lengths with a cross between: it is cut by quantity_parse from the line itself,
 * since `46.5x21mm` is one word to the lexer. */
#include "note/parser.h"

static const Text LAYERS[] = {TEXT_INIT("layers"), TEXT_INIT("layer")};

static void skip_blanks(Text line, size_t *at) {
    while (*at < line.len && (line.at[*at] == ' ' || line.at[*at] == '\t')) (*at)++;
}

static bool length(Text line, size_t *at, Quantity *quantity) {
    size_t used = quantity_parse(text_sub(line, *at, line.len), quantity);
    *at += used;
    return used > 0;
}

static size_t cross_at(Text line, size_t at) {
    Text rest = text_sub(line, at, line.len);
    return text_starts(rest, "x") ? 1 : text_starts(rest, "×") ? sizeof "×" - 1 : 0;
}

/* The width takes the height's unit when it has none of its own: what stands after the last digit. */
static void borrow_unit(Quantity *width, Text size) {
    size_t from = size.len;
    while (from > 0 && (size.at[from - 1] < '0' || size.at[from - 1] > '9')) from--;
    Unit unit;
    double factor;
    if (!unit_same(width->unit, UNIT_NONE) || !unit_parse(text_trim(text_sub(size, from, size.len)), &unit, &factor))
        return;
    width->unit = unit;
    width->value *= factor, width->low *= factor, width->high *= factor, width->last *= factor;
}

static bool is_length(Quantity q) {
    const double longest = 10; /* m: no board is larger */
    return unit_same(q.unit, UNIT_METRE) && q.value > 0 && q.value <= longest && q.low > 0;
}

/* `2 layesr` looks like the start of a size. */
static Text layers_hint(Parser *p) {
    Lexer ahead = p->lex;
    lex_take(&ahead);
    return lex_peek(&ahead).kind == LEX_WORD ? parser_nearest(p, lex_peek(&ahead).text, LAYERS, 2) : TEXT("");
}

/* size = length ( "x" | "×" ) length ; the unit at least at the end */
static bool size(Parser *p, NoteBoard *board) {
    static const char what[] = "a size such as 46.5 x 21.0 mm";
    Token token = lex_peek(&p->lex);
    if (board->size.len > 0) return parser_wrong(p, token, "begins a second size", "one size", layers_hint(p));
    Text line = p->lex.line;
    size_t start = token.column - 1, at = start;
    if (!length(line, &at, &board->width)) return parser_wrong(p, token, "begins no size", what, TEXT(""));
    skip_blanks(line, &at);
    size_t cross = cross_at(line, at);
    at += cross;
    skip_blanks(line, &at);
    if (cross == 0 || !length(line, &at, &board->height))
        return parser_wrong(p, token, "begins no size", what, layers_hint(p));
    board->size = text_sub(line, start, at - start);
    borrow_unit(&board->width, board->size);
    if (!is_length(board->width) || !is_length(board->height) ||
        (at < line.len && line.at[at] != ' ' && line.at[at] != '\t'))
        return parser_wrong(p, token, "begins a size without a unit of length", what, TEXT("mm, inch or mil"));
    lex_start_at(&p->lex, line, at);
    return true;
}

/* layers = NUMBER ( "layer" | "layers" ) */
static bool layers(Parser *p, NoteBoard *board, bool *found) {
    enum { LAYERS_MOST = 100 };
    Lexer ahead = p->lex;
    uint32_t number;
    *found = token_whole(lex_take(&ahead), &number) && (lex_take_if(&ahead, "layers") || lex_take_if(&ahead, "layer"));
    if (!*found) return true;
    if (board->layers > 0 || number > LAYERS_MOST) return parser_wanted(p, "one number of layers, from 1 to 100", TEXT(""));
    board->layers = number;
    p->lex = ahead;
    return true;
}

/* board = "board" NAME { size | layers | MATERIAL }, each at most once */
bool note_rule_board(Parser *p, Note *note) {
    NoteBoard *board = arena_one(p->arena, NoteBoard);
    note->board = board;
    if (!parser_qualifiers(p, false) || !parser_name(p, "the board's name, such as A", &board->name)) return false;
    while (parser_more(p)) {
        Token token = lex_peek(&p->lex);
        bool found;
        if (!layers(p, board, &found)) return false;
        if (found) continue;
        if (token.kind == LEX_WORD && token.text.at[0] >= '0' && token.text.at[0] <= '9') {
            if (!size(p, board)) return false;
        } else if (token.kind == LEX_WORD && letter_first(token.text) && board->material.len == 0) {
            board->material = lex_take(&p->lex).text;
        } else {
            return parser_stray(p, LAYERS, 2);
        }
    }
    return !p->failed;
}
