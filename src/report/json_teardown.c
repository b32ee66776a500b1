/* The whole teardown, and single answers, as JSON documents. */
#include "report/json.h"

#include <math.h>

static json_t *of_product(Arena *arena, const Bench *bench) {
    json_t *object = json_object(), *tags = json_array(), *rated = json_array();
    const Note *product = bench->product;
    for (uint32_t i = 0; product != NULL && i < product->product.tag_count; i++)
        json_array_append_new(tags, json_of_text(product->product.tags[i]));
    json_put_text(object, "name", product != NULL ? product->product.name : TEXT(""));
    json_put(object, "tags", tags);
    for (uint32_t i = 0; i < bench->notebook->notes.count; i++) {
        const Note *note = &bench->notebook->notes.at[i];
        if (note->verb == NOTE_BOUGHT) {
            json_put_text(object, "bought", note->bought.date);
            if (!isnan(note->bought.price)) json_put(object, "price", json_real(note->bought.price));
            if (!isnan(note->bought.price)) json_put_text(object, "currency", note->bought.currency);
        }
        for (uint32_t k = 0; note->verb == NOTE_RATED && k < note->rated.count; k++)
            json_array_append_new(rated, note->rated.items[k].is_quantity
                                             ? json_of_quantity(arena, note->rated.items[k].quantity)
                                             : json_of_text(note->rated.items[k].written));
    }
    json_put(object, "rated", rated);
    return object;
}

static json_t *of_pin(const Bench *bench, uint32_t number) {
    const BenchPin *pin = &bench->pins.at[number];
    json_t *object = json_object();
    json_put_text(object, "pin", pin->label);
    json_put_text(object, "function", pin->function);
    json_put_text(object, "net", bench->nets.at[pin->net].name);
    return object;
}

static json_t *of_part(Arena *arena, const Bench *bench, const StoryPart *row) {
    const BenchPart *part = &bench->parts.at[row->part];
    json_t *object = json_object(), *pins = json_array();
    for (uint32_t i = 0; i < part->pin_count; i++) json_array_append_new(pins, of_pin(bench, part->pins[i]));
    json_put_text(object, "ref", part->ref);
    json_put_text(object, "kind", part->kind->name);
    json_put_text(object, "package", part->package_name);
    json_put(object, "marking", part->has_marking ? json_of_text(part->marking) : json_null());
    json_put(object, "value", part->has_value ? json_of_quantity(arena, part->value) : json_null());
    json_put(object, "rating", part->rating.value != 0 ? json_of_quantity(arena, part->rating) : json_null());
    json_put_text(object, "is", row->is);
    json_put(object, "claim", row->claim != NULL ? json_of_text(row->claim->id) : json_null());
    json_put_text(object, "board", part->board);
    json_put(object, "pins", pins);
    json_put(object, "line", json_integer(part->line));
    return object;
}

static json_t *of_net(Arena *arena, const Bench *bench, const BenchNet *net) {
    json_t *object = json_object(), *pins = json_array();
    for (uint32_t i = 0; i < net->pin_count; i++)
        json_array_append_new(pins, json_of_text(bench_pin_name(arena, bench, net->pins[i])));
    json_put_text(object, "name", net->name);
    json_put(object, "named", json_boolean(net->named));
    json_put(object, "pins", pins);
    return object;
}

static json_t *of_conflict(Arena *arena, const Bench *bench, const BenchConflict *conflict) {
    json_t *object = json_object();
    json_put_text(object, "id", conflict->id);
    json_put_text(object, "kind", words_conflict(conflict->kind));
    json_put_text(object, "says", conflict->says);
    json_put_text(object, "settle", conflict->settle);
    json_put(object, "lines", json_of_lines_quoted(arena, bench->notebook, conflict->lines, conflict->line_count));
    return object;
}

static json_t *of_open(Arena *arena, const Notebook *notebook, const ReasonOpen *open) {
    json_t *object = json_object();
    json_put_text(object, "ask", open->ask);
    json_put(object, "claim", open->claim.len > 0 ? json_of_text(open->claim) : json_null());
    json_put(object, "bits", json_real(open->bits));
    json_put(object, "lines", json_of_lines_quoted(arena, notebook, open->lines, open->line_count));
    return object;
}

void report_json(Out *out, const Reasoning *reasoning) {
    Arena *arena = out->arena;
    const Bench *bench = reasoning->bench;
    const Story *story = story_of(arena, reasoning);
    json_t *document = json_answer();
    json_t *hazards = json_array(), *parts = json_array(), *nets = json_array(), *claims = json_array(),
           *conflicts = json_array(), *open = json_array();
    for (uint32_t i = 0; i < reasoning->hazards.count; i++)
        json_array_append_new(hazards, json_of_claim(arena, bench, &reasoning->hazards.at[i]));
    for (uint32_t i = 0; i < story->parts.count; i++)
        json_array_append_new(parts, of_part(arena, bench, &story->parts.at[i]));
    for (uint32_t i = 0; i < bench->nets.count; i++) json_array_append_new(nets, of_net(arena, bench, &bench->nets.at[i]));
    for (uint32_t i = 0; i < reasoning->claims.count; i++)
        json_array_append_new(claims, json_of_claim(arena, bench, &reasoning->claims.at[i]));
    for (uint32_t i = 0; i < bench->conflicts.count; i++)
        json_array_append_new(conflicts, of_conflict(arena, bench, &bench->conflicts.at[i]));
    for (uint32_t i = 0; i < reasoning->open.count; i++)
        json_array_append_new(open, of_open(arena, bench->notebook, &reasoning->open.at[i]));
    json_put(document, "product", of_product(arena, bench));
    json_put(document, "hazards", hazards);
    json_put(document, "parts", parts);
    json_put(document, "nets", nets);
    json_put(document, "boards", json_of_boards(arena, bench, story));
    json_put(document, "claims", claims);
    json_put(document, "contradictions", conflicts);
    json_put(document, "open", open);
    json_finish(out, document);
}

bool report_why_json(Out *out, const Reasoning *reasoning, Text what) {
    json_t *document = json_answer(), *found = json_array();
    StoryClaims claims = story_about(out->arena, reasoning, what);
    for (uint32_t i = 0; i < claims.count; i++)
        json_array_append_new(found, json_of_claim(out->arena, reasoning->bench, claims.at[i]));
    json_put_text(document, "asked", what);
    json_put(document, "claims", found);
    json_finish(out, document);
    return claims.count > 0 || what.len == 0 || story_is_part_or_pin(reasoning->bench, what);
}
