/* Reads the `damage` entries (their language stands at the head of lore/parts-damage.lore) and compares packages by them.
 */
#include "shelf/damage.h"

#include <math.h>

static const Text SLIP_NAMES[SLIP_COUNT] = {
    TEXT_INIT("right"),     TEXT_INIT("alike"),        TEXT_INIT("change"),   TEXT_INIT("missing"),
    TEXT_INIT("extra"),     TEXT_INIT("prefix"),       TEXT_INIT("ending"),   TEXT_INIT("ending-letter"),
    TEXT_INIT("body-fits"), TEXT_INIT("body-differs"), TEXT_INIT("pins-fit"), TEXT_INIT("pins-differ"),
};

enum { WEIGHT_MOST = 100, BODIES_MOST = 1000 }; /* decibans; spellings of packages */

static char capital(char c) { return c >= 'a' && c <= 'z' ? (char)(c - 'a' + 'A') : c; }

/* weighs = "weighs" slip decibans "dB" string */
static void read_weight(Damage *damage, Lore *lore, const LoreLine *line) {
    Lexer lexer = lore_lexer(line);
    Token name = lex_take(&lexer);
    Quantity weight;
    int slip = 0;
    while (slip < SLIP_COUNT && !text_same(name.text, SLIP_NAMES[slip])) slip++;
    if (slip == SLIP_COUNT) {
        Text nearest = text_nearest(name.text, SLIP_NAMES, SLIP_COUNT);
        Text hint = nearest.len == 0 ? nearest : text_fmt(lore->arena, "did you mean `%.*s`?", TEXT_ARG(nearest));
        lore_problem(lore, line, name.column, TEXT("no such slip"),
                     TEXT("right, alike, change, missing, extra, prefix, ..."), hint);
    } else if (!lex_take_quantity(&lexer, &weight, NULL) || !unit_same(weight.unit, UNIT_NONE) ||
               fabs(weight.value) > WEIGHT_MOST || !lex_take_if(&lexer, "dB")) {
        lore_problem(lore, line, lex_peek(&lexer).column, TEXT("this is no weight of evidence"),
                     TEXT("decibans from -100 to 100, such as -20 dB"), TEXT(""));
    } else {
        damage->weight[slip] = (int)lround(weight.value * 10);
    }
}

/* alike = "alike" string { string } */
static void read_alike(Damage *damage, Lore *lore, const LoreLine *line) {
    Lexer lexer = lore_lexer(line);
    while (!lex_at_end(&lexer)) {
        Token group = lex_take(&lexer);
        for (size_t i = 0; i < group.text.len; i++) {
            unsigned char c = (unsigned char)capital(group.text.at[i]), first = (unsigned char)capital(group.text.at[0]);
            if (c >= 0x80 || (damage->fold[c] != c && damage->fold[c] != first)) {
                lore_problem(lore, line, group.column,
                             TEXT("this character is in a group already, or is no letter or digit"),
                             TEXT("each character in one group"), TEXT(""));
                return;
            }
            damage->fold[c] = first;
        }
    }
}

/* bodies = "bodies" word { word } */
static void read_bodies(Damage *damage, Lore *lore, const LoreLine *line, uint32_t group) {
    Lexer lexer = lore_lexer(line);
    while (lex_peek(&lexer).kind == LEX_WORD && damage->body_count < BODIES_MOST) {
        Text word = lex_take(&lexer).text;
        damage->bodies[damage->body_count].word = word;
        damage->bodies[damage->body_count++].group = group;
    }
    if (!lex_at_end(&lexer))
        lore_problem(lore, line, lex_peek(&lexer).column, TEXT("this is no package"),
                     TEXT("spellings of one package, 1000 in all"), TEXT(""));
}

Damage *damage_new(Arena *arena, Lore *lore) {
    Damage *damage = arena_one(arena, Damage);
    damage->bodies = arena_take(arena, BODIES_MOST * sizeof *damage->bodies);
    for (int c = 0; c < 256; c++) damage->fold[c] = (unsigned char)c;
    for (uint32_t i = 0; i < lore->entries.count; i++) {
        const LoreEntry *entry = &lore->entries.at[i];
        if (!text_is(entry->head.word, "damage")) continue;
        for (uint32_t k = 0; k < entry->line_count; k++) {
            const LoreLine *line = &entry->lines[k];
            if (text_is(line->word, "weighs"))
                read_weight(damage, lore, line);
            else if (text_is(line->word, "alike"))
                read_alike(damage, lore, line);
            else if (text_is(line->word, "bodies"))
                read_bodies(damage, lore, line, line->line);
            else
                lore_problem(lore, line, 1, TEXT("a model of damage has no such line"), TEXT("weighs, alike or bodies"),
                             TEXT(""));
        }
    }
    return damage;
}

/* ---- packages ---- */

static bool same_but_hyphens(Text a, Text b) {
    size_t i = 0, j = 0;
    for (;;) {
        while (i < a.len && a.at[i] == '-') i++;
        while (j < b.len && b.at[j] == '-') j++;
        if (i == a.len || j == b.len) return i == a.len && j == b.len;
        if (capital(a.at[i++]) != capital(b.at[j++])) return false;
    }
}

static uint32_t group_of(const Damage *damage, Text word) {
    for (uint32_t i = 0; i < damage->body_count; i++)
        if (same_but_hyphens(damage->bodies[i].word, word)) return damage->bodies[i].group;
    return 0;
}

static bool same_word(const Damage *damage, Text a, Text b) {
    uint32_t group = group_of(damage, a);
    return same_but_hyphens(a, b) || (group != 0 && group == group_of(damage, b));
}

static Text without_number(Text package) {
    while (package.len > 0 && package.at[package.len - 1] >= '0' && package.at[package.len - 1] <= '9') package.len--;
    while (package.len > 0 && package.at[package.len - 1] == '-') package.len--;
    return package;
}

bool damage_same_body(const Damage *damage, Text a, Text b) {
    if (same_word(damage, a, b)) return true;
    Text stem_a = without_number(a), stem_b = without_number(b);
    if (stem_a.len == 0 || stem_b.len == 0) return false;
    Text rest_a = text_sub(a, stem_a.len, a.len), rest_b = text_sub(b, stem_b.len, b.len);
    return same_but_hyphens(rest_a, rest_b) && same_word(damage, stem_a, stem_b);
}
