#include "page/markup.h"

#include <assert.h>

/* As out_markup, without the characters that turn the writing direction: they could make a line read as another. */
static void escape(Out *out, Text text) {
    static const char *const turning[] = {"\xE2\x80\xAA", "\xE2\x80\xAB", "\xE2\x80\xAC", "\xE2\x80\xAD", "\xE2\x80\xAE",
                                          "\xE2\x81\xA6", "\xE2\x81\xA7", "\xE2\x81\xA8", "\xE2\x81\xA9"};
    size_t from = 0;
    for (size_t i = 0; i + 3 <= text.len; i++) {
        if ((unsigned char)text.at[i] != 0xE2) continue;
        for (size_t k = 0; k < sizeof turning / sizeof *turning; k++) {
            if (memcmp(text.at + i, turning[k], 3) != 0) continue;
            out_markup(out, text_sub(text, from, i - from));
            out_lit(out, "\xEF\xBF\xBD");
            from = i + 3;
        }
    }
    out_markup(out, text_sub(text, from, text.len));
}

void markup_fill(Out *out, const char *form, const Text *texts, size_t count) {
    size_t used = 0;
    for (const char *at = form; *at != '\0'; at++) {
        if (*at != '$') {
            out_char(out, *at);
            continue;
        }
        assert(used < count);
        escape(out, texts[used++]);
    }
    assert(used == count);
}

Text markup_numbers(Arena *arena, const uint32_t *numbers, uint32_t count) {
    Out out = out_new(arena);
    for (uint32_t i = 0; i < count; i++) out_fmt(&out, i == 0 ? "%u" : " %u", numbers[i]);
    return out_text(&out);
}
