/* Part notes into drafts. A word is a kind, a package or a cell, whichever lore knows, in this order; each different word
 * is looked up once and remembered, since a board's notes say `0805` and `npn` over and over. A part described in several
 * notes has all that they say; where two say different things the first is taken and the conflict listed. */
#include "bench/build.h"

#include <string.h>

typedef struct WordMeaning {
    const BenchKind *kind;
    const MarkPackage *package;
    const MarkCell *cell;
} WordMeaning;

/* ---- words ---- */

static const MarkCell *cell_called(Build *b, Text word) {
    MarkCell cell;
    if (b->bench->marks == NULL || !mark_cell(b->arena, b->bench->marks, word, &cell)) return NULL;
    MarkCell *kept = arena_one(b->arena, MarkCell);
    *kept = cell;
    return kept;
}

/* Which known word is nearest to an unknown one: kinds, then packages. */
static Text hint_for(Build *b, Text word) {
    const Bench *bench = b->bench;
    size_t count = 0;
    const MarkPackage *packages = bench->marks == NULL ? NULL : mark_packages(bench->marks, &count);
    uint32_t kinds = bench_kind_count(bench->kinds);
    Text *known = arena_many(b->scratch, Text, kinds + count);
    for (uint32_t i = 0; i < kinds; i++) known[i] = bench_kind_at(bench->kinds, i)->name;
    for (size_t i = 0; i < count; i++) known[kinds + i] = packages[i].name;
    Text nearest = text_nearest(word, known, kinds + count);
    return nearest.len == 0 ? nearest : text_fmt(b->arena, "did you mean `%.*s`?", TEXT_ARG(nearest));
}

static void unknown_word(Build *b, const Note *note, Text word) {
    Diags *problems = &b->bench->problems;
    if (b->bench->marks == NULL) return; /* without the tables every package is unknown */
    if (problems->list.count >= DIAGS_MOST) {
        problems->left_out++;
        return;
    }
    diag_add(problems, (Diag){.place = {b->bench->notebook->file, note->line, 0},
                              .message = text_fmt(b->arena, "the lore knows no `%.*s`", TEXT_ARG(word)),
                              .expected = TEXT("a package, a kind of part, a cell or a quantity"),
                              .hint = hint_for(b, word)});
}

static WordMeaning meaning_of(Build *b, const Note *note, Text word) {
    uint32_t number = names_add(b->words, word);
    if (number < b->meanings.count) return b->meanings.at[number];
    WordMeaning meaning = {.kind = bench_kind(b->bench->kinds, word)};
    if (meaning.kind == NULL && b->bench->marks != NULL) meaning.package = mark_package(b->bench->marks, word);
    if (meaning.kind == NULL && meaning.package == NULL) meaning.cell = cell_called(b, word);
    if (meaning.kind == NULL && meaning.package == NULL && meaning.cell == NULL) unknown_word(b, note, word);
    list_push(b->scratch, &b->meanings, meaning);
    return meaning;
}

/* ---- drafts ---- */

/* One part, two notes that differ; or one note that says two things of it. */
static void described_twice(Build *b, const BenchPart *part, const Note *first, const Note *second, const char *what,
                            Text one, Text other) {
    if (!build_conflict_listed(b)) return;
    Arena *a = b->arena;
    uint32_t lines[] = {first->line, second->line};
    Text says = text_fmt(a, "%.*s has the %s %.*s in line %u, but %.*s in line %u", TEXT_ARG(part->ref), what,
                         TEXT_ARG(one), first->line, TEXT_ARG(other), second->line);
    build_conflict(b, BENCH_TWO_PARTS, text_fmt(a, "two-parts:%.*s:%s", TEXT_ARG(part->ref), what), says,
                   text_fmt(a, "look at %.*s again, and strike the wrong line", TEXT_ARG(part->ref)), lines, 2);
}

static void add_kind(Build *b, BenchPart *part, Draft *draft, const Note *note, const BenchKind *kind) {
    if (draft->said == NULL || (bench_kind_is(kind, draft->said) && kind != draft->said))
        draft->said = kind, draft->said_by = note;
    else if (!bench_kind_is(draft->said, kind))
        described_twice(b, part, draft->said_by, note, "kind", draft->said->name, kind->name);
}

static void add_package(Build *b, BenchPart *part, Draft *draft, const Note *note, const MarkPackage *package, Text word) {
    bool same = package != NULL ? package == part->package : text_same(word, part->package_name);
    bool better = draft->package_by == note && part->package == NULL && package != NULL;
    if (draft->package_by == NULL || better)
        part->package = package, part->package_name = word, draft->package_by = note;
    else if (!same)
        described_twice(b, part, draft->package_by, note, "package", part->package_name, word);
}

static void add_cell(Build *b, BenchPart *part, Draft *draft, const Note *note, uint32_t count, Text designation,
                     const MarkCell *cell) {
    bool same = draft->cell_by != NULL && part->cell_count == count &&
                (cell == NULL || part->cell->designation.len == 0 || text_same(cell->designation, part->cell->designation));
    if (draft->cell_by == NULL) {
        part->cell_count = count;
        if (cell != NULL) part->cell = cell;
        draft->cell_by = note;
    } else if (!same) {
        described_twice(b, part, draft->cell_by, note, "cells",
                        text_fmt(b->arena, "%u x %.*s", part->cell_count, TEXT_ARG(part->cell->designation)),
                        text_fmt(b->arena, "%u x %.*s", count, TEXT_ARG(designation)));
    }
}

static void add_quantity(Build *b, Draft *draft, const Note *note, const NoteItem *item) {
    if (unit_same(item->quantity.unit, UNIT_NONE) && text_ends(item->written, "%") && fabs(item->quantity.value) <= 1 &&
        item->quantity.low == item->quantity.high) {
        draft->tolerance = fabs(item->quantity.value);
        return;
    }
    if (draft->quantity_count == DRAFT_QUANTITIES_MOST) {
        diag_add(&b->bench->problems, (Diag){.place = {b->bench->notebook->file, note->line, 0},
                                             .message = TEXT("a part has at most four quantities; the others are left out"),
                                             .expected = TEXT("its value and what it is rated for"),
                                             .hint = TEXT("put the rest into the remark")});
        return;
    }
    draft->quantities[draft->quantity_count].item = item;
    draft->quantities[draft->quantity_count++].note = note;
}

static void add_marking(Build *b, BenchPart *part, Draft *draft, const Note *note) {
    Text marking = note->part->marking;
    if (part->has_marking && part->marking.len > 0 && marking.len > 0 && !text_same(part->marking, marking))
        described_twice(b, part, draft->marking_by, note, "marking", part->marking, marking);
    if (part->has_marking && part->marking.len > 0) return;
    part->has_marking = true;
    part->marking = marking;
    draft->marking_by = note;
}

static void describe(Build *b, const Note *note) {
    const NotePart *said = note->part;
    uint32_t index = build_part(b, said->ref, note);
    BenchPart *part = &b->bench->parts.at[index];
    if (index == b->drafts.count) (void)list_add(b->drafting, &b->drafts);
    Draft *draft = &b->drafts.at[index];
    if (part->note == NULL) part->note = note, part->line = note->line;
    if (part->board.len == 0) part->board = note->with->board;
    if (part->remark.len == 0) part->remark = note->with->remark;
    for (uint32_t i = 0; i < said->words.count; i++) {
        const NoteItem *item = &said->words.items[i];
        if (item->is_quantity) {
            add_quantity(b, draft, note, item);
            continue;
        }
        WordMeaning meaning = meaning_of(b, note, item->written);
        if (meaning.kind != NULL)
            add_kind(b, part, draft, note, meaning.kind);
        else if (meaning.cell != NULL)
            add_cell(b, part, draft, note, 1, item->written, meaning.cell);
        else if (meaning.package != NULL || draft->package_by == NULL)
            add_package(b, part, draft, note, meaning.package, item->written);
    }
    if (said->cell_count > 0)
        add_cell(b, part, draft, note, said->cell_count, said->cell, meaning_of(b, note, said->cell).cell);
    if (said->has_marking) add_marking(b, part, draft, note);
}

/* The year of purchase: no date code is later. */
static int year_of(Text date) {
    int year = 0;
    for (size_t i = 0; i < 4 && date.len >= 4; i++) year = year * 10 + (date.at[i] - '0');
    return year;
}

void build_describe(Build *b) {
    Bench *bench = b->bench;
    Names *boards = names_new(b->scratch);
    for (uint32_t i = 0; i < bench->notebook->notes.count; i++) {
        const Note *note = &bench->notebook->notes.at[i];
        if (note->verb == NOTE_PRODUCT && bench->product == NULL) bench->product = note;
        if (note->verb == NOTE_LICENCE) bench->licence = note;
        if (note->verb == NOTE_BOUGHT && b->year == 0) b->year = year_of(note->bought.date);
        if (note->verb == NOTE_BOARD)
            names_add(boards, note->board->name);
        else if (note->with->board.len > 0)
            names_add(boards, note->with->board);
        if (note->verb == NOTE_PART) describe(b, note);
    }
    for (uint32_t i = 0; i < names_count(boards); i++) list_push(b->arena, &bench->boards, names_text(boards, i));
}
