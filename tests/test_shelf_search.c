/* shelf: the search by index against plain dynamic programming over the whole catalogue. Nothing that is near enough may be
 * missed, every weight and the order must agree. The reference below shares the weights with the room, not its code: edit
 * distance after Wagner and Fischer (1974), and the best of all ways to cut prefix and ending off, tried one by one. */
#include "tests/check.h"

#include "base/names.h"
#include "shelf/damage.h"
#include "shelf/shelf.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

enum { ROWS = 3000, QUERIES = 80, NAME_MOST = 24, NEVER = -1000000 };

static Arena *arena;
static Lore *lore;
static Damage *damage;
static char names[ROWS][NAME_MOST];
static char csv_path[64], database_path[64];

static unsigned below(uint64_t *state, unsigned n) {
    *state = *state * 6364136223846793005u + 1442695040888963407u; /* Knuth's MMIX generator */
    return (unsigned)(*state >> 33) % n;
}

/* Crowded on purpose: few letters and digits, so that most markings have many near spellings. */
static void invent(uint64_t *state, char *name) {
    static const char *const prefixes[] = {"LM", "BA", "TPX", "QX", "", "S", "ABCD"};
    static const char *const endings[] = {"", "", "N", "D", "DR", "AB", "BQ1"};
    snprintf(name, NAME_MOST, "%s%0*u%s%s", prefixes[below(state, 7)], (int)(3 + below(state, 2)), below(state, 900),
             below(state, 4) == 0 ? "B8" : "", endings[below(state, 7)]);
}

static void spoil(uint64_t *state, char *marking) {
    for (unsigned errors = below(state, 4); errors > 0; errors--) {
        size_t len = strlen(marking), at = below(state, (unsigned)len);
        char c = "0123456789ABCDLMNOQRSTX"[below(state, 23)];
        switch (below(state, 3)) {
        case 0:
            marking[at] = c;
            break;
        case 1:
            if (len > 3) memmove(marking + at, marking + at + 1, len - at);
            break;
        default:
            if (len + 2 > NAME_MOST) break;
            memmove(marking + at + 1, marking + at, len - at + 1);
            marking[at] = c;
        }
    }
    if (below(state, 8) == 0) marking[below(state, (unsigned)strlen(marking))] = '?';
}

static int open_room(void **state) {
    (void)state;
    uint64_t seed = 1;
    arena = arena_new();
    lore = lore_new(arena);
    lore_add_builtin(lore);
    damage = damage_new(arena, lore);
    snprintf(csv_path, sizeof csv_path, "/tmp/unpick-test-search-%d.csv", (int)getpid());
    snprintf(database_path, sizeof database_path, "/tmp/unpick-test-search-%d.db", (int)getpid());
    Names *seen = names_new(arena);
    FILE *out = fopen(csv_path, "w");
    assert_non_null(out);
    fputs("name\n", out);
    for (uint32_t i = 0; i < ROWS; i++) {
        do invent(&seed, names[i]);
        while (names_add(seen, text_copy(arena, text_of(names[i]))) != i);
        fprintf(out, "%s\n", names[i]);
    }
    fclose(out);
    return 0;
}

static int close_room(void **state) {
    (void)state;
    unlink(csv_path);
    unlink(database_path);
    arena_free(arena);
    return 0;
}

/* ---- the reference ---- */

static Reading slice(const Reading *r, uint32_t from, uint32_t to) {
    Reading s = {.len = to - from};
    memcpy(s.at, r->at + from, to - from);
    return s;
}

static bool reads(unsigned char read, unsigned char said) {
    return read == '?' || damage->fold[read] == damage->fold[said];
}

static int largest(int a, int b, int c) { return a > b ? (a > c ? a : c) : (b > c ? b : c); }

/* Edit distance, look-alikes being the same. */
static int distance(const Reading *m, const Reading *s) {
    int d[READING_MOST + 1][READING_MOST + 1];
    for (uint32_t i = 0; i <= m->len; i++)
        for (uint32_t j = 0; j <= s->len; j++) {
            if (i == 0 || j == 0)
                d[i][j] = (int)(i + j);
            else
                d[i][j] = -largest(-(d[i - 1][j - 1] + !reads(m->at[i - 1], s->at[j - 1])), -(d[i - 1][j] + 1),
                                   -(d[i][j - 1] + 1));
        }
    return d[m->len][s->len];
}

/* The best weight of reading all of m from all of s. */
static int plain_weight(const Reading *m, const Reading *s) {
    int w[READING_MOST + 1][READING_MOST + 1];
    const int *weight = damage->weight;
    for (uint32_t i = 0; i <= m->len; i++)
        for (uint32_t j = 0; j <= s->len; j++) {
            unsigned char a = i > 0 ? m->at[i - 1] : 0, b = j > 0 ? s->at[j - 1] : 0;
            if (i == 0 || j == 0) {
                w[i][j] = (int)i * weight[SLIP_EXTRA] + (int)j * weight[SLIP_MISSING];
                continue;
            }
            int pair = a == '?' ? 0 : weight[a == b ? SLIP_RIGHT : reads(a, b) ? SLIP_ALIKE : SLIP_CHANGE];
            w[i][j] = largest(w[i - 1][j - 1] + pair, w[i - 1][j] + weight[SLIP_EXTRA], w[i][j - 1] + weight[SLIP_MISSING]);
        }
    return w[m->len][s->len];
}

typedef struct Verdict {
    int weight; /* of the best way to cut */
    int near;   /* of the best among those that leave few enough errors; NEVER when none does */
} Verdict;

/* One way to cut: both from `mi`..`mj` and `si`..`sj`. */
static void try_cut(const Reading *m, const Reading *s, uint32_t mi, uint32_t mj, uint32_t si, uint32_t sj,
                    Verdict *verdict) {
    bool front = mi > 0 || si > 0, back = mj < m->len || sj < s->len;
    if (front && (m->len - mi < CORE_LEAST || s->len - si < CORE_LEAST)) return;
    if (mj < mi || sj < si) return;
    Reading a = slice(m, mi, mj), b = slice(s, si, sj);
    int behind = (int)(m->len - mj + s->len - sj), weight = plain_weight(&a, &b);
    if (front) weight += damage->weight[SLIP_PREFIX];
    if (back) weight += damage->weight[SLIP_ENDING] + behind * damage->weight[SLIP_ENDING_LETTER];
    if (weight > verdict->weight) verdict->weight = weight;
    int allowed = front || back ? mj - mi > CORE_LEAST : m->len < 3 ? 0 : m->len < 6 ? 1 : 2;
    if ((front || back) && (mj - mi < CORE_LEAST || sj - si < CORE_LEAST)) return;
    if (weight > verdict->near && distance(&a, &b) <= allowed) verdict->near = weight;
}

static Verdict judge(const Reading *m, const Reading *s) {
    Verdict verdict = {NEVER, NEVER};
    for (uint32_t mj = 1; mj <= m->len; mj++) {
        if (mj < m->len && !reading_may_end(m->at, m->len, mj)) continue;
        for (uint32_t sj = 1; sj <= s->len; sj++) {
            if (sj < s->len && !reading_may_end(s->at, s->len, sj)) continue;
            try_cut(m, s, 0, mj, 0, sj, &verdict);
            if (m->prefix > 0 || s->prefix > 0) try_cut(m, s, m->prefix, mj, s->prefix, sj, &verdict);
        }
    }
    return verdict;
}

static int downward(const void *a, const void *b) { return *(const int *)b - *(const int *)a; }

static const ShelfMatch *match_named(const ShelfMatch *matches, size_t count, const char *name) {
    for (size_t i = 0; i < count; i++)
        if (text_is(matches[i].part->name, name)) return &matches[i];
    return NULL;
}

/* Asks for everything, and for the best three: against the reference's verdict on each row. */
static void compare(Shelf *shelf, const char *marking) {
    static ShelfMatch matches[ROWS + 4000];
    static int weights[ROWS];
    Arena *work = arena_new();
    Reading m = reading_of(text_of(marking), true);
    ShelfQuery query = {.marking = text_of(marking)};
    size_t count = shelf_find(shelf, work, query, matches, ROWS + 4000), near = 0;
    for (size_t i = 1; i < count; i++) assert_true(matches[i - 1].decibans >= matches[i].decibans);
    for (int row = 0; row < ROWS; row++) {
        Reading s = reading_of(text_of(names[row]), false);
        Verdict verdict = judge(&m, &s);
        const ShelfMatch *match = match_named(matches, count, names[row]);
        if (verdict.near > 0) {
            if (match == NULL) fail_msg("%s: %s was missed", marking, names[row]);
            weights[near++] = verdict.near;
        }
        if (match != NULL && lround(match->decibans * 10) != verdict.weight)
            fail_msg("%s: %s weighs %.1f, the reference says %.1f", marking, names[row], match->decibans,
                     verdict.weight / 10.0);
    }
    qsort(weights, near, sizeof weights[0], downward);
    count = shelf_find(shelf, work, query, matches, 3);
    for (size_t i = 0; i < count && i < near; i++)
        if (lround(matches[i].decibans * 10) < weights[i])
            fail_msg("%s: place %zu weighs %.1f, the reference has %.1f", marking, i + 1, matches[i].decibans,
                     weights[i] / 10.0);
    assert_true(count >= (near < 3 ? near : 3));
    arena_free(work);
}

/* A lore with the model of damage and no parts, so that only the invented ones can be found. */
static Lore *lore_without_parts(void) {
    Lore *bare = lore_new(arena);
    lore_add_builtin(bare);
    uint32_t kept = 0;
    for (uint32_t i = 0; i < bare->entries.count; i++) {
        Text word = bare->entries.at[i].head.word;
        if (!text_is(word, "part") && !text_is(word, "family")) bare->entries.at[kept++] = bare->entries.at[i];
    }
    bare->entries.count = kept;
    return bare;
}

static void compare_many(Shelf *shelf, uint64_t seed) {
    for (int q = 0; q < QUERIES; q++) {
        char marking[NAME_MOST];
        memcpy(marking, names[below(&seed, ROWS)], NAME_MOST);
        spoil(&seed, marking);
        Reading m = reading_of(text_of(marking), true);
        uint32_t legible = 0;
        for (uint32_t i = 0; i < m.len; i++) legible += m.at[i] != '?';
        if (legible >= 6 || (legible >= 3 && !m.has_any && m.len < 6)) compare(shelf, marking);
    }
}

static void in_memory_nothing_near_is_missed_and_order_agrees(void **state) {
    (void)state;
    Diags problems = diags_new(arena);
    uint32_t rows;
    Shelf *shelf = shelf_open(arena, lore_without_parts(), NULL, &problems);
    assert_true(shelf_add(shelf, csv_path, &rows, &problems));
    assert_int_equal(rows, ROWS);
    compare_many(shelf, 7);
    shelf_close(shelf);
}

static void in_the_file_nothing_near_is_missed_and_order_agrees(void **state) {
    (void)state;
    Diags problems = diags_new(arena);
    uint32_t rows;
    Shelf *shelf = shelf_open(arena, lore_without_parts(), database_path, &problems);
    assert_true(shelf_load(shelf, csv_path, &rows, &problems));
    assert_int_equal(rows, ROWS);
    shelf_close(shelf);
    shelf = shelf_open(arena, lore_without_parts(), database_path, &problems);
    compare_many(shelf, 8);
    shelf_close(shelf);
}

/* The index was built for other look-alikes than the lore now has: it is built again, not believed. */
static void other_look_alikes_make_another_index(void **state) {
    (void)state;
    Diags problems = diags_new(arena);
    Lore *other = lore_without_parts();
    lore_add_text(other, TEXT("own.lore"), TEXT("damage \"mine\"\n  alike \"AX\"\n"));
    Shelf *shelf = shelf_open(arena, other, database_path, &problems);
    ShelfMatch match;
    char marking[NAME_MOST];
    int row = 0;
    while (strstr(names[row], "TPX") == NULL) row++;
    memcpy(marking, names[row], NAME_MOST);
    *strchr(marking, 'X') = 'A';
    assert_int_equal(shelf_find(shelf, arena, (ShelfQuery){.marking = text_of(marking)}, &match, 1), 1);
    assert_true(text_is(match.part->name, names[row]));
    assert_true(text_is(match.differs, "3rd: X read as A"));
    shelf_close(shelf);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(in_memory_nothing_near_is_missed_and_order_agrees),
        cmocka_unit_test(in_the_file_nothing_near_is_missed_and_order_agrees),
        cmocka_unit_test(other_look_alikes_make_another_index),
    };
    return cmocka_run_group_tests_name("shelf, search", tests, open_room, close_room);
}
