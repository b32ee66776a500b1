/* Small pieces of sentence: figures, line numbers, names of sorts. Each is a text of its own on the arena; costs nothing.
 */
#include "report/words.h"

#include <math.h>

Text words_sentence(Arena *arena, Text text) {
    text = text_trim(text);
    if (text.len == 0) return text;
    char last = text.at[text.len - 1];
    return last == '.' || last == '!' || last == '?' ? text : text_fmt(arena, "%.*s.", TEXT_ARG(text));
}

Text words_capital(Arena *arena, Text text) {
    if (text.len == 0 || text.at[0] < 'a' || text.at[0] > 'z') return text;
    return text_fmt(arena, "%c%.*s", text.at[0] - 'a' + 'A', TEXT_ARG(text_sub(text, 1, text.len)));
}

Text words_quantity(Arena *arena, Quantity quantity) {
    Out out = out_new(arena);
    quantity_print(&out, quantity);
    return out_text(&out);
}

Text words_range(Arena *arena, Quantity quantity) {
    static const double ALIKE = 1e-4; /* of its size: no meter on the bench tells the ends apart */
    Out out = out_new(arena);
    if (quantity.high - quantity.low < ALIKE * fmax(fabs(quantity.low), fabs(quantity.high)))
        quantity = quantity_exact(quantity.value, quantity.unit);
    quantity_print_range(&out, quantity);
    return out_text(&out);
}

bool words_nothing(const SumsFigure *figure, Unit unit) {
    static const double NO_VOLTS = 5e-4, NO_AMPERES = 1e-7, NO_WATTS = 1e-7; /* what no meter on the bench shows */
    double least = unit_same(unit, UNIT_VOLT) ? NO_VOLTS : unit_same(unit, UNIT_AMPERE) ? NO_AMPERES : NO_WATTS;
    return fmax(fabs(figure->least), fabs(figure->most)) < least;
}

Text words_figure(Arena *arena, const SumsFigure *figure, Unit unit) {
    if (!figure->known) return TEXT("");
    if (words_nothing(figure, unit)) return text_fmt(arena, "0 %.*s", TEXT_ARG(unit_symbol(arena, unit)));
    Out out = out_new(arena);
    quantity_print_spread(&out, sums_quantity(figure, unit));
    return out_text(&out);
}

Text report_figure(Arena *arena, const SumsFigure *figure, Unit unit) { return words_figure(arena, figure, unit); }

bool report_figure_is_nothing(const SumsFigure *figure, Unit unit) { return !figure->known || words_nothing(figure, unit); }

Text words_probability(Arena *arena, double p) {
    Out out = out_new(arena);
    probability_print(&out, p);
    return out_text(&out);
}

Text words_decibans(Arena *arena, double decibans) {
    return text_fmt(arena, "%+.1f dB", fabs(decibans) < 0.05 ? 0 : decibans);
}

Text words_lines(Arena *arena, const uint32_t *lines, uint32_t count) {
    if (count == 0) return (Text){"", 0};
    Out out = out_new(arena);
    out_fmt(&out, count == 1 ? "line %u" : "lines %u", lines[0]);
    for (uint32_t i = 1; i < count; i++) out_fmt(&out, i + 1 == count ? " and %u" : ", %u", lines[i]);
    return out_text(&out);
}

Text words_sort(ReasonSort sort) {
    static const char *const names[] = {
        [REASON_IDIOM] = "idiom", [REASON_CAPABILITY] = "capability", [REASON_HAZARD] = "hazard",
        [REASON_PART] = "part",   [REASON_STATED] = "stated",         [REASON_SUM] = "sum"};
    return text_of(names[sort]);
}

Text words_conflict(BenchConflictKind kind) {
    static const char *const names[BENCH_CONFLICT_COUNT] = {[BENCH_JOINED_AND_APART] = "joined and apart",
                                                            [BENCH_TWO_NAMES] = "two names",
                                                            [BENCH_TWO_VALUES] = "two values",
                                                            [BENCH_TOO_MANY_PINS] = "too many pins",
                                                            [BENCH_NO_SUCH_PIN] = "no such pin",
                                                            [BENCH_TWO_PARTS] = "two parts",
                                                            [BENCH_VALUE_AND_READING] = "value and reading",
                                                            [BENCH_PHOTO_AND_NOTES] = "photo and notes",
                                                            [BENCH_MODES_CLASH] = "modes clash"};
    return text_of((unsigned)kind < BENCH_CONFLICT_COUNT ? names[kind] : NULL);
}

/* The note of a line among `count` that are in file order. */
static const Note *find_line(const Note *notes, uint32_t count, uint32_t line) {
    uint32_t low = 0, high = count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (notes[middle].line < line)
            low = middle + 1;
        else
            high = middle;
    }
    return low < count && notes[low].line == line ? &notes[low] : NULL;
}

const Note *words_note(const Notebook *notebook, uint32_t line) {
    const Note *note = find_line(notebook->notes.at, notebook->notes.count, line);
    return note != NULL ? note : find_line(notebook->struck.at, notebook->struck.count, line);
}

Text words_quote(Arena *arena, const Notebook *notebook, uint32_t line) {
    const Note *note = words_note(notebook, line);
    Out out = out_new(arena);
    if (note != NULL) note_print(&out, note);
    return out_text(&out);
}
