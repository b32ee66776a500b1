/* Inductors by their print (common practice, as IEC 62024 parts are marked; from memory): two figures and a power of ten in
 * microhenries, R for the point in microhenries, N for the point in nanohenries; a last letter is the tolerance. */
#include "mark/inside.h"

#include <math.h>
#include <string.h>

static void add(Reader *reader, Form form, int number, double last, double tolerance) {
    double value = number * last;
    Quantity q = {.value = value, .low = value, .high = value, .last = last, .unit = UNIT_HENRY};
    int figures = 0;
    for (int n = number; n > 0; n /= 10)
        if (figures > 0 || n % 10 != 0) figures++;
    Text said = quantity_said(reader->arena, q), within = {"", 0};
    if (tolerance > 0) within = tolerance_said(reader->arena, -tolerance, tolerance);
    Text says =
        text_fmt(reader->arena, "inductor of %.*s%s%.*s", TEXT_ARG(said), within.len > 0 ? " " : "", TEXT_ARG(within));
    Draft *draft = reading_add(reader, form, series_decibans(reader->marks, value, 24, figures), says);
    q.low = value * (1 - tolerance), q.high = value * (1 + tolerance);
    reading_value(draft, q);
    if (tolerance > 0) reading_field(reader, draft, "tolerance", within);
    if (form == FORM_INDUCTOR_DIGITS) reading_assume(reader, draft, "digits of an inductor count microhenries");
}

static void read_with(Reader *reader, Text t, double tolerance) {
    if (t.len == 3 && text_all_digits(t) && t.at[0] != '0' && t.at[2] <= '5') {
        add(reader, FORM_INDUCTOR_DIGITS, text_number(text_sub(t, 0, 2)), 1e-6 * pow(10, t.at[2] - '0'), tolerance);
        return;
    }
    size_t at = 0;
    while (at < t.len && is_digit(t.at[at])) at++;
    if (at == t.len || (t.at[at] != 'R' && t.at[at] != 'N') || t.len > 5) return;
    Text part = text_sub(t, at + 1, t.len);
    char digits[5];
    memcpy(digits, t.at, at);
    memcpy(digits + at, part.at, part.len);
    int number = text_number((Text){digits, at + part.len});
    if ((part.len > 0 && !text_all_digits(part)) || at + part.len == 0 || number == 0) return;
    add(reader, FORM_INDUCTOR_LETTER, number, (t.at[at] == 'R' ? 1e-6 : 1e-9) * pow(10, -(double)part.len), tolerance);
}

void read_inductor(Reader *reader) {
    Text t = reader->whole;
    if (reader->word_count != 1) return;
    read_with(reader, t, 0);
    const CodeEntry *tolerance = code_letter(reader->marks, CODE_TOLERANCE, t.at[t.len - 1]);
    if (tolerance != NULL) read_with(reader, text_sub(t, 0, t.len - 1), tolerance->value.value);
}
