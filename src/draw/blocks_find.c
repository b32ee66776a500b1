/* The boxes: claims of one stage that share a part or a net other than a rail are one box; a chip that no such claim owns is
 * a box of its own. */
#include "draw/blocks_inside.h"

#include "reason/rails.h"

static const double LIKELY = 0.5; /* less likely than not is no box */

/* The order of stages, from what feeds to what is driven. */
static uint32_t rank_of(Text block) {
    static const struct {
        const char *block;
        uint32_t rank;
    } ranks[] = {{"power", 0},   {"protection", 1}, {"conversion", 1}, {"input", 2}, {"interface", 2}, {"radio", 2},
                 {"clock", 2},   {"control", 3},    {"memory", 4},     {"light", 5}, {"sound", 5},     {"motion", 5},
                 {"output", 5}};
    for (size_t i = 0; i < sizeof ranks / sizeof *ranks; i++)
        if (text_is(block, ranks[i].block)) return ranks[i].rank;
    return 3;
}

static bool is_chip(const Bench *bench, const BenchPart *part) {
    const BenchKind *chip = bench_kind(bench->kinds, TEXT("chip"));
    return chip != NULL && bench_kind_is(part->kind, chip) && part->pin_count > 2;
}

/* ---- which claims are one box ---- */

typedef struct Finding {
    Blocks *blocks;
    const Bench *bench;
    Arena *scratch;
    uint32_t *up;    /* union-find over claims */
    bool *power;     /* by net: a rail */
    const ReasonClaim **claims;
    uint32_t count;
} Finding;

static uint32_t root(Finding *f, uint32_t claim) {
    while (f->up[claim] != claim) claim = f->up[claim] = f->up[f->up[claim]];
    return claim;
}

static void unite(Finding *f, uint32_t a, uint32_t b) {
    a = root(f, a), b = root(f, b);
    if (a != b) f->up[a > b ? a : b] = a < b ? a : b; /* the first told stands for them */
}

static bool share(const Finding *f, const ReasonClaim *a, const ReasonClaim *b) {
    bool feeds = rank_of(a->block) == 0; /* what feeds is joined by the rails */
    for (uint32_t i = 0; i < a->own_count; i++)
        for (uint32_t k = 0; k < b->own_count; k++) {
            const BenchPart *one = &f->bench->parts.at[a->about[i]], *other = &f->bench->parts.at[b->about[k]];
            if (one == other) return true;
            for (uint32_t p = 0; p < one->pin_count; p++)
                for (uint32_t q = 0; q < other->pin_count; q++) {
                    uint32_t net = f->bench->pins.at[one->pins[p]].net;
                    if (net == f->bench->pins.at[other->pins[q]].net && (feeds || !f->power[net])) return true;
                }
        }
    return false;
}

static void gather(Finding *f, const Reasoning *reasoning) {
    enum { CLAIMS_MOST = 400 };
    f->claims = arena_many(f->scratch, const ReasonClaim *, CLAIMS_MOST);
    for (uint32_t i = 0; i < reasoning->claims.count && f->count < CLAIMS_MOST; i++) {
        const ReasonClaim *claim = &reasoning->claims.at[i];
        if (claim->sort == REASON_IDIOM && claim->block.len > 0 && claim->own_count > 0 && claim->p >= LIKELY)
            f->claims[f->count++] = claim;
    }
    f->up = arena_many(f->scratch, uint32_t, f->count + 1);
    for (uint32_t i = 0; i < f->count; i++) f->up[i] = i;
    for (uint32_t i = 0; i < f->count; i++)
        for (uint32_t k = i + 1; k < f->count; k++)
            if (text_same(f->claims[i]->block, f->claims[k]->block) && root(f, i) != root(f, k) &&
                share(f, f->claims[i], f->claims[k]))
                unite(f, i, k);
}

/* ---- boxes ---- */

static void add_member(Blocks *blocks, Block *block, uint32_t part) {
    for (uint32_t i = 0; i < block->members.count; i++)
        if (block->members.at[i] == part) return;
    list_push(blocks->arena, &block->members, part);
}

static Text capital(Arena *arena, Text text) {
    if (text.len == 0 || text.at[0] < 'a' || text.at[0] > 'z') return text;
    return text_fmt(arena, "%c%.*s", text.at[0] - 'a' + 'A', TEXT_ARG(text_sub(text, 1, text.len)));
}

static void add_boxes(Finding *f) {
    Blocks *blocks = f->blocks;
    uint32_t *box = arena_many(f->scratch, uint32_t, f->count + 1);
    for (uint32_t i = 0; i < f->count; i++) {
        const ReasonClaim *claim = f->claims[i];
        uint32_t first = root(f, i);
        if (first == i) {
            box[i] = blocks->list.count;
            list_push(blocks->arena, &blocks->list,
                      ((Block){.title = capital(blocks->arena, claim->block), .claim = claim, .rank = rank_of(claim->block)}));
        }
        Block *block = &blocks->list.at[box[first]];
        list_push(blocks->arena, &block->claims, claim);
        if (claim->p > block->claim->p) block->claim = claim;
        for (uint32_t k = 0; k < claim->own_count; k++) add_member(blocks, block, claim->about[k]);
    }
}

/* What a chip is said or read to be, before what it must hold. */
static const ReasonClaim *claim_on(const Reasoning *reasoning, uint32_t part) {
    const ReasonClaim *found = NULL;
    for (uint32_t i = 0; i < reasoning->claims.count; i++) {
        const ReasonClaim *claim = &reasoning->claims.at[i];
        if (claim->about_count == 0 || claim->about[0] != part) continue;
        if (claim->sort == REASON_PART || claim->sort == REASON_STATED) return claim;
        if (found == NULL) found = claim;
    }
    return found;
}

/* Chips and loads (a motor, a loudspeaker) that no box owns: the chips are boxes, the loads go with what touches them. */
static void add_rest(Finding *f, const Reasoning *reasoning) {
    Blocks *blocks = f->blocks;
    bool *owned = arena_many(f->scratch, bool, f->bench->parts.count + 1);
    for (uint32_t i = 0; i < blocks->list.count; i++)
        for (uint32_t k = 0; k < blocks->list.at[i].members.count; k++) owned[blocks->list.at[i].members.at[k]] = true;
    for (uint32_t part = 0; part < f->bench->parts.count; part++) {
        if (owned[part] || !is_chip(f->bench, &f->bench->parts.at[part])) continue;
        Block chip = {.title = TEXT("Control"), .rank = 3, .chip = true, .claim = claim_on(reasoning, part)};
        add_member(blocks, &chip, part);
        list_push(blocks->arena, &blocks->list, chip);
        owned[part] = true;
    }
    for (uint32_t i = blocks->list.count; i-- > 0;) /* outputs stand last: they come first here */
        for (uint32_t c = 0; c < blocks->list.at[i].claims.count && blocks->list.at[i].rank >= 5; c++) {
            const ReasonClaim *claim = blocks->list.at[i].claims.at[c];
            for (uint32_t k = claim->own_count; k < claim->about_count; k++)
                if (!owned[claim->about[k]]) add_member(blocks, &blocks->list.at[i], claim->about[k]);
        }
}

void blocks_find(Blocks *blocks) {
    const Reasoning *reasoning = blocks->asked->reasoning;
    Finding f = {.blocks = blocks, .bench = reasoning->bench, .scratch = arena_new()};
    const Rail *rails = rails_find(f.scratch, f.bench);
    f.power = arena_many(f.scratch, bool, f.bench->nets.count + 1);
    for (uint32_t i = 0; i < f.bench->nets.count; i++) f.power[i] = rails[i].ground || rails[i].supply;
    gather(&f, reasoning);
    add_boxes(&f);
    add_rest(&f, reasoning);
    for (uint32_t i = 0; i < blocks->list.count; i++) {
        enum { SHOWN_MOST = 7 };
        Block *block = &blocks->list.at[i];
        Out parts = out_new(blocks->arena);
        for (uint32_t k = 0; k < block->members.count && k < SHOWN_MOST; k++)
            out_fmt(&parts, "%s%.*s", k > 0 ? " " : "", TEXT_ARG(f.bench->parts.at[block->members.at[k]].ref));
        if (block->members.count > SHOWN_MOST) out_lit(&parts, " \xE2\x80\xA6");
        block->parts = out_text(&parts);
    }
    arena_free(f.scratch);
}
