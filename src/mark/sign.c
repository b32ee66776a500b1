/* Signs of a rating label, by the number or the words a person would use for them. They stand in lore/signs.lore.
 *
 *   sign NAME ; also WORD ... ; says TEXT ; source TEXT */
#include "mark/inside.h"

void sign_load(Marks *marks, Lore *lore, const LoreEntry *entry) {
    Line line = line_start(lore, &entry->head);
    Sign sign = {.name = line_text(&line)};
    bool bad = line.bad;
    for (uint32_t i = 0; i < entry->line_count; i++) {
        line = line_start(lore, &entry->lines[i]);
        Text word = line.line->word;
        if (text_is(word, "also"))
            while (line_more(&line)) list_push(marks->arena, &sign.also, line_text(&line));
        else if (text_is(word, "says"))
            sign.says = line_text(&line);
        else if (text_is(word, "source"))
            sign.source = line_text(&line);
        else
            line_wrong(&line, TEXT("a sign has no such line"), TEXT("also, says, source"));
        line_end(&line);
        bad |= line.bad;
    }
    if (!bad) list_push(marks->arena, &marks->signs, sign);
}

/* The same words regardless of letter case and of dashes for blanks. */
static bool same_words(Text a, Text b) {
    if (a.len != b.len) return false;
    for (size_t i = 0; i < a.len; i++) {
        char x = a.at[i] == '-' ? ' ' : to_upper(a.at[i]), y = b.at[i] == '-' ? ' ' : to_upper(b.at[i]);
        if (x != y) return false;
    }
    return true;
}

static bool is_called(const Sign *sign, Text words) {
    if (same_words(sign->name, words)) return true;
    for (uint32_t i = 0; i < sign->also.count; i++)
        if (same_words(sign->also.at[i], words)) return true;
    return false;
}

void read_sign(Reader *reader) {
    static const char *const prefixes[] = {"IEC 60417-", "60417-", "ISO 7000-"};
    Text t = reader->whole;
    for (size_t i = 0; i < sizeof prefixes / sizeof prefixes[0]; i++)
        if (text_starts(t, prefixes[i])) t = text_sub(t, text_of(prefixes[i]).len, t.len);
    for (uint32_t i = 0; i < reader->marks->signs.count; i++) {
        const Sign *sign = &reader->marks->signs.at[i];
        if (!is_called(sign, t)) continue;
        double decibans = text_all_digits(t) ? weight_of(reader->marks, "sign-number") : 0;
        Draft *draft = reading_add(reader, FORM_SIGN, decibans,
                                   text_fmt(reader->arena, "%.*s: %.*s", TEXT_ARG(sign->name), TEXT_ARG(sign->says)));
        draft->reading.standard = sign->source;
    }
}
