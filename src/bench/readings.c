/* Readings: what each is about, and which of them can't both be true.
 *
 * Two readings of one thing in one mode contradict when their limits have nothing in common. Instead of comparing all
 * pairs, each group keeps the readings with the highest low limit and the lowest high limit: intervals on a line have a
 * common point if and only if every two of them have (Helly's theorem in one dimension). */
#include "bench/build.h"

#include <string.h>

/* Beyond the last digit as written, a meter of the usual sort is off by this share of the reading: common practice
 * (hand-held meters are sold with 0.5 to 2 %). */
#define METER_SHARE 0.01
/* How many times its tolerance a value may be off before it is another value: common practice. */
#define TOLERANCES_OFF 3.0

typedef struct Group {
    double most_low, least_high;
    uint32_t low, high; /* the readings with these limits */
} Group;

typedef struct GroupKey {
    uint32_t function, mode, what, about[2];
} GroupKey;

/* The limits with the last digit; a range that was written stands as it is. */
static Quantity widened(Quantity q) {
    if (q.low == q.high) q.low -= q.last, q.high += q.last;
    return q;
}

static void say_reading(Out *out, const Note *note) {
    const NoteReading *reading = note->reading;
    out_fmt(out, "%.*s(", TEXT_ARG(reading->function));
    for (uint32_t i = 0; i < reading->terminal_count; i++) {
        if (i > 0) out_char(out, ',');
        note_terminal_print(out, reading->terminals[i]);
    }
    out_char(out, ')');
    if (note->with->mode.len > 0) out_fmt(out, " in %.*s", TEXT_ARG(note->with->mode));
}

static void contradict(Build *b, uint32_t one, uint32_t other) {
    if (!build_conflict_listed(b)) return;
    const Note *first = b->bench->readings.at[one].note, *second = b->bench->readings.at[other].note;
    Out what = out_new(b->arena), says = out_new(b->arena);
    say_reading(&what, first);
    out_fmt(&says, "%.*s is %.*s by line %u and %.*s by line %u", TEXT_ARG(out_text(&what)),
            TEXT_ARG(first->reading->value.written), first->line, TEXT_ARG(second->reading->value.written), second->line);
    uint32_t lines[] = {first->line, second->line};
    Text settle = text_fmt(b->arena, "measure %.*s again, and strike the wrong line", TEXT_ARG(out_text(&what)));
    build_conflict(b, BENCH_TWO_VALUES, text_fmt(b->arena, "two-values:%.*s", TEXT_ARG(out_text(&what))), out_text(&says),
                   settle, lines, 2);
}

/* ---- against the part's own value ---- */

/* The part whose value a reading measures: r(R1), or r across both its pins. */
static const BenchPart *part_measured(const Bench *bench, const BenchReading *reading) {
    if (reading->about_what == BENCH_ABOUT_PART && reading->about_count == 1) return &bench->parts.at[reading->about[0]];
    if (reading->about_what != BENCH_ABOUT_PIN || reading->about_count != 2) return NULL;
    const BenchPin *a = &bench->pins.at[reading->about[0]], *z = &bench->pins.at[reading->about[1]];
    const BenchPart *part = &bench->parts.at[a->part];
    return a->part == z->part && part->kind->pin_count == 2 && a->position != z->position ? part : NULL;
}

static void check_value(Build *b, const BenchReading *reading) {
    const BenchPart *part = part_measured(b->bench, reading);
    Quantity read = reading->value;
    if (part == NULL || !part->has_value || !part->kind->has_unit || !unit_same(part->value.unit, read.unit)) return;
    if (part->kind->varies) return;
    if (!text_is(reading->function, "r") && !text_is(reading->function, "c") && !text_is(reading->function, "l")) return;
    double half = fmax(part->value.high - part->value.value, part->value.value - part->value.low);
    double off = fmax(read.low - part->value.value, part->value.value - read.high) - METER_SHARE * fabs(read.value);
    if (half == 0 || off <= TOLERANCES_OFF * half || !build_conflict_listed(b)) return;
    Out says = out_new(b->arena);
    out_fmt(&says, "%.*s should be ", TEXT_ARG(part->ref));
    quantity_print(&says, part->value);
    if (part->value_why.line_count > 0) out_fmt(&says, " by line %u", part->value_why.lines[0]);
    out_lit(&says, ", but ");
    say_reading(&says, reading->note);
    out_fmt(&says, " is %.*s by line %u", TEXT_ARG(reading->note->reading->value.written), reading->note->line);
    uint32_t lines[] = {reading->note->line,
                        part->value_why.line_count > 0 ? part->value_why.lines[0] : reading->note->line};
    build_conflict(
        b, BENCH_VALUE_AND_READING, text_fmt(b->arena, "value-reading:%.*s", TEXT_ARG(part->ref)), out_text(&says),
        text_fmt(b->arena, "lift one leg of %.*s and measure it alone: what is beside it on the board counts too",
                 TEXT_ARG(part->ref)),
        lines, 2);
}

/* ---- all readings ---- */

/* False when a node of it has no place. */
static bool place(const Build *b, const Statement *s, BenchReading *reading) {
    const Bench *bench = b->bench;
    bool nets = text_is(reading->function, "v") || text_is(reading->function, "f") || text_is(reading->function, "duty");
    for (uint32_t k = 0; k < s->count && k < 2; k++) {
        uint32_t node = b->nodes.at[s->first + k];
        if (node == NODE_NONE) return false;
        uint32_t number = node & ~NODE_SORT;
        BenchAbout what = (node & NODE_SORT) == NODE_PART   ? BENCH_ABOUT_PART
                          : (node & NODE_SORT) == NODE_NAME ? BENCH_ABOUT_NET
                                                            : BENCH_ABOUT_PIN;
        if (what == BENCH_ABOUT_NET) number = bench->joins->net_of_name[number];
        if (what == BENCH_ABOUT_PIN && nets) what = BENCH_ABOUT_NET, number = bench->pins.at[number].net;
        if (k == 1 && what != reading->about_what) { /* a pin and a net's name: both as nets */
            if (what == BENCH_ABOUT_PIN)
                number = bench->pins.at[number].net;
            else
                reading->about[0] = bench->pins.at[reading->about[0]].net;
            what = BENCH_ABOUT_NET;
        }
        reading->about_what = what;
        reading->about[k] = number;
    }
    reading->about_count = s->count;
    return true;
}

/* What makes two readings one measurement; v(A,B) is v(B,A) with the other sign. */
static GroupKey key_of(const BenchReading *reading, Names *words, bool *turned) {
    GroupKey key = {names_add(words, reading->function),
                    names_add(words, reading->mode),
                    reading->about_what,
                    {reading->about[0], reading->about_count == 2 ? reading->about[1] : BENCH_NONE}};
    *turned = reading->about_count == 2 && text_is(reading->function, "v") && key.about[0] > key.about[1];
    if (*turned) key.about[0] = reading->about[1], key.about[1] = reading->about[0];
    return key;
}

static void compare(Build *b, uint32_t index, Group *group, bool turned) {
    Quantity q = b->bench->readings.at[index].value;
    double slack = METER_SHARE * fabs(q.value);
    double low = (turned ? -q.high : q.low) - slack, high = (turned ? -q.low : q.high) + slack;
    if (low > group->least_high)
        contradict(b, group->high, index);
    else if (high < group->most_low)
        contradict(b, group->low, index);
    else {
        if (low > group->most_low) group->most_low = low, group->low = index;
        if (high < group->least_high) group->least_high = high, group->high = index;
    }
}

void build_readings(Build *b) {
    Bench *bench = b->bench;
    Names *words = names_new(b->scratch), *keys = names_new(b->scratch);
    GroupKey *kept = arena_many(b->scratch, GroupKey, b->reads.count);
    LIST(Group) groups = {0};
    bench->readings.at = arena_many(b->arena, BenchReading, b->reads.count), bench->readings.room = b->reads.count;
    for (uint32_t i = 0; i < b->reads.count; i++) {
        const Note *note = &bench->notebook->notes.at[b->reads.at[i].note];
        BenchReading reading = {.note = note, .function = note->reading->function, .mode = note->with->mode};
        reading.value = widened(note->reading->value.quantity);
        if (!place(b, &b->reads.at[i], &reading)) continue;
        uint32_t index = bench->readings.count;
        list_push(b->arena, &bench->readings, reading);
        check_value(b, &reading);
        bool turned;
        kept[index] = key_of(&reading, words, &turned);
        uint32_t group = names_add(keys, (Text){(const char *)&kept[index], sizeof kept[index]});
        if (group == groups.count) list_push(b->scratch, &groups, ((Group){-INFINITY, INFINITY, index, index}));
        compare(b, index, &groups.at[group], turned);
    }
}

Text bench_reading_name(Arena *arena, const BenchReading *reading) {
    Out out = out_new(arena);
    out_fmt(&out, "%.*s(", TEXT_ARG(reading->function));
    for (uint32_t i = 0; i < reading->note->reading->terminal_count; i++) {
        if (i > 0) out_char(&out, ',');
        note_terminal_print(&out, reading->note->reading->terminals[i]);
    }
    out_char(&out, ')');
    return out_text(&out);
}
