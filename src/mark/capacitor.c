/* Capacitors by their print: picofarad digits of IEC 60062, the letter for the point, tantalum chips, and plain numbers.
 * Dielectric and voltage codes that stand alone are in dielectric.c.
 *
 *   print     = { value | volts | dielectric }      one value
 *   value     = [ volt code ] number [ tolerance letter ] [ volts ]     1H104K, 104J100, 4n7, 104
 *   number    = D D M (pF; M of 8 and 9 are x 0.01 and x 0.1) | [digits] letter [digits] | decimal (uF) | D [D] (pF)
 *   volts     = digits [ "V" ] | volt code (a digit for the power of ten, a letter for the figure: 1H is 50 V) */
#include "mark/inside.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct Print {
    Text number;
    char tolerance;       /* letter, or 0 */
    double volts;         /* 0: unsaid */
    Text dielectric;      /* words, or empty */
    bool volts_in_value;  /* 104J100 */
    bool tantalum_letter; /* 106C */
} Print;

/* `16V`, `6.3V`, or a bare number when bare numbers count. */
static bool take_volts(Text t, bool bare, double *volts) {
    char copy[8];
    bool unit = text_ends(t, "V") || text_ends(t, "v");
    if (unit) t.len--;
    if (t.len == 0 || t.len >= sizeof copy || (!unit && !bare)) return false;
    size_t points = 0;
    for (size_t i = 0; i < t.len; i++) {
        points += t.at[i] == '.';
        if (!is_digit(t.at[i]) && t.at[i] != '.') return false;
    }
    memcpy(copy, t.at, t.len);
    copy[t.len] = '\0';
    *volts = strtod(copy, NULL);
    return points <= 1 && *volts >= 1 && *volts <= 50000;
}

static bool take_volt_code(const Marks *marks, Text t, double *volts) {
    if (t.len != 2 || t.at[0] < '0' || t.at[0] > '4') return false;
    const CodeEntry *figure = code_letter(marks, CODE_VOLT_LETTER, t.at[1]);
    if (figure == NULL) return false;
    *volts = figure->value.value * pow(10, t.at[0] - '0');
    return true;
}

static bool is_tolerance(const Marks *marks, char letter) {
    return code_letter(marks, CODE_TOLERANCE, letter) != NULL || code_letter(marks, CODE_TOLERANCE_UNEVEN, letter) != NULL;
}

/* `X7R`, `C0G` after a value: the words of dielectric.c's tables are not repeated, the code alone is kept. */
static bool is_dielectric(const Marks *marks, Text t) {
    if (code_find(marks, CODE_CLASS_1, t) != NULL) return true;
    return t.len == 3 && ((code_letter(marks, CODE_CLASS_2_LOW, t.at[0]) != NULL &&
                           code_letter(marks, CODE_CLASS_2_HIGH, t.at[1]) != NULL &&
                           code_letter(marks, CODE_CLASS_2_CHANGE, t.at[2]) != NULL) ||
                          (code_letter(marks, CODE_CLASS_1_FIGURE, t.at[0]) != NULL &&
                           code_letter(marks, CODE_CLASS_1_MULTIPLIER, t.at[1]) != NULL &&
                           code_letter(marks, CODE_CLASS_1_TOLERANCE, t.at[2]) != NULL));
}

/* The number at the start of a value word: digits with at most one letter or point. Its length. */
static size_t number_length(Text t) {
    size_t at = 0;
    bool point = false;
    while (at < t.len) {
        size_t micro = text_starts(text_sub(t, at, 2), "µ") || text_starts(text_sub(t, at, 2), "\u03bc") ? 2 : 1;
        bool letter = micro == 2 || memchr("pnumRFN.", t.at[at], 8) != NULL;
        if (!is_digit(t.at[at]) && (point || !letter)) break;
        point |= !is_digit(t.at[at]);
        at += micro;
    }
    if (at < t.len && t.at[at] == 'F' && point) at++; /* 100nF */
    return at;
}

/* value = [ volt code ] number [ tolerance letter ] [ volts ] */
static bool take_value(const Marks *marks, Text t, Print *print) {
    if (t.len >= 5 && take_volt_code(marks, text_sub(t, 0, 2), &print->volts)) t = text_sub(t, 2, t.len);
    size_t len = number_length(t);
    print->number = text_sub(t, 0, len);
    if (len == 0) return false;
    t = text_sub(t, len, t.len);
    if (t.len == 0) return true;
    if (is_tolerance(marks, t.at[0])) {
        print->tolerance = t.at[0];
        t = text_sub(t, 1, t.len);
    }
    if (t.len == 0) return true;
    print->volts_in_value = true;
    return take_volts(t, print->tolerance != 0, &print->volts) || take_volt_code(marks, t, &print->volts);
}

/* Cuts the words of a marking; false when one of them fits nowhere. */
static bool cut_print(const Reader *reader, Print *print) {
    for (uint32_t i = 0; i < reader->word_count; i++) {
        Text word = reader->words[i];
        bool volts =
            i + 1 < reader->word_count && text_is(reader->words[i + 1], "V") && take_volts(word, true, &print->volts);
        if (volts)
            i++;
        else if (print->number.len == 0) {
            if (!take_value(reader->marks, word, print)) return false;
        } else if (is_dielectric(reader->marks, word))
            print->dielectric = word;
        else if (print->tolerance == 0 && word.len == 1 && is_tolerance(reader->marks, word.at[0]))
            print->tolerance = word.at[0];
        else if (!take_volts(word, true, &print->volts) && !take_volt_code(reader->marks, word, &print->volts))
            return false;
    }
    return print->number.len > 0;
}

typedef struct Farads {
    double value, last, low, high; /* low and high: tolerance as fractions, 0 when unsaid */
    int figures;
} Farads;

/* Tolerance by its letter: below 10 pF in picofarads, above in per cent. False when the letter can't go with the value. */
static bool set_tolerance(const Marks *marks, char letter, Farads *c) {
    if (letter == 0) return true;
    const CodeEntry *small = code_letter(marks, CODE_TOLERANCE_PF, letter);
    const CodeEntry *even = code_letter(marks, CODE_TOLERANCE, letter),
                    *uneven = code_letter(marks, CODE_TOLERANCE_UNEVEN, letter);
    if (c->value < 9.99e-12 && small != NULL) {
        c->high = small->value.value / c->value;
        c->low = -c->high;
    } else if (even != NULL) {
        c->high = even->value.value, c->low = -c->high;
    } else if (uneven != NULL) {
        c->low = uneven->value.low, c->high = uneven->value.high;
    } else
        return false;
    return c->value < 9.99e-12 || c->high >= 0.0099; /* finer than 1 % is not made above 10 pF */
}

static void add(Reader *reader, Form form, const Print *print, Farads c, double decibans, const char *assumed) {
    if (!set_tolerance(reader->marks, print->tolerance, &c)) return;
    Quantity nominal = {.value = c.value, .low = c.value, .high = c.value, .last = c.last, .unit = UNIT_FARAD};
    bool toleranced = print->tolerance != 0;
    Out says = out_new(reader->arena);
    out_lit(&says, "capacitor of ");
    quantity_print(&says, nominal);
    Text within = toleranced ? tolerance_said(reader->arena, c.low, c.high) : (Text){"", 0};
    if (toleranced) out_fmt(&says, " %.*s", TEXT_ARG(within));
    if (print->volts > 0) out_fmt(&says, ", %.4g V", print->volts);
    if (print->dielectric.len > 0) out_fmt(&says, ", %.*s", TEXT_ARG(print->dielectric));
    Draft *draft =
        reading_add(reader, form, decibans + series_decibans(reader->marks, c.value, 24, c.figures), out_text(&says));
    nominal.low = c.value * (1 + c.low), nominal.high = c.value * (1 + c.high);
    reading_value(draft, nominal);
    if (toleranced) reading_field(reader, draft, "tolerance", within);
    if (print->volts > 0) reading_field(reader, draft, "rated voltage", text_fmt(reader->arena, "%.4g V", print->volts));
    if (print->dielectric.len > 0) reading_field(reader, draft, "dielectric", print->dielectric);
    if (form == FORM_CAPACITOR_TANTALUM)
        reading_field(reader, draft, "caution",
                      TEXT("the bar marks the positive end, the other way round from an aluminium electrolytic"));
    if (assumed[0] != '\0') reading_assume(reader, draft, "%s", assumed);
}

/* Two figures and a power of ten, in picofarads. */
static bool digits_farads(Text number, Farads *c) {
    if (number.len != 3 || !text_all_digits(number) || number.at[0] == '0') return false;
    int power = number.at[2] - '0';
    if (power >= 8) power -= 10; /* 8 is x 0.01, 9 is x 0.1 */
    c->last = 1e-12 * pow(10, power);
    c->value = text_number(text_sub(number, 0, 2)) * c->last;
    c->figures = 2;
    return true;
}

/* [digits] letter [digits] with p, n, u or R (picofarads), or a decimal number of microfarads. */
static bool letter_farads(Text number, Farads *c, bool *decimal) {
    char digits[12];
    size_t len = 0, after = 0;
    double factor = 0;
    *decimal = false;
    if (text_ends(number, "F")) number.len--;
    for (size_t i = 0; i < number.len; i++) {
        unsigned char s = (unsigned char)number.at[i];
        if (is_digit((char)s)) {
            if (len == sizeof digits - 1) return false;
            digits[len++] = (char)s;
            after += factor > 0;
        } else if (s == 'p' || s == 'R')
            factor = 1e-12;
        else if (s == 'n')
            factor = 1e-9;
        else if (s == 'm')
            factor = 1e-3;
        else if (s == 'u' || s == '.' || s == 0xC2 || s == 0xCE)
            factor = 1e-6, *decimal = s == '.';
        else if (s < 0x80)
            return false;
    }
    if (factor == 0 || len == 0 || len > 6) return false;
    int figure = text_number((Text){digits, len});
    if (figure <= 0) return false;
    c->last = factor * pow(10, -(double)after);
    c->value = figure * c->last;
    for (c->figures = 0; figure > 0; figure /= 10)
        if (c->figures > 0 || figure % 10 != 0) c->figures++;
    return true;
}

/* 106C, C106, 107 6V: three digits with a voltage letter or with volts, on a tantalum chip. */
static void read_tantalum(Reader *reader) {
    Text t = reader->words[0];
    Print print = {.number = t};
    const CodeEntry *letter = NULL;
    if (t.len == 4 && (letter = code_letter(reader->marks, CODE_TANTALUM_VOLTS, t.at[3])) != NULL)
        print.number = text_sub(t, 0, 3);
    else if (t.len == 4 && (letter = code_letter(reader->marks, CODE_TANTALUM_VOLTS, t.at[0])) != NULL)
        print.number = text_sub(t, 1, 3);
    if (letter != NULL && reader->word_count == 1)
        print.volts = letter->value.value;
    else if (letter != NULL || reader->word_count > 2 ||
             (reader->word_count == 2 && !take_volts(reader->words[1], true, &print.volts)))
        return;
    Farads c = {0};
    if (!digits_farads(print.number, &c) || c.value < 0.9e-7 || c.value > 2.3e-3) return;
    if (print.volts == 0 && !reader_on(reader, "tantalum")) return;
    add(reader, FORM_CAPACITOR_TANTALUM, &print, c, 0, letter != NULL ? "the letter is the rated voltage" : "");
}

/* 100 16V on an electrolytic, 47 on a ceramic disc: the number as such. */
static void read_plain(Reader *reader, const Print *print) {
    if (!text_all_digits(print->number) || print->number.len > 5 || print->number.at[0] == '0') return;
    double number = text_number(print->number);
    Farads pf = {.value = number * 1e-12, .last = 1e-12, .figures = 2},
           uf = {.value = number * 1e-6, .last = 1e-6, .figures = 2};
    if (print->number.len <= 2) add(reader, FORM_CAPACITOR_PLAIN_PF, print, pf, 0, "the number is picofarads as such");
    bool electrolytic = reader_on(reader, "electrolytic") || reader_on(reader, "can") || reader_on(reader, "radial");
    if ((print->volts > 0 && !print->volts_in_value && print->tolerance == 0) || electrolytic)
        add(reader, FORM_CAPACITOR_PLAIN_UF, print, uf, 0, "the number is microfarads as such, as on electrolytics");
}

void read_capacitor(Reader *reader) {
    if (reader->word_count == 0) return;
    read_tantalum(reader);
    Print print = {0};
    Farads c = {0};
    bool decimal;
    if (!cut_print(reader, &print)) return;
    if (digits_farads(print.number, &c)) add(reader, FORM_CAPACITOR_DIGITS, &print, c, 0, "");
    if (letter_farads(print.number, &c, &decimal))
        add(reader, FORM_CAPACITOR_LETTER, &print, c, decimal ? weight_of(reader->marks, "decimal-microfarads") : 0,
            decimal ? "a decimal number is microfarads" : "");
    read_plain(reader, &print);
}
