/* What lights up together: all that touches one net, and the parts that some lines of the notes speak of. */
#include "page/inside.h"

#include <stdlib.h>

enum { TOLD_MOST = 2000 /* of each sort */ };

/* ---- what a note touches ---- */

typedef struct Ends { /* of a note */
    const NoteTerminal *at;
    uint32_t count;
} Ends;

static Ends ends_of(const Note *note) {
    switch (note->verb) {
    case NOTE_JOIN:
    case NOTE_APART:
    case NOTE_NET:
        return (Ends){note->net.terminals, note->net.count};
    case NOTE_READ:
        return (Ends){note->reading->terminals, note->reading->terminal_count};
    case NOTE_DRIVE:
        return (Ends){&note->drive->pin, 1};
    case NOTE_CLAIM:
        return (Ends){&note->claim.about, 1};
    default:
        return (Ends){0};
    }
}

/* The net that a terminal is on; BENCH_NONE for a part as a whole. */
static uint32_t net_of(Arena *arena, const Bench *bench, NoteTerminal end) {
    return bench_net(bench,
                     end.pin.len == 0 ? end.part : text_fmt(arena, "%.*s.%.*s", TEXT_ARG(end.part), TEXT_ARG(end.pin)));
}

/* A place on copper, as a join or a bridge names it. */
static bool place_is_on(const Bench *bench, const Note *note, NotePoint place, uint32_t net) {
    uint32_t number = bench_board_of(bench, note);
    if (number == BENCH_NONE) return false;
    const BenchBoard *board = &bench->photographed.at[number];
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        bool other =
            note->with->side != NOTE_SIDE_UNSAID && (note->with->side == NOTE_SIDE_BOTTOM) != (side == BOARD_BOTTOM);
        uint32_t at = other ? 0 : board_net_at(&board->copper, side, (PlacePoint){place.x, place.y});
        if (at != 0 && board->net[at] == net) return true;
    }
    return false;
}

static bool touches(Arena *arena, const Bench *bench, const Note *note, uint32_t net) {
    Ends ends = ends_of(note);
    for (uint32_t i = 0; i < ends.count; i++)
        if (net_of(arena, bench, ends.at[i]) == net) return true;
    if (note->verb == NOTE_NET && bench_net(bench, note->net.name) == net) return true;
    bool joins = note->verb == NOTE_JOIN || note->verb == NOTE_APART || note->verb == NOTE_NET;
    for (uint32_t i = 0; joins && i < note->net.place_count; i++)
        if (place_is_on(bench, note, note->net.places[i], net)) return true;
    for (uint32_t i = 0; note->verb == NOTE_BRIDGE && i < note->points.count; i++)
        if (place_is_on(bench, note, note->points.at[i], net)) return true;
    return false;
}

/* ---- one net ---- */

/* Whether the claim is about what the net joins: it names it, says what its pin must be, or the net joins two of its own
 * parts. What hangs on a ground or a supply has little to do with each other. */
static bool claim_touches(const Reasoning *reasoning, const ReasonClaim *claim, uint32_t net, const bool *on_net) {
    const BenchNet *at = &reasoning->bench->nets.at[net];
    uint32_t parts = 0;
    if (at->named && text_find(claim->says, at->name) != SIZE_MAX) return true;
    for (uint32_t i = 0; i < claim->role_count; i++)
        if (reasoning->bench->pins.at[claim->roles[i].pin].net == net) return true;
    if ((reasoning->ground != NULL && reasoning->ground[net]) || (reasoning->supply != NULL && reasoning->supply[net]))
        return false;
    for (uint32_t i = 0; i < claim->own_count; i++) parts += on_net[claim->about[i]];
    return parts > 1;
}

static void push(json_t *array, json_t *item) {
    if (json_array_size(array) < TOLD_MOST)
        json_array_append_new(array, item);
    else
        json_decref(item);
}

static json_t *claims_on(const Reasoning *reasoning, uint32_t net, const bool *on_net) {
    json_t *claims = json_array();
    for (uint32_t i = 0; i < reasoning->claims.count; i++)
        if (claim_touches(reasoning, &reasoning->claims.at[i], net, on_net))
            push(claims, json_of_text(reasoning->claims.at[i].id));
    return claims;
}

static void tell_net(Call *call, json_t *object, uint32_t net) {
    const Reasoning *reasoning = call->model->teardown.reasoning;
    const Bench *bench = reasoning->bench;
    const Notebook *book = bench->notebook;
    bool *on_net = arena_many(call->arena, bool, bench->parts.count + 1);
    json_t *pins = json_array(), *parts = json_array(), *lines = json_array();
    for (uint32_t i = 0; i < bench->nets.at[net].pin_count; i++) {
        uint32_t pin = bench->nets.at[net].pins[i], part = bench->pins.at[pin].part;
        push(pins, json_of_text(bench_pin_name(call->arena, bench, pin)));
        if (!on_net[part]) push(parts, json_of_text(bench->parts.at[part].ref));
        on_net[part] = true;
    }
    for (uint32_t i = 0; i < book->notes.count; i++)
        if (touches(call->arena, bench, &book->notes.at[i], net)) push(lines, json_integer(book->notes.at[i].line));
    json_put_text(object, "net", bench->nets.at[net].name);
    json_put(object, "pins", pins);
    json_put(object, "parts", parts);
    json_put(object, "lines", lines);
    json_put(object, "claims", claims_on(reasoning, net, on_net));
}

/* ---- some lines ---- */

static void add_part(const Bench *bench, json_t *parts, Text ref) {
    if (ref.len > 0 && bench_part(bench, ref) != BENCH_NONE) push(parts, json_of_text(ref));
}

static void add_parts(const Bench *bench, json_t *parts, const Note *note) {
    Ends ends = ends_of(note);
    for (uint32_t i = 0; i < ends.count; i++) add_part(bench, parts, ends.at[i].part);
    if (note->verb == NOTE_PART) add_part(bench, parts, note->part->ref);
    if (note->verb == NOTE_GEAR) add_part(bench, parts, note->gear.ref);
    if (note->verb == NOTE_MEMORY) add_part(bench, parts, note->memory->ref);
    for (uint32_t i = 0; (note->verb == NOTE_PRESS || note->verb == NOTE_STALL) && i < note->parts.count; i++)
        add_part(bench, parts, note->parts.refs[i]);
}

static json_t *parts_of_lines(Arena *arena, const Bench *bench, Text lines) {
    json_t *parts = json_array();
    while (lines.len > 0) {
        size_t end = text_find(lines, TEXT(" "));
        Text word = text_sub(lines, 0, end == SIZE_MAX ? lines.len : end);
        lines = text_sub(lines, word.len + 1, lines.len);
        enum { DIGITS_MOST = 9 };
        uint32_t line =
            word.len > DIGITS_MOST || !text_all_digits(word) ? 0 : (uint32_t)strtoul(text_cstring(arena, word), NULL, 10);
        const Note *note = note_of_line(bench->notebook, line);
        if (note != NULL) add_parts(bench, parts, note);
    }
    return parts;
}

void answer_light(Call *call) {
    const Bench *bench = call->model->open ? call->model->teardown.bench : NULL;
    Text net = call_argument(call, "net");
    uint32_t number = bench != NULL && net.len > 0 ? bench_net(bench, net) : BENCH_NONE;
    if (bench == NULL || (net.len > 0 && number == BENCH_NONE)) {
        call_refuse(call, 404, "No note tells of that net.");
        return;
    }
    json_t *object = json_object();
    if (net.len > 0)
        tell_net(call, object, number);
    else
        json_put(object, "parts", parts_of_lines(call->arena, bench, call_argument(call, "lines")));
    json_finish(&call->out, object);
    call->answer->type = "application/json";
}
