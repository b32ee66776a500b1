/* What the notes say of a board's copper: cuts, bridges, hidden places, holes and hints as they stand; `join` and `apart`
 * between places on it; and `apart` between pins that have places. Pins that the notes join need no word: their nets are
 * one by the note, whatever the copper shows, and a wire or a switch may be what joins them. */
#include "bench/build.h"

typedef struct Words {
    Build *b;
    uint32_t board;
    BoardAsked *asked;
    uint32_t *spot_of_pin; /* by pin: its first spot on this board, plus one */
    LIST(CopperWord) words[BOARD_SIDES];
    LIST(LayerHint) hints[BOARD_SIDES];
    LIST(BoardHoleAsked) holes;
} Words;

/* A guess says less than a photo. */
static bool outweighs_photo(const Note *note) { return note->with->by != NOTE_BY_GUESS; }

static bool by_meter(const Note *note) { return note->with->by == NOTE_BY_METER || note->with->by == NOTE_BY_SCOPE; }

static void add_word(Words *w, BoardSide side, const Note *note, CopperWordSort sort, const PlacePoint *at,
                     uint32_t count) {
    if (w->words[side].count == BENCH_WORDS_MOST) return;
    list_push(w->b->arena, &w->words[side],
              ((CopperWord){.sort = sort, .at = at, .count = count, .line = note->line, .meter = by_meter(note)}));
}

static PlacePoint *points_of(Words *w, const NotePoint *at, uint32_t count) {
    PlacePoint *points = arena_many(w->b->arena, PlacePoint, count);
    for (uint32_t i = 0; i < count; i++) points[i] = (PlacePoint){at[i].x, at[i].y};
    return points;
}

/* False, with a problem, when a side must be said. */
static bool side_said(Words *w, const Note *note, BoardSide *side) {
    if (build_side_of(w->b, w->board, note, side)) return true;
    Text name = w->b->bench->photographed.at[w->board].name;
    build_problem(w->b, note, TEXT("which side of the board is meant?"),
                  text_fmt(w->b->arena, "on %.*s top, or on %.*s bottom", TEXT_ARG(name), TEXT_ARG(name)), TEXT(""));
    return false;
}

/* ---- joined and apart ---- */

/* An end of a join or apart: a place said, or a pin's. */
typedef struct End {
    PlacePoint at;
    bool on[BOARD_SIDES];
    bool loose;
    uint32_t part; /* BENCH_NONE: a place */
} End;

typedef LIST(End) Ends;

static void pin_ends(Words *w, const Note *note, Ends *ends) {
    const Bench *bench = w->b->bench;
    for (uint32_t i = 0; i < note->net.count; i++) {
        NoteTerminal t = note->net.terminals[i];
        uint32_t part = t.pin.len == 0 ? (uint32_t)BENCH_NONE : bench_part(bench, t.part);
        uint32_t pin = part == BENCH_NONE ? (uint32_t)BENCH_NONE : build_pin(w->b, t, note);
        if (pin == BENCH_NONE || w->spot_of_pin[pin] == 0) continue;
        const PinSpot *spot = &w->b->spots.at[w->spot_of_pin[pin] - 1];
        list_push(w->b->scratch, ends,
                  ((End){spot->at, {spot->on[BOARD_TOP], spot->on[BOARD_BOTTOM]}, spot->loose, bench->pins.at[pin].part}));
    }
}

static bool place_ends(Words *w, const Note *note, Ends *ends) {
    BoardSide side;
    if (note->net.place_count == 0) return true;
    if (!side_said(w, note, &side)) return false;
    for (uint32_t i = 0; i < note->net.place_count; i++)
        list_push(w->b->scratch, ends,
                  ((End){{note->net.places[i].x, note->net.places[i].y},
                         {side == BOARD_TOP, side == BOARD_BOTTOM},
                         false,
                         BENCH_NONE}));
    return true;
}

/* Where a part fits either way round, its place does not tell which pin is meant; but both of its pins do mean both. */
static bool clear(const End *a, const End *b) { return (!a->loose && !b->loose) || a->part == b->part; }

static void pair(Words *w, const Note *note, CopperWordSort sort, const End *a, const End *b) {
    if (!clear(a, b)) return;
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        if (!a->on[side] || !b->on[side]) continue;
        PlacePoint *at = arena_many(w->b->arena, PlacePoint, 2);
        at[0] = a->at, at[1] = b->at;
        add_word(w, side, note, sort, at, 2);
    }
}

static void pair_ends(Words *w, const Note *note) {
    Ends ends = {0};
    bool apart = note->verb == NOTE_APART;
    if (!outweighs_photo(note) || (!apart && note->net.place_count == 0)) return;
    pin_ends(w, note, &ends);
    if (!place_ends(w, note, &ends)) return;
    for (uint32_t i = 0; i < ends.count && i < BENCH_WORDS_MOST; i++)
        for (uint32_t k = i + 1; k < ends.count && k < BENCH_WORDS_MOST; k++)
            if (apart || i == 0) pair(w, note, apart ? COPPER_APART : COPPER_JOINED, &ends.at[i], &ends.at[k]);
}

/* ---- the other verbs ---- */

static void add_hole(Words *w, const Note *note) {
    BoardHoleAsked hole = {.at = {note->with->at.x, note->with->at.y},
                           .diameter = note->hole->diameter.quantity.value * 1000,
                           .plating = note->hole->plating == NOTE_PLATED      ? BOARD_PLATED
                                      : note->hole->plating == NOTE_BARE_HOLE ? BOARD_BARE
                                                                              : BOARD_PLATING_UNSAID,
                           .line = note->line};
    if (w->holes.count < BENCH_WORDS_MOST) list_push(w->b->arena, &w->holes, hole);
}

static void add_said(Words *w, const Note *note) {
    BoardSide side;
    if (note->verb == NOTE_HOLE) {
        add_hole(w, note);
        return;
    }
    if (!side_said(w, note, &side)) return;
    NotePoint at = note->with->at;
    if (note->verb == NOTE_CUT)
        add_word(w, side, note, COPPER_CUT, points_of(w, &at, 1), 1);
    else if (note->verb == NOTE_BRIDGE || note->verb == NOTE_HIDDEN)
        add_word(w, side, note, note->verb == NOTE_BRIDGE ? COPPER_BRIDGE : COPPER_HIDDEN,
                 points_of(w, note->points.at, note->points.count), note->points.count);
    else if (w->hints[side].count < BENCH_WORDS_MOST)
        list_push(w->b->arena, &w->hints[side], ((LayerHint){{at.x, at.y}, note->verb == NOTE_COPPER}));
}

static bool of_copper(const Note *note) { return note->verb >= NOTE_CUT && note->verb <= NOTE_BARE; }

void build_words(Build *b, uint32_t board, BoardAsked *asked) {
    const Notebook *book = b->bench->notebook;
    Words w = {.b = b, .board = board, .asked = asked};
    w.spot_of_pin = arena_many(b->scratch, uint32_t, b->bench->pins.count + 1);
    for (uint32_t i = b->spots.count; i-- > 0;)
        if (b->spots.at[i].board == board) w.spot_of_pin[b->spots.at[i].pin] = i + 1;
    for (uint32_t i = 0; i < book->notes.count; i++) {
        const Note *note = &book->notes.at[i];
        bool pairs = note->verb == NOTE_JOIN || note->verb == NOTE_NET || note->verb == NOTE_APART;
        if (of_copper(note) && bench_board_of(b->bench, note) == board) add_said(&w, note);
        if (pairs && (note->net.place_count == 0 || bench_board_of(b->bench, note) == board)) pair_ends(&w, note);
    }
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        asked->face[side].words = w.words[side].at, asked->face[side].word_count = w.words[side].count;
        asked->face[side].hints = w.hints[side].at, asked->face[side].hint_count = w.hints[side].count;
    }
    asked->holes = w.holes.at, asked->hole_count = w.holes.count;
}

/* Places and verbs of the copper mean a board with a photo; without one they count for nothing, which is said. */
void build_words_without_board(Build *b) {
    const Notebook *book = b->bench->notebook;
    for (uint32_t i = 0; i < book->notes.count; i++) {
        const Note *note = &book->notes.at[i];
        bool pairs = note->verb == NOTE_JOIN || note->verb == NOTE_NET || note->verb == NOTE_APART;
        if (!of_copper(note) && !(pairs && note->net.place_count > 0)) continue;
        if (bench_board_of(b->bench, note) != BENCH_NONE) continue;
        build_problem(b, note, TEXT("no photo shows the copper of this board, so the place says nothing yet"),
                      TEXT("a board with a size and a photo of its top or bottom: photo A bottom FILE"),
                      note->with->board.len == 0 && b->bench->boards.count > 1 ? TEXT("which board? on A") : TEXT(""));
    }
}
