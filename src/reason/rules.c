/* Reading `idiom`, `capability` and `hazard` entries into rules (the lines: rule_lines.c; the shape: compile.c). A rule with
 * a bad line is left out as a whole, since half a rule would find what is not there. */
#include "reason/rule.h"

static const Text BLOCKS[] = {TEXT_INIT("power"),  TEXT_INIT("protection"), TEXT_INIT("conversion"), TEXT_INIT("clock"),
                              TEXT_INIT("control"), TEXT_INIT("memory"),    TEXT_INIT("input"),      TEXT_INIT("light"),
                              TEXT_INIT("sound"),  TEXT_INIT("motion"),     TEXT_INIT("output"),     TEXT_INIT("radio"),
                              TEXT_INIT("interface")};

static const double PRIOR_UNSAID = 0.9; /* doc/lore.md: rule of thumb */

const Text *reason_blocks(size_t *count) {
    *count = sizeof BLOCKS / sizeof BLOCKS[0];
    return BLOCKS;
}

/* Roles come first, then values, so that a text may speak of them from anywhere in the entry. */
static int pass_of(Text word) {
    if (text_is(word, "needs") || text_is(word, "maybe") || text_is(word, "every") || text_is(word, "no")) return 0;
    return text_is(word, "gives") ? 1 : 2;
}

static void read_lines(RuleReader *reader) {
    const LoreEntry *entry = reader->rule->entry;
    for (int pass = 0; pass < 3; pass++) {
        reader->way = reader->rule->way_count = 0;
        for (uint32_t i = 0; i < entry->line_count && !reader->failed; i++) {
            Text word = entry->lines[i].word;
            if (text_is(word, "way") || pass_of(word) == pass) rule_line(reader, &entry->lines[i]);
        }
    }
    reader->way = 0;
}

/* `Low-side switch, bipolar` to `low-side-switch-bipolar` */
static Text slug_of(Arena *arena, Text name) {
    Out out = out_new(arena);
    for (size_t i = 0; i < name.len; i++) {
        char c = name.at[i];
        if (c >= 'A' && c <= 'Z') c = (char)(c - 'A' + 'a');
        bool plain = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
        if (plain)
            out_char(&out, c);
        else if (out.len > 0 && out.at[out.len - 1] != '-')
            out_char(&out, '-');
    }
    while (out.len > 0 && out.at[out.len - 1] == '-') out.len--;
    return out_text(&out);
}

/* Bound in every find of this way? */
static bool always_there(const Rule *rule, uint32_t role, uint32_t way) {
    const RuleDeclares *declared = role == BENCH_NONE ? NULL : rule_declares(rule, role, way);
    return declared != NULL && rule->groups[declared->group].sort != GROUP_MAYBE;
}

static bool always_sayable(const Rule *rule, const RuleText *text, uint32_t way) {
    bool sayable = text->when == NULL && (text->way == 0 || text->way == way);
    for (uint32_t k = 0; k < text->word_count && sayable; k++) {
        const Words *w = &text->words[k];
        sayable = w->op == WORDS_TEXT || ((w->op == WORDS_ROLE || w->op == WORDS_PIN || w->op == WORDS_NET || w->op == WORDS_COUNT) &&
                                          always_there(rule, w->role, way));
    }
    return sayable;
}

/* A rule that could stay silent would make a claim without words. */
static void check_whole(RuleReader *reader) {
    const Rule *rule = reader->rule;
    lex_start(&reader->lexer, rule->entry->head.text);
    reader->line = &rule->entry->head;
    for (uint32_t way = 0; way < rule->way_count && !reader->failed; way++) {
        bool sayable = false;
        for (uint32_t i = 0; i < rule->says.count; i++)
            sayable = sayable || always_sayable(rule, &rule->says.at[i], rule->ways[way]->way);
        if (!sayable)
            rule_problem(reader, TEXT("nothing can be said when values are unknown"),
                         TEXT("a last `says` without a condition, values or maybe roles"), TEXT(""));
    }
    if (rule->sort == REASON_IDIOM && rule->block.len == 0)
        rule_problem(reader, TEXT("this idiom is in no block"), TEXT("block power, light, sound ..."), TEXT(""));
    if (rule->sort == REASON_HAZARD && rule->severity == 0)
        rule_problem(reader, TEXT("this hazard has no severity"), TEXT("severity 1 to 9"), TEXT(""));
    if (rule->sort == REASON_CAPABILITY && !rule->concludes)
        rule_problem(reader, TEXT("this capability concludes nothing"), TEXT("concludes ROLE \"...\""), TEXT(""));
}

static void read_rule(ReasonRules *rules, Lore *lore, const LoreEntry *entry, ReasonSort sort) {
    Rule *rule = arena_one(rules->arena, Rule);
    RuleReader reader = {.arena = rules->arena, .lore = lore, .kinds = rules->kinds, .rule = rule, .line = &entry->head};
    *rule = (Rule){.sort = sort, .entry = entry, .group_count = 1, .prior = decibans_of_probability(PRIOR_UNSAID)};
    reader.lexer = lore_lexer(&entry->head);
    rule->name = rule_string(&reader, "the entry's name");
    rule->slug = slug_of(rules->arena, rule->name);
    if (!reader.failed) read_lines(&reader);
    if (!reader.failed) rule_compile(&reader);
    if (!reader.failed) check_whole(&reader);
    if (!reader.failed) list_push(rules->arena, &rules->rules, rule);
}

typedef struct NameCheck {
    Arena *arena;
    Lore *lore;
    Names *names;
    const LoreLine *line;
} NameCheck;

static void check_name(NameCheck *check, Text name) {
    if (names_find(check->names, name) != NAME_NONE) return;
    LIST(Text) known = {0};
    for (uint32_t i = 0; i < names_count(check->names); i++) list_push(check->arena, &known, names_text(check->names, i));
    Text near = text_nearest(name, known.at, known.count);
    lore_problem(check->lore, check->line, 0, text_fmt(check->arena, "there is no idiom \"%.*s\"", TEXT_ARG(name)),
                 TEXT("the name of an entry"),
                 near.len == 0 ? near : text_fmt(check->arena, "did you mean \"%.*s\"?", TEXT_ARG(near)));
}

static void ignore_leaf(void *of, const Formula *leaf) { (void)of, (void)leaf; }

static void check_found(void *of, const Condition *fact) {
    if (fact->op == CONDITION_FOUND) check_name(of, fact->name);
}

/* `over` and `found` must name rules that there are: a misspelling would silently never hold. */
static void check_names(ReasonRules *rules, Lore *lore) {
    NameCheck check = {.arena = rules->arena, .lore = lore, .names = names_new(rules->arena)};
    for (uint32_t i = 0; i < rules->rules.count; i++) names_add(check.names, rules->rules.at[i]->name);
    for (uint32_t i = 0; i < rules->rules.count; i++) {
        const Rule *rule = rules->rules.at[i];
        check.line = &rule->entry->head;
        for (uint32_t k = 0; k < rule->over.count; k++) check_name(&check, rule->over.at[k]);
        for (uint32_t k = 0; k < rule->where.count; k++) condition_leaves(rule->where.at[k].when, ignore_leaf, check_found, &check);
        const RuleTexts *texts[] = {&rule->says, &rule->speaks, &rule->warns, &rule->spares, &rule->asks, &rule->cautions};
        for (size_t t = 0; t < sizeof texts / sizeof texts[0]; t++)
            for (uint32_t k = 0; k < texts[t]->count; k++) {
                check.line = texts[t]->at[k].line;
                condition_leaves(texts[t]->at[k].when, ignore_leaf, check_found, &check);
            }
    }
}

ReasonRules *reason_rules_new(Arena *arena, Lore *lore, const BenchKinds *kinds) {
    ReasonRules *rules = arena_one(arena, ReasonRules);
    rules->arena = arena;
    rules->kinds = kinds;
    for (uint32_t i = 0; i < lore->entries.count; i++) {
        const LoreEntry *entry = &lore->entries.at[i];
        if (text_is(entry->head.word, "idiom")) read_rule(rules, lore, entry, REASON_IDIOM);
        if (text_is(entry->head.word, "capability")) read_rule(rules, lore, entry, REASON_CAPABILITY);
        if (text_is(entry->head.word, "hazard")) read_rule(rules, lore, entry, REASON_HAZARD);
    }
    check_names(rules, lore);
    return rules;
}

uint32_t reason_rule_count(const ReasonRules *rules) { return rules->rules.count; }
Text reason_rule_name(const ReasonRules *rules, uint32_t rule) { return rules->rules.at[rule]->name; }

Text reason_rule_sort(const ReasonRules *rules, uint32_t rule) {
    static const char *const sorts[] = {"idiom", "capability", "hazard"};
    return text_of(sorts[rules->rules.at[rule]->sort]);
}
