/* The statements, but for `board`, `part`, `read`, those of nets and copper (copper.c) and of how it works (working.c): each rule stands above its function.
 * A rule takes its own words in order; parser_more takes the qualifiers wherever they stand between them. */
#include "note/parser.h"

#include <math.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

/* product = "product" STRING { WORD } */
bool note_rule_product(Parser *p, Note *note) {
    if (!parser_string(p, "the product's name between quotes", &note->product.name)) return false;
    p->words.count = 0;
    while (parser_more(p)) {
        Token token;
        if (!parser_word(p, "a word such as household, mains or toy", &token)) return false;
        list_push(p->scratch, &p->words, token.text);
    }
    note->product.tags = parser_keep_words(p);
    note->product.tag_count = p->words.count;
    return !p->failed;
}

/* ---- bought ---- */

static int digits_at(Text text, size_t from, size_t count) {
    int value = 0;
    for (size_t i = from; i < from + count; i++) {
        if (text.at[i] < '0' || text.at[i] > '9') return -1;
        value = value * 10 + (text.at[i] - '0');
    }
    return value;
}

/* date = YYYY "-" MM "-" DD, a day of the calendar (ISO 8601-1, calendar date, extended format) */
static bool date(Text text) {
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    if (text.len != 10 || text.at[4] != '-' || text.at[7] != '-') return false;
    int year = digits_at(text, 0, 4), month = digits_at(text, 5, 2), day = digits_at(text, 8, 2);
    if (year < 0 || month < 1 || month > 12 || day < 1) return false;
    bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    return day <= days[month - 1] + (leap && month == 2);
}

static bool capital(char c) { return c >= 'A' && c <= 'Z'; }

/* money = number CODE, the code of ISO 4217: three capital letters */
static bool money(Parser *p, NoteBought *bought) {
    static const char what[] = "an amount and its currency, such as 7.99 EUR";
    if (!parser_number(p, what, 0, 1e12, &bought->price)) return false;
    Token code;
    if (!parser_word(p, what, &code)) return false;
    Text letters = code.text;
    if (letters.len != 3 || !capital(letters.at[0]) || !capital(letters.at[1]) || !capital(letters.at[2]))
        return parser_wrong(p, code, "is not a currency code", "three capital letters of ISO 4217, such as EUR, USD or JPY",
                            TEXT(""));
    bought->currency = letters;
    return true;
}

/* bought = "bought" [ date ] [ "for" money ], at least one of the two */
bool note_rule_bought(Parser *p, Note *note) {
    static const Text words[] = {TEXT_INIT("for")};
    note->bought.price = NAN;
    while (parser_more(p)) {
        Token token = lex_peek(&p->lex);
        if (isnan(note->bought.price) && lex_take_if(&p->lex, "for")) {
            if (!money(p, &note->bought)) return false;
        } else if (note->bought.date.len == 0 && token.kind == LEX_WORD && token.text.at[0] >= '0' &&
                   token.text.at[0] <= '9') {
            if (!date(token.text))
                return parser_wrong(p, token, "is not a day of the calendar", "YYYY-MM-DD, such as 2026-09-03", TEXT(""));
            note->bought.date = lex_take(&p->lex).text;
        } else {
            return parser_stray(p, words, COUNT(words));
        }
    }
    if (p->failed) return false;
    if (note->bought.date.len > 0 || !isnan(note->bought.price)) return true;
    return parser_wanted(p, "a day such as 2026-09-03, or for 7.99 EUR", TEXT(""));
}

/* ---- step, photo, and those of one word ---- */

/* step = "step" NUMBER STRING [ "with" STRING ] */
bool note_rule_step(Parser *p, Note *note) {
    static const Text words[] = {TEXT_INIT("with")};
    if (!parser_qualifiers(p, false) || !parser_whole(p, "the step's number", &note->step.number)) return false;
    if (!parser_string(p, "what was done, between quotes", &note->step.what)) return false;
    bool tool = false;
    while (parser_more(p)) {
        if (tool || !lex_take_if(&p->lex, "with")) return parser_stray(p, words, COUNT(words));
        tool = true;
        if (!parser_string(p, "the tool between quotes, such as \"PH1 screwdriver\"", &note->step.tool)) return false;
    }
    return !p->failed;
}

/* what = [ BOARD ] [ "top" | "bottom" ] file */
static bool photo_of(Parser *p, NotePhoto *photo) {
    static const Text sides[] = {TEXT_INIT("top"), TEXT_INIT("bottom")};
    if (!parser_qualifiers(p, false)) return false;
    if (!token_names_file(lex_peek(&p->lex)) && !token_side(lex_peek(&p->lex), &photo->side) &&
        !parser_name(p, "a board's name, a side or a file name", &photo->of))
        return false;
    if (!parser_qualifiers(p, false)) return false;
    if (photo->side != NOTE_SIDE_UNSAID || token_side(lex_peek(&p->lex), &photo->side)) lex_take(&p->lex);
    if (!parser_qualifiers(p, false)) return false;
    Token token = lex_peek(&p->lex);
    if (token.kind == LEX_WORD && !token_names_file(token) && photo->side == NOTE_SIDE_UNSAID && photo->of.len > 0)
        return parser_wanted(p, "top, bottom or a file name such as a-bottom.jpg",
                             parser_nearest(p, token.text, sides, COUNT(sides)));
    return parser_file(p, &photo->file);
}

/* photo = "photo" what [ "corners" point point point point ] */
bool note_rule_photo(Parser *p, Note *note) {
    static const Text words[] = {TEXT_INIT("corners")};
    NotePhoto *photo = arena_one(p->arena, NotePhoto);
    note->photo = photo;
    if (!photo_of(p, photo)) return false;
    while (parser_more(p)) {
        if (photo->has_corners || !lex_take_if(&p->lex, "corners")) return parser_stray(p, words, COUNT(words));
        photo->has_corners = true;
        for (int i = 0; i < 4; i++)
            if (!parser_point(p, &photo->corners[i])) return false;
    }
    return !p->failed;
}

/* ask = "ask" STRING */
bool note_rule_ask(Parser *p, Note *note) {
    return parser_string(p, "the question between quotes", &note->ask) && parser_end(p, NULL, 0);
}

/* mark = "mark" ( where | file ) "at" point STRING ; a file's point is in its pixels. A string is a file's name where nothing
 * yet said where. */
bool note_rule_mark(Parser *p, Note *note) {
    if (!parser_qualifiers(p, false)) return false;
    Token token = lex_peek(&p->lex);
    bool said = p->with.placed || p->with.board.len > 0;
    bool file = token_names_file(token) && (token.kind == LEX_WORD || !said);
    if (file ? !parser_file(p, &note->mark.file) : !parser_where(p)) return false;
    return parser_string(p, "what is to be seen there, between quotes", &note->mark.says) && parser_end(p, NULL, 0) &&
           parser_placed(p, "where it is: at X,Y, in mm on a board or in pixels of a photo");
}

/* licence = "licence" STRING */
bool note_rule_licence(Parser *p, Note *note) {
    return parser_string(p, "under which terms the report may be used, between quotes", &note->licence) &&
           parser_end(p, NULL, 0);
}

/* strike = "strike" NUMBER */
bool note_rule_strike(Parser *p, Note *note) {
    return parser_qualifiers(p, false) && parser_whole(p, "the number of the line to void", &note->strike) &&
           parser_end(p, NULL, 0);
}

/* claim = "claim" terminal STRING */
bool note_rule_claim(Parser *p, Note *note) {
    return parser_qualifiers(p, false) && parser_terminal(p, &note->claim.about) &&
           parser_string(p, "the claim between quotes", &note->claim.says) && parser_end(p, NULL, 0);
}
