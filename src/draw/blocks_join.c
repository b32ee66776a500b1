/* The arrows: a rail goes from what feeds it to what it feeds, any other net from the stage before to the stage behind; with
 * what the sums or the claims say of it. */
#include "draw/blocks_inside.h"

#include "reason/rails.h"

#include <math.h>

typedef struct Joining {
    Blocks *blocks;
    const Bench *bench;
    const Rail *rails;
    unsigned char *touches; /* by block, then net */
} Joining;

static bool touches(const Joining *j, uint32_t block, uint32_t net) { return j->touches[(size_t)block * j->bench->nets.count + net]; }

/* ---- figures ---- */

static void add_figure(Out *out, uint32_t *count, Quantity value) {
    if (*count == BLOCKS_FIGURES_MOST || !isfinite(value.value)) return;
    if ((*count)++ > 0) out_lit(out, ", ");
    quantity_print(out, value);
}

/* Volts of a rail: as computed in the first mode that is solved, or as known to the reasoning. */
static Text rail_figures(const Joining *j, uint32_t net) {
    Out out = out_new(j->blocks->arena);
    uint32_t count = 0;
    const Sums *sums = j->blocks->asked->sums;
    for (uint32_t m = 0; sums != NULL && m < sums->modes.count && count == 0; m++)
        if (sums->modes.at[m].solved && sums->modes.at[m].volts[net].known)
            add_figure(&out, &count, sums_quantity(&sums->modes.at[m].volts[net], UNIT_VOLT));
    if (count == 0 && j->rails[net].known) add_figure(&out, &count, j->rails[net].volts);
    return out_text(&out);
}

static bool tells_of_arrow(Unit unit) {
    Unit rate = unit_over(UNIT_BIT, UNIT_SECOND);
    return unit_same(unit, UNIT_AMPERE) || unit_same(unit, UNIT_HERTZ) || unit_same(unit, UNIT_VOLT) ||
           unit_same(unit, UNIT_BIT) || unit_same(unit, rate);
}

/* What the claims of the box derive, of currents, volts, frequencies and bits: each unit once. */
static Text claim_figures(const Joining *j, const Block *block) {
    Out out = out_new(j->blocks->arena);
    Unit seen[BLOCKS_FIGURES_MOST];
    uint32_t count = 0;
    for (uint32_t c = 0; c < block->claims.count; c++)
        for (uint32_t v = 0; v < block->claims.at[c]->value_count; v++) {
            Quantity value = block->claims.at[c]->values[v].value;
            bool again = !tells_of_arrow(value.unit) || count == BLOCKS_FIGURES_MOST;
            for (uint32_t s = 0; s < count; s++) again |= unit_same(seen[s], value.unit);
            if (again) continue;
            seen[count] = value.unit;
            add_figure(&out, &count, value);
        }
    return out_text(&out);
}

/* ---- arrows ---- */

static void add_arrow(Joining *j, uint32_t from, uint32_t to, uint32_t net, bool feeds) {
    Blocks *blocks = j->blocks;
    for (uint32_t i = 0; i < blocks->arrows.count; i++)
        if (blocks->arrows.at[i].from == from && blocks->arrows.at[i].to == to) return;
    if (blocks->arrows.count == BLOCKS_ARROWS_MOST) return;
    const Block *a = &blocks->list.at[from], *b = &blocks->list.at[to];
    BlockArrow arrow = {.from = from, .to = to, .net = net, .feeds = feeds};
    arrow.figures = feeds ? rail_figures(j, net) : claim_figures(j, a->chip ? b : a);
    list_push(blocks->arena, &blocks->arrows, arrow);
}

/* A rail feeds whatever is not itself a source; where all are of one stage, nothing is known to feed. */
static void join_rail(Joining *j, uint32_t net) {
    for (uint32_t a = 0; a < j->blocks->list.count; a++)
        for (uint32_t b = 0; b < j->blocks->list.count; b++) {
            const Block *from = &j->blocks->list.at[a], *to = &j->blocks->list.at[b];
            bool source = from->rank == 0 || text_is(from->title, "Conversion");
            if (a != b && source && to->rank > from->rank && touches(j, a, net) && touches(j, b, net)) add_arrow(j, a, b, net, true);
        }
}

/* From the lower rank to the higher; by way of the chip where it has one. */
static void join_signal(Joining *j, uint32_t net) {
    bool chip = false;
    for (uint32_t i = 0; i < j->blocks->list.count; i++) chip |= j->blocks->list.at[i].chip && touches(j, i, net);
    for (uint32_t a = 0; a < j->blocks->list.count; a++)
        for (uint32_t b = 0; b < j->blocks->list.count; b++) {
            const Block *from = &j->blocks->list.at[a], *to = &j->blocks->list.at[b];
            if (from->rank >= to->rank || !touches(j, a, net) || !touches(j, b, net)) continue;
            if (!chip || from->chip || to->chip) add_arrow(j, a, b, net, false);
        }
}

void blocks_join(Blocks *blocks) {
    Arena *scratch = arena_new();
    Joining j = {.blocks = blocks, .bench = blocks->asked->reasoning->bench};
    uint32_t nets = j.bench->nets.count;
    j.rails = rails_find(scratch, j.bench);
    j.touches = arena_many(scratch, unsigned char, (size_t)blocks->list.count * nets + 1);
    for (uint32_t i = 0; i < blocks->list.count; i++)
        for (uint32_t k = 0; k < blocks->list.at[i].members.count; k++) {
            const BenchPart *part = &j.bench->parts.at[blocks->list.at[i].members.at[k]];
            for (uint32_t p = 0; p < part->pin_count; p++) j.touches[(size_t)i * nets + j.bench->pins.at[part->pins[p]].net] = 1;
        }
    for (uint32_t net = 0; net < nets; net++)
        if (!j.rails[net].ground && !j.rails[net].supply) join_signal(&j, net);
    for (uint32_t net = 0; net < nets; net++)
        if (j.rails[net].supply) join_rail(&j, net);
    arena_free(scratch);
}
