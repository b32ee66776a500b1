#include "sums/life.h"

#include <math.h>

static const double YEAR = 365.25 * 86400; /* s */
enum { STEPS = LIFE_STEPS };

typedef struct Draws { /* with some share of the charge left */
    double amperes;    /* on the average */
    double drains;     /* share of the charge a second */
} Draws;

/* What each mode draws with this share left, into drawn (size mode_count); false when the life ends here. */
static bool ask(const LifeAsked *asked, double share, Life *life, double *drawn) {
    const MarkDischarge *d = asked->discharge;
    double volts = asked->batteries * mark_open_volts(d, share), ohms = asked->batteries * mark_inner_ohms(d, share);
    double end = d->chemistry->end * d->in_series * asked->batteries;
    for (uint32_t m = 0; m < asked->mode_count; m++) {
        drawn[m] = 0;
        if (!(asked->duty[m] > 0)) continue;
        LifeDraw draw = asked->draw(asked->context, m, volts, ohms, &drawn[m]);
        life->mode = m;
        life->end = draw == LIFE_FAILS                            ? LIFE_NO_WORK
                    : draw == LIFE_UNKNOWN || !isfinite(drawn[m]) ? LIFE_NO_ANSWER
                                                                  : LIFE_TOO_LOW;
        if (life->end != LIFE_TOO_LOW || volts - ohms * drawn[m] < end) return false;
        drawn[m] = fmax(drawn[m], 0);
    }
    return true;
}

/* Half way through a step, which lasts `step` s. */
static void note_point(const LifeAsked *asked, double share, double step, const double *drawn, Life *life) {
    const MarkDischarge *d = asked->discharge;
    double volts = asked->batteries * mark_open_volts(d, share), ohms = asked->batteries * mark_inner_ohms(d, share);
    LifePoint point = {.seconds = life->seconds + step / 2, .rest = volts, .loaded = volts};
    for (uint32_t m = 0; m < asked->mode_count; m++)
        if (asked->duty[m] > 0 && volts - ohms * drawn[m] < point.loaded)
            point.loaded = volts - ohms * drawn[m], point.mode = m;
    life->at[life->point_count++] = point;
}

static Draws draws_of(const LifeAsked *asked, const double *drawn) {
    Draws draws = {0};
    for (uint32_t m = 0; m < asked->mode_count; m++) draws.amperes += asked->duty[m] * drawn[m];
    double rested = mark_charge_at(asked->discharge, draws.amperes);
    for (uint32_t m = 0; m < asked->mode_count; m++)
        draws.drains += asked->duty[m] * drawn[m] / sqrt(rested * mark_charge_at(asked->discharge, drawn[m]));
    return draws;
}

Life life_of(const LifeAsked *asked) {
    const MarkDischarge *d = asked->discharge;
    const double loses = d->chemistry->loses.value / YEAR, keeps = d->chemistry->loses.low / YEAR,
                 lets = d->chemistry->loses.high / YEAR;
    Life life = {.left = 1};
    double used = 0;
    Arena *scratch = arena_new();
    double *drawn = arena_many(scratch, double, asked->mode_count + 1);
    for (int i = 0; i < STEPS; i++) {
        double share = 1 - (i + 0.5) / STEPS;
        if (!ask(asked, share, &life, drawn)) break;
        Draws draws = draws_of(asked, drawn);
        double drains = draws.drains;
        double step = 1.0 / STEPS / (drains + loses);
        note_point(asked, share, step, drawn, &life);
        life.seconds += step;
        life.low += 1.0 / STEPS / (drains / d->low + lets);
        life.high += 1.0 / STEPS / (drains / d->high + keeps);
        used += 1.0 / STEPS * drains / (drains + loses);
        if (i <= STEPS / 2) life.amperes = draws.amperes;
        life.left = 1 - (i + 1.0) / STEPS;
        if (i + 1 == STEPS) life.end = LIFE_USED_UP, life.left = 0;
    }
    arena_free(scratch);
    life.shelf = life.left < 1 ? 1 - used / (1 - life.left) : 0;
    return life;
}
