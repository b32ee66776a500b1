/* What may stand in any statement, in any order: who saw it, how surely, in which mode, on which board and where, on which
 * photo, and a remark. A set of bits remembers which were said, so that none stands twice. */
#include "note/parser.h"

#include <math.h>

enum { SAID_BY = 1, SAID_SURE = 2, SAID_IN = 4, SAID_ON = 8, SAID_AT = 16, SAID_PHOTO = 32, SAID_REMARK = 64 };

static const Text SOURCES[NOTE_SOURCE_COUNT] = {
    [NOTE_BY_UNSAID] = TEXT_INIT(""),
    [NOTE_BY_EYE] = TEXT_INIT("eye"),
    [NOTE_BY_METER] = TEXT_INIT("meter"),
    [NOTE_BY_SCOPE] = TEXT_INIT("scope"),
    [NOTE_BY_DATASHEET] = TEXT_INIT("datasheet"),
    [NOTE_BY_LABEL] = TEXT_INIT("label"),
    [NOTE_BY_GUESS] = TEXT_INIT("guess"),
    [NOTE_BY_PHOTO] = TEXT_INIT("photo"),
};

Text note_source_name(NoteSource source) { return SOURCES[source]; }

static unsigned qualifier_bit(Text word) {
    if (word.len == 2) {
        char a = word.at[0], b = word.at[1];
        if (b == 'n') return a == 'o' ? SAID_ON : a == 'i' ? SAID_IN : 0;
        return a == 'b' && b == 'y' ? SAID_BY : a == 'a' && b == 't' ? SAID_AT : 0;
    }
    if (word.len == 4) return text_is(word, "sure") ? SAID_SURE : 0;
    return word.len == 5 && text_is(word, "photo") ? SAID_PHOTO : 0;
}

bool qualifier_word(Text word) { return qualifier_bit(word) != 0; }

/* by = "by" ( "eye" | "meter" | "scope" | "datasheet" | "label" | "guess" ) */
static bool by(Parser *p) {
    static const char what[] = "eye, meter, scope, datasheet, label or guess";
    Token token = lex_peek(&p->lex);
    if (token.kind != LEX_WORD) return parser_wanted(p, what, TEXT(""));
    for (NoteSource source = NOTE_BY_EYE; source <= NOTE_BY_GUESS; source++) {
        if (!text_same(token.text, SOURCES[source])) continue;
        p->with.by = source;
        lex_take(&p->lex);
        return true;
    }
    return parser_wrong(p, token, "is not a source", what,
                        parser_nearest(p, token.text, SOURCES + NOTE_BY_EYE, NOTE_BY_GUESS + 1 - NOTE_BY_EYE));
}

enum { SURE_DIGITS_MOST = 7 }; /* with these, a hundredth printed times hundred reads as the same number */

/* sure = "sure" number "%" */
static bool sure(Parser *p) {
    static const char what[] = "a percentage such as 70%";
    Token token = lex_peek(&p->lex);
    if (token.kind != LEX_WORD) return parser_wanted(p, what, TEXT(""));
    lex_take(&p->lex);
    Text digits = token.text;
    bool percent = text_ends(digits, "%");
    if (percent) digits.len--;
    double number;
    if (digits.len > SURE_DIGITS_MOST || !text_decimal(digits, &number))
        return parser_wrong(p, token, "is not a percentage", what, TEXT(""));
    if (!percent && !lex_take_if(&p->lex, "%")) return parser_wrong(p, token, "lacks its %", what, TEXT(""));
    if (number < 0 || number > 100) return parser_wrong(p, token, "is not between 0% and 100%", what, TEXT(""));
    p->with.sure = number / 100;
    return true;
}

/* remark = STRING */
static bool remark(Parser *p) {
    if (p->said & SAID_REMARK)
        return parser_wrong(p, lex_peek(&p->lex), "is a second remark", "one remark a note",
                            TEXT("put both between one pair of quotes"));
    p->said |= SAID_REMARK;
    p->with.remark = lex_string(p->arena, lex_take(&p->lex));
    return true;
}

/* on = "on" BOARD [ "top" | "bottom" ] */
static bool on(Parser *p) {
    if (!parser_name(p, "a board's name", &p->with.board)) return false;
    if (token_side(lex_peek(&p->lex), &p->with.side)) lex_take(&p->lex);
    return true;
}

bool parser_say_board(Parser *p, Token token, Text board, NoteSide side) {
    if (p->said & SAID_ON)
        return parser_wrong(p, token, "says again on which board", "the board once: first, or as `on A bottom`", TEXT(""));
    p->said |= SAID_ON;
    p->with.board = board, p->with.side = side;
    return true;
}

/* qualifier = by | sure | "in" MODE | on | "at" point | "photo" file | remark */
static bool qualifier(Parser *p, unsigned bit) {
    Token token = lex_peek(&p->lex);
    if (p->said & bit) return parser_wrong(p, token, "stands twice in this note", "each qualifier once", TEXT(""));
    p->said |= bit;
    lex_take(&p->lex);
    switch (bit) {
    case SAID_BY:
        return by(p);
    case SAID_SURE:
        return sure(p);
    case SAID_IN:
        return parser_name(p, "a mode's name", &p->with.mode);
    case SAID_ON:
        return on(p);
    case SAID_AT:
        p->with.placed = true;
        return parser_point(p, &p->with.at);
    default:
        return parser_file(p, &p->with.photo);
    }
}

/* `at 8 kHz` in a statement that has such words */
static bool own_at(const Parser *p) {
    Lexer ahead = p->lex;
    lex_take(&ahead);
    return p->at_rate && !lexer_at_point(ahead);
}

bool parser_qualifiers(Parser *p, bool remarks) {
    if (p->said == 0) p->with = (NoteQualifiers){.sure = NAN};
    for (;;) {
        Token token = lex_peek(&p->lex);
        unsigned bit = token.kind == LEX_WORD ? qualifier_bit(token.text) : 0;
        if (bit == 0 && !(remarks && token.kind == LEX_STRING)) return true;
        if (bit == SAID_AT && own_at(p)) return true;
        if (!(bit != 0 ? qualifier(p, bit) : remark(p))) return false;
    }
}

bool parser_more(Parser *p) { return parser_qualifiers(p, true) && !lex_at_end(&p->lex); }

bool parser_end(Parser *p, const Text *words, size_t count) {
    return !parser_more(p) ? !p->failed : parser_stray(p, words, count);
}

bool parser_stray(Parser *p, const Text *words, size_t count) {
    static const Text qualifiers[] = {TEXT_INIT("by"), TEXT_INIT("sure"), TEXT_INIT("in"),
                                      TEXT_INIT("on"), TEXT_INIT("at"),   TEXT_INIT("photo")};
    static const char what[] = "by, sure, in, on, at, photo, a \"remark\" or the end of the note";
    Token token = lex_peek(&p->lex);
    if (token.kind != LEX_WORD) return parser_wanted(p, what, TEXT(""));
    Text hint = parser_nearest(p, token.text, words, count);
    if (hint.len == 0) hint = parser_nearest(p, token.text, qualifiers, sizeof qualifiers / sizeof qualifiers[0]);
    return parser_wanted(p, what, hint);
}

/* ---- keeping ---- */

/* Most notes say nothing, or the same as one before (`by meter` down a page): those share what is kept. */
const NoteQualifiers *parser_keep_qualifiers(Parser *p) {
    static const NoteQualifiers plain[NOTE_SOURCE_COUNT] = {
        {.sure = NAN},
        {.by = NOTE_BY_EYE, .sure = NAN},
        {.by = NOTE_BY_METER, .sure = NAN},
        {.by = NOTE_BY_SCOPE, .sure = NAN},
        {.by = NOTE_BY_DATASHEET, .sure = NAN},
        {.by = NOTE_BY_LABEL, .sure = NAN},
        {.by = NOTE_BY_GUESS, .sure = NAN},
    };
    if (p->said == 0) return &plain[NOTE_BY_UNSAID];
    if (p->said == SAID_BY) return &plain[p->with.by];
    if (p->last_said == p->said && qualifiers_same(p->last_with, &p->with)) return p->last_with;
    NoteQualifiers *kept = arena_one(p->arena, NoteQualifiers);
    *kept = p->with;
    p->last_said = p->said;
    return p->last_with = kept;
}
