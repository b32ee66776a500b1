/* Which parts the supply's current goes to. The supply is every net that hangs on the plus of a source through parts that
 * only pass current on (a switch, a fuse, a bead, a transistor against wrong poles); what flows from there into any other
 * part is what that part draws. By Kirchhoff's current law they add up to what the sources give. */
#include "draw/plot_inside.h"

#include "reason/rails.h"

#include <math.h>
#include <stdlib.h>

enum { CHAIN_MOST = 4, ROUNDS_MOST = 16 };
static const double NOTHING = 1e-7; /* A: as the report tells it as 0 */

typedef struct Finder {
    Arena *arena;
    const Sums *sums;
    const Bench *bench;
    const Rail *rails;
    bool *supply; /* size nets */
    const BenchKind *source, *regulator;
} Finder;

static bool is(const BenchKind *kind, const BenchKind *what) { return what != NULL && bench_kind_is(kind, what); }

/* The two supply nets that a part joins; false: it does something else. */
static bool passes(const Finder *f, const BenchPart *part, uint32_t nets[2]) {
    uint32_t count = 0;
    if (is(part->kind, f->source) || is(part->kind, f->regulator) || part->pin_count > 3) return false;
    for (uint32_t i = 0; i < part->pin_count; i++) {
        uint32_t net = f->bench->pins.at[part->pins[i]].net;
        if (!f->rails[net].supply || f->rails[net].ground || (count > 0 && nets[0] == net)) continue;
        if (count == 2) return false;
        nets[count++] = net;
    }
    return count == 2;
}

static void find_supply(Finder *f) {
    const Bench *bench = f->bench;
    for (uint32_t p = 0; p < bench->parts.count; p++) {
        const BenchPart *part = &bench->parts.at[p];
        for (uint32_t i = 0; is(part->kind, f->source) && i < part->pin_count; i++) {
            const BenchPin *pin = &bench->pins.at[part->pins[i]];
            if (pin->position == 0 && pin->net != f->sums->ground) f->supply[pin->net] = true;
        }
    }
    bool more = true;
    for (int round = 0; more && round < ROUNDS_MOST; round++) {
        more = false;
        for (uint32_t p = 0; p < bench->parts.count; p++) {
            uint32_t nets[2];
            if (!passes(f, &bench->parts.at[p], nets) || f->supply[nets[0]] == f->supply[nets[1]]) continue;
            f->supply[nets[0]] = f->supply[nets[1]] = more = true;
        }
    }
}

/* Does nothing but pass the supply's current on? */
static bool within(const Finder *f, const BenchPart *part) {
    uint32_t nets[2];
    return passes(f, part, nets) && f->supply[nets[0]] && f->supply[nets[1]];
}

/* The other part on a net of two pins, by its pin; BENCH_NONE. */
static uint32_t next_pin(const Finder *f, uint32_t pin) {
    const BenchNet *net = &f->bench->nets.at[f->bench->pins.at[pin].net];
    if (net->pin_count != 2) return BENCH_NONE;
    return net->pins[0] == pin ? net->pins[1] : net->pins[0];
}

/* The parts that carry the one current, from the supply on. */
static Text name_of(const Finder *f, uint32_t number) {
    Out out = out_new(f->arena);
    uint32_t came = BENCH_NONE; /* the pin through which the chain was entered */
    for (int i = 0; i < CHAIN_MOST; i++) {
        const BenchPart *part = &f->bench->parts.at[number];
        out_fmt(&out, "%s%.*s", i == 0 ? "" : " ", TEXT_ARG(part->ref));
        if (part->pin_count != 2) break;
        uint32_t leaves = came != BENCH_NONE ? (part->pins[0] == came ? part->pins[1] : part->pins[0])
                          : f->supply[f->bench->pins.at[part->pins[0]].net] ? part->pins[1]
                                                                            : part->pins[0];
        came = next_pin(f, leaves);
        if (came == BENCH_NONE || f->bench->pins.at[came].part == number ||
            f->bench->parts.at[f->bench->pins.at[came].part].pin_count != 2)
            break;
        number = f->bench->pins.at[came].part;
    }
    static const double ROOM = 40; /* mm */
    return svg_clip(f->arena, out_text(&out), PLOT_SMALL, ROOM);
}

/* A into the part from the supply in a mode. */
static double drawn(const Finder *f, const SumsMode *mode, const BenchPart *part) {
    double sum = 0;
    for (uint32_t i = 0; i < part->pin_count; i++)
        if (f->supply[f->bench->pins.at[part->pins[i]].net] && mode->pin[part->pins[i]].known)
            sum += mode->pin[part->pins[i]].typical;
    return isfinite(sum) && sum > NOTHING ? sum : 0;
}

static double most(const PlotDraw *draw, const PlotDraws *all, uint32_t modes) {
    double found = 0;
    for (uint32_t m = 0; m < modes; m++)
        if (all->total[m] > 0) found = fmax(found, draw->amperes[m] / all->total[m]);
    return found;
}

typedef struct Ordering {
    const PlotDraws *all;
    uint32_t modes;
} Ordering;

static int by_share(const void *one, const void *other, void *context) {
    const Ordering *ordering = context;
    const PlotDraw *a = one, *b = other;
    double x = most(a, ordering->all, ordering->modes), y = most(b, ordering->all, ordering->modes);
    return x != y ? (x > y ? -1 : 1) : (a->part > b->part) - (a->part < b->part);
}

PlotDraws plot_draws(Arena *arena, const Sums *sums) {
    const Bench *bench = sums->bench;
    PlotDraws draws = {.total = arena_many(arena, double, sums->modes.count + 1)};
    Finder f = {arena,
                sums,
                bench,
                rails_find(arena, bench),
                arena_many(arena, bool, bench->nets.count + 1),
                bench_kind(bench->kinds, TEXT("source")),
                bench_kind(bench->kinds, TEXT("regulator"))};
    find_supply(&f);
    for (uint32_t p = 0; p < bench->parts.count; p++) {
        const BenchPart *part = &bench->parts.at[p];
        double *amperes = arena_many(arena, double, sums->modes.count + 1);
        bool any = false;
        for (uint32_t m = 0; m < sums->modes.count && !within(&f, part); m++) {
            if (!sums->modes.at[m].solved) continue;
            amperes[m] = drawn(&f, &sums->modes.at[m], part);
            draws.total[m] += amperes[m], any |= amperes[m] > 0;
        }
        if (any) list_push(arena, &draws.list, ((PlotDraw){p, name_of(&f, p), amperes}));
    }
    Ordering ordering = {&draws, sums->modes.count};
    if (draws.list.count > 0) qsort_r(draws.list.at, draws.list.count, sizeof *draws.list.at, by_share, &ordering);
    return draws;
}
