/* Supposed mistakes in words: what would be so, how to see it, and which notes would be wrong. */
#include "sums/mistakes.h"

#include <math.h>

typedef struct Words {
    Arena *arena;
    const Sums *sums;
    const Bench *bench;
    const Change *change;
    Out says, check;
    LIST(uint32_t) lines;
} Words;

static Text ref(const Words *w, uint32_t part) { return w->bench->parts.at[part].ref; }
static Text net(const Words *w, uint32_t number) { return w->bench->nets.at[number].name; }
static Text pin(const Words *w, uint32_t number) { return bench_pin_name(w->arena, w->bench, number); }

static Text quantity(const Words *w, double value, Unit unit) {
    Out out = out_new(w->arena);
    quantity_print(&out, quantity_exact(value, unit));
    return out_text(&out);
}

static void line(Words *w, uint32_t number) {
    bool had = number == 0;
    for (uint32_t i = 0; i < w->lines.count; i++) had = had || w->lines.at[i] == number;
    if (!had) list_push(w->arena, &w->lines, number);
}

static void part_line(Words *w, uint32_t part) { line(w, w->bench->parts.at[part].line); }

/* ` in idle`, or nothing when it holds in all modes */
static void in_mode(Words *w, Out *out, uint32_t mode) {
    if (mode != BENCH_NONE && w->sums->modes.at[mode].name.len > 0)
        out_fmt(out, " in %.*s", TEXT_ARG(w->sums->modes.at[mode].name));
}

Text mistake_reading(Arena *arena, const Sums *sums, uint32_t number) {
    const BenchReading *reading = &sums->bench->readings.at[number];
    Text name = bench_reading_name(arena, reading);
    if (reading->mode.len == 0) return name;
    return text_fmt(arena, "%.*s in %.*s", TEXT_ARG(name), TEXT_ARG(reading->mode));
}

static void say_reading(Words *w) {
    const Change *change = w->change;
    const BenchReading *reading = &w->bench->readings.at[change->reading];
    Text what = mistake_reading(w->arena, w->sums, change->reading), written = reading->note->reading->value.written;
    line(w, reading->note->line);
    if (change->mistake == MISTAKE_DECIMAL) {
        Text right = quantity(w, reading->value.value * change->value, reading->value.unit);
        out_fmt(&w->says, "line %u was misread by a factor of %g: %.*s is %.*s, not %.*s", reading->note->line,
                change->value >= 1 ? change->value : 1 / change->value, TEXT_ARG(what), TEXT_ARG(right), TEXT_ARG(written));
        out_fmt(&w->check, "read %.*s again, and mind the meter's range", TEXT_ARG(what));
    } else if (change->mistake == MISTAKE_PLACE) {
        out_fmt(&w->says, "the %.*s of line %u were read at %.*s, not at %.*s", TEXT_ARG(written), reading->note->line,
                TEXT_ARG(net(w, change->nets[0])), TEXT_ARG(net(w, reading->about[0])));
        out_fmt(&w->check, "read %.*s again, with the probe on another pin of that net", TEXT_ARG(what));
    } else {
        out_fmt(&w->says, "line %u, %.*s of %.*s, is wrong in another way", reading->note->line, TEXT_ARG(what),
                TEXT_ARG(written));
        out_fmt(&w->check, "read %.*s again", TEXT_ARG(what));
    }
}

static void say_value(Words *w) {
    const BenchPart *part = &w->bench->parts.at[w->change->part];
    Text how = w->change->how.len > 0                ? w->change->how
               : w->change->mistake == MISTAKE_BAND  ? TEXT("one digit or band misread")
               : w->change->mistake == MISTAKE_POWER ? TEXT("its power of ten misread")
                                                     : TEXT("it was a guess");
    out_fmt(&w->says, "%.*s is %.*s, not %.*s: %.*s", TEXT_ARG(part->ref),
            TEXT_ARG(quantity(w, w->change->value, part->value.unit)),
            TEXT_ARG(quantity(w, part->value.value, part->value.unit)), TEXT_ARG(how));
    out_fmt(&w->check, "lift one leg of %.*s and measure it", TEXT_ARG(part->ref));
    for (uint32_t i = 0; i < part->value_why.line_count; i++) line(w, part->value_why.lines[i]);
}

static void say_joint(Words *w) {
    const BenchPin *at = &w->bench->pins.at[w->change->pin];
    const BenchNet *on = &w->bench->nets.at[at->net];
    uint32_t other = on->pins[0] == w->change->pin ? on->pins[1] : on->pins[0], lines[8];
    BenchChain chain;
    bool two = w->bench->parts.at[at->part].pin_count == 2;
    out_fmt(&w->says, two ? "%.*s is open, or one of its joints is" : "%.*s has no joint with the rest of its net",
            TEXT_ARG(two ? ref(w, at->part) : pin(w, w->change->pin)));
    out_fmt(&w->check, "with the power off, beep %.*s to %.*s", TEXT_ARG(pin(w, w->change->pin)), TEXT_ARG(pin(w, other)));
    size_t count = bench_chain(w->bench, w->change->pin, other, lines, 8, &chain);
    for (size_t i = 0; i < count && i < 8; i++) line(w, lines[i]);
}

static void say_join(Words *w) {
    bool inside = w->change->mistake == MISTAKE_SHORT;
    out_fmt(&w->says, "%.*s and %.*s are joined", TEXT_ARG(net(w, w->change->nets[0])),
            TEXT_ARG(net(w, w->change->nets[1])));
    out_fmt(&w->says, inside ? ": %.*s is shorted" : ": solder between pins of %.*s, or a way that was overlooked",
            TEXT_ARG(ref(w, w->change->part)));
    out_fmt(&w->check, "with the power off, beep %.*s to %.*s", TEXT_ARG(net(w, w->change->nets[0])),
            TEXT_ARG(net(w, w->change->nets[1])));
    if (inside) part_line(w, w->change->part);
}

static void say_turned(Words *w) {
    const BenchUnit *unit = &w->bench->units.at[w->change->unit];
    out_fmt(&w->says, "the pins of %.*s are others than taken:", TEXT_ARG(ref(w, w->change->part)));
    for (uint32_t i = 0; i < unit->pin_count; i++) {
        uint32_t is = unit->pins[w->change->order[i]];
        if (is != BENCH_NONE)
            out_fmt(&w->says, "%s %.*s is %.*s", i == 0 ? "" : ",", TEXT_ARG(pin(w, is)), TEXT_ARG(unit->kind->pins[i]));
    }
    if (w->change->how.len > 0) out_fmt(&w->says, "; %.*s", TEXT_ARG(w->change->how));
    out_fmt(&w->check, "with the power off, test the junctions of %.*s with the meter's diode range",
            TEXT_ARG(ref(w, w->change->part)));
    part_line(w, w->change->part);
}

static void say_kind(Words *w) {
    out_fmt(&w->says, "%.*s is a %.*s, not a %.*s", TEXT_ARG(ref(w, w->change->part)), TEXT_ARG(w->change->kind->name),
            TEXT_ARG(w->bench->units.at[w->change->unit].kind->name));
    out_fmt(&w->check, "with the power off, test the junctions of %.*s with the meter's diode range",
            TEXT_ARG(ref(w, w->change->part)));
    part_line(w, w->change->part);
}

static void say_flat(Words *w) {
    out_fmt(&w->says, "%.*s was nearly flat", TEXT_ARG(ref(w, w->change->part)));
    in_mode(w, &w->says, w->change->mode);
    out_fmt(&w->check, "read the volts of %.*s", TEXT_ARG(ref(w, w->change->part)));
    in_mode(w, &w->check, w->change->mode);
    part_line(w, w->change->part);
}

static void say_load(Words *w) {
    out_fmt(&w->says, "something that the notes don't have draws current from %.*s", TEXT_ARG(net(w, w->change->nets[0])));
    in_mode(w, &w->says, w->change->mode);
    out_fmt(&w->check, "look for what else hangs on %.*s", TEXT_ARG(net(w, w->change->nets[0])));
}

static void say_drive(Words *w) {
    static const char *const states[] = {[PIN_LOW] = "drives low", [PIN_HIGH] = "drives high", [PIN_OPEN] = "is open"};
    out_fmt(&w->says, "%.*s %s", TEXT_ARG(pin(w, w->change->pin)), states[w->change->state]);
    in_mode(w, &w->says, w->change->mode);
    out_fmt(&w->check, "read v(%.*s)", TEXT_ARG(pin(w, w->change->pin)));
    in_mode(w, &w->check, w->change->mode);
    const BenchDrive *drive = bench_drive(w->bench, w->change->pin, w->sums->modes.at[w->change->mode].name);
    if (drive != NULL) line(w, drive->note->line);
}

static void say_switch(Words *w) {
    out_fmt(&w->says, "%.*s stands the other way", TEXT_ARG(ref(w, w->change->part)));
    in_mode(w, &w->says, w->change->mode);
    out_fmt(&w->check, "read the volts on both sides of %.*s", TEXT_ARG(ref(w, w->change->part)));
    in_mode(w, &w->check, w->change->mode);
}

SumsExplanation mistake_words(Arena *arena, const Sums *sums, const Change *change) {
    static void (*const say[MISTAKE_COUNT])(Words *) = {
        [MISTAKE_DECIMAL] = say_reading, [MISTAKE_PLACE] = say_reading, [MISTAKE_SLIP] = say_reading,
        [MISTAKE_BAND] = say_value,      [MISTAKE_POWER] = say_value,   [MISTAKE_GUESS] = say_value,
        [MISTAKE_JOIN] = say_join,       [MISTAKE_JOINT] = say_joint,   [MISTAKE_SHORT] = say_join,
        [MISTAKE_TURNED] = say_turned,   [MISTAKE_POLARITY] = say_kind, [MISTAKE_FAMILY] = say_kind,
        [MISTAKE_FLAT] = say_flat,       [MISTAKE_LOAD] = say_load,     [MISTAKE_DRIVE] = say_drive,
        [MISTAKE_SWITCH] = say_switch};
    Words w = {.arena = arena,
               .sums = sums,
               .bench = sums->bench,
               .change = change,
               .says = out_new(arena),
               .check = out_new(arena)};
    if (say[change->mistake] != NULL) say[change->mistake](&w);
    const LoreLine *weighs = sums->models->mistakes[change->mistake].line;
    return (SumsExplanation){.says = out_text(&w.says),
                             .check = out_text(&w.check),
                             .decibans = change->decibans,
                             .lines = w.lines.at,
                             .line_count = w.lines.count,
                             .place = weighs == NULL ? TEXT("") : lore_place(arena, weighs)};
}
