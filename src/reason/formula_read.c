/* Reading formulas and conditions by recursive descent; units are checked here, so that computing can't meet nonsense.
 * Each rule of the grammar stands above its function. */
#include "reason/formula.h"

enum { DEPTH_MOST = 40 };

void *formula_problem(FormulaReader *reader, Text message, Text expected, Text hint) {
    lore_problem(reader->lore, reader->line, lex_peek(reader->lexer).column, message, expected, hint);
    return NULL;
}

static Formula *node(FormulaReader *reader, FormulaOp op, const Formula *a, const Formula *b) {
    Formula *formula = arena_one(reader->arena, Formula);
    *formula = (Formula){.op = op, .a = a, .b = b};
    if (a != NULL) formula->unit = a->unit;
    return formula;
}

static bool take_sign(FormulaReader *reader, const char *sign) {
    if (lex_take_if(reader->lexer, sign)) return true;
    formula_problem(reader, TEXT("the formula breaks off here"), text_fmt(reader->arena, "\"%s\"", sign), TEXT(""));
    return false;
}

static void *units_differ(FormulaReader *reader, Unit a, Unit b, const char *what) {
    Text left = unit_symbol(reader->arena, a), right = unit_symbol(reader->arena, b);
    if (left.len == 0) left = TEXT("a plain number");
    if (right.len == 0) right = TEXT("a plain number");
    return formula_problem(reader, text_fmt(reader->arena, "%.*s and %.*s can't be %s", TEXT_ARG(left), TEXT_ARG(right), what),
                           TEXT("the same unit on both sides"), TEXT(""));
}

/* pin = role "." function */
static bool split_pin(Text word, Text *role, Text *pin) {
    size_t dot = text_find(word, TEXT("."));
    if (dot == SIZE_MAX || dot == 0 || dot + 1 == word.len) return false;
    *role = text_sub(word, 0, dot);
    *pin = text_sub(word, dot + 1, word.len);
    return true;
}

static int take_role(FormulaReader *reader, const BenchKind **kind, bool *group) {
    Token token = lex_peek(reader->lexer);
    int role = token.kind == LEX_WORD ? reader->scope.role(reader->scope.of, token.text, kind, group) : -1;
    if (role < 0)
        formula_problem(reader, text_fmt(reader->arena, "\"%.*s\" is no role of this entry", TEXT_ARG(token.text)),
                        TEXT("a role named by needs, maybe or every"), TEXT(""));
    else
        lex_take(reader->lexer);
    return role;
}

static const Formula *role_leaf(FormulaReader *reader, FormulaOp op, Unit unit) {
    const BenchKind *kind;
    bool group, grouping = op == FORMULA_COUNT || op == FORMULA_SUM || op == FORMULA_PARALLEL;
    int role = take_role(reader, &kind, &group);
    if (role < 0) return NULL;
    if (grouping != group && !(group && reader->members))
        return formula_problem(reader, group ? TEXT("this role is a group") : TEXT("this role is one part"),
                               group ? TEXT("count(), sum() or parallel() of it") : TEXT("a role named by every"), TEXT(""));
    if (op == FORMULA_SUM || op == FORMULA_PARALLEL || op == FORMULA_ROLE) {
        if (!kind->has_unit)
            return formula_problem(reader, text_fmt(reader->arena, "a %.*s has no value of its own", TEXT_ARG(kind->name)),
                                   TEXT("a kind with a value line in the lore"), TEXT(""));
        unit = kind->unit;
    }
    Formula *leaf = node(reader, op, NULL, NULL);
    leaf->role = (uint32_t)role;
    leaf->unit = unit;
    return leaf;
}

/* volt = "v" "(" ( pin | "supply" | "ground" ) ")"        pins = "pins" "(" ( pin | role ) ")" */
static const Formula *pin_leaf(FormulaReader *reader, FormulaOp op, Unit unit) {
    Token token = lex_peek(reader->lexer);
    Text role_name, pin;
    Formula *leaf = node(reader, op, NULL, NULL);
    leaf->unit = unit;
    if (op == FORMULA_VOLT && (lex_is(reader->lexer, "supply") || lex_is(reader->lexer, "ground"))) {
        leaf->op = FORMULA_RAIL;
        leaf->name = lex_take(reader->lexer).text;
        return leaf;
    }
    const BenchKind *kind;
    bool group;
    int role = -1;
    if (token.kind == LEX_WORD && split_pin(token.text, &role_name, &pin))
        role = reader->scope.role(reader->scope.of, role_name, &kind, &group);
    if (role < 0 && op == FORMULA_PINS && token.kind == LEX_WORD) {
        pin = TEXT(""); /* the part as a whole */
        role = reader->scope.role(reader->scope.of, token.text, &kind, &group);
    }
    if (role < 0)
        return formula_problem(reader, TEXT("no pin here"), TEXT("ROLE.FUNCTION, supply or ground"), TEXT(""));
    lex_take(reader->lexer);
    leaf->role = (uint32_t)role;
    leaf->name = pin;
    return leaf;
}

/* rated = "rated" "(" unit ")" */
static const Formula *rated_leaf(FormulaReader *reader) {
    Formula *leaf = node(reader, FORMULA_RATED, NULL, NULL);
    double factor;
    if (!unit_parse(lex_peek(reader->lexer).text, &leaf->unit, &factor))
        return formula_problem(reader, TEXT("no unit here"), TEXT("V, W, A or Hz"), TEXT(""));
    lex_take(reader->lexer);
    return leaf;
}

/* math = ( "sqrt" | "ln" | "exp" | "abs" ) "(" sum ")" | ( "min" | "max" ) "(" sum "," sum ")" */
static const Formula *math_call(FormulaReader *reader, FormulaOp op) {
    const Formula *a = formula_read(reader), *b = NULL;
    if (a == NULL) return NULL;
    if (op == FORMULA_MIN || op == FORMULA_MAX) {
        if (!take_sign(reader, ",") || (b = formula_read(reader)) == NULL) return NULL;
        if (!unit_same(a->unit, b->unit)) return units_differ(reader, a->unit, b->unit, "compared");
    }
    Formula *formula = node(reader, op, a, b);
    if (op == FORMULA_SQRT && !unit_root(a->unit, &formula->unit))
        return formula_problem(reader, TEXT("this unit has no square root"), TEXT("an even power"), TEXT(""));
    if ((op == FORMULA_LN || op == FORMULA_EXP) && !unit_same(a->unit, UNIT_NONE))
        return formula_problem(reader, TEXT("ln and exp take a plain number"), TEXT("a ratio"), TEXT(""));
    return formula;
}

static const struct {
    const char *name;
    FormulaOp op;
} CALLS[] = {{"v", FORMULA_VOLT},     {"pins", FORMULA_PINS},         {"i", FORMULA_CURRENT},   {"r", FORMULA_OHMS},
             {"count", FORMULA_COUNT}, {"sum", FORMULA_SUM},          {"parallel", FORMULA_PARALLEL},
             {"cells", FORMULA_CELLS}, {"rated", FORMULA_RATED},      {"sqrt", FORMULA_SQRT},   {"ln", FORMULA_LN},
             {"exp", FORMULA_EXP},     {"abs", FORMULA_ABS},          {"min", FORMULA_MIN},     {"max", FORMULA_MAX}};

static const Formula *call_inside(FormulaReader *reader, Text name) {
    for (size_t i = 0; i < sizeof CALLS / sizeof CALLS[0]; i++) {
        if (!text_is(name, CALLS[i].name)) continue;
        FormulaOp op = CALLS[i].op;
        if (op == FORMULA_VOLT) return pin_leaf(reader, op, UNIT_VOLT);
        if (op == FORMULA_PINS) return pin_leaf(reader, op, UNIT_NONE);
        if (op == FORMULA_RATED) return rated_leaf(reader);
        if (op >= FORMULA_SQRT) return math_call(reader, op);
        return role_leaf(reader, op, op == FORMULA_CURRENT ? UNIT_AMPERE : op == FORMULA_OHMS ? UNIT_OHM : UNIT_NONE);
    }
    Unit unit;
    if (!bench_property_unit(reader->kinds, name, &unit))
        return formula_problem(reader, text_fmt(reader->arena, "\"%.*s\" is no function and no property", TEXT_ARG(name)),
                               TEXT("v i r count sum parallel cells pins rated sqrt ln exp abs min max, or a declared property"),
                               TEXT(""));
    Formula *leaf = (Formula *)role_leaf(reader, FORMULA_PROPERTY, unit);
    if (leaf != NULL) leaf->name = name;
    return leaf;
}

/* atom = quantity | "pi" | "(" sum ")" | name "(" ... ")" | role | given */
static const Formula *atom(FormulaReader *reader) {
    Token token = lex_peek(reader->lexer);
    Quantity number;
    const BenchKind *kind;
    bool group;
    if (lex_take_if(reader->lexer, "(")) {
        const Formula *inside = formula_read(reader);
        return inside != NULL && take_sign(reader, ")") ? inside : NULL;
    }
    if (token.kind != LEX_WORD)
        return formula_problem(reader, TEXT("the formula breaks off here"), TEXT("a quantity, a role, a given value or ("), TEXT(""));
    bool is_role = reader->scope.role(reader->scope.of, token.text, &kind, &group) >= 0; /* `R1` is also 0.1 ohm */
    if (!is_role && lex_take_quantity(reader->lexer, &number, NULL)) {
        Formula *leaf = node(reader, FORMULA_NUMBER, NULL, NULL);
        leaf->number = number;
        leaf->unit = number.unit;
        return leaf;
    }
    if (lex_take_if(reader->lexer, "pi")) return node(reader, FORMULA_PI, NULL, NULL);
    const Formula *given = reader->scope.given(reader->scope.of, token.text);
    if (given != NULL) {
        lex_take(reader->lexer);
        return given;
    }
    Lexer ahead = *reader->lexer;
    lex_take(&ahead);
    if (lex_is(&ahead, "(")) {
        lex_take(reader->lexer), lex_take(reader->lexer);
        const Formula *call = call_inside(reader, token.text);
        return call != NULL && take_sign(reader, ")") ? call : NULL;
    }
    return role_leaf(reader, FORMULA_ROLE, UNIT_NONE);
}

/* power = [ "-" ] atom [ "^" whole ] */
static const Formula *power(FormulaReader *reader) {
    bool negative = lex_take_if(reader->lexer, "-");
    const Formula *a = atom(reader);
    if (a != NULL && lex_take_if(reader->lexer, "^")) {
        Quantity n;
        if (!lex_take_quantity(reader->lexer, &n, NULL) || !unit_same(n.unit, UNIT_NONE) || n.value < -8 || n.value > 8 ||
            n.value != (int)n.value)
            return formula_problem(reader, TEXT("no exponent here"), TEXT("a whole number from -8 to 8"), TEXT(""));
        Formula *raised = node(reader, FORMULA_POWER, a, NULL);
        raised->exponent = (int)n.value;
        raised->unit = unit_power(a->unit, raised->exponent);
        a = raised;
    }
    return a != NULL && negative ? node(reader, FORMULA_NEGATE, a, NULL) : a;
}

/* product = power { ( "*" | "/" ) power } */
static const Formula *product(FormulaReader *reader) {
    const Formula *a = power(reader);
    while (a != NULL && (lex_is(reader->lexer, "*") || lex_is(reader->lexer, "/"))) {
        bool times = text_is(lex_take(reader->lexer).text, "*");
        const Formula *b = power(reader);
        if (b == NULL) return NULL;
        Formula *both = node(reader, times ? FORMULA_TIMES : FORMULA_OVER, a, b);
        both->unit = times ? unit_times(a->unit, b->unit) : unit_over(a->unit, b->unit);
        a = both;
    }
    return a;
}

/* sum = product { ( "+" | "-" ) product } */
const Formula *formula_read(FormulaReader *reader) {
    if (++reader->depth > DEPTH_MOST) return formula_problem(reader, TEXT("nested too deep"), TEXT("40 levels at most"), TEXT(""));
    const Formula *a = product(reader);
    while (a != NULL && (lex_is(reader->lexer, "+") || lex_is(reader->lexer, "-"))) {
        bool add = text_is(lex_take(reader->lexer).text, "+");
        const Formula *b = product(reader);
        if (b == NULL) return NULL;
        if (!unit_same(a->unit, b->unit)) return units_differ(reader, a->unit, b->unit, add ? "added" : "subtracted");
        a = node(reader, add ? FORMULA_ADD : FORMULA_SUBTRACT, a, b);
    }
    reader->depth--;
    return a;
}

/* ---- conditions ---- */

static Condition *condition(FormulaReader *reader, ConditionOp op) {
    Condition *made = arena_one(reader->arena, Condition);
    made->op = op;
    return made;
}

static bool take_condition_role(FormulaReader *reader, Condition *made) {
    const BenchKind *kind;
    bool group;
    int role = take_role(reader, &kind, &group);
    if (role < 0 || made->role_count == CONDITION_ROLES_MOST) return false;
    made->roles[made->role_count++] = (uint32_t)role;
    return true;
}

/* kind = "kind" role KIND          cell = "cell" role ( "lithium" | "button" ) */
static const Condition *kind_fact(FormulaReader *reader, ConditionOp op) {
    Condition *made = condition(reader, op);
    if (!take_condition_role(reader, made)) return NULL;
    made->name = lex_peek(reader->lexer).text;
    if (op == CONDITION_KIND && (made->kind = bench_kind(reader->kinds, made->name)) == NULL)
        return formula_problem(reader, TEXT("unknown kind"), TEXT("a kind of lore/kinds.lore"), TEXT(""));
    if (op == CONDITION_CELL && !text_is(made->name, "lithium") && !text_is(made->name, "button"))
        return formula_problem(reader, TEXT("unknown sort of cell"), TEXT("lithium or button"), TEXT(""));
    lex_take(reader->lexer);
    return made;
}

/* found = "found" "IDIOM" role { role }        same = "same" role role */
static const Condition *roles_fact(FormulaReader *reader, ConditionOp op, Text name, uint32_t least, uint32_t most) {
    Condition *made = condition(reader, op);
    made->name = name;
    while (made->role_count < most) {
        const BenchKind *kind;
        bool group;
        Token token = lex_peek(reader->lexer);
        bool is_role = token.kind == LEX_WORD && reader->scope.role(reader->scope.of, token.text, &kind, &group) >= 0;
        if (!is_role && made->role_count >= least) break;
        if (!take_condition_role(reader, made)) return NULL;
    }
    return made;
}

/* text = ( "tagged" WORD | "words" STRING ) */
static const Condition *text_fact(FormulaReader *reader, ConditionOp op) {
    Condition *made = condition(reader, op);
    Token token = lex_peek(reader->lexer);
    if (token.kind != (op == CONDITION_TAGGED ? LEX_WORD : LEX_STRING))
        return formula_problem(reader, TEXT("nothing to look for here"),
                               op == CONDITION_TAGGED ? TEXT("a tag of the product") : TEXT("words in quotes"), TEXT(""));
    made->name = lex_string(reader->arena, lex_take(reader->lexer));
    return made;
}

/* called = "called" pin "NAME" { "NAME" } */
static const Condition *called_fact(FormulaReader *reader) {
    const Formula *pin = pin_leaf(reader, FORMULA_PINS, UNIT_NONE);
    if (pin == NULL) return NULL;
    Condition *made = condition(reader, CONDITION_CALLED);
    LIST(Text) names = {0};
    while (lex_peek(reader->lexer).kind == LEX_STRING)
        list_push(reader->arena, &names, lex_string(reader->arena, lex_take(reader->lexer)));
    if (names.count == 0) return formula_problem(reader, TEXT("no name here"), TEXT("names in quotes"), TEXT(""));
    made->roles[made->role_count++] = pin->role;
    made->name = pin->name;
    made->names = names.at;
    made->name_count = names.count;
    return made;
}

/* compare = sum ( "<" | "<=" | "=" | ">=" | ">" ) sum */
static const Condition *comparison(FormulaReader *reader) {
    Condition *made = condition(reader, CONDITION_COMPARE);
    if ((made->left = formula_read(reader)) == NULL) return NULL;
    if (lex_take_if(reader->lexer, "<")) /* `=` is a word of its own to the lexer */
        made->compare = lex_take_if(reader->lexer, "=") ? 'l' : '<';
    else if (lex_take_if(reader->lexer, ">"))
        made->compare = lex_take_if(reader->lexer, "=") ? 'g' : '>';
    else if (lex_take_if(reader->lexer, "="))
        made->compare = '=';
    if (made->compare == 0)
        return formula_problem(reader, TEXT("a formula alone is no condition"), TEXT("<, <=, =, >= or >"), TEXT(""));
    if ((made->right = formula_read(reader)) == NULL) return NULL;
    if (!unit_same(made->left->unit, made->right->unit))
        return units_differ(reader, made->left->unit, made->right->unit, "compared");
    return made;
}

/* "(" may open a condition or a formula: it is a condition when one can be read up to the matching ")". */
static bool bracket_holds_condition(const Lexer *lexer) {
    Lexer ahead = *lexer;
    int depth = 0;
    for (;;) {
        Token token = lex_peek(&ahead);
        if (token.kind == LEX_END || token.kind == LEX_OPEN_STRING) return false;
        if (lex_is(&ahead, "(")) depth++;
        if (lex_is(&ahead, ")") && --depth == 0) return false;
        if (depth == 1 && token.kind != LEX_STRING) {
            static const char *const words[] = {"<",  ">",  "=",    "and",    "or",    "not",
                                                "known", "present", "kind", "marked", "unmarked", "cell", "tagged", "words",
                                                "found", "same", "called"};
            for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
                if (lex_is(&ahead, words[i])) return true;
        }
        lex_take(&ahead);
    }
}

/* fact = "(" condition ")" | "not" fact | "known" sum | "present" role | ... | compare */
static const Condition *fact(FormulaReader *reader) {
    if (lex_take_if(reader->lexer, "not")) {
        Condition *made = condition(reader, CONDITION_NOT);
        return (made->a = fact(reader)) == NULL ? NULL : made;
    }
    if (lex_is(reader->lexer, "(") && bracket_holds_condition(reader->lexer)) {
        lex_take(reader->lexer);
        const Condition *inside = condition_read(reader);
        return inside != NULL && take_sign(reader, ")") ? inside : NULL;
    }
    if (lex_take_if(reader->lexer, "known")) {
        Condition *made = condition(reader, CONDITION_KNOWN);
        return (made->left = formula_read(reader)) == NULL ? NULL : made;
    }
    if (lex_take_if(reader->lexer, "present")) return roles_fact(reader, CONDITION_PRESENT, TEXT(""), 1, 1);
    if (lex_take_if(reader->lexer, "marked")) return roles_fact(reader, CONDITION_MARKED, TEXT(""), 1, 1);
    if (lex_take_if(reader->lexer, "unmarked")) return roles_fact(reader, CONDITION_UNMARKED, TEXT(""), 1, 1);
    if (lex_take_if(reader->lexer, "same")) return roles_fact(reader, CONDITION_SAME, TEXT(""), 2, 2);
    if (lex_take_if(reader->lexer, "called")) return called_fact(reader);
    if (lex_take_if(reader->lexer, "kind")) return kind_fact(reader, CONDITION_KIND);
    if (lex_take_if(reader->lexer, "cell")) return kind_fact(reader, CONDITION_CELL);
    if (lex_take_if(reader->lexer, "tagged")) return text_fact(reader, CONDITION_TAGGED);
    if (lex_take_if(reader->lexer, "words")) return text_fact(reader, CONDITION_WORDS);
    if (lex_take_if(reader->lexer, "found")) {
        if (lex_peek(reader->lexer).kind != LEX_STRING)
            return formula_problem(reader, TEXT("no idiom named here"), TEXT("an idiom's name in quotes"), TEXT(""));
        Text name = lex_string(reader->arena, lex_take(reader->lexer));
        return roles_fact(reader, CONDITION_FOUND, name, 1, CONDITION_ROLES_MOST);
    }
    return comparison(reader);
}

/* both = fact { "and" fact } */
static const Condition *both(FormulaReader *reader) {
    const Condition *a = fact(reader);
    while (a != NULL && lex_take_if(reader->lexer, "and")) {
        Condition *made = condition(reader, CONDITION_AND);
        made->a = a;
        if ((made->b = fact(reader)) == NULL) return NULL;
        a = made;
    }
    return a;
}

/* condition = both { "or" both } */
const Condition *condition_read(FormulaReader *reader) {
    if (++reader->depth > DEPTH_MOST) return formula_problem(reader, TEXT("nested too deep"), TEXT("40 levels at most"), TEXT(""));
    const Condition *a = both(reader);
    while (a != NULL && lex_take_if(reader->lexer, "or")) {
        Condition *made = condition(reader, CONDITION_OR);
        made->a = a;
        if ((made->b = both(reader)) == NULL) return NULL;
        a = made;
    }
    reader->depth--;
    return a;
}
