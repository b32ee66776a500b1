/* Sums done once, taken again. They are a function of the notes that describe the circuit and how it works, of what photos
 * add to those, of the lore and the catalogue: when all of that is what it was, so are they. A note that only tells a story
 * (a question, a step, a callout ...) then costs a comparison. */
#include "sums/inside.h"

/* Notes of which no part, pin, net, reading or mode is made. */
static bool only_tells(NoteVerb verb) {
    return verb == NOTE_ASK || verb == NOTE_STEP || verb == NOTE_BOUGHT || verb == NOTE_MARK || verb == NOTE_LICENCE;
}

static const Note *next_that_counts(const Notebook *notebook, uint32_t *at) {
    while (*at < notebook->notes.count && only_tells(notebook->notes.at[*at].verb)) (*at)++;
    return *at < notebook->notes.count ? &notebook->notes.at[(*at)++] : NULL;
}

/* Line by line, since claims name the lines that they rest on. */
static bool same_notes(const Notebook *a, const Notebook *b) {
    Arena *scratch = arena_new();
    bool same = true;
    for (uint32_t i = 0, k = 0; same;) {
        const Note *x = next_that_counts(a, &i), *y = next_that_counts(b, &k);
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
    for (uint32_t i = 0; same && i < a->entries.count; i++) {
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
           a->cell_count == b->cell_count && a->pin_count == b->pin_count && same_shelf(a->shelf, b->shelf);
}

/* What a photo may have changed without a note: pins, the nets that they are on, and how sure it is of them. */
static bool same_pins(const Bench *a, const Bench *b) {
    bool same = a->pins.count == b->pins.count && a->nets.count == b->nets.count && a->units.count == b->units.count &&
                a->steps.count == b->steps.count;
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

static bool same_bench(const Bench *a, const Bench *b) {
    bool same = a->parts.count == b->parts.count && a->readings.count == b->readings.count && same_pins(a, b);
    for (uint32_t i = 0; same && i < a->parts.count; i++) same = same_part(&a->parts.at[i], &b->parts.at[i]);
    return same && same_notes(a->notebook, b->notebook);
}

static bool same_flags(const bool *a, const bool *b, uint32_t count) {
    return a == NULL || b == NULL ? a == b : memcmp(a, b, count * sizeof *a) == 0;
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
    for (uint32_t i = 0; i < was->claims.count; i++)
        if (was->claims.at[i].sort == REASON_SUM) reason_add_claim(arena, reasoning, was->claims.at[i]);
    for (uint32_t i = 0; i < before->asked.count; i++) reason_add_open(arena, reasoning, before->asked.at[i]);
    return sums;
}
