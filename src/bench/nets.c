/* Nets out of joins: union-find, and beside it a forest of the joins that united something, each edge with its note, so
 * that it can be told why two pins are one net.
 *
 * Joins are taken most trusted first (Kruskal's maximum spanning tree): the chain between two pins is then one whose
 * weakest note is as strong as can be. What photos show is joined among them, step by step of copper, by its own trust. The
 * forest is kept rooted by turning the smaller tree round when two are united (as in R. Nieuwenhuis and A. Oliveras,
 * "Proof-producing congruence closure", 2005): n log n steps in all. */
#include "bench/build.h"

#include <string.h>

enum { TRUST_LEVELS = 1024 };

uint32_t build_node_number(const Build *b, uint32_t node) {
    uint32_t pins = b->bench->pins.count;
    if ((node & NODE_SORT) == NODE_NAME) return pins + (node & ~NODE_SORT);
    return (node & NODE_SORT) == NODE_PIECE ? pins + names_count(b->bench->net_names) + (node & ~NODE_SORT) : node;
}

uint32_t forest_find(Forest *f, uint32_t node) {
    while (f->root[node] != node) node = f->root[node] = f->root[f->root[node]];
    return node;
}

static void unite(Forest *f, uint32_t a, uint32_t b, uint32_t by_what) {
    uint32_t root_a = forest_find(f, a), root_b = forest_find(f, b);
    if (root_a == root_b) return;
    if (f->size[root_a] > f->size[root_b]) {
        uint32_t spare = a;
        a = b, b = spare;
        spare = root_a, root_a = root_b, root_b = spare;
    }
    f->root[root_a] = root_b;
    f->size[root_b] += f->size[root_a];
    if (f->overrule != NULL) overrule_unite(f->overrule, root_b, root_a);
    for (uint32_t node = a, to = b, by = by_what; node != BENCH_NONE;) {
        uint32_t next = f->joins->up[node], next_by = f->joins->by[node];
        f->joins->up[node] = to, f->joins->by[node] = by;
        to = node, by = next_by, node = next;
    }
}

static uint16_t level_of(double trust) { return (uint16_t)((1 - trust) * TRUST_LEVELS); }

/* The joins, then the steps of photos, numbered through: most trusted first, in this order among equals. */
static uint32_t *by_trust(Build *b) {
    uint32_t first[TRUST_LEVELS + 2] = {0};
    uint32_t joins = b->joins.count, count = joins + b->bench->steps.count;
    uint16_t *level = arena_many(b->scratch, uint16_t, count);
    uint32_t *order = arena_many(b->scratch, uint32_t, count);
    for (uint32_t i = 0; i < count; i++) {
        level[i] = level_of(i < joins ? bench_trust(b->bench, &b->bench->notebook->notes.at[b->joins.at[i].note])
                                      : b->bench->steps.at[i - joins].trust);
        first[level[i] + 1]++;
    }
    for (int k = 0; k <= TRUST_LEVELS; k++) first[k + 1] += first[k];
    for (uint32_t i = 0; i < count; i++) order[first[level[i]]++] = i;
    return order;
}

static void unite_statement(Build *b, Forest *f, const Statement *s) {
    uint32_t centre = NODE_NONE;
    for (uint32_t k = s->first; k < s->first + s->count; k++) {
        uint32_t node = b->nodes.at[k];
        if (node == NODE_NONE) continue;
        if (centre == NODE_NONE)
            centre = build_node_number(b, node);
        else
            unite(f, centre, build_node_number(b, node), s->note);
    }
}

static void unite_step(Build *b, Forest *f, uint32_t number) {
    BenchStep *step = &b->bench->steps.at[number];
    uint32_t one = build_node_number(b, step->a), other = build_node_number(b, step->b);
    uint32_t root_a = forest_find(f, one), root_b = forest_find(f, other);
    if (root_a == root_b || overrule_step(b, f, root_a, root_b, step)) return;
    step->used = true;
    unite(f, one, other, BY_STEP | number);
}

static void unite_all(Build *b, Forest *f) {
    const uint32_t *order = by_trust(b);
    for (uint32_t i = 0; i < b->joins.count + b->bench->steps.count; i++)
        if (order[i] < b->joins.count)
            unite_statement(b, f, &b->joins.at[order[i]]);
        else
            unite_step(b, f, order[i] - b->joins.count);
}

/* Steps from each node to its root, by walking up to one that knows. */
static void measure_depths(Build *b) {
    struct BenchJoins *joins = b->bench->joins;
    uint32_t *path = arena_many(b->scratch, uint32_t, joins->node_count);
    for (uint32_t i = 0; i < joins->node_count; i++) {
        uint32_t length = 0, node = i;
        for (; joins->up[node] != BENCH_NONE && joins->depth[node] == 0; node = joins->up[node]) path[length++] = node;
        uint32_t depth = joins->depth[node];
        while (length > 0) joins->depth[path[--length]] = ++depth;
    }
}

/* ---- nets ---- */

/* A piece of copper: where it is. */
static Text piece_name(Arena *arena, const Bench *bench, uint32_t piece) {
    uint32_t i = bench->photographed.count - 1;
    while (i > 0 && bench->photographed.at[i].first_piece > piece) i--;
    const BenchBoard *board = &bench->photographed.at[i];
    PlacePoint at = board_piece_place(&board->pieces, piece - board->first_piece + 1);
    return text_fmt(arena, "the copper at %.1f,%.1f on %.*s", at.x, at.y, TEXT_ARG(board->name));
}

Text build_node_name(Arena *arena, const Bench *bench, uint32_t node) {
    if (node < bench->pins.count) return bench_pin_name(arena, bench, node);
    uint32_t name = node - bench->pins.count, names = names_count(bench->net_names);
    return name < names ? names_text(bench->net_names, name) : piece_name(arena, bench, name - names);
}

/* The bench's net of each of a board's: that of its first piece that has one. */
static void number_board(Build *b, Forest *f, BenchBoard *board, const uint32_t *net_of_root) {
    uint32_t *net = arena_many(b->arena, uint32_t, board->copper.nets.count + 1);
    for (uint32_t i = 0; i <= board->copper.nets.count; i++) net[i] = BENCH_NONE;
    for (uint32_t piece = 1; piece <= board->pieces.count; piece++) {
        uint32_t number = board_piece_net(&board->pieces, piece), *of = &net[number];
        uint32_t root = forest_find(f, build_node_number(b, NODE_PIECE | (board->first_piece + piece - 1)));
        if (number != 0 && *of == BENCH_NONE && net_of_root[root] != 0) *of = net_of_root[root] - 1;
    }
    board->net = net;
}

/* Numbers the nets in the order of their first pin, then those that are only a name. */
static void number_nets(Build *b, Forest *f) {
    Bench *bench = b->bench;
    struct BenchJoins *joins = bench->joins;
    uint32_t *net_of_root = arena_many(b->scratch, uint32_t, joins->node_count), roots = 0;
    uint32_t named = bench->pins.count + names_count(bench->net_names);
    for (uint32_t node = 0; node < joins->node_count; node++) roots += f->root[node] == node;
    bench->nets.at = arena_many(b->arena, BenchNet, roots), bench->nets.room = roots;
    joins->net_of_name = arena_many(b->arena, uint32_t, names_count(bench->net_names));
    for (uint32_t node = 0; node < joins->node_count; node++) {
        uint32_t root = forest_find(f, node);
        if (node >= named) break; /* copper that no pin and no name is on is no net of the bench */
        if (net_of_root[root] == 0) net_of_root[root] = ++bench->nets.count;
        uint32_t net = net_of_root[root] - 1;
        if (node < bench->pins.count) {
            bench->pins.at[node].net = net;
            bench->nets.at[net].pin_count++;
            continue;
        }
        joins->net_of_name[node - bench->pins.count] = net;
        if (bench->nets.at[net].named) continue;
        bench->nets.at[net].named = true;
        bench->nets.at[net].name = names_text(bench->net_names, node - bench->pins.count);
    }
    for (uint32_t i = 0; i < bench->photographed.count; i++) number_board(b, f, &bench->photographed.at[i], net_of_root);
}

static void list_pins(Build *b) {
    Bench *bench = b->bench;
    uint32_t *all = arena_many(b->arena, uint32_t, bench->pins.count);
    uint32_t *next = arena_many(b->scratch, uint32_t, bench->nets.count);
    for (uint32_t n = 0, at = 0; n < bench->nets.count; n++) {
        bench->nets.at[n].pins = all + at;
        next[n] = at;
        at += bench->nets.at[n].pin_count;
    }
    for (uint32_t p = 0; p < bench->pins.count; p++) all[next[bench->pins.at[p].net]++] = p;
    for (uint32_t n = 0; n < bench->nets.count; n++)
        if (!bench->nets.at[n].named) bench->nets.at[n].name = bench_pin_name(b->arena, bench, bench->nets.at[n].pins[0]);
}

/* ---- chains ---- */

/* Where the walks of two nodes towards their root meet; BENCH_NONE when they don't. */
static uint32_t meeting(const struct BenchJoins *joins, uint32_t a, uint32_t b) {
    while (a != b) {
        uint32_t *deeper = joins->depth[a] >= joins->depth[b] ? &a : &b;
        *deeper = joins->up[*deeper];
        if (*deeper == BENCH_NONE) return BENCH_NONE;
    }
    return a;
}

/* The notes from a node up to another, each once where it stands for several steps; most: how many `notes` holds. */
static size_t walk(const struct BenchJoins *joins, uint32_t node, uint32_t end, uint32_t *notes, size_t most) {
    size_t count = 0;
    for (uint32_t last = BENCH_NONE; node != end; node = joins->up[node]) {
        if (joins->by[node] == last) continue;
        last = joins->by[node];
        if (count < most) notes[count] = last;
        count++;
    }
    return count;
}

/* One link of a chain: a note, or a step that a photo shows. */
static BenchChain link_of(const Bench *bench, uint32_t by) {
    if ((by & BY_STEP) != 0) {
        const BenchStep *step = &bench->steps.at[by & ~BY_STEP];
        return (BenchChain){step->trust, step->photo->line, NOTE_BY_PHOTO, by & ~BY_STEP};
    }
    const Note *note = &bench->notebook->notes.at[by];
    return (BenchChain){bench_trust(bench, note), note->line, note->with->by, BENCH_NONE};
}

static void weigh(const Bench *bench, uint32_t node, uint32_t end, BenchChain *chain) {
    uint32_t last = BENCH_NONE;
    for (; node != end; node = bench->joins->up[node]) {
        if (bench->joins->by[node] == last) continue;
        last = bench->joins->by[node];
        BenchChain link = link_of(bench, last);
        if (chain->weakest_line == 0 || link.weakest < chain->weakest) *chain = link;
    }
}

size_t build_chain(const Bench *bench, uint32_t node_a, uint32_t node_b, uint32_t *lines, size_t most, BenchChain *chain) {
    const struct BenchJoins *joins = bench->joins;
    uint32_t end = meeting(joins, node_a, node_b);
    *chain = (BenchChain){.weakest = end == BENCH_NONE ? 0 : 1, .weakest_step = BENCH_NONE};
    if (end == BENCH_NONE) return 0;
    weigh(bench, node_a, end, chain);
    weigh(bench, node_b, end, chain);
    size_t from_a = walk(joins, node_a, end, lines, most), room = from_a < most ? most - from_a : 0;
    size_t from_b = walk(joins, node_b, end, room > 0 ? lines + from_a : NULL, room);
    size_t held = from_b < room ? from_b : room, count = from_a + held;
    for (size_t i = 0; i < held / 2; i++) {
        uint32_t spare = lines[from_a + i];
        lines[from_a + i] = lines[count - 1 - i], lines[count - 1 - i] = spare;
    }
    count = from_a < most ? count : most;
    for (size_t i = 0; i < count; i++) lines[i] = link_of(bench, lines[i]).weakest_line;
    return from_a + from_b;
}

/* ---- joined and apart ---- */

/* Two spellings of one pin, such as Q1.1 and Q1.B, are called apart. */
static void apart_from_itself(Build *b, uint32_t node, const Note *apart) {
    uint32_t lines[] = {apart->line};
    Text name = build_node_name(b->arena, b->bench, node);
    build_conflict(b, BENCH_JOINED_AND_APART, text_fmt(b->arena, "joined-apart:%.*s,%.*s", TEXT_ARG(name), TEXT_ARG(name)),
                   text_fmt(b->arena, "line %u takes %.*s apart from itself", apart->line, TEXT_ARG(name)),
                   TEXT("name two pins, or look at the package again: it tells which number is which pin"), lines, 1);
}

static void joined_and_apart(Build *b, uint32_t node_a, uint32_t node_b, const Note *apart) {
    if (!build_conflict_listed(b)) return;
    Bench *bench = b->bench;
    if (node_a == node_b) {
        apart_from_itself(b, node_a, apart);
        return;
    }
    BenchChain chain;
    size_t most = build_chain(bench, node_a, node_b, NULL, 0, &chain), count;
    uint32_t *lines = arena_many(b->scratch, uint32_t, most + 2);
    count = build_chain(bench, node_a, node_b, lines, most + 1, &chain);
    Text one = build_node_name(b->arena, bench, node_a), other = build_node_name(b->arena, bench, node_b);
    Out says = out_new(b->arena), settle = out_new(b->arena);
    out_fmt(&says, "%.*s and %.*s are apart by line %u, yet joined by ", TEXT_ARG(one), TEXT_ARG(other), apart->line);
    build_say_lines(&says, lines, &count);
    out_fmt(&settle, "beep %.*s to %.*s; the weakest join is line %u", TEXT_ARG(one), TEXT_ARG(other), chain.weakest_line);
    if (chain.weakest_by != NOTE_BY_UNSAID) out_fmt(&settle, ", by %.*s", TEXT_ARG(note_source_name(chain.weakest_by)));
    lines[count++] = apart->line;
    build_conflict(b, BENCH_JOINED_AND_APART, text_fmt(b->arena, "joined-apart:%.*s,%.*s", TEXT_ARG(one), TEXT_ARG(other)),
                   out_text(&says), out_text(&settle), lines, count);
}

/* All that an `apart` names are apart from one another: two of one net contradict. `seen` tells in one pass. */
static void check_aparts(Build *b, Forest *f) {
    uint32_t *seen_in = arena_many(b->scratch, uint32_t, f->joins->node_count);
    uint32_t *seen = arena_many(b->scratch, uint32_t, f->joins->node_count);
    for (uint32_t i = 0; i < b->aparts.count; i++) {
        const Statement *s = &b->aparts.at[i];
        for (uint32_t k = s->first; k < s->first + s->count; k++) {
            if (b->nodes.at[k] == NODE_NONE) continue;
            uint32_t node = build_node_number(b, b->nodes.at[k]), root = forest_find(f, node);
            if (seen_in[root] == i + 1) joined_and_apart(b, seen[root], node, &b->bench->notebook->notes.at[s->note]);
            seen_in[root] = i + 1, seen[root] = node;
        }
    }
}

static void check_names(Build *b) {
    Bench *bench = b->bench;
    uint32_t *first = arena_many(b->scratch, uint32_t, bench->nets.count);
    for (uint32_t n = 0; n < names_count(bench->net_names); n++) {
        uint32_t net = bench->joins->net_of_name[n];
        if (first[net]++ == 0 || !build_conflict_listed(b)) continue;
        BenchChain chain;
        Text one = bench->nets.at[net].name, other = names_text(bench->net_names, n);
        uint32_t node_a = bench->pins.count + names_find(bench->net_names, one), node_b = bench->pins.count + n;
        size_t count = build_chain(bench, node_a, node_b, NULL, 0, &chain);
        uint32_t *lines = arena_many(b->scratch, uint32_t, count + 1);
        count = build_chain(bench, node_a, node_b, lines, count + 1, &chain);
        Out says = out_new(b->arena);
        out_fmt(&says, "one net has two names, %.*s and %.*s, by ", TEXT_ARG(one), TEXT_ARG(other));
        build_say_lines(&says, lines, &count);
        Text settle = text_fmt(b->arena, "beep %.*s to %.*s; if they are one, keep one name; the weakest join is line %u",
                               TEXT_ARG(one), TEXT_ARG(other), chain.weakest_line);
        build_conflict(b, BENCH_TWO_NAMES, text_fmt(b->arena, "two-names:%.*s,%.*s", TEXT_ARG(one), TEXT_ARG(other)),
                       out_text(&says), settle, lines, count);
    }
}

void build_nets(Build *b) {
    Bench *bench = b->bench;
    struct BenchJoins *joins = bench->joins;
    uint32_t count = joins->node_count = bench->pins.count + names_count(bench->net_names) + b->pieces;
    joins->up = arena_many(b->arena, uint32_t, count), joins->depth = arena_many(b->arena, uint32_t, count);
    joins->by = arena_many(b->arena, uint32_t, count);
    Forest f = {joins, arena_many(b->scratch, uint32_t, count), arena_many(b->scratch, uint32_t, count), NULL};
    for (uint32_t i = 0; i < count; i++) joins->up[i] = BENCH_NONE, f.root[i] = i, f.size[i] = 1;
    f.overrule = overrule_new(b);
    unite_all(b, &f);
    measure_depths(b);
    number_nets(b, &f);
    list_pins(b);
    check_aparts(b, &f);
    check_names(b);
    build_doubts(b, &f);
}

size_t bench_chain(const Bench *bench, uint32_t pin_a, uint32_t pin_b, uint32_t *lines, size_t most, BenchChain *chain) {
    if (pin_a == pin_b) return *chain = (BenchChain){.weakest = 1, .weakest_step = BENCH_NONE}, 0;
    if (bench->pins.at[pin_a].net != bench->pins.at[pin_b].net) return *chain = (BenchChain){.weakest_step = BENCH_NONE}, 0;
    return build_chain(bench, pin_a, pin_b, lines, most, chain);
}
