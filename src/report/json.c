/* JSON of claims and quantities: doc/json.md says what each member means. */
#include "report/json.h"

#include <math.h>

json_t *json_of_quantity(Arena *arena, Quantity quantity) {
    if (!isfinite(quantity.value) || !isfinite(quantity.low) || !isfinite(quantity.high)) return json_null();
    json_t *object = json_object();
    json_put(object, "value", json_real(quantity.value));
    json_put(object, "low", json_real(quantity.low));
    json_put(object, "high", json_real(quantity.high));
    json_put_text(object, "unit", unit_symbol(arena, quantity.unit));
    return object;
}

static json_t *of_texts(const Text *texts, uint32_t count) {
    json_t *array = json_array();
    for (uint32_t i = 0; i < count; i++) json_array_append_new(array, json_of_text(texts[i]));
    return array;
}

static json_t *of_lines(const uint32_t *lines, uint32_t count) {
    json_t *array = json_array();
    for (uint32_t i = 0; i < count; i++) json_array_append_new(array, json_integer(lines[i]));
    return array;
}

static json_t *of_because(const ReasonBecause *because) {
    json_t *object = json_object();
    json_put_text(object, "says", because->says);
    json_put(object, "decibans", json_real(because->decibans));
    json_put_text(object, "place", because->place);
    json_put(object, "lines", of_lines(because->lines, because->line_count));
    return object;
}

static json_t *of_values(Arena *arena, const ReasonClaim *claim) {
    json_t *values = json_object();
    for (uint32_t i = 0; i < claim->value_count; i++) {
        const ReasonValue *value = &claim->values[i];
        json_t *object = json_of_quantity(arena, value->value);
        if (json_is_object(object)) {
            json_put_text(object, "formula", value->formula);
            json_put_text(object, "source", value->source);
        }
        json_put(values, text_cstring(arena, value->name), object);
    }
    return values;
}

static json_t *of_roles(Arena *arena, const Bench *bench, const ReasonClaim *claim) {
    json_t *array = json_array();
    for (uint32_t i = 0; i < claim->role_count; i++) {
        json_t *object = json_object();
        json_put_text(object, "pin", bench_pin_name(arena, bench, claim->roles[i].pin));
        json_put_text(object, "role", claim->roles[i].role);
        json_array_append_new(array, object);
    }
    return array;
}

json_t *json_of_claim(Arena *arena, const Bench *bench, const ReasonClaim *claim) {
    json_t *object = json_object(), *about = json_array(), *because = json_array();
    for (uint32_t i = 0; i < claim->about_count; i++)
        json_array_append_new(about, json_of_text(bench->parts.at[claim->about[i]].ref));
    for (uint32_t i = 0; i < claim->because_count; i++) json_array_append_new(because, of_because(&claim->because[i]));
    json_put_text(object, "id", claim->id);
    json_put_text(object, "kind", words_sort(claim->sort));
    json_put_text(object, "idiom", claim->name);
    json_put_text(object, "block", claim->block);
    json_put(object, "about", about);
    json_put_text(object, "says", claim->says);
    json_put(object, "p", json_real(claim->p));
    json_put(object, "decibans", json_real(claim->decibans));
    json_put(object, "values", of_values(arena, claim));
    json_put(object, "because", because);
    json_put(object, "warnings", of_texts(claim->warnings, claim->warning_count));
    json_put(object, "spared", of_texts(claim->spared, claim->spared_count));
    json_put(object, "cautions", of_texts(claim->cautions, claim->caution_count));
    json_put(object, "roles", of_roles(arena, bench, claim));
    return object;
}

json_t *json_answer(void) {
    json_t *document = json_object();
    json_put(document, "unpick", json_integer(1));
    return document;
}

json_t *json_of_lines_quoted(Arena *arena, const Notebook *notebook, const uint32_t *lines, uint32_t count) {
    json_t *array = json_array();
    for (uint32_t i = 0; i < count; i++) {
        json_t *object = json_object();
        json_put(object, "line", json_integer(lines[i]));
        json_put_text(object, "note", words_quote(arena, notebook, lines[i]));
        json_array_append_new(array, object);
    }
    return array;
}
