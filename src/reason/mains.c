/* From the poles of a mains inlet, and from nets that are named as mains is, through every part; through those that are
 * made to isolate only on their own side: whatever hangs together by metal or semiconductor is at mains. Protective earth
 * is not. Common practice. */
#include "reason/mains.h"

static const char *const ISOLATING[] = {"transformer", "optocoupler", "relay"};
static const char *const NAMES[] = {"L", "N", "LIVE", "NEUTRAL", "MAINS", "L1", "AC-L", "AC-N"};
enum {
    POLES =
        2 /* of a mains inlet: L and N come first, then PE; of what isolates: one side, then the other (lore/kinds.lore) */
};

typedef struct Spread {
    const Bench *bench;
    bool *mains;
    LIST(uint32_t) waiting; /* nets */
    Arena *arena;
} Spread;

static void reach(Spread *spread, uint32_t net) {
    if (spread->mains[net]) return;
    spread->mains[net] = true;
    list_push(spread->arena, &spread->waiting, net);
}

static bool isolates(const Spread *spread, const BenchPart *part) {
    for (size_t i = 0; i < sizeof ISOLATING / sizeof *ISOLATING; i++) {
        const BenchKind *kind = bench_kind(spread->bench->kinds, text_of(ISOLATING[i]));
        if (kind != NULL && bench_kind_is(part->kind, kind)) return true;
    }
    return false;
}

static void seed(Spread *spread, const BenchKind *inlet) {
    const Bench *bench = spread->bench;
    for (uint32_t i = 0; i < bench->pins.count; i++) {
        const BenchPin *pin = &bench->pins.at[i];
        bool pole = pin->position >= 0 && pin->position < POLES;
        if (inlet != NULL && pole && bench_kind_is(bench->parts.at[pin->part].kind, inlet)) reach(spread, pin->net);
    }
    for (uint32_t i = 0; i < bench->nets.count; i++)
        for (size_t k = 0; k < sizeof NAMES / sizeof *NAMES && bench->nets.at[i].named; k++)
            if (text_same_folded(bench->nets.at[i].name, text_of(NAMES[k]))) reach(spread, i);
}

/* From one pin of a part on; false when the part has sides, which each must be reached by itself. */
static bool through_part(Spread *spread, const BenchPin *from, const BenchKind *inlet) {
    const BenchPart *part = &spread->bench->parts.at[from->part];
    if (inlet != NULL && bench_kind_is(part->kind, inlet)) return true;
    bool sides = isolates(spread, part);
    for (uint32_t i = 0; i < part->pin_count; i++) {
        const BenchPin *pin = &spread->bench->pins.at[part->pins[i]];
        bool across = pin->position < 0 || from->position < 0 || (pin->position < POLES) != (from->position < POLES);
        if (!sides || !across) reach(spread, pin->net);
    }
    return !sides;
}

const bool *mains_find(Arena *arena, const Bench *bench) {
    const BenchKind *inlet = bench_kind(bench->kinds, TEXT("mains-inlet"));
    Spread spread = {.bench = bench, .arena = arena_new()};
    bool *done = arena_many(spread.arena, bool, bench->parts.count);
    spread.mains = arena_many(arena, bool, bench->nets.count);
    seed(&spread, inlet);
    bool any = spread.waiting.count > 0;
    while (spread.waiting.count > 0) {
        const BenchNet *net = &bench->nets.at[spread.waiting.at[--spread.waiting.count]];
        for (uint32_t i = 0; i < net->pin_count; i++) {
            const BenchPin *pin = &bench->pins.at[net->pins[i]];
            if (!done[pin->part]) done[pin->part] = through_part(&spread, pin, inlet);
        }
    }
    arena_free(spread.arena);
    return any ? spread.mains : NULL;
}
