/* Text: a stretch of bytes owned by someone else (a file's buffer, an arena, a literal); never ends in a NUL. */
#ifndef UNPICK_BASE_TEXT_H
#define UNPICK_BASE_TEXT_H

#include "base/arena.h"

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

typedef struct Text {
    const char *at;
    size_t len;
} Text;

#define TEXT(literal) ((Text){(literal), sizeof(literal) - 1})
#define TEXT_INIT(literal) {(literal), sizeof(literal) - 1}
#define TEXT_ARG(text) (int)(text).len, (text).at /* for printf's "%.*s" */

Text text_of(const char *cstring); /* NULL gives the empty text */
Text text_sub(Text text, size_t from, size_t len); /* clipped to what there is */
Text text_trim(Text text);                         /* without blanks at both ends */
static inline bool text_same(Text a, Text b) { return a.len == b.len && (a.len == 0 || memcmp(a.at, b.at, a.len) == 0); }
bool text_same_folded(Text a, Text b); /* ASCII letters regardless of case */
int text_order(Text a, Text b);        /* <0, 0, >0; bytewise */
static inline bool text_is(Text a, const char *cstring) { return text_same(a, (Text){cstring, strlen(cstring)}); }
bool text_starts(Text text, const char *prefix);
bool text_ends(Text text, const char *suffix);
size_t text_find(Text text, Text part); /* offset, or SIZE_MAX */
bool text_all_digits(Text text);        /* 0 to 9 only, and not empty */

/* Offset of the first byte that is not part of valid UTF-8 (RFC 3629), or of a NUL; text.len when all is well. */
size_t text_bad_byte(Text text);

/* Copies that an arena owns; text_cstring adds the NUL that C wants. */
Text text_copy(Arena *arena, Text text);
char *text_cstring(Arena *arena, Text text);
Text text_fmt(Arena *arena, const char *format, ...) __attribute__((format(printf, 2, 3)));
Text text_vfmt(Arena *arena, const char *format, va_list args);

/* The spelling in `words` nearest to `word` (letters regardless of case, swapped neighbours count once), or an empty text
 * when none is near enough to be a likely slip. */
Text text_nearest(Text word, const Text *words, size_t count);

/* Edit distance over bytes with insertions, deletions, changes and swaps of neighbours (optimal string alignment); stops
 * early and gives most + 1 beyond `most`. For texts of up to 64 bytes; longer ones give most + 1. */
unsigned text_distance(Text a, Text b, unsigned most);

/* A growing output text. Out on an arena; `out_text` is what was written so far. */
typedef struct Out {
    Arena *arena;
    char *at;
    size_t len, room;
} Out;

Out out_new(Arena *arena);
void out_add(Out *out, Text text);
void out_char(Out *out, char c);
void out_fmt(Out *out, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* As text within HTML or XML: & < > " ' as references; controls, which XML forbids, as blanks; what turns the writing direction as
 * U+FFFD, since with it a line could read as another. */
void out_markup(Out *out, Text text);
void out_base64(Out *out, Text bytes); /* RFC 4648, with padding */
Text out_text(const Out *out);
#define out_lit(out, literal) out_add((out), TEXT(literal))

#endif
