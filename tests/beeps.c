/* What the meter says at two probes is read from the clean copper: whether both stand on one connected piece. A probe that
 * stands beside copper is put on the nearest; where there is none within reach the meter is silent, and so is the person.
 */
#include "tests/beeps.h"

#include "copper/components.h"

#include <math.h>

static const double PROBE_MM = 0.3; /* as near as a hand puts it */
enum { PADS_AN_ANSWER = 10 };

typedef struct Meter {
    const Truth *truth;
    uint32_t *piece; /* of each pixel of the mask */
} Meter;

static Meter meter_new(Arena *arena, const Truth *truth) {
    Meter meter = {truth, arena_many(arena, uint32_t, (size_t)truth->mask_width * truth->mask_height)};
    ComponentPicture picture = {truth->mask, truth->mask_width, truth->mask_height, truth->mask_width, 128, NULL};
    components_of(arena, &picture, meter.piece);
    return meter;
}

static uint32_t piece_at(const Meter *meter, PlacePoint mm) {
    const Truth *truth = meter->truth;
    long x = lround(mm.x * truth->mask_scale - 0.5), y = lround(mm.y * truth->mask_scale - 0.5);
    long reach = lround(PROBE_MM * truth->mask_scale), least = reach * reach + 1;
    uint32_t piece = 0;
    for (long v = y - reach; v <= y + reach; v++)
        for (long u = x - reach; u <= x + reach; u++) {
            long far = (u - x) * (u - x) + (v - y) * (v - y);
            if (u < 0 || v < 0 || u >= (long)truth->mask_width || v >= (long)truth->mask_height || far >= least) continue;
            uint32_t here = meter->piece[(size_t)v * truth->mask_width + (size_t)u];
            if (here != 0) piece = here, least = far;
        }
    return piece;
}

typedef LIST(CopperWord) Words;

/* False when a probe finds no copper. */
static bool answer(Arena *arena, const Meter *meter, const CopperDoubt *doubt, Words *words) {
    uint32_t a = piece_at(meter, doubt->a), b = piece_at(meter, doubt->b);
    if (a == 0 || b == 0) return false;
    PlacePoint *at = arena_many(arena, PlacePoint, 2);
    at[0] = doubt->a, at[1] = doubt->b;
    list_push(arena, words,
              ((CopperWord){.sort = a == b ? COPPER_JOINED : COPPER_APART, .at = at, .count = 2, .meter = true}));
    return true;
}

static bool run(Arena *arena, const Truth *truth, const Layers *layers, const Words *words, Copper *copper, Score *score) {
    if (!copper_trace(arena, layers, words->at, words->count, copper)) return false;
    *score = truth_score(arena, truth, copper->labels, copper->width, copper->height, copper->scale);
    copper_free(copper);
    return true;
}

bool beeps_run(Arena *arena, const Truth *truth, const Layers *layers, Beeps *beeps) {
    Meter meter = meter_new(arena, truth);
    Words words = {0}, all = {0};
    Copper copper;
    Score after;
    if (!run(arena, truth, layers, &words, &copper, &beeps->first)) return false;
    beeps->doubts = copper.doubts.count;
    beeps->wrong = beeps->first.shorts + beeps->first.opens;
    for (uint32_t i = 0; i < copper.doubts.count; i++) answer(arena, &meter, &copper.doubts.at[i], &all);
    beeps->last = beeps->first, beeps->answers = 0;
    while (beeps->answers < truth->pads.count / PADS_AN_ANSWER) {
        uint32_t next = 0;
        while (next < copper.doubts.count && !answer(arena, &meter, &copper.doubts.at[next], &words)) next++;
        if (next == copper.doubts.count) break;
        beeps->answers++;
        if (!run(arena, truth, layers, &words, &copper, &beeps->last)) return false;
    }
    if (!run(arena, truth, layers, &all, &copper, &after)) return false;
    beeps->wrong_after = after.shorts + after.opens < beeps->wrong ? after.shorts + after.opens : beeps->wrong;
    return true;
}
