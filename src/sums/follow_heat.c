/* Heat: what each part takes at its worst mode, beside what its body bears. */
#include "sums/follow.h"
#include "sums/formulas.h"

static const double AMBIENT = 25;      /* degC: a room */
static const double TOLD_SHARE = 0.25; /* of a resistor's rating from which on it is told */
static const double TOLD_RISE = 15;    /* K from which on a junction is told: rules of thumb */
/* degC: junctions of silicon in plastic are rated to 150, and designs keep below 125: common practice. */
static const double JUNCTION_MOST = 150, JUNCTION_CARE = 125;
/* degC of a touched surface that burns at a touch of a second: bare metal, ISO 13732-1, from memory. */
static const double BURNS = 65;

static void warn_of_touch(Told *told, Text ref, double surface) {
    if (surface < BURNS) return;
    told_caution(told,
                 text_fmt(told->f->arena, "%.*s may get hot enough to burn a finger: let it cool before you touch it.",
                          TEXT_ARG(ref)));
}

/* The rating: said by the note (`0.5 W`), else by the body. */
static double rated_of(const BenchPart *part) {
    if (unit_same(part->rating.unit, UNIT_WATT) && part->rating.value > 0) return part->rating.value;
    return part->package == NULL ? 0 : part->package->rated;
}

static void resistor_heat(Following *f, uint32_t part, uint32_t mode) {
    const BenchPart *at = &f->bench->parts.at[part];
    const SumsFigure *power = &f->sums->modes.at[mode].power[part];
    double rated = rated_of(at), share = power->typical / rated;
    if (!(rated > 0) || (share < TOLD_SHARE && power->high < rated)) return;
    Told told = told_new(f, "heat", "heat", "protection", part);
    Quantity watts = sums_quantity(power, UNIT_WATT);
    double rise = heat_resistor(power->typical, rated);
    told_mode(&told, mode, power);
    told_value(&told, "power", watts, "V I", "any textbook of electricity");
    told_value(&told, "share-of-rating", quantity_within(share, power->low / rated, power->high / rated, UNIT_NONE),
               "power / rated power", "rated power by size at 70 degC: IEC 60115-8, from memory");
    told_value(&told, "hottest-spot",
               quantity_within(AMBIENT + rise, AMBIENT + heat_resistor(power->low, rated),
                               AMBIENT + heat_resistor(power->high, rated), UNIT_CELSIUS),
               "25 degC + 85 K times power / rated power", "derating line of IEC 60115-1, from memory");
    if (power->typical > rated)
        told_warn(&told, text_fmt(f->arena, "%.*s takes more than it is rated for, unless that lasts only moments.",
                                  TEXT_ARG(at->ref)));
    else if (power->high > rated)
        told_warn(&told,
                  text_fmt(f->arena, "%.*s may take more than it is rated for, by the tolerances.", TEXT_ARG(at->ref)));
    warn_of_touch(&told, at->ref, AMBIENT + rise);
    told_add(&told,
             text_fmt(f->arena, "%.*s turns %.*s to heat%.*s, %.0f %% of what its size is rated for.", TEXT_ARG(at->ref),
                      TEXT_ARG(follow_said(f, watts)), TEXT_ARG(follow_while(f, mode)), 100 * share));
}

static void junction_heat(Following *f, uint32_t part, uint32_t mode) {
    const BenchPart *at = &f->bench->parts.at[part];
    const SumsFigure *power = &f->sums->modes.at[mode].power[part];
    double theta = at->package == NULL ? 0 : at->package->heat;
    if (!(theta > 0) || power->high * theta < TOLD_RISE) return;
    Quantity watts = sums_quantity(power, UNIT_WATT);
    Quantity junction =
        quantity_within(heat_junction(AMBIENT, power->typical, theta), heat_junction(AMBIENT, power->low, theta),
                        heat_junction(AMBIENT, power->high, theta), UNIT_CELSIUS);
    double surface = junction.value - fmin(at->package->heat_case, theta) * power->typical;
    Told told = told_new(f, "heat", "heat", "protection", part);
    told_mode(&told, mode, power);
    told_value(&told, "power", watts, "sum of V I over its pins", "any textbook of electricity");
    told_value(&told, "junction", junction,
               "25 degC + power times K/W of its package, on a small board in still air, if the mode lasts",
               "JEDEC JESD51-1; K/W typical of published data sheets, from memory");
    if (at->package->heat_case > 0)
        told_value(&told, "case", quantity_exact(surface, UNIT_CELSIUS), "junction - power times K/W from junction to case",
                   "JEDEC JESD51-12, from memory");
    if (junction.value > JUNCTION_MOST)
        told_warn(&told,
                  text_fmt(f->arena, "%.*s gets hotter than silicon in plastic bears (150 °C), unless the mode is short.",
                           TEXT_ARG(at->ref)));
    else if (junction.high > JUNCTION_CARE)
        told_warn(&told,
                  text_fmt(f->arena, "%.*s may get hotter than the 125 °C that designs keep below.", TEXT_ARG(at->ref)));
    warn_of_touch(&told, at->ref, surface);
    told_add(&told, text_fmt(f->arena,
                             "%.*s turns %.*s to heat%.*s: in its %.*s the junction comes to about %.0f °C in a room of 25 "
                             "°C, if that lasts.",
                             TEXT_ARG(at->ref), TEXT_ARG(follow_said(f, watts)), TEXT_ARG(follow_while(f, mode)),
                             TEXT_ARG(at->package->name), junction.value));
}

void follow_heat(Following *f) {
    for (uint32_t p = 0; p < f->bench->parts.count; p++) {
        uint32_t mode = follow_most(f, figure_power, p);
        if (mode == BENCH_NONE || !(f->sums->modes.at[mode].power[p].typical > 0)) continue;
        if (follow_is(f, p, "resistor"))
            resistor_heat(f, p, mode);
        else if (follow_is(f, p, "diode") || follow_is(f, p, "transistor") || follow_is(f, p, "chip") ||
                 follow_is(f, p, "opto"))
            junction_heat(f, p, mode);
    }
}
