/* Numbers of the world: a value, its limits and its unit. Nothing in the house prints a bare number where a unit belongs. */
#ifndef UNPICK_BASE_QUANTITY_H
#define UNPICK_BASE_QUANTITY_H

#include "base/text.h"

/* A unit as exponents of the SI base units (BIPM, The International System of Units, 9th ed.), and of the bit. Celsius
 * temperatures are a dimension of their own, since they have another zero. All zero: a plain number. */
typedef struct Unit {
    signed char m, kg, s, A, K, cd, bit, celsius;
} Unit;

#define UNIT_NONE ((Unit){0})
#define UNIT_VOLT ((Unit){.m = 2, .kg = 1, .s = -3, .A = -1})
#define UNIT_AMPERE ((Unit){.A = 1})
#define UNIT_OHM ((Unit){.m = 2, .kg = 1, .s = -3, .A = -2})
#define UNIT_FARAD ((Unit){.m = -2, .kg = -1, .s = 4, .A = 2})
#define UNIT_HENRY ((Unit){.m = 2, .kg = 1, .s = -2, .A = -2})
#define UNIT_HERTZ ((Unit){.s = -1})
#define UNIT_WATT ((Unit){.m = 2, .kg = 1, .s = -3})
#define UNIT_JOULE ((Unit){.m = 2, .kg = 1, .s = -2})
#define UNIT_SECOND ((Unit){.s = 1})
#define UNIT_METRE ((Unit){.m = 1})
#define UNIT_COULOMB ((Unit){.s = 1, .A = 1})
#define UNIT_BIT ((Unit){.bit = 1})
#define UNIT_CELSIUS ((Unit){.celsius = 1})

bool unit_same(Unit a, Unit b);
Unit unit_times(Unit a, Unit b);
Unit unit_over(Unit a, Unit b);
Unit unit_power(Unit a, int exponent);
bool unit_root(Unit a, Unit *root); /* square root; false when an exponent is odd */

/* A unit by its symbol, with or without an SI prefix: `kHz`, `mm`, `ohm`, `Ω`, `R`, `uF`, `µF`, `mAh`, `Mbit`, `mil`, `inch`,
 * `degC`, `%`, `bit/s`. Prefixes of bit and byte alone count by 1024, as memories are sold (JEDEC JESD100B.01).
 * out factor: what one of it is in SI base units. False when there is no such unit. */
bool unit_parse(Text symbol, Unit *unit, double *factor);

/* The SI symbol without prefix (`V`, `Ω`, `F`), or a product of base units; empty for a plain number. */
Text unit_symbol(Arena *arena, Unit unit);

typedef struct Quantity {
    double value;     /* in SI base units; the middle of a range */
    double low, high; /* limits; both equal to value when no tolerance was said */
    double last;      /* weight of the last digit as written (0.01 for "6.21"); 0: exact or computed */
    Unit unit;
} Quantity;

/* Reads the longest quantity at the start of `text`: `6.21 V`, `4k7`, `2u2`, `R47`, `10k ±5%`, `3..5 V`, `-40..85 degC`,
 * `0.1 inch`. The letter notation is that of IEC 60062. A unit may be missing (then UNIT_NONE, prefix applied).
 * Returns the bytes used, 0 when there is no quantity. Never gives a value that is not finite. */
size_t quantity_parse(Text text, Quantity *quantity);

Quantity quantity_exact(double value, Unit unit);
Quantity quantity_within(double value, double low, double high, Unit unit);

/* Says it with an SI prefix and no more digits than its limits bear out: `4.7 kΩ`, `52 mA`. A range is said only by
 * quantity_print_range: `48..55 mA`. */
void quantity_print(Out *out, Quantity quantity);
void quantity_print_range(Out *out, Quantity quantity);
/* With its limits: `3.29 ± 0.04 V`; `0.24..2.2 mA` where they lie unevenly about the value. No more digits than they bear. */
void quantity_print_spread(Out *out, Quantity quantity);
/* Digits that the limits (or what was written) bear out, 1 to 6. */
int quantity_digits(Quantity quantity);

/* A probability for people, never 0 nor 100 %: `87 %`, `over 99 %`, `under 1 %`. */
void probability_print(Out *out, double p);
/* Between probability and weight of evidence in decibans (I. J. Good): 10 log10(p / (1 - p)). */
double probability_of_decibans(double decibans);
double decibans_of_probability(double p);

#endif
