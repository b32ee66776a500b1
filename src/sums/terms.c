/* From the terms of a model to a parameter with its limits: the part's value, a reading of it, a property by the shelf or
 * the kind, or a figure of the lore itself. */
#include "sums/inside.h"

#include <math.h>

/* A range that spans more than this is spread by ratio: nobody would say of "1 uA to 20 mA" that it is most likely 10 mA.
 */
static const double RATIO = 3;

static const BenchReading *reading_of(const Bench *bench, uint32_t part, Text function) {
    for (uint32_t i = 0; i < bench->readings.count; i++) {
        const BenchReading *reading = &bench->readings.at[i];
        if (!text_same(reading->function, function) || reading->about_count == 0) continue;
        if (reading->about_what == BENCH_ABOUT_PART && reading->about[0] == part && reading->about_count == 1)
            return reading;
        if (reading->about_what == BENCH_ABOUT_PIN && reading->about_count == 2 && bench->parts.at[part].pin_count == 2 &&
            bench->pins.at[reading->about[0]].part == part && bench->pins.at[reading->about[1]].part == part)
            return reading;
    }
    return NULL;
}

static Quantity widened(Quantity q, Accuracy accuracy) {
    double half = accuracy.share * fabs(q.value) + accuracy.floor;
    q.low = fmin(q.low, q.value - half), q.high = fmax(q.high, q.value + half);
    if (q.value > 0 && q.low <= 0) q.low = q.value / 2;
    return q;
}

static bool rated(const Bench *bench, Quantity *q) {
    for (uint32_t i = 0; i < bench->notebook->notes.count; i++) {
        const Note *note = &bench->notebook->notes.at[i];
        for (uint32_t k = 0; note->verb == NOTE_RATED && k < note->rated.count; k++)
            if (note->rated.items[k].is_quantity && unit_same(note->rated.items[k].quantity.unit, UNIT_VOLT))
                return *q = note->rated.items[k].quantity, true;
    }
    return false;
}

static void because(Arena *arena, SumsParameter *is, Text source, uint32_t line) {
    if (source.len > 0) is->source = source;
    if (line == 0) return;
    uint32_t *lines = arena_many(arena, uint32_t, 1);
    *lines = line;
    is->lines = lines, is->line_count = 1;
}

/* A value that is supposed to have been misread. */
static bool supposed(const Change *change, uint32_t part, Unit unit, Quantity *q) {
    bool value = change != NULL && change->part == part &&
                 (change->mistake == MISTAKE_BAND || change->mistake == MISTAKE_POWER || change->mistake == MISTAKE_GUESS);
    if (value) *q = quantity_within(change->value, change->low, change->high, unit);
    return value;
}

static bool factor_value(Arena *arena, const Sums *sums, const Change *change, uint32_t number, const ModelFactor *factor,
                         Quantity *q, SumsParameter *is) {
    const BenchPart *part = &sums->bench->parts.at[number];
    Text source = {"", 0};
    switch (factor->op) {
    case FACTOR_QUANTITY:
        return *q = factor->quantity, true;
    case FACTOR_VALUE:
        if (supposed(change, number, part->kind->unit, q)) return true;
        if (!part->has_value) return false;
        because(arena, is, part->value_why.says, part->value_why.line_count > 0 ? part->value_why.lines[0] : part->line);
        return *q = part->value, true;
    case FACTOR_CELLS:
        if (part->cell_count == 0) return false;
        return *q = quantity_exact(part->cell_count, UNIT_NONE), true;
    case FACTOR_RATED:
        because(arena, is, TEXT("what the product is rated for"), 0);
        return rated(sums->bench, q);
    case FACTOR_PROPERTY:
        if (!bench_part_property(part, factor->name, q, &source)) return false;
        because(arena, is, source, 0);
        return true;
    case FACTOR_READING: {
        const BenchReading *reading = reading_of(sums->bench, number, factor->name);
        if (reading == NULL) return false;
        because(arena, is, TEXT("it was read"), reading->note->line);
        return *q = widened(reading->value, sums->models->ohms), true;
    }
    }
    return false;
}

static Quantity product(Quantity a, Quantity b) {
    double ends[] = {a.low * b.low, a.low * b.high, a.high * b.low, a.high * b.high};
    Quantity q = {.value = a.value * b.value, .low = ends[0], .high = ends[0], .unit = unit_times(a.unit, b.unit)};
    for (int i = 1; i < 4; i++) q.low = fmin(q.low, ends[i]), q.high = fmax(q.high, ends[i]);
    return q;
}

bool terms_value(Arena *arena, const Sums *sums, const Change *change, uint32_t part, const ModelSet *set,
                 SumsParameter *is) {
    for (uint32_t t = 0; t < set->term_count; t++) {
        const ModelTerm *term = &set->terms[t];
        Quantity q = quantity_exact(1, UNIT_NONE), one;
        bool known = true;
        is->source = term->source, is->lines = NULL, is->line_count = 0;
        for (uint32_t i = 0; known && i < term->count; i++) {
            known = factor_value(arena, sums, change, part, &term->factors[i], &one, is);
            if (known) q = i == 0 ? one : product(q, one);
        }
        if (!known) continue;
        is->part = part;
        is->low = fmin(q.low, q.value), is->high = fmax(q.high, q.value);
        is->unit = q.unit;
        is->ratio = is->low > 0 && is->high / is->low > RATIO;
        is->typical = is->ratio ? sqrt(is->low) * sqrt(is->high) : q.value;
        return true;
    }
    return false;
}
