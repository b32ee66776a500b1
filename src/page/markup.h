/* HTML written so that nothing from outside can become markup. Private to the room. */
#ifndef UNPICK_PAGE_MARKUP_H
#define UNPICK_PAGE_MARKUP_H

#include "base/text.h"

/* Writes the form with each `$` replaced by the next text, escaped: fit for content and for attributes between quotes.
 * Forms are literals of this program; whatever comes from outside is a text. */
void markup_fill(Out *out, const char *form, const Text *texts, size_t count);
#define markup(out, form, ...)                                                                                             \
    markup_fill((out), (form), (const Text[]){__VA_ARGS__}, sizeof((const Text[]){__VA_ARGS__}) / sizeof(Text))

/* A piece of a sheet: an element, on lines of its own, that says by a hash of what is in it whether it is still the same,
 * so that a page that is open replaces only those which are not. Opening writes `<TAG id="ID" data-is="..."`, and what
 * closing it wants to know; the rest of the tag, the content and the end tag come between. */
size_t piece_open(Out *out, const char *tag, Text id);
void piece_close(Out *out, size_t opened);

/* `1 2 3`, for data attributes. */
Text markup_numbers(Arena *arena, const uint32_t *numbers, uint32_t count);

#endif
