/* The boards that have photos: which photos count, where their files are, and their copper. A photo that can't be used is a
 * problem with its line; all else goes on. */
#include "bench/build.h"

#include <string.h>

void build_problem(Build *b, const Note *note, Text message, Text expected, Text hint) {
    diag_add(
        &b->bench->problems,
        (Diag){.place = {b->bench->notebook->file, note->line, 0}, .message = message, .expected = expected, .hint = hint});
}

void build_ask(Build *b, BenchAsk ask) {
    if (b->bench->asks.count < BENCH_ASKS_MOST) list_push(b->arena, &b->bench->asks, ask);
}

Text bench_side_name(Arena *arena, const BenchBoard *board, BoardSide side) {
    return text_fmt(arena, "the %s of board %.*s", side == BOARD_TOP ? "top" : "bottom", TEXT_ARG(board->name));
}

/* ---- which board, which side ---- */

static uint32_t photographed(const Bench *bench, Text name) {
    for (uint32_t i = 0; i < bench->photographed.count; i++)
        if (text_same(bench->photographed.at[i].name, name)) return i;
    return BENCH_NONE;
}

uint32_t bench_board_of(const Bench *bench, const Note *note) {
    if (note->with->board.len > 0) return photographed(bench, note->with->board);
    return bench->boards.count == 1 ? photographed(bench, bench->boards.at[0]) : (uint32_t)BENCH_NONE;
}

bool build_side_of(const Build *b, uint32_t board, const Note *note, BoardSide *side) {
    const BenchBoard *at = &b->bench->photographed.at[board];
    *side = note->with->side == NOTE_SIDE_BOTTOM ? BOARD_BOTTOM : BOARD_TOP;
    if (note->with->side != NOTE_SIDE_UNSAID) return true;
    *side = at->photo[BOARD_TOP] != NULL ? BOARD_TOP : BOARD_BOTTOM;
    return at->photo[BOARD_TOP] == NULL || at->photo[BOARD_BOTTOM] == NULL;
}

/* ---- photos that count ---- */

static const Note *sized_board(const Bench *bench, Text name) {
    for (uint32_t i = 0; i < bench->notebook->notes.count; i++) {
        const Note *note = &bench->notebook->notes.at[i];
        if (note->verb == NOTE_BOARD && note->board->size.len > 0 && text_same(note->board->name, name)) return note;
    }
    return NULL;
}

static void add_photo(Build *b, const Note *note) {
    Bench *bench = b->bench;
    NoteSide said = note->photo->side != NOTE_SIDE_UNSAID ? note->photo->side : note->with->side;
    Text name = note->photo->of.len > 0 ? note->photo->of : note->with->board;
    if (said == NOTE_SIDE_UNSAID) return; /* a picture of the product, or of a board as a whole */
    if (name.len == 0 && bench->boards.count == 1) name = bench->boards.at[0];
    const Note *sized = sized_board(bench, name);
    if (sized == NULL) {
        Text size =
            text_fmt(b->arena, "a note such as: board %.*s 46.5 x 21.0 mm", TEXT_ARG(name.len > 0 ? name : TEXT("A")));
        build_problem(b, note, TEXT("nobody says how large this board is, so its copper can't be measured"), size,
                      TEXT(""));
        return;
    }
    uint32_t board = photographed(bench, name);
    if (board == BENCH_NONE) {
        if (bench->photographed.count == BENCH_BOARDS_MOST) {
            build_problem(b, note, TEXT("too many boards with photos: this one is left out"), TEXT("at most 16"), TEXT(""));
            return;
        }
        board = bench->photographed.count;
        list_push(b->arena, &bench->photographed, ((BenchBoard){.name = name, .note = sized}));
    }
    bench->photographed.at[board].photo[said == NOTE_SIDE_BOTTOM ? BOARD_BOTTOM : BOARD_TOP] = note;
}

/* ---- copper ---- */

/* What tracing complains of, with the line of the photo it is about. */
static void take_problems(Build *b, const BenchBoard *board, const BoardAsked *asked, const Diags *from) {
    for (uint32_t i = 0; i < from->list.count; i++) {
        Diag diag = from->list.at[i];
        for (BoardSide side = 0; side < BOARD_SIDES; side++) {
            const char *path = asked->face[side].photo;
            if (path == NULL || (diag.place.file.len > 0 && !text_is(diag.place.file, path))) continue;
            diag.message =
                text_fmt(b->arena, "%.*s: %.*s", TEXT_ARG(board->photo[side]->photo->file), TEXT_ARG(diag.message));
            diag.place = (Place){b->bench->notebook->file, board->photo[side]->line, 0};
            break;
        }
        diag_add(&b->bench->problems, diag);
    }
}

Text bench_photo_path(Arena *arena, const Bench *bench, Text file) {
    return text_fmt(arena, "%.*s/photos/%.*s", TEXT_ARG(bench->folder), TEXT_ARG(file));
}

/* The photos and the size; what the notes say of the copper is added to it. */
static BoardAsked asked_of(Arena *arena, const Bench *bench, const BenchBoard *board) {
    BoardAsked asked = {.width_mm = board->note->board->width.value * 1000,
                        .height_mm = board->note->board->height.value * 1000,
                        .cache = text_cstring(arena, text_fmt(arena, "%.*s/derived", TEXT_ARG(bench->folder)))};
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        const Note *photo = board->photo[side];
        if (photo == NULL) continue;
        BoardFaceAsked *face = &asked.face[side];
        face->photo = text_cstring(arena, bench_photo_path(arena, bench, photo->photo->file));
        face->has_corners = photo->photo->has_corners;
        for (int i = 0; i < 4; i++) face->corners[i] = (PlacePoint){photo->photo->corners[i].x, photo->photo->corners[i].y};
    }
    return asked;
}

bool bench_flat(Arena *arena, const Bench *bench, uint32_t board, BoardSide side, Flat *flat, Diags *problems) {
    const BenchBoard *at = &bench->photographed.at[board];
    BoardAsked asked = asked_of(arena, bench, at);
    *flat = (Flat){0};
    return at->copper.face[side].known && board_flat(&asked, &at->copper, side, flat, problems);
}

static void trace(Build *b, uint32_t number, BenchKnows knows) {
    BenchBoard *board = &b->bench->photographed.at[number];
    Diags problems = diags_new(b->arena);
    BoardAsked asked = asked_of(b->arena, b->bench, board);
    build_words(b, number, &asked);
    asked.keep = knows.keep;
    bool traced = (knows.trace != NULL ? knows.trace : board_trace)(b->arena, &asked, &board->copper, &problems);
    take_problems(b, board, &asked, &problems);
    if (!traced) return;
    board->pieces = board_pieces(b->arena, &board->copper);
    board->first_piece = b->pieces;
    b->pieces += board->pieces.count;
}

void build_photos(Build *b, BenchKnows knows) {
    Bench *bench = b->bench;
    if (knows.folder == NULL) return;
    for (uint32_t i = 0; i < bench->notebook->notes.count; i++)
        if (bench->notebook->notes.at[i].verb == NOTE_PHOTO) add_photo(b, &bench->notebook->notes.at[i]);
    build_words_without_board(b);
    if (bench->photographed.count == 0) return;
    build_spots(b);
    for (uint32_t i = 0; i < bench->photographed.count; i++) trace(b, i, knows);
    build_landings(b);
}

void bench_free(Bench *bench) {
    for (uint32_t i = 0; i < bench->photographed.count; i++) board_free(&bench->photographed.at[i].copper);
}
