/* Whether two notes say the same, field by field. Quantities are the same when they were written the same and read the
 * same. */
#include "note/parser.h"

#include <math.h>

static bool same_number(double a, double b) { return a == b || (isnan(a) && isnan(b)); }

static bool same_point(NotePoint a, NotePoint b) { return a.x == b.x && a.y == b.y; }

static bool same_terminal(NoteTerminal a, NoteTerminal b) { return text_same(a.part, b.part) && text_same(a.pin, b.pin); }

static bool same_quantity(const Quantity *a, const Quantity *b) {
    return a->value == b->value && a->low == b->low && a->high == b->high && a->last == b->last &&
           unit_same(a->unit, b->unit);
}

static bool same_said(const NoteQuantity *a, const NoteQuantity *b) {
    return text_same(a->written, b->written) && same_quantity(&a->quantity, &b->quantity);
}

bool qualifiers_same(const NoteQualifiers *a, const NoteQualifiers *b) {
    return a->by == b->by && a->placed == b->placed && a->side == b->side && same_number(a->sure, b->sure) && text_same(a->mode, b->mode) &&
           text_same(a->board, b->board) && text_same(a->photo, b->photo) && text_same(a->remark, b->remark) &&
           same_point(a->at, b->at);
}

static bool same_words(const NoteProduct *a, const NoteProduct *b) {
    if (a->tag_count != b->tag_count) return false;
    for (uint32_t i = 0; i < a->tag_count; i++)
        if (!text_same(a->tags[i], b->tags[i])) return false;
    return true;
}

static bool same_items(NoteItems a, NoteItems b) {
    if (a.count != b.count) return false;
    for (uint32_t i = 0; i < a.count; i++) {
        const NoteItem *x = &a.items[i], *y = &b.items[i];
        if (x->is_quantity != y->is_quantity || !text_same(x->written, y->written)) return false;
        if (x->is_quantity && !same_quantity(&x->quantity, &y->quantity)) return false;
    }
    return true;
}

static bool same_points(const NotePoint *a, const NotePoint *b, uint32_t count) {
    for (uint32_t i = 0; i < count; i++)
        if (!same_point(a[i], b[i])) return false;
    return true;
}

static bool same_hole(const NoteHole *a, const NoteHole *b) {
    return a->plating == b->plating && same_said(&a->diameter, &b->diameter);
}

static bool same_net(const NoteNet *a, const NoteNet *b) {
    if (a->count != b->count || a->place_count != b->place_count || !text_same(a->name, b->name)) return false;
    if (!same_points(a->places, b->places, a->place_count)) return false;
    for (uint32_t i = 0; i < a->count; i++)
        if (!same_terminal(a->terminals[i], b->terminals[i])) return false;
    return true;
}

static bool same_board(const NoteBoard *a, const NoteBoard *b) {
    return text_same(a->name, b->name) && text_same(a->size, b->size) && same_quantity(&a->width, &b->width) &&
           same_quantity(&a->height, &b->height) && a->layers == b->layers && text_same(a->material, b->material);
}

static bool same_photo(const NotePhoto *a, const NotePhoto *b) {
    if (!text_same(a->of, b->of) || a->side != b->side || !text_same(a->file, b->file)) return false;
    return a->has_corners == b->has_corners && same_points(a->corners, b->corners, 4);
}

static bool same_part(const NotePart *a, const NotePart *b) {
    if (!text_same(a->ref, b->ref) || !same_items(a->words, b->words) || a->pin_count != b->pin_count) return false;
    for (uint32_t i = 0; i < a->pin_count; i++)
        if (!text_same(a->pins[i].pin, b->pins[i].pin) || !same_point(a->pins[i].at, b->pins[i].at)) return false;
    return a->cell_count == b->cell_count && text_same(a->cell, b->cell) && a->has_turn == b->has_turn &&
           a->turn == b->turn && a->has_marking == b->has_marking && text_same(a->marking, b->marking);
}

static bool same_reading(const NoteReading *a, const NoteReading *b) {
    if (!text_same(a->function, b->function) || a->terminal_count != b->terminal_count) return false;
    for (uint32_t i = 0; i < a->terminal_count; i++)
        if (!same_terminal(a->terminals[i], b->terminals[i])) return false;
    return same_said(&a->value, &b->value);
}

static bool same_drive(const NoteDrive *a, const NoteDrive *b) {
    return same_terminal(a->pin, b->pin) && a->level == b->level && same_said(&a->value, &b->value) &&
           same_said(&a->duty, &b->duty);
}

static bool same_refs(NoteRefs a, NoteRefs b) {
    if (a.count != b.count) return false;
    for (uint32_t i = 0; i < a.count; i++)
        if (!text_same(a.refs[i], b.refs[i])) return false;
    return true;
}

static bool same_gear(const NoteGear *a, const NoteGear *b) {
    if (!text_same(a->ref, b->ref) || a->count != b->count) return false;
    for (uint32_t i = 0; i < a->count; i++)
        if (a->stages[i].driving != b->stages[i].driving || a->stages[i].driven != b->stages[i].driven) return false;
    return true;
}

static bool same_memory(const NoteMemory *a, const NoteMemory *b) {
    return text_same(a->ref, b->ref) && same_said(&a->size, &b->size) && same_said(&a->rate, &b->rate) &&
           same_said(&a->sample, &b->sample);
}

bool note_same(const Note *a, const Note *b) {
    if (a->verb != b->verb || !qualifiers_same(a->with, b->with)) return false;
    switch (a->verb) {
    case NOTE_PRODUCT:
        return text_same(a->product.name, b->product.name) && same_words(&a->product, &b->product);
    case NOTE_BOUGHT:
        return text_same(a->bought.date, b->bought.date) && same_number(a->bought.price, b->bought.price) &&
               text_same(a->bought.currency, b->bought.currency);
    case NOTE_RATED:
        return same_items(a->rated, b->rated);
    case NOTE_STEP:
        return a->step.number == b->step.number && text_same(a->step.what, b->step.what) &&
               text_same(a->step.tool, b->step.tool);
    case NOTE_BOARD:
        return same_board(a->board, b->board);
    case NOTE_PHOTO:
        return same_photo(a->photo, b->photo);
    case NOTE_PART:
        return same_part(a->part, b->part);
    case NOTE_JOIN:
    case NOTE_APART:
    case NOTE_NET:
        return same_net(&a->net, &b->net);
    case NOTE_CUT:
    case NOTE_COPPER:
    case NOTE_BARE:
        return true; /* the place is a qualifier */
    case NOTE_BRIDGE:
    case NOTE_HIDDEN:
        return a->points.count == b->points.count && same_points(a->points.at, b->points.at, a->points.count);
    case NOTE_HOLE:
        return same_hole(a->hole, b->hole);
    case NOTE_MODE:
        return text_same(a->mode, b->mode);
    case NOTE_DRIVE:
        return same_drive(a->drive, b->drive);
    case NOTE_PRESS:
    case NOTE_STALL:
        return same_refs(a->parts, b->parts);
    case NOTE_DUTY:
        return text_same(a->duty->mode, b->duty->mode) && same_said(&a->duty->on, &b->duty->on) &&
               same_said(&a->duty->per, &b->duty->per);
    case NOTE_GEAR:
        return same_gear(&a->gear, &b->gear);
    case NOTE_MEMORY:
        return same_memory(a->memory, b->memory);
    case NOTE_READ:
        return same_reading(a->reading, b->reading);
    case NOTE_CLAIM:
        return same_terminal(a->claim.about, b->claim.about) && text_same(a->claim.says, b->claim.says);
    case NOTE_ASK:
        return text_same(a->ask, b->ask);
    case NOTE_MARK:
        return text_same(a->mark.file, b->mark.file) && text_same(a->mark.says, b->mark.says);
    case NOTE_LICENCE:
        return text_same(a->licence, b->licence);
    case NOTE_STRIKE:
        return a->strike == b->strike;
    case NOTE_VERB_COUNT:
        break;
    }
    return false;
}
