/* What is stored, heard, turned and remembered. */
#include "sums/follow.h"
#include "sums/formulas.h"

/* ---- stored energy ---- */

/* Limits for what may be touched: 60 V of direct current (IEC 62368-1, ES1) and 350 mJ in a capacitor (IEC 61010-1); from
 * memory. */
static const double TOUCHED_VOLTS = 60, TOUCHED_JOULES = 0.35;
static const double TOLD_JOULES = 10e-3; /* from which on a harmless one is told */

static void stored(Following *f, uint32_t part) {
    const BenchPart *at = &f->bench->parts.at[part];
    bool polar = follow_is(f, part, "electrolytic");
    uint32_t plus = follow_pin(f, part, polar ? "+" : "1"), minus = follow_pin(f, part, polar ? "-" : "2"), in = BENCH_NONE;
    Quantity most = {0}, volts;
    for (uint32_t m = 0; m < f->sums->modes.count; m++)
        if (f->sums->modes.at[m].solved && follow_volts(f, m, plus, minus, &volts) && fabs(volts.value) > fabs(most.value))
            most = volts, in = m;
    if (in == BENCH_NONE || !at->has_value) return;
    double joules = energy_of_capacitor(at->value.value, most.value), size = fabs(most.value);
    bool hurts = size >= TOUCHED_VOLTS || joules >= TOUCHED_JOULES;
    if (joules < TOLD_JOULES && !hurts) return;
    double low = fmin(fabs(most.low), fabs(most.high)), high = fmax(fabs(most.low), fabs(most.high));
    Quantity energy = quantity_within(joules, energy_of_capacitor(at->value.low, fmin(low, size)),
                                      energy_of_capacitor(at->value.high, high), UNIT_JOULE);
    Told told = told_new(f, "stored-energy", "stored energy", "power", part);
    told_mode(&told, in, NULL);
    told_value(&told, "energy", energy, "C V^2 / 2", "any textbook of electricity");
    if (hurts) {
        told_warn(&told, text_fmt(f->arena, "%.*s can hurt while it is charged, and stays charged after switching off.",
                                  TEXT_ARG(at->ref)));
        told_caution(&told, TEXT("Let it discharge, measure, and only then touch; discharge through a resistor, never by a "
                                 "short. Local codes and "
                                 "licensed practice decide."));
    }
    told_add(&told,
             text_fmt(f->arena, "%.*s holds %.*s at %.*s%.*s%s.", TEXT_ARG(at->ref), TEXT_ARG(follow_said(f, energy)),
                      TEXT_ARG(follow_said(f, quantity_within(size, low, high, UNIT_VOLT))), TEXT_ARG(follow_while(f, in)),
                      hurts ? "" : ", which hurts nobody"));
}

void follow_stored(Following *f) {
    for (uint32_t p = 0; p < f->bench->parts.count; p++)
        if (follow_is(f, p, "capacitor")) stored(f, p);
}

/* ---- sound ---- */

static bool tagged(const Bench *bench, const char *tag) {
    for (uint32_t i = 0; bench->product != NULL && i < bench->product->product.tag_count; i++)
        if (text_is(bench->product->product.tags[i], tag)) return true;
    return false;
}

static void loudness(Following *f, uint32_t part) {
    static const double least = 0.1e-3, distance = 0.5,
                        hand = 0.25; /* W; m: where a hand-held toy is measured; a child's arm */
    const BenchPart *at = &f->bench->parts.at[part];
    uint32_t mode = follow_most(f, figure_power, part);
    Quantity sensitivity;
    Text source;
    if (mode == BENCH_NONE || !bench_part_property(at, TEXT("sensitivity"), &sensitivity, &source)) return;
    const SumsFigure *rest = &f->sums->modes.at[mode].power[part];
    double heard = f->heard[part];
    bool timed = heard > rest->typical; /* behind a capacitor states at rest know of no current */
    Quantity power = sums_quantity(rest, UNIT_WATT);
    if (timed)
        power = quantity_within(heard, heard / 2, heard * 2,
                                UNIT_WATT); /* as much as coils and drivers differ: rule of thumb */
    if (power.value < least) return;
    double watts = fmax(power.low, least);
    double low = sound_level(sensitivity.low, watts, distance), high = sound_level(sensitivity.high, power.high, distance);
    double near_low = sound_level(sensitivity.low, watts, hand),
           near_high = sound_level(sensitivity.high, power.high, hand);
    Told told = told_new(f, "loudness", "sound level", "sound", part);
    told_mode(&told, mode, rest);
    told_because(&told, text_fmt(f->arena, "its sensitivity: %.*s", TEXT_ARG(source)), at->line);
    told_value(&told, "power", power,
               timed ? "mean of V I over a period, followed through time"
                     : "mean of V I over the states of the pins that switch",
               "any textbook of electricity");
    told_value(&told, "level-at-50-cm", quantity_within((low + high) / 2, low, high, UNIT_NONE),
               "sensitivity + 10 log10(W) - 20 log10(m), in dB", "IEC 60268-5, from memory");
    if (tagged(f->bench, "toy"))
        told_caution(&told, TEXT("Children's hearing: EN 71-1 holds toys that are held in the hand to about 80 dB(A) at 50 "
                                 "cm, and those at the ear to "
                                 "less (from memory). This is an estimate; the standard's own measurement decides."));
    told_add(&told,
             text_fmt(f->arena,
                      "%.*s gets %.*s%.*s: roughly %.0f to %.0f dB at 50 cm and %.0f to %.0f dB at 25 cm, an estimate.",
                      TEXT_ARG(at->ref), TEXT_ARG(follow_said(f, power)), TEXT_ARG(follow_while(f, mode)), low, high,
                      near_low, near_high));
}

void follow_sound(Following *f) {
    for (uint32_t p = 0; p < f->bench->parts.count; p++)
        if (follow_is(f, p, "loudspeaker")) loudness(f, p);
}

/* ---- gears ---- */

static const SumsFigure *figure_inner(const SumsMode *mode, uint32_t part) { return &mode->inner[part]; }

/* `210 (150..280)` */
static Text turns_said(Following *f, Quantity hertz) {
    Out out = out_new(f->arena);
    Quantity turns = quantity_within(60 * hertz.value, 60 * hertz.low, 60 * hertz.high, UNIT_NONE);
    quantity_print(&out, turns);
    if (turns.low < turns.high) out_lit(&out, " ("), quantity_print_range(&out, turns), out_char(&out, ')');
    return out_text(&out);
}

static void gear(Following *f, const BenchGear *gear) {
    static const double turn = 2 * 3.14159265358979323846;
    const BenchPart *at = &f->bench->parts.at[gear->part];
    uint32_t mode = follow_most(f, figure_inner, gear->part);
    double ratio = train_speed(1, gear->says->stages, gear->says->count);
    Told told = told_new(f, "gear-speed", "gear train", "motion", gear->part);
    told_because(&told, TEXT("the train as counted"), gear->note->line);
    told_value(&told, "ratio", quantity_exact(ratio, UNIT_NONE), "product of driving / driven",
               "any text on machine elements");
    if (mode == BENCH_NONE || !(fabs(f->sums->modes.at[mode].inner[gear->part].typical) > 0)) {
        told_add(&told, text_fmt(f->arena, "%.*s turns the last wheel of its train once in %.4g turns.", TEXT_ARG(at->ref),
                                 1 / ratio));
        return;
    }
    const SumsFigure *figure = &f->sums->modes.at[mode].inner[gear->part];
    double sign = figure->typical < 0 ? -1 : 1;
    Quantity motor =
        quantity_within(sign * figure->typical / turn, sign * figure->low / turn, sign * figure->high / turn, UNIT_HERTZ);
    Quantity last = quantity_within(ratio * motor.value, ratio * motor.low, ratio * motor.high, UNIT_HERTZ);
    told_mode(&told, mode, figure);
    told_value(&told, "motor-speed", motor, "the solved circuit, turns a second",
               "the motor's equations: back-EMF and friction");
    told_value(&told, "last-wheel", last, "motor speed times the ratio", "any text on machine elements");
    told_add(&told,
             text_fmt(f->arena,
                      "%.*s turns at about %.*s a minute%.*s, and the last wheel of its train (1 : %.4g) at %.*s a minute.",
                      TEXT_ARG(at->ref), TEXT_ARG(turns_said(f, motor)), TEXT_ARG(follow_while(f, mode)), 1 / ratio,
                      TEXT_ARG(turns_said(f, last))));
}

void follow_gears(Following *f) {
    for (uint32_t i = 0; i < f->bench->gears.count; i++) gear(f, &f->bench->gears.at[i]);
}

/* ---- memories ---- */

static double bits_per_second(const NoteMemory *memory, const RecordingRate *rate) {
    Quantity said = memory->rate.quantity;
    const double usual = 8000; /* Hz: telephone speech, ITU-T G.711 */
    double samples = memory->rate.written.len > 0 && unit_same(said.unit, UNIT_HERTZ) ? said.value : usual;
    return rate->bits_per_sample > 0 ? samples * rate->bits_per_sample : rate->bits_per_second;
}

static void memory(Following *f, const BenchMemory *memory) {
    const NoteMemory *says = memory->says;
    Quantity size = says->size.quantity;
    Told told = told_new(f, "recording", "recording time", "memory", memory->part);
    Out out = out_new(f->arena);
    bool hertz = says->rate.written.len > 0 && unit_same(says->rate.quantity.unit, UNIT_HERTZ);
    bool whole = says->rate.written.len > 0 && (!hertz || says->sample.written.len > 0);
    out_fmt(&out, "%.*s holds %.*s: ", TEXT_ARG(f->bench->parts.at[memory->part].ref), TEXT_ARG(says->size.written));
    told_because(&told, TEXT("the memory as noted"), memory->note->line);
    if (whole) {
        double rate = says->rate.quantity.value * (hertz ? says->sample.quantity.value : 1);
        Quantity seconds = quantity_exact(recording_seconds(size.value, rate), UNIT_SECOND);
        told_value(&told, "time", seconds, "bits / bits a second", "counted");
        out_fmt(&out, "%.*s at %.*s%s%.*s.", TEXT_ARG(follow_said(f, seconds)), TEXT_ARG(says->rate.written),
                hertz ? ", " : "", TEXT_ARG(says->sample.written));
        told_add(&told, out_text(&out));
        return;
    }
    size_t count;
    const RecordingRate *rates = recording_rates(&count);
    for (size_t i = 0; i < count; i++) {
        Quantity seconds = quantity_exact(recording_seconds(size.value, bits_per_second(says, &rates[i])), UNIT_SECOND);
        told_value(&told, rates[i].name, seconds, "bits / bits a second", rates[i].source);
        out_fmt(&out, "%s%.*s of %s", i == 0 ? "" : ", ", TEXT_ARG(follow_said(f, seconds)), rates[i].name);
    }
    out_fmt(&out, ", samples at %.*s.", TEXT_ARG(hertz ? says->rate.written : TEXT("8 kHz")));
    told_add(&told, out_text(&out));
}

void follow_memories(Following *f) {
    for (uint32_t i = 0; i < f->bench->memories.count; i++) memory(f, &f->bench->memories.at[i]);
}
