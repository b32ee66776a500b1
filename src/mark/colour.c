/* Colour bands of IEC 60062, clause 3 (from memory), three to six, read from both ends. A direction that the code does not
 * allow is dropped; between two that it does, preferred values and the order in which the person read them decide.
 *
 *   3: digit digit multiplier, ±20 %        5: digit digit digit multiplier tolerance
 *   4: digit digit multiplier tolerance     6: ... temperature coefficient */
#include "mark/inside.h"

#include <math.h>
#include <string.h>

enum { BANDS_LEAST = 3, BANDS_MOST = 6 };

typedef struct Bands {
    Text at[BANDS_MOST];
    size_t count;
} Bands;

/* words = colour { ( blank | "," | "-" | "/" ) colour } ; false when one is no colour */
static bool cut_bands(const Reader *reader, Bands *bands) {
    Text t = reader->whole;
    for (size_t i = 0; i < t.len;) {
        char word[16];
        size_t len = 0;
        while (i < t.len && strchr(" \t,-/", t.at[i]) != NULL) i++;
        for (; i < t.len && strchr(" \t,-/", t.at[i]) == NULL && len < sizeof word; i++)
            word[len++] = is_upper(t.at[i]) ? (char)(t.at[i] - 'A' + 'a') : t.at[i];
        if (len == 0) break;
        const CodeEntry *colour = code_find(reader->marks, CODE_COLOUR, (Text){word, len});
        if (colour == NULL || bands->count == BANDS_MOST) return false;
        bands->at[bands->count++] = colour->says;
    }
    return bands->count > 0;
}

typedef struct Meaning {
    double value, last, tolerance, drift; /* drift: per kelvin, 0 when unsaid */
    int figures;
} Meaning;

/* What the bands mean from this end; false, with the reason, when the code does not allow them. */
static bool meaning_of(const Reader *reader, const Bands *bands, Meaning *m, Text *why) {
    size_t figures = bands->count >= 5 ? 3 : 2;
    int number = 0;
    for (size_t i = 0; i < figures; i++) {
        const CodeEntry *digit = code_find(reader->marks, CODE_COLOUR_DIGIT, bands->at[i]);
        if (digit == NULL || (i == 0 && digit->value.value == 0)) {
            *why =
                text_fmt(reader->arena, "%.*s can't be %s", TEXT_ARG(bands->at[i]), i == 0 ? "the first digit" : "a digit");
            return false;
        }
        number = number * 10 + (int)digit->value.value;
    }
    const CodeEntry *power = code_find(reader->marks, CODE_COLOUR_POWER, bands->at[figures]);
    const CodeEntry *tolerance = bands->count == 3
                                     ? code_find(reader->marks, CODE_COLOUR_TOLERANCE, TEXT("none"))
                                     : code_find(reader->marks, CODE_COLOUR_TOLERANCE, bands->at[figures + 1]);
    const CodeEntry *drift = bands->count == 6 ? code_find(reader->marks, CODE_COLOUR_DRIFT, bands->at[5]) : NULL;
    if (power == NULL || tolerance == NULL || (bands->count == 6 && drift == NULL)) {
        size_t band = power == NULL ? figures : tolerance == NULL ? figures + 1 : 5;
        *why = text_fmt(reader->arena, "%.*s can't be the %s", TEXT_ARG(bands->at[band < bands->count ? band : 0]),
                        power == NULL       ? "multiplier"
                        : tolerance == NULL ? "tolerance"
                                            : "temperature coefficient");
        return false;
    }
    m->last = pow(10, power->value.value);
    m->value = number * m->last;
    m->figures = (int)figures;
    m->tolerance = tolerance->value.value;
    m->drift = drift == NULL ? 0 : drift->value.value;
    return true;
}

/* The series that goes with a tolerance (IEC 60063, clause 3). */
static unsigned series_for(double tolerance) {
    return tolerance > 0.03 ? 24 : tolerance > 0.015 ? 48 : tolerance > 0.007 ? 96 : 192;
}

static void add(Reader *reader, Form form, Unit unit, const Meaning *m, double decibans, Text assumed) {
    double factor = unit_same(unit, UNIT_HENRY) ? 1e-6 : 1, value = m->value * factor;
    Quantity nominal = {.value = value, .low = value, .high = value, .last = m->last * factor, .unit = unit};
    Text said = quantity_said(reader->arena, nominal), within = tolerance_said(reader->arena, -m->tolerance, m->tolerance);
    Text says =
        text_fmt(reader->arena, "%s of %.*s %.*s", factor < 1 ? "inductor" : "resistor", TEXT_ARG(said), TEXT_ARG(within));
    decibans += series_decibans(reader->marks, m->value, series_for(m->tolerance), m->figures);
    if (factor == 1) decibans += size_decibans(reader->marks, value);
    Draft *draft = reading_add(reader, form, decibans, says);
    nominal.low = value * (1 - m->tolerance), nominal.high = value * (1 + m->tolerance);
    reading_value(draft, nominal);
    reading_field(reader, draft, "tolerance", within);
    if (m->drift > 0)
        reading_field(reader, draft, "temperature coefficient", text_fmt(reader->arena, "±%.4g ppm/K", m->drift * 1e6));
    reading_assume(reader, draft, "%.*s", TEXT_ARG(assumed));
}

static Bands turned(const Bands *bands) {
    Bands other = {.count = bands->count};
    for (size_t i = 0; i < bands->count; i++) other.at[i] = bands->at[bands->count - 1 - i];
    return other;
}

void read_colours(Reader *reader) {
    Bands bands = {0};
    if (!cut_bands(reader, &bands)) return;
    if (bands.count == 1 && text_is(bands.at[0], "black")) {
        Draft *draft = reading_add(reader, FORM_RESISTOR_COLOURS, 0, TEXT("link of zero ohm"));
        reading_value(draft, quantity_within(0, 0, 0.05, UNIT_OHM));
        reading_assume(reader, draft, "a single black band");
    }
    if (bands.count < BANDS_LEAST) return;
    Bands ends[] = {bands, turned(&bands)};
    Meaning means[2];
    Text why[2] = {{"", 0}, {"", 0}};
    bool allowed[2];
    for (int i = 0; i < 2; i++) allowed[i] = meaning_of(reader, &ends[i], &means[i], &why[i]);
    for (int i = 0; i < 2; i++) {
        if (!allowed[i]) continue;
        Text from =
            i == 0 ? TEXT("bands read in the order given") : TEXT("bands read in the order opposite to the one given");
        Text assumed = allowed[1 - i]
                           ? from
                           : text_fmt(reader->arena, "%.*s: the other way, %.*s", TEXT_ARG(from), TEXT_ARG(why[1 - i]));
        double decibans = i == 0 ? weight_of(reader->marks, "colour-forward") : 0;
        add(reader, FORM_RESISTOR_COLOURS, UNIT_OHM, &means[i], decibans, assumed);
        if (bands.count <= 4) add(reader, FORM_INDUCTOR_COLOURS, UNIT_HENRY, &means[i], decibans, assumed);
    }
    if (!allowed[0] && !allowed[1]) reader->refused = text_fmt(reader->arena, "%.*s", TEXT_ARG(why[0]));
}
