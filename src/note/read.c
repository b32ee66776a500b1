/* Readings: what was measured between which pins, and how much. Each function has its unit, so that volts of a current are
 * refused at the bench and not found out in a sum; a number in letter notation or with a bare prefix (4k7, 100n) takes it.
 */
#include "note/parser.h"

#include <string.h>

typedef struct Function {
    Text name;
    Unit unit;
    const char *example;
} Function;

static const Function FUNCTIONS[] = {
    {TEXT_INIT("v"), UNIT_VOLT, "volts, such as 6.21 V"},
    {TEXT_INIT("i"), UNIT_AMPERE, "amperes, such as 38 uA"},
    {TEXT_INIT("r"), UNIT_OHM, "ohms, such as 4.2 ohm"},
    {TEXT_INIT("c"), UNIT_FARAD, "farads, such as 100 nF"},
    {TEXT_INIT("l"), UNIT_HENRY, "henries, such as 10 uH"},
    {TEXT_INIT("f"), UNIT_HERTZ, "hertz, such as 38 kHz"},
    {TEXT_INIT("t"), UNIT_SECOND, "seconds, such as 1.2 s"},
    {TEXT_INIT("p"), UNIT_WATT, "watts, such as 0.5 W"},
    {TEXT_INIT("diode"), UNIT_VOLT, "volts, such as 0.68 V"},
    {TEXT_INIT("beep"), UNIT_OHM, "ohms, such as 0.3 ohm"},
    {TEXT_INIT("temp"), UNIT_CELSIUS, "degrees, such as 41 degC"},
    {TEXT_INIT("duty"), UNIT_NONE, "a share, such as 50 %"},
    {TEXT_INIT("gain"), UNIT_NONE, "a plain number, such as 210"},
    {TEXT_INIT("light"), {.m = -2, .cd = 1}, "lux, such as 300 lx"},
    {TEXT_INIT("energy"), UNIT_JOULE, "joules or watt-hours, such as 2.1 Wh"},
    {TEXT_INIT("charge"), UNIT_COULOMB, "coulombs or ampere-hours, such as 950 mAh"},
};
enum { FUNCTION_COUNT = sizeof FUNCTIONS / sizeof FUNCTIONS[0] };

static const char ANY_FUNCTION[] = "v, i, r, c, l, f, t, p, diode, beep, temp, duty, gain, light, energy or charge";

/* function = "v" | "i" | "r" ... */
static bool function(Parser *p, NoteReading *reading, const Function **found) {
    Token token = lex_peek(&p->lex);
    if (!parser_word(p, ANY_FUNCTION, &token)) return false;
    for (size_t i = 0; i < FUNCTION_COUNT; i++) {
        if (!text_same(token.text, FUNCTIONS[i].name)) continue;
        *found = &FUNCTIONS[i];
        reading->function = token.text;
        return true;
    }
    Text names[FUNCTION_COUNT];
    for (size_t i = 0; i < FUNCTION_COUNT; i++) names[i] = FUNCTIONS[i].name;
    return parser_wrong(p, token, "is nothing that is read", ANY_FUNCTION,
                        parser_nearest(p, token.text, names, FUNCTION_COUNT));
}

/* arguments = "(" terminal [ "," terminal ] ")" */
static bool arguments(Parser *p, NoteReading *reading) {
    if (!lex_take_if(&p->lex, "(")) return parser_wanted(p, "( after what is read, as in v(VBAT)", TEXT(""));
    uint32_t opened = lex_peek(&p->lex).column - 1;
    do {
        if (reading->terminal_count == 2) return parser_wanted(p, "at most two pins between the brackets", TEXT(""));
        if (!parser_terminal(p, &reading->terminals[reading->terminal_count++])) return false;
    } while (lex_take_if(&p->lex, ","));
    if (lex_take_if(&p->lex, ")")) return true;
    Text hint = text_fmt(p->scratch, "the bracket opens at column %u", opened);
    return parser_wanted(p, ") or a comma", p->problems->list.count < DIAGS_MOST ? text_copy(p->arena, hint) : TEXT(""));
}

/* People's words for units, and the units themselves: what a slip is compared with. */
static Text unit_hint(Parser *p, Text word) {
    static const struct {
        Text said, symbol;
    } words[] = {
        {TEXT_INIT("volt"), TEXT_INIT("V")},       {TEXT_INIT("volts"), TEXT_INIT("V")},
        {TEXT_INIT("amp"), TEXT_INIT("A")},        {TEXT_INIT("amps"), TEXT_INIT("A")},
        {TEXT_INIT("ampere"), TEXT_INIT("A")},     {TEXT_INIT("farad"), TEXT_INIT("F")},
        {TEXT_INIT("henry"), TEXT_INIT("H")},      {TEXT_INIT("hertz"), TEXT_INIT("Hz")},
        {TEXT_INIT("watt"), TEXT_INIT("W")},       {TEXT_INIT("watts"), TEXT_INIT("W")},
        {TEXT_INIT("sec"), TEXT_INIT("s")},        {TEXT_INIT("second"), TEXT_INIT("s")},
        {TEXT_INIT("seconds"), TEXT_INIT("s")},    {TEXT_INIT("deg"), TEXT_INIT("degC")},
        {TEXT_INIT("celsius"), TEXT_INIT("degC")}, {TEXT_INIT("lux"), TEXT_INIT("lx")},
        {TEXT_INIT("joule"), TEXT_INIT("J")},      {TEXT_INIT("percent"), TEXT_INIT("%")},
    };
    static const Text units[] = {
        TEXT_INIT("V"),    TEXT_INIT("mV"),  TEXT_INIT("uV"),  TEXT_INIT("kV"),   TEXT_INIT("A"),    TEXT_INIT("mA"),
        TEXT_INIT("uA"),   TEXT_INIT("nA"),  TEXT_INIT("ohm"), TEXT_INIT("kohm"), TEXT_INIT("Mohm"), TEXT_INIT("uF"),
        TEXT_INIT("nF"),   TEXT_INIT("pF"),  TEXT_INIT("mH"),  TEXT_INIT("uH"),   TEXT_INIT("Hz"),   TEXT_INIT("kHz"),
        TEXT_INIT("MHz"),  TEXT_INIT("W"),   TEXT_INIT("mW"),  TEXT_INIT("s"),    TEXT_INIT("ms"),   TEXT_INIT("us"),
        TEXT_INIT("degC"), TEXT_INIT("mAh"), TEXT_INIT("Wh"),  TEXT_INIT("lx"),
    };
    if (p->problems->list.count >= DIAGS_MOST) return TEXT("");
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (text_same_folded(word, words[i].said)) return parser_nearest(p, words[i].symbol, &words[i].symbol, 1);
    return parser_nearest(p, word, units, sizeof units / sizeof units[0]);
}

static Text after_digits(Text text) {
    size_t i = 0;
    while (i < text.len && ((text.at[i] >= '0' && text.at[i] <= '9') || strchr("+-.", text.at[i]) != NULL)) i++;
    return text_sub(text, i, text.len);
}

/* value = quantity, in the function's unit */
static bool value(Parser *p, NoteReading *reading, const Function *function) {
    Token token = lex_peek(&p->lex);
    Quantity *q = &reading->value.quantity;
    if (!lex_take_quantity(&p->lex, q, &reading->value.written))
        return parser_wanted(p, function->example,
                             token.kind == LEX_WORD ? unit_hint(p, after_digits(token.text)) : TEXT(""));
    if (unit_same(q->unit, function->unit)) return true;
    Token behind = lex_peek(&p->lex);
    char last = reading->value.written.at[reading->value.written.len - 1];
    bool bare = text_decimal(reading->value.written, &(double){0}) || last == '%';
    if (unit_same(q->unit, UNIT_NONE) && !bare) {
        q->unit = function->unit;
        return true;
    }
    if (unit_same(q->unit, UNIT_NONE) && behind.kind == LEX_WORD && !qualifier_word(behind.text))
        return parser_wrong(p, behind, "is not a unit", function->example, unit_hint(p, behind.text));
    return parser_wrong(p, (Token){LEX_WORD, token.column, reading->value.written},
                        unit_same(q->unit, UNIT_NONE) ? "has no unit" : "has the unit of something else", function->example,
                        TEXT(""));
}

/* read = "read" function arguments "=" value */
bool note_rule_read(Parser *p, Note *note) {
    NoteReading *reading = arena_one(p->arena, NoteReading);
    note->reading = reading;
    const Function *read;
    if (!parser_qualifiers(p, false) || !function(p, reading, &read) || !arguments(p, reading)) return false;
    if (!parser_qualifiers(p, false)) return false;
    if (!lex_take_if(&p->lex, "=")) return parser_wanted(p, "= and what was read", TEXT(""));
    return parser_qualifiers(p, false) && value(p, reading, read) && parser_end(p, NULL, 0);
}
