/* Density digits of memory chips: a family's digits, letters, then the density's digits, whatever maker's letters stand
 * before and whatever stands after (`25Q64`, `25L6406E`, `24LC256`, `93C46`). Families stand in lore/memories.lore.
 *
 *   memory-family "25" ; is TEXT ; letters NAME ... ; density DIGITS SIZE { "," DIGITS SIZE } ; source TEXT */
#include "mark/inside.h"

#include <string.h>

enum { PREFIX_MOST = 4, LETTERS_MOST = 4 };

static void density_line(Marks *marks, MemoryFamily *family, Line *line) {
    do {
        Density density = {.digits = line_text(line)};
        density.bits = line_quantity(line, UNIT_BIT, "a memory size, such as 64 Mbit").value;
        if (!line->bad) list_push(marks->arena, &family->densities, density);
    } while (line_take(line, ","));
}

void memory_load(Marks *marks, Lore *lore, const LoreEntry *entry) {
    Line line = line_start(lore, &entry->head);
    MemoryFamily family = {.digits = line_text(&line)};
    bool bad = line.bad;
    for (uint32_t i = 0; i < entry->line_count; i++) {
        line = line_start(lore, &entry->lines[i]);
        Text word = line.line->word;
        if (text_is(word, "is"))
            family.is = line_text(&line);
        else if (text_is(word, "letters"))
            while (line_more(&line)) list_push(marks->arena, &family.letters, line_text(&line));
        else if (text_is(word, "density"))
            density_line(marks, &family, &line);
        else if (text_is(word, "source"))
            family.source = line_text(&line);
        else
            line_wrong(&line, TEXT("a memory family has no such line"), TEXT("is, letters, density, source"));
        line_end(&line);
        bad |= line.bad;
    }
    if (!bad) list_push(marks->arena, &marks->memories, family);
}

/* `any` admits whatever letters, `none` admits their lack. */
static bool letters_fit(const MemoryFamily *family, Text letters) {
    for (uint32_t i = 0; i < family->letters.count; i++) {
        Text listed = family->letters.at[i];
        if (text_is(listed, letters.len == 0 ? "none" : "any") || text_same_folded(listed, letters)) return true;
    }
    return false;
}

/* The longest density that the text starts with. */
static const Density *density_at(const MemoryFamily *family, Text t) {
    const Density *best = NULL;
    for (uint32_t i = 0; i < family->densities.count; i++) {
        const Density *d = &family->densities.at[i];
        bool starts = t.len >= d->digits.len && memcmp(t.at, d->digits.at, d->digits.len) == 0;
        if (starts && (best == NULL || d->digits.len > best->digits.len)) best = d;
    }
    return best;
}

static void add(Reader *reader, const MemoryFamily *family, const Density *density, double decibans) {
    Quantity size = memory_size(density->bits);
    Text said = quantity_said(reader->arena, size);
    double bytes = density->bits / 8;
    Text in_bytes = bytes >= 1048576 ? text_fmt(reader->arena, "%.4g MiB", bytes / 1048576)
                    : bytes >= 1024  ? text_fmt(reader->arena, "%.4g KiB", bytes / 1024)
                                     : text_fmt(reader->arena, "%.4g bytes", bytes);
    Draft *draft = reading_add(
        reader, FORM_MEMORY, decibans,
        text_fmt(reader->arena, "%.*s of %.*s (%.*s)", TEXT_ARG(family->is), TEXT_ARG(said), TEXT_ARG(in_bytes)));
    reading_value(draft, size);
    reading_field(reader, draft, "size", in_bytes);
    if (family->source.len > 0) draft->reading.standard = family->source;
    reading_assume(reader, draft, "digits \"%.*s\" after %.*s are the density", TEXT_ARG(density->digits),
                   TEXT_ARG(family->digits));
}

static void try_family(Reader *reader, const MemoryFamily *family, Text t) {
    if (t.len < family->digits.len || memcmp(t.at, family->digits.at, family->digits.len) != 0) return;
    t = text_sub(t, family->digits.len, t.len);
    size_t letters = 0;
    while (letters < t.len && letters <= LETTERS_MOST && is_letter(t.at[letters])) letters++;
    if (letters > LETTERS_MOST || !letters_fit(family, text_sub(t, 0, letters))) return;
    Text rest = text_sub(t, letters, t.len);
    const Density *density = density_at(family, rest);
    if (density == NULL) return;
    size_t digits = 0;
    while (digits < rest.len && is_digit(rest.at[digits])) digits++;
    size_t after = digits - density->digits.len; /* the generation, as in 6406 */
    if (after > 2 || (letters == 0 && after > 0)) return;
    add(reader, family, density, letters == 0 ? weight_of(reader->marks, "memory-no-letters") : 0);
}

void read_memory(Reader *reader) {
    for (uint32_t w = 0; w < reader->word_count; w++) {
        size_t prefix = 0;
        Text t = reader->words[w];
        while (prefix < t.len && is_letter(t.at[prefix])) prefix++;
        if (prefix > PREFIX_MOST) continue;
        for (uint32_t i = 0; i < reader->marks->memories.count; i++)
            try_family(reader, &reader->marks->memories.at[i], text_sub(t, prefix, t.len));
    }
}
