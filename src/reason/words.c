/* The texts of a rule: "{Q} switches {LOAD}" cut into pieces when read, so that a misspelt name is found then. */
#include "reason/rule.h"

static bool piece_problem(RuleReader *reader, Text inside) {
    rule_problem(reader, text_fmt(reader->arena, "\"{%.*s}\" is nothing that can be said", TEXT_ARG(inside)),
                 TEXT("{ROLE}, {ROLE.PIN}, {ROLE.PIN net}, {ROLE value}, {ROLE count}, {GIVEN}, {GIVEN range}, {supply} or {ground}"),
                 TEXT(""));
    return false;
}

static int given_of(const Rule *rule, Text name) {
    for (uint32_t i = 0; i < rule->gives.count; i++)
        if (text_same(rule->gives.at[i].name, name)) return (int)i;
    return -1;
}

/* piece = ROLE [ "value" | "count" ] | ROLE.PIN [ "net" ] | GIVEN [ "range" ] | "supply" | "ground" */
static bool read_piece(RuleReader *reader, Text inside, Words *piece) {
    size_t blank = text_find(inside, TEXT(" "));
    Text name = text_sub(inside, 0, blank), how = text_trim(text_sub(inside, blank == SIZE_MAX ? inside.len : blank, inside.len));
    size_t dot = text_find(name, TEXT("."));
    const Rule *rule = reader->rule;
    *piece = (Words){0};
    if (text_is(inside, "supply") || text_is(inside, "ground")) {
        *piece = (Words){.op = WORDS_NET, .text = inside, .role = BENCH_NONE};
        return true;
    }
    int given = given_of(rule, name);
    if (given >= 0 && (how.len == 0 || text_is(how, "range"))) {
        *piece = (Words){.op = how.len == 0 ? WORDS_GIVEN : WORDS_GIVEN_RANGE, .given = (uint32_t)given};
        return true;
    }
    int role = rule_role(rule, text_sub(name, 0, dot));
    if (role < 0) return piece_problem(reader, inside);
    piece->role = (uint32_t)role;
    const RuleDeclares *declared = rule_declares(rule, (uint32_t)role, reader->way);
    if (declared == NULL) return piece_problem(reader, inside);
    bool group = rule->groups[declared->group].sort == GROUP_EVERY;
    if (dot != SIZE_MAX) {
        piece->op = text_is(how, "net") ? WORDS_NET : WORDS_PIN;
        piece->text = text_sub(name, dot + 1, name.len);
        return (how.len == 0 || text_is(how, "net")) && !group ? true : piece_problem(reader, inside);
    }
    piece->op = how.len == 0            ? WORDS_ROLE
                : text_is(how, "value") ? WORDS_VALUE
                : text_is(how, "range") ? WORDS_RANGE
                                        : WORDS_COUNT;
    if (piece->op == WORDS_COUNT && (!text_is(how, "count") || !group)) return piece_problem(reader, inside);
    if ((piece->op == WORDS_VALUE || piece->op == WORDS_RANGE) && group) return piece_problem(reader, inside);
    return true;
}

bool words_read(RuleReader *reader, RuleText *text, Text template) {
    LIST(Words) pieces = {0};
    while (template.len > 0) {
        size_t open = text_find(template, TEXT("{"));
        Text literal = text_sub(template, 0, open);
        if (literal.len > 0) list_push(reader->arena, &pieces, ((Words){.op = WORDS_TEXT, .text = literal}));
        if (open == SIZE_MAX) break;
        template = text_sub(template, open + 1, template.len);
        size_t close = text_find(template, TEXT("}"));
        if (close == SIZE_MAX) return piece_problem(reader, template);
        Words *piece = list_add(reader->arena, &pieces);
        if (!read_piece(reader, text_sub(template, 0, close), piece)) return false;
        template = text_sub(template, close + 1, template.len);
    }
    text->words = pieces.at;
    text->word_count = pieces.count;
    return true;
}
