/* Sums done once, taken again. They are a function of the notes that describe the circuit and how it works, of what photos
 * add to those, of the lore and the catalogue: when all of that is what it was, so are they. A note that only tells a story
 * (a question, a step, a callout ...) then costs a comparison; so does a new part, as long as it hangs on nothing. */
#include "sums/inside.h"

/* Notes of which no part, pin, net, reading or mode is made. */
static bool only_tells(NoteVerb verb) {
    return verb == NOTE_ASK || verb == NOTE_STEP || verb == NOTE_BOUGHT || verb == NOTE_MARK || verb == NOTE_LICENCE;
}

/* The part that is new since `before`, of which this note tells. */
static bool tells_of_a_new_part(const Note *note, const Bench *bench, const Bench *before) {
    uint32_t part = note->verb == NOTE_PART ? bench_part(bench, note->part->ref) : BENCH_NONE;
    return part != BENCH_NONE && part >= before->parts.count;
}

static const Note *next_that_counts(const Bench *bench, const Bench *before, uint32_t *at) {
    const Notebook *notebook = bench->notebook;
    while (*at < notebook->notes.count &&
           (only_tells(notebook->notes.at[*at].verb) || tells_of_a_new_part(&notebook->notes.at[*at], bench, before)))
        (*at)++;
    return *at < notebook->notes.count ? &notebook->notes.at[(*at)++] : NULL;
}

/* Line by line, since claims name the lines that they rest on. */
static bool same_notes(const Bench *before, const Bench *bench) {
    Arena *scratch = arena_new();
    bool same = true;
    for (uint32_t i = 0, k = 0; same;) {
        const Note *x = next_that_counts(before, before, &i), *y = next_that_counts(bench, before, &k);
        if (x == NULL && y == NULL) break;
        same = x != NULL && y != NULL && x->line == y->line && x->verb == y->verb;
        if (!same) break;
        Out out = out_new(scratch), other = out_new(scratch);
        note_print(&out, x), note_print(&other, y);
        same = text_same(out_text(&out), out_text(&other));
    }
    arena_free(scratch);
    return same;
}

static bool same_line(const LoreLine *a, const LoreLine *b) { return a->line == b->line && text_same(a->text, b->text); }

static bool same_lore(const Lore *a, const Lore *b) {
    bool same = a->entries.count == b->entries.count;
    for (uint32_t i = 0; a != b && same && i < a->entries.count; i++) {
        const LoreEntry *x = &a->entries.at[i], *y = &b->entries.at[i];
        same = x->line_count == y->line_count && same_line(&x->head, &y->head) && text_same(x->head.file, y->head.file);
        for (uint32_t k = 0; same && k < x->line_count; k++) same = same_line(&x->lines[k], &y->lines[k]);
    }
    return same;
}

static bool same_quantity(Quantity a, Quantity b) {
    return a.value == b.value && a.low == b.low && a.high == b.high && unit_same(a.unit, b.unit);
}

static bool same_shelf(const ShelfPart *a, const ShelfPart *b) {
    if (a == NULL || b == NULL) return a == b;
    bool same = text_same(a->name, b->name) && text_same(a->source, b->source) && same_quantity(a->supply, b->supply) &&
                a->property_count == b->property_count && a->pin_count == b->pin_count && a->unit_count == b->unit_count;
    for (uint32_t i = 0; same && i < a->property_count; i++)
        same = text_same(a->properties[i].name, b->properties[i].name) &&
               same_quantity(a->properties[i].value, b->properties[i].value);
    return same;
}

static bool same_part(const BenchPart *a, const BenchPart *b) {
    return text_same(a->ref, b->ref) && text_same(a->kind->name, b->kind->name) && a->has_value == b->has_value &&
           (!a->has_value || same_quantity(a->value, b->value)) && same_quantity(a->rating, b->rating) &&
           a->cell_count == b->cell_count && a->pin_count == b->pin_count && a->unit_count == b->unit_count &&
           (a->unit_count == 0 || a->units[0] == b->units[0]) && same_shelf(a->shelf, b->shelf);
}

/* What a photo may have changed without a note: pins, the nets that they are on, and how sure it is of them. */
static bool same_pins(const Bench *a, const Bench *b) {
    bool same = a->pins.count == b->pins.count && a->nets.count == b->nets.count && a->steps.count == b->steps.count;
    for (uint32_t i = 0; same && i < a->steps.count; i++) same = a->steps.at[i].trust == b->steps.at[i].trust;
    for (uint32_t i = 0; same && i < a->pins.count; i++) {
        const BenchPin *x = &a->pins.at[i], *y = &b->pins.at[i];
        same =
            x->part == y->part && x->net == y->net && text_same(x->label, y->label) && text_same(x->function, y->function);
    }
    for (uint32_t i = 0; same && i < a->nets.count; i++)
        same = text_same(a->nets.at[i].name, b->nets.at[i].name) && a->nets.at[i].pin_count == b->nets.at[i].pin_count;
    return same;
}

/* All parts of before, with units of the same numbers; those that came after them have no pins. */
static bool same_parts(const Bench *before, const Bench *bench) {
    bool same = before->parts.count <= bench->parts.count;
    for (uint32_t i = 0; same && i < bench->parts.count; i++)
        same = i < before->parts.count ? same_part(&before->parts.at[i], &bench->parts.at[i])
                                       : bench->parts.at[i].pin_count == 0;
    return same;
}

static bool same_bench(const Bench *before, const Bench *bench) {
    return before->readings.count == bench->readings.count && same_pins(before, bench) && same_parts(before, bench) &&
           same_notes(before, bench);
}

static bool same_flags(const bool *a, const bool *b, uint32_t count) {
    return a == NULL || b == NULL ? a == b : memcmp(a, b, count * sizeof *a) == 0;
}

/* A mode's figures by part, of a bench that has more of them now: nothing is known of the new ones. */
static void make_room(Arena *arena, SumsMode *mode, uint32_t before, uint32_t now) {
    SumsFigure **figures[] = {&mode->current, &mode->power, &mode->inner};
    for (size_t i = 0; i < sizeof figures / sizeof *figures; i++)
        *figures[i] = memcpy(arena_many(arena, SumsFigure, now + 1), *figures[i], before * sizeof **figures[i]);
}

static void more_parts(Sums *sums, uint32_t before, uint32_t now) {
    size_t bytes = sums->modes.count * sizeof *sums->modes.at;
    sums->modes.at = memcpy(arena_take(sums->arena, bytes + 1), sums->modes.at, bytes);
    sums->modes.room = sums->modes.count;
    for (uint32_t i = 0; i < sums->modes.count; i++) make_room(sums->arena, &sums->modes.at[i], before, now);
}

const Sums *sums_again(Arena *arena, const Sums *before, Reasoning *reasoning, const SumsModels *models) {
    const Reasoning *was = before->reasoning;
    uint32_t nets = before->bench->nets.count;
    if (!same_bench(before->bench, reasoning->bench) || !same_lore(before->models->lore, models->lore) ||
        !same_flags(was->ground, reasoning->ground, nets) || !same_flags(was->supply, reasoning->supply, nets) ||
        !same_flags(was->mains, reasoning->mains, nets))
        return NULL;
    Sums *sums = arena_one(arena, Sums);
    *sums = *before;
    sums->arena = arena, sums->reasoning = reasoning, sums->bench = reasoning->bench, sums->models = models;
    if (sums->bench->parts.count > before->bench->parts.count)
        more_parts(sums, before->bench->parts.count, sums->bench->parts.count);
    for (uint32_t i = 0; i < was->claims.count; i++)
        if (was->claims.at[i].sort == REASON_SUM) reason_add_claim(arena, reasoning, was->claims.at[i]);
    for (uint32_t i = 0; i < before->asked.count; i++) reason_add_open(arena, reasoning, before->asked.at[i]);
    return sums;
}
