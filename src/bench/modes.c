/* How the product works, as the notes say it: modes, driven pins, pressed switches, stalled motors, duties, gears, memories.
 * Of two notes on one thing the first counts and the pair is a conflict; a mode that no note declares is asked about, for it
 * may be a slip of another's name and nothing would then happen in it. */
#include "bench/build.h"

#include <string.h>

/* The modes that notes name, those declared first, and what was said of them. */
typedef struct Modes {
    Build *b;
    Names *names;
    Names *said;              /* by Key */
    LIST(const Note *) notes; /* by number of `said`: the first that said it */
} Modes;

/* ---- modes ---- */

static void declare(Modes *m, const Note *note) {
    if (names_find(m->names, note->mode) != NAME_NONE) return;
    if (m->b->bench->modes.count == BENCH_MODES_MOST) {
        build_problem(m->b, note, TEXT("there are more modes than are worked out"), TEXT("at most 64"), TEXT(""));
        return;
    }
    names_add(m->names, note->mode);
    list_push(m->b->arena, &m->b->bench->modes, ((BenchMode){note->mode, note}));
}

static void ask_for_mode(Modes *m, Text mode, const Note *note) {
    const Bench *bench = m->b->bench;
    if (mode.len == 0) return;
    uint32_t known = names_count(m->names);
    if (names_add(m->names, mode) < known || bench->asks.count == BENCH_ASKS_MOST) return;
    Text *declared = arena_many(m->b->scratch, Text, bench->modes.count + 1);
    for (uint32_t i = 0; i < bench->modes.count; i++) declared[i] = bench->modes.at[i].name;
    Text near = text_nearest(mode, declared, bench->modes.count);
    Out out = out_new(m->b->arena);
    out_fmt(&out, "Is there a mode `%.*s`, as line %u says? ", TEXT_ARG(mode), note->line);
    if (near.len > 0)
        out_fmt(&out, "If `%.*s` is meant, say so; else add `mode %.*s`.", TEXT_ARG(near), TEXT_ARG(mode));
    else
        out_fmt(&out, "Then add `mode %.*s`.", TEXT_ARG(mode));
    build_ask(m->b, (BenchAsk){.says = out_text(&out), .p = NAN, .stake = 1, .step = BENCH_NONE, .line = note->line});
}

/* ---- said twice ---- */

typedef struct Key {
    uint32_t verb, about, mode;
} Key;

/* The note that said the same thing before; NULL when this is the first. */
static const Note *said_before(Modes *m, NoteVerb verb, uint32_t about, Text mode, const Note *note) {
    Key *key = arena_one(m->b->scratch, Key);
    *key = (Key){verb, about, mode.len == 0 ? (uint32_t)BENCH_NONE : names_add(m->names, mode)};
    uint32_t number = names_add(m->said, (Text){(const char *)key, sizeof *key});
    if (number < m->notes.count) return m->notes.at[number];
    list_push(m->b->scratch, &m->notes, note);
    return NULL;
}

static void clash(Modes *m, Text about, const char *how, const Note *first, const Note *second) {
    if (!build_conflict_listed(m->b)) return;
    uint32_t lines[] = {first->line, second->line};
    Text says = text_fmt(m->b->arena, "%.*s %s: by line %u, and otherwise by line %u", TEXT_ARG(about), how, first->line,
                         second->line);
    build_conflict(m->b, BENCH_MODES_CLASH, text_fmt(m->b->arena, "modes:%.*s", TEXT_ARG(about)), says,
                   text_fmt(m->b->arena, "look at %.*s again, and strike the wrong line", TEXT_ARG(about)), lines, 2);
}

static Text in_mode(Modes *m, Text what, Text mode) {
    if (mode.len == 0) return what;
    return text_fmt(m->b->arena, "%.*s in %.*s", TEXT_ARG(what), TEXT_ARG(mode));
}

static bool apart(Quantity a, Quantity b) { return a.low > b.high || b.low > a.high; }

static bool two_ways(const NoteDrive *a, const NoteDrive *b) {
    if (a->level != b->level) return true;
    if (a->value.written.len > 0 && apart(a->value.quantity, b->value.quantity)) return true;
    return a->duty.written.len > 0 && b->duty.written.len > 0 && apart(a->duty.quantity, b->duty.quantity);
}

/* ---- each verb ---- */

static void drive(Modes *m, const Note *note) {
    Build *b = m->b;
    uint32_t pin = build_pin(b, note->drive->pin, note);
    ask_for_mode(m, note->with->mode, note);
    const Note *before = said_before(m, NOTE_DRIVE, pin, note->with->mode, note);
    if (before == NULL)
        list_push(b->arena, &b->bench->drives, ((BenchDrive){pin, note->with->mode, note->drive, note}));
    else if (two_ways(before->drive, note->drive))
        clash(m, in_mode(m, bench_pin_name(b->arena, b->bench, pin), note->with->mode), "is driven two ways", before, note);
}

static bool is_kind(const Build *b, const BenchPart *part, const char *name) {
    const BenchKind *kind = bench_kind(b->bench->kinds, text_of(name));
    return kind != NULL && bench_kind_is(part->kind, kind);
}

/* False, with a problem, when the part is known to be something else. */
static bool is_motor(Build *b, uint32_t part, const Note *note) {
    const BenchPart *p = &b->bench->parts.at[part];
    if (p->kind->parent == NULL || is_kind(b, p, "motor")) return true;
    build_problem(b, note, text_fmt(b->arena, "%.*s is no motor", TEXT_ARG(p->ref)), TEXT("a motor, such as M1"), TEXT(""));
    return false;
}

/* A switch is pressed, a relay pulled in, and what comes from outside is plugged in. */
static bool can_be_pressed(Build *b, uint32_t part, const Note *note) {
    static const char *const kinds[] = {"switch", "relay", "source", "connector", "usb-c", "mains-inlet"};
    const BenchPart *p = &b->bench->parts.at[part];
    bool can = p->kind->parent == NULL;
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) can = can || is_kind(b, p, kinds[i]);
    if (!can)
        build_problem(b, note, text_fmt(b->arena, "%.*s is no switch", TEXT_ARG(p->ref)), TEXT("a switch, such as SW2, or a plug"), TEXT(""));
    return can;
}

static void act(Modes *m, const Note *note) {
    Build *b = m->b;
    bool press = note->verb == NOTE_PRESS;
    ask_for_mode(m, note->with->mode, note);
    for (uint32_t i = 0; i < note->parts.count; i++) {
        uint32_t part = build_part(b, note->parts.refs[i], note);
        bool fits = press ? can_be_pressed(b, part, note) : is_motor(b, part, note);
        if (!fits || said_before(m, note->verb, part, note->with->mode, note) != NULL) continue;
        BenchAct one = {part, note->with->mode, note};
        if (press)
            list_push(b->arena, &b->bench->presses, one);
        else
            list_push(b->arena, &b->bench->stalls, one);
    }
}

static Quantity share_of(const NoteDuty *duty) {
    Quantity on = duty->on.quantity, per = duty->per.quantity;
    if (duty->per.written.len == 0) return on;
    return quantity_within(on.value / per.value, on.low / per.high, fmin(1, on.high / per.low), UNIT_NONE);
}

static void duty(Modes *m, const Note *note) {
    Build *b = m->b;
    Text mode = note->duty->mode;
    ask_for_mode(m, mode, note);
    const Note *before = said_before(m, NOTE_DUTY, BENCH_NONE, mode, note);
    if (before == NULL)
        list_push(b->arena, &b->bench->duties, ((BenchDuty){mode, share_of(note->duty), note}));
    else if (apart(share_of(before->duty), share_of(note->duty)))
        clash(m, text_fmt(b->arena, "duty of %.*s", TEXT_ARG(mode)), "is said twice", before, note);
}

/* All duties together are at most all the time. */
static void check_duties(Build *b) {
    const Bench *bench = b->bench;
    const double rounding = 1e-9;
    double sum = 0;
    for (uint32_t i = 0; i < bench->duties.count; i++) sum += bench->duties.at[i].share.low;
    if (sum <= 1 + rounding || !build_conflict_listed(b)) return;
    uint32_t *lines = arena_many(b->scratch, uint32_t, bench->duties.count);
    for (uint32_t i = 0; i < bench->duties.count; i++) lines[i] = bench->duties.at[i].note->line;
    build_conflict(b, BENCH_MODES_CLASH, TEXT("modes:duties"),
                   text_fmt(b->arena, "the duties of all modes come to %.4g %% of the time", 100 * sum),
                   TEXT("say how long each mode lasts so that they come to 100 % at most"), lines, bench->duties.count);
}

static bool same_stages(const NoteGear *a, const NoteGear *b) {
    bool same = a->count == b->count;
    for (uint32_t i = 0; same && i < a->count; i++)
        same = a->stages[i].driving * b->stages[i].driven == b->stages[i].driving * a->stages[i].driven;
    return same;
}

static void gear(Modes *m, const Note *note) {
    Build *b = m->b;
    uint32_t part = build_part(b, note->gear.ref, note);
    if (!is_motor(b, part, note)) return;
    const Note *before = said_before(m, NOTE_GEAR, part, TEXT(""), note);
    if (before == NULL)
        list_push(b->arena, &b->bench->gears, ((BenchGear){part, &note->gear, note}));
    else if (!same_stages(&before->gear, &note->gear))
        clash(m, note->gear.ref, "is geared two ways", before, note);
}

/* Two rates are two recordings; two sizes of one memory are not. */
static void memory(Modes *m, const Note *note) {
    Build *b = m->b;
    uint32_t part = build_part(b, note->memory->ref, note);
    const Note *before = said_before(m, NOTE_MEMORY, part, TEXT(""), note);
    if (before != NULL && apart(before->memory->size.quantity, note->memory->size.quantity))
        clash(m, note->memory->ref, "has two sizes", before, note);
    else
        list_push(b->arena, &b->bench->memories, ((BenchMemory){part, note->memory, note}));
}

void build_modes(Build *b) {
    const Notebook *book = b->bench->notebook;
    Modes m = {.b = b, .names = names_new(b->scratch), .said = names_new(b->scratch)};
    uint32_t workings = 0;
    for (uint32_t i = 0; i < book->notes.count; i++)
        if (book->notes.at[i].verb == NOTE_MODE) declare(&m, &book->notes.at[i]);
    for (uint32_t i = 0; i < book->notes.count; i++) {
        const Note *note = &book->notes.at[i];
        if (note->verb < NOTE_DRIVE || note->verb > NOTE_MEMORY) continue;
        if (workings++ == BENCH_WORKINGS_MOST) {
            build_problem(b, note, TEXT("the notes say more of how it works than is worked out"),
                          TEXT("at most 4096 of drive, press, stall, duty, gear and memory"),
                          TEXT("this line and those after it do not count"));
            break;
        }
        if (note->verb == NOTE_DRIVE) drive(&m, note);
        if (note->verb == NOTE_PRESS || note->verb == NOTE_STALL) act(&m, note);
        if (note->verb == NOTE_DUTY) duty(&m, note);
        if (note->verb == NOTE_GEAR) gear(&m, note);
        if (note->verb == NOTE_MEMORY) memory(&m, note);
    }
    check_duties(b);
}

const BenchDrive *bench_drive(const Bench *bench, uint32_t pin, Text mode) {
    const BenchDrive *any = NULL;
    for (uint32_t i = 0; i < bench->drives.count; i++) {
        const BenchDrive *one = &bench->drives.at[i];
        if (one->pin != pin) continue;
        if (one->mode.len > 0 && text_same(one->mode, mode)) return one;
        if (one->mode.len == 0) any = one;
    }
    return any;
}
