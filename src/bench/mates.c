/* A resistor has no first pin: when it is placed by its centre, the photo can't know which of its two pads the notes mean
 * by R1.1. They are told by what the notes join them to: the way round in which more of those pins meet the same copper. */
#include "bench/build.h"

enum { ROUNDS = 3 }; /* one part's pins may be what tells another's: few chains are longer */

typedef struct Mates {
    Build *b;
    uint32_t *up;        /* by node: pins that the notes join, as a union-find */
    uint32_t *first_pad; /* by pin: its first pad, plus one */
    uint32_t *on_net;    /* by the boards' nets: the first pad on it, plus one */
    uint32_t *next_on;   /* by pad: the next on its net, plus one */
    uint32_t *first_net; /* by board: the number of its net 0 in on_net */
    bool *settled;       /* by pad: which pin it is, is known */
} Mates;

static uint32_t find(uint32_t *up, uint32_t node) {
    while (up[node] != node) node = up[node] = up[up[node]];
    return node;
}

static void join_by_notes(Mates *m) {
    const Build *b = m->b;
    uint32_t count = b->bench->pins.count + names_count(b->bench->net_names);
    m->up = arena_many(b->scratch, uint32_t, count);
    for (uint32_t i = 0; i < count; i++) m->up[i] = i;
    for (uint32_t i = 0; i < b->joins.count; i++) {
        const Statement *s = &b->joins.at[i];
        uint32_t centre = NODE_NONE;
        if (b->bench->notebook->notes.at[s->note].with->by == NOTE_BY_GUESS) continue;
        for (uint32_t k = s->first; k < s->first + s->count; k++) {
            if (b->nodes.at[k] == NODE_NONE) continue;
            uint32_t node = find(m->up, build_node_number(b, b->nodes.at[k]));
            if (centre == NODE_NONE) centre = node;
            m->up[node] = find(m->up, centre);
        }
    }
}

static uint32_t net_number(const Mates *m, const BenchPad *pad) { return m->first_net[pad->board] + pad->net; }

static void list_pads(Mates *m) {
    const Bench *bench = m->b->bench;
    uint32_t nets = 0;
    m->first_net = arena_many(m->b->scratch, uint32_t, bench->photographed.count);
    for (uint32_t i = 0; i < bench->photographed.count; i++) {
        m->first_net[i] = nets;
        nets += bench->photographed.at[i].copper.nets.count + 1;
    }
    m->on_net = arena_many(m->b->scratch, uint32_t, nets);
    m->next_on = arena_many(m->b->scratch, uint32_t, bench->pads.count);
    m->first_pad = arena_many(m->b->scratch, uint32_t, bench->pins.count);
    m->settled = arena_many(m->b->scratch, bool, bench->pads.count);
    for (uint32_t i = bench->pads.count; i-- > 0;) {
        const BenchPad *pad = &bench->pads.at[i];
        m->first_pad[pad->pin] = i + 1;
        if (pad->meets != BENCH_MEETS_ONE) continue;
        m->next_on[i] = m->on_net[net_number(m, pad)];
        m->on_net[net_number(m, pad)] = i + 1;
        m->settled[i] = true;
    }
}

/* How many pins on the copper of `pad` the notes join to `pin`. */
static uint32_t agree(Mates *m, uint32_t pin, const BenchPad *pad) {
    const Bench *bench = m->b->bench;
    uint32_t root = find(m->up, pin), count = 0;
    for (uint32_t i = m->on_net[net_number(m, pad)]; i != 0; i = m->next_on[i - 1]) {
        const BenchPad *other = &bench->pads.at[i - 1];
        count += m->settled[i - 1] && bench->pins.at[other->pin].part != bench->pins.at[pin].part &&
                 find(m->up, other->pin) == root;
    }
    return count;
}

/* The pads of a part that fits either way round; false when they are not two that each meet one net. */
static bool two_pads(const Mates *m, const PinSpot *spot, uint32_t *one, uint32_t *other) {
    const PinSpot *mate = spot + 1;
    *one = m->first_pad[spot->pin], *other = m->first_pad[mate->pin];
    if (*one == 0 || *other == 0) return false;
    const BenchPad *pads = m->b->bench->pads.at;
    return pads[--*one].meets == BENCH_MEETS_ONE && pads[--*other].meets == BENCH_MEETS_ONE;
}

static void settle(Mates *m, uint32_t one, uint32_t other) {
    BenchPad *a = &m->b->bench->pads.at[one], *b = &m->b->bench->pads.at[other];
    uint32_t straight = agree(m, a->pin, a) + agree(m, b->pin, b), turned = agree(m, a->pin, b) + agree(m, b->pin, a);
    if (straight == turned) return;
    m->settled[one] = m->settled[other] = true;
    if (straight > turned) return;
    uint32_t spare = a->pin;
    a->pin = b->pin, b->pin = spare;
}

void build_mates(Build *b) {
    Mates m = {.b = b};
    uint32_t one, other, loose = 0;
    for (uint32_t i = 0; i < b->spots.count; i++) loose += b->spots.at[i].loose;
    if (loose == 0) return;
    join_by_notes(&m);
    list_pads(&m);
    for (uint32_t i = 0; i + 1 < b->spots.count; i++)
        if (b->spots.at[i].loose && two_pads(&m, &b->spots.at[i], &one, &other)) m.settled[one] = m.settled[other] = false;
    for (int round = 0; round < ROUNDS; round++)
        for (uint32_t i = 0; i + 1 < b->spots.count; i++) {
            if (!b->spots.at[i].loose) continue;
            if (two_pads(&m, &b->spots.at[i], &one, &other) && !m.settled[one]) settle(&m, one, other);
            i++; /* its mate */
        }
}
