/* A part about to be placed: its outline as the lore has it, and the two pins by which it is placed, as far from each other
 * as can be. The note so far is read as it would be in the notebook, so that what is drawn is what the note will mean. */
#include "page/inside.h"

#include <math.h>

static json_t *rounded(double value) { return json_real(round(value * 1e3) / 1e3); }

/* The part of the notes given, one line each; NULL: they are no `part` note. */
static const BenchPart *part_of(Call *call, Text notes, const Bench **bench) {
    const ReportKnowledge *knows = &call->model->teardown.knows;
    const Notebook *book = note_read(call->arena, TEXT(""), notes);
    if (book->notes.count == 0 || book->notes.at[0].verb != NOTE_PART) return NULL;
    Bench *built = bench_build(call->arena, book, (BenchKnows){.kinds = knows->kinds, .marks = knows->marks});
    *bench = built;
    return &built->parts.at[0];
}

/* Whether the notes could speak of the outline's pins by their numbers. */
static bool numbers_known(Call *call, Text note, const BenchPart *part) {
    Out notes = out_new(call->arena);
    out_add(&notes, note);
    out_char(&notes, '\n');
    for (uint32_t i = 0; i < part->package->pin_count; i++)
        if (!bench_is_pad_name(call->model->teardown.knows.kinds, part->package->pins[i].number))
            out_fmt(&notes, "net P%u %.*s.%.*s\n", i, TEXT_ARG(part->ref), TEXT_ARG(part->package->pins[i].number));
    const Bench *bench = NULL;
    if (part_of(call, out_text(&notes), &bench) == NULL) return false;
    for (uint32_t i = 0; i < bench->conflicts.count; i++)
        if (bench->conflicts.at[i].kind == BENCH_NO_SUCH_PIN) return false;
    return true;
}

/* The two pins that place it: the first, and the one farthest from that. */
static json_t *ends_of(const BenchKinds *kinds, const MarkPackage *package) {
    uint32_t first = 0, last = 0;
    double most = -1;
    while (first + 1 < package->pin_count && bench_is_pad_name(kinds, package->pins[first].number)) first++;
    for (uint32_t i = 0; i < package->pin_count; i++) {
        double far = hypot(package->pins[i].x - package->pins[first].x, package->pins[i].y - package->pins[first].y);
        if (far > most && !bench_is_pad_name(kinds, package->pins[i].number)) most = far, last = i;
    }
    return json_pack("[ii]", (int)first, (int)last);
}

static void put_outline(Call *call, json_t *object, Text note, const BenchPart *part) {
    const MarkPackage *package = part->package;
    const BenchKind *kind = part->kind;
    bool own =
        kind->pin_count == 2 && package->pin_count == 2 && !numbers_known(call, note, part); /* A and K, no numbers */
    json_t *pins = json_array();
    for (uint32_t i = 0; i < package->pin_count; i++) {
        json_t *pin = json_array();
        json_array_append_new(pin, json_of_text(own ? kind->pins[i] : package->pins[i].number));
        json_array_append_new(pin, rounded(package->pins[i].x));
        json_array_append_new(pin, rounded(package->pins[i].y));
        json_array_append_new(pins, pin);
    }
    json_put_text(object, "package", package->name);
    json_put(object, "through", json_boolean(package->through_hole));
    json_put(object, "round", json_boolean(text_is(package->style, "radial") || text_is(package->style, "can")));
    json_put(object, "size", json_pack("[oo]", rounded(package->size_x), rounded(package->size_y)));
    json_put(object, "pins", pins);
    json_put(object, "ends", ends_of(call->model->teardown.knows.kinds, package));
}

/* Without an outline two pins of the kind place it, or the first two. */
static void put_pins(json_t *object, const BenchKind *kind) {
    bool named = kind->pin_count > 1;
    json_t *pins = json_array();
    for (uint32_t i = 0; i < 2; i++) {
        json_t *pin = json_array();
        json_array_append_new(pin, named ? json_of_text(kind->pins[i]) : json_string(i == 0 ? "1" : "2"));
        json_array_append_new(pins, pin);
    }
    json_put_text(object, "package", TEXT(""));
    json_put(object, "through", json_true());
    json_put(object, "pins", pins);
    json_put(object, "ends", json_pack("[ii]", 0, 1));
}

/* A part that is noted already and of which this note says no package has the package it had. */
static const BenchPart *noted_before(Call *call, const BenchPart *part, Text *note) {
    const Bench *bench = call->model->teardown.bench;
    uint32_t number = bench_part(bench, part->ref);
    if (part->package != NULL || number == BENCH_NONE || bench->parts.at[number].package == NULL) return part;
    const BenchPart *before = &bench->parts.at[number];
    *note = text_fmt(call->arena, "part %.*s %.*s %.*s", TEXT_ARG(before->ref), TEXT_ARG(before->package->name),
                     TEXT_ARG(before->kind->name));
    return before;
}

void answer_outline(Call *call) {
    const Bench *bench = NULL;
    Text note = call_argument(call, "note");
    const BenchPart *part = call->model->open ? part_of(call, note, &bench) : NULL;
    json_t *object = json_object();
    json_put(object, "ok", json_boolean(part != NULL));
    if (part != NULL) {
        part = noted_before(call, part, &note);
        json_put_text(object, "ref", part->ref);
        json_put_text(object, "kind", part->kind->name);
        if (part->package != NULL && part->package->pin_count > 1)
            put_outline(call, object, note, part);
        else
            put_pins(object, part->kind);
    }
    json_finish(&call->out, object);
    call->answer->type = "application/json";
}
