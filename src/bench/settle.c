/* What each part is: its kind, its value, what its marking names. The kind is what the note says, else what the reference
 * letters say; a part of the shelf that the marking names decisively may make it more specific, or overrule letters. A
 * value is what was written, else what the cells give, else what the marking reads as.
 *
 * Looking a marking up is the one dear step, so each different marking is looked up once for each kind and package, and
 * only BENCH_MARKINGS_MOST of them. */
#include "bench/build.h"

#include <string.h>

typedef struct Identity {
    MarkReadings readings;
    const MarkReading *value; /* among the readings: the one that gives the kind's value; NULL */
    ShelfMatch match;     /* its part is NULL when nothing is named decisively; decibans: against all else it could be */
    double kind_decibans; /* for the kind of the match */
} Identity;

enum { MATCHES_MOST = 5, KEY_MOST = 512 };

static bool related(const BenchKind *a, const BenchKind *b) { return bench_kind_is(a, b) || bench_kind_is(b, a); }

/* The kind as mark/ takes it: the nearest kind up that it knows, else the kind itself. */
static Text mark_kind(const BenchKind *kind) {
    size_t count;
    const Text *known = mark_kinds(&count);
    for (const BenchKind *up = kind; up->parent != NULL; up = up->parent)
        for (size_t i = 0; i < count; i++)
            if (text_same(known[i], up->name)) return up->name;
    return kind->parent == NULL ? TEXT("") : kind->name;
}

/* Readings that name a kind of part which this one is not are left out: `101` on a chip is no resistor's. */
static MarkReadings fitting(Build *b, const BenchKind *kind, MarkReadings all) {
    MarkReading *kept = arena_many(b->arena, MarkReading, all.count);
    MarkReadings result = {.at = kept, .refused = all.refused};
    for (uint32_t i = 0; i < all.count; i++) {
        const BenchKind *named = bench_kind(b->bench->kinds, all.at[i].kind);
        if (named == NULL || related(named, kind)) kept[result.count++] = all.at[i];
    }
    return result;
}

/* ---- the shelf ---- */

/* Decibans for a date being all that is marked. */
static double weight_of_date(const Build *b, MarkReadings readings) {
    double most = -INFINITY;
    for (uint32_t i = 0; i < readings.count; i++)
        if (text_is(readings.at[i].kind, "date"))
            most = fmax(most, readings.at[i].decibans + bench_weight(b->bench->kinds, BENCH_WEIGHT_DATE));
    return most;
}

static double odds(double decibans) { return pow(10, decibans / 10); }

/* Weighs each match with its rarity and with what is known of the kind, and all of them against one another, against a date
 * and against no such part at all. The best match counts if the kind it has is decisive: a 555 is a timer, whosever it is.
 */
static void decide(Build *b, const ShelfMatch *matches, size_t count, const BenchPart *part, bool said,
                   Identity *identity) {
    const BenchKinds *kinds = b->bench->kinds;
    double known = part->kind->parent == NULL ? 0 : part->kind_why.decibans, each[MATCHES_MOST], all, same = 0;
    const BenchKind *named[MATCHES_MOST];
    size_t best = 0;
    all = 1 + odds(weight_of_date(b, identity->readings));
    for (size_t i = 0; i < count; i++) {
        named[i] = bench_kind(kinds, matches[i].part->kind);
        bool fits = named[i] != NULL && related(named[i], part->kind);
        bool narrow = said || part->kind->pin_count > 0; /* the letters of a chip leave all chips */
        double for_kind = !fits ? -known : narrow ? bench_weight(kinds, BENCH_WEIGHT_KIND) : 0;
        each[i] = named[i] == NULL ? 0 : odds(matches[i].decibans + bench_weight(kinds, BENCH_WEIGHT_PART) + for_kind);
        all += each[i];
        if (each[i] > each[best]) best = i;
    }
    if (count == 0 || named[best] == NULL) return;
    for (size_t i = 0; i < count; i++) same += named[i] != NULL && related(named[i], named[best]) ? each[i] : 0;
    identity->kind_decibans = decibans_of_probability(same / all);
    if (identity->kind_decibans < bench_weight(kinds, BENCH_WEIGHT_ADOPT)) return;
    identity->match = matches[best];
    identity->match.decibans = decibans_of_probability(each[best] / all);
}

static void look_up(Build *b, const BenchPart *part, bool said, Identity *identity) {
    Bench *bench = b->bench;
    Text package = part->package != NULL ? part->package->name : part->package_name;
    const BenchKind *kind = part->kind;
    if (bench->marks != NULL) {
        MarkContext context = {.kind = mark_kind(kind), .package = package, .year = b->year};
        identity->readings = fitting(b, kind, mark_read(b->arena, bench->marks, part->marking, context));
        for (uint32_t i = 0; i < identity->readings.count && identity->value == NULL; i++) {
            const MarkReading *reading = &identity->readings.at[i];
            if (reading->has_value && kind->has_unit && unit_same(reading->value.unit, kind->unit))
                identity->value = reading;
        }
    }
    if (bench->shelf == NULL || identity->value != NULL) return;
    ShelfMatch matches[MATCHES_MOST];
    ShelfQuery query = {
        .marking = part->marking, .package = package, .pins = part->package != NULL ? part->package->leads : 0};
    size_t count = shelf_find(bench->shelf, b->arena, query, matches, MATCHES_MOST);
    decide(b, matches, count, part, said, identity);
}

typedef struct Key {
    char bytes[KEY_MOST];
    size_t len;
} Key;

static bool key_add(Key *key, const void *bytes, size_t len) {
    if (len > KEY_MOST - key->len) return false;
    if (len > 0) memcpy(key->bytes + key->len, bytes, len);
    key->len += len;
    return true;
}

/* What the part's marking comes to, looked up once for each marking, package and kind with its weight. */
static Identity identity_of(Build *b, const BenchPart *part, bool said) {
    Key key = {.len = 0};
    Identity identity = {0};
    if (!key_add(&key, &part->kind->number, sizeof part->kind->number) ||
        !key_add(&key, &part->kind_why.decibans, sizeof part->kind_why.decibans) || !key_add(&key, &said, sizeof said) ||
        !key_add(&key, part->package_name.at, part->package_name.len) || !key_add(&key, "\n", 1) ||
        !key_add(&key, part->marking.at, part->marking.len))
        return identity; /* no body has room for so much */
    uint32_t number = names_find(b->markings, (Text){key.bytes, key.len});
    if (number != NAME_NONE) return b->identities.at[number];
    if (names_count(b->markings) == BENCH_MARKINGS_MOST) {
        b->bench->markings_left_out++;
        return identity;
    }
    look_up(b, part, said, &identity);
    names_add(b->markings, text_copy(b->scratch, (Text){key.bytes, key.len}));
    list_push(b->scratch, &b->identities, identity);
    return identity;
}

/* ---- the kind ---- */

static BenchFact fact_of(Build *b, const Note *note, Text says) {
    double sure = note->with->sure;
    double decibans = isnan(sure) ? bench_source_weight(b->bench->kinds, note->with->by) : decibans_of_probability(sure);
    return (BenchFact){says, decibans, &note->line, 1};
}

static void identify(Build *b, BenchPart *part, const Draft *draft) {
    Identity identity = identity_of(b, part, draft->said != NULL);
    part->readings = identity.readings;
    if (identity.value != NULL && !part->has_value) {
        part->has_value = true;
        part->value = identity.value->value;
        part->value_why = (BenchFact){identity.value->says, identity.value->decibans, &draft->marking_by->line, 1};
    }
    if (identity.match.part == NULL) return;
    part->shelf = identity.match.part;
    part->shelf_match = identity.match;
    const BenchKind *named = bench_kind(b->bench->kinds, part->shelf->kind);
    bool finer = bench_kind_is(named, part->kind) && named != part->kind;
    if (!finer && (draft->said != NULL || related(named, part->kind))) return;
    part->kind = named;
    Text says = text_fmt(b->arena, "its marking reads as %.*s", TEXT_ARG(part->shelf->name));
    part->kind_why = (BenchFact){says, identity.kind_decibans, &draft->marking_by->line, 1};
}

static void settle_kind(Build *b, BenchPart *part, const Draft *draft) {
    const BenchKinds *kinds = b->bench->kinds;
    if (draft->said != NULL) {
        part->kind = draft->said;
        part->kind_why = fact_of(b, draft->said_by, TEXT("its note says so"));
    }
    const BenchKind *coin = bench_kind(kinds, TEXT("coin-cell"));
    if (part->cell->designation.len > 0 && part->cell->button && coin != NULL && bench_kind_is(coin, part->kind)) {
        part->kind = coin;
        part->kind_why = fact_of(b, draft->cell_by, TEXT("its cell is one"));
    }
}

/* ---- the value ---- */

static Quantity with_tolerance(Quantity q, double fraction) {
    double half = fabs(q.value) * fraction;
    if (q.low == q.high && fraction > 0) q.low = q.value - half, q.high = q.value + half;
    return q;
}

/* Two notes with two values of the same unit. */
static void two_values(Build *b, const BenchPart *part, const Draft *draft, uint32_t one, uint32_t other) {
    if (!build_conflict_listed(b)) return;
    const Note *first = draft->quantities[one].note, *second = draft->quantities[other].note;
    uint32_t lines[] = {first->line, second->line};
    Text says = text_fmt(b->arena, "%.*s is %.*s in line %u, but %.*s in line %u", TEXT_ARG(part->ref),
                         TEXT_ARG(draft->quantities[one].item->written), first->line,
                         TEXT_ARG(draft->quantities[other].item->written), second->line);
    build_conflict(b, BENCH_TWO_PARTS, text_fmt(b->arena, "two-parts:%.*s:value", TEXT_ARG(part->ref)), says,
                   text_fmt(b->arena, "look at %.*s again or measure it, and strike the wrong line", TEXT_ARG(part->ref)),
                   lines, 2);
}

static void settle_quantities(Build *b, BenchPart *part, const Draft *draft) {
    uint32_t value = BENCH_NONE;
    part->rating = (Quantity){0};
    for (uint32_t i = 0; i < draft->quantity_count; i++) {
        Quantity q = draft->quantities[i].item->quantity;
        bool bare = unit_same(q.unit, UNIT_NONE);
        if (part->kind->has_unit && (bare || unit_same(q.unit, part->kind->unit))) {
            q.unit = part->kind->unit;
            if (value == BENCH_NONE) {
                value = i;
                part->has_value = true;
                part->value = with_tolerance(q, draft->tolerance);
                part->value_why = fact_of(b, draft->quantities[i].note, TEXT("written in its note"));
            } else if (fabs(q.value - part->value.value) > 1e-9 * fabs(q.value)) {
                two_values(b, part, draft, value, i);
            }
        } else if (unit_same(part->rating.unit, UNIT_NONE) && part->rating.value == 0) {
            part->rating = q;
        }
    }
}

static void settle_cells(Build *b, BenchPart *part, const Draft *draft) {
    if (part->has_value || part->cell_count == 0 || part->cell->designation.len == 0 || !part->kind->has_unit) return;
    Quantity volts = part->cell->volts;
    if (!unit_same(volts.unit, part->kind->unit)) return;
    double count = part->cell_count;
    part->has_value = true;
    part->value = (Quantity){volts.value * count, volts.low * count, volts.high * count, volts.last * count, volts.unit};
    part->value_why = fact_of(b, draft->cell_by, TEXT("nominal volts of its cells"));
}

/* Marked 102 and noted as 10k: both can't be. Any reading of the marking that agrees will do. */
static void check_marking(Build *b, const BenchPart *part, const Draft *draft) {
    const MarkReading *first = NULL;
    for (uint32_t i = 0; i < part->readings.count; i++) {
        const MarkReading *reading = &part->readings.at[i];
        if (!reading->has_value || !unit_same(reading->value.unit, part->value.unit)) continue;
        if (reading->value.low <= part->value.high * (1 + 1e-9) && reading->value.high >= part->value.low * (1 - 1e-9))
            return;
        if (first == NULL) first = reading;
    }
    if (first == NULL || part->value_why.line_count == 0 || !build_conflict_listed(b)) return;
    Out says = out_new(b->arena);
    uint32_t lines[] = {part->value_why.lines[0], draft->marking_by->line};
    out_fmt(&says, "%.*s is ", TEXT_ARG(part->ref));
    quantity_print(&says, part->value);
    out_fmt(&says, " by line %u, but its marking \"%.*s\" reads ", lines[0], TEXT_ARG(part->marking));
    quantity_print(&says, first->value);
    build_conflict(b, BENCH_VALUE_AND_READING, text_fmt(b->arena, "value-marking:%.*s", TEXT_ARG(part->ref)),
                   out_text(&says), text_fmt(b->arena, "lift one leg of %.*s and measure it", TEXT_ARG(part->ref)), lines,
                   2);
}

/* Pins it has: by its package, else by the shelf, else by a kind that has these and no others. */
static uint32_t pins_of(const BenchPart *part) {
    if (part->package != NULL && part->package->leads > 0) return part->package->leads;
    if (part->shelf != NULL && part->shelf->leads > 0) return part->shelf->leads;
    if (part->shelf != NULL && part->shelf->pin_count > 0) return part->shelf->pin_count;
    return part->kind->others ? 0 : part->kind->pin_count;
}

void build_settle(Build *b) {
    for (uint32_t i = 0; i < b->drafts.count; i++) {
        BenchPart *part = &b->bench->parts.at[i];
        const Draft *draft = &b->drafts.at[i];
        settle_kind(b, part, draft);
        settle_quantities(b, part, draft);
        settle_cells(b, part, draft);
        if (part->has_marking && part->marking.len > 0) {
            bool written = part->has_value;
            identify(b, part, draft);
            if (written) check_marking(b, part, draft);
            if (!written && !part->has_value) settle_quantities(b, part, draft); /* the shelf may have told the unit */
        }
        if (part->has_value)
            part->value = with_tolerance(part->value, draft->tolerance > 0 ? draft->tolerance : part->kind->tolerance);
        part->pins_has = pins_of(part);
    }
}
