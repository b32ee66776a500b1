/* From a bench to claims: find, claim, ask, and put all in telling order. */
#include "reason/reason.h"
#include "reason/claim.h"
#include "reason/mains.h"

#include <stdlib.h>

/* Where a photo and a note differ the note counts, and one wrong place of copper says little of the rest of the photo. */
static unsigned char *disputed_lines(Arena *arena, const Bench *bench) {
    unsigned char *disputed = arena_many(arena, unsigned char, bench->notebook->lines + 2);
    for (uint32_t i = 0; i < bench->conflicts.count; i++)
        for (uint32_t k = 0; k < bench->conflicts.at[i].line_count; k++)
            if (bench->conflicts.at[i].kind != BENCH_PHOTO_AND_NOTES && bench->conflicts.at[i].lines[k] <= bench->notebook->lines)
                disputed[bench->conflicts.at[i].lines[k]] = 1;
    return disputed;
}

typedef struct Telling {
    ReasonClaim claim;
    BenchChain weakest;
    uint32_t rank, at;
} Telling;

/* Block by block, then parts, then what was stated, then sums that belong to no block; capabilities come where the chips do, in
 * their block. */
static uint32_t rank_of(const ReasonClaim *claim) {
    size_t count;
    const Text *blocks = reason_blocks(&count);
    if (claim->sort == REASON_PART) return (uint32_t)count + 2;
    if (claim->sort == REASON_STATED) return (uint32_t)count + 3;
    if (claim->sort == REASON_SUM && claim->block.len == 0) return (uint32_t)count + 4;
    for (size_t i = 0; i < count; i++)
        if (text_same(claim->block, blocks[i])) return (uint32_t)i;
    return (uint32_t)count + 1;
}

static int in_telling_order(const void *a, const void *b) {
    const Telling *x = a, *y = b;
    if (x->rank != y->rank) return x->rank < y->rank ? -1 : 1;
    return (x->at > y->at) - (x->at < y->at);
}

static void sort_claims(Claimer *claimer) {
    Reasoning *reasoning = claimer->reasoning;
    uint32_t count = reasoning->claims.count;
    Telling *telling = arena_many(claimer->arena, Telling, count + 1);
    for (uint32_t i = 0; i < count; i++)
        telling[i] = (Telling){reasoning->claims.at[i], claimer->weakest.at[i], rank_of(&reasoning->claims.at[i]), i};
    qsort(telling, count, sizeof *telling, in_telling_order);
    for (uint32_t i = 0; i < count; i++) {
        reasoning->claims.at[i] = telling[i].claim;
        claimer->weakest.at[i] = telling[i].weakest;
        claimer->claim_of.at[names_find(claimer->ids, telling[i].claim.id)] = i;
    }
}

static int severity_of(const Claimer *claimer, const ReasonClaim *hazard) {
    const ReasonRules *rules = claimer->finder->rules;
    for (uint32_t i = 0; i < rules->rules.count; i++)
        if (text_same(rules->rules.at[i]->name, hazard->name)) return rules->rules.at[i]->severity;
    return 0;
}

/* Insertion sort: hazards are few, and equal ones keep the order of the lore. */
static void sort_hazards(Claimer *claimer) {
    Reasoning *reasoning = claimer->reasoning;
    for (uint32_t i = 1; i < reasoning->hazards.count; i++) {
        ReasonClaim hazard = reasoning->hazards.at[i];
        int severity = severity_of(claimer, &hazard);
        uint32_t k = i;
        for (; k > 0 && severity_of(claimer, &reasoning->hazards.at[k - 1]) < severity; k--)
            reasoning->hazards.at[k] = reasoning->hazards.at[k - 1];
        reasoning->hazards.at[k] = hazard;
    }
}

static void tell_rails(Arena *arena, const Graph *graph, Reasoning *reasoning) {
    bool *ground = arena_many(arena, bool, graph->net_count + 1), *supply = arena_many(arena, bool, graph->net_count + 1);
    for (uint32_t i = 0; i < graph->ground_count; i++) ground[graph->ground_nets[i]] = true;
    for (uint32_t i = 0; i < graph->supply_count; i++) supply[graph->supply_nets[i]] = true;
    reasoning->ground = ground, reasoning->supply = supply;
}

void reason_add_claim(Arena *arena, Reasoning *reasoning, ReasonClaim claim) {
    uint32_t rank = rank_of(&claim), at = reasoning->claims.count;
    claim.p = probability_of_decibans(claim.decibans);
    list_push(arena, &reasoning->claims, claim);
    for (; at > 0 && rank_of(&reasoning->claims.at[at - 1]) > rank; at--) reasoning->claims.at[at] = reasoning->claims.at[at - 1];
    reasoning->claims.at[at] = claim;
}

void reason_add_open(Arena *arena, Reasoning *reasoning, ReasonOpen open) {
    uint32_t at = reasoning->open.count;
    list_push(arena, &reasoning->open, open);
    for (; at > 0 && reasoning->open.at[at - 1].bits < open.bits; at--) reasoning->open.at[at] = reasoning->open.at[at - 1];
    reasoning->open.at[at] = open;
}

Reasoning *reason_about(Arena *arena, const Bench *bench, const ReasonRules *rules) {
    Reasoning *reasoning = arena_one(arena, Reasoning);
    reasoning->bench = bench;
    reasoning->mains = mains_find(arena, bench);
    Finder *finder = find_all(arena, bench, rules);
    tell_rails(arena, finder->graph, reasoning);
    Claimer claimer = {.arena = arena,
                       .finder = finder,
                       .reasoning = reasoning,
                       .ids = names_new(arena),
                       .disputed = disputed_lines(arena, bench)};
    for (uint32_t i = 0; i < finder->finds.count; i++)
        if (!finder->finds.at[i]->outdone) finder->finds.at[i]->claim_id = claim_find(&claimer, finder->finds.at[i]);
    claim_parts(&claimer);
    claim_statements(&claimer);
    sort_claims(&claimer);
    sort_hazards(&claimer);
    open_questions(&claimer);
    reasoning->cut = finder->cut;
    return reasoning;
}

const ReasonClaim *reason_claim(const Reasoning *reasoning, Text id) {
    for (uint32_t i = 0; i < reasoning->claims.count; i++)
        if (text_same(reasoning->claims.at[i].id, id)) return &reasoning->claims.at[i];
    for (uint32_t i = 0; i < reasoning->hazards.count; i++)
        if (text_same(reasoning->hazards.at[i].id, id)) return &reasoning->hazards.at[i];
    return NULL;
}
