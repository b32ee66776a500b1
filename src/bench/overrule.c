/* What photos may not join. A meter is believed before an eye, and an eye before a photo: a step of copper that would make
 * one net of what a note keeps apart, or of two nets that have names, is not taken, and the conflict is listed with its
 * place.
 *
 * Every tree has a list of the `apart` notes that name one of its nodes, and its first name. When two trees would be
 * joined, the shorter list is walked; lists of joined trees are hung together. */
#include "bench/build.h"

typedef struct Entry {
    uint32_t apart; /* index of the statement */
    uint32_t next;  /* the next entry of its tree, plus one */
} Entry;

typedef struct Overrule {
    Build *b;
    LIST(Entry) entries;
    uint32_t *first, *last, *count; /* by root: its entries, plus one; how many */
    uint32_t *name;                 /* by root: a net's name, plus one */
} Overrule;

static void add_entry(Overrule *o, uint32_t node, uint32_t apart) {
    list_push(o->b->scratch, &o->entries, ((Entry){apart, o->first[node]}));
    o->first[node] = o->entries.count;
    if (o->last[node] == 0) o->last[node] = o->entries.count;
    o->count[node]++;
}

struct Overrule *overrule_new(Build *b) {
    if (b->pieces == 0 && b->bench->steps.count == 0) return NULL;
    Overrule *o = arena_one(b->scratch, Overrule);
    uint32_t nodes = b->bench->joins->node_count;
    o->b = b;
    o->first = arena_many(b->scratch, uint32_t, nodes), o->last = arena_many(b->scratch, uint32_t, nodes);
    o->count = arena_many(b->scratch, uint32_t, nodes), o->name = arena_many(b->scratch, uint32_t, nodes);
    for (uint32_t i = 0; i < b->aparts.count; i++) {
        const Statement *s = &b->aparts.at[i];
        if (b->bench->notebook->notes.at[s->note].with->by == NOTE_BY_GUESS) continue; /* says less than a photo */
        for (uint32_t k = s->first; k < s->first + s->count; k++)
            if (b->nodes.at[k] != NODE_NONE) add_entry(o, build_node_number(b, b->nodes.at[k]), i);
    }
    for (uint32_t i = 0; i < names_count(b->bench->net_names); i++) o->name[b->bench->pins.count + i] = i + 1;
    return o;
}

void overrule_unite(struct Overrule *o, uint32_t root, uint32_t gone) {
    if (o->name[root] == 0) o->name[root] = o->name[gone];
    if (o->first[gone] == 0) return;
    if (o->first[root] == 0)
        o->first[root] = o->first[gone];
    else
        o->entries.at[o->last[root] - 1].next = o->first[gone];
    o->last[root] = o->last[gone];
    o->count[root] += o->count[gone];
}

/* A note that keeps the trees apart, and the nodes it names in each; BENCH_NONE. */
static uint32_t kept_apart(const Overrule *o, Forest *f, uint32_t root_a, uint32_t root_b, uint32_t nodes[2]) {
    const Build *b = o->b;
    uint32_t shorter = o->count[root_a] <= o->count[root_b] ? root_a : root_b, longer = shorter == root_a ? root_b : root_a;
    for (uint32_t e = o->first[shorter]; e != 0; e = o->entries.at[e - 1].next) {
        const Statement *s = &b->aparts.at[o->entries.at[e - 1].apart];
        nodes[0] = nodes[1] = BENCH_NONE;
        for (uint32_t k = s->first; k < s->first + s->count; k++) {
            if (b->nodes.at[k] == NODE_NONE) continue;
            uint32_t node = build_node_number(b, b->nodes.at[k]), root = forest_find(f, node);
            if (root == shorter) nodes[0] = node;
            if (root == longer) nodes[1] = node;
        }
        if (nodes[0] != BENCH_NONE && nodes[1] != BENCH_NONE) return s->note;
    }
    return BENCH_NONE;
}

bool overrule_apart(Build *b, Forest *f, uint32_t root_a, uint32_t root_b, const Note **by) {
    const Overrule *o = f->overrule;
    *by = NULL;
    if (o == NULL) return false;
    uint32_t nodes[2], note = kept_apart(o, f, root_a, root_b, nodes);
    *by = note == BENCH_NONE ? NULL : &b->bench->notebook->notes.at[note];
    return note != BENCH_NONE || (o->name[root_a] != 0 && o->name[root_b] != 0 && o->name[root_a] != o->name[root_b]);
}

static void list_conflict(Build *b, const Note *note, Text one, Text other, const BenchStep *step) {
    const Bench *bench = b->bench;
    if (!build_conflict_listed(b)) return;
    Text where = bench_step_says(b->arena, bench, (uint32_t)(step - bench->steps.at));
    uint32_t lines[] = {step->photo->line, note != NULL ? note->line : step->photo->line,
                        step->pad != BENCH_NONE ? bench->pads.at[step->pad].note->line : step->photo->line};
    Text why = note != NULL ? text_fmt(b->arena, "they are apart by line %u", note->line) : TEXT("they have two names");
    Text says = text_fmt(b->arena, "the photo joins %.*s and %.*s by way of %.*s, but %.*s, which counts", TEXT_ARG(one),
                         TEXT_ARG(other), TEXT_ARG(where), TEXT_ARG(why));
    Text settle =
        step->pad != BENCH_NONE
            ? text_fmt(b->arena, "beep %.*s to %.*s; if they are apart, the part stands elsewhere: place it again",
                       TEXT_ARG(one), TEXT_ARG(other))
            : text_fmt(b->arena, "beep %.*s to %.*s; if they are apart, look at the copper there: cut %.*s at %.1f,%.1f",
                       TEXT_ARG(one), TEXT_ARG(other), TEXT_ARG(bench->photographed.at[step->board].name), step->at.x,
                       step->at.y);
    build_conflict(b, BENCH_PHOTO_AND_NOTES, text_fmt(b->arena, "photo-notes:%.*s,%.*s", TEXT_ARG(one), TEXT_ARG(other)),
                   says, settle, lines, sizeof lines / sizeof *lines);
}

bool overrule_step(Build *b, Forest *f, uint32_t root_a, uint32_t root_b, const BenchStep *step) {
    const Overrule *o = f->overrule;
    uint32_t nodes[2], note = kept_apart(o, f, root_a, root_b, nodes);
    if (note != BENCH_NONE) {
        list_conflict(b, &b->bench->notebook->notes.at[note], build_node_name(b->arena, b->bench, nodes[0]),
                      build_node_name(b->arena, b->bench, nodes[1]), step);
        return true;
    }
    if (o->name[root_a] == 0 || o->name[root_b] == 0 || o->name[root_a] == o->name[root_b]) return false;
    list_conflict(b, NULL, names_text(b->bench->net_names, o->name[root_a] - 1),
                  names_text(b->bench->net_names, o->name[root_b] - 1), step);
    return true;
}
