/* Capacitor codes that stand without a value: EIA-198 dielectrics, rated-voltage codes, the letter and digit of EIA-198 for
 * small chips, and suppression classes of IEC 60384-14. All from memory.
 *
 *   class 1  = figure multiplier tolerance     U2J: -7.5 x 100 = -750 ±120 ppm/K
 *   class 2  = lowest highest change           X7R: -55..125 °C, ±15 %
 *   small    = [maker's letter] letter digit   A2: 1.0 x 10^2 pF */
#include "mark/inside.h"

#include <math.h>

static void add_class_1(Reader *reader, Text code, Text as_printed) {
    const Marks *marks = reader->marks;
    const CodeEntry *figure = code_letter(marks, CODE_CLASS_1_FIGURE, code.at[0]);
    const CodeEntry *multiplier = code_letter(marks, CODE_CLASS_1_MULTIPLIER, code.at[1]);
    const CodeEntry *tolerance = code_letter(marks, CODE_CLASS_1_TOLERANCE, code.at[2]);
    if (figure == NULL || multiplier == NULL || tolerance == NULL) return;
    double drift = figure->value.value * multiplier->value.value;
    Text said = text_fmt(reader->arena, "%.4g ±%.4g ppm/K", drift == 0 ? 0 : drift, tolerance->value.value * 1e6);
    Draft *draft =
        reading_add(reader, FORM_CAPACITOR_CLASS_1, 0, text_fmt(reader->arena, "class 1 ceramic, %.*s", TEXT_ARG(said)));
    reading_field(reader, draft, "temperature coefficient", said);
    reading_field(reader, draft, "use", TEXT("stable and of low loss: timing, filters, load of a crystal"));
    if (!text_same(code, as_printed)) reading_field(reader, draft, "EIA-198 code", code);
}

static void read_class_2(Reader *reader, Text t) {
    const CodeEntry *low = code_letter(reader->marks, CODE_CLASS_2_LOW, t.at[0]);
    const CodeEntry *high = code_letter(reader->marks, CODE_CLASS_2_HIGH, t.at[1]);
    const CodeEntry *change = code_letter(reader->marks, CODE_CLASS_2_CHANGE, t.at[2]);
    if (low == NULL || high == NULL || change == NULL) return;
    Text range = text_fmt(reader->arena, "%.0f..%.0f °C", low->value.value, high->value.value);
    Text within = tolerance_said(reader->arena, change->value.low, change->value.high);
    Draft *draft =
        reading_add(reader, FORM_CAPACITOR_CLASS_2, 0,
                    text_fmt(reader->arena, "class 2 ceramic, %.*s within %.*s", TEXT_ARG(within), TEXT_ARG(range)));
    reading_field(reader, draft, "temperature range", range);
    reading_field(reader, draft, "change of capacitance", within);
    reading_field(reader, draft, "use", TEXT("bypass and bulk: loses capacitance with voltage and age"));
}

static void read_volts(Reader *reader, Text t) {
    if (t.len != 2 || t.at[0] < '0' || t.at[0] > '4') return;
    const CodeEntry *figure = code_letter(reader->marks, CODE_VOLT_LETTER, t.at[1]);
    if (figure == NULL) return;
    double volts = figure->value.value * pow(10, t.at[0] - '0');
    Draft *draft = reading_add(reader, FORM_CAPACITOR_VOLTS, 0, text_fmt(reader->arena, "rated voltage of %.4g V", volts));
    reading_value(draft, quantity_exact(volts, UNIT_VOLT));
}

static void read_small(Reader *reader, Text t) {
    if (t.len == 3 && is_upper(t.at[0])) t = text_sub(t, 1, 2);
    if (t.len != 2 || !is_digit(t.at[1])) return;
    const CodeEntry *figure = code_letter(reader->marks, CODE_CAPACITANCE_LETTER, t.at[0]);
    if (figure == NULL) return;
    int power = t.at[1] == '9' ? -1 : t.at[1] - '0';
    if (power > 7) return;
    double value = figure->value.value * pow(10, power) * 1e-12;
    Quantity q = {
        .value = value, .low = value, .high = value, .last = value / figure->value.value / 10, .unit = UNIT_FARAD};
    Text said = quantity_said(reader->arena, q);
    Draft *draft =
        reading_add(reader, FORM_CAPACITOR_EIA_198, 0, text_fmt(reader->arena, "capacitor of %.*s", TEXT_ARG(said)));
    reading_value(draft, q);
    if (reader->whole.len == 3) reading_assume(reader, draft, "the first letter is the maker's");
}

void read_dielectric(Reader *reader) {
    Text t = reader->whole;
    const CodeEntry *older = code_find(reader->marks, CODE_CLASS_1, t);
    if (older != NULL && older->says.len == 3) add_class_1(reader, older->says, t);
    if (older == NULL && t.len == 3) {
        add_class_1(reader, t, t);
        read_class_2(reader, t);
    }
    read_volts(reader, t);
    read_small(reader, t);
    const CodeEntry *safety = code_find(reader->marks, CODE_SAFETY, t);
    if (safety != NULL) reading_add(reader, FORM_CAPACITOR_SAFETY, 0, safety->says);
}
