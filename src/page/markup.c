#include "page/markup.h"

#include <assert.h>

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

Text markup_numbers(Arena *arena, const uint32_t *numbers, uint32_t count) {
    Out out = out_new(arena);
    for (uint32_t i = 0; i < count; i++) out_fmt(&out, i == 0 ? "%u" : " %u", numbers[i]);
    return out_text(&out);
}
