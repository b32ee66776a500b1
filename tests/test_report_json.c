/* report: every JSON answer against doc/unpick.schema.json. */
#include "tests/report_fixture.h"
#include "tests/schema.h"

#include "report/report.h"

static Schema schema_read(void) {
    json_error_t error;
    Schema schema = {.root = json_load_file("doc/unpick.schema.json", JSON_REJECT_DUPLICATES, &error)};
    if (schema.root == NULL) fail_msg("doc/unpick.schema.json:%d: %s", error.line, error.text);
    return schema;
}

static json_t *parsed(const Out *out) {
    json_error_t error;
    json_t *document = json_loadb(out->at, out->len, JSON_REJECT_DUPLICATES, &error);
    if (document == NULL) fail_msg("line %d: %s", error.line, error.text);
    return document;
}

/* The answer is one of the schema's, and of this kind. */
static json_t *assert_answer(const Out *out, const char *kind) {
    Schema schema = schema_read();
    json_t *document = parsed(out);
    char ref[64];
    snprintf(ref, sizeof ref, "#/$defs/%s", kind);
    if (!schema_holds(&schema, schema_ref(&schema, ref), document, kind)) fail_msg("against the schema: %s", schema.why);
    assert_true(schema_one_of(&schema, json_object_get(schema.root, "oneOf"), document, "answer"));
    json_decref(schema.root);
    return document;
}

static json_t *teardown_json(Teardown *t) {
    Out out = out_new(t->arena);
    report_json(&out, t->reasoning);
    return assert_answer(&out, "teardown");
}

/* The check itself: it must see what is wrong. */
static void the_schema_check_refuses(void **state) {
    (void)state;
    const char *const wrong[] = {
        "{\"unpick\": 2, \"asked\": \"\", \"claims\": []}",
        "{\"unpick\": 1, \"claims\": []}",
        "{\"unpick\": 1, \"asked\": \"\", \"claims\": [{}]}",
        "{\"unpick\": 1, \"asked\": \"\", \"claims\": [], \"more\": 1}",
        "{\"unpick\": 1, \"asked\": 5, \"claims\": []}",
        "{\"unpick\": 1, \"marking\": \"\", \"readings\": [{\"kind\": \"\", \"says\": \"x\", \"value\": null, \"fields\": "
        "{}, "
        "\"standard\": \"x\", \"assumed\": \"\", \"p\": 0.5, \"decibans\": 0}]}",
        "{\"unpick\": 1, \"marking\": \"\", \"readings\": [{\"kind\": \"x\", \"says\": \"x\", \"value\": null, \"fields\": "
        "{}, "
        "\"standard\": \"x\", \"assumed\": \"\", \"p\": 1.5, \"decibans\": 0}]}",
    };
    Schema schema = schema_read();
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        json_t *document = json_loads(wrong[i], 0, NULL);
        assert_non_null(document);
        if (schema_one_of(&schema, json_object_get(schema.root, "oneOf"), document, ""))
            fail_msg("let through: %s", wrong[i]);
        json_decref(document);
    }
    json_decref(schema.root);
}

static void a_teardown_is_what_the_schema_says(void **state) {
    (void)state;
    Teardown t = teardown_of(FIXTURE_NOTES, FIXTURE_LORE);
    json_t *document = teardown_json(&t);
    assert_int_equal(json_array_size(json_object_get(document, "parts")), t.bench->parts.count);
    assert_int_equal(json_array_size(json_object_get(document, "claims")), t.reasoning->claims.count);
    assert_int_equal(json_array_size(json_object_get(document, "hazards")), 1);
    assert_int_equal(json_array_size(json_object_get(document, "contradictions")), t.bench->conflicts.count);
    assert_string_equal(json_string_value(json_object_get(json_object_get(document, "product"), "name")),
                        "No-touch <dispenser> & \"pump\"");
    json_decref(document);
    teardown_end(&t);
}

static json_t *claim_json(json_t *document, const char *id) {
    size_t i;
    json_t *claim;
    json_array_foreach(json_object_get(document, "claims"), i, claim) {
        if (strcmp(json_string_value(json_object_get(claim, "id")), id) == 0) return claim;
    }
    fail_msg("no claim %s", id);
    return NULL;
}

/* Ohm's law: (6 V - 0.6..0.75 V) / 100 ohm ±5 %, the claim's values in SI base units. */
static void a_claim_carries_its_values_and_its_tally(void **state) {
    (void)state;
    Teardown t = teardown_of(FIXTURE_NOTES, FIXTURE_LORE);
    json_t *document = teardown_json(&t), *claim = claim_json(document, "switch-to-ground:Q1");
    json_t *current = json_object_get(json_object_get(claim, "values"), "base-current"), *weight;
    Quantity expected = value_in(claim_with_id(&t, "switch-to-ground:Q1"), "base-current");
    assert_true(fabs(json_number_value(json_object_get(current, "value")) - expected.value) < 1e-11);
    assert_true(fabs(json_number_value(json_object_get(current, "low")) - expected.low) < 1e-11);
    assert_string_equal(json_string_value(json_object_get(current, "unit")), "A");
    double sum = 0;
    size_t i;
    json_array_foreach(json_object_get(claim, "because"), i, weight) sum +=
        json_number_value(json_object_get(weight, "decibans"));
    assert_true(fabs(sum - json_number_value(json_object_get(claim, "decibans"))) < 1e-9);
    json_decref(document);
    teardown_end(&t);
}

static void why_is_what_the_schema_says(void **state) {
    (void)state;
    Teardown t = teardown_of(FIXTURE_NOTES, FIXTURE_LORE);
    const char *const asked[] = {"switch-to-ground:Q1", "Q1", "U1.5", "", "nothing \xC3\xA9"};
    for (size_t i = 0; i < sizeof asked / sizeof *asked; i++) {
        Out out = out_new(t.arena);
        assert_int_equal(report_why_json(&out, t.reasoning, text_of(asked[i])), i < 4);
        json_t *document = assert_answer(&out, "why");
        assert_int_equal(json_array_size(json_object_get(document, "claims")) > 0, i < 4);
        json_decref(document);
    }
    teardown_end(&t);
}

static void markings_packages_and_parts_are_what_the_schema_says(void **state) {
    (void)state;
    Teardown t = teardown_of("", FIXTURE_LORE);
    const char *const markings[] = {"472", "01C", "4k7", "104K", "CR2032", "IP44", "\xFF\x01", ""};
    for (size_t i = 0; i < sizeof markings / sizeof *markings; i++) {
        Out out = out_new(t.arena);
        report_mark_json(&out, text_of(markings[i]), mark_read(t.arena, t.marks, text_of(markings[i]), (MarkContext){0}));
        json_decref(assert_answer(&out, "mark"));
    }
    MarkFit fits[5];
    size_t fit_count =
        mark_package_rank(t.arena, t.marks, (MarkMeasured){.body_a = 5, .body_b = 6.2, .pitch = 1.27, .leads = 8}, fits, 5);
    Out out = out_new(t.arena);
    report_fits_json(&out, fits, fit_count);
    json_t *document = assert_answer(&out, "packages");
    assert_int_equal(json_array_size(json_object_get(document, "packages")), fit_count);
    json_decref(document);
    ShelfMatch matches[5];
    size_t match_count = shelf_find(t.shelf, t.arena, (ShelfQuery){.marking = TEXT("LM35B")}, matches, 5);
    Out found = out_new(t.arena);
    report_matches_json(&found, TEXT("LM35B"), matches, match_count);
    document = assert_answer(&found, "shelf");
    assert_true(json_array_size(json_object_get(document, "matches")) > 0);
    json_decref(document);
    teardown_end(&t);
}

/* With its board's photo, from the folder. */
static void the_demo_is_what_the_schema_says(void **state) {
    (void)state;
    Arena *arena = arena_new();
    Diags problems = diags_new(arena);
    ReportTeardown teardown;
    if (!report_open(arena, "demo/dispenser", NULL, &teardown, &problems)) fail_msg("the demo can't be read");
    assert_int_equal(problems.list.count, 0);
    Out out = out_new(arena);
    report_json(&out, teardown.reasoning);
    json_t *document = assert_answer(&out, "teardown"), *boards = json_object_get(document, "boards");
    assert_true(json_array_size(json_object_get(document, "parts")) > 0);
    assert_int_equal(json_array_size(boards), 1);
    assert_true(json_array_size(json_object_get(json_array_get(boards, 0), "pins")) > 50);
    json_decref(document);
    Out sums = out_new(arena);
    report_sums_json(&sums, teardown.sums);
    document = assert_answer(&sums, "sums");
    assert_int_equal(json_array_size(json_object_get(document, "modes")), 4);
    assert_true(json_array_size(json_object_get(document, "explanations")) > 0);
    json_decref(document);
    report_close(&teardown);
    arena_free(arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_schema_check_refuses),
        cmocka_unit_test(a_teardown_is_what_the_schema_says),
        cmocka_unit_test(a_claim_carries_its_values_and_its_tally),
        cmocka_unit_test(why_is_what_the_schema_says),
        cmocka_unit_test(markings_packages_and_parts_are_what_the_schema_says),
        cmocka_unit_test(the_demo_is_what_the_schema_says),
    };
    return cmocka_run_group_tests_name("report_json", tests, NULL, NULL);
}
