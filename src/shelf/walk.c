/* Searches the index: all spellings within `most` wrong, missing or extra characters of a marking.
 *
 * The walk down a tree carries a machine that reads the marking with up to two errors, its states as bits, one word for
 * each number of errors (Wu and Manber, "Fast text searching allowing errors", 1992); a branch is left when no state is
 * alive. Alone that would open nearly every branch near the root, where two errors excuse everything. But of two errors,
 * one half of the marking holds at most one: either the first half has at most one, then the forward tree is walked with at
 * most one until that half is read; or the second half has none, then the backward tree is walked with none until it is.
 * (The pigeonhole argument of that paper's section on partition.) Every spelling within two errors is met by one of the two
 * walks.
 *
 * Then, with one error, a walk of the forward tree meets those that end differently, and one of the core tree those that
 * begin with another maker's letters. Thousands do, and few of them can beat what was found before: so each meeting is
 * first bounded by the most that it could weigh. */
#include "shelf/index.h"

#include <string.h>

enum { ERRORS_MOST = 2 };

typedef struct States {
    uint64_t with[ERRORS_MOST + 1]; /* bit i: the marking's first i characters are read, with so many errors */
} States;

typedef struct Walk {
    const Index *index;
    const Damage *damage;
    IndexView view;
    uint64_t reads[256];             /* bit i: character i of the marking is this one (folded) */
    uint64_t stars;                  /* bit i: character i is `*` */
    uint64_t gates[ERRORS_MOST + 1]; /* where so many errors are allowed */
    uint64_t whole, ends; /* states that end the marking; those that end it but for an ending (0: none allowed) */
    unsigned errors;
    uint32_t len; /* characters of the marking that are walked */
    int right;    /* the most that a character can weigh */
    int error;    /* the most that is left of an error */
    int aside;    /* the weight of another prefix, in the core view */
    IndexAsker *asker;
} Walk;

/* ---- the machine ---- */

/* Characters of the marking that may be skipped without reading one of the spelling: `*` free, others for an error. */
static States skipped(const Walk *walk, States s) {
    for (unsigned e = 0; e <= walk->errors; e++) {
        if (e > 0) s.with[e] |= s.with[e - 1] << 1 & walk->gates[e];
        s.with[e] |= (s.with[e] & walk->stars) << 1;
    }
    return s;
}

static States step(const Walk *walk, const States *s, uint8_t letter) {
    States n = {{0}};
    uint64_t reads = walk->reads[letter];
    for (unsigned e = 0; e <= walk->errors; e++) {
        n.with[e] = (s->with[e] & reads) << 1 | (s->with[e] & walk->stars);
        if (e > 0) n.with[e] |= (s->with[e - 1] | s->with[e - 1] << 1) & walk->gates[e];
    }
    return skipped(walk, n);
}

static uint64_t alive(const Walk *walk, const States *s) {
    uint64_t any = 0;
    for (unsigned e = 0; e <= walk->errors; e++) any |= s->with[e];
    return any;
}

/* ---- the tree ---- */

static uint32_t spelling_at(const Walk *walk, uint32_t place) {
    const uint32_t *order = walk->index->trees[walk->view].order;
    return order == NULL ? place : order[place];
}

static void report(const Walk *walk, uint32_t number) {
    uint64_t *seen = &walk->index->seen[number / 64], bit = (uint64_t)1 << number % 64;
    if (*seen & bit) return;
    *seen |= bit;
    walk->asker->found(walk->asker->context, number);
}

/* Whether a spelling that is met in these states could weigh enough. among: the states that count as having read the
 * marking; left: characters of the spelling behind its ending's begin. */
static bool worth(const Walk *walk, const States *s, uint64_t among, uint32_t left) {
    for (unsigned e = 0; e <= walk->errors; e++) {
        uint64_t read = s->with[e] & among;
        if (read == 0) continue;
        uint32_t most = 63 - (uint32_t)__builtin_clzll(read);
        int weight = (int)most * walk->right + (int)e * walk->error + walk->aside;
        if (most < walk->len || left > 0)
            weight += walk->damage->weight[SLIP_ENDING] +
                      (int)(walk->len - most + left) * walk->damage->weight[SLIP_ENDING_LETTER];
        if (weight >= walk->asker->least) return true;
    }
    return false;
}

static uint32_t core_from(const Walk *walk, uint32_t number) {
    return walk->view == VIEW_CORE ? walk->index->prefix[number] & ~(uint32_t)CODE_FLAG : 0;
}

/* The rest of one spelling, from `depth` on. */
static void walk_spelling(const Walk *walk, uint32_t number, States s, uint32_t depth) {
    const Index *index = walk->index;
    const uint8_t *at = index->chars + index->start[number];
    uint32_t len = index->start[number + 1] - index->start[number], from = core_from(walk, number);
    for (uint32_t i = from + depth; i < len; i++) {
        if ((alive(walk, &s) & walk->ends) != 0 && i >= from + CORE_LEAST && worth(walk, &s, walk->ends, len - i) &&
            reading_may_end(at, len, i)) {
            report(walk, number);
            return;
        }
        s = step(walk, &s, walk->damage->fold[walk->view == VIEW_BACKWARD ? at[len - 1 - i] : at[i]]);
        if (alive(walk, &s) == 0) return;
    }
    if (worth(walk, &s, walk->whole | walk->ends, 0)) report(walk, number);
}

/* All below a node where the marking is read: those spellings that may end here. */
static void walk_endings(const Walk *walk, uint32_t first, uint32_t end, uint32_t depth) {
    const Index *index = walk->index;
    if (depth < CORE_LEAST) return;
    for (uint32_t place = first; place < end; place++) {
        uint32_t number = spelling_at(walk, place), len = index->start[number + 1] - index->start[number];
        if (reading_may_end(index->chars + index->start[number], len, core_from(walk, number) + depth))
            report(walk, number);
    }
}

static void walk_tree(const Walk *walk, States start) {
    const IndexTree *tree = &walk->index->trees[walk->view];
    States states[READING_MOST + 1] = {{{0}}};
    states[0] = start;
    for (uint32_t i = 0; i < tree->node_count;) {
        const IndexNode *node = &tree->nodes[i];
        if (i > 0) states[node->depth] = step(walk, &states[node->depth - 1], node->letter);
        uint64_t live = alive(walk, &states[node->depth]);
        if (live == 0) {
            i = node->next;
            continue;
        }
        uint32_t end = node->next < tree->node_count ? tree->nodes[node->next].first : tree->count;
        bool leaf = node->next == i + 1;
        uint32_t own = leaf ? end : tree->nodes[i + 1].first; /* before it: all of a leaf, or those that end at this node */
        for (uint32_t place = node->first; place < own; place++)
            walk_spelling(walk, spelling_at(walk, place), states[node->depth], node->depth);
        if (!leaf && (live & walk->ends) != 0 && worth(walk, &states[node->depth], walk->ends, 1))
            walk_endings(walk, own, end, node->depth);
        i++;
    }
}

/* ---- the search ---- */

static int larger(int a, int b) { return a > b ? a : b; }

/* Makes the machine for characters from..to of the marking, in the view's direction. */
static Walk prepare(const Index *index, const Damage *damage, const Reading *marking, IndexView view, uint32_t from,
                    unsigned errors, IndexAsker *asker) {
    uint32_t len = marking->len - from;
    const int *weight = damage->weight;
    Walk walk = {.index = index, .damage = damage, .view = view, .errors = errors, .len = len, .asker = asker};
    walk.right = larger(weight[SLIP_RIGHT], larger(weight[SLIP_ALIKE], 0));
    walk.error = larger(weight[SLIP_MISSING], larger(weight[SLIP_CHANGE], weight[SLIP_EXTRA]) - walk.right);
    walk.aside = view == VIEW_CORE ? weight[SLIP_PREFIX] : 0;
    for (uint32_t i = 0; i < len; i++) {
        uint64_t bit = (uint64_t)1 << i;
        unsigned char c = marking->at[view == VIEW_BACKWARD ? marking->len - 1 - i : from + i];
        if (c == '*') walk.stars |= bit;
        if (c != '?' && c != '*') walk.reads[damage->fold[c]] |= bit;
        for (int any = 0; c == '?' && any < 256; any++) walk.reads[any] |= bit;
    }
    walk.whole = (uint64_t)1 << len;
    for (unsigned e = 0; e <= ERRORS_MOST; e++) walk.gates[e] = (walk.whole << 1) - 1;
    return walk;
}

static void go(const Walk *walk) { walk_tree(walk, skipped(walk, (States){{1}})); }

/* Errors `first` and more are allowed only behind the first `len` characters. */
static void hold_back(Walk *walk, unsigned first, uint32_t len) {
    for (unsigned e = first; e <= ERRORS_MOST; e++) walk->gates[e] &= ~(((uint64_t)1 << len) - 1);
}

static void search_whole(const Index *index, const Damage *damage, const Reading *marking, unsigned errors,
                         IndexAsker *asker) {
    uint32_t half = marking->len / 2;
    Walk forward = prepare(index, damage, marking, VIEW_FORWARD, 0, errors, asker);
    hold_back(&forward, errors, half);
    go(&forward);
    if (errors == 0) return;
    Walk backward = prepare(index, damage, marking, VIEW_BACKWARD, 0, errors, asker);
    hold_back(&backward, 1, marking->len - half);
    go(&backward);
}

/* With a `*` the halves prove nothing; the tree is walked from the end that has more before the first `*`. */
static void search_stars(const Index *index, const Damage *damage, const Reading *marking, unsigned errors,
                         IndexAsker *asker) {
    uint32_t left = 0, right = 0;
    while (marking->at[left] != '*') left++;
    while (marking->at[marking->len - 1 - right] != '*') right++;
    Walk walk = prepare(index, damage, marking, left >= right ? VIEW_FORWARD : VIEW_BACKWARD, 0, errors, asker);
    go(&walk);
}

/* From character `from` on, with an ending on either side. Those without an error come first: they raise what the others
 * must beat. */
static void search_endings(const Index *index, const Damage *damage, const Reading *marking, IndexView view, uint32_t from,
                           IndexAsker *asker) {
    uint32_t len = marking->len - from;
    for (unsigned errors = 0; len >= CORE_LEAST && errors <= (len > CORE_LEAST); errors++) {
        Walk walk = prepare(index, damage, marking, view, from, errors, asker);
        walk.ends = walk.whole;
        for (uint32_t i = CORE_LEAST + errors; i < len; i++)
            if (reading_may_end(marking->at, marking->len, from + i)) walk.ends |= (uint64_t)1 << i;
        go(&walk);
    }
}

static void forget(Index *index) { memset(index->seen, 0, ((size_t)index->count + 63) / 64 * sizeof *index->seen); }

void index_search(Index *index, const Damage *damage, const Reading *marking, IndexAsker *asker) {
    uint32_t legible = 0;
    for (uint32_t i = 0; i < marking->len; i++) legible += marking->at[i] != '?' && marking->at[i] != '*';
    if (legible < 2) return;
    forget(index);
    unsigned errors = legible < 3 ? 0 : legible < 6 ? 1 : ERRORS_MOST;
    if (marking->has_star) {
        search_stars(index, damage, marking, errors > 1 ? 1 : errors, asker);
        return;
    }
    search_whole(index, damage, marking, errors, asker);
    search_endings(index, damage, marking, VIEW_FORWARD, 0, asker);
    search_endings(index, damage, marking, VIEW_CORE, marking->prefix, asker);
}

void index_same(Index *index, const Damage *damage, const Reading *name, IndexAsker *asker) {
    if (name->len == 0) return;
    forget(index);
    search_whole(index, damage, name, 0, asker);
}
