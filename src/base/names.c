/* Open addressing with linear probing, at most half full; slots hold the number and 32 bits of the hash. */
#include "base/names.h"
#include "base/list.h"

#include <string.h>
#include <xxhash.h>

typedef struct Slot {
    uint32_t number_plus_one, hash;
} Slot;

struct Names {
    Arena *arena;
    Slot *slots;
    uint32_t slot_count;
    LIST(Text) texts;
};

Names *names_new(Arena *arena) {
    Names *names = arena_one(arena, Names);
    names->arena = arena;
    names->slot_count = 16;
    names->slots = arena_many(arena, Slot, names->slot_count);
    return names;
}

static uint32_t hash_of(Text name) { return (uint32_t)XXH3_64bits(name.at, name.len); }

static Slot *slot_for(const Names *names, Text name, uint32_t hash) {
    uint32_t mask = names->slot_count - 1;
    for (uint32_t i = hash & mask;; i = (i + 1) & mask) {
        Slot *slot = &names->slots[i];
        if (slot->number_plus_one == 0) return slot;
        if (slot->hash == hash && text_same(names->texts.at[slot->number_plus_one - 1], name)) return slot;
    }
}

static void more_slots(Names *names, uint32_t count) {
    Slot *old = names->slots;
    uint32_t old_count = names->slot_count, mask = count - 1;
    names->slots = arena_many(names->arena, Slot, count);
    names->slot_count = count;
    for (uint32_t k = 0; k < old_count; k++) {
        if (old[k].number_plus_one == 0) continue;
        uint32_t i = old[k].hash & mask;
        while (names->slots[i].number_plus_one != 0) i = (i + 1) & mask;
        names->slots[i] = old[k];
    }
}

void names_reserve(Names *names, uint32_t count) {
    uint32_t slots = names->slot_count;
    while (slots / 2 < count && slots < 0x80000000u) slots *= 2;
    if (slots > names->slot_count) more_slots(names, slots);
    if (count <= names->texts.room) return;
    names->texts.at = arena_grow(names->arena, names->texts.at, names->texts.room * sizeof(Text), count * sizeof(Text));
    names->texts.room = count;
}

void names_expect(const Names *names, Text name) {
    __builtin_prefetch(&names->slots[hash_of(name) & (names->slot_count - 1)]);
}

uint32_t names_add(Names *names, Text name) {
    uint32_t hash = hash_of(name);
    Slot *slot = slot_for(names, name, hash);
    if (slot->number_plus_one != 0) return slot->number_plus_one - 1;
    list_push(names->arena, &names->texts, name);
    *slot = (Slot){names->texts.count, hash};
    if (names->texts.count * 2 > names->slot_count) more_slots(names, names->slot_count * 2);
    return names->texts.count - 1;
}

uint32_t names_find(const Names *names, Text name) {
    const Slot *slot = slot_for(names, name, hash_of(name));
    return slot->number_plus_one == 0 ? (uint32_t)NAME_NONE : slot->number_plus_one - 1;
}

Text names_text(const Names *names, uint32_t number) { return names->texts.at[number]; }

uint32_t names_count(const Names *names) { return names->texts.count; }
