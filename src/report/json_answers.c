/* Single answers as JSON: a marking's readings, packages that fit, parts that match. */
#include "report/json.h"

#include <math.h>

static json_t *of_reading(Arena *arena, MarkReadings readings, uint32_t number) {
    const MarkReading *reading = &readings.at[number];
    json_t *object = json_object(), *fields = json_object();
    for (uint32_t i = 0; i < reading->field_count; i++)
        json_put_text(fields, text_cstring(arena, reading->fields[i].name), reading->fields[i].value);
    json_put_text(object, "kind", reading->kind);
    json_put_text(object, "says", reading->says);
    json_put(object, "value", reading->has_value ? json_of_quantity(arena, reading->value) : json_null());
    json_put(object, "fields", fields);
    json_put_text(object, "standard", reading->standard);
    json_put_text(object, "assumed", reading->assumed);
    json_put(object, "p", json_real(mark_share(readings, number)));
    json_put(object, "decibans", json_real(reading->decibans));
    return object;
}

void report_mark_json(Out *out, Text marking, MarkReadings readings) {
    json_t *document = json_answer(), *array = json_array();
    for (uint32_t i = 0; i < readings.count; i++) json_array_append_new(array, of_reading(out->arena, readings, i));
    json_put_text(document, "marking", marking);
    json_put(document, "readings", array);
    json_finish(out, document);
}

static json_t *of_fit(const MarkFit *fit) {
    json_t *object = json_object();
    const MarkPackage *package = fit->package;
    json_put_text(object, "name", package->name);
    json_put(object, "body_length_mm", json_real(package->body_length));
    json_put(object, "body_width_mm", json_real(package->body_width));
    json_put(object, "pitch_mm", json_real(package->pitch));
    json_put(object, "span_mm", json_real(package->span));
    json_put(object, "leads", json_integer(package->leads));
    json_put_text(object, "style", package->style);
    json_put_text(object, "differs", fit->differs);
    json_put_text(object, "source", package->source);
    json_put(object, "decibans", json_real(fit->decibans));
    return object;
}

void report_fits_json(Out *out, const MarkFit *fits, size_t count) {
    json_t *document = json_answer(), *array = json_array();
    for (size_t i = 0; i < count; i++) json_array_append_new(array, of_fit(&fits[i]));
    json_put(document, "packages", array);
    json_finish(out, document);
}

static json_t *of_match(Arena *arena, const ShelfMatch *match) {
    json_t *object = json_object(), *packages = json_array();
    const ShelfPart *part = match->part;
    for (uint32_t i = 0; i < part->package_count; i++) json_array_append_new(packages, json_of_text(part->packages[i]));
    json_put_text(object, "name", part->name);
    json_put_text(object, "kind", part->kind);
    json_put_text(object, "about", part->about);
    json_put(object, "packages", packages);
    json_put(object, "supply", part->supply.high > 0 ? json_of_quantity(arena, part->supply) : json_null());
    json_put_text(object, "matched", match->matched);
    json_put(object, "by_code", json_boolean(match->by_code));
    json_put_text(object, "differs", match->differs);
    json_put_text(object, "source", part->source);
    json_put(object, "price", isnan(part->price) ? json_null() : json_real(part->price));
    json_put_text(object, "currency", isnan(part->price) ? TEXT("") : part->currency);
    json_put(object, "decibans", json_real(match->decibans));
    return object;
}

void report_matches_json(Out *out, Text marking, const ShelfMatch *matches, size_t count) {
    json_t *document = json_answer(), *array = json_array();
    for (size_t i = 0; i < count; i++) json_array_append_new(array, of_match(out->arena, &matches[i]));
    json_put_text(document, "marking", marking);
    json_put(document, "matches", array);
    json_finish(out, document);
}
