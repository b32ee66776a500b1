#include "base/text.h"

#include <stdio.h>
#include <string.h>

Text text_of(const char *cstring) { return cstring == NULL ? (Text){"", 0} : (Text){cstring, strlen(cstring)}; }

Text text_sub(Text text, size_t from, size_t len) {
    if (text.len == 0) return text; /* which may have no place at all */
    if (from > text.len) from = text.len;
    if (len > text.len - from) len = text.len - from;
    return (Text){text.at + from, len};
}

static bool blank(char c) { return c == ' ' || c == '\t' || c == '\r' || c == '\n'; }

Text text_trim(Text text) {
    while (text.len > 0 && blank(text.at[0])) text.at++, text.len--;
    while (text.len > 0 && blank(text.at[text.len - 1])) text.len--;
    return text;
}

static char folded(char c) { return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c; }

bool text_same_folded(Text a, Text b) {
    if (a.len != b.len) return false;
    for (size_t i = 0; i < a.len; i++)
        if (folded(a.at[i]) != folded(b.at[i])) return false;
    return true;
}

int text_order(Text a, Text b) {
    size_t shorter = a.len < b.len ? a.len : b.len;
    int order = shorter == 0 ? 0 : memcmp(a.at, b.at, shorter);
    return order != 0 ? order : (a.len > b.len) - (a.len < b.len);
}

bool text_starts(Text text, const char *prefix) {
    size_t len = strlen(prefix);
    return text.len >= len && memcmp(text.at, prefix, len) == 0;
}

bool text_ends(Text text, const char *suffix) {
    size_t len = strlen(suffix);
    return text.len >= len && memcmp(text.at + text.len - len, suffix, len) == 0;
}

size_t text_find(Text text, Text part) {
    for (size_t i = 0; i + part.len <= text.len; i++)
        if (memcmp(text.at + i, part.at, part.len) == 0) return i;
    return SIZE_MAX;
}

bool text_all_digits(Text text) {
    for (size_t i = 0; i < text.len; i++)
        if (text.at[i] < '0' || text.at[i] > '9') return false;
    return text.len > 0;
}

/* Length of the well-formed sequence at `s` (RFC 3629, section 4), or 0. */
static size_t utf8_length(const unsigned char *s, size_t left) {
    unsigned char c = s[0];
    if (c < 0x80) return c != 0;
    size_t len = c >= 0xC2 && c <= 0xDF ? 2 : c >= 0xE0 && c <= 0xEF ? 3 : c >= 0xF0 && c <= 0xF4 ? 4 : 0;
    if (len == 0 || len > left) return 0;
    unsigned char low = 0x80, high = 0xBF;
    if (c == 0xE0) low = 0xA0;
    if (c == 0xED) high = 0x9F;
    if (c == 0xF0) low = 0x90;
    if (c == 0xF4) high = 0x8F;
    if (s[1] < low || s[1] > high) return 0;
    for (size_t i = 2; i < len; i++)
        if ((s[i] & 0xC0) != 0x80) return 0;
    return len;
}

size_t text_bad_byte(Text text) {
    const unsigned char *s = (const unsigned char *)text.at;
    for (size_t i = 0; i < text.len;) {
        if (s[i] != 0 && s[i] < 0x80) {
            i++;
            continue;
        }
        size_t len = utf8_length(s + i, text.len - i);
        if (len == 0) return i;
        i += len;
    }
    return text.len;
}

Text text_copy(Arena *arena, Text text) { return (Text){text_cstring(arena, text), text.len}; }

char *text_cstring(Arena *arena, Text text) {
    char *copy = arena_take(arena, text.len + 1);
    if (text.len > 0) memcpy(copy, text.at, text.len);
    return copy;
}

Text text_vfmt(Arena *arena, const char *format, va_list args) {
    va_list again;
    va_copy(again, args);
    int len = vsnprintf(NULL, 0, format, args);
    if (len < 0) len = 0;
    char *at = arena_take(arena, (size_t)len + 1);
    vsnprintf(at, (size_t)len + 1, format, again);
    va_end(again);
    return (Text){at, (size_t)len};
}

Text text_fmt(Arena *arena, const char *format, ...) {
    va_list args;
    va_start(args, format);
    Text text = text_vfmt(arena, format, args);
    va_end(args);
    return text;
}

enum { DISTANCE_MOST = 64 };

unsigned text_distance(Text a, Text b, unsigned most) {
    if (a.len > DISTANCE_MOST || b.len > DISTANCE_MOST) return most + 1;
    unsigned row[3][DISTANCE_MOST + 1];
    unsigned *before = row[0], *last = row[1], *now = row[2];
    for (size_t j = 0; j <= b.len; j++) last[j] = (unsigned)j;
    for (size_t i = 1; i <= a.len; i++) {
        unsigned least = now[0] = (unsigned)i;
        for (size_t j = 1; j <= b.len; j++) {
            unsigned change = last[j - 1] + (a.at[i - 1] != b.at[j - 1]);
            unsigned drop = last[j] + 1, add = now[j - 1] + 1;
            unsigned best = change < drop ? change : drop;
            if (add < best) best = add;
            if (i > 1 && j > 1 && a.at[i - 1] == b.at[j - 2] && a.at[i - 2] == b.at[j - 1] && before[j - 2] + 1 < best)
                best = before[j - 2] + 1;
            now[j] = best;
            if (best < least) least = best;
        }
        if (least > most) return most + 1;
        unsigned *spare = before;
        before = last, last = now, now = spare;
    }
    return last[b.len] > most ? most + 1 : last[b.len];
}

Text text_nearest(Text word, const Text *words, size_t count) {
    char low[DISTANCE_MOST], low_word[DISTANCE_MOST];
    if (word.len > DISTANCE_MOST) return (Text){"", 0};
    for (size_t i = 0; i < word.len; i++) low_word[i] = folded(word.at[i]);
    Text best = {"", 0};
    unsigned nearest = word.len <= 3 ? 1 : word.len <= 6 ? 2 : 3; /* about a slip in three letters */
    for (size_t k = 0; k < count; k++) {
        if (words[k].len > DISTANCE_MOST) continue;
        for (size_t i = 0; i < words[k].len; i++) low[i] = folded(words[k].at[i]);
        unsigned distance = text_distance((Text){low_word, word.len}, (Text){low, words[k].len}, nearest);
        if (distance < nearest || (distance == nearest && best.len == 0)) {
            nearest = distance;
            best = words[k];
        }
    }
    return best;
}

Out out_new(Arena *arena) { return (Out){.arena = arena, .at = NULL, .len = 0, .room = 0}; }

static void out_reserve(Out *out, size_t more) {
    if (out->len + more <= out->room) return;
    size_t room = out->room == 0 ? 256 : out->room;
    while (room < out->len + more) room *= 2;
    out->at = arena_grow(out->arena, out->at, out->room, room);
    out->room = room;
}

void out_add(Out *out, Text text) {
    if (text.len == 0) return;
    out_reserve(out, text.len);
    memcpy(out->at + out->len, text.at, text.len);
    out->len += text.len;
}

void out_char(Out *out, char c) {
    out_reserve(out, 1);
    out->at[out->len++] = c;
}

void out_fmt(Out *out, const char *format, ...) {
    va_list args, again;
    va_start(args, format);
    va_copy(again, args);
    int len = vsnprintf(NULL, 0, format, args);
    va_end(args);
    if (len > 0) {
        out_reserve(out, (size_t)len + 1);
        vsnprintf(out->at + out->len, (size_t)len + 1, format, again);
        out->len += (size_t)len;
    }
    va_end(again);
}

/* Bytes of the character at `i` when it turns the writing direction or breaks the line (U+061C, U+200E, U+200F, U+2028 to U+202E,
 * U+2066 to U+2069): a line could read as another. 0: it does not. */
static size_t turning(Text text, size_t i) {
    const unsigned char *c = (const unsigned char *)text.at + i;
    size_t left = text.len - i;
    if (left >= 2 && c[0] == 0xD8 && c[1] == 0x9C) return 2;
    if (left < 3 || c[0] != 0xE2) return 0;
    bool turns = (c[1] == 0x80 && (c[2] == 0x8E || c[2] == 0x8F || (c[2] >= 0xA8 && c[2] <= 0xAE))) || (c[1] == 0x81 && c[2] >= 0xA6 && c[2] <= 0xA9);
    return turns ? 3 : 0;
}

void out_markup(Out *out, Text text) {
    for (size_t i = 0; i < text.len; i++) {
        char c = text.at[i];
        size_t turns = turning(text, i);
        if (turns > 0) {
            out_lit(out, "\xEF\xBF\xBD");
            i += turns - 1;
            continue;
        }
        const char *reference = c == '&'    ? "&amp;"
                                : c == '<'  ? "&lt;"
                                : c == '>'  ? "&gt;"
                                : c == '"'  ? "&quot;"
                                : c == '\'' ? "&#39;"
                                            : NULL;
        if (reference != NULL)
            out_add(out, text_of(reference));
        else
            out_char(out, (unsigned char)c < ' ' ? ' ' : c);
    }
}

void out_base64(Out *out, Text bytes) {
    static const char digit[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    const unsigned char *at = (const unsigned char *)bytes.at;
    for (size_t i = 0; i < bytes.len; i += 3) {
        size_t left = bytes.len - i;
        uint32_t three = (uint32_t)at[i] << 16 | (uint32_t)(left > 1 ? at[i + 1] : 0) << 8 | (left > 2 ? at[i + 2] : 0);
        char four[4] = {digit[three >> 18], digit[three >> 12 & 63], left > 1 ? digit[three >> 6 & 63] : '=',
                        left > 2 ? digit[three & 63] : '='};
        out_add(out, (Text){four, 4});
    }
}

Text out_text(const Out *out) { return (Text){out->at == NULL ? "" : out->at, out->len}; }
