/* bench: nets against a flood fill that knows nothing of them, in any order of the notes; and files of 100,000 notes. */
#include "tests/check.h"

#include "bench/bench.h"

#include <stdlib.h>
#include <time.h>

typedef struct Knowledge {
    Arena *arena;
    BenchKinds *kinds;
} Knowledge;

static int load(void **state) {
    Knowledge *k = calloc(1, sizeof *k);
    k->arena = arena_new();
    Lore *lore = lore_new(k->arena);
    lore_add_builtin(lore);
    k->kinds = bench_kinds_new(k->arena, lore);
    *state = k;
    return 0;
}

static int unload(void **state) {
    Knowledge *k = *state;
    arena_free(k->arena);
    free(k);
    return 0;
}

static Bench *built(const Knowledge *k, Arena *arena, Text notes) {
    Notebook *book = note_read(arena, TEXT("notes.txt"), notes);
    assert_int_equal(book->problems.list.count, 0);
    return bench_build(arena, book, (BenchKnows){.kinds = k->kinds, .marks = NULL, .shelf = NULL});
}

/* ---- random joins ---- */

enum { PINS = 60, JOINS_MOST = 50, ROUNDS = 200 };

typedef struct Join {
    unsigned a, b, c; /* pins; c == PINS: only two */
} Join;

static unsigned random_below(unsigned *seed, unsigned below) {
    *seed = *seed * 1664525u + 1013904223u; /* Numerical Recipes' quick generator */
    return (unsigned)(((uint64_t)*seed * below) >> 32);
}

/* Pins 0..39 are those of ten chips, the rest bare names. */
static void print_pin(Out *out, unsigned pin) {
    if (pin < 40)
        out_fmt(out, " U%u.%u", pin / 4, pin % 4 + 1);
    else
        out_fmt(out, " N%u_net", pin);
}

static Text pin_text(Arena *arena, unsigned pin) {
    Out out = out_new(arena);
    print_pin(&out, pin);
    return text_trim(out_text(&out));
}

static Text notes_of(Arena *arena, const Join *joins, unsigned count) {
    Out out = out_new(arena);
    for (unsigned i = 0; i < count; i++) {
        out_lit(&out, "join");
        print_pin(&out, joins[i].a);
        print_pin(&out, joins[i].b);
        if (joins[i].c < PINS) print_pin(&out, joins[i].c);
        out_char(&out, '\n');
    }
    return out_text(&out);
}

/* The reference: colours spread over the join list until none changes. */
static void flood(const Join *joins, unsigned count, unsigned colour[PINS + 1]) {
    for (unsigned p = 0; p <= PINS; p++) colour[p] = p;
    for (bool changed = true; changed;) {
        changed = false;
        for (unsigned i = 0; i < count; i++) {
            unsigned ends[3] = {joins[i].a, joins[i].b, joins[i].c < PINS ? joins[i].c : joins[i].a};
            unsigned least = colour[ends[0]];
            for (int k = 1; k < 3; k++) least = colour[ends[k]] < least ? colour[ends[k]] : least;
            for (int k = 0; k < 3; k++)
                if (colour[ends[k]] != least) colour[ends[k]] = least, changed = true;
        }
    }
}

static void check_against_flood(const Knowledge *k, const Join *joins, unsigned count) {
    Arena *arena = arena_new();
    unsigned colour[PINS + 1];
    flood(joins, count, colour);
    Bench *bench = built(k, arena, notes_of(arena, joins, count));
    uint32_t net[PINS];
    for (unsigned p = 0; p < PINS; p++) net[p] = bench_net(bench, pin_text(arena, p));
    for (unsigned p = 0; p < PINS; p++)
        for (unsigned q = 0; q < p; q++) {
            if (net[p] == BENCH_NONE || net[q] == BENCH_NONE) continue; /* in no join */
            if ((net[p] == net[q]) != (colour[p] == colour[q])) fail_msg("pins %u and %u of %u joins", p, q, count);
            if (p >= 40 || net[p] != net[q]) continue;
            uint32_t lines[JOINS_MOST], a = net[p], in_net = 0;
            BenchChain chain;
            uint32_t pin_p =
                bench_pin(bench, bench_part(bench, text_fmt(arena, "U%u", p / 4)), text_fmt(arena, "%u", p % 4 + 1));
            uint32_t pin_q =
                bench_pin(bench, bench_part(bench, text_fmt(arena, "U%u", q / 4)), text_fmt(arena, "%u", q % 4 + 1));
            size_t length = bench_chain(bench, pin_p, pin_q, lines, JOINS_MOST, &chain);
            assert_true(length >= 1 && length <= JOINS_MOST);
            Join used[JOINS_MOST]; /* the lines of the chain alone must join the two */
            for (size_t i = 0; i < length; i++) used[i] = joins[lines[i] - 1];
            unsigned again[PINS + 1];
            flood(used, (unsigned)length, again);
            assert_int_equal(again[p], again[q]);
            for (uint32_t i = 0; i < bench->nets.at[a].pin_count; i++) in_net += bench->nets.at[a].pins[i] == pin_p;
            assert_int_equal(in_net, 1);
        }
    arena_free(arena);
}

static void nets_are_those_of_a_flood_fill_in_any_order(void **state) {
    unsigned seed = 20260903;
    for (unsigned round = 0; round < ROUNDS; round++) {
        Join joins[JOINS_MOST];
        unsigned count = 1 + random_below(&seed, JOINS_MOST);
        for (unsigned i = 0; i < count; i++) {
            joins[i].a = random_below(&seed, PINS),
            joins[i].c = random_below(&seed, 3) == 0 ? random_below(&seed, PINS) : PINS;
            do joins[i].b = random_below(&seed, PINS);
            while (joins[i].b == joins[i].a);
        }
        check_against_flood(*state, joins, count);
        for (unsigned i = count - 1; i > 0; i--) {
            unsigned j = random_below(&seed, i + 1);
            Join spare = joins[i];
            joins[i] = joins[j], joins[j] = spare;
        }
        check_against_flood(*state, joins, count);
    }
}

/* ---- large files: each within seconds, where a quadratic step would take hours ---- */

enum { MANY = 100000, SECONDS_MOST = 20 };

static double seconds(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

static void a_hundred_thousand_notes(void **state) {
    Arena *arena = arena_new();
    Out out = out_new(arena);
    for (unsigned i = 0; i < MANY / 4; i++)
        out_fmt(&out, "part R%u 0805 10k\njoin R%u.1 U%u.%u\njoin R%u.2 GND\nread r(R%u) = 9.9 kohm\n", i, i, i / 8,
                i % 8 + 1, i, i);
    double start = seconds();
    Bench *bench = built(*state, arena, out_text(&out));
    assert_true(seconds() - start < SECONDS_MOST);
    assert_int_equal(bench->parts.count, MANY / 4 + MANY / 32);
    assert_int_equal(bench->readings.count, MANY / 4);
    assert_int_equal(bench->conflicts.count, 0);
    assert_int_equal(bench->nets.at[bench_net(bench, TEXT("GND"))].pin_count, MANY / 4);
    arena_free(arena);
}

/* One long chain of pins, and every pin said to be apart from the first: chains of up to 100,000 lines. */
static void a_net_of_a_hundred_thousand_pins_and_as_many_contradictions(void **state) {
    Arena *arena = arena_new();
    Out out = out_new(arena);
    for (unsigned i = 1; i < MANY; i++) out_fmt(&out, "join U1.%u U1.%u\n", i, i + 1);
    for (unsigned i = MANY; i > 1; i--) out_fmt(&out, "apart U1.1 U1.%u\n", i);
    double start = seconds();
    Bench *bench = built(*state, arena, out_text(&out));
    assert_true(seconds() - start < SECONDS_MOST);
    assert_int_equal(bench->nets.count, 1);
    assert_int_equal(bench->nets.at[0].pin_count, MANY);
    assert_int_equal(bench->conflicts.count + bench->conflicts_left_out, MANY - 1);
    assert_true(bench->conflicts.count >= 1 && bench->conflicts.count <= BENCH_CONFLICTS_MOST);
    assert_int_equal(bench->conflicts.at[0].line_count, MANY); /* the whole chain and the apart */
    arena_free(arena);
}

static void a_hundred_thousand_readings_that_differ(void **state) {
    Arena *arena = arena_new();
    Out out = out_new(arena);
    for (unsigned i = 0; i < MANY; i++) out_fmt(&out, "read v(VBAT) = %u.5 V\n", i % 1000);
    double start = seconds();
    Bench *bench = built(*state, arena, out_text(&out));
    assert_true(seconds() - start < SECONDS_MOST);
    assert_int_equal(bench->conflicts.count, BENCH_CONFLICTS_MOST);
    assert_true(bench->conflicts_left_out > MANY / 2);
    arena_free(arena);
}

static void a_part_with_a_hundred_thousand_wrong_pins(void **state) {
    Arena *arena = arena_new();
    Out out = out_new(arena);
    for (unsigned i = 0; i < MANY; i++) out_fmt(&out, "join Q1.%u Q%u.x%u\npart Q1 npn\n", i + 10, i + 10, i);
    double start = seconds();
    Bench *bench = built(*state, arena, out_text(&out));
    assert_true(seconds() - start < SECONDS_MOST);
    assert_int_equal(bench->conflicts.count, BENCH_CONFLICTS_MOST);
    assert_int_equal(bench->pins.count, 2 * MANY);
    arena_free(arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nets_are_those_of_a_flood_fill_in_any_order),
        cmocka_unit_test(a_hundred_thousand_notes),
        cmocka_unit_test(a_net_of_a_hundred_thousand_pins_and_as_many_contradictions),
        cmocka_unit_test(a_hundred_thousand_readings_that_differ),
        cmocka_unit_test(a_part_with_a_hundred_thousand_wrong_pins),
    };
    return cmocka_run_group_tests_name("bench nets", tests, load, unload);
}
