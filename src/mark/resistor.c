/* Resistors by their print: IEC 60062 digits and letters, and the EIA-96 code of 1 % chips.
 *
 *   print  = [ power "W" ] value [ tolerance letter ] [ "Ω" ]
 *   value  = D D M (DD x 10^M) | D D D M | [digits] letter [digits] (the letter is the point) | "0" ...
 *   EIA-96 = two digits 01..96, multiplier letter */
#include "mark/inside.h"

#include <math.h>
#include <string.h>

enum { FIGURES_MOST = 5 };

typedef struct Value {
    double value, last; /* ohm */
    int figures;        /* significant digits */
} Value;

static int figures_of(int number) {
    int figures = 0;
    for (; number > 0; number /= 10) figures++;
    return figures;
}

static bool all_zero(Text text) {
    for (size_t i = 0; i < text.len; i++)
        if (text.at[i] != '0') return false;
    return text.len > 0;
}

/* Adds one reading; tolerance 0: not said. */
static void add(Reader *reader, Form form, Value v, double tolerance, double decibans, unsigned steps) {
    Quantity nominal = {.value = v.value, .low = v.value, .high = v.value, .last = v.last, .unit = UNIT_OHM};
    Text said = quantity_said(reader->arena, nominal);
    Text within = tolerance > 0 ? tolerance_said(reader->arena, -tolerance, tolerance) : (Text){"", 0};
    Text says =
        text_fmt(reader->arena, "resistor of %.*s%s%.*s", TEXT_ARG(said), within.len > 0 ? " " : "", TEXT_ARG(within));
    double evidence = series_decibans(reader->marks, v.value, steps, v.figures) + size_decibans(reader->marks, v.value);
    bool kept = mark_in_series(v.value, 24) || mark_in_series(v.value, steps);
    Draft *draft = reading_add(reader, form, decibans + evidence, says);
    nominal.low = v.value * (1 - tolerance), nominal.high = v.value * (1 + tolerance);
    reading_value(draft, nominal);
    if (within.len > 0)
        reading_field(reader, draft, "tolerance", within);
    else
        reading_assume(reader, draft, "tolerance not marked; ±%d %% is usual", v.figures > 2 ? 1 : 5);
    if (!kept) reading_assume(reader, draft, "not a value of IEC 60063, so made to order or misread");
}

static void add_zero(Reader *reader) {
    Draft *draft = reading_add(reader, FORM_RESISTOR_ZERO, 0, TEXT("link of zero ohm"));
    reading_value(draft, quantity_within(0, 0, 0.05, UNIT_OHM));
    reading_assume(reader, draft, "a zero-ohm chip has at most 50 mΩ (IEC 60115-8; from memory)");
}

/* Three digits are two figures and a power of ten, four are three and a power (IEC 60062, clause 5). */
static void read_digits(Reader *reader, Text t, double tolerance) {
    if ((t.len != 3 && t.len != 4) || !text_all_digits(t) || t.at[0] == '0') return;
    int power = t.at[t.len - 1] - '0', figures = (int)t.len - 1;
    if (power > 7) return; /* no such resistors */
    double last = pow(10, power);
    Value v = {text_number(text_sub(t, 0, t.len - 1)) * last, last, figures};
    add(reader, figures == 2 ? FORM_RESISTOR_DIGITS_3 : FORM_RESISTOR_DIGITS_4, v, tolerance, 0, figures == 2 ? 24 : 96);
}

/* E, m and L are common practice beside the letters of IEC 60062, clause 4. */
static double letter_factor(char letter) {
    switch (letter) {
    case 'R':
    case 'E':
        return 1;
    case 'K':
    case 'k':
        return 1e3;
    case 'M':
        return 1e6;
    case 'G':
        return 1e9;
    case 'm':
    case 'L':
        return 1e-3;
    default:
        return 0;
    }
}

static void read_letter(Reader *reader, Text t, double tolerance) {
    size_t at = 0;
    while (at < t.len && is_digit(t.at[at])) at++;
    double factor = at < t.len ? letter_factor(t.at[at]) : 0;
    Text whole = text_sub(t, 0, at), part = text_sub(t, at + 1, t.len);
    if (factor == 0 || whole.len + part.len == 0 || whole.len + part.len > FIGURES_MOST) return;
    if ((part.len > 0 && !text_all_digits(part)) || (whole.len == 0 && t.at[at] != 'R')) return;
    char digits[FIGURES_MOST];
    memcpy(digits, whole.at, whole.len);
    memcpy(digits + whole.len, part.at, part.len);
    Text figures = {digits, whole.len + part.len};
    if (all_zero(figures)) {
        if (t.at[at] == 'R') add_zero(reader);
        return;
    }
    double last = factor * pow(10, -(double)part.len);
    int number = text_number(figures), count = figures_of(number);
    while (count > 2 && number % 10 == 0) number /= 10, count--; /* 100R has two figures that matter */
    bool odd = t.at[at] == 'E' || t.at[at] == 'm' || t.at[at] == 'L';
    add(reader, FORM_RESISTOR_LETTER, (Value){text_number(figures) * last, last, count}, tolerance,
        odd ? weight_of(reader->marks, "odd-letter") : 0, count > 2 ? 96 : 24);
}

static void read_eia_96(Reader *reader, Text t) {
    if (t.len != 3 || !is_digit(t.at[0]) || !is_digit(t.at[1])) return;
    const CodeEntry *figures = code_find(reader->marks, CODE_EIA_96, text_sub(t, 0, 2));
    const CodeEntry *multiplier = code_letter(reader->marks, CODE_EIA_96_MULTIPLIER, t.at[2]);
    if (multiplier == NULL) return;
    if (figures == NULL) {
        reader->refused = TEXT("EIA-96 codes run from 01 to 96");
        return;
    }
    double value = figures->value.value * multiplier->value.value;
    Quantity q = quantity_within(value, value * 0.99, value * 1.01, UNIT_OHM), nominal = quantity_exact(value, UNIT_OHM);
    Text said = quantity_said(reader->arena, nominal);
    Draft *draft =
        reading_add(reader, FORM_RESISTOR_EIA_96, 0, text_fmt(reader->arena, "resistor of %.*s ±1 %%", TEXT_ARG(said)));
    reading_value(draft, q);
    reading_field(reader, draft, "tolerance", TEXT("±1 %"));
}

/* `5W` before the value, as on cement resistors: its length, 0 when there is none. */
static size_t power_length(Text t) {
    size_t at = 0;
    while (at < t.len && at < 3 && is_digit(t.at[at])) at++;
    return at > 0 && at < t.len && t.at[at] == 'W' ? at + 1 : 0;
}

static Text without_ohm(Text t) {
    static const char *const units[] = {"Ω", "\u2126", "OHM", "ohm"};
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++)
        if (text_ends(t, units[i])) return text_sub(t, 0, t.len - strlen(units[i]));
    return t;
}

static void read_with(Reader *reader, Text t, double tolerance) {
    read_digits(reader, t, tolerance);
    read_letter(reader, t, tolerance);
}

void read_resistor(Reader *reader) {
    Text t = reader->whole;
    if (reader->word_count > 1) return;
    if (all_zero(t) && t.len <= 4) add_zero(reader);
    read_eia_96(reader, t);
    t = text_sub(t, power_length(t), t.len);
    t = without_ohm(t);
    read_with(reader, t, 0);
    if (t.len < 3) return;
    const CodeEntry *tolerance = code_letter(reader->marks, CODE_TOLERANCE, t.at[t.len - 1]);
    Text value = without_ohm(text_sub(t, 0, t.len - 1));
    if (tolerance != NULL) read_with(reader, value, tolerance->value.value);
}
