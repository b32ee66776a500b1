/* What is left once pins and nets stand: the pins of each part in a row, its working units, and parts whose pins can't be.
 */
#include "bench/build.h"

#include <string.h>

enum { LABELS_SAID_MOST = 12 };

/* ---- pins of parts ---- */

void build_pin_lists(Build *b) {
    Bench *bench = b->bench;
    uint32_t *all = arena_many(b->arena, uint32_t, bench->pins.count);
    uint32_t *next = arena_many(b->scratch, uint32_t, bench->parts.count);
    for (uint32_t i = 0, at = 0; i < bench->parts.count; i++) {
        bench->parts.at[i].pins = all + at;
        next[i] = at;
        at += bench->parts.at[i].pin_count;
    }
    for (uint32_t p = 0; p < bench->pins.count; p++) all[next[bench->pins.at[p].part]++] = p;
}

/* ---- units ---- */

/* The part as a unit of its own kind; one with units inside as the nearest kind that has no pins of its own: a chip. */
static void add_whole(Build *b, uint32_t index) {
    const BenchPart *part = &b->bench->parts.at[index];
    BenchUnit unit = {.part = index, .kind = part->kind, .pins = part->pins, .pin_count = part->pin_count};
    bool several = part->shelf != NULL && part->shelf->unit_count > 0;
    while (several && unit.kind->pin_count > 0 && unit.kind->parent != NULL) unit.kind = unit.kind->parent;
    if (unit.kind->pin_count > 0) {
        uint32_t *pins = arena_many(b->arena, uint32_t, unit.kind->pin_count);
        for (uint32_t p = 0; p < unit.kind->pin_count; p++) pins[p] = BENCH_NONE;
        for (uint32_t p = part->pin_count; p-- > 0;) { /* backwards: the first mentioned stays */
            int position = b->bench->pins.at[part->pins[p]].position;
            if (position >= 0) pins[position] = part->pins[p];
        }
        unit.pins = pins, unit.pin_count = unit.kind->pin_count;
    }
    list_push(b->arena, &b->bench->units, unit);
}

/* One of several units inside, as the shelf numbers its pins. */
static void add_inner(Build *b, uint32_t index, const ShelfUnit *inner) {
    const BenchKind *kind = bench_kind(b->bench->kinds, inner->kind);
    if (kind == NULL || kind->pin_count == 0) return;
    uint32_t *pins = arena_many(b->arena, uint32_t, kind->pin_count);
    for (uint32_t p = 0; p < kind->pin_count; p++) pins[p] = BENCH_NONE;
    for (uint32_t i = 0; i < inner->pin_count; i++) {
        int position = bench_kind_pin(b->bench->kinds, kind, inner->pins[i].function);
        if (position >= 0) pins[position] = bench_pin(b->bench, index, inner->pins[i].number);
    }
    list_push(b->arena, &b->bench->units, ((BenchUnit){index, kind, pins, kind->pin_count}));
}

void build_units(Build *b) {
    Bench *bench = b->bench;
    uint32_t most = bench->parts.count;
    for (uint32_t i = 0; i < bench->parts.count; i++)
        most += bench->parts.at[i].shelf == NULL ? 0 : bench->parts.at[i].shelf->unit_count;
    bench->units.at = arena_many(b->arena, BenchUnit, most), bench->units.room = most;
    for (uint32_t i = 0; i < bench->parts.count; i++) {
        const ShelfPart *shelf = bench->parts.at[i].shelf;
        uint32_t before = bench->units.count;
        add_whole(b, i);
        for (uint32_t u = 0; shelf != NULL && u < shelf->unit_count; u++) add_inner(b, i, &shelf->units[u]);
        bench->parts.at[i].unit_count = bench->units.count - before;
    }
    uint32_t *numbers = arena_many(b->arena, uint32_t, bench->units.count);
    for (uint32_t u = 0; u < bench->units.count; u++) numbers[u] = u;
    for (uint32_t i = 0; i < bench->parts.count; i++)
        bench->parts.at[i].units = numbers, numbers += bench->parts.at[i].unit_count;
}

/* ---- pins that can't be ---- */

/* How many pins its body can have at most: a thermal pad has a number too. */
static uint32_t pins_at_most(const BenchPart *part) {
    uint32_t drawn = part->package != NULL ? part->package->pin_count : 0;
    return part->pins_has == 0 ? 0 : part->pins_has > drawn ? part->pins_has : drawn;
}

static bool on_package(const MarkPackage *package, Text label) {
    for (uint32_t i = 0; package != NULL && i < package->pin_count; i++)
        if (text_same_folded(package->pins[i].number, label)) return true;
    return false;
}

static bool can_be(const Build *b, const BenchPart *part, const BenchPin *pin, int slot) {
    uint32_t number;
    if (slot >= 0 || bench_is_pad_name(b->bench->kinds, pin->label)) return true;
    if (build_is_number(pin->label, &number))
        return number >= 1 && (part->pins_has == 0 || number <= part->pins_has || on_package(part->package, pin->label));
    return part->kind->pin_count == 0 || part->kind->others || on_package(part->package, pin->label);
}

static void no_such_pin(Build *b, const BenchPart *part, const BenchPin *pin) {
    if (!build_conflict_listed(b)) return;
    Out says = out_new(b->arena), settle = out_new(b->arena);
    uint32_t lines[] = {pin->line, part->line}, number;
    out_fmt(&says, "line %u names %.*s.%.*s, but ", pin->line, TEXT_ARG(part->ref), TEXT_ARG(pin->label));
    if (part->package != NULL && build_is_number(pin->label, &number))
        out_fmt(&says, "%.*s has %u pins", TEXT_ARG(part->package->name), part->pins_has);
    else if (part->kind->pin_count > 0) {
        out_fmt(&says, "the pins of %.*s, %.*s, are", TEXT_ARG(part->ref), TEXT_ARG(part->kind->name));
        for (uint32_t i = 0; i < part->kind->pin_count; i++) out_fmt(&says, " %.*s", TEXT_ARG(part->kind->pins[i]));
    } else
        out_fmt(&says, "%.*s has %u pins, from 1", TEXT_ARG(part->ref), part->pins_has);
    Text nearest = text_nearest(pin->label, part->kind->pins, part->kind->pin_count);
    if (nearest.len > 0) out_fmt(&settle, "did you mean %.*s.%.*s? else ", TEXT_ARG(part->ref), TEXT_ARG(nearest));
    out_fmt(&settle, "count the pins of %.*s again, and say its package or kind", TEXT_ARG(part->ref));
    build_conflict(b, BENCH_NO_SUCH_PIN,
                   text_fmt(b->arena, "no-such-pin:%.*s.%.*s", TEXT_ARG(part->ref), TEXT_ARG(pin->label)), out_text(&says),
                   out_text(&settle), lines, part->note != NULL ? 2 : 1);
}

static void too_many_pins(Build *b, const BenchPart *part) {
    if (!build_conflict_listed(b)) return;
    const Bench *bench = b->bench;
    Out says = out_new(b->arena);
    uint32_t *lines = arena_many(b->scratch, uint32_t, part->pin_count + 1);
    out_fmt(&says, "%.*s has %u pins, but %u are named:", TEXT_ARG(part->ref), part->pins_has, part->pin_count);
    for (uint32_t i = 0; i < part->pin_count; i++) {
        const BenchPin *pin = &bench->pins.at[part->pins[i]];
        lines[i] = pin->line;
        if (i < LABELS_SAID_MOST) out_fmt(&says, " %.*s", TEXT_ARG(pin->label));
    }
    if (part->pin_count > LABELS_SAID_MOST) out_fmt(&says, " and %u more", part->pin_count - LABELS_SAID_MOST);
    size_t count = part->pin_count;
    if (part->note != NULL) lines[count++] = part->note->line;
    Text settle = text_fmt(b->arena, "count the pins of %.*s; if one goes by two names, its package and kind tell which",
                           TEXT_ARG(part->ref));
    build_conflict(b, BENCH_TOO_MANY_PINS, text_fmt(b->arena, "too-many-pins:%.*s", TEXT_ARG(part->ref)), out_text(&says),
                   settle, lines, count);
}

void build_pin_conflicts(Build *b) {
    const Bench *bench = b->bench;
    for (uint32_t i = 0; i < bench->parts.count; i++) {
        const BenchPart *part = &bench->parts.at[i];
        uint32_t possible = 0, most = pins_at_most(part);
        for (uint32_t k = 0; k < part->pin_count; k++) {
            const BenchPin *pin = &bench->pins.at[part->pins[k]];
            bool pad = bench_is_pad_name(bench->kinds, pin->label);
            if (can_be(b, part, pin, bench->joins->pins.at[part->pins[k]].slot))
                possible += !pad;
            else
                no_such_pin(b, part, pin);
        }
        if (most > 0 && possible > most) too_many_pins(b, part);
    }
}
