/* copper: what is told to others. The Gerber file is drawn by an independent reader in test_gerber.sh. */
#include "tests/check.h"
#include "tests/copper_draw.h"
#include "tests/schema.h"

#include "base/file.h"
#include "copper/export.h"

#include <jansson.h>
#include <png.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

typedef struct Sample {
    Arena *arena;
    Copper copper;
} Sample;

/* Two pads with holes joined by a track that has a neck of 0.3 mm, a pad without a hole 0.4 mm below, a faint gap in a
 * track. */
static Sample sample_new(void) {
    Sample sample = {.arena = arena_new()};
    Layers layers = draw_layers(sample.arena, 20, 12, 8);
    draw_pad(&layers, 2, 2, 1.6, 0.8);
    draw_pad(&layers, 10, 2, 1.6, 0.8);
    draw_track(&layers, 2, 2, 5, 2, 0.6);
    draw_track(&layers, 5, 2, 6, 2, 0.3);
    draw_track(&layers, 6, 2, 10, 2, 0.6);
    draw_pad(&layers, 8, 3.5, 1.6, 0);
    draw_track(&layers, 1, 6, 11, 6, 0.4);
    draw_line(&layers, LAYER_COPPER, 6, 5.9, 6, 6.1, 0.2, 0.35, false);
    assert_true(copper_trace(sample.arena, &layers, NULL, 0, &sample.copper));
    return sample;
}

static void sample_free(Sample *sample) {
    copper_free(&sample->copper);
    arena_free(sample->arena);
}

static void labels_at_any_scale(void **state) {
    (void)state;
    Sample sample = sample_new();
    char path[] = "/tmp/unpick-labels-XXXXXX";
    int file = mkstemp(path);
    assert_true(file >= 0);
    close(file);
    for (double scale = 10; scale <= 50; scale += 20) {
        assert_true(export_labels(path, &sample.copper, scale));
        png_image image = {.version = PNG_IMAGE_VERSION};
        assert_true(png_image_begin_read_from_file(&image, path));
        assert_int_equal(image.width, 12 * scale);
        assert_int_equal(image.height, 8 * scale);
        assert_int_equal(image.format & (PNG_FORMAT_FLAG_LINEAR | PNG_FORMAT_FLAG_COLOR),
                         PNG_FORMAT_FLAG_LINEAR); /* 16-bit grey */
        image.format = PNG_FORMAT_LINEAR_Y;
        uint16_t *read = arena_take(sample.arena, PNG_IMAGE_SIZE(image));
        assert_true(png_image_finish_read(&image, NULL, read, 0, NULL));
        for (uint32_t y = 0; y < image.height; y++)
            for (uint32_t x = 0; x < image.width; x++) {
                PlacePoint at = {(x + 0.5) / scale, (y + 0.5) / scale};
                assert_int_equal(read[y * image.width + x] != 0, copper_net_at(&sample.copper, at) != 0);
            }
    }
    unlink(path);
    assert_false(export_labels("/nowhere/at/all.png", &sample.copper, 10));
    assert_false(export_labels(path, &sample.copper, 1e9));
    sample_free(&sample);
}

static double number(const json_t *object, const char *key) {
    const json_t *value = json_object_get(object, key);
    if (!json_is_number(value)) fail_msg("%s is no number", key);
    return json_number_value(value);
}

static void json_tells_nets_and_figures(void **state) {
    (void)state;
    Sample sample = sample_new();
    Out out = out_new(sample.arena);
    Text names[8] = {TEXT("VBAT")};
    export_json(&out, &sample.copper, &(ExportNames){.board = TEXT("A \"b\""), .nets = names},
                &(ExportFound){.corners = {{1, 2}, {3, 2}, {3, 4}, {1, 4}}, .has_corners = true, .corners_sure = 1});
    json_t *root = json_loadb(out.at, out.len, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(root);
    json_error_t error;
    Schema schema = {.root = json_load_file("doc/unpick.schema.json", JSON_REJECT_DUPLICATES, &error)};
    if (schema.root == NULL) fail_msg("doc/unpick.schema.json:%d: %s", error.line, error.text);
    if (!schema_holds(&schema, schema_ref(&schema, "#/$defs/copper"), root, "copper"))
        fail_msg("against the schema: %s", schema.why);
    assert_true(schema_one_of(&schema, json_object_get(schema.root, "oneOf"), root, "answer"));
    json_decref(schema.root);
    assert_int_equal(json_array_size(json_object_get(root, "nets")), 4);
    assert_int_equal(json_array_size(json_object_get(root, "pads")), 3);
    assert_int_equal(json_array_size(json_object_get(root, "holes")), 2);
    assert_int_equal(json_array_size(json_object_get(root, "doubts")), 1);
    assert_string_equal(json_string_value(json_object_get(json_object_get(root, "board"), "name")), "A \"b\"");
    const json_t *net = json_array_get(json_object_get(root, "nets"), 0), *figures = json_object_get(root, "figures");
    assert_string_equal(json_string_value(json_object_get(net, "name")), "VBAT");
    assert_true(fabs(number(net, "neck_mm") - 0.3) < 0.03);
    assert_true(fabs(number(figures, "narrowest_mm") - 0.3) < 0.03);
    /* IPC-2221: 0.3 mm of 35 um copper, 10 K: 1.0 A */
    assert_true(fabs(number(figures, "narrowest_ampere") - 1.0) < 0.08);
    assert_true(number(figures, "gap_mm") > 0 && number(figures, "gap_mm") < 0.3);
    json_decref(root);
    sample_free(&sample);
}

/* Every line of a pad has its 80 columns, and what stands where the standard has it (IPC-D-356A, from memory). */
static void a_net_list_has_its_columns(void **state) {
    (void)state;
    Sample sample = sample_new();
    Text names[8] = {TEXT("A-NAME-LONGER-THAN-FOURTEEN")};
    Out out = out_new(sample.arena);
    export_ipc356(&out, &sample.copper, &(ExportNames){.board = TEXT("A"), .nets = names, .bottom = true});
    Text text = out_text(&out);
    unsigned drilled = 0, flat = 0;
    for (size_t at = 0; at < text.len;) {
        size_t end = at + text_find(text_sub(text, at, text.len), TEXT("\n"));
        Text line = text_sub(text, at, end - at);
        at = end + 1;
        if (!text_starts(line, "3")) continue;
        assert_int_equal(line.len, 80);
        bool has_hole = text_starts(line, "317");
        has_hole ? drilled++ : flat++;
        assert_true(text_is(text_sub(line, 38, 3), "A02"));
        assert_int_equal(line.at[41], 'X');
        assert_int_equal(line.at[49], 'Y');
        assert_int_equal(line.at[57], 'X');
        assert_int_equal(line.at[62], 'Y');
        assert_int_equal(line.at[26], '-');
        if (!has_hole) continue;
        assert_true(text_is(text_trim(text_sub(line, 3, 14)), "NNAME1"));
        long hole = strtol(text_cstring(sample.arena, text_sub(line, 33, 4)), NULL, 10);
        long x = strtol(text_cstring(sample.arena, text_sub(line, 42, 7)), NULL, 10);
        long y = strtol(text_cstring(sample.arena, text_sub(line, 50, 7)), NULL, 10);
        assert_true(labs(hole - 800) < 50);
        assert_true(labs(labs(x - 6000) - 4000) < 50); /* mirrored: 2 and 10 mm of 12 change places */
        assert_true(labs(y - 6000) < 50);              /* y up from the bottom edge */
    }
    assert_int_equal(drilled, 2);
    assert_int_equal(flat, 1);
    assert_true(text_find(text, TEXT("P  NNAME1 A-NAME-LONGER-THAN-FOURTEEN\n")) != SIZE_MAX);
    assert_true(text_ends(text, "999\n"));
    sample_free(&sample);
}

static unsigned times(Text text, const char *part) {
    unsigned count = 0;
    for (size_t at = 0, found; (found = text_find(text_sub(text, at, text.len), text_of(part))) != SIZE_MAX;
         at += found + 1)
        count++;
    return count;
}

static void an_svg_shows_nets_and_doubts(void **state) {
    (void)state;
    Sample sample = sample_new();
    Out out = out_new(sample.arena), bare = out_new(sample.arena);
    unsigned char *rgb = arena_take(sample.arena, 3 * 12 * 8), *unseen = arena_take(sample.arena, 12 * 8);
    Flat flat = {.scale = 1, .width = 12, .height = 8, .rgb = rgb, .unseen = unseen};
    Text names[8] = {TEXT("<A&B>")};
    export_svg(&out, &sample.copper, &(ExportNames){.nets = names}, &flat);
    export_svg(&bare, &sample.copper, &(ExportNames){0}, NULL);
    assert_int_equal(times(out_text(&out), "<path "), 4);
    assert_int_equal(times(out_text(&out), "data:image/jpeg;base64,/9j/"), 1); /* FF D8 FF */
    assert_int_equal(times(out_text(&out), "&lt;A&amp;B&gt;"), 1);
    assert_int_equal(times(out_text(&out), "taken as apart"), 1);
    assert_int_equal(times(out_text(&bare), "<image"), 0);
    sample_free(&sample);
}

static void a_person_is_told_where_to_beep(void **state) {
    (void)state;
    Sample sample = sample_new();
    Out out = out_new(sample.arena);
    export_text(&out, &sample.copper, &(ExportNames){0}, &(ExportFound){0});
    Text text = out_text(&out);
    assert_true(text_starts(text, "4 nets, 3 pads, 2 holes;"));
    assert_int_equal(times(text, "narrowest between two pads: 0.3"), 1);
    assert_int_equal(times(text, "1 place in doubt"), 1);
    assert_int_equal(times(text, "a gap of 0."), 1);
    sample_free(&sample);
}

static void a_gerber_file_names_its_nets(void **state) {
    (void)state;
    Sample sample = sample_new();
    Out out = out_new(sample.arena);
    export_gerber(&out, &sample.copper, &(ExportNames){.bottom = true});
    Text text = out_text(&out);
    assert_int_equal(times(text, "%TO.N,N"), 4);
    assert_int_equal(times(text, "%TF.FileFunction,Copper,L2,Bot*%"), 1);
    assert_int_equal(times(text, "G36*"), times(text, "G37*"));
    assert_true(text_ends(text, "M02*\n"));
    sample_free(&sample);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(labels_at_any_scale),          cmocka_unit_test(json_tells_nets_and_figures),
        cmocka_unit_test(a_net_list_has_its_columns),   cmocka_unit_test(an_svg_shows_nets_and_doubts),
        cmocka_unit_test(a_gerber_file_names_its_nets), cmocka_unit_test(a_person_is_told_where_to_beep),
    };
    return cmocka_run_group_tests_name("copper_export", tests, NULL, NULL);
}
