/* Units, and quantities as people write them (how they are said again: quantity_say.c). */
#include "base/quantity.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct UnitName {
    const char *symbol;
    Unit unit;
    double factor;
    bool prefixed; /* takes SI prefixes */
} UnitName;

/* Factors are exact by definition (SI brochure, tables 4 and 8; inch and mil: ISO 80000). */
static const UnitName UNIT_NAMES[] = {
    {"V", UNIT_VOLT, 1, true},
    {"A", UNIT_AMPERE, 1, true},
    {"ohm", UNIT_OHM, 1, true},
    {"ohms", UNIT_OHM, 1, true},
    {"Ohm", UNIT_OHM, 1, true},
    {"Ω", UNIT_OHM, 1, true},      /* U+03A9 */
    {"\u2126", UNIT_OHM, 1, true}, /* the ohm sign proper */
    {"R", UNIT_OHM, 1, false},
    {"F", UNIT_FARAD, 1, true},
    {"H", UNIT_HENRY, 1, true},
    {"Hz", UNIT_HERTZ, 1, true},
    {"W", UNIT_WATT, 1, true},
    {"VA", UNIT_WATT, 1, true},
    {"J", UNIT_JOULE, 1, true},
    {"Wh", UNIT_JOULE, 3600, true},
    {"C", UNIT_COULOMB, 1, true},
    {"Ah", UNIT_COULOMB, 3600, true},
    {"s", UNIT_SECOND, 1, true},
    {"min", UNIT_SECOND, 60, false},
    {"h", UNIT_SECOND, 3600, false},
    {"day", UNIT_SECOND, 86400, false},
    {"days", UNIT_SECOND, 86400, false},
    {"m", UNIT_METRE, 1, true},
    {"inch", UNIT_METRE, 0.0254, false},
    {"mil", UNIT_METRE, 0.0000254, false},
    {"g", {.kg = 1}, 0.001, true},
    {"N", {.m = 1, .kg = 1, .s = -2}, 1, true},
    {"Pa", {.m = -1, .kg = 1, .s = -2}, 1, true},
    {"K", {.K = 1}, 1, true},
    {"degC", UNIT_CELSIUS, 1, false},
    {"°C", UNIT_CELSIUS, 1, false},
    {"lx", {.m = -2, .cd = 1}, 1, true},
    {"lm", {.cd = 1}, 1, true},
    {"cd", {.cd = 1}, 1, true},
    {"rpm", UNIT_HERTZ, 1.0 / 60, false},
    {"bit", UNIT_BIT, 1, true},
    {"B", UNIT_BIT, 8, true},
    {"byte", UNIT_BIT, 8, true},
    {"%", UNIT_NONE, 0.01, false},
    {"ppm", UNIT_NONE, 1e-6, false},
};
enum { UNIT_NAME_COUNT = sizeof UNIT_NAMES / sizeof UNIT_NAMES[0] };

typedef struct Prefix {
    const char *symbol;
    int power; /* of ten */
} Prefix;

static const Prefix PREFIXES[] = {{"f", -15}, {"p", -12}, {"n", -9}, {"u", -6}, {"µ", -6}, {"\u03bc", -6}, {"m", -3},
                                  {"c", -2},  {"k", 3},   {"K", 3},  {"M", 6},  {"G", 9},  {"T", 12}};
enum { PREFIX_COUNT = sizeof PREFIXES / sizeof PREFIXES[0] };

bool unit_same(Unit a, Unit b) { return memcmp(&a, &b, sizeof a) == 0; }

static Unit combine(Unit a, Unit b, int times) {
    signed char x[sizeof a], y[sizeof b];
    memcpy(x, &a, sizeof a);
    memcpy(y, &b, sizeof b);
    for (size_t i = 0; i < sizeof a; i++) x[i] = (signed char)(x[i] + times * y[i]);
    memcpy(&a, x, sizeof a);
    return a;
}

Unit unit_times(Unit a, Unit b) { return combine(a, b, 1); }
Unit unit_over(Unit a, Unit b) { return combine(a, b, -1); }
Unit unit_power(Unit a, int exponent) { return combine(UNIT_NONE, a, exponent); }

bool unit_root(Unit a, Unit *root) {
    signed char x[sizeof a];
    memcpy(x, &a, sizeof a);
    for (size_t i = 0; i < sizeof a; i++) {
        if (x[i] % 2 != 0) return false;
        x[i] /= 2;
    }
    memcpy(root, x, sizeof a);
    return true;
}

static const UnitName *plain_unit(Text symbol) {
    for (size_t i = 0; i < UNIT_NAME_COUNT; i++)
        if (symbol.len > 0 && symbol.at[0] == UNIT_NAMES[i].symbol[0] && text_is(symbol, UNIT_NAMES[i].symbol))
            return &UNIT_NAMES[i];
    return NULL;
}

/* 10 to the n, exactly where a double can, else the nearest. */
static double ten_to(int n) {
    static const double tens[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
                                  1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
    size_t size = (size_t)abs(n);
    if (size >= sizeof tens / sizeof tens[0]) return pow(10, n);
    return n < 0 ? 1 / tens[size] : tens[size];
}

static double power_of(int ten, bool memory) { return memory ? pow(1024, ten / 3) : ten_to(ten); }

static bool simple_unit(Text symbol, bool memory, Unit *unit, double *factor) {
    const UnitName *name = plain_unit(symbol);
    if (name != NULL) {
        *unit = name->unit, *factor = name->factor;
        return true;
    }
    for (size_t i = 0; i < PREFIX_COUNT; i++) {
        if (!text_starts(symbol, PREFIXES[i].symbol)) continue;
        name = plain_unit(text_sub(symbol, strlen(PREFIXES[i].symbol), symbol.len));
        if (name == NULL || !name->prefixed) continue;
        *unit = name->unit;
        *factor = name->factor * power_of(PREFIXES[i].power, memory && name->unit.bit != 0);
        return true;
    }
    return false;
}

bool unit_parse(Text symbol, Unit *unit, double *factor) {
    size_t slash = text_find(symbol, TEXT("/"));
    if (slash == SIZE_MAX) return simple_unit(symbol, true, unit, factor);
    Unit below;
    double below_factor;
    if (!simple_unit(text_sub(symbol, 0, slash), false, unit, factor)) return false;
    if (!simple_unit(text_sub(symbol, slash + 1, symbol.len), false, &below, &below_factor)) return false;
    *unit = unit_over(*unit, below);
    *factor /= below_factor;
    return true;
}

Text unit_symbol(Arena *arena, Unit unit) {
    if (unit_same(unit, UNIT_NONE)) return TEXT("");
    static const Unit preferred[] = {UNIT_VOLT,  UNIT_AMPERE, UNIT_OHM,   UNIT_FARAD, UNIT_HENRY,
                                     UNIT_HERTZ, UNIT_WATT,   UNIT_JOULE, UNIT_COULOMB};
    static const char *const symbols[] = {"V", "A", "Ω", "F", "H", "Hz", "W", "J", "C"};
    for (size_t i = 0; i < sizeof preferred / sizeof preferred[0]; i++)
        if (unit_same(unit, preferred[i])) return text_of(symbols[i]);
    static const char *const base[] = {"m", "kg", "s", "A", "K", "cd", "bit", "°C"};
    signed char exponents[sizeof unit];
    memcpy(exponents, &unit, sizeof unit);
    Out out = out_new(arena);
    for (size_t i = 0; i < sizeof unit; i++) {
        if (exponents[i] == 0) continue;
        if (out.len > 0) out_lit(&out, "·");
        out_add(&out, text_of(base[i]));
        if (exponents[i] != 1) out_fmt(&out, "^%d", exponents[i]);
    }
    return out_text(&out);
}

/* ---- reading ---- */

typedef struct Scan {
    const char *at, *end;
} Scan;

static bool digit_at(const Scan *scan, size_t ahead) {
    return (size_t)(scan->end - scan->at) > ahead && scan->at[ahead] >= '0' && scan->at[ahead] <= '9';
}

static void skip_blanks(Scan *scan) {
    while (scan->at < scan->end && (*scan->at == ' ' || *scan->at == '\t')) scan->at++;
}

static bool take(Scan *scan, const char *literal) {
    size_t len = strlen(literal);
    if ((size_t)(scan->end - scan->at) < len || memcmp(scan->at, literal, len) != 0) return false;
    scan->at += len;
    return true;
}

typedef struct Number {
    double value, last;
    Unit unit;      /* said by a letter: R is ohm, V is volt */
    bool lettered;  /* letter notation: the prefix is spent */
} Number;

enum { DIGITS_MOST = 40 };

/* letter = "R" | "V" | "F" | prefix ; the letter stands where the decimal point would (IEC 60062, clause 4) */
static bool letter_point(Scan *scan, int *power, Unit *unit) {
    *power = 0, *unit = UNIT_NONE;
    if (take(scan, "R")) return *unit = UNIT_OHM, true;
    if (take(scan, "V")) return *unit = UNIT_VOLT, true;
    if (take(scan, "F")) return *unit = UNIT_FARAD, true;
    for (size_t i = 0; i < PREFIX_COUNT; i++)
        if (PREFIXES[i].power != -2 && take(scan, PREFIXES[i].symbol)) return *power = PREFIXES[i].power, true;
    return false;
}

/* The nearest double to what is kept (sign, digits, point; room for an exponent) times 10 to the power. Up to 15 digits and a
 * power of ten that are both exact need one division or product (W. D. Clinger, 1990); the rest is strtod's. */
static double value_of(char *kept, size_t len, int power, int decimals) {
    enum { EXACT_DIGITS = 15, EXACT_POWER = 22 };
    int scale = power - decimals;
    if (len > EXACT_DIGITS || scale < -EXACT_POWER || scale > EXACT_POWER) {
        snprintf(kept + len, 32, "e%d", power);
        return strtod(kept, NULL);
    }
    uint64_t digits = 0;
    for (size_t i = 0; i < len; i++)
        if (kept[i] >= '0' && kept[i] <= '9') digits = digits * 10 + (uint64_t)(kept[i] - '0');
    double value = scale < 0 ? (double)digits / ten_to(-scale) : (double)digits * ten_to(scale);
    return kept[0] == '-' ? -value : value;
}

/* number = [sign] digits [ "." digits ] [ "e" [sign] digits ] | [sign] [digits] letter digits */
static bool scan_number(Scan *scan, Number *number) {
    char kept[DIGITS_MOST + 32];
    size_t len = 0;
    int decimals = 0, power = 0;
    Scan s = *scan;
    *number = (Number){0};
    if (s.at < s.end && (*s.at == '-' || *s.at == '+')) kept[len++] = *s.at++;
    size_t first = len;
    while (digit_at(&s, 0) && len < DIGITS_MOST) kept[len++] = *s.at++;
    size_t whole = len - first;
    if (s.at < s.end && *s.at == '.' && digit_at(&s, 1)) {
        kept[len++] = *s.at++;
        while (digit_at(&s, 0) && len < DIGITS_MOST) kept[len++] = *s.at++, decimals++;
    } else {
        Scan letter = s;
        if (letter_point(&letter, &power, &number->unit) && digit_at(&letter, 0)) {
            s = letter, number->lettered = true;
            kept[len++] = '.';
            while (digit_at(&s, 0) && len < DIGITS_MOST) kept[len++] = *s.at++, decimals++;
        } else {
            power = 0, number->unit = UNIT_NONE;
        }
    }
    if ((whole == 0 && decimals == 0) || digit_at(&s, 0)) return false;
    if (!number->lettered && s.at < s.end && (*s.at == 'e' || *s.at == 'E')) {
        size_t sign = s.at + 1 < s.end && (s.at[1] == '-' || s.at[1] == '+');
        if (digit_at(&s, 1 + sign)) {
            Scan e = {s.at + 1 + sign, s.end};
            int exponent = 0;
            for (; digit_at(&e, 0) && exponent < 1000; e.at++) exponent = exponent * 10 + (*e.at - '0');
            power += s.at[1] == '-' ? -exponent : exponent;
            s.at = e.at;
        }
    }
    number->value = value_of(kept, len, power, decimals);
    number->last = ten_to(power - decimals);
    if (!isfinite(number->value) || digit_at(&s, 0)) return false;
    *scan = s;
    return true;
}

static bool unit_char(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (unsigned char)c >= 0x80 || c == '%' || c == '/';
}

/* unit = [prefix] symbol [ "/" symbol ], or a prefix alone right after the number */
static bool scan_unit(Scan *scan, bool lettered, Unit *unit, double *factor) {
    Scan s = *scan;
    skip_blanks(&s);
    const char *start = s.at;
    while (s.at < s.end && unit_char(*s.at)) {
        if (take(&s, "±")) {
            s.at -= strlen("±");
            break;
        }
        s.at++;
    }
    Text symbol = {start, (size_t)(s.at - start)};
    if (symbol.len == 0) return false;
    if (unit_parse(symbol, unit, factor)) return *scan = s, true;
    if (lettered || start != scan->at) return false;
    for (size_t i = 0; i < PREFIX_COUNT; i++) {
        if (!text_is(symbol, PREFIXES[i].symbol) || PREFIXES[i].power == -2) continue;
        *unit = UNIT_NONE, *factor = ten_to(PREFIXES[i].power);
        return *scan = s, true;
    }
    return false;
}

/* tolerance = ( "±" | "+-" | "+/-" ) number ( "%" | [unit] ) | number "%" */
static void scan_tolerance(Scan *scan, Quantity *q) {
    Scan s = *scan;
    skip_blanks(&s);
    bool signed_ = take(&s, "±") || take(&s, "+-") || take(&s, "+/-");
    skip_blanks(&s);
    if (!signed_ && !digit_at(&s, 0)) return;
    Number n;
    if (!scan_number(&s, &n) || n.value < 0) return;
    double half = n.value;
    Unit unit;
    double factor;
    if (take(&s, "%"))
        half *= fabs(q->value) / 100;
    else if (!signed_)
        return;
    else if (scan_unit(&s, n.lettered, &unit, &factor) && unit_same(unit, q->unit))
        half *= factor;
    else
        return;
    q->low = q->value - half, q->high = q->value + half;
    *scan = s;
}

size_t quantity_parse(Text text, Quantity *q) {
    Scan s = {text.at, text.at + text.len};
    Number low, high;
    if (!scan_number(&s, &low)) return 0;
    Unit unit = low.unit, unit_low = low.unit;
    double factor = 1, factor_low = 1;
    bool said = scan_unit(&s, low.lettered, &unit_low, &factor_low), ranged = false;
    Scan before = s;
    high = low;
    if (take(&s, "..")) {
        ranged = scan_number(&s, &high);
        if (!ranged) s = before;
    }
    if (ranged) {
        if (!scan_unit(&s, high.lettered, &unit, &factor)) unit = said ? unit_low : high.unit, factor = said ? factor_low : 1;
        if (!said) factor_low = factor;
    } else {
        unit = said ? unit_low : low.unit, factor = factor_low;
    }
    double a = low.value * factor_low, b = high.value * factor;
    if (!isfinite(a) || !isfinite(b)) return 0;
    *q = (Quantity){.value = ranged ? a / 2 + b / 2 : a, .low = fmin(a, b), .high = fmax(a, b), .unit = unit};
    q->last = fmax(low.last * factor_low, high.last * factor);
    if (!isfinite(q->last)) return 0;
    if (!ranged) scan_tolerance(&s, q);
    return isfinite(q->low) && isfinite(q->high) ? (size_t)(s.at - text.at) : 0;
}

Quantity quantity_exact(double value, Unit unit) {
    return (Quantity){.value = value, .low = value, .high = value, .unit = unit};
}

Quantity quantity_within(double value, double low, double high, Unit unit) {
    return (Quantity){.value = value, .low = fmin(low, high), .high = fmax(low, high), .unit = unit};
}
