/* A whole teardown from strings, for tests: notes and lore in, bench and reasoning out. */
#ifndef UNPICK_TESTS_TEARDOWN_H
#define UNPICK_TESTS_TEARDOWN_H

#include "reason/reason.h"
#include "tests/check.h"

typedef struct Teardown {
    Arena *arena;
    Lore *lore;
    BenchKinds *kinds;
    Marks *marks;
    Shelf *shelf;
    ReasonRules *rules;
    Notebook *notebook;
    Bench *bench;
    Reasoning *reasoning;
} Teardown;

/* lore: NULL for the built-in one; else this text, with the built-in kinds and weights. */
static inline Teardown teardown_of(const char *notes, const char *lore) {
    Teardown t = {.arena = arena_new()};
    t.lore = lore_new(t.arena);
    Diags problems = diags_new(t.arena);
    lore_add_builtin(t.lore);
    if (lore != NULL) { /* without the built-in rules */
        uint32_t kept = 0;
        for (uint32_t i = 0; i < t.lore->entries.count; i++) {
            Text word = t.lore->entries.at[i].head.word;
            if (!text_is(word, "idiom") && !text_is(word, "capability") && !text_is(word, "hazard"))
                t.lore->entries.at[kept++] = t.lore->entries.at[i];
        }
        t.lore->entries.count = kept;
        lore_add_text(t.lore, TEXT("test.lore"), text_of(lore));
    }
    t.kinds = bench_kinds_new(t.arena, t.lore);
    t.marks = marks_new(t.arena, t.lore);
    t.shelf = shelf_open(t.arena, t.lore, NULL, &problems);
    t.rules = reason_rules_new(t.arena, t.lore, t.kinds);
    t.notebook = note_read(t.arena, TEXT("notes.txt"), text_of(notes));
    t.bench = bench_build(t.arena, t.notebook, (BenchKnows){.kinds = t.kinds, .marks = t.marks, .shelf = t.shelf});
    t.reasoning = reason_about(t.arena, t.bench, t.rules);
    return t;
}

static inline void teardown_end(Teardown *t) {
    shelf_close(t->shelf);
    arena_free(t->arena);
}

static inline const ReasonClaim *claim_with_id(const Teardown *t, const char *id) {
    const ReasonClaim *claim = reason_claim(t->reasoning, text_of(id));
    if (claim != NULL) return claim;
    Out out = out_new(t->arena);
    for (uint32_t i = 0; i < t->reasoning->claims.count; i++) out_fmt(&out, " %.*s", TEXT_ARG(t->reasoning->claims.at[i].id));
    fail_msg("no claim %s; there are:%.*s", id, TEXT_ARG(out_text(&out)));
    return NULL;
}

static inline Quantity value_in(const ReasonClaim *claim, const char *name) {
    for (uint32_t i = 0; i < claim->value_count; i++)
        if (text_is(claim->values[i].name, name)) return claim->values[i].value;
    fail_msg("%.*s derives no %s", TEXT_ARG(claim->id), name);
    return (Quantity){0};
}

#endif
