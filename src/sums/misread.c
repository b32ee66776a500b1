/* What a marking may have been taken for: bands of colours that look alike under a lamp or after heat, digits that look
 * alike when small or worn, the whole read from its other end. Which look alike is common practice. */
#include "sums/mistakes.h"

#include <math.h>

static const char *const COLOURS[][2] = {{"black", "brown"}, {"brown", "red"},   {"red", "orange"},  {"orange", "yellow"},
                                         {"green", "blue"},  {"blue", "violet"}, {"violet", "grey"}, {"grey", "white"}};
static const char *const DIGITS[][2] = {{"0", "6"}, {"0", "8"}, {"1", "7"}, {"3", "8"},
                                        {"5", "6"}, {"6", "8"}, {"8", "9"}, {"4", "9"}};
enum { COLOUR_COUNT = sizeof COLOURS / sizeof *COLOURS, DIGIT_COUNT = sizeof DIGITS / sizeof *DIGITS };
enum { WORDS_MOST = 6 /* bands */, CODE_MOST = 6 /* characters of a code worth misreading */ };

typedef struct Reader {
    Arena *arena;
    const Marks *marks;
    const BenchPart *part;
    MisreadList *list;
} Reader;

/* Its likeliest value, when it is another than the part was taken to have; listed once. */
static void try_marking(Reader *r, Text marking, Text how) {
    MarkContext context = {.kind = TEXT("resistor"),
                           .package = r->part->package != NULL ? r->part->package->name : r->part->package_name};
    MarkReadings readings = mark_read(r->arena, r->marks, marking, context);
    const MarkReading *reading = readings.count > 0 ? &readings.at[0] : NULL;
    if (reading == NULL || !reading->has_value || !unit_same(reading->value.unit, UNIT_OHM) || !(reading->value.value > 0))
        return;
    double value = reading->value.value;
    if (fabs(value - r->part->value.value) <= 1e-6 * value) return;
    for (uint32_t i = 0; i < r->list->count; i++)
        if (fabs(r->list->at[i].value - value) <= 1e-6 * value) return;
    list_push(r->arena, r->list, ((Misread){value, how}));
}

/* ---- bands ---- */

static uint32_t split(Text text, Text words[WORDS_MOST]) {
    uint32_t count = 0;
    for (size_t i = 0; i < text.len;) {
        size_t from = i;
        while (i < text.len && text.at[i] != ' ' && text.at[i] != '-' && text.at[i] != ',') i++;
        if (i > from && count == WORDS_MOST) return 0;
        if (i > from) words[count++] = text_sub(text, from, i - from);
        i++;
    }
    return count;
}

static Text joined(Arena *arena, const Text *words, uint32_t count, bool backwards) {
    Out out = out_new(arena);
    for (uint32_t i = 0; i < count; i++)
        out_fmt(&out, "%s%.*s", i == 0 ? "" : " ", TEXT_ARG(words[backwards ? count - 1 - i : i]));
    return out_text(&out);
}

static void misread_bands(Reader *r, Text *words, uint32_t count) {
    static const char *const nth[WORDS_MOST] = {"first", "second", "third", "fourth", "fifth", "sixth"};
    for (uint32_t i = 0; i < count; i++)
        for (size_t c = 0; c < 2 * COLOUR_COUNT; c++) {
            const char *seen = COLOURS[c / 2][c % 2], *is = COLOURS[c / 2][1 - c % 2];
            if (!text_same_folded(words[i], text_of(seen))) continue;
            Text kept = words[i];
            words[i] = text_of(is);
            try_marking(r, joined(r->arena, words, count, false),
                        text_fmt(r->arena, "its %s band is %s, not %s", nth[i], is, seen));
            words[i] = kept;
        }
    try_marking(r, joined(r->arena, words, count, true), TEXT("its bands were read from the wrong end"));
}

/* ---- digits ---- */

static void misread_digits(Reader *r, Text marking) {
    for (size_t i = 0; i < marking.len; i++)
        for (size_t d = 0; d < 2 * DIGIT_COUNT; d++) {
            if (marking.at[i] != DIGITS[d / 2][d % 2][0]) continue;
            char *other = arena_take(r->arena, marking.len + 1);
            memcpy(other, marking.at, marking.len);
            other[i] = DIGITS[d / 2][1 - d % 2][0];
            Text is = {other, marking.len};
            try_marking(r, is, text_fmt(r->arena, "it is marked %.*s, not %.*s", TEXT_ARG(is), TEXT_ARG(marking)));
        }
}

/* Upside down 0, 1, 6, 8 and 9 are digits too. */
static void turn_over(Reader *r, Text marking) {
    static const char seen[] = "01689", is[] = "01986";
    char *other = arena_take(r->arena, marking.len + 1);
    for (size_t i = 0; i < marking.len; i++) {
        const char *at = memchr(seen, marking.at[i], sizeof seen - 1);
        if (at == NULL) return;
        other[marking.len - 1 - i] = is[at - seen];
    }
    Text text = {other, marking.len};
    try_marking(r, text, text_fmt(r->arena, "its marking was read upside down: it is %.*s", TEXT_ARG(text)));
}

/* Another of the readings that the standards allow. */
static void read_otherwise(Reader *r) {
    for (uint32_t i = 1; i < r->part->readings.count; i++) {
        const MarkReading *reading = &r->part->readings.at[i];
        if (!reading->has_value || !unit_same(reading->value.unit, UNIT_OHM) || !(reading->value.value > 0)) continue;
        double value = reading->value.value;
        if (fabs(value - r->part->value.value) <= 1e-6 * value) continue;
        bool had = false;
        for (uint32_t k = 0; k < r->list->count; k++) had = had || fabs(r->list->at[k].value - value) <= 1e-6 * value;
        if (!had)
            list_push(
                r->arena, r->list,
                ((Misread){value, text_fmt(r->arena, "its marking is to be read by %.*s", TEXT_ARG(reading->standard))}));
    }
}

void misread_marking(Arena *arena, const Marks *marks, const BenchPart *part, MisreadList *list) {
    Reader r = {arena, marks, part, list};
    Text words[WORDS_MOST];
    bool read = marks != NULL && part->has_marking && part->readings.count > 0 && part->readings.at[0].has_value &&
                unit_same(part->value.unit, UNIT_OHM) &&
                fabs(part->readings.at[0].value.value - part->value.value) <= 1e-6 * part->value.value;
    if (!read) return;
    uint32_t count = split(part->marking, words);
    if (count >= 3)
        misread_bands(&r, words, count);
    else if (part->marking.len <= CODE_MOST)
        misread_digits(&r, part->marking), turn_over(&r, part->marking);
    read_otherwise(&r);
}
