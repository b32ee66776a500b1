/* A rule as compiled from its entry. For this room only. */
#ifndef UNPICK_REASON_RULE_H
#define UNPICK_REASON_RULE_H

#include "reason/formula.h"
#include "reason/pattern.h"
#include "reason/reason.h"

/* A piece of a `says`: literal text, or what stood in braces. */
typedef enum WordsOp { WORDS_TEXT, WORDS_ROLE, WORDS_PIN, WORDS_NET, WORDS_VALUE, WORDS_RANGE, WORDS_COUNT, WORDS_GIVEN, WORDS_GIVEN_RANGE } WordsOp;

typedef struct Words {
    WordsOp op;
    Text text; /* literal, or the pin's name */
    uint32_t role;
    uint32_t given;
} Words;

typedef struct RuleText {
    const LoreLine *line;
    const Condition *when; /* NULL: always */
    const Words *words;    /* size word_count */
    uint32_t word_count;
    double decibans; /* of speaks */
    uint32_t way;    /* 0: in all ways */
} RuleText;

typedef LIST(RuleText) RuleTexts;

typedef struct RuleGiven {
    Text name, written, source;
    const Formula *formula;
    uint32_t way;
} RuleGiven;

typedef struct RuleWhere {
    const Condition *when;
    uint32_t group; /* 0: of the whole find; else each member of this group must fulfil it */
    uint32_t way;
    bool after;     /* asks for counts or maybe roles: decided when the groups are known */
} RuleWhere;

typedef struct RuleRole {
    uint32_t role;
    Text pin, says;
    uint32_t way;
} RuleRole;

/* What one needs, maybe, every or no line says of a role; the same name may stand in several ways. */
typedef struct RuleDeclares {
    uint32_t role, group, way;
    const BenchKind *kind;
    bool aside;
} RuleDeclares;

typedef struct Rule {
    ReasonSort sort;
    const LoreEntry *entry;
    Text name, slug, block;
    int severity;
    double prior; /* decibans */
    Text roles[ROLES_MOST];
    uint32_t role_count;
    LIST(RuleDeclares) declares;
    PatternGroup groups[GROUPS_MOST]; /* 0: needs */
    uint32_t group_count;
    Pattern *ways[WAYS_MOST]; /* size way_count >= 1 */
    uint32_t way_count;
    LIST(Text) over;
    LIST(RuleWhere) where;
    LIST(RuleGiven) gives;
    RuleTexts says, speaks, warns, spares, asks, cautions;
    LIST(RuleRole) pin_roles;
    bool concludes;
    uint32_t conclude_role;
    Text conclusion;
    bool asks_found; /* a `where` asks for other idioms: matched after them */
    Text source;
} Rule;

struct ReasonRules {
    Arena *arena;
    const BenchKinds *kinds;
    LIST(Rule *) rules;
};

/* While an entry is read. */
typedef struct RuleReader {
    Arena *arena;
    Lore *lore;
    const BenchKinds *kinds;
    Rule *rule;
    const LoreLine *line;
    Lexer lexer;
    uint32_t way; /* lines now belong to this one; 0: to all */
    bool failed;
} RuleReader;

/* Reads one line into the rule; `failed` when it can't be understood. */
void rule_line(RuleReader *reader, const LoreLine *line);
Text rule_string(RuleReader *reader, const char *what); /* takes a string; `what` it should be, for the problem */
void rule_problem(RuleReader *reader, Text message, Text expected, Text hint); /* at the next token */
int rule_role(const Rule *rule, Text name); /* -1 when there is none */
/* What is declared of a role in a way (0: in the first way that has it); NULL when the way lacks it. */
const RuleDeclares *rule_declares(const Rule *rule, uint32_t role, uint32_t way);
FormulaReader rule_formula_reader(RuleReader *reader);

/* words.c: "{Q} switches {LOAD}" into pieces. */
bool words_read(RuleReader *reader, RuleText *text, Text template);
/* compile.c: the patterns of all ways, once every line was looked at. */
bool rule_compile(RuleReader *reader);

#endif
