/* The bench: built in passes that are each linear in the notes (build.h), and asked by index, by name or by pin. */
#include "bench/build.h"

#include <string.h>

#define RESERVE(arena, list, most)                                                                                         \
    ((list)->at = arena_take((arena), (most) * sizeof *(list)->at), (list)->room = (uint32_t)(most))

/* Room for all at once: lists that grow by doubling would waste as much again. What is only an upper limit costs no memory
 * until it is used. */
static void reserve(Build *b) {
    Bench *bench = b->bench;
    struct BenchJoins *joins = bench->joins;
    size_t nodes = 0, statements = 0, mentions = 0, parts = 0;
    for (uint32_t i = 0; i < bench->notebook->notes.count; i++) {
        const Note *note = &bench->notebook->notes.at[i];
        bool joins_or_not = note->verb == NOTE_JOIN || note->verb == NOTE_APART || note->verb == NOTE_NET;
        if (joins_or_not) nodes += note->net.count + note->net.place_count + 1, statements++;
        if (note->verb == NOTE_READ) nodes += 2;
        if (note->verb == NOTE_PART) mentions += note->part->pin_count, parts++;
        if (note->verb == NOTE_CLAIM || note->verb == NOTE_DRIVE) mentions++;
    }
    mentions += nodes;
    RESERVE(b->arena, &bench->parts, parts);
    RESERVE(b->drafting, &b->drafts, parts);
    RESERVE(b->arena, &bench->pins, mentions);
    RESERVE(b->arena, &joins->pins, mentions);
    RESERVE(b->arena, &joins->pin_of_spelling, mentions);
    RESERVE(b->scratch, &b->next_slotted, mentions);
    RESERVE(b->scratch, &b->nodes, nodes);
    RESERVE(b->scratch, &b->joins, statements);
    names_reserve(bench->refs, (uint32_t)parts);
    names_reserve(joins->spelled, (uint32_t)(mentions / 3 * 2)); /* most pins are named more than once */
}

Bench *bench_build(Arena *arena, const Notebook *notebook, BenchKnows knows) {
    Bench *bench = arena_one(arena, Bench);
    bench->arena = arena, bench->notebook = notebook;
    bench->kinds = knows.kinds, bench->marks = knows.marks, bench->shelf = knows.shelf;
    bench->folder = text_of(knows.folder);
    bench->problems = diags_new(arena);
    bench->refs = names_new(arena), bench->net_names = names_new(arena);
    bench->joins = arena_one(arena, struct BenchJoins);
    bench->joins->spelled = names_new(arena);
    Build b = {.bench = bench, .arena = arena, .scratch = arena_new(), .drafting = arena_new()};
    b.words = names_new(b.scratch), b.markings = names_new(b.scratch), b.bare = names_new(b.scratch);
    b.conflict_ids = names_new(b.scratch);
    reserve(&b);
    build_describe(&b);
    build_settle(&b);
    arena_free(b.drafting);
    build_pins(&b);
    build_photos(&b, knows);
    build_callouts(&b);
    build_pin_lists(&b);
    build_nets(&b);
    build_units(&b);
    build_pin_conflicts(&b);
    build_readings(&b);
    build_modes(&b);
    arena_free(b.scratch);
    return bench;
}

double bench_trust(const Bench *bench, const Note *note) {
    double sure = note->with->sure;
    return isnan(sure) ? bench_source_trust(bench->kinds, note->with->by) : sure;
}

uint32_t bench_part(const Bench *bench, Text ref) { return names_find(bench->refs, ref); }

uint32_t bench_pin(const Bench *bench, uint32_t part, Text label) {
    const BenchPart *p = &bench->parts.at[part];
    PinPlace place = build_pin_place(bench->kinds, p, label);
    for (uint32_t i = 0; i < p->pin_count; i++) {
        uint32_t pin = p->pins[i];
        int slot = bench->joins->pins.at[pin].slot;
        if (place.slot >= 0 ? slot == place.slot : slot < 0 && text_same(bench->pins.at[pin].label, label)) return pin;
    }
    return BENCH_NONE;
}

uint32_t bench_net(const Bench *bench, Text name) {
    uint32_t number = names_find(bench->net_names, name);
    if (number != NAME_NONE) return bench->joins->net_of_name[number];
    const char *dot = name.len == 0 ? NULL : memchr(name.at, '.', name.len);
    if (dot == NULL) return BENCH_NONE;
    size_t before = (size_t)(dot - name.at);
    uint32_t part = bench_part(bench, text_sub(name, 0, before));
    uint32_t pin = part == BENCH_NONE ? (uint32_t)BENCH_NONE : bench_pin(bench, part, text_sub(name, before + 1, name.len));
    return pin == BENCH_NONE ? (uint32_t)BENCH_NONE : bench->pins.at[pin].net;
}

Text bench_pin_name(Arena *arena, const Bench *bench, uint32_t pin) {
    (void)arena; /* its first spelling stands in the notes */
    return names_text(bench->joins->spelled, bench->joins->pins.at[pin].spelling);
}

bool bench_part_property(const BenchPart *part, Text name, Quantity *value, Text *source) {
    for (uint32_t i = 0; part->shelf != NULL && i < part->shelf->property_count; i++) {
        if (!text_same(part->shelf->properties[i].name, name)) continue;
        *value = part->shelf->properties[i].value, *source = part->shelf->source;
        return true;
    }
    const BenchProperty *usual = bench_kind_property(part->kind, name);
    if (usual == NULL) return false;
    *value = usual->value, *source = usual->source;
    return true;
}
