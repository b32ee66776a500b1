/* Reads the entries of lore that say what parts are: `kind`, `rails`, `pads`, `property` and `weight`.
 *
 * Two passes: first the small entries, so that a kind may use a property declared anywhere; then the kinds in file order,
 * parents before children, each taking over what its parent has. A line that is wrong is noted and left out; the rest of
 * its kind counts. The person's own lore may give letters and weights a new meaning; within one author's files a second
 * meaning is a slip. */
#include "bench/kinds_inside.h"

#include <string.h>

typedef struct Reader {
    BenchKinds *kinds;
    Lore *lore;
    bool builtin;         /* of the entry being read */
    const LoreLine *line; /* being read */
    Lexer lexer;
    BenchKind *kind; /* being read */
} Reader;

static void problem(Reader *r, uint32_t column, Text message, const char *expected) {
    lore_problem(r->lore, r->line, column, message, text_of(expected), TEXT(""));
}

static Text quoted(Reader *r, const char *before, Text word, const char *after) {
    return text_fmt(r->lore->arena, "%s`%.*s`%s", before, TEXT_ARG(word), after);
}

/* Takes a word or string of at most KIND_WORD_MOST bytes; false, with a problem, when something else stands there. */
static bool take_name(Reader *r, const char *expected, Token *token) {
    *token = lex_take(&r->lexer);
    if ((token->kind != LEX_WORD && token->kind != LEX_STRING) || token->text.len == 0) {
        problem(r, token->column, TEXT("a name is missing"), expected);
        return false;
    }
    if (token->text.len > KIND_WORD_MOST) {
        problem(r, token->column, TEXT("this name is longer than 64 bytes"), "a shorter one");
        return false;
    }
    return true;
}

static Text take_source(Reader *r) {
    Token token = lex_take(&r->lexer);
    if (token.kind == LEX_STRING && token.text.len > 0) return lex_string(r->kinds->arena, token);
    problem(r, token.column, TEXT("its source is missing"), "\"where the figure comes from\"");
    return TEXT("");
}

static void expect_end(Reader *r) {
    if (!lex_at_end(&r->lexer))
        problem(r, lex_peek(&r->lexer).column, TEXT("this is one word too many"), "the end of the line");
}

static Text folded_copy(Reader *r, Text word) {
    char room[KIND_WORD_MOST];
    return text_copy(r->kinds->arena, kind_folded(room, word));
}

/* ---- rails, pads, property, weight ---- */

static void read_names(Reader *r, Names *names) {
    Token token;
    do {
        if (take_name(r, "names", &token))
            names_add(names, folded_copy(r, token.text));
        else
            return;
    } while (!lex_at_end(&r->lexer));
}

/* rails = "rails" { "ground" NAME {NAME} | "supply" NAME {NAME} } */
static void read_rails(Reader *r, const LoreEntry *entry) {
    for (uint32_t i = 0; i < entry->line_count; i++) {
        r->line = &entry->lines[i];
        r->lexer = lore_lexer(r->line);
        if (text_is(r->line->word, "ground"))
            read_names(r, r->kinds->grounds);
        else if (text_is(r->line->word, "supply"))
            read_names(r, r->kinds->supplies);
        else
            problem(r, 0, quoted(r, "a rail is never ", r->line->word, ""), "ground or supply");
    }
}

/* unit = symbol | "1" | "ohm" | "farad" | ... : the names that read well in lore */
static bool read_unit(Text word, Unit *unit) {
    static const struct {
        const char *name;
        Unit unit;
    } names[] = {{"farad", UNIT_FARAD}, {"henry", UNIT_HENRY}, {"volt", UNIT_VOLT}, {"ampere", UNIT_AMPERE},
                 {"hertz", UNIT_HERTZ}, {"watt", UNIT_WATT},   {"1", UNIT_NONE}};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (text_is(word, names[i].name)) return *unit = names[i].unit, true;
    double factor;
    return unit_parse(word, unit, &factor) && factor == 1;
}

/* property = "property" NAME unit STRING */
static void read_declaration(Reader *r) {
    Token name, symbol;
    BenchProperty declared = {0};
    if (!take_name(r, "the property's name", &name) || !take_name(r, "its unit", &symbol)) return;
    if (!read_unit(symbol.text, &declared.unit)) {
        problem(r, symbol.column, quoted(r, "", symbol.text, " is no unit without prefix"), "V, A, ohm, F, Hz, bit, 1 ...");
        return;
    }
    declared.name = name.text;
    declared.says = take_source(r);
    if (names_find(r->kinds->property_names, name.text) != NAME_NONE) {
        problem(r, name.column, quoted(r, "the property ", name.text, " is declared already"), "another name");
        return;
    }
    names_add(r->kinds->property_names, name.text);
    list_push(r->kinds->arena, &r->kinds->properties, declared);
    expect_end(r);
}

static Text weight_name(int number) {
    static const Text others[BENCH_WEIGHT_COUNT] = {TEXT_INIT("letters"), TEXT_INIT("adopt"), TEXT_INIT("part"),
                                                    TEXT_INIT("kind"), TEXT_INIT("date")};
    return number < NOTE_SOURCE_COUNT ? note_source_name((NoteSource)number) : others[number - NOTE_SOURCE_COUNT];
}

/* weight = "weight" SOURCE number "dB" STRING */
static void read_weight(Reader *r) {
    static const char what[] = "eye, meter, scope, datasheet, label, guess, photo, letters, adopt, part, kind or date";
    Token name;
    Quantity decibans;
    int source = NOTE_BY_EYE, count = NOTE_SOURCE_COUNT + BENCH_WEIGHT_COUNT;
    if (!take_name(r, what, &name)) return;
    while (source < count && !text_same(weight_name(source), name.text)) source++;
    if (source == count) {
        problem(r, name.column, quoted(r, "nothing has a weight as ", name.text, ""), what);
        return;
    }
    uint32_t column = lex_peek(&r->lexer).column;
    if (!lex_take_quantity(&r->lexer, &decibans, NULL) || !unit_same(decibans.unit, UNIT_NONE) ||
        !lex_take_if(&r->lexer, "dB")) {
        problem(r, column, TEXT("its weight is missing"), "a number and dB, as in `25 dB`");
        return;
    }
    take_source(r);
    expect_end(r);
    if (r->kinds->weights[source].said && r->kinds->weights[source].builtin == r->builtin) {
        problem(r, name.column, quoted(r, "", name.text, " has its weight already"), "one weight a source");
        return;
    }
    r->kinds->weights[source].said = true;
    r->kinds->weights[source].builtin = r->builtin;
    r->kinds->weights[source].decibans = decibans.value;
    r->kinds->weights[source].probability = probability_of_decibans(decibans.value);
}

/* ---- the lines of a kind ---- */

/* Enters a word for the kind. False when it means another kind already, unless that is a built-in meaning that may give
 * way. */
static bool enter(Reader *r, KindWords *words, Text word, bool may_replace) {
    uint32_t number = names_add(words->names, folded_copy(r, word));
    KindWord meaning = {r->kind, r->builtin};
    if (number == words->of.count)
        list_push(r->kinds->arena, &words->of, meaning);
    else if (may_replace && words->of.at[number].builtin && !r->builtin)
        words->of.at[number] = meaning;
    return words->of.at[number].kind == r->kind;
}

/* letters = "letters" LETTERS {LETTERS} */
static void read_letters(Reader *r) {
    Token token;
    do {
        if (!take_name(r, "reference letters", &token)) return;
        bool letters = true;
        for (size_t i = 0; i < token.text.len; i++)
            letters = letters && ((token.text.at[i] | 0x20) >= 'a' && (token.text.at[i] | 0x20) <= 'z');
        if (!letters)
            problem(r, token.column, quoted(r, "", token.text, " is not made of letters"), "letters A to Z, as in `BT`");
        else if (!enter(r, &r->kinds->letters, token.text, true))
            problem(r, token.column, quoted(r, "the letters ", token.text, " mean another kind already"), "other letters");
    } while (!lex_at_end(&r->lexer));
}

/* also = "also" WORD {WORD} */
static void read_also(Reader *r) {
    Token token;
    do {
        if (!take_name(r, "another word for it", &token)) return;
        if (!enter(r, &r->kinds->words, token.text, false))
            problem(r, token.column, quoted(r, "the word ", token.text, " means another kind already"), "another word");
    } while (!lex_at_end(&r->lexer));
}

/* pins = "pins" PIN {PIN} */
static void read_pins(Reader *r) {
    BenchKind *kind = r->kind;
    Token token;
    if (kind->own_pins) {
        problem(r, 0, TEXT("the kind has its pins already"), "one `pins` line");
        return;
    }
    kind->own_pins = true;
    kind->pin_count = 0;
    do {
        if (!take_name(r, "a pin", &token)) return;
        for (uint32_t p = 0; p < kind->pin_count; p++)
            if (text_same(kind->pins[p], token.text)) {
                problem(r, token.column, quoted(r, "the pin ", token.text, " stands here twice"), "each pin once");
                return;
            }
        if (kind->pin_count == KIND_PINS_MOST) {
            problem(r, token.column, TEXT("a kind has at most 16 pins of its own"), "fewer pins");
            return;
        }
        kind->mate[kind->pin_count] = (unsigned char)kind->pin_count;
        kind->pins[kind->pin_count++] = token.text;
    } while (!lex_at_end(&r->lexer));
}

/* Takes a pin that the kind has. */
static bool take_pin(Reader *r, unsigned char *position, Token *token) {
    if (!take_name(r, "one of the kind's pins", token)) return false;
    for (uint32_t p = 0; p < r->kind->pin_count; p++)
        if (text_same(r->kind->pins[p], token->text)) return *position = (unsigned char)p, true;
    Text nearest = text_nearest(token->text, r->kind->pins, r->kind->pin_count);
    lore_problem(r->lore, r->line, token->column, quoted(r, "the kind has no pin ", token->text, ""),
                 TEXT("a pin of its `pins` line"), nearest.len > 0 ? quoted(r, "did you mean ", nearest, "?") : TEXT(""));
    return false;
}

/* either = "either" PIN PIN */
static void read_either(Reader *r) {
    unsigned char a, b;
    Token first, second;
    if (!take_pin(r, &a, &first) || !take_pin(r, &b, &second)) return;
    if (a == b || r->kind->mate[a] != a || r->kind->mate[b] != b) {
        problem(r, second.column, TEXT("a pin changes places with one other"), "two pins that are in no other `either`");
        return;
    }
    r->kind->mate[a] = b, r->kind->mate[b] = a;
    expect_end(r);
}

/* spelled = "spelled" PIN WORD {WORD} */
static void read_spelled(Reader *r) {
    KindSpelling spelling;
    Token token;
    if (!take_pin(r, &spelling.position, &token)) return;
    do {
        if (!take_name(r, "another spelling", &token)) return;
        int known = bench_kind_pin(r->kinds, r->kind, token.text);
        spelling.spelling = token.text;
        if (known >= 0 && known != spelling.position)
            problem(r, token.column, quoted(r, "", token.text, " is another pin of the kind"),
                    "a spelling of this pin alone");
        else
            list_push(r->kinds->arena, &r->kinds->spellings.at[r->kind->number].list, spelling);
    } while (!lex_at_end(&r->lexer));
}

/* numbered = "numbered" PACKAGE NUMBER PIN { NUMBER PIN } */
static void read_numbered(Reader *r) {
    Token token;
    BenchNumbering numbering = {0};
    if (!take_name(r, "a package, or * for any", &token)) return;
    numbering.package = token.text;
    for (uint32_t i = 0; i < r->kind->numberings.count; i++)
        if (text_same_folded(r->kind->numberings.at[i].package, token.text)) {
            problem(r, token.column, quoted(r, "", token.text, " is numbered already"), "one numbering a package");
            return;
        }
    do {
        if (numbering.count == KIND_PINS_MOST) {
            problem(r, lex_peek(&r->lexer).column, TEXT("a numbering has at most 16 pins"), "fewer pins");
            return;
        }
        if (!take_name(r, "a pin number", &token)) return;
        numbering.number[numbering.count] = token.text;
        if (!take_pin(r, &numbering.position[numbering.count++], &token)) return;
    } while (!lex_at_end(&r->lexer));
    list_push(r->kinds->arena, &r->kind->numberings, numbering);
}

/* value = "value" unit */
static void read_value(Reader *r) {
    Token token;
    if (!take_name(r, "the unit of its value", &token)) return;
    if (!read_unit(token.text, &r->kind->unit))
        problem(r, token.column, quoted(r, "", token.text, " is no unit without prefix"),
                "ohm, farad, henry, volt, hertz ...");
    else
        r->kind->has_unit = true;
    expect_end(r);
}

/* tolerance = "tolerance" number "%" */
static void read_tolerance(Reader *r) {
    Quantity q;
    uint32_t column = lex_peek(&r->lexer).column;
    if (!lex_take_quantity(&r->lexer, &q, NULL) || !unit_same(q.unit, UNIT_NONE) || !(q.value > 0 && q.value < 1))
        problem(r, column, TEXT("this is no tolerance"), "a part of the value, as in `5 %`");
    else
        r->kind->tolerance = q.value;
    expect_end(r);
}

/* property = "property" NAME quantity STRING */
static void read_property(Reader *r) {
    Token name;
    BenchProperty property = {0};
    if (!take_name(r, "a property", &name)) return;
    uint32_t number = names_find(r->kinds->property_names, name.text);
    if (number == NAME_NONE) {
        Text *names = arena_many(r->lore->arena, Text, r->kinds->properties.count);
        for (uint32_t i = 0; i < r->kinds->properties.count; i++) names[i] = r->kinds->properties.at[i].name;
        Text nearest = text_nearest(name.text, names, r->kinds->properties.count);
        lore_problem(r->lore, r->line, name.column, quoted(r, "no `property` entry declares ", name.text, ""),
                     TEXT("a declared property"), nearest.len > 0 ? quoted(r, "did you mean ", nearest, "?") : TEXT(""));
        return;
    }
    property = r->kinds->properties.at[number];
    uint32_t column = lex_peek(&r->lexer).column;
    if (!lex_take_quantity(&r->lexer, &property.value, NULL) || !unit_same(property.value.unit, property.unit)) {
        Text symbol = unit_symbol(r->lore->arena, property.unit);
        lore_problem(r->lore, r->line, column, TEXT("this is no figure for it"),
                     symbol.len == 0 ? TEXT("a plain number")
                                     : text_fmt(r->lore->arena, "a quantity in %.*s", TEXT_ARG(symbol)),
                     TEXT(""));
        return;
    }
    property.source = take_source(r);
    list_push(r->kinds->arena, &r->kind->properties, property);
    expect_end(r);
}

/* others = "others" */
static void read_others(Reader *r) {
    r->kind->others = true;
    expect_end(r);
}

/* varies = "varies" */
static void read_varies(Reader *r) {
    r->kind->varies = true;
    expect_end(r);
}

/* line = letters | also | pins | either | spelled | numbered | value | tolerance | property | others | varies */
static void read_line(Reader *r) {
    static const struct {
        Text word;
        void (*read)(Reader *);
    } lines[] = {
        {TEXT_INIT("letters"), read_letters},   {TEXT_INIT("also"), read_also},
        {TEXT_INIT("pins"), read_pins},         {TEXT_INIT("either"), read_either},
        {TEXT_INIT("spelled"), read_spelled},   {TEXT_INIT("numbered"), read_numbered},
        {TEXT_INIT("value"), read_value},       {TEXT_INIT("tolerance"), read_tolerance},
        {TEXT_INIT("property"), read_property}, {TEXT_INIT("others"), read_others},
        {TEXT_INIT("varies"), read_varies},
    };
    enum { COUNT = sizeof lines / sizeof lines[0] };
    Text words[COUNT];
    r->lexer = lore_lexer(r->line);
    for (size_t i = 0; i < COUNT; i++) {
        words[i] = lines[i].word;
        if (!text_same(words[i], r->line->word)) continue;
        lines[i].read(r);
        return;
    }
    Text nearest = text_nearest(r->line->word, words, COUNT);
    lore_problem(r->lore, r->line, 0, quoted(r, "a kind has no line ", r->line->word, ""),
                 TEXT("letters, also, pins, either, spelled, numbered, value, tolerance, property, others or varies"),
                 nearest.len > 0 ? quoted(r, "did you mean ", nearest, "?") : TEXT(""));
}

static BenchKind *add_kind(BenchKinds *kinds, Text name, const BenchKind *parent) {
    BenchKind *kind = arena_one(kinds->arena, BenchKind);
    if (parent != NULL) {
        *kind = *parent;
        memset(&kind->numberings, 0, sizeof kind->numberings);
        memset(&kind->properties, 0, sizeof kind->properties);
    }
    kind->name = name;
    kind->parent = parent;
    kind->number = kinds->kinds.count;
    kind->own_pins = false;
    list_push(kinds->arena, &kinds->kinds, kind);
    (void)list_add(kinds->arena, &kinds->spellings);
    return kind;
}

/* kind = "kind" NAME "is" PARENT { line } ; the kind `part` has no parent */
static void read_kind(Reader *r, const LoreEntry *entry) {
    Token name, parent;
    if (!take_name(r, "the kind's name", &name)) return;
    const BenchKind *above = r->kinds->kinds.at[0];
    r->kind = r->kinds->kinds.at[0];
    if (!text_is(name.text, "part")) {
        uint32_t column = lex_peek(&r->lexer).column;
        if (!lex_take_if(&r->lexer, "is")) {
            problem(r, column, TEXT("its parent is missing"), "`is` and a kind, as in `kind npn is bipolar`");
            return;
        }
        if (!take_name(r, "a kind", &parent)) return;
        above = bench_kind(r->kinds, parent.text);
        if (above == NULL) {
            problem(r, parent.column, quoted(r, "no kind above here is called ", parent.text, ""),
                    "`part` or a kind read before");
            return;
        }
        if (bench_kind(r->kinds, name.text) != NULL) {
            problem(r, name.column, quoted(r, "there is a kind ", name.text, " already"), "another name");
            return;
        }
        r->kind = add_kind(r->kinds, name.text, above);
        enter(r, &r->kinds->words, name.text, false);
    }
    expect_end(r);
    for (uint32_t i = 0; i < entry->line_count; i++) {
        r->line = &entry->lines[i];
        read_line(r);
    }
}

BenchKinds *bench_kinds_new(Arena *arena, Lore *lore) {
    BenchKinds *kinds = arena_one(arena, BenchKinds);
    kinds->arena = arena;
    kinds->words.names = names_new(arena), kinds->letters.names = names_new(arena),
    kinds->property_names = names_new(arena);
    kinds->grounds = names_new(arena), kinds->supplies = names_new(arena), kinds->pads = names_new(arena);
    Reader reader = {.kinds = kinds, .lore = lore, .builtin = true};
    reader.kind = add_kind(kinds, TEXT("part"), NULL);
    enter(&reader, &kinds->words, TEXT("part"), false);
    for (int pass = 0; pass < 2; pass++)
        for (uint32_t i = 0; i < lore->entries.count; i++) {
            const LoreEntry *entry = &lore->entries.at[i];
            reader.builtin = entry->builtin;
            reader.line = &entry->head;
            reader.lexer = lore_lexer(&entry->head);
            if (pass == 1 && text_is(entry->head.word, "kind")) read_kind(&reader, entry);
            if (pass == 1) continue;
            if (text_is(entry->head.word, "rails")) read_rails(&reader, entry);
            if (text_is(entry->head.word, "pads")) read_names(&reader, kinds->pads);
            if (text_is(entry->head.word, "property")) read_declaration(&reader);
            if (text_is(entry->head.word, "weight")) read_weight(&reader);
        }
    return kinds;
}
