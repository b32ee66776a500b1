/* The words of `rated` and `part`: quantities and plain words, told apart. A bare number of four or five digits is a
 * package or a cell (0805, 18650), and so is any bare number on a part whose value is not a plain number (U1 555).
 *
 * Words that a qualifier keeps apart must not come together as a quantity when the note is printed again: such a pair
 * (`10 by eye V`) is refused. */
#include "note/parser.h"

#include <string.h>

/* "±5%" alone: the number behind the sign. */
static bool take_tolerance(Parser *p, NoteItem *item) {
    Token token = lex_peek(&p->lex);
    size_t sign = text_starts(token.text, "±")     ? sizeof "±" - 1
                  : text_starts(token.text, "+-")  ? 2
                  : text_starts(token.text, "+/-") ? 3
                                                   : 0;
    if (sign == 0 || sign == token.text.len) return false;
    Lexer behind = p->lex;
    lex_start_at(&behind, p->lex.line, token.column - 1 + sign);
    Text written;
    if (!lex_take_quantity(&behind, &item->quantity, &written) || item->quantity.value < 0) return false;
    item->written = text_sub(p->lex.line, token.column - 1, sign + written.len);
    p->lex = behind;
    return true;
}

static bool begins_number(Text text) {
    char c = text.at[0] == '+' || text.at[0] == '-' ? (text.len > 1 ? text.at[1] : 'x') : text.at[0];
    return (c >= '0' && c <= '9') || c == 'R' || strchr("fpnumkKMGT\xC2\xCE", c) != NULL;
}

/* Bare digits, and the battery designations that look like farads (6F22), are no values; `value_letter`: R, C, L or 0. */
static bool only_looks_like(Text written, Quantity quantity, char value_letter) {
    if (text_all_digits(written)) return written.len == 4 || written.len == 5 || value_letter == 0;
    char last = written.at[written.len - 1];
    return value_letter != 'C' && unit_same(quantity.unit, UNIT_FARAD) && last >= '0' && last <= '9';
}

static bool is_cross(Token token) {
    return token.kind == LEX_WORD && (text_is(token.text, "x") || text_is(token.text, "×"));
}

/* item = quantity | WORD */
static bool take_item(Parser *p, char value_letter, NoteItem *item) {
    Token token = lex_peek(&p->lex);
    if (token.kind != LEX_WORD) return parser_wanted(p, "a word, a quantity or a qualifier", TEXT(""));
    *item = (NoteItem){.written = token.text};
    Lexer before = p->lex;
    if (begins_number(token.text) && lex_take_quantity(&p->lex, &item->quantity, &item->written)) {
        bool glued = item->written.len > token.text.len && unit_same(item->quantity.unit, UNIT_NONE);
        Text bare = glued ? token.text : item->written; /* `0805 5%`: a package and a tolerance */
        item->is_quantity = !only_looks_like(bare, item->quantity, value_letter);
        if (item->is_quantity) return true;
        p->lex = before;
        *item = (NoteItem){.written = token.text};
    } else if (take_tolerance(p, item)) {
        item->is_quantity = true;
        return true;
    }
    lex_take(&p->lex);
    return true;
}

/* Whether two items that stand apart in the line would be read otherwise side by side. */
static bool would_merge(Parser *p, Text before, Text after) {
    const char *between = before.at + before.len;
    while (between < after.at && (*between == ' ' || *between == '\t')) between++;
    if (between == after.at || (!begins_number(before) && before.at[0] != '+' && (unsigned char)before.at[0] < 0x80))
        return false;
    Quantity q;
    Text beside = text_fmt(p->scratch, "%.*s %.*s", TEXT_ARG(before), TEXT_ARG(after));
    size_t sign = text_starts(beside, "±")     ? sizeof "±" - 1
                  : text_starts(beside, "+-")  ? 2
                  : text_starts(beside, "+/-") ? 3
                                               : 0;
    return quantity_parse(text_sub(beside, sign, beside.len), &q) + sign > before.len;
}

static bool add_item(Parser *p, char value_letter) {
    NoteItem item;
    Token token = lex_peek(&p->lex);
    if (!take_item(p, value_letter, &item)) return false;
    if (p->items.count > 0 && would_merge(p, p->items.at[p->items.count - 1].written, item.written))
        return parser_wrong(p, token, "stands apart from the number that it belongs to", "both side by side", TEXT(""));
    list_push(p->scratch, &p->items, item);
    return true;
}

static NoteItems keep_items(Parser *p) {
    NoteItem *kept = arena_many(p->arena, NoteItem, p->items.count);
    if (p->items.count > 0) memcpy(kept, p->items.at, p->items.count * sizeof *kept);
    return (NoteItems){kept, p->items.count};
}

/* rated = "rated" item { item } */
bool note_rule_rated(Parser *p, Note *note) {
    p->items.count = 0;
    while (parser_more(p))
        if (!add_item(p, 0)) return false;
    if (p->failed) return false;
    if (p->items.count == 0 && p->with.remark.len == 0)
        return parser_wanted(p, "what the label says, such as 6 V or IPX4", TEXT(""));
    note->rated = keep_items(p);
    return true;
}

/* ---- part ---- */

typedef enum Clause { CLAUSE_NONE, CLAUSE_PIN, CLAUSE_TURN, CLAUSE_MARKED } Clause;

static const Text CLAUSES[] = {[CLAUSE_NONE] = TEXT_INIT(""),
                               [CLAUSE_PIN] = TEXT_INIT("pin"),
                               [CLAUSE_TURN] = TEXT_INIT("turn"),
                               [CLAUSE_MARKED] = TEXT_INIT("marked")};

static Clause clause_of(Token token) {
    if (token.kind != LEX_WORD) return CLAUSE_NONE;
    for (Clause clause = CLAUSE_PIN; clause <= CLAUSE_MARKED; clause++)
        if (text_same(token.text, CLAUSES[clause])) return clause;
    return CLAUSE_NONE;
}

/* cells = NUMBER ( "x" | "×" ) WORD */
static bool take_cells(Parser *p, NotePart *part) {
    enum { CELLS_MOST = 1000 };
    Lexer ahead = p->lex;
    uint32_t number;
    if (part->cell_count > 0 || !token_whole(lex_take(&ahead), &number) || number > CELLS_MOST) return false;
    if (!is_cross(lex_take(&ahead))) return false;
    Token cell = lex_take(&ahead);
    if (cell.kind != LEX_WORD || qualifier_word(cell.text) || clause_of(cell) != CLAUSE_NONE || is_cross(cell))
        return false;
    part->cell_count = number;
    part->cell = cell.text;
    p->lex = ahead;
    return true;
}

/* pins = "pin" WORD "at" point "pin" WORD "at" point */
static bool take_pins(Parser *p, NotePart *part) {
    static const char what[] = "two pins and their places: pin 1 at 18.1,7.9 pin 8 at 24.2,7.9";
    NotePinPlace *pins = arena_many(p->arena, NotePinPlace, 2);
    for (int i = 0; i < 2; i++) {
        Token pin;
        if (i == 1 && !lex_take_if(&p->lex, "pin")) return parser_wanted(p, what, TEXT(""));
        if (!parser_word(p, what, &pin)) return false;
        if (!lex_take_if(&p->lex, "at")) return parser_wanted(p, what, TEXT(""));
        if (!parser_point(p, &pins[i].at)) return false;
        pins[i].pin = pin.text;
        if (i == 1 && text_same(pins[0].pin, pin.text))
            return parser_wrong(p, pin, "was placed already", "another pin", TEXT(""));
    }
    part->pins = pins;
    part->pin_count = 2;
    return true;
}

/* clause = pins | "turn" DEGREES | "marked" STRING */
static bool take_clause(Parser *p, NotePart *part, Clause clause) {
    Token token = lex_take(&p->lex);
    if (clause == CLAUSE_PIN ? part->pin_count > 0 : clause == CLAUSE_TURN ? part->has_turn : part->has_marking)
        return parser_wrong(p, token, "stands twice in this note", "each of pin, turn and marked once", TEXT(""));
    if (clause == CLAUSE_PIN) return take_pins(p, part);
    if (clause == CLAUSE_TURN) {
        part->has_turn = true;
        return parser_number(p, "degrees from -360 to 360, such as 90", -360, 360, &part->turn);
    }
    part->has_marking = true;
    if (lex_peek(&p->lex).kind != LEX_STRING)
        return parser_wanted(p, "the marking between quotes, \"\" when nothing is legible", TEXT(""));
    part->marking = lex_string(p->arena, lex_take(&p->lex));
    return true;
}

/* A slip such as `markd "J3Y"` would else pass for a kind of part, and the marking for a remark. Refused wherever it stands:
 * a remark may come before it, and the note printed puts it behind. */
static bool slip_of_marked(Token token) {
    return token.kind == LEX_WORD && token.text.len >= 5 && token.text.len <= 7 && token.text.at[0] == 'm' &&
           text_distance(token.text, CLAUSES[CLAUSE_MARKED], 2) <= 2;
}

/* part = "part" REF { item | cells | clause } */
bool note_rule_part(Parser *p, Note *note) {
    NotePart *part = arena_one(p->arena, NotePart);
    note->part = part;
    Token ref;
    if (!parser_qualifiers(p, false) || !parser_word(p, "the part's reference, such as R1", &ref)) return false;
    part->ref = ref.text;
    if (!letter_first(ref.text))
        return parser_wrong(p, ref, "does not begin with a letter", "a reference such as R1 or U2", TEXT(""));
    if (memchr(ref.text.at, '.', ref.text.len) != NULL)
        return parser_wrong(p, ref, "is a pin", "a reference such as R1 or U2", TEXT(""));
    char value_letter = strchr("RCL", ref.text.at[0]) != NULL ? ref.text.at[0] : 0;
    p->items.count = 0;
    while (parser_more(p)) {
        Clause clause = clause_of(lex_peek(&p->lex));
        if (clause != CLAUSE_NONE) {
            if (!take_clause(p, part, clause)) return false;
        } else if (slip_of_marked(lex_peek(&p->lex))) {
            return parser_stray(p, CLAUSES, sizeof CLAUSES / sizeof CLAUSES[0]);
        } else if (is_cross(lex_peek(&p->lex))) {
            return parser_wanted(p, "a number before and a cell behind, once: 4 x LR03", TEXT(""));
        } else if (!take_cells(p, part) && !add_item(p, value_letter)) {
            return false;
        }
    }
    if (p->failed) return false;
    if (part->pin_count > 0 && p->with.placed)
        return parser_problem(p, 0, TEXT("the part is placed twice"), "its centre at X,Y, or two pins, not both", TEXT(""));
    part->words = keep_items(p);
    return true;
}
