#include "base/json.h"

enum { INDENT = 2, DIGITS = 12 /* more than any measurement has, fewer than would show 0.1 as 0.1000000000000000055 */ };

json_t *json_of_text(Text text) {
    if (text.len == 0) return json_string(""); /* an empty text may have no address, which jansson refuses */
    json_t *value = json_stringn(text.at, text.len);
    if (value != NULL) return value;
    Arena *arena = arena_new();
    Out clean = out_new(arena);
    for (size_t good; text.len > 0; text = text_sub(text, good + 1, text.len)) {
        good = text_bad_byte(text);
        out_add(&clean, text_sub(text, 0, good));
        if (good < text.len) out_lit(&clean, "\xEF\xBF\xBD");
    }
    value = json_stringn(clean.at, clean.len);
    arena_free(arena);
    return value;
}

void json_put(json_t *object, const char *key, json_t *value) {
    if (value != NULL) json_object_set_new(object, key, value);
}

void json_put_text(json_t *object, const char *key, Text text) { json_put(object, key, json_of_text(text)); }

static int write_out(const char *buffer, size_t size, void *out) {
    out_add(out, (Text){buffer, size});
    return 0;
}

static void finish(Out *out, json_t *document, size_t form) {
    json_dump_callback(document, write_out, out, form | JSON_REAL_PRECISION(DIGITS));
    out_char(out, '\n');
    json_decref(document);
}

void json_finish(Out *out, json_t *document) { finish(out, document, JSON_INDENT(INDENT)); }

void json_finish_line(Out *out, json_t *document) { finish(out, document, JSON_COMPACT); }
