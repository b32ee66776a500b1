/* What the photos leave open, as questions that a meter can answer: pins that meet no copper or too much of it, and places
 * where one neck or gap decides. What a note has settled is not asked again. And what the copper contradicts, as conflicts.
 */
#include "bench/build.h"

enum { DOUBTS_ASKED_MOST = 40, LABELS_SAID_MOST = 12 };
static const double DOUBT_LEAST = 0.006; /* probability: what is surer than this and its opposite is not asked, 0.05 bit */
static const double PROBE_REACH = 0.4;   /* mm round the place for a probe that the copper names */
/* Of the circuit, when both sides of a doubt have a known pin, one has, none has: rule of thumb. */
static const double STAKES[3] = {0.25, 0.5, 1};

/* ---- pins ---- */

static const char *const MEETS[] = {
    [BENCH_MEETS_NONE] = "no copper",
    [BENCH_MEETS_TWO] = "two nets at once",
    [BENCH_MEETS_UNSEEN] = "what the photo does not show",
};

static void say_labels(Build *b, Out *out, uint32_t from, uint32_t to, BenchMeets meets) {
    const Bench *bench = b->bench;
    uint32_t said = 0, count = 0;
    for (uint32_t i = from; i < to; i++) count += bench->pads.at[i].meets == meets;
    for (uint32_t i = from; i < to && said < LABELS_SAID_MOST; i++) {
        if (bench->pads.at[i].meets != meets) continue;
        out_add(out, said == 0 ? TEXT("") : said + 1 == count ? TEXT(" and ") : TEXT(", "));
        out_add(out, bench_pin_name(b->arena, bench, bench->pads.at[i].pin));
        said++;
    }
    if (said < count) out_fmt(out, " and %u more", count - said);
}

/* The pads of one part on one side that meet what they should not. */
static void ask_pads(Build *b, uint32_t from, uint32_t to, BenchMeets meets) {
    const Bench *bench = b->bench;
    const BenchPad *pad = NULL;
    uint32_t count = 0;
    for (uint32_t i = from; i < to; i++) {
        if (bench->pads.at[i].meets != meets) continue;
        if (count++ == 0) pad = &bench->pads.at[i];
    }
    if (count == 0) return;
    const BenchBoard *board = &bench->photographed.at[pad->board];
    Text ref = bench->parts.at[bench->pins.at[pad->pin].part].ref, side = bench_side_name(b->arena, board, pad->side);
    Out out = out_new(b->arena);
    if (meets == BENCH_MEETS_UNSEEN && !board->copper.face[pad->side].known)
        out_fmt(&out, "Photograph %.*s, or say that %.*s is on the other side: its pins stand where no photo looks",
                TEXT_ARG(side), TEXT_ARG(ref));
    else {
        out_fmt(&out, "Where is %.*s? As it is placed, ", TEXT_ARG(ref));
        say_labels(b, &out, from, to, meets);
        out_fmt(&out, count == 1 ? " at %.1f,%.1f meets %s on %.*s" : " (the first at %.1f,%.1f) meet %s on %.*s",
                pad->at.x, pad->at.y, MEETS[meets], TEXT_ARG(side));
        out_fmt(&out, ": place it again, best by two pins, or beep %s to what %s should reach", count == 1 ? "it" : "them",
                count == 1 ? "it" : "they");
    }
    out_char(&out, '.');
    build_ask(b, (BenchAsk){.says = out_text(&out), .p = NAN, .stake = 1, .step = BENCH_NONE, .line = pad->note->line});
}

static void ask_all_pads(Build *b) {
    const Bench *bench = b->bench;
    for (uint32_t from = 0, to; from < bench->pads.count; from = to) {
        const BenchPad *first = &bench->pads.at[from];
        for (to = from; to < bench->pads.count && bench->pads.at[to].note == first->note;) to++;
        for (BenchMeets meets = BENCH_MEETS_NONE; meets <= BENCH_MEETS_UNSEEN; meets++) ask_pads(b, from, to, meets);
    }
}

/* ---- doubts ---- */

typedef struct Probe { /* where to put one, and on which pin */
    PlacePoint at;
    uint32_t root;       /* of the forest, BENCH_NONE when no copper is there */
    const BenchPad *pad; /* NULL: no known pin is there */
} Probe;

typedef struct Doubts {
    Build *b;
    Forest *forest;
    uint32_t number; /* of the board */
    const BenchBoard *board;
    uint32_t *step; /* by doubt: a step of it that is used, plus one */
} Doubts;

/* Whether a node hangs below another in the forest. */
static bool below(const Forest *f, uint32_t node, uint32_t top) {
    while (node != top && f->joins->up[node] != BENCH_NONE) node = f->joins->up[node];
    return node == top;
}

/* The lower end of a step in the forest: what hangs below it is one side of the doubt, the rest of its tree the other. */
static uint32_t lower_end(const Doubts *d, const BenchStep *step) {
    uint32_t a = build_node_number(d->b, step->a), b = build_node_number(d->b, step->b);
    return d->forest->joins->up[a] == b ? a : b;
}

/* The top of a node's tree in the forest. */
static uint32_t forest_top(const Forest *f, uint32_t node) {
    while (f->joins->up[node] != BENCH_NONE) node = f->joins->up[node];
    return node;
}

/* Takes the pad if it is nearer to the doubt. */
static void nearer(const BoardDoubt *doubt, const BenchPad *pad, Probe *probe) {
    double far = hypot(pad->at.x - doubt->at.x, pad->at.y - doubt->at.y);
    if (probe->pad == NULL || far < hypot(probe->pad->at.x - doubt->at.x, probe->pad->at.y - doubt->at.y)) probe->pad = pad;
}

static uint32_t root_at(const Doubts *d, PlacePoint at, BoardSide side, uint32_t net) {
    uint32_t piece = board_piece_under(&d->board->pieces, side, at, PROBE_REACH, net);
    if (piece == 0) return BENCH_NONE;
    return forest_find(d->forest, build_node_number(d->b, NODE_PIECE | (d->board->first_piece + piece - 1)));
}

/* The known pins nearest to the doubt on each of its sides: below and above the step, or on its two nets. */
static void find_probes(const Doubts *d, const BoardDoubt *doubt, uint32_t step, Probe *one, Probe *other) {
    const Bench *bench = d->b->bench;
    *one = (Probe){.at = doubt->a, .root = root_at(d, doubt->a, doubt->side_a, doubt->net_a)};
    *other = (Probe){.at = doubt->b, .root = root_at(d, doubt->b, doubt->side_b, doubt->net_b)};
    uint32_t top = step == BENCH_NONE ? (uint32_t)BENCH_NONE : lower_end(d, &bench->steps.at[step]);
    if (top != BENCH_NONE) one->root = other->root = forest_find(d->forest, top);
    for (uint32_t i = 0; i < bench->pads.count; i++) {
        const BenchPad *pad = &bench->pads.at[i];
        if (pad->board != d->number || pad->meets != BENCH_MEETS_ONE) continue;
        uint32_t root = forest_find(d->forest, pad->pin);
        if (root != one->root && root != other->root) continue;
        bool to_one = top == BENCH_NONE ? root == one->root : below(d->forest, pad->pin, top);
        nearer(doubt, pad, to_one ? one : other);
    }
}

/* Of each node, how many pins and names hang on it or below: counted from the deepest nodes up. */
static uint32_t *count_below(Build *b, const struct BenchJoins *joins) {
    uint32_t nodes = joins->node_count, named = b->bench->pins.count + names_count(b->bench->net_names), deepest = 0;
    for (uint32_t i = 0; i < nodes; i++) deepest = joins->depth[i] > deepest ? joins->depth[i] : deepest;
    uint32_t *below_node = arena_many(b->scratch, uint32_t, nodes), *order = arena_many(b->scratch, uint32_t, nodes);
    uint32_t *first = arena_many(b->scratch, uint32_t, (size_t)deepest + 2);
    for (uint32_t i = 0; i < nodes; i++) first[deepest - joins->depth[i] + 1]++;
    for (uint32_t i = 0; i <= deepest; i++) first[i + 1] += first[i];
    for (uint32_t i = 0; i < nodes; i++) order[first[deepest - joins->depth[i]]++] = i;
    for (uint32_t i = 0; i < nodes; i++) {
        uint32_t node = order[i];
        below_node[node] += node < named;
        if (joins->up[node] != BENCH_NONE) below_node[joins->up[node]] += below_node[node];
    }
    return below_node;
}

/* The steps that matter: with something of the notes, a pin or a name, on both sides. */
static void index_steps(Doubts *d, const uint32_t *below_node) {
    const Bench *bench = d->b->bench;
    d->step = arena_many(d->b->scratch, uint32_t, d->board->copper.doubts.count);
    for (uint32_t i = 0; i < bench->steps.count; i++) {
        const BenchStep *step = &bench->steps.at[i];
        if (step->board != d->number || step->doubt == BENCH_NONE || !step->used) continue;
        uint32_t top = lower_end(d, step), under = below_node[top], all = below_node[forest_top(d->forest, top)];
        if (under > 0 && under < all) d->step[step->doubt] = i + 1;
    }
}

static Text probe_name(const Doubts *d, const Probe *probe) {
    if (probe->pad != NULL) return bench_pin_name(d->b->arena, d->b->bench, probe->pad->pin);
    return text_fmt(d->b->arena, "the copper at %.1f,%.1f", probe->at.x, probe->at.y);
}

/* Whether notes have settled that these two are one, or that they are not. */
static bool settled(const Doubts *d, const Probe *a, const Probe *b) {
    const Note *by;
    if (a->root == BENCH_NONE || b->root == BENCH_NONE) return false;
    return a->root == b->root || overrule_apart(d->b, d->forest, a->root, b->root, &by);
}

static void ask_hole(Doubts *d, const BoardDoubt *doubt, double stake, uint32_t step) {
    Text name = d->board->name;
    Text says =
        text_fmt(d->b->arena,
                 "Is the hole at %.1f,%.1f of board %.*s plated through (%.0f %%)? Then note: hole %.*s at %.1f,%.1f "
                 "plated, or bare.",
                 doubt->at.x, doubt->at.y, TEXT_ARG(name), 100 * doubt->p_joined, TEXT_ARG(name), doubt->at.x, doubt->at.y);
    build_ask(d->b, (BenchAsk){.says = says, .p = doubt->p_joined, .stake = stake, .step = step});
}

static void ask_doubt(Doubts *d, uint32_t number) {
    const BoardDoubt *doubt = &d->board->copper.doubts.at[number];
    Build *b = d->b;
    if (doubt->p_joined < DOUBT_LEAST || doubt->p_joined > 1 - DOUBT_LEAST) return;
    Probe one, other;
    uint32_t step = d->step[number] == 0 ? (uint32_t)BENCH_NONE : d->step[number] - 1;
    if (doubt->joined && step == BENCH_NONE) return;
    find_probes(d, doubt, step, &one, &other);
    if (!doubt->joined && settled(d, &one, &other)) return;
    if (one.pad != NULL && other.pad != NULL && one.pad->pin == other.pad->pin) return; /* a pin with two pads */
    double stake = STAKES[(one.pad != NULL) + (other.pad != NULL)];
    if (doubt->hole) {
        ask_hole(d, doubt, stake, step);
        return;
    }
    const Note *photo = d->board->photo[doubt->side];
    bool places = one.pad == NULL || other.pad == NULL;
    Text says =
        text_fmt(b->arena, "Beep %.*s to %.*s%s%.*s: the photo shows %.*s at %.1f,%.1f on %.*s (joined with %.0f %%).",
                 TEXT_ARG(probe_name(d, &one)), TEXT_ARG(probe_name(d, &other)), places ? " on " : "",
                 TEXT_ARG(places ? d->board->name : TEXT("")), TEXT_ARG(doubt->looks), doubt->at.x, doubt->at.y,
                 TEXT_ARG(bench_side_name(b->arena, d->board, doubt->side)), 100 * doubt->p_joined);
    build_ask(b, (BenchAsk){.says = says, .p = doubt->p_joined, .stake = stake, .step = step, .line = photo->line});
}

/* ---- conflicts of the copper ---- */

static void list_conflict(Build *b, const BenchBoard *board, const BoardConflict *conflict) {
    if (!build_conflict_listed(b)) return;
    uint32_t photo = board->photo[conflict->side] != NULL ? board->photo[conflict->side]->line : board->note->line;
    uint32_t lines[] = {conflict->line == 0 ? photo : conflict->line, photo};
    Text where = text_fmt(b->arena, "%.1f,%.1f mm on %.*s", conflict->at.x, conflict->at.y,
                          TEXT_ARG(bench_side_name(b->arena, board, conflict->side)));
    Text says = text_fmt(b->arena, "at %.*s: %.*s", TEXT_ARG(where), TEXT_ARG(conflict->says));
    build_conflict(
        b, BENCH_PHOTO_AND_NOTES,
        text_fmt(b->arena, "photo-notes:%.*s:%.1f,%.1f", TEXT_ARG(board->name), conflict->at.x, conflict->at.y), says,
        text_fmt(b->arena, "look at the board at %.*s; line %u counts until it is struck", TEXT_ARG(where), lines[0]),
        lines, 2);
}

void build_doubts(Build *b, Forest *forest) {
    const Bench *bench = b->bench;
    if (bench->photographed.count == 0) return;
    const uint32_t *below_node = count_below(b, forest->joins);
    ask_all_pads(b);
    for (uint32_t i = 0; i < bench->photographed.count; i++) {
        const BenchBoard *board = &bench->photographed.at[i];
        if (board->copper.nets.count == 0) continue;
        Doubts doubts = {.b = b, .forest = forest, .number = i, .board = board};
        index_steps(&doubts, below_node);
        uint32_t before = bench->asks.count;
        for (uint32_t k = 0; k < board->copper.doubts.count && bench->asks.count < before + DOUBTS_ASKED_MOST; k++)
            ask_doubt(&doubts, k);
        for (uint32_t k = 0; k < board->copper.conflicts.count; k++)
            list_conflict(b, board, &board->copper.conflicts.at[k]);
    }
}
