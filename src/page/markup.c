#include "page/markup.h"

#include <assert.h>
#include <stdio.h>

#define XXH_INLINE_ALL
#include <xxhash.h>

void markup_fill(Out *out, const char *form, const Text *texts, size_t count) {
    size_t used = 0;
    for (const char *at = form; *at != '\0'; at++) {
        if (*at != '$') {
            out_char(out, *at);
            continue;
        }
        assert(used < count);
        out_markup(out, texts[used++]);
    }
    assert(used == count);
}

enum { HASH_DIGITS = 16 };

size_t piece_open(Out *out, const char *tag, Text id) {
    out_fmt(out, "<%s id=\"", tag);
    out_markup(out, id);
    out_lit(out, "\" data-is=\"");
    out_fmt(out, "%0*d\"", HASH_DIGITS, 0);
    return out->len;
}

void piece_close(Out *out, size_t opened) {
    char hash[HASH_DIGITS + 1];
    snprintf(hash, sizeof hash, "%016llx", (unsigned long long)XXH3_64bits(out->at + opened, out->len - opened));
    memcpy(out->at + opened - strlen("\"") - HASH_DIGITS, hash, HASH_DIGITS);
    out_char(out, '\n');
}

Text markup_numbers(Arena *arena, const uint32_t *numbers, uint32_t count) {
    Out out = out_new(arena);
    for (uint32_t i = 0; i < count; i++) out_fmt(&out, i == 0 ? "%u" : " %u", numbers[i]);
    return out_text(&out);
}
