/* The lines of a rule, one function a kind of line, its grammar above it. rules.c says in which order they are read. */
#include "reason/rule.h"

#include <math.h>

void rule_problem(RuleReader *reader, Text message, Text expected, Text hint) {
    lore_problem(reader->lore, reader->line, lex_peek(&reader->lexer).column, message, expected, hint);
    reader->failed = true;
}

int rule_role(const Rule *rule, Text name) {
    for (uint32_t i = 0; i < rule->role_count; i++)
        if (text_same(rule->roles[i], name)) return (int)i;
    return -1;
}

const RuleDeclares *rule_declares(const Rule *rule, uint32_t role, uint32_t way) {
    for (uint32_t i = 0; i < rule->declares.count; i++) {
        const RuleDeclares *at = &rule->declares.at[i];
        if (at->role == role && (way == 0 || at->way == 0 || at->way == way)) return at;
    }
    return NULL;
}

static int scope_role(void *of, Text name, const BenchKind **kind, bool *group) {
    const RuleReader *reader = of;
    int role = rule_role(reader->rule, name);
    const RuleDeclares *declared = role < 0 ? NULL : rule_declares(reader->rule, (uint32_t)role, reader->way);
    if (declared == NULL) return -1;
    *kind = declared->kind;
    *group = reader->rule->groups[declared->group].sort == GROUP_EVERY;
    return role;
}

/* All `gives` of this name so far, as alternatives in their order. */
static const Formula *scope_given(void *of, Text name) {
    const RuleReader *reader = of;
    Formula *chain = NULL;
    for (uint32_t i = reader->rule->gives.count; i-- > 0;) {
        const RuleGiven *given = &reader->rule->gives.at[i];
        if (!text_same(given->name, name) || (reader->way != 0 && given->way != 0 && given->way != reader->way)) continue;
        Formula *link = arena_one(reader->arena, Formula);
        *link = (Formula){
            .op = FORMULA_GIVEN, .unit = given->formula->unit, .way = given->way, .a = given->formula, .b = chain};
        chain = link;
    }
    return chain;
}

FormulaReader rule_formula_reader(RuleReader *reader) {
    return (FormulaReader){.arena = reader->arena,
                           .lore = reader->lore,
                           .line = reader->line,
                           .lexer = &reader->lexer,
                           .kinds = reader->kinds,
                           .scope = {reader, scope_role, scope_given}};
}

Text rule_string(RuleReader *reader, const char *what) {
    if (lex_peek(&reader->lexer).kind != LEX_STRING) {
        rule_problem(reader, TEXT("no text here"), text_fmt(reader->arena, "%s in quotes", what), TEXT(""));
        return TEXT("");
    }
    return lex_string(reader->arena, lex_take(&reader->lexer));
}

static uint32_t add_group(RuleReader *reader, GroupSort sort) {
    Rule *rule = reader->rule;
    if (rule->group_count == GROUPS_MOST) {
        rule_problem(reader, TEXT("too many maybe, every and no lines"), TEXT("11 at most"), TEXT(""));
        return 0;
    }
    rule->groups[rule->group_count] = (PatternGroup){.sort = sort, .at_least = 1, .way = reader->way};
    return rule->group_count++;
}

static void unknown_kind(RuleReader *reader, Text word) {
    LIST(Text) names = {0};
    for (uint32_t i = 0; i < bench_kind_count(reader->kinds); i++)
        list_push(reader->arena, &names, bench_kind_at(reader->kinds, i)->name);
    Text near = text_nearest(word, names.at, names.count);
    rule_problem(reader, text_fmt(reader->arena, "unknown kind \"%.*s\"", TEXT_ARG(word)), TEXT("a kind of lore/kinds.lore"),
                 near.len == 0 ? near : text_fmt(reader->arena, "did you mean \"%.*s\"?", TEXT_ARG(near)));
}

/* A role's number by name, new or declared in another way; -1 when the name can't be used here. */
static int role_number(RuleReader *reader, Token name) {
    Rule *rule = reader->rule;
    int role = rule_role(rule, name.text);
    bool taken = false;
    for (uint32_t i = 0; role >= 0 && i < rule->declares.count; i++) {
        uint32_t way = rule->declares.at[i].way;
        taken = taken || (rule->declares.at[i].role == (uint32_t)role && (way == 0 || reader->way == 0 || way == reader->way));
    }
    if (name.kind != LEX_WORD || text_find(name.text, TEXT(".")) != SIZE_MAX || taken ||
        (role < 0 && rule->role_count == ROLES_MOST)) {
        lore_problem(reader->lore, reader->line, name.column, TEXT("this can't name a role"),
                     TEXT("a word without a dot, not used before; 24 roles at most"), TEXT(""));
        reader->failed = true;
        return -1;
    }
    if (role < 0) rule->roles[role = (int)rule->role_count++] = name.text;
    return role;
}

/* role = ROLE KIND [ "aside" ] */
static void role_pair(RuleReader *reader, uint32_t group) {
    Rule *rule = reader->rule;
    int role = role_number(reader, lex_take(&reader->lexer));
    if (role < 0) return;
    Token word = lex_peek(&reader->lexer);
    const BenchKind *kind = word.kind == LEX_WORD ? bench_kind(reader->kinds, word.text) : NULL;
    if (kind == NULL) {
        unknown_kind(reader, word.text);
        return;
    }
    lex_take(&reader->lexer);
    RuleDeclares made = {(uint32_t)role, group, reader->way, kind, lex_take_if(&reader->lexer, "aside")};
    list_push(reader->arena, &rule->declares, made);
    PatternGroup *into = &rule->groups[group];
    into->roles[into->role_count++] = (uint32_t)role;
}

/* needs = "needs" role ; a way's own needs stand in a group of their own, which compile.c adds to the main part */
static void line_needs(RuleReader *reader) {
    Rule *rule = reader->rule;
    uint32_t group = 0;
    while (group < rule->group_count && !(rule->groups[group].sort == GROUP_NEEDS && rule->groups[group].way == reader->way))
        group++;
    if (group == rule->group_count) group = add_group(reader, GROUP_NEEDS);
    if (!reader->failed) role_pair(reader, group);
}

/* group = ( "maybe" | "every" | "no" ) role { role } [ "at" "least" N ] */
static void line_group(RuleReader *reader, GroupSort sort) {
    uint32_t group = add_group(reader, sort);
    do role_pair(reader, group);
    while (!reader->failed && !lex_at_end(&reader->lexer) && !lex_is(&reader->lexer, "at"));
    if (reader->failed || !lex_take_if(&reader->lexer, "at")) return;
    Quantity n;
    if (sort != GROUP_EVERY || !lex_take_if(&reader->lexer, "least") || !lex_take_quantity(&reader->lexer, &n, NULL) ||
        n.value < 0 || n.value > 1000 || n.value != floor(n.value))
        rule_problem(reader, TEXT("unclear count"), TEXT("every ROLE KIND at least N"), TEXT(""));
    else
        reader->rule->groups[group].at_least = (uint32_t)n.value;
}

/* text = [ "if" condition ] ":" "text" | "text" */
static void line_text(RuleReader *reader, RuleTexts *into, double decibans) {
    RuleText text = {.line = reader->line, .decibans = decibans, .way = reader->way};
    if (lex_take_if(&reader->lexer, "if")) {
        FormulaReader formulas = rule_formula_reader(reader);
        if ((text.when = condition_read(&formulas)) == NULL) {
            reader->failed = true;
            return;
        }
        if (!lex_is(&reader->lexer, ":")) {
            rule_problem(reader, TEXT("the condition breaks off here"), TEXT("and, or, or : and the text"), TEXT(""));
            return;
        }
    }
    lex_take_if(&reader->lexer, ":");
    Text template = rule_string(reader, "what is said");
    if (!reader->failed && words_read(reader, &text, template)) list_push(reader->arena, into, text);
}

/* speaks = "speaks" ["+"|"-"] N "dB" text */
static void line_speaks(RuleReader *reader) {
    Token number = lex_peek(&reader->lexer);
    Quantity n;
    if (number.kind != LEX_WORD || quantity_parse(number.text, &n) != number.text.len || fabs(n.value) > 60) {
        rule_problem(reader, TEXT("no weight here"), TEXT("a weight in decibans such as +6 dB"), TEXT(""));
        return;
    }
    lex_take(&reader->lexer);
    if (!lex_take_if(&reader->lexer, "dB"))
        rule_problem(reader, TEXT("no unit here"), TEXT("dB"), TEXT(""));
    else
        line_text(reader, &reader->rule->speaks, n.value);
}

/* gives = "gives" NAME "=" formula [ "source" ] */
static void line_gives(RuleReader *reader) {
    RuleGiven given = {.name = lex_take(&reader->lexer).text, .way = reader->way};
    if (!lex_take_if(&reader->lexer, "=")) {
        rule_problem(reader, TEXT("no formula here"), TEXT("gives NAME = FORMULA"), TEXT(""));
        return;
    }
    uint32_t start = lex_peek(&reader->lexer).column - 1;
    FormulaReader formulas = rule_formula_reader(reader);
    if ((given.formula = formula_read(&formulas)) == NULL) {
        reader->failed = true;
        return;
    }
    const Formula *before = scope_given(reader, given.name);
    if (before != NULL && !unit_same(before->unit, given.formula->unit)) {
        rule_problem(reader, text_fmt(reader->arena, "\"%.*s\" has another unit above", TEXT_ARG(given.name)),
                     TEXT("the same unit for one name"), TEXT(""));
        return;
    }
    given.written = text_trim(text_sub(reader->line->text, start, lex_peek(&reader->lexer).column - 1 - start));
    if (!lex_at_end(&reader->lexer)) given.source = rule_string(reader, "the source");
    list_push(reader->arena, &reader->rule->gives, given);
}

typedef struct WhereLook {
    const Rule *rule;
    RuleWhere *where;
    bool found;
} WhereLook;

static void where_role(WhereLook *look, uint32_t role) {
    uint32_t group = rule_declares(look->rule, role, look->where->way)->group;
    GroupSort sort = look->rule->groups[group].sort;
    if (sort == GROUP_MAYBE || sort == GROUP_NO || sort == GROUP_EVERY) look->where->group = group;
}

static void where_fact(void *of, const Condition *fact) {
    WhereLook *look = of;
    if (fact->op == CONDITION_FOUND) look->found = true;
    if (fact->op == CONDITION_PRESENT) {
        look->where->after = true;
        return;
    }
    for (uint32_t i = 0; i < fact->role_count; i++) where_role(look, fact->roles[i]);
}

static void where_leaf(void *of, const Formula *leaf) {
    WhereLook *look = of;
    if (leaf->op == FORMULA_COUNT || leaf->op == FORMULA_SUM || leaf->op == FORMULA_PARALLEL)
        look->where->after = true;
    else if (leaf->op != FORMULA_RAIL && leaf->op != FORMULA_RATED)
        where_role(look, leaf->role);
}

/* where = "where" condition ; roles of a group are spoken of singly here: each member must fulfil it */
static void line_where(RuleReader *reader) {
    RuleWhere where = {.way = reader->way};
    FormulaReader formulas = rule_formula_reader(reader);
    formulas.members = true;
    if ((where.when = condition_read(&formulas)) == NULL) {
        reader->failed = true;
        return;
    }
    WhereLook look = {.rule = reader->rule, .where = &where};
    condition_leaves(where.when, where_leaf, where_fact, &look);
    if (where.after) where.group = 0;
    if (look.found) reader->rule->asks_found = true;
    list_push(reader->arena, &reader->rule->where, where);
}

/* role = "role" ROLE.PIN "what it must be" */
static void line_role(RuleReader *reader) {
    Token pin = lex_take(&reader->lexer);
    size_t dot = text_find(pin.text, TEXT("."));
    int role = dot == SIZE_MAX ? -1 : rule_role(reader->rule, text_sub(pin.text, 0, dot));
    if (role < 0) {
        rule_problem(reader, TEXT("no pin here"), TEXT("role ROLE.PIN \"what it must be\""), TEXT(""));
        return;
    }
    RuleRole made = {(uint32_t)role, text_sub(pin.text, dot + 1, pin.text.len), rule_string(reader, "what the pin must be"),
                     reader->way};
    list_push(reader->arena, &reader->rule->pin_roles, made);
}

/* concludes = "concludes" ROLE "what follows" */
static void line_concludes(RuleReader *reader) {
    int role = rule_role(reader->rule, lex_peek(&reader->lexer).text);
    if (role < 0) {
        rule_problem(reader, TEXT("no role here"), TEXT("concludes ROLE \"...\""), TEXT(""));
        return;
    }
    lex_take(&reader->lexer);
    reader->rule->concludes = true;
    reader->rule->conclude_role = (uint32_t)role;
    reader->rule->conclusion = rule_string(reader, "the conclusion");
}

/* prior = "prior" N% */
static void line_prior(RuleReader *reader) {
    Quantity q;
    if (!lex_take_quantity(&reader->lexer, &q, NULL) || q.value <= 0 || q.value >= 1)
        rule_problem(reader, TEXT("no probability here"), TEXT("more than 0% and less than 100%"), TEXT(""));
    else
        reader->rule->prior = decibans_of_probability(q.value);
}

static void line_severity(RuleReader *reader) {
    Quantity q;
    if (!lex_take_quantity(&reader->lexer, &q, NULL) || q.value < 1 || q.value > 9)
        rule_problem(reader, TEXT("no severity here"), TEXT("1 to 9"), TEXT(""));
    else
        reader->rule->severity = (int)q.value;
}

static void line_block(RuleReader *reader) {
    size_t count;
    const Text *blocks = reason_blocks(&count);
    Token word = lex_peek(&reader->lexer);
    for (size_t i = 0; i < count; i++)
        if (text_same(word.text, blocks[i])) {
            reader->rule->block = lex_take(&reader->lexer).text;
            return;
        }
    Text near = text_nearest(word.text, blocks, count);
    rule_problem(reader, TEXT("unknown block"),
                 TEXT("power protection conversion clock control memory input light sound motion output radio interface"),
                 near.len == 0 ? near : text_fmt(reader->arena, "did you mean \"%.*s\"?", TEXT_ARG(near)));
}

static void line_over(RuleReader *reader) {
    while (!reader->failed && !lex_at_end(&reader->lexer)) {
        list_push(reader->arena, &reader->rule->over, rule_string(reader, "an idiom's name"));
        lex_take_if(&reader->lexer, ",");
    }
}

static void line_way(RuleReader *reader) {
    if (reader->rule->way_count == WAYS_MOST) {
        rule_problem(reader, TEXT("too many ways"), TEXT("8 at most"), TEXT(""));
        return;
    }
    if (!lex_at_end(&reader->lexer)) rule_string(reader, "the way's name");
    reader->way = ++reader->rule->way_count;
}

typedef struct LineWord {
    const char *word;
    void (*read)(RuleReader *reader);
} LineWord;

static void line_maybe(RuleReader *r) { line_group(r, GROUP_MAYBE); }
static void line_every(RuleReader *r) { line_group(r, GROUP_EVERY); }
static void line_no(RuleReader *r) { line_group(r, GROUP_NO); }
static void line_says(RuleReader *r) { line_text(r, &r->rule->says, 0); }
static void line_warns(RuleReader *r) { line_text(r, &r->rule->warns, 0); }
static void line_spares(RuleReader *r) { line_text(r, &r->rule->spares, 0); }
static void line_asks(RuleReader *r) { line_text(r, &r->rule->asks, 0); }
static void line_caution(RuleReader *r) { line_text(r, &r->rule->cautions, 0); }
static void line_source(RuleReader *r) { r->rule->source = rule_string(r, "the source"); }
/* Read by compile.c, when all roles are known. */
static void line_later(RuleReader *r) { r->lexer.next.kind = LEX_END; }

static const LineWord LINE_WORDS[] = {
    {"needs", line_needs},     {"maybe", line_maybe},       {"every", line_every},   {"no", line_no},
    {"joined", line_later},    {"apart", line_later},       {"way", line_way},       {"where", line_where},
    {"over", line_over},       {"gives", line_gives},       {"says", line_says},     {"speaks", line_speaks},
    {"warns", line_warns},     {"spares", line_spares},     {"asks", line_asks},     {"caution", line_caution},
    {"role", line_role},       {"concludes", line_concludes}, {"prior", line_prior}, {"severity", line_severity},
    {"block", line_block},     {"source", line_source},
};
enum { LINE_WORD_COUNT = sizeof LINE_WORDS / sizeof LINE_WORDS[0] };

static void unknown_line(RuleReader *reader) {
    Text words[LINE_WORD_COUNT], word = reader->line->word;
    for (size_t i = 0; i < LINE_WORD_COUNT; i++) words[i] = text_of(LINE_WORDS[i].word);
    Text near = text_nearest(word, words, LINE_WORD_COUNT);
    lex_start(&reader->lexer, reader->line->text);
    rule_problem(reader, text_fmt(reader->arena, "unknown line \"%.*s\"", TEXT_ARG(word)),
                 TEXT("needs, joined, says or another word of doc/lore.md"),
                 near.len == 0 ? near : text_fmt(reader->arena, "did you mean \"%.*s\"?", TEXT_ARG(near)));
}

void rule_line(RuleReader *reader, const LoreLine *line) {
    reader->line = line;
    reader->lexer = lore_lexer(line);
    for (size_t i = 0; i < LINE_WORD_COUNT; i++) {
        if (!text_is(line->word, LINE_WORDS[i].word)) continue;
        LINE_WORDS[i].read(reader);
        if (!reader->failed && !lex_at_end(&reader->lexer))
            rule_problem(reader, TEXT("more than this line takes"), TEXT("the end of the line"), TEXT(""));
        return;
    }
    unknown_line(reader);
}
