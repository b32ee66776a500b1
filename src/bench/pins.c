/* Which pins the notes name. Every spelling `U1.8` is looked up in one hash table; only a new spelling is worked out:
 *
 *   a number goes through the kind's numbering for the package, or the shelf's; a word through the kind's spellings or the
 *   shelf's functions. Either gives a slot, and two spellings with one slot are one pin: Q1.1 and Q1.B of an npn in SOT-23.
 *   A label that gives no slot is a pin of its own.
 *
 * Slots: the position among the kind's pins, or SLOT_SHELF + the index among the shelf part's pins. */
#include "bench/build.h"

#include <string.h>

enum { SLOT_SHELF = 1000 };

bool build_is_number(Text label, uint32_t *number) {
    uint64_t value = 0;
    for (size_t i = 0; i < label.len; i++) {
        if (label.at[i] < '0' || label.at[i] > '9') return false;
        value = value * 10 + (uint64_t)(label.at[i] - '0');
        if (value >= UINT32_MAX) value = UINT32_MAX - 1;
    }
    *number = (uint32_t)value;
    return label.len > 0;
}

/* ---- where a label stands ---- */

static const BenchNumbering *numbering_of(const BenchPart *part) {
    const BenchNumbering *any = bench_kind_numbering(part->kind, part->package_name), *found = any;
    const MarkPackage *package = part->package;
    if (package == NULL || (any != NULL && !text_is(any->package, "*"))) return any;
    found = bench_kind_numbering(part->kind, package->name);
    for (uint32_t i = 0; i < package->alias_count && (found == NULL || text_is(found->package, "*")); i++)
        found = bench_kind_numbering(part->kind, package->aliases[i]);
    return found;
}

/* The one pin of the shelf part with this number, or with this function if no other has it; -1. */
static int shelf_pin(const ShelfPart *shelf, Text label) {
    int found = -1;
    for (uint32_t i = 0; i < shelf->pin_count; i++)
        if (text_same_folded(shelf->pins[i].number, label)) return (int)i;
    for (uint32_t i = 0; i < shelf->pin_count; i++) {
        if (!text_same_folded(shelf->pins[i].function, label)) continue;
        if (found >= 0) return -1;
        found = (int)i;
    }
    return found;
}

/* The one pin of the shelf part that has this position in the kind; -1. */
static int shelf_pin_at(const BenchKinds *kinds, const BenchPart *part, int position) {
    int found = -1;
    for (uint32_t i = 0; i < part->shelf->pin_count; i++) {
        if (bench_kind_pin(kinds, part->kind, part->shelf->pins[i].function) != position) continue;
        if (found >= 0) return -1;
        found = (int)i;
    }
    return found;
}

static int kind_position(const BenchKinds *kinds, const BenchPart *part, Text label) {
    uint32_t number;
    const BenchNumbering *numbering = numbering_of(part);
    for (uint32_t i = 0; numbering != NULL && i < numbering->count; i++)
        if (text_same_folded(numbering->number[i], label)) return numbering->position[i];
    if (numbering != NULL && build_is_number(label, &number)) return -1;
    return bench_kind_pin(kinds, part->kind, label);
}

PinPlace build_pin_place(const BenchKinds *kinds, const BenchPart *part, Text label) {
    uint32_t number;
    bool numeric = build_is_number(label, &number);
    PinPlace place = {-1, kind_position(kinds, part, label), TEXT("")};
    place.slot = place.position;
    if (part->shelf != NULL && part->shelf->pin_count > 0) {
        int pin = shelf_pin(part->shelf, label);
        if (pin < 0 && place.position >= 0) pin = shelf_pin_at(kinds, part, place.position);
        if (pin >= 0) {
            place.slot = SLOT_SHELF + pin;
            place.function = part->shelf->pins[pin].function;
            int position = bench_kind_pin(kinds, part->kind, place.function);
            if (position >= 0 && !build_is_number(place.function, &number)) place.position = position;
        }
    }
    if (place.function.len == 0 && place.position >= 0) place.function = part->kind->pins[place.position];
    if (place.function.len == 0 && !numeric) place.function = label;
    if (build_is_number(place.function, &number)) place.function = TEXT("");
    return place;
}

/* ---- making parts and pins ---- */

static const MarkCell NO_CELL;

uint32_t build_part(Build *b, Text ref, const Note *note) {
    Bench *bench = b->bench;
    uint32_t index = names_add(bench->refs, ref);
    if (index < bench->parts.count) return index;
    BenchPart *part = list_add(b->arena, &bench->parts);
    list_push(b->scratch, &b->slotted, 0);
    part->ref = ref;
    part->line = note->line;
    part->cell = &NO_CELL;
    part->kind = bench_kind_of_ref(bench->kinds, ref);
    part->kind_why =
        (BenchFact){TEXT("its reference letters say so"), bench_weight(bench->kinds, BENCH_WEIGHT_LETTERS), &note->line, 1};
    if (part->kind->parent == NULL) part->kind_why = (BenchFact){TEXT("nothing tells"), 0, &note->line, 1};
    part->pins_has = part->kind->others ? 0 : part->kind->pin_count;
    return index;
}

static uint32_t pin_in_slot(Build *b, uint32_t part, int slot) {
    uint32_t next = slot < 0 ? 0 : b->slotted.at[part];
    while (next != 0 && b->bench->joins->pins.at[next - 1].slot != slot) next = b->next_slotted.at[next - 1];
    return next == 0 ? (uint32_t)BENCH_NONE : next - 1;
}

/* `U1.8` as it stands in the note: part and pin point into one word. */
static Text whole_of(Build *b, NoteTerminal t) {
    if (t.part.at + t.part.len + 1 == t.pin.at && t.part.at[t.part.len] == '.')
        return (Text){t.part.at, t.part.len + 1 + t.pin.len};
    return text_fmt(b->arena, "%.*s.%.*s", TEXT_ARG(t.part), TEXT_ARG(t.pin));
}

uint32_t build_pin(Build *b, NoteTerminal t, const Note *note) {
    Bench *bench = b->bench;
    struct BenchJoins *joins = bench->joins;
    uint32_t spelling = names_add(joins->spelled, whole_of(b, t));
    if (spelling < joins->pin_of_spelling.count) return joins->pin_of_spelling.at[spelling];
    uint32_t part = build_part(b, t.part, note);
    PinPlace place = build_pin_place(bench->kinds, &bench->parts.at[part], t.pin);
    uint32_t pin = pin_in_slot(b, part, place.slot);
    if (pin == BENCH_NONE) {
        pin = bench->pins.count;
        list_push(b->arena, &bench->pins,
                  ((BenchPin){.part = part,
                              .label = t.pin,
                              .function = place.function,
                              .position = place.position,
                              .net = BENCH_NONE,
                              .line = note->line}));
        list_push(b->arena, &joins->pins, ((JoinPin){place.slot, spelling}));
        list_push(b->scratch, &b->next_slotted, place.slot < 0 ? 0 : b->slotted.at[part]);
        if (place.slot >= 0) b->slotted.at[part] = pin + 1;
        bench->parts.at[part].pin_count++;
    }
    list_push(b->arena, &joins->pin_of_spelling, pin);
    return pin;
}

static uint32_t node_of(Build *b, NoteTerminal t, const Note *note) {
    return t.pin.len > 0 ? build_pin(b, t, note) : NODE_BARE | names_add(b->bare, t.part);
}

/* ---- statements into nodes ---- */

static void add_statement(Build *b, Statements *statements, uint32_t index, const NoteTerminal *terminals, uint32_t count,
                          Text name) {
    const Note *note = &b->bench->notebook->notes.at[index];
    Statement statement = {index, b->nodes.count, count};
    if (name.len > 0) {
        list_push(b->scratch, &b->nodes, NODE_NAME | names_add(b->bench->net_names, name));
        statement.count++;
    }
    for (uint32_t i = 0; i < count; i++) list_push(b->scratch, &b->nodes, node_of(b, terminals[i], note));
    for (uint32_t i = 0; note->verb != NOTE_READ && i < note->net.place_count; i++, statement.count++)
        list_push(b->scratch, &b->nodes, NODE_NONE); /* landed.c may know the copper there */
    list_push(b->scratch, statements, statement);
}

static void placed_pins(Build *b, const Note *note) {
    for (uint32_t i = 0; i < note->part->pin_count; i++)
        build_pin(b, (NoteTerminal){note->part->ref, note->part->pins[i].pin}, note);
}

/* ---- bare names ---- */

/* A reference by its look: letters that mean a kind, then digits. */
static bool looks_like_ref(const BenchKinds *kinds, Text name) {
    size_t digits = name.len;
    uint32_t number;
    while (digits > 0 && name.at[digits - 1] >= '0' && name.at[digits - 1] <= '9') digits--;
    return digits > 0 && build_is_number(text_sub(name, digits, name.len), &number) &&
           bench_kind_of_ref(kinds, name)->parent != NULL;
}

/* The kind's pin `position` of a part. */
static uint32_t own_pin(Build *b, uint32_t part, uint32_t position, const Note *note) {
    const BenchPart *p = &b->bench->parts.at[part];
    return build_pin(b, (NoteTerminal){p->ref, p->kind->pins[position]}, note);
}

/* A bare reference where a pin should stand. */
static void which_pin(Build *b, uint32_t part, const Note *note) {
    if (!build_conflict_listed(b)) return;
    const BenchPart *p = &b->bench->parts.at[part];
    uint32_t lines[] = {note->line};
    Text example = p->kind->pin_count > 0 ? p->kind->pins[0] : TEXT("1");
    Text says = text_fmt(b->arena, "line %u names %.*s, a part, where a pin belongs", note->line, TEXT_ARG(p->ref));
    build_conflict(b, BENCH_NO_SUCH_PIN, text_fmt(b->arena, "which-pin:%.*s", TEXT_ARG(p->ref)), says,
                   text_fmt(b->arena, "say the pin, such as %.*s.%.*s", TEXT_ARG(p->ref), TEXT_ARG(example)), lines, 1);
}

/* A bare name in join, apart or net: a net that `net` names, the only pin of a part, or else a net. */
static uint32_t joined_node(Build *b, uint32_t bare, const Note *note) {
    Bench *bench = b->bench;
    Text name = names_text(b->bare, bare);
    if (names_find(bench->net_names, name) != NAME_NONE) return NODE_NAME | names_find(bench->net_names, name);
    uint32_t part = names_find(bench->refs, name);
    if (part == NAME_NONE && looks_like_ref(bench->kinds, name) && bench_kind_of_ref(bench->kinds, name)->pin_count == 1)
        part = build_part(b, name, note);
    if (part == NAME_NONE) return NODE_NAME | names_add(bench->net_names, name);
    if (bench->parts.at[part].kind->pin_count == 1) return own_pin(b, part, 0, note);
    which_pin(b, part, note);
    return NODE_NONE;
}

/* A bare name in a reading: a net, or a part. */
static uint32_t read_node(Build *b, uint32_t bare, const Note *note) {
    Bench *bench = b->bench;
    Text name = names_text(b->bare, bare);
    if (names_find(bench->net_names, name) != NAME_NONE) return NODE_NAME | names_find(bench->net_names, name);
    uint32_t part = names_find(bench->refs, name);
    if (part == NAME_NONE && looks_like_ref(bench->kinds, name)) part = build_part(b, name, note);
    return part == NAME_NONE ? NODE_NAME | names_add(bench->net_names, name) : NODE_PART | part;
}

static void resolve_bare(Build *b, const Statements *statements, bool reading) {
    for (uint32_t i = 0; i < statements->count; i++) {
        const Statement *s = &statements->at[i];
        const Note *note = &b->bench->notebook->notes.at[s->note];
        for (uint32_t k = s->first; k < s->first + s->count; k++) {
            uint32_t node = b->nodes.at[k];
            if (node == NODE_NONE || (node & NODE_SORT) != NODE_BARE) continue;
            b->nodes.at[k] = reading ? read_node(b, node & ~NODE_SORT, note) : joined_node(b, node & ~NODE_SORT, note);
        }
    }
}

/* Volts and hertz are read on nets; of a part with two pins, across them: v(BT1). */
static bool read_on_nets(Text function) {
    return text_is(function, "v") || text_is(function, "f") || text_is(function, "duty");
}

static void resolve_parts_in_reads(Build *b) {
    for (uint32_t i = 0; i < b->reads.count; i++) {
        Statement *s = &b->reads.at[i];
        const Note *note = &b->bench->notebook->notes.at[s->note];
        bool volts = text_is(note->reading->function, "v");
        for (uint32_t k = s->first; k < s->first + s->count; k++) {
            if ((b->nodes.at[k] & NODE_SORT) != NODE_PART || b->nodes.at[k] == NODE_NONE) continue;
            uint32_t part = b->nodes.at[k] & ~NODE_SORT;
            const BenchKind *kind = b->bench->parts.at[part].kind;
            if (!read_on_nets(note->reading->function) && s->count == 1) continue;
            if (kind->pin_count == 1)
                b->nodes.at[k] = own_pin(b, part, 0, note);
            else if (volts && s->count == 1 && kind->pin_count == 2) {
                b->nodes.at[k] = own_pin(b, part, 0, note);
                b->nodes.at[k + 1] = own_pin(b, part, 1, note);
                s->count = 2;
                break;
            } else if (volts || s->count == 2) {
                which_pin(b, part, note);
                b->nodes.at[k] = NODE_NONE;
            }
        }
    }
}

enum { AHEAD = 2, AHEAD_PINS = 4 };

/* The slots of a note's pins are fetched while the notes before it are worked on: most of the time here is waiting for them. */
static void expect_pins(Build *b, const Note *note) {
    if (note->verb != NOTE_JOIN && note->verb != NOTE_NET && note->verb != NOTE_APART) return;
    for (uint32_t i = 0; i < note->net.count && i < AHEAD_PINS; i++)
        if (note->net.terminals[i].pin.len > 0) names_expect(b->bench->joins->spelled, whole_of(b, note->net.terminals[i]));
}

void build_pins(Build *b) {
    const Notebook *book = b->bench->notebook;
    for (uint32_t i = 0; i < book->notes.count; i++) {
        const Note *note = &book->notes.at[i];
        if (i + AHEAD < book->notes.count) expect_pins(b, note + AHEAD);
        switch (note->verb) {
        case NOTE_JOIN:
            add_statement(b, &b->joins, i, note->net.terminals, note->net.count, TEXT(""));
            break;
        case NOTE_NET:
            add_statement(b, &b->joins, i, note->net.terminals, note->net.count, note->net.name);
            break;
        case NOTE_APART:
            add_statement(b, &b->aparts, i, note->net.terminals, note->net.count, TEXT(""));
            break;
        case NOTE_READ:
            add_statement(b, &b->reads, i, note->reading->terminals, note->reading->terminal_count, TEXT(""));
            if (note->reading->terminal_count == 1)
                list_push(b->scratch, &b->nodes, NODE_NONE); /* room for the other end */
            break;
        case NOTE_PART:
            placed_pins(b, note);
            break;
        case NOTE_CLAIM:
            if (note->claim.about.pin.len > 0) build_pin(b, note->claim.about, note);
            break;
        case NOTE_DRIVE:
            build_pin(b, note->drive->pin, note);
            break;
        case NOTE_PRESS:
        case NOTE_STALL:
            for (uint32_t k = 0; k < note->parts.count; k++) build_part(b, note->parts.refs[k], note);
            break;
        case NOTE_GEAR:
            build_part(b, note->gear.ref, note);
            break;
        case NOTE_MEMORY:
            build_part(b, note->memory->ref, note);
            break;
        default:
            break;
        }
    }
    resolve_bare(b, &b->joins, false);
    resolve_bare(b, &b->aparts, false);
    resolve_bare(b, &b->reads, true);
    resolve_parts_in_reads(b);
}
