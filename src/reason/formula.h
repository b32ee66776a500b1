/* Formulas and conditions of the lore: read once with their units checked, then computed for each find.
 *
 * This file knows neither boards nor rules: what a leaf is worth is asked of the caller. */
#ifndef UNPICK_REASON_FORMULA_H
#define UNPICK_REASON_FORMULA_H

#include "bench/kinds.h"

typedef enum FormulaOp {
    FORMULA_NUMBER,
    FORMULA_PI,
    /* leaves, worth what the caller says */
    FORMULA_ROLE,     /* the value of a role's part */
    FORMULA_VOLT,     /* v(role.pin) */
    FORMULA_RAIL,     /* v(supply), v(ground): name */
    FORMULA_CURRENT,  /* i(role), read */
    FORMULA_OHMS,     /* r(role), read */
    FORMULA_PROPERTY, /* name(role) */
    FORMULA_COUNT,
    FORMULA_SUM,
    FORMULA_PARALLEL,
    FORMULA_CELLS,
    FORMULA_PINS,     /* how many pins are on the net of role.pin; of a role alone: how many of its pins are noted */
    FORMULA_RATED,    /* of the product, in `unit` */
    /* inner nodes */
    FORMULA_GIVEN, /* an earlier `gives`: a, or where that is not known or of another way, the next alternative b */
    FORMULA_ADD,
    FORMULA_SUBTRACT,
    FORMULA_TIMES,
    FORMULA_OVER,
    FORMULA_POWER, /* exponent */
    FORMULA_NEGATE,
    FORMULA_SQRT,
    FORMULA_LN,
    FORMULA_EXP,
    FORMULA_ABS,
    FORMULA_MIN,
    FORMULA_MAX
} FormulaOp;

typedef struct Formula Formula;
struct Formula {
    FormulaOp op;
    Unit unit;
    Quantity number;
    uint32_t role; /* of leaves */
    uint32_t way;  /* of FORMULA_GIVEN: 0 holds in all ways */
    Text name;     /* pin, property or rail */
    int exponent;
    const Formula *a, *b;
};

typedef enum ConditionOp {
    CONDITION_COMPARE,
    CONDITION_KNOWN,
    CONDITION_AND,
    CONDITION_OR,
    CONDITION_NOT,
    /* facts, decided by the caller */
    CONDITION_PRESENT,
    CONDITION_KIND,
    CONDITION_MARKED,
    CONDITION_UNMARKED,
    CONDITION_CELL, /* name: lithium or button */
    CONDITION_TAGGED,
    CONDITION_WORDS,
    CONDITION_FOUND, /* name: the idiom; roles */
    CONDITION_SAME,
    CONDITION_CALLED /* name: the pin; names: what it may be called */
} ConditionOp;

enum { CONDITION_ROLES_MOST = 4 };

typedef struct Condition Condition;
struct Condition {
    ConditionOp op;
    char compare; /* '<' '>' '=' , 'l' for <=, 'g' for >= */
    const Formula *left, *right;
    const Condition *a, *b;
    Text name;
    const BenchKind *kind;
    uint32_t roles[CONDITION_ROLES_MOST]; /* size role_count */
    uint32_t role_count;
    const Text *names; /* size name_count */
    uint32_t name_count;
};

/* ---- reading ---- */

/* What names mean while a formula is read. */
typedef struct FormulaScope {
    void *of;
    /* Number of the role, or -1; its kind; whether it stands for a group (`every`). */
    int (*role)(void *of, Text name, const BenchKind **kind, bool *group);
    const Formula *(*given)(void *of, Text name); /* a FORMULA_GIVEN node, NULL when there is none */
} FormulaScope;

typedef struct FormulaReader {
    Arena *arena;
    Lore *lore;
    const LoreLine *line;
    Lexer *lexer;
    const BenchKinds *kinds;
    FormulaScope scope;
    bool members; /* a group's role may stand for each member */
    int depth;
} FormulaReader;

/* NULL with a problem noted. The lexer is left after what was read. */
const Formula *formula_read(FormulaReader *reader);
const Condition *condition_read(FormulaReader *reader);
/* Notes a problem at the next token; gives NULL so that `return formula_problem(...)` reads well. */
void *formula_problem(FormulaReader *reader, Text message, Text expected, Text hint);

/* ---- computing ---- */

/* What a leaf is worth; false when it is not known. */
typedef bool FormulaLeaf(void *of, const Formula *leaf, Quantity *quantity);
typedef int ConditionFact(void *of, const Condition *fact); /* 1 true, 0 false */

typedef struct FormulaWorld {
    void *of;
    FormulaLeaf *leaf;
    ConditionFact *fact;
    uint32_t way; /* of the rule that was found */
} FormulaWorld;

/* The value with its worst-case limits: each leaf is moved to the end of its range that lowers (raises) the result, by the
 * sign of the slope; exact for formulas monotone in each leaf. False when a leaf is not known or the result not finite. */
bool formula_compute(const Formula *formula, const FormulaWorld *world, Quantity *result);

typedef enum Truth { TRUTH_FALSE, TRUTH_TRUE, TRUTH_UNKNOWN } Truth; /* Kleene's three */
Truth condition_decide(const Condition *condition, const FormulaWorld *world);

/* Calls visit for each leaf below; of a `given`, those of the alternative that this world takes (NULL: of all). */
void formula_leaves(const Formula *formula, const FormulaWorld *world, void (*visit)(void *of, const Formula *leaf), void *of);
void condition_leaves(const Condition *condition, void (*formula)(void *of, const Formula *leaf),
                      void (*fact)(void *of, const Condition *fact), void *of);

#endif
