/* Computing formulas with their worst-case limits, and deciding conditions in Kleene's three-valued logic.
 *
 * The limits: the distinct leaves are gathered, the sign of the slope along each is found by moving that leaf alone, and the
 * formula is computed once with every leaf at the end that lowers it and once at the end that raises it. 2 n + 3
 * evaluations for n leaves; exact when the formula is monotone in each leaf, which circuit formulas are over tolerances. */
#include "reason/formula.h"

#include <math.h>

enum { LEAVES_MOST = 32 };

typedef struct Leaf {
    const Formula *formula;
    Quantity quantity;
    double now;
} Leaf;

typedef struct Computing {
    const FormulaWorld *world;
    Leaf leaves[LEAVES_MOST];
    uint32_t count;
    bool unknown;
} Computing;

static bool is_range(const Formula *f) { return f->op == FORMULA_NUMBER && f->number.low < f->number.high; }
static bool is_leaf(const Formula *f) { return (f->op >= FORMULA_ROLE && f->op <= FORMULA_RATED) || is_range(f); }

static bool all_known(const Formula *f, const FormulaWorld *world);

/* The alternative of a `given` that holds in this world, or NULL. */
static const Formula *chosen(const Formula *given, const FormulaWorld *world) {
    for (; given != NULL; given = given->b)
        if ((given->way == 0 || given->way == world->way) && all_known(given->a, world)) return given->a;
    return NULL;
}

static bool all_known(const Formula *f, const FormulaWorld *world) {
    Quantity ignored;
    if (f == NULL) return true;
    if (f->op == FORMULA_GIVEN) return chosen(f, world) != NULL;
    if (is_leaf(f)) return is_range(f) || world->leaf(world->of, f, &ignored);
    return all_known(f->a, world) && all_known(f->b, world);
}

static bool same_leaf(const Formula *a, const Formula *b) {
    return a == b || (a->op != FORMULA_NUMBER && a->op == b->op && a->role == b->role && text_same(a->name, b->name) &&
                      unit_same(a->unit, b->unit));
}

static void gather(void *of, const Formula *leaf) {
    Computing *computing = of;
    for (uint32_t i = 0; i < computing->count; i++)
        if (same_leaf(computing->leaves[i].formula, leaf)) return;
    Leaf new = {.formula = leaf, .quantity = leaf->number};
    bool known = is_range(leaf) || computing->world->leaf(computing->world->of, leaf, &new.quantity);
    if (!known || computing->count == LEAVES_MOST) {
        computing->unknown = true;
        return;
    }
    new.now = new.quantity.value;
    computing->leaves[computing->count++] = new;
}

static double evaluate(const Formula *f, const Computing *computing) {
    if (is_leaf(f)) {
        for (uint32_t i = 0; i < computing->count; i++)
            if (same_leaf(computing->leaves[i].formula, f)) return computing->leaves[i].now;
        return NAN;
    }
    if (f->op == FORMULA_GIVEN) return evaluate(chosen(f, computing->world), computing);
    double a = f->a == NULL ? 0 : evaluate(f->a, computing), b = f->b == NULL ? 0 : evaluate(f->b, computing);
    switch (f->op) {
    case FORMULA_NUMBER: return f->number.value;
    case FORMULA_PI: return acos(-1);
    case FORMULA_ADD: return a + b;
    case FORMULA_SUBTRACT: return a - b;
    case FORMULA_TIMES: return a * b;
    case FORMULA_OVER: return a / b;
    case FORMULA_POWER: return pow(a, f->exponent);
    case FORMULA_NEGATE: return -a;
    case FORMULA_SQRT: return sqrt(a);
    case FORMULA_LN: return log(a);
    case FORMULA_EXP: return exp(a);
    case FORMULA_ABS: return fabs(a);
    case FORMULA_MIN: return fmin(a, b);
    case FORMULA_MAX: return fmax(a, b);
    default: return NAN;
    }
}

/* Each leaf to the end of its range that moves the result most in the direction `up`. */
static double extreme(const Formula *formula, Computing *computing, bool up) {
    bool high[LEAVES_MOST];
    for (uint32_t i = 0; i < computing->count; i++) {
        Leaf *leaf = &computing->leaves[i];
        leaf->now = leaf->quantity.low;
        double below = evaluate(formula, computing);
        leaf->now = leaf->quantity.high;
        double above = evaluate(formula, computing);
        leaf->now = leaf->quantity.value;
        high[i] = (above > below) == up;
    }
    for (uint32_t i = 0; i < computing->count; i++)
        computing->leaves[i].now = high[i] ? computing->leaves[i].quantity.high : computing->leaves[i].quantity.low;
    double result = evaluate(formula, computing);
    for (uint32_t i = 0; i < computing->count; i++) computing->leaves[i].now = computing->leaves[i].quantity.value;
    return result;
}

bool formula_compute(const Formula *formula, const FormulaWorld *world, Quantity *result) {
    Computing computing = {.world = world};
    if (!all_known(formula, world)) return false;
    formula_leaves(formula, world, gather, &computing);
    if (computing.unknown) return false;
    double value = evaluate(formula, &computing);
    double low = extreme(formula, &computing, false), high = extreme(formula, &computing, true);
    if (!isfinite(value)) return false;
    if (!isfinite(low)) low = value;
    if (!isfinite(high)) high = value;
    *result = quantity_within(value, fmin(low, value), fmax(high, value), formula->unit);
    if (is_leaf(formula)) result->last = computing.leaves[0].quantity.last; /* passed on, not computed */
    return true;
}

static Truth truth_not(Truth a) { return a == TRUTH_UNKNOWN ? a : a == TRUTH_TRUE ? TRUTH_FALSE : TRUTH_TRUE; }

static Truth truth_and(Truth a, Truth b) {
    if (a == TRUTH_FALSE || b == TRUTH_FALSE) return TRUTH_FALSE;
    return a == TRUTH_UNKNOWN || b == TRUTH_UNKNOWN ? TRUTH_UNKNOWN : TRUTH_TRUE;
}

/* Values are compared as quantities are said: equal to nine digits counts as equal. */
static Truth compare(const Condition *c, const FormulaWorld *world) {
    Quantity a, b;
    if (!formula_compute(c->left, world, &a) || !formula_compute(c->right, world, &b)) return TRUTH_UNKNOWN;
    bool equal = fabs(a.value - b.value) <= 1e-9 * fmax(fabs(a.value), fabs(b.value));
    bool holds = c->compare == '='   ? equal
                 : c->compare == 'l' ? equal || a.value < b.value
                 : c->compare == 'g' ? equal || a.value > b.value
                 : c->compare == '<' ? !equal && a.value < b.value
                                     : !equal && a.value > b.value;
    return holds ? TRUTH_TRUE : TRUTH_FALSE;
}

Truth condition_decide(const Condition *c, const FormulaWorld *world) {
    Quantity ignored;
    switch (c->op) {
    case CONDITION_COMPARE: return compare(c, world);
    case CONDITION_KNOWN: return formula_compute(c->left, world, &ignored) ? TRUTH_TRUE : TRUTH_FALSE;
    case CONDITION_AND: return truth_and(condition_decide(c->a, world), condition_decide(c->b, world));
    case CONDITION_OR:
        return truth_not(truth_and(truth_not(condition_decide(c->a, world)), truth_not(condition_decide(c->b, world))));
    case CONDITION_NOT: return truth_not(condition_decide(c->a, world));
    default: return world->fact(world->of, c) ? TRUTH_TRUE : TRUTH_FALSE;
    }
}

void formula_leaves(const Formula *formula, const FormulaWorld *world, void (*visit)(void *of, const Formula *leaf), void *of) {
    if (formula == NULL) return;
    if (is_leaf(formula)) visit(of, formula);
    if (formula->op == FORMULA_GIVEN && world != NULL) {
        formula_leaves(chosen(formula, world), world, visit, of);
        return;
    }
    formula_leaves(formula->a, world, visit, of);
    formula_leaves(formula->b, world, visit, of);
}

void condition_leaves(const Condition *c, void (*formula)(void *of, const Formula *leaf),
                      void (*fact)(void *of, const Condition *fact), void *of) {
    if (c == NULL) return;
    formula_leaves(c->left, NULL, formula, of);
    formula_leaves(c->right, NULL, formula, of);
    condition_leaves(c->a, formula, fact, of);
    condition_leaves(c->b, formula, fact, of);
    if (c->op >= CONDITION_PRESENT) fact(of, c);
}
