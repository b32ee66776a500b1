/* What is joined, and what a person says of the copper itself. A place on the board stands where a pin may: `join
 * U1.8 18.7,4.4 on A`; a number with a comma behind it begins one. */
#include "note/parser.h"

#include <string.h>

/* ---- join, apart, net ---- */

static const NotePoint *keep_points(Parser *p) {
    if (p->points.count == 0) return NULL;
    NotePoint *kept = arena_many(p->arena, NotePoint, p->points.count);
    memcpy(kept, p->points.at, p->points.count * sizeof *kept);
    return kept;
}

/* ends = end { end }, at least `least` ; end = terminal | point */
static bool ends(Parser *p, NoteNet *net, uint32_t least) {
    p->terminals.count = p->points.count = 0;
    while (parser_more(p)) {
        if (p->terminals.count + p->points.count == NOTE_TERMINALS_MOST)
            return parser_wanted(p, "at most 4096 pins in one note", TEXT("go on in another note"));
        if (parser_at_point(p)) {
            if (!parser_point(p, list_add(p->scratch, &p->points))) return false;
        } else if (!parser_terminal(p, list_add(p->scratch, &p->terminals))) {
            return false;
        }
    }
    if (p->failed) return false;
    if (p->terminals.count + p->points.count < least)
        return parser_wanted(p, least == 2 ? "two pins or more, such as U1.8 R1.1" : "a pin such as U1.8", TEXT(""));
    NoteTerminal *kept = arena_many(p->arena, NoteTerminal, p->terminals.count);
    if (p->terminals.count > 0) memcpy(kept, p->terminals.at, p->terminals.count * sizeof *kept);
    net->terminals = kept, net->count = p->terminals.count;
    net->places = keep_points(p), net->place_count = p->points.count;
    return true;
}

/* join = "join" end end { end } ; apart = "apart" end end { end } */
bool note_rule_join(Parser *p, Note *note) { return ends(p, &note->net, 2); }

/* net = "net" NAME end { end } ; a name such as 3.3V has a dot, one such as VCC.A would be pin A of VCC */
bool note_rule_net(Parser *p, Note *note) {
    if (!parser_qualifiers(p, false)) return false;
    Token token = lex_peek(&p->lex);
    NoteTerminal name;
    if (token.kind != LEX_WORD || parser_at_point(p)) return parser_wanted(p, "the net's name, such as VBAT", TEXT(""));
    if (!parser_terminal(p, &name)) return false;
    if (name.pin.len > 0) return parser_wrong(p, token, "is a pin", "the net's name first, such as VBAT", TEXT(""));
    note->net.name = name.part;
    return ends(p, &note->net, 1);
}

/* ---- cut, copper, bare, bridge, hidden, hole ---- */

static const Text PLATINGS[] = {[NOTE_PLATED] = TEXT_INIT("plated"), [NOTE_BARE_HOLE] = TEXT_INIT("bare")};

static bool plating_of(Token token, NotePlating *plating) {
    for (NotePlating one = NOTE_PLATED; one <= NOTE_BARE_HOLE; one++) {
        if (token.kind != LEX_WORD || !text_same(token.text, PLATINGS[one])) continue;
        *plating = one;
        return true;
    }
    return false;
}

bool where_takes(Text word) {
    Token token = {LEX_WORD, 0, word};
    return letter_first(word) && !token_side(token, &(NoteSide){0}) && !plating_of(token, &(NotePlating){0});
}

/* where = [ BOARD ] [ "top" | "bottom" ] ; the same as `on BOARD SIDE`. A board whose name begins with a digit is said by
 * `on`.
 */
bool parser_where(Parser *p) {
    NoteSide side = NOTE_SIDE_UNSAID;
    Text board = {"", 0};
    if (!parser_qualifiers(p, false)) return false;
    Token token = lex_peek(&p->lex);
    if (token.kind != LEX_WORD) return true;
    if (!token_side(token, &side)) {
        if (!where_takes(token.text)) return true;
        if (!parser_name(p, "the board's name, such as A, or a place", &board)) return false;
        token_side(lex_peek(&p->lex), &side);
    }
    if (side != NOTE_SIDE_UNSAID) lex_take(&p->lex);
    return parser_say_board(p, token, board, side);
}

bool parser_placed(Parser *p, const char *what) { return p->with.placed || parser_wanted(p, what, TEXT("")); }

static const char ANY_PLACE[] = "where it is: at X,Y in mm, seen from the top";

/* cut = "cut" where "at" point ; copper = "copper" where "at" point ; bare = "bare" where "at" point */
bool note_rule_cut(Parser *p, Note *note) {
    static const Text words[] = {TEXT_INIT("at"), TEXT_INIT("on")};
    (void)note;
    return parser_where(p) && parser_end(p, words, 2) && parser_placed(p, ANY_PLACE);
}

static bool points(Parser *p, Note *note, uint32_t least, uint32_t most, const char *what) {
    p->points.count = 0;
    if (!parser_where(p)) return false;
    while (parser_more(p)) {
        if (p->points.count == most) return parser_wanted(p, "no more places", TEXT("go on in another note"));
        if (!parser_at_point(p)) return parser_wanted(p, what, TEXT(""));
        if (!parser_point(p, list_add(p->scratch, &p->points))) return false;
    }
    if (p->failed) return false;
    if (p->points.count < least) return parser_wanted(p, what, TEXT(""));
    note->points = (NotePoints){keep_points(p), p->points.count};
    return true;
}

/* bridge = "bridge" where point point */
bool note_rule_bridge(Parser *p, Note *note) {
    return points(p, note, 2, 2, "the two places that solder or a wire joins: 3.2,4.1 5.0,4.1");
}

/* hidden = "hidden" where point point point { point } */
bool note_rule_hidden(Parser *p, Note *note) {
    return points(p, note, 3, NOTE_POINTS_MOST, "three places or more, the corners of what can't be seen");
}

static bool is_diameter(Quantity q) {
    const double largest = 0.05; /* m */
    return unit_same(q.unit, UNIT_METRE) && q.value > 0 && q.value <= largest && q.low > 0;
}

/* diameter = length ; a plain number is in mm, as the places are */
static bool diameter(Parser *p, NoteQuantity *taken) {
    static const char what[] = "a diameter such as 0.8 mm, plated or bare";
    Token token = lex_peek(&p->lex);
    if (taken->written.len > 0 || !lex_take_quantity(&p->lex, &taken->quantity, &taken->written))
        return parser_stray(p, PLATINGS, sizeof PLATINGS / sizeof PLATINGS[0]);
    Quantity *q = &taken->quantity;
    if (unit_same(q->unit, UNIT_NONE)) {
        q->unit = UNIT_METRE;
        q->value /= 1000, q->low /= 1000, q->high /= 1000, q->last /= 1000;
    }
    return is_diameter(*q) || parser_wrong(p, token, "is no hole's diameter", what, TEXT(""));
}

/* hole = "hole" where "at" point [ diameter ] [ "plated" | "bare" ] */
bool note_rule_hole(Parser *p, Note *note) {
    NoteHole *hole = arena_one(p->arena, NoteHole);
    note->hole = hole;
    if (!parser_where(p)) return false;
    while (parser_more(p)) {
        if (hole->plating == NOTE_PLATING_UNSAID && plating_of(lex_peek(&p->lex), &hole->plating))
            lex_take(&p->lex);
        else if (!diameter(p, &hole->diameter))
            return false;
    }
    return !p->failed && parser_placed(p, ANY_PLACE);
}
