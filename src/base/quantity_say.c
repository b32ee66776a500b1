/* How quantities and probabilities are said: with an SI prefix, and no more digits than are borne out. */
#include "base/quantity.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { DIGITS_EXACT = 3, DIGITS_LEAST = 2, DIGITS_MOST_SAID = 6 };

int quantity_digits(Quantity q) {
    double half = (q.high - q.low) / 2, size = fabs(q.value);
    if (size == 0) return 1;
    int digits = DIGITS_EXACT;
    if (q.last > 0) /* as written: a tolerance beside it takes none of its digits */
        digits = (int)floor(log10(size) + 1e-9) - (int)floor(log10(q.last) + 0.5) + 1;
    else if (half > 0)
        digits = (int)floor(log10(size) + 1e-9) - (int)floor(log10(half) + 1e-9) + 1; /* down to the first doubtful one */
    int least = half > 0 && q.last <= 0 ? DIGITS_LEAST : 1;
    return digits < least ? least : digits > DIGITS_MOST_SAID ? DIGITS_MOST_SAID : digits;
}

typedef struct Scale {
    double factor;
    char symbol[24];
} Scale;

/* What an amount of this size is best said in: `mA`, `kΩ`, `Mbit`, `h`. */
static Scale scale_of(Quantity q, double size) {
    static const char *const steps[] = {"f", "p", "n", "µ", "m", "", "k", "M", "G", "T"};
    Arena *arena = arena_new();
    Scale scale = {.factor = 1};
    Text symbol = unit_symbol(arena, q.unit);
    bool simple = symbol.len > 0 && text_find(symbol, TEXT("^")) == SIZE_MAX && text_find(symbol, TEXT("·")) == SIZE_MAX;
    const char *prefix = "";
    if (unit_same(q.unit, UNIT_SECOND) && size >= 120) {
        static const struct {
            double factor;
            const char *symbol;
        } spans[] = {{60, "min"}, {3600, "h"}, {86400, "days"}};
        int i = size >= 172800 ? 2 : size >= 7200 ? 1 : 0;
        scale.factor = spans[i].factor;
        symbol = text_of(spans[i].symbol);
    } else if (unit_same(q.unit, UNIT_BIT)) {
        int step = 5;
        for (; size >= 1024 && step < 9; step++) size /= 1024, scale.factor *= 1024;
        prefix = step == 6 ? "K" : steps[step];
    } else if (simple && !unit_same(q.unit, UNIT_CELSIUS) && size > 0) {
        int step = (int)floor(log10(size * (1 + 1e-12)) / 3);
        step = step < -5 ? -5 : step > 4 ? 4 : step;
        if (unit_same(q.unit, UNIT_METRE)) step = size < 1e-4 ? -2 : size < 1 ? -1 : 0;
        if (unit_same(q.unit, UNIT_FARAD) && step >= -1) step = size < 1 ? -2 : 0; /* the trade says 2200 µF, not 2.2 mF */
        if (unit_same(q.unit, UNIT_FARAD) && step < -4) step = -4; /* and 0.5 pF, not 500 fF */
        scale.factor = pow(10, 3 * step);
        prefix = steps[step + 5];
    }
    snprintf(scale.symbol, sizeof scale.symbol, "%s%.*s", prefix, TEXT_ARG(symbol));
    arena_free(arena);
    return scale;
}

/* `digits` significant digits without an exponent, whatever the size. */
static void print_digits(Out *out, double value, int digits) {
    if (value == 0) {
        out_char(out, '0');
        return;
    }
    double size = fabs(value);
    if (size >= 1e7 || size < 1e-6) {
        out_fmt(out, "%.*g", digits, value);
        return;
    }
    int decimals = digits - 1 - (int)floor(log10(size) + 1e-9);
    if (decimals < 0) {
        double unit = pow(10, -decimals);
        out_fmt(out, "%.0f", round(value / unit) * unit);
        return;
    }
    out_fmt(out, "%.*f", decimals, value);
}

void quantity_print(Out *out, Quantity q) {
    Scale scale = scale_of(q, fabs(q.value));
    print_digits(out, q.value / scale.factor, quantity_digits(q));
    if (scale.symbol[0] != '\0') out_fmt(out, " %s", scale.symbol);
}

void quantity_print_range(Out *out, Quantity q) {
    if (!(q.low < q.high)) {
        quantity_print(out, q);
        return;
    }
    Scale scale = scale_of(q, fmax(fabs(q.low), fabs(q.high)));
    int digits = quantity_digits(q);
    print_digits(out, q.low / scale.factor, digits);
    out_lit(out, "..");
    print_digits(out, q.high / scale.factor, digits);
    if (scale.symbol[0] != '\0') out_fmt(out, " %s", scale.symbol);
}

static const double UNEVEN = 0.6; /* of one side to the other, below which ± would mislead */

void quantity_print_spread(Out *out, Quantity q) {
    double up = q.high - q.value, down = q.value - q.low, half = fmax(up, down);
    if (!(half > 1e-9 * fabs(q.value)) || !isfinite(half)) {
        quantity_print(out, quantity_exact(q.value, q.unit));
        return;
    }
    if (fmin(up, down) < UNEVEN * half) {
        Quantity range = q;
        range.last = 0;
        quantity_print_range(out, range);
        return;
    }
    Scale scale = scale_of(q, fmax(fabs(q.value), half));
    half /= scale.factor;
    int place = (int)floor(log10(half) + 1e-9);
    int decimals = half / pow(10, place) < 1.95 ? 1 - place : -place; /* 0.14 but 0.3: as uncertainties are usually given */
    double unit = pow(10, -decimals);
    if (decimals > 0)
        out_fmt(out, "%.*f ± %.*f", decimals, q.value / scale.factor, decimals, half);
    else
        out_fmt(out, "%.0f ± %.0f", round(q.value / scale.factor / unit) * unit, round(half / unit) * unit);
    if (scale.symbol[0] != '\0') out_fmt(out, " %s", scale.symbol);
}

void probability_print(Out *out, double p) {
    if (p > 0.99)
        out_lit(out, "over 99 %");
    else if (p < 0.01)
        out_lit(out, "under 1 %");
    else
        out_fmt(out, "%.0f %%", p * 100);
}

double probability_of_decibans(double decibans) { return 1 / (1 + pow(10, -decibans / 10)); }

double decibans_of_probability(double p) {
    const double edge = 1e-9; /* certainty would need infinite evidence */
    if (p < edge) p = edge;
    if (p > 1 - edge) p = 1 - edge;
    return 10 * log10(p / (1 - p));
}
