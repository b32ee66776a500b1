/* The IP code of IEC 60529 (from memory); the words for each numeral and letter stand in lore/codes.lore.
 *
 *   code = "IP" first second [ additional ] { supplementary }
 *   first = 0..6 | X ; second = 0..9 | 9K (ISO 20653) | X ; additional = A..D ; supplementary = H M S W f */
#include "mark/inside.h"

static void refuse(Reader *reader, const char *why) {
    reader->refused = text_fmt(reader->arena, "no IP code of IEC 60529: %s", why);
}

static const CodeEntry *numeral(Reader *reader, Code code, char c, const char *why) {
    const CodeEntry *entry = code_letter(reader->marks, code, c);
    if (entry == NULL) refuse(reader, why);
    return entry;
}

/* `IP44`, `IP 44`; the part after IP without blanks. */
static bool after_ip(const Reader *reader, char *rest, size_t most, size_t *len) {
    Text t = reader->whole;
    if (t.len < 4 || to_upper(t.at[0]) != 'I' || to_upper(t.at[1]) != 'P') return false;
    *len = 0;
    for (size_t i = 2; i < t.len; i++) {
        if (t.at[i] == ' ') continue;
        if (*len == most) return false;
        rest[(*len)++] = t.at[i] == 'f' ? 'f' : to_upper(t.at[i]);
    }
    return *len >= 2 && (is_digit(rest[0]) || rest[0] == 'X');
}

static bool take_letters(Reader *reader, Draft *draft, Text letters, bool *access) {
    for (size_t i = 0; i < letters.len; i++) {
        const CodeEntry *additional = i == 0 ? code_letter(reader->marks, CODE_IP_ACCESS, letters.at[i]) : NULL;
        const CodeEntry *extra = code_letter(reader->marks, CODE_IP_EXTRA, letters.at[i]);
        if (additional == NULL && extra == NULL) {
            refuse(reader, "after the numerals stand A to D, then H, M, S, W or f");
            return false;
        }
        *access |= additional != NULL;
        Text says = additional != NULL ? additional->says : extra->says;
        reading_field(reader, draft, additional != NULL ? "additional letter" : "supplementary letter", says);
    }
    return true;
}

void read_ip(Reader *reader) {
    char rest[8];
    size_t len;
    if (!after_ip(reader, rest, sizeof rest, &len)) return;
    const CodeEntry *solid = numeral(reader, CODE_IP_SOLID, rest[0], "the first numeral goes from 0 to 6, or X");
    const CodeEntry *water = numeral(reader, CODE_IP_WATER, rest[1], "the second numeral goes from 0 to 9, or X");
    if (solid == NULL || water == NULL) return;
    size_t at = 2;
    bool jet = rest[1] == '9' && len > 2 && rest[2] == 'K', access = false;
    if (jet) at++;
    Draft *draft = reading_add(reader, FORM_IP, 0,
                               text_fmt(reader->arena, "%.*s; %.*s", TEXT_ARG(solid->says), TEXT_ARG(water->says)));
    reading_field(reader, draft, "solids", solid->says);
    reading_field(reader, draft, "water", water->says);
    if (jet) reading_assume(reader, draft, "9K is of ISO 20653 (road vehicles)");
    bool good = take_letters(reader, draft, (Text){rest + at, len - at}, &access);
    if (good && rest[0] == 'X' && rest[1] == 'X' && !access) {
        refuse(reader, "XX without a letter says nothing");
        good = false;
    }
    if (!good) reader->drafts.count--;
}
