/* reason: the matcher against igraph. On invented circuits, each grown around one arrangement of one rule and blurred with
 * random parts and joins, every rule must fit exactly as often as igraph's subgraph isomorphism (LAD) says. */
#include "tests/check.h"

#include "reason/rule.h"
#include "tests/lad.h"

#include <stdio.h>
#include <stdlib.h>

/* Of each pattern: one circuit of just the kinds it names, some of kinds below those, the rest of those and blurred. */
enum { PLAIN = 1, VARIED = 6, CIRCUITS = 12, NOISE_MOST = 12 };

typedef struct Known {
    Lore *lore;
    const BenchKinds *kinds;
    const ReasonRules *rules;
} Known;

static Known know(Arena *arena) {
    Known known = {.lore = lore_new(arena)};
    lore_add_builtin(known.lore);
    known.kinds = bench_kinds_new(arena, known.lore);
    known.rules = reason_rules_new(arena, known.lore, known.kinds);
    return known;
}

/* The next of a row of numbers below `below` that only the seed decides (xorshift64, G. Marsaglia 2003). */
static uint32_t chance(uint64_t *seed, uint32_t below) {
    *seed ^= *seed << 13;
    *seed ^= *seed >> 7;
    *seed ^= *seed << 17;
    return (uint32_t)((*seed >> 33) % below);
}

/* A circuit while it is written: parts P1, P2 ... of stated kinds, and their pins by net. */
typedef struct Sketch {
    Arena *arena;
    const BenchKinds *kinds;
    uint64_t seed;
    Out notes;
    uint32_t part_count;
    LIST(Text) pins; /* of all parts, for joining at random */
} Sketch;

/* A kind that may stand for this one: itself or one below it. */
static const BenchKind *some_kind(Sketch *sketch, const BenchKind *of) {
    LIST(const BenchKind *) kinds = {0};
    for (uint32_t i = 0; i < bench_kind_count(sketch->kinds); i++) {
        const BenchKind *kind = bench_kind_at(sketch->kinds, i);
        if (bench_kind_is(kind, of) && (kind->pin_count == 0 || kind->pin_count >= of->pin_count))
            list_push(sketch->arena, &kinds, kind);
    }
    return kinds.at[chance(&sketch->seed, kinds.count)];
}

static uint32_t add_part(Sketch *sketch, const BenchKind *kind) {
    out_fmt(&sketch->notes, "part P%u %.*s\n", ++sketch->part_count, TEXT_ARG(kind->name));
    return sketch->part_count;
}

/* The pin of a part by position, or, for kinds without pins of their own, by number. */
static Text pin_name(Sketch *sketch, uint32_t part, const BenchKind *kind, uint32_t at) {
    Text name = kind->pin_count > 0 ? text_fmt(sketch->arena, "P%u.%.*s", part, TEXT_ARG(kind->pins[at]))
                                    : text_fmt(sketch->arena, "P%u.%u", part, at + 1);
    list_push(sketch->arena, &sketch->pins, name);
    return name;
}

/* Which pin of the part a pattern pin becomes: its position; for names of the rule's own the n-th; BENCH_NONE when the kind
 * has none left. */
static uint32_t choose_pin(const Pattern *pattern, uint32_t index, const BenchKind *kind) {
    const PatternPin *pin = &pattern->pins[index];
    if (pin->position >= 0) return (uint32_t)pin->position;
    uint32_t free = 0;
    for (uint32_t i = 0; i < pattern->pin_count; i++) {
        const PatternPin *other = &pattern->pins[i];
        if (other->role != pin->role || other->group != 0) continue;
        if (other->position >= 0) free = free > (uint32_t)other->position ? free : (uint32_t)other->position + 1;
        if (other->position < 0 && i < index) free++;
    }
    return kind->pin_count == 0 || free < kind->pin_count ? free : BENCH_NONE;
}

/* One instance of what the pattern needs; varied: a role may be taken by a kind below the one it asks for. */
static void plant(Sketch *sketch, const Pattern *pattern, bool varied) {
    uint32_t part[ROLES_MOST] = {0};
    const BenchKind *kind[ROLES_MOST] = {0};
    for (uint32_t i = 0; i < pattern->main_count; i++) {
        uint32_t role = pattern->main_roles[i];
        kind[role] = varied ? some_kind(sketch, pattern->roles[role].kind) : pattern->roles[role].kind;
        part[role] = add_part(sketch, kind[role]);
    }
    for (uint32_t n = 0; n < pattern->net_count; n++) {
        Out line = out_new(sketch->arena);
        uint32_t count = 0;
        for (uint32_t i = 0; i < pattern->pin_count; i++) {
            const PatternPin *pin = &pattern->pins[i];
            if (pin->net != n || pin->group != 0 || part[pin->role] == 0) continue;
            uint32_t at = choose_pin(pattern, i, kind[pin->role]);
            if (at == BENCH_NONE) continue;
            out_fmt(&line, " %.*s", TEXT_ARG(pin_name(sketch, part[pin->role], kind[pin->role], at)));
            count++;
        }
        if (count == 0) continue;
        Text word = pattern->nets[n].ground   ? TEXT("net GND")
                    : pattern->nets[n].supply ? TEXT("net VCC")
                                              : text_fmt(sketch->arena, "net N%u", n);
        out_fmt(&sketch->notes, "%.*s%.*s\n", TEXT_ARG(word), TEXT_ARG(out_text(&line)));
    }
}

/* More parts of the pattern's kinds (and of any), their pins joined to pins that are there; and, not to leave the planted nets
 * as they were, sometimes two nets made one. */
static void blur(Sketch *sketch, const Pattern *pattern) {
    uint32_t more = chance(&sketch->seed, NOISE_MOST + 1);
    for (uint32_t i = 0; i < more; i++) {
        const BenchKind *of = pattern->main_count > 0 && chance(&sketch->seed, 4) > 0
                                  ? pattern->roles[pattern->main_roles[chance(&sketch->seed, pattern->main_count)]].kind
                                  : bench_kind_at(sketch->kinds, 0);
        const BenchKind *kind = some_kind(sketch, of);
        uint32_t part = add_part(sketch, kind), pins = kind->pin_count > 0 ? kind->pin_count : 1 + chance(&sketch->seed, 6);
        for (uint32_t p = 0; p < pins; p++) {
            Text pin = pin_name(sketch, part, kind, p), other = sketch->pins.at[chance(&sketch->seed, sketch->pins.count)];
            if (!text_same(pin, other)) out_fmt(&sketch->notes, "join %.*s %.*s\n", TEXT_ARG(pin), TEXT_ARG(other));
        }
    }
    if (sketch->pins.count < 2 || chance(&sketch->seed, 3) > 0) return;
    Text a = sketch->pins.at[chance(&sketch->seed, sketch->pins.count)], b = sketch->pins.at[chance(&sketch->seed, sketch->pins.count)];
    if (!text_same(a, b)) out_fmt(&sketch->notes, "join %.*s %.*s\n", TEXT_ARG(a), TEXT_ARG(b));
}

/* The n-th circuit around one pattern, as notes. */
static Text sketch_notes(Arena *arena, const BenchKinds *kinds, const Pattern *pattern, uint64_t seed, uint32_t n) {
    Sketch sketch = {.arena = arena, .kinds = kinds, .seed = (seed * CIRCUITS + n + 1) * 0x9E3779B97F4A7C15u, .notes = out_new(arena)};
    plant(&sketch, pattern, n >= PLAIN);
    if (n >= VARIED) blur(&sketch, pattern);
    return out_text(&sketch.notes);
}

/* Both counts of every rule on one circuit; fits: how often the rule `of` does. */
static void compare(Arena *arena, const Known *known, Text notes, uint32_t of, uint64_t *fits) {
    const Notebook *notebook = note_read(arena, TEXT("sketch"), notes);
    if (notebook->problems.list.count > 0) {
        Out out = out_new(arena);
        diags_print(&out, &notebook->problems);
        fail_msg("%.*s", TEXT_ARG(out_text(&out)));
    }
    const Bench *bench = bench_build(arena, notebook, (BenchKnows){.kinds = known->kinds});
    const Rail *rails = rails_find(arena, bench);
    uint64_t *counts = arena_many(arena, uint64_t, reason_rule_count(known->rules));
    reason_count_fits(bench, known->rules, counts);
    for (uint32_t r = 0; r < reason_rule_count(known->rules); r++) {
        const Rule *rule = known->rules->rules.at[r];
        uint64_t expected = 0;
        for (uint32_t w = 0; w < rule->way_count; w++) {
            LadAnswer answer = lad_count(arena, bench, rails, rule->ways[w], 0);
            assert_true(answer.done);
            expected += answer.count;
        }
        if (counts[r] != expected)
            fail_msg("\"%.*s\" fits %llu times, igraph says %llu, in\n%.*s", TEXT_ARG(rule->name), (unsigned long long)counts[r],
                     (unsigned long long)expected, TEXT_ARG(notes));
    }
    *fits = counts[of];
}

static void fits_are_counted_as_igraph_counts_them(void **state) {
    (void)state;
    Arena *forever = arena_new();
    Known known = know(forever);
    assert_true(reason_rule_count(known.rules) > 0);
    for (uint32_t r = 0; r < reason_rule_count(known.rules); r++) {
        const Rule *rule = known.rules->rules.at[r];
        for (uint32_t w = 0; w < rule->way_count; w++) {
            uint64_t own = 0;
            for (uint32_t n = 0; n < CIRCUITS; n++) {
                Arena *arena = arena_new();
                uint64_t fits;
                Text notes = sketch_notes(arena, known.kinds, rule->ways[w], r * WAYS_MOST + w, n);
                compare(arena, &known, notes, r, &fits);
                if (n < VARIED) own += fits;
                arena_free(arena);
            }
            /* a rule's own shape must be found, or the test would compare nothing with nothing; not always by the kinds it
             * names, since some make rails of its nets */
            if (own == 0) fail_msg("\"%.*s\", way %u, does not fit its own shape", TEXT_ARG(rule->name), w + 1);
        }
    }
    arena_free(forever);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(fits_are_counted_as_igraph_counts_them)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
