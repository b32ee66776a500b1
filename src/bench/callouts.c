/* Callouts: what each `mark` points at, numbered photo by photo and side by side of a board. */
#include "bench/build.h"

/* The side of the board that is meant: said, or the only one with a photo, or the top. */
static BoardSide side_of(const Build *b, const Note *note) {
    BoardSide side = note->with->side == NOTE_SIDE_BOTTOM ? BOARD_BOTTOM : BOARD_TOP;
    uint32_t board = bench_board_of(b->bench, note);
    if (board != BENCH_NONE) build_side_of(b, board, note, &side);
    return side;
}

/* False, with a problem, when several boards could be meant. */
static bool place(Build *b, const Note *note, BenchCallout *callout) {
    const Bench *bench = b->bench;
    callout->note = note;
    callout->file = note->mark.file;
    if (callout->file.len > 0) return true;
    callout->board = note->with->board;
    callout->side = side_of(b, note);
    if (callout->board.len > 0) return true;
    if (bench->boards.count == 1) callout->board = bench->boards.at[0];
    if (callout->board.len == 0)
        build_problem(b, note, TEXT("which board or photo is meant?"), TEXT("mark A at 3.2,4.1 or mark door.jpg at 300,200"),
                      TEXT(""));
    return callout->board.len > 0;
}

void build_callouts(Build *b) {
    Bench *bench = b->bench;
    Names *pictures = names_new(b->scratch);
    LIST(uint32_t) counts = {0};
    for (uint32_t i = 0; i < bench->notebook->notes.count && bench->callouts.count < BENCH_CALLOUTS_MOST; i++) {
        const Note *note = &bench->notebook->notes.at[i];
        BenchCallout callout = {0};
        if (note->verb != NOTE_MARK || !place(b, note, &callout)) continue;
        /* a line's end is in no name */
        Text picture = callout.file.len > 0 ? callout.file
                                            : text_fmt(b->scratch, "%.*s\n%d", TEXT_ARG(callout.board), (int)callout.side);
        uint32_t number = names_add(pictures, picture);
        if (number == counts.count) list_push(b->scratch, &counts, 0);
        callout.number = ++counts.at[number];
        list_push(b->arena, &bench->callouts, callout);
    }
}
