/* The catalogue's front: opens, asks the parts in memory, weighs, and puts the best first. */
#include "shelf/damage.h"
#include "shelf/part.h"

struct Shelf {
    Arena *arena;
    Parts *parts;
    Damage *damage;
};

Shelf *shelf_open(Arena *arena, Lore *lore, const char *database, Diags *problems) {
    (void)database, (void)problems;
    Shelf *shelf = arena_one(arena, Shelf);
    *shelf = (Shelf){.arena = arena, .parts = parts_new(arena, lore), .damage = damage_new(arena, lore)};
    return shelf;
}

void shelf_close(Shelf *shelf) { (void)shelf; }

uint32_t shelf_count(const Shelf *shelf) { return shelf->parts->slots.count; }
const ShelfPart *shelf_at(Shelf *shelf, uint32_t number) { return parts_read(shelf->parts, number); }

const ShelfPart *shelf_part(Shelf *shelf, Text name) {
    uint32_t number = parts_find(shelf->parts, name);
    return number == UINT32_MAX ? NULL : parts_read(shelf->parts, number);
}

static int body_weight(const Damage *damage, const ShelfPart *part, const Spelling *spelling, ShelfQuery query) {
    int weight = 0;
    bool fits = false;
    for (uint32_t i = 0; i < part->package_count && !fits; i++) fits = damage_same_body(damage, part->packages[i], query.package);
    if (spelling->code && spelling->body.len > 0) fits = damage_same_body(damage, spelling->body, query.package);
    if (query.package.len > 0 && (part->package_count > 0 || spelling->body.len > 0))
        weight += damage->weight[fits ? SLIP_BODY_FITS : SLIP_BODY_DIFFERS];
    else if (query.pins > 0 && part->leads > 0)
        weight += damage->weight[part->leads == query.pins ? SLIP_PINS_FIT : SLIP_PINS_DIFFER];
    return weight;
}

size_t shelf_find(Shelf *shelf, Arena *arena, ShelfQuery query, ShelfMatch *matches, size_t most) {
    Reading marking = reading_of(query.marking, true);
    size_t count = 0;
    if (marking.len < 2) return 0;
    for (uint32_t i = 0; i < shelf->parts->spellings.count; i++) {
        const Spelling *spelling = &shelf->parts->spellings.at[i];
        Reading said = reading_of(spelling->text, false);
        int weight = damage_weigh(shelf->damage, &marking, &said, spelling->code);
        if (weight <= 0) continue;
        const ShelfPart *part = parts_read(shelf->parts, spelling->part);
        double decibans = (weight + body_weight(shelf->damage, part, spelling, query)) / 10.0;
        size_t place = count;
        while (place > 0 && matches[place - 1].decibans < decibans) place--;
        if (place == most) continue;
        if (count < most) count++;
        for (size_t k = count - 1; k > place; k--) matches[k] = matches[k - 1];
        matches[place] = (ShelfMatch){part, spelling->text, spelling->code,
                                      damage_words(arena, shelf->damage, &marking, &said, spelling->code), decibans};
    }
    return count;
}
