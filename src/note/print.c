/* Notes as text again, in one spacing and order: the verb's own words, then on, at, in, by, sure, photo and the remark.
 * What was written as a quantity is printed as it was written, so that nothing is rounded; reading the line gives the same
 * note. */
#include "note/parser.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* At most 15 digits were read (text_decimal), which 15 digits give back; a small number in full, since no exponent is read.
 */
static void print_number(Out *out, double number) {
    char digits[64];
    snprintf(digits, sizeof digits, "%.15g", number);
    if (strchr(digits, 'e') != NULL) {
        int len = snprintf(digits, sizeof digits, "%.15f", number);
        while (digits[len - 1] == '0') digits[--len] = '\0';
        if (digits[len - 1] == '.') digits[len - 1] = '\0';
    }
    out_add(out, text_of(digits));
}

static void print_point(Out *out, NotePoint point) {
    print_number(out, point.x);
    out_char(out, ',');
    print_number(out, point.y);
}

static void print_points(Out *out, const NotePoint *points, uint32_t count) {
    for (uint32_t i = 0; i < count; i++) {
        out_char(out, ' ');
        print_point(out, points[i]);
    }
}

static void print_side(Out *out, NoteSide side) {
    if (side != NOTE_SIDE_UNSAID) out_add(out, side == NOTE_SIDE_TOP ? TEXT(" top") : TEXT(" bottom"));
}

static void print_word(Out *out, const char *before, Text word) {
    out_add(out, text_of(before));
    out_add(out, word);
}

static void print_said(Out *out, const char *before, Text said) {
    out_add(out, text_of(before));
    lex_print_string(out, said);
}

/* A file name as a word where the lexer gives it back as one. */
void note_file_print(Out *out, Text name) {
    Lexer lexer;
    lex_start(&lexer, name);
    if (lex_peek(&lexer).kind == LEX_WORD && lex_peek(&lexer).text.len == name.len)
        out_add(out, name);
    else
        lex_print_string(out, name);
}

void note_terminal_print(Out *out, NoteTerminal terminal) {
    out_add(out, terminal.part);
    if (terminal.pin.len > 0) print_word(out, ".", terminal.pin);
}

static void print_items(Out *out, NoteItems items) {
    for (uint32_t i = 0; i < items.count; i++) print_word(out, " ", items.items[i].written);
}

static void print_net(Out *out, const NoteNet *net) {
    if (net->name.len > 0) print_word(out, " ", net->name);
    for (uint32_t i = 0; i < net->count; i++) {
        out_char(out, ' ');
        note_terminal_print(out, net->terminals[i]);
    }
    print_points(out, net->places, net->place_count);
}

static void print_hole(Out *out, const NoteHole *hole) {
    if (hole->diameter.written.len > 0) print_word(out, " ", hole->diameter.written);
    if (hole->plating != NOTE_PLATING_UNSAID) out_add(out, hole->plating == NOTE_PLATED ? TEXT(" plated") : TEXT(" bare"));
}

static void print_drive(Out *out, const NoteDrive *drive) {
    out_char(out, ' ');
    note_terminal_print(out, drive->pin);
    print_word(out, " ", drive->value.written.len > 0 ? drive->value.written : note_level_name(drive->level));
    if (drive->duty.written.len > 0) print_word(out, " ", drive->duty.written);
}

static void print_duty(Out *out, const NoteDuty *duty) {
    print_word(out, " ", duty->mode);
    print_word(out, " ", duty->on.written);
    if (duty->per.written.len > 0) print_word(out, " per ", duty->per.written);
}

static void print_gear(Out *out, const NoteGear *gear) {
    print_word(out, " ", gear->ref);
    for (uint32_t i = 0; i < gear->count; i++) {
        out_char(out, ' ');
        print_number(out, gear->stages[i].driving);
        out_char(out, ':');
        print_number(out, gear->stages[i].driven);
    }
}

static void print_memory(Out *out, const NoteMemory *memory) {
    print_word(out, " ", memory->ref);
    print_word(out, " ", memory->size.written);
    if (memory->rate.written.len > 0) print_word(out, " at ", memory->rate.written);
    if (memory->sample.written.len > 0) print_word(out, " ", memory->sample.written);
}

static void print_bought(Out *out, const NoteBought *bought) {
    if (bought->date.len > 0) print_word(out, " ", bought->date);
    if (isnan(bought->price)) return;
    out_lit(out, " for ");
    print_number(out, bought->price);
    print_word(out, " ", bought->currency);
}

static void print_board(Out *out, const NoteBoard *board) {
    print_word(out, " ", board->name);
    if (board->size.len > 0) print_word(out, " ", board->size);
    if (board->layers > 0) out_fmt(out, " %u layer%s", board->layers, board->layers == 1 ? "" : "s");
    if (board->material.len > 0) print_word(out, " ", board->material);
}

static void print_photo(Out *out, const NotePhoto *photo) {
    if (photo->of.len > 0) print_word(out, " ", photo->of);
    print_side(out, photo->side);
    out_char(out, ' ');
    note_file_print(out, photo->file);
    if (!photo->has_corners) return;
    out_lit(out, " corners");
    print_points(out, photo->corners, 4);
}

static void print_at(Out *out, const NoteQualifiers *with) {
    if (!with->placed) return;
    out_lit(out, " at ");
    print_point(out, with->at);
}

/* The board first, as `cut A bottom at 3.2,4.1`; where that would be read otherwise, by `on`. */
static void print_where(Out *out, const NoteQualifiers *with) {
    if (with->board.len > 0) print_word(out, where_takes(with->board) ? " " : " on ", with->board);
    print_side(out, with->side);
}

static void print_place(Out *out, const NoteQualifiers *with) {
    if (with->board.len > 0) {
        print_word(out, " on ", with->board);
        print_side(out, with->side);
    }
    print_at(out, with);
}

/* The place stands right behind the words, as people say it. */
static void print_part(Out *out, const NotePart *part, const NoteQualifiers *with) {
    print_word(out, " ", part->ref);
    print_items(out, part->words);
    if (part->cell_count > 0) out_fmt(out, " %u x %.*s", part->cell_count, TEXT_ARG(part->cell));
    print_place(out, with);
    for (uint32_t i = 0; i < part->pin_count; i++) {
        print_word(out, " pin ", part->pins[i].pin);
        out_lit(out, " at ");
        print_point(out, part->pins[i].at);
    }
    if (part->has_turn) {
        out_lit(out, " turn ");
        print_number(out, part->turn);
    }
    if (part->has_marking) print_said(out, " marked ", part->marking);
}

static void print_reading(Out *out, const NoteReading *reading) {
    print_word(out, " ", reading->function);
    for (uint32_t i = 0; i < reading->terminal_count; i++) {
        out_char(out, i == 0 ? '(' : ',');
        note_terminal_print(out, reading->terminals[i]);
    }
    print_word(out, ") = ", reading->value.written);
}

static void print_claim(Out *out, const NoteClaim *claim) {
    out_char(out, ' ');
    note_terminal_print(out, claim->about);
    print_said(out, " ", claim->says);
}

static void print_step(Out *out, const NoteStep *step) {
    out_fmt(out, " %u", step->number);
    print_said(out, " ", step->what);
    if (step->tool.len > 0) print_said(out, " with ", step->tool);
}

static void print_product(Out *out, const NoteProduct *product) {
    print_said(out, " ", product->name);
    for (uint32_t i = 0; i < product->tag_count; i++) print_word(out, " ", product->tags[i]);
}

static void print_mark(Out *out, const NoteMark *mark, const NoteQualifiers *with) {
    if (mark->file.len > 0) {
        out_char(out, ' ');
        note_file_print(out, mark->file);
        print_place(out, with);
    } else {
        print_where(out, with);
        print_at(out, with);
    }
    print_said(out, " ", mark->says);
}

static void print_statement(Out *out, const Note *note) {
    switch (note->verb) {
    case NOTE_PRODUCT:
        print_product(out, &note->product);
        break;
    case NOTE_BOUGHT:
        print_bought(out, &note->bought);
        break;
    case NOTE_RATED:
        print_items(out, note->rated);
        break;
    case NOTE_STEP:
        print_step(out, &note->step);
        break;
    case NOTE_BOARD:
        print_board(out, note->board);
        break;
    case NOTE_PHOTO:
        print_photo(out, note->photo);
        break;
    case NOTE_PART:
        print_part(out, note->part, note->with);
        break;
    case NOTE_JOIN:
    case NOTE_APART:
    case NOTE_NET:
        print_net(out, &note->net);
        break;
    case NOTE_CUT:
    case NOTE_COPPER:
    case NOTE_BARE:
        print_where(out, note->with);
        print_at(out, note->with);
        break;
    case NOTE_BRIDGE:
    case NOTE_HIDDEN:
        print_where(out, note->with);
        print_points(out, note->points.at, note->points.count);
        print_at(out, note->with);
        break;
    case NOTE_HOLE:
        print_where(out, note->with);
        print_at(out, note->with);
        print_hole(out, note->hole);
        break;
    case NOTE_MODE:
        print_word(out, " ", note->mode);
        break;
    case NOTE_DRIVE:
        print_drive(out, note->drive);
        break;
    case NOTE_PRESS:
    case NOTE_STALL:
        for (uint32_t i = 0; i < note->parts.count; i++) print_word(out, " ", note->parts.refs[i]);
        break;
    case NOTE_DUTY:
        print_duty(out, note->duty);
        break;
    case NOTE_GEAR:
        print_gear(out, &note->gear);
        break;
    case NOTE_MEMORY:
        print_memory(out, note->memory);
        break;
    case NOTE_READ:
        print_reading(out, note->reading);
        break;
    case NOTE_CLAIM:
        print_claim(out, &note->claim);
        break;
    case NOTE_ASK:
        print_said(out, " ", note->ask);
        break;
    case NOTE_MARK:
        print_mark(out, &note->mark, note->with);
        break;
    case NOTE_LICENCE:
        print_said(out, " ", note->licence);
        break;
    case NOTE_STRIKE:
        out_fmt(out, " %u", note->strike);
        break;
    case NOTE_VERB_COUNT:
        break;
    }
}

/* Those that say the place among their own words. */
static bool prints_place(NoteVerb verb) {
    return verb == NOTE_PART || verb == NOTE_MARK || (verb >= NOTE_CUT && verb <= NOTE_BARE);
}

void note_print(Out *out, const Note *note) {
    const NoteQualifiers *with = note->with;
    out_add(out, note_verb_name(note->verb));
    print_statement(out, note);
    if (!prints_place(note->verb)) print_place(out, with);
    if (with->mode.len > 0) print_word(out, " in ", with->mode);
    if (with->by != NOTE_BY_UNSAID) print_word(out, " by ", note_source_name(with->by));
    if (!isnan(with->sure)) {
        out_lit(out, " sure ");
        out_fmt(out, "%.10g%%", with->sure * 100);
    }
    if (with->photo.len > 0) {
        out_lit(out, " photo ");
        note_file_print(out, with->photo);
    }
    if (with->remark.len > 0) print_said(out, " ", with->remark);
}
