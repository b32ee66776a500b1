/* What the tool knows, read once for as long as the process lives: for targets that are given notes. */
#ifndef UNPICK_FUZZ_WORLD_H
#define UNPICK_FUZZ_WORLD_H

#include "sums/sums.h"

typedef struct World {
    BenchKinds *kinds;
    Marks *marks;
    ReasonRules *rules;
    SumsModels *models;
} World;

static const World *world(void) {
    static World known;
    if (known.models != NULL) return &known;
    Arena *arena = arena_new();
    Lore *lore = lore_new(arena);
    lore_add_builtin(lore);
    known.kinds = bench_kinds_new(arena, lore);
    known.marks = marks_new(arena, lore);
    known.rules = reason_rules_new(arena, lore, known.kinds);
    known.models = sums_models_new(arena, lore, known.kinds);
    return &known;
}

#endif
