/* How wide text is on a terminal, and what of it may go there.
 *
 * The ranges are those of Unicode Standard Annex #11 (East Asian Width W and F) and of the combining marks (general
 * category Mn) that people type at a bench, from memory; a character outside them takes one column. A terminal obeys
 * control characters, and characters that turn the writing direction can make a line read as another: neither leaves the
 * house. */
#include "report/words.h"

#include <string.h>

typedef struct Range {
    uint32_t first, last;
} Range;

static const Range NO_COLUMN[] = {{0x0300, 0x036F}, {0x0483, 0x0489}, {0x0591, 0x05BD}, {0x064B, 0x065F}, {0x1AB0, 0x1AFF},
                                  {0x1DC0, 0x1DFF}, {0x200B, 0x200D}, {0x20D0, 0x20FF}, {0xFE00, 0xFE0F}, {0xFE20, 0xFE2F}};
static const Range TWO_COLUMNS[] = {{0x1100, 0x115F},   {0x2E80, 0x303E},   {0x3041, 0xA4CF},  {0xAC00, 0xD7A3},
                                    {0xF900, 0xFAFF},   {0xFE30, 0xFE6F},   {0xFF00, 0xFF60},  {0xFFE0, 0xFFE6},
                                    {0x1F300, 0x1F64F}, {0x1F900, 0x1F9FF}, {0x20000, 0x3FFFD}};
static const Range UNSAFE[] = {{0x0000, 0x001F}, {0x007F, 0x009F}, {0x061C, 0x061C}, {0x200E, 0x200F},
                               {0x2028, 0x202E}, {0x2066, 0x2069}, {0xFEFF, 0xFEFF}, {0xFFFE, 0xFFFF}};

static bool within(const Range *ranges, size_t count, uint32_t code) {
    for (size_t i = 0; i < count; i++)
        if (code >= ranges[i].first && code <= ranges[i].last) return true;
    return false;
}

#define WITHIN(ranges, code) within((ranges), sizeof(ranges) / sizeof *(ranges), (code))

uint32_t words_next(Text *text) {
    const unsigned char *s = (const unsigned char *)text->at;
    size_t len = s[0] < 0x80 ? 1 : s[0] < 0xC2 ? 0 : s[0] < 0xE0 ? 2 : s[0] < 0xF0 ? 3 : s[0] < 0xF5 ? 4 : 0;
    bool good = len > 0 && (s[0] == 0 || (len <= text->len && text_bad_byte(text_sub(*text, 0, len)) == len));
    uint32_t code = !good ? 0xFFFD : len == 1 ? s[0] : s[0] & (0xFFU >> (len + 1));
    for (size_t i = 1; good && i < len; i++) code = code << 6 | (s[i] & 0x3FU);
    *text = text_sub(*text, good ? len : 1, text->len);
    return code;
}

bool words_unsafe(uint32_t code) { return WITHIN(UNSAFE, code); }

uint32_t words_columns(uint32_t code) {
    if (code < 0x300) return code >= 0x20 ? 1 : 0;
    return WITHIN(NO_COLUMN, code) ? 0 : WITHIN(TWO_COLUMNS, code) ? 2 : 1;
}

void words_clean(Out *out, Text text) {
    while (text.len > 0) {
        Text before = text;
        uint32_t code = words_next(&text);
        if (code == '\t')
            out_char(out, ' ');
        else if (code == 0xFFFD || words_unsafe(code))
            out_lit(out, "\xEF\xBF\xBD");
        else
            out_add(out, text_sub(before, 0, before.len - text.len));
    }
}

bool words_glued(Text before, Text after) {
    if (before.len == 0 || before.at[before.len - 1] < '0' || before.at[before.len - 1] > '9') return false;
    Text word = {after.at, 0};
    while (word.len < after.len && (unsigned char)after.at[word.len] > ' ' && strchr(",.;:)", after.at[word.len]) == NULL)
        word.len++;
    Unit unit;
    double factor;
    return word.len > 0 && word.len <= 5 && unit_parse(word, &unit, &factor);
}
