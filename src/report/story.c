/* The order of telling, for every form of it: chapters by block, the chips' pins, the parts, the steps. Nothing is worded
 * here that a claim already says. Cost: claims times blocks (about a dozen), and a sort of the parts. */
#include "report/words.h"

#include <stdlib.h>
#include <string.h>

Text report_as_sentence(Arena *arena, Text text) { return words_sentence(arena, words_capital(arena, text)); }

Text report_sentence(Arena *arena, const ReasonClaim *claim) {
    Text says = report_as_sentence(arena, claim->says.len > 0 ? claim->says : claim->name);
    if (claim->p >= 0.5) return says;
    return text_fmt(arena, "Less likely than not: %.*s", TEXT_ARG(says));
}

/* ---- chapters ---- */

static StoryChapter *chapter(Story *story, Arena *arena, Text title, bool block) {
    StoryChapter *chapter = list_add(arena, &story->chapters);
    *chapter = (StoryChapter){.title = title, .block = block};
    return chapter;
}

static void drop_if_empty(Story *story) {
    if (story->chapters.at[story->chapters.count - 1].claims.count == 0) story->chapters.count--;
}

static bool known_block(Text block) {
    size_t count;
    const Text *blocks = reason_blocks(&count);
    for (size_t i = 0; i < count; i++)
        if (text_same(blocks[i], block)) return true;
    return false;
}

/* By block from power to output; then what belongs to no block: chips, statements, anything else. What a part is, is told
 * in the parts table. */
static void add_chapters(Story *story, Arena *arena, const Reasoning *reasoning) {
    static const struct {
        ReasonSort sort;
        const char *title;
    } rest[] = {{REASON_CAPABILITY, "What the chips must hold"},
                {REASON_IDIOM, "Elsewhere"},
                {REASON_STATED, "As stated at the bench"},
                {REASON_SUM, "Beside the meter"}};
    size_t count;
    const Text *blocks = reason_blocks(&count);
    for (size_t b = 0; b < count; b++) {
        StoryChapter *into = chapter(story, arena, words_capital(arena, blocks[b]), true);
        for (uint32_t i = 0; i < reasoning->claims.count; i++) {
            const ReasonClaim *claim = &reasoning->claims.at[i];
            if (claim->sort != REASON_PART && text_same(claim->block, blocks[b])) list_push(arena, &into->claims, claim);
        }
        drop_if_empty(story);
    }
    for (size_t r = 0; r < sizeof rest / sizeof *rest; r++) {
        StoryChapter *into = chapter(story, arena, text_of(rest[r].title), false);
        for (uint32_t i = 0; i < reasoning->claims.count; i++) {
            const ReasonClaim *claim = &reasoning->claims.at[i];
            if (claim->sort == rest[r].sort && !known_block(claim->block)) list_push(arena, &into->claims, claim);
        }
        drop_if_empty(story);
    }
}

/* ---- roles of pins ---- */

/* References in the order people count: R2 before R10. */
static int natural_order(Text a, Text b) {
    while (a.len > 0 && b.len > 0) {
        bool digits = a.at[0] >= '0' && a.at[0] <= '9' && b.at[0] >= '0' && b.at[0] <= '9';
        size_t na = 1, nb = 1;
        if (digits) {
            while (na < a.len && a.at[na] >= '0' && a.at[na] <= '9') na++;
            while (nb < b.len && b.at[nb] >= '0' && b.at[nb] <= '9') nb++;
            if (na != nb) return na < nb ? -1 : 1;
        }
        int order = text_order(text_sub(a, 0, na), text_sub(b, 0, nb));
        if (order != 0) return order;
        a = text_sub(a, na, a.len);
        b = text_sub(b, nb, b.len);
    }
    return (a.len > 0) - (b.len > 0);
}

static int role_order(const void *one, const void *other, void *context) {
    const Bench *bench = context;
    const StoryRole *a = one, *b = other;
    const BenchPin *pa = &bench->pins.at[a->pin], *pb = &bench->pins.at[b->pin];
    int order = natural_order(bench->parts.at[pa->part].ref, bench->parts.at[pb->part].ref);
    if (order == 0) order = natural_order(pa->label, pb->label);
    if (order == 0) order = text_order(a->role, b->role);
    return order != 0 ? order : (a->claim->p < b->claim->p) - (a->claim->p > b->claim->p);
}

static void add_roles(Story *story, Arena *arena, const Reasoning *reasoning) {
    for (uint32_t i = 0; i < reasoning->claims.count; i++) {
        const ReasonClaim *claim = &reasoning->claims.at[i];
        for (uint32_t k = 0; k < claim->role_count; k++)
            list_push(arena, &story->roles, ((StoryRole){claim->roles[k].pin, claim->roles[k].role, claim}));
    }
    if (story->roles.count == 0) return;
    qsort_r(story->roles.at, story->roles.count, sizeof *story->roles.at, role_order, (void *)(uintptr_t)reasoning->bench);
    uint32_t kept = 1; /* the same role of one pin is told once, by its surest claim */
    for (uint32_t i = 1; i < story->roles.count; i++) {
        const StoryRole *last = &story->roles.at[kept - 1], *this = &story->roles.at[i];
        if (last->pin != this->pin || !text_same(last->role, this->role)) story->roles.at[kept++] = *this;
    }
    story->roles.count = kept;
}

/* ---- steps ---- */

static int step_order(const void *one, const void *other) {
    const Note *a = *(const Note *const *)one, *b = *(const Note *const *)other;
    if (a->step.number != b->step.number) return a->step.number < b->step.number ? -1 : 1;
    return (a->line > b->line) - (a->line < b->line);
}

static void add_steps(Story *story, Arena *arena, const Notebook *notebook) {
    LIST(const Note *) steps = {0};
    for (uint32_t i = 0; i < notebook->notes.count; i++)
        if (notebook->notes.at[i].verb == NOTE_STEP) list_push(arena, &steps, &notebook->notes.at[i]);
    if (steps.count > 0) qsort(steps.at, steps.count, sizeof *steps.at, step_order);
    story->steps = steps.at;
    story->step_count = steps.count;
}

/* ---- parts ---- */

static int part_order(const void *one, const void *other, void *context) {
    const Bench *bench = context;
    const StoryPart *a = one, *b = other;
    return natural_order(bench->parts.at[a->part].ref, bench->parts.at[b->part].ref);
}

static void add_parts(Story *story, Arena *arena, const Reasoning *reasoning) {
    const Bench *bench = reasoning->bench;
    const ReasonClaim **named = arena_many(arena, const ReasonClaim *, bench->parts.count + 1); /* the surest, by part */
    for (uint32_t i = 0; i < reasoning->claims.count; i++) {
        const ReasonClaim *claim = &reasoning->claims.at[i];
        if (claim->sort != REASON_PART || claim->about_count == 0) continue;
        uint32_t part = claim->about[0];
        if (named[part] == NULL || claim->p > named[part]->p) named[part] = claim;
    }
    for (uint32_t i = 0; i < bench->parts.count; i++)
        list_push(arena, &story->parts, story_part(arena, bench, i, named[i]));
    if (story->parts.count > 0)
        qsort_r(story->parts.at, story->parts.count, sizeof *story->parts.at, part_order, (void *)(uintptr_t)bench);
}

const Story *story_of(Arena *arena, const Reasoning *reasoning) {
    Story *story = arena_one(arena, Story);
    const Bench *bench = reasoning->bench;
    story->title = bench->product != NULL && bench->product->product.name.len > 0 ? bench->product->product.name
                                                                                  : TEXT("A product without a name");
    add_chapters(story, arena, reasoning);
    add_roles(story, arena, reasoning);
    add_steps(story, arena, bench->notebook);
    add_parts(story, arena, reasoning);
    story_boards(arena, reasoning, story);
    story->intro = story_intro(arena, reasoning);
    return story;
}

/* ---- finding ---- */

static bool about_part(const ReasonClaim *claim, uint32_t part) {
    for (uint32_t i = 0; i < claim->about_count; i++)
        if (claim->about[i] == part) return true;
    return false;
}

static bool about_pin(const ReasonClaim *claim, uint32_t pin) {
    for (uint32_t i = 0; i < claim->role_count; i++)
        if (claim->roles[i].pin == pin) return true;
    return false;
}

/* Every claim and hazard, one after the other; NULL after the last. */
static const ReasonClaim *claim_at(const Reasoning *reasoning, uint32_t i) {
    if (i < reasoning->hazards.count) return &reasoning->hazards.at[i];
    i -= reasoning->hazards.count;
    return i < reasoning->claims.count ? &reasoning->claims.at[i] : NULL;
}

/* `Q1` or `Q1.B`: part and pin, BENCH_NONE where there is none. False when it names neither. */
static bool find_terminal(const Bench *bench, Text what, uint32_t *part, uint32_t *pin) {
    size_t dot = text_find(what, TEXT("."));
    *part = bench_part(bench, text_sub(what, 0, dot));
    *pin = BENCH_NONE;
    if (*part == BENCH_NONE || dot >= what.len) return *part != BENCH_NONE;
    *pin = bench_pin(bench, *part, text_sub(what, dot + 1, what.len));
    return *pin != BENCH_NONE;
}

bool story_is_part_or_pin(const Bench *bench, Text what) {
    uint32_t part, pin;
    return find_terminal(bench, what, &part, &pin);
}

StoryClaims story_about(Arena *arena, const Reasoning *reasoning, Text what) {
    const Bench *bench = reasoning->bench;
    StoryClaims found = {0};
    const ReasonClaim *exact = what.len > 0 ? reason_claim(reasoning, what) : NULL;
    if (exact != NULL) {
        list_push(arena, &found, exact);
        return found;
    }
    uint32_t part = BENCH_NONE, pin = BENCH_NONE;
    if (what.len > 0 && !find_terminal(bench, what, &part, &pin)) return found;
    const ReasonClaim *claim;
    for (uint32_t i = 0; pin != BENCH_NONE && (claim = claim_at(reasoning, i)) != NULL; i++)
        if (about_pin(claim, pin)) list_push(arena, &found, claim);
    if (found.count > 0) return found; /* of a pin whose role is known; else its part's claims */
    for (uint32_t i = 0; (claim = claim_at(reasoning, i)) != NULL; i++)
        if (what.len == 0 || about_part(claim, part)) list_push(arena, &found, claim);
    return found;
}

typedef struct Near {
    Text id;
    unsigned distance;
} Near;

static int near_order(const void *one, const void *other) {
    const Near *a = one, *b = other;
    return a->distance != b->distance ? (a->distance < b->distance ? -1 : 1) : text_order(a->id, b->id);
}

/* An id is near when it holds what was asked for, or can be made from it with few changes, with or without its parts. */
static unsigned id_distance(Text id, Text what) {
    if (what.len > 1 && text_find(id, what) != SIZE_MAX) return 0;
    size_t colon = text_find(id, TEXT(":"));
    unsigned most = 1 + (unsigned)what.len / 3;
    unsigned whole = text_distance(id, what, most), name = text_distance(text_sub(id, 0, colon), what, most);
    return (whole < name ? whole : name) > most ? UINT32_MAX : whole < name ? whole : name;
}

size_t story_nearest(Arena *arena, const Reasoning *reasoning, Text what, Text *ids, size_t most) {
    LIST(Near) near = {0};
    const ReasonClaim *claim;
    for (uint32_t i = 0; (claim = claim_at(reasoning, i)) != NULL; i++) {
        unsigned distance = id_distance(claim->id, what);
        if (distance != UINT32_MAX) list_push(arena, &near, ((Near){claim->id, distance}));
    }
    if (near.count > 0) qsort(near.at, near.count, sizeof *near.at, near_order);
    size_t count = near.count < most ? near.count : most;
    for (size_t i = 0; i < count; i++) ids[i] = near.at[i].id;
    return count;
}
