/* What is said about the product as a whole and about each part: package, marking, value, and what it is. */
#include "report/words.h"

#include <math.h>

enum { CLOSE_CALL = 6 }; /* dB: a reading this near to the best is told with it (a factor of four) */

/* `"J3Y"`; `illegible` when noted as nothing legible; empty when not noted. */
static Text part_marking(Arena *arena, const BenchPart *part) {
    if (!part->has_marking) return (Text){"", 0};
    return part->marking.len == 0 ? TEXT("illegible") : text_fmt(arena, "\"%.*s\"", TEXT_ARG(part->marking));
}

static Text part_value(Arena *arena, const BenchPart *part) {
    Out out = out_new(arena);
    Text written = part->note == NULL ? TEXT("") : part->note->part->cell;
    Text cell = written.len > 0 ? written : part->cell->designation;
    if (part->cell_count > 1 || (part->cell_count == 1 && cell.len > 0))
        out_fmt(&out, "%u x %.*s", part->cell_count, TEXT_ARG(cell));
    if (part->has_value) {
        if (out.len > 0) out_lit(&out, ", ");
        quantity_print(&out, part->value);
    }
    if (part->rating.value != 0) {
        if (out.len > 0) out_lit(&out, ", ");
        quantity_print(&out, part->rating);
    }
    return out_text(&out);
}

static void also(Out *out, const char *between, Text text) {
    if (text.len == 0) return;
    if (out->len > 0) out_add(out, text_of(between));
    out_add(out, text);
}

/* A marking's best reading, and those about as likely, each with its share where there are several. */
static void say_readings(Out *out, Arena *arena, const MarkReadings *readings) {
    bool several = readings->count > 1 && readings->at[0].decibans - readings->at[1].decibans <= CLOSE_CALL;
    for (uint32_t i = 0; i < readings->count; i++) {
        if (readings->at[0].decibans - readings->at[i].decibans > CLOSE_CALL) continue;
        also(out, ", or ", readings->at[i].says);
        if (several) out_fmt(out, " (%.*s)", TEXT_ARG(words_probability(arena, mark_share(*readings, i))));
    }
}

static void say_shelf(Out *out, const BenchPart *part) {
    const ShelfPart *shelf = part->shelf;
    also(out, "", shelf->name);
    also(out, ", ", shelf->about);
    if (part->shelf_match.differs.len > 0) out_fmt(out, " (%.*s)", TEXT_ARG(part->shelf_match.differs));
}

/* What the marking says; `perhaps` unless a claim makes it likelier than not. Empty when it says nothing. */
static Text marking_says(Arena *arena, const BenchPart *part, const ReasonClaim *claim) {
    Out out = out_new(arena);
    if (part->shelf != NULL)
        say_shelf(&out, part);
    else if (part->marking.len > 0)
        say_readings(&out, arena, &part->readings);
    if (out.len == 0 || (claim != NULL && claim->p >= 0.5)) return out_text(&out);
    return text_fmt(arena, "perhaps %.*s", TEXT_ARG(out_text(&out)));
}

/* In few words, since reference, package, marking and value stand beside it. */
static Text part_is(Arena *arena, const BenchPart *part, const ReasonClaim *claim) {
    Out out = out_new(arena);
    also(&out, "", marking_says(arena, part, claim));
    if (part->cell_count > 0 && part->cell->designation.len > 0)
        also(&out, "; ",
             text_fmt(arena, "%.*s, %.*s each", TEXT_ARG(part->cell->chemistry),
                      TEXT_ARG(words_quantity(arena, part->cell->volts))));
    also(&out, "; ", part->remark);
    return out_text(&out);
}

StoryPart story_part(Arena *arena, const Bench *bench, uint32_t number, const ReasonClaim *claim) {
    const BenchPart *part = &bench->parts.at[number];
    return (StoryPart){.part = number,
                       .package = part->package_name,
                       .marking = part_marking(arena, part),
                       .value = part_value(arena, part),
                       .is = part_is(arena, part, claim),
                       .claim = claim};
}

/* ---- the product ---- */

static void say_bought(Out *out, const Note *note) {
    const NoteBought *bought = &note->bought;
    out_fmt(out, " Bought %.*s", TEXT_ARG(bought->date));
    if (!isnan(bought->price))
        out_fmt(out, " for %.*f %.*s", bought->price == floor(bought->price) ? 0 : 2, bought->price,
                TEXT_ARG(bought->currency));
    if (note->with->remark.len > 0) out_fmt(out, ", %.*s", TEXT_ARG(note->with->remark));
    out_char(out, '.');
}

static void say_rated(Out *out, const Note *note) {
    out_lit(out, " Its label says");
    for (uint32_t i = 0; i < note->rated.count; i++)
        out_fmt(out, "%s%.*s", i == 0 ? " " : ", ", TEXT_ARG(note->rated.items[i].written));
    if (note->with->remark.len > 0)
        out_fmt(out, "%s \"%.*s\"", note->rated.count > 0 ? "," : "", TEXT_ARG(note->with->remark));
    out_char(out, '.');
}

static void say_board(Out *out, const Note *note) {
    const NoteBoard *board = note->board;
    out_fmt(out, " Board %.*s", TEXT_ARG(board->name));
    if (board->size.len > 0) out_fmt(out, " is %.*s", TEXT_ARG(board->size));
    if (board->layers > 0)
        out_fmt(out, "%s %u layer%s", board->size.len > 0 ? "," : " has", board->layers, board->layers == 1 ? "" : "s");
    if (board->material.len > 0)
        out_fmt(out, "%s %.*s", board->size.len + board->layers > 0 ? " of" : " is of", TEXT_ARG(board->material));
    out_char(out, '.');
}

static void say_counts(Out *out, const Reasoning *reasoning) {
    const Bench *bench = reasoning->bench;
    uint32_t idioms = 0, nets = 0;
    for (uint32_t i = 0; i < reasoning->claims.count; i++) idioms += reasoning->claims.at[i].sort == REASON_IDIOM;
    for (uint32_t i = 0; i < bench->nets.count; i++) nets += bench->nets.at[i].pin_count > 1;
    out_fmt(out, " Noted so far: %u part%s on %u net%s, in %u line%s; %u circuit%s recognised.", bench->parts.count,
            bench->parts.count == 1 ? "" : "s", nets, nets == 1 ? "" : "s", bench->notebook->notes.count,
            bench->notebook->notes.count == 1 ? "" : "s", idioms, idioms == 1 ? " is" : "s are");
    if (bench->conflicts.count > 0)
        out_fmt(out, " %u contradiction%s to be settled.", bench->conflicts.count,
                bench->conflicts.count == 1 ? " is" : "s are");
}

/* `Household, wet room. Invented.` */
static void say_product(Out *out, Arena *arena, const Note *note) {
    const NoteProduct *product = &note->product;
    for (uint32_t i = 0; i < product->tag_count; i++)
        out_fmt(out, "%s%.*s", i == 0 ? "" : ", ",
                TEXT_ARG(i == 0 ? words_capital(arena, product->tags[i]) : product->tags[i]));
    if (product->tag_count > 0) out_char(out, '.');
    if (note->with->remark.len > 0)
        out_fmt(out, "%s%.*s", out->len > 0 ? " " : "",
                TEXT_ARG(words_sentence(arena, words_capital(arena, note->with->remark))));
}

Text story_product(Arena *arena, const Bench *bench) {
    Out out = out_new(arena);
    if (bench->product != NULL) say_product(&out, arena, bench->product);
    for (uint32_t i = 0; i < bench->notebook->notes.count; i++) {
        const Note *note = &bench->notebook->notes.at[i];
        if (note->verb == NOTE_BOUGHT) say_bought(&out, note);
        if (note->verb == NOTE_RATED) say_rated(&out, note);
    }
    return text_trim(out_text(&out));
}

Text story_intro(Arena *arena, const Reasoning *reasoning) {
    const Bench *bench = reasoning->bench;
    Out out = out_new(arena);
    out_add(&out, story_product(arena, bench));
    for (uint32_t i = 0; i < bench->notebook->notes.count; i++)
        if (bench->notebook->notes.at[i].verb == NOTE_BOARD) say_board(&out, &bench->notebook->notes.at[i]);
    say_counts(&out, reasoning);
    return text_trim(out_text(&out));
}
