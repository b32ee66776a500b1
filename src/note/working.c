/* How the product works: its modes, what its chips and its user do in them, how long they last, what turns what, and what a
 * memory holds. The bench's sums are made of these. */
#include "note/parser.h"

#include <string.h>

/* mode = "mode" NAME */
bool note_rule_mode(Parser *p, Note *note) {
    return parser_qualifiers(p, false) && parser_name(p, "the mode's name, such as idle", &note->mode) &&
           parser_end(p, NULL, 0);
}

/* Within what sums can be made of: a femtosecond to a thousand ages of the universe, a bit to a million disks. */
static bool sized(Quantity q) { return q.low >= 1e-15 && q.high <= 1e21; }

/* Takes a quantity of the unit, with or without tolerance. */
static bool quantity_of(Parser *p, Unit unit, const char *what, NoteQuantity *taken) {
    Token token = lex_peek(&p->lex);
    if (!lex_take_quantity(&p->lex, &taken->quantity, &taken->written)) return parser_wanted(p, what, TEXT(""));
    Token whole = {LEX_WORD, token.column, taken->written};
    if (!unit_same(taken->quantity.unit, unit))
        return parser_wrong(p, whole, unit_same(taken->quantity.unit, UNIT_NONE) ? "has no unit" : "has another unit", what,
                            TEXT(""));
    if (taken->quantity.low <= 0) return parser_wrong(p, whole, "is nothing or less", what, TEXT(""));
    return sized(taken->quantity) || parser_wrong(p, whole, "is out of all bounds", what, TEXT(""));
}

static bool begins_digit(Token token) {
    return token.kind == LEX_WORD && token.text.at[0] >= '0' && token.text.at[0] <= '9';
}

/* The next token begins a share: `50%` or `50 %`. */
static bool at_share(Lexer ahead) {
    Token token = lex_take(&ahead);
    return begins_digit(token) && (text_ends(token.text, "%") || lex_is(&ahead, "%"));
}

/* share = number "%", 0 to 100 */
static bool share(Parser *p, const char *what, NoteQuantity *taken) {
    Token token = lex_peek(&p->lex);
    if (!at_share(p->lex) || !lex_take_quantity(&p->lex, &taken->quantity, &taken->written) ||
        !unit_same(taken->quantity.unit, UNIT_NONE))
        return parser_wanted(p, what, TEXT(""));
    if (taken->quantity.low >= 0 && taken->quantity.high <= 1) return true;
    return parser_wrong(p, (Token){LEX_WORD, token.column, taken->written}, "is not between 0% and 100%", what, TEXT(""));
}

/* ---- drive ---- */

static const Text LEVELS[NOTE_LEVEL_COUNT] = {
    [NOTE_LEVEL_HIGH] = TEXT_INIT("high"), [NOTE_LEVEL_LOW] = TEXT_INIT("low"),    [NOTE_LEVEL_OPEN] = TEXT_INIT("open"),
    [NOTE_LEVEL_FREQUENCY] = TEXT_INIT(""), [NOTE_LEVEL_VOLTS] = TEXT_INIT(""),
};

Text note_level_name(NoteLevel level) { return LEVELS[level]; }

/* A quantity whose tolerance has its sign: `38 kHz 50%` is a frequency and a duty, `38 kHz ±1%` a frequency. */
static bool quantity_before_share(Parser *p, NoteQuantity *taken) {
    Lexer cut = p->lex, ahead = p->lex;
    lex_take(&ahead);
    while (!lex_at_end(&ahead) && !at_share(ahead)) lex_take(&ahead);
    cut.line.len = lex_peek(&ahead).column - 1;
    if (!lex_take_quantity(&cut, &taken->quantity, &taken->written)) return false;
    size_t used = (size_t)(taken->written.at + taken->written.len - p->lex.line.at);
    lex_start_at(&p->lex, p->lex.line, used);
    return true;
}

/* level = "high" | "low" | "open" | frequency | voltage */
static bool level(Parser *p, NoteDrive *drive) {
    static const char what[] = "high, low, open, a frequency such as 38 kHz 50%, or a voltage such as 3.0 V";
    Token token = lex_peek(&p->lex);
    for (drive->level = NOTE_LEVEL_HIGH; drive->level <= NOTE_LEVEL_OPEN; drive->level++)
        if (token.kind == LEX_WORD && text_same(token.text, LEVELS[drive->level])) return lex_take(&p->lex), true;
    if (token.kind != LEX_WORD || !quantity_before_share(p, &drive->value))
        return parser_wanted(
            p, what, token.kind == LEX_WORD ? parser_nearest(p, token.text, LEVELS, NOTE_LEVEL_OPEN + 1) : TEXT(""));
    Quantity q = drive->value.quantity;
    drive->level = unit_same(q.unit, UNIT_VOLT) ? NOTE_LEVEL_VOLTS : NOTE_LEVEL_FREQUENCY;
    if (drive->level == NOTE_LEVEL_VOLTS || (unit_same(q.unit, UNIT_HERTZ) && sized(q))) return true;
    return parser_wrong(p, (Token){LEX_WORD, token.column, drive->value.written}, "is no level of a pin", what, TEXT(""));
}

/* drive = "drive" REF "." PIN level [ share ], the share only of a frequency */
bool note_rule_drive(Parser *p, Note *note) {
    NoteDrive *drive = arena_one(p->arena, NoteDrive);
    note->drive = drive;
    if (!parser_qualifiers(p, false)) return false;
    Token pin = lex_peek(&p->lex);
    if (!parser_terminal(p, &drive->pin)) return false;
    if (drive->pin.pin.len == 0) return parser_wrong(p, pin, "names no pin", "a chip's pin, such as U1.3", TEXT(""));
    if (!parser_qualifiers(p, false) || !level(p, drive)) return false;
    while (parser_more(p)) {
        if (drive->level != NOTE_LEVEL_FREQUENCY || drive->duty.written.len > 0 || !at_share(p->lex))
            return parser_stray(p, NULL, 0);
        if (!share(p, "how much of the time it is high, such as 50%", &drive->duty)) return false;
    }
    return !p->failed;
}

/* ---- press, stall ---- */

/* press = "press" REF { REF } ; stall = "stall" REF { REF } */
bool note_rule_press(Parser *p, Note *note) {
    const char *what = note->verb == NOTE_PRESS ? "a switch, such as SW2" : "a motor, such as M1";
    p->words.count = 0;
    while (parser_more(p)) {
        if (p->words.count == NOTE_TERMINALS_MOST) return parser_wanted(p, "at most 4096 parts in one note", TEXT(""));
        if (!parser_ref(p, what, list_add(p->scratch, &p->words))) return false;
    }
    if (p->failed) return false;
    if (p->words.count == 0) return parser_wanted(p, what, TEXT(""));
    note->parts = (NoteRefs){parser_keep_words(p), p->words.count};
    return true;
}

/* ---- duty ---- */

/* time = quantity | unit, which is one of it: `per day` */
static bool period(Parser *p, NoteQuantity *per) {
    static const char what[] = "a time such as 30 min, or day";
    Token token = lex_peek(&p->lex);
    Unit unit;
    double seconds;
    if (token.kind != LEX_WORD || !unit_parse(token.text, &unit, &seconds) || !unit_same(unit, UNIT_SECOND))
        return quantity_of(p, UNIT_SECOND, what, per);
    *per = (NoteQuantity){quantity_exact(seconds, UNIT_SECOND), lex_take(&p->lex).text};
    return true;
}

/* duty = "duty" MODE ( time "per" time | share ) */
bool note_rule_duty(Parser *p, Note *note) {
    static const char what[] = "how long, such as 2 s per 30 min, or a share of the time such as 5%";
    NoteDuty *duty = arena_one(p->arena, NoteDuty);
    note->duty = duty;
    if (!parser_qualifiers(p, false) || !parser_name(p, "the mode's name, such as idle", &duty->mode)) return false;
    if (!parser_qualifiers(p, false)) return false;
    if (at_share(p->lex)) return share(p, what, &duty->on) && parser_end(p, NULL, 0);
    Token on = lex_peek(&p->lex);
    if (!quantity_of(p, UNIT_SECOND, what, &duty->on) || !parser_qualifiers(p, false)) return false;
    if (!lex_take_if(&p->lex, "per")) return parser_wanted(p, "per and how often, as in 2 s per 30 min", TEXT(""));
    if (!parser_qualifiers(p, false) || !period(p, &duty->per)) return false;
    if (duty->on.quantity.value > duty->per.quantity.value)
        return parser_wrong(p, (Token){LEX_WORD, on.column, duty->on.written}, "is longer than the time it is part of", what,
                            TEXT(""));
    return parser_end(p, NULL, 0);
}

/* ---- gear ---- */

/* ratio = number ":" number, of teeth or of diameters */
static bool ratio(Parser *p, NoteRatio *taken) {
    static const char what[] = "teeth or diameters, driving:driven, such as 12:60";
    const double least = 0.001, most = 1e6;
    if (!parser_number(p, what, least, most, &taken->driving)) return false;
    if (!lex_take_if(&p->lex, ":")) return parser_wanted(p, what, TEXT("a colon stands between the two"));
    return parser_number(p, what, least, most, &taken->driven);
}

/* gear = "gear" REF ratio { ratio } */
bool note_rule_gear(Parser *p, Note *note) {
    p->ratios.count = 0;
    if (!parser_qualifiers(p, false) || !parser_ref(p, "the motor, such as M1", &note->gear.ref)) return false;
    while (parser_more(p)) {
        if (p->ratios.count == NOTE_STAGES_MOST) return parser_wanted(p, "at most 32 stages", TEXT(""));
        if (!ratio(p, list_add(p->scratch, &p->ratios))) return false;
    }
    if (p->failed) return false;
    if (p->ratios.count == 0) return parser_wanted(p, "teeth or diameters, driving:driven, such as 12:60", TEXT(""));
    NoteRatio *kept = arena_many(p->arena, NoteRatio, p->ratios.count);
    memcpy(kept, p->ratios.at, p->ratios.count * sizeof *kept);
    note->gear.stages = kept, note->gear.count = p->ratios.count;
    return true;
}

/* ---- memory ---- */

/* rate = frequency [ bits ] | bits "/" time */
static bool rate(Parser *p, NoteMemory *memory) {
    static const char what[] = "a sampling rate such as 8 kHz 8 bit, or a data rate such as 16 kbit/s";
    static const Unit bit_rate = {.bit = 1, .s = -1};
    Token token = lex_peek(&p->lex);
    if (!lex_take_quantity(&p->lex, &memory->rate.quantity, &memory->rate.written)) return parser_wanted(p, what, TEXT(""));
    Quantity q = memory->rate.quantity;
    bool samples = unit_same(q.unit, UNIT_HERTZ);
    if ((!samples && !unit_same(q.unit, bit_rate)) || !sized(q))
        return parser_wrong(p, (Token){LEX_WORD, token.column, memory->rate.written}, "is no such rate", what, TEXT(""));
    if (!parser_more(p) || !samples) return !p->failed;
    return quantity_of(p, UNIT_BIT, "the bits of a sample, such as 8 bit", &memory->sample);
}

/* memory = "memory" REF bits [ "at" rate ] */
bool note_rule_memory(Parser *p, Note *note) {
    static const Text words[] = {TEXT_INIT("at")};
    NoteMemory *memory = arena_one(p->arena, NoteMemory);
    note->memory = memory;
    p->at_rate = true;
    if (!parser_qualifiers(p, false) || !parser_ref(p, "the memory, such as U3", &memory->ref)) return false;
    if (!parser_qualifiers(p, false) || !quantity_of(p, UNIT_BIT, "its size, such as 8 Mbit", &memory->size)) return false;
    if (parser_more(p) && lex_take_if(&p->lex, "at") && !rate(p, memory)) return false;
    return parser_end(p, words, 1);
}
