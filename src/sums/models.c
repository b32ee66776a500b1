/* Reads `model`, `accuracy` and `mistake` entries. What an element's terminals and parameters are called, and what they may
 * be, the solver says itself (circuit_kind); so a slip in the lore is found when it is read, with line and column. */
#include "sums/models.h"

#include <math.h>

typedef struct Reader {
    SumsModels *models;
    Lore *lore;
    const BenchKinds *kinds;
    const LoreLine *line;
    Lexer lexer;
    Model *model;
    bool failed;
} Reader;

static void problem(Reader *r, uint32_t column, Text message, const char *expected) {
    lore_problem(r->lore, r->line, column, message, text_of(expected), TEXT(""));
    r->failed = true;
}

static Text quoted(Reader *r, const char *before, Text word, const char *after) {
    return text_fmt(r->lore->arena, "%s`%.*s`%s", before, TEXT_ARG(word), after);
}

static bool take_word(Reader *r, const char *expected, Token *token) {
    *token = lex_take(&r->lexer);
    if ((token->kind == LEX_WORD || token->kind == LEX_STRING) && token->text.len > 0) return true;
    problem(r, token->column, TEXT("something is missing here"), expected);
    return false;
}

/* ---- elements ---- */

/* node = PIN | "." NAME | "@supply" | "@ground" | "*" */
static bool take_end(Reader *r, ModelEnd *end) {
    Token token;
    Model *model = r->model;
    if (!take_word(r, "a node: a pin of the kind, .inner, @supply, @ground or *", &token)) return false;
    if (text_is(token.text, "@supply")) return end->sort = END_SUPPLY, true;
    if (text_is(token.text, "@ground")) return end->sort = END_GROUND, true;
    if (text_is(token.text, "*")) return end->sort = END_EACH, true;
    if (token.text.at[0] == '.') {
        uint32_t i = 0;
        while (i < model->inner_count && !text_same(model->inner[i], token.text)) i++;
        if (i == MODEL_INNER_MOST) {
            problem(r, token.column, TEXT("a model has at most 4 inner nodes"), "fewer");
            return false;
        }
        if (i == model->inner_count) model->inner[model->inner_count++] = token.text;
        *end = (ModelEnd){END_INNER, i};
        return true;
    }
    int position = bench_kind_pin(r->kinds, model->kind, token.text);
    if (position < 0) {
        problem(r, token.column, quoted(r, "the kind has no pin ", token.text, ""), "one of its pins");
        return false;
    }
    *end = (ModelEnd){END_PIN, (uint32_t)position};
    return true;
}

/* element = "element" KIND node {node} */
static void read_element(Reader *r) {
    Token token;
    ModelElement element = {.kind = CIRCUIT_KINDS};
    if (!take_word(r, "a kind of element", &token)) return;
    for (unsigned k = 0; k < CIRCUIT_KINDS; k++)
        if (text_is(token.text, circuit_kind(k)->name)) element.kind = k;
    if (element.kind == CIRCUIT_KINDS) {
        problem(r, token.column, quoted(r, "the solver has no element ", token.text, ""),
                "resistor, diode, \"voltage source\" ...");
        return;
    }
    for (unsigned t = 0; t < circuit_kind(element.kind)->terminals; t++)
        if (!take_end(r, &element.ends[t])) return;
    list_push(r->models->arena, &r->model->elements, element);
}

/* ---- parameters ---- */

/* factor = "value" | "cells" | "rated" | "reading" FUNCTION | PROPERTY | quantity */
static bool take_factor(Reader *r, ModelFactor *factor) {
    if (lex_take_quantity(&r->lexer, &factor->quantity, NULL)) return factor->op = FACTOR_QUANTITY, true;
    Token token;
    if (!take_word(r, "value, cells, rated, reading r, a property or a quantity", &token)) return false;
    if (text_is(token.text, "value")) return factor->op = FACTOR_VALUE, true;
    if (text_is(token.text, "cells")) return factor->op = FACTOR_CELLS, true;
    if (text_is(token.text, "rated")) return factor->op = FACTOR_RATED, true;
    if (text_is(token.text, "reading")) {
        factor->op = FACTOR_READING;
        if (!take_word(r, "what is read, as in `reading r`", &token)) return false;
        return factor->name = token.text, true;
    }
    Unit unit;
    if (!bench_property_unit(r->kinds, token.text, &unit)) {
        problem(r, token.column, quoted(r, "no `property` entry declares ", token.text, ""), "a declared property");
        return false;
    }
    *factor = (ModelFactor){.op = FACTOR_PROPERTY, .name = token.text};
    return true;
}

/* term = factor { "times" factor } [ STRING ] */
static bool take_term(Reader *r, ModelTerm *term) {
    bool figure = false;
    do {
        if (term->count == MODEL_FACTORS_MOST) {
            problem(r, lex_peek(&r->lexer).column, TEXT("at most 3 factors"), "fewer");
            return false;
        }
        if (!take_factor(r, &term->factors[term->count])) return false;
        figure = figure || term->factors[term->count].op == FACTOR_QUANTITY;
        term->count++;
    } while (lex_take_if(&r->lexer, "times"));
    Token token = lex_peek(&r->lexer);
    if (token.kind == LEX_STRING && token.text.len > 0)
        term->source = lex_string(r->models->arena, lex_take(&r->lexer));
    else if (figure)
        problem(r, token.column, TEXT("its source is missing"), "\"where the figure comes from\"");
    return !r->failed;
}

/* terms = term { "else" term } */
static bool take_terms(Reader *r, ModelSet *set) {
    do {
        if (set->term_count == MODEL_TERMS_MOST) {
            problem(r, lex_peek(&r->lexer).column, TEXT("at most 4 ways to know it"), "fewer");
            return false;
        }
        if (!take_term(r, &set->terms[set->term_count++])) return false;
    } while (lex_take_if(&r->lexer, "else"));
    if (!lex_at_end(&r->lexer))
        problem(r, lex_peek(&r->lexer).column, TEXT("this is one word too many"), "the end of the line");
    return !r->failed;
}

static ModelElement *last_element(Reader *r) {
    Model *model = r->model;
    ModelElement *element = model->elements.count == 0 ? NULL : &model->elements.at[model->elements.count - 1];
    if (element == NULL || model->set_count == MODEL_SETS_MOST) {
        problem(r, 0,
                element == NULL ? TEXT("no element stands above this line") : TEXT("a model sets at most 16 parameters"),
                "an `element` line first");
        return NULL;
    }
    return element;
}

static void add_set(Reader *r, ModelElement *element, ModelSet set) {
    set.number = r->model->set_count++;
    element->sets[element->set_count++] = set;
}

/* set = ("set" | "state" | "varies") PARAMETER terms */
static void read_set(Reader *r, ModelHow how) {
    Token token;
    ModelElement *element = last_element(r);
    if (element == NULL || !take_word(r, "a parameter of the element", &token)) return;
    const CircuitKindFacts *facts = circuit_kind(element->kind);
    ModelSet set = {.how = how};
    while (set.parameter < facts->parameters && !text_is(token.text, facts->parameter[set.parameter].name)) set.parameter++;
    if (set.parameter == facts->parameters) {
        problem(r, token.column, quoted(r, "the element has no parameter ", token.text, ""), "as circuit/kinds.c names it");
        return;
    }
    if (take_terms(r, &set)) add_set(r, element, set);
}

/* rest = "rest" PARAMETER terms: what the set above leaves of them */
static void read_rest(Reader *r) {
    uint32_t above = r->model->set_count, before;
    read_set(r, MODEL_SET);
    ModelElement *element = r->failed ? NULL : last_element(r);
    if (element == NULL) return;
    before = element->set_count - 1;
    element->sets[before].rest = true, element->sets[before].of = above - 1;
    if (above == 0 || element->sets[before].term_count == 0)
        problem(r, 0, TEXT("nothing is set above"), "a `set` or `varies` line first");
}

/* drop = "drop" quantity terms: what the junction drops, and at which current */
static void read_drop(Reader *r) {
    Quantity at;
    ModelElement *element = last_element(r);
    if (element == NULL) return;
    uint32_t column = lex_peek(&r->lexer).column;
    ModelSet set = {.drop = true};
    bool junction =
        element->kind == CIRCUIT_DIODE || element->kind == CIRCUIT_BIPOLAR || element->kind == CIRCUIT_OPTOCOUPLER;
    if (!junction || !lex_take_quantity(&r->lexer, &at, NULL) || !unit_same(at.unit, UNIT_AMPERE) || !(at.value > 0)) {
        problem(r, column, TEXT("this is no drop"), "a current and the volts, `drop 10 mA vf`, below a junction");
        return;
    }
    set.drop_at = at.value;
    set.parameter = element->kind == CIRCUIT_DIODE     ? (unsigned)DIODE_SATURATION
                    : element->kind == CIRCUIT_BIPOLAR ? (unsigned)BIPOLAR_SATURATION
                                                       : (unsigned)OPTO_SATURATION;
    if (take_terms(r, &set)) add_set(r, element, set);
}

static void read_model_line(Reader *r) {
    Text word = r->line->word;
    r->lexer = lore_lexer(r->line);
    if (text_is(word, "element"))
        read_element(r);
    else if (text_is(word, "set"))
        read_set(r, MODEL_SET);
    else if (text_is(word, "state"))
        read_set(r, MODEL_STATE);
    else if (text_is(word, "varies"))
        read_set(r, MODEL_VARIES);
    else if (text_is(word, "rest"))
        read_rest(r);
    else if (text_is(word, "drop"))
        read_drop(r);
    else if (text_is(word, "plugs"))
        r->model->plugs = true;
    else if (text_is(word, "open"))
        r->model->open = true;
    else
        problem(r, 0, quoted(r, "a model has no line ", word, ""),
                "element, set, state, varies, rest, drop, plugs or open");
}

/* model = "model" KIND { line } */
static void read_model(Reader *r, const LoreEntry *entry, const Model **own) {
    Token token;
    if (!take_word(r, "a kind of part", &token)) return;
    const BenchKind *kind = bench_kind(r->kinds, token.text);
    if (kind == NULL) {
        problem(r, token.column, quoted(r, "there is no kind ", token.text, ""), "a kind of lore/kinds.lore");
        return;
    }
    r->model = arena_one(r->models->arena, Model);
    r->model->kind = kind;
    r->model->line = &entry->head;
    for (uint32_t i = 0; i < entry->line_count && !r->failed; i++) {
        r->line = &entry->lines[i];
        read_model_line(r);
    }
    if (!r->failed) own[kind->number] = r->model;
}

/* ---- accuracy and mistakes ---- */

/* accuracy = "accuracy" ("v" | "i" | "p" | "r") share quantity [ "across" ohms ] STRING */
static void read_accuracy(Reader *r) {
    Token token;
    Quantity share, least, across = {0};
    if (!take_word(r, "v, i, p or r", &token)) return;
    Accuracy *of = text_is(token.text, "v")   ? &r->models->volts
                   : text_is(token.text, "i") ? &r->models->amperes
                   : text_is(token.text, "p") ? &r->models->watts
                   : text_is(token.text, "r") ? &r->models->ohms
                                              : NULL;
    uint32_t column = lex_peek(&r->lexer).column;
    if (of == NULL || !lex_take_quantity(&r->lexer, &share, NULL) || !lex_take_quantity(&r->lexer, &least, NULL) ||
        !(share.value >= 0) || !(least.value > 0) ||
        (lex_take_if(&r->lexer, "across") && !lex_take_quantity(&r->lexer, &across, NULL))) {
        problem(r, column, TEXT("this is no accuracy"), "`accuracy v 1 % 5 mV across 10 Mohm \"source\"`");
        return;
    }
    *of = (Accuracy){share.value, least.value, across.value, true};
}

static const char *const MISTAKES[MISTAKE_COUNT] = {"decimal", "place", "slip",  "band",   "power",    "guess",
                                                    "join",    "joint", "short", "turned", "polarity", "family",
                                                    "flat",    "load",  "drive", "switch", "other"};

/* mistake = "mistake" NAME number "dB" STRING */
static void read_mistake(Reader *r) {
    Token token;
    Quantity decibans;
    if (!take_word(r, "a mistake", &token)) return;
    uint32_t column = lex_peek(&r->lexer).column;
    for (unsigned m = 0; m < MISTAKE_COUNT; m++) {
        if (!text_is(token.text, MISTAKES[m])) continue;
        if (lex_take_quantity(&r->lexer, &decibans, NULL) && lex_take_if(&r->lexer, "dB"))
            r->models->mistakes[m] = (MistakeWeight){decibans.value, r->line};
        else
            problem(r, column, TEXT("its weight is missing"), "a number and dB, as in `-20 dB`");
        return;
    }
    problem(r, token.column, quoted(r, "no mistake is called ", token.text, ""), "decimal, band, joint ...");
}

SumsModels *sums_models_new(Arena *arena, Lore *lore, const BenchKinds *kinds) {
    SumsModels *models = arena_one(arena, SumsModels);
    uint32_t count = bench_kind_count(kinds);
    models->arena = arena, models->lore = lore;
    models->of_kind = arena_many(arena, const Model *, count + 1);
    for (uint32_t i = 0; i < lore->entries.count; i++) {
        const LoreEntry *entry = &lore->entries.at[i];
        Reader reader = {
            .models = models, .lore = lore, .kinds = kinds, .line = &entry->head, .lexer = lore_lexer(&entry->head)};
        if (text_is(entry->head.word, "model")) read_model(&reader, entry, models->of_kind);
        if (text_is(entry->head.word, "accuracy")) read_accuracy(&reader);
        if (text_is(entry->head.word, "mistake")) read_mistake(&reader);
    }
    for (uint32_t k = 0; k < count; k++) { /* parents come before children */
        const BenchKind *parent = bench_kind_at(kinds, k)->parent;
        if (models->of_kind[k] == NULL && parent != NULL) models->of_kind[k] = models->of_kind[parent->number];
    }
    return models;
}

const Model *model_of(const SumsModels *models, const BenchKind *kind) { return models->of_kind[kind->number]; }
