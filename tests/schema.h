/* Holds a JSON document against a JSON Schema (draft 2020-12, json-schema.org, from memory): the keywords that
 * doc/unpick.schema.json uses. An unknown keyword fails, so that nothing in the schema goes unchecked. */
#ifndef UNPICK_TESTS_SCHEMA_H
#define UNPICK_TESTS_SCHEMA_H

#include "tests/check.h"

#include <jansson.h>
#include <stdbool.h>
#include <stdio.h>

typedef struct Schema {
    json_t *root;
    char why[512]; /* the last failure: where, and which keyword */
} Schema;

static inline bool schema_holds(Schema *schema, json_t *rule, json_t *value, const char *path);

static inline bool schema_fails(Schema *schema, const char *path, const char *keyword) {
    snprintf(schema->why, sizeof schema->why, "%s: %s", path, keyword);
    return false;
}

static inline bool schema_is_type(const char *type, const json_t *value) {
    return (strcmp(type, "object") == 0 && json_is_object(value)) || (strcmp(type, "array") == 0 && json_is_array(value)) ||
           (strcmp(type, "string") == 0 && json_is_string(value)) ||
           (strcmp(type, "number") == 0 && json_is_number(value)) ||
           (strcmp(type, "integer") == 0 && json_is_integer(value)) ||
           (strcmp(type, "boolean") == 0 && json_is_boolean(value)) || (strcmp(type, "null") == 0 && json_is_null(value));
}

static inline bool schema_type(json_t *wanted, const json_t *value) {
    if (json_is_string(wanted)) return schema_is_type(json_string_value(wanted), value);
    size_t i;
    json_t *one;
    json_array_foreach(wanted, i, one) {
        if (schema_is_type(json_string_value(one), value)) return true;
    }
    return false;
}

/* "#/$defs/name" */
static inline json_t *schema_ref(Schema *schema, const char *ref) {
    const char *prefix = "#/$defs/";
    json_t *found = strncmp(ref, prefix, strlen(prefix)) != 0
                        ? NULL
                        : json_object_get(json_object_get(schema->root, "$defs"), ref + strlen(prefix));
    if (found == NULL) fail_msg("the schema has no %s", ref);
    return found;
}

static inline bool schema_one_of(Schema *schema, json_t *rules, json_t *value, const char *path) {
    size_t i, count = 0;
    json_t *rule;
    json_array_foreach(rules, i, rule) count += schema_holds(schema, rule, value, path);
    return count == 1;
}

/* Members: those named by `properties`, the others by `additionalProperties`; all of `required`. */
static inline bool schema_members(Schema *schema, json_t *rule, json_t *value, const char *path) {
    json_t *properties = json_object_get(rule, "properties"), *others = json_object_get(rule, "additionalProperties"),
           *member;
    const char *key;
    size_t i;
    json_array_foreach(json_object_get(rule, "required"), i, member) {
        if (json_object_get(value, json_string_value(member)) == NULL)
            return schema_fails(schema, path, json_string_value(member));
    }
    json_object_foreach(value, key, member) {
        char below[256];
        snprintf(below, sizeof below, "%s.%s", path, key);
        json_t *own = json_object_get(properties, key);
        if (own == NULL && json_is_false(others)) return schema_fails(schema, below, "additionalProperties");
        if (own == NULL) own = others;
        if (own != NULL && !schema_holds(schema, own, member, below)) return false;
    }
    return true;
}

static inline bool schema_items(Schema *schema, json_t *rule, json_t *value, const char *path) {
    size_t i;
    json_t *item;
    json_array_foreach(value, i, item) {
        char below[256];
        snprintf(below, sizeof below, "%s[%zu]", path, i);
        if (!schema_holds(schema, rule, item, below)) return false;
    }
    return true;
}

static inline bool schema_any_equal(json_t *wanted, json_t *value) {
    size_t i;
    json_t *one;
    json_array_foreach(wanted, i, one) {
        if (json_equal(one, value)) return true;
    }
    return false;
}

static inline bool schema_keyword(Schema *schema, const char *key, json_t *wanted, json_t *rule, json_t *value,
                                  const char *path) {
    double number = json_number_value(value), limit = json_number_value(wanted);
    if (strcmp(key, "$ref") == 0) return schema_holds(schema, schema_ref(schema, json_string_value(wanted)), value, path);
    if (strcmp(key, "oneOf") == 0) return schema_one_of(schema, wanted, value, path);
    if (strcmp(key, "type") == 0) return schema_type(wanted, value);
    if (strcmp(key, "const") == 0) return json_equal(wanted, value);
    if (strcmp(key, "enum") == 0) return schema_any_equal(wanted, value);
    if (strcmp(key, "items") == 0) return !json_is_array(value) || schema_items(schema, wanted, value, path);
    if (strcmp(key, "minItems") == 0) return !json_is_array(value) || (double)json_array_size(value) >= limit;
    if (strcmp(key, "maxItems") == 0) return !json_is_array(value) || (double)json_array_size(value) <= limit;
    if (strcmp(key, "minLength") == 0) return !json_is_string(value) || (double)json_string_length(value) >= limit;
    if (strcmp(key, "minimum") == 0) return !json_is_number(value) || number >= limit;
    if (strcmp(key, "maximum") == 0) return !json_is_number(value) || number <= limit;
    if (strcmp(key, "exclusiveMinimum") == 0) return !json_is_number(value) || number > limit;
    if (strcmp(key, "exclusiveMaximum") == 0) return !json_is_number(value) || number < limit;
    if (strcmp(key, "properties") == 0) return !json_is_object(value) || schema_members(schema, rule, value, path);
    if (strcmp(key, "additionalProperties") == 0)
        return !json_is_object(value) || schema_members(schema, rule, value, path);
    if (strcmp(key, "required") == 0) return !json_is_object(value) || schema_members(schema, rule, value, path);
    if (key[0] == '$' || strcmp(key, "title") == 0) return true; /* $schema, $id, $defs: say nothing about the value */
    fail_msg("the schema uses %s, which this check does not know", key);
    return false;
}

static inline bool schema_holds(Schema *schema, json_t *rule, json_t *value, const char *path) {
    const char *key;
    json_t *wanted;
    json_object_foreach(rule, key, wanted) {
        if (schema_keyword(schema, key, wanted, rule, value, path)) continue;
        if (schema->why[0] == '\0') schema_fails(schema, path, key);
        return false;
    }
    return true;
}

#endif
