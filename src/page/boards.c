/* What the table shows over a picture: JSON of the pictures, of where each placed pin meets the copper and of what is in
 * doubt, with the notes that would answer it; and a side's copper as SVG, one path a net. Places are in the millimetres of
 * the picture as seen; those within notes are in the board's own, from the top. */
#include "page/inside.h"

#include "base/json.h"

#include <math.h>

#define XXH_INLINE_ALL
#include <xxhash.h>

static json_t *rounded(double value) { return json_real(round(value * 1e3) / 1e3); }

json_t *boards_place(PlacePoint at) {
    json_t *pair = json_array();
    json_array_append_new(pair, rounded(at.x));
    json_array_append_new(pair, rounded(at.y));
    return pair;
}

static json_t *of_matrix(const double *m) {
    json_t *array = json_array();
    for (int i = 0; i < 9; i++) json_array_append_new(array, json_real(m[i]));
    return array;
}

/* The bench's name of a board's net; empty where no pin and no name is on it. */
static Text net_name(const Bench *bench, const BenchBoard *board, uint32_t net) {
    uint32_t known = net == 0 || board->net == NULL ? (uint32_t)BENCH_NONE : board->net[net];
    return known == BENCH_NONE ? TEXT("") : bench->nets.at[known].name;
}

Text boards_net_name(Arena *arena, const Bench *bench, const BenchBoard *board, uint32_t net) {
    Text name = net_name(bench, board, net);
    return net == 0 || name.len > 0 ? name : text_fmt(arena, "copper %u of %.*s", net, TEXT_ARG(board->name));
}

static Text side_word(BoardSide side) { return side == BOARD_TOP ? TEXT("top") : TEXT("bottom"); }

/* ---- doubts ---- */

static Text doubt_note(Arena *arena, const BenchBoard *board, const BoardDoubt *doubt, bool joined) {
    Text side = side_word(doubt->side);
    if (doubt->hole)
        return text_fmt(arena, "hole %.*s at %.2f,%.2f %s", TEXT_ARG(board->name), doubt->at.x, doubt->at.y,
                        joined ? "plated" : "bare");
    return text_fmt(arena, "%s %.2f,%.2f %.2f,%.2f on %.*s %.*s", joined ? "join" : "apart", doubt->a.x, doubt->a.y,
                    doubt->b.x, doubt->b.y, TEXT_ARG(board->name), TEXT_ARG(side));
}

static json_t *of_doubt(Arena *arena, const Bench *bench, const BenchBoard *board, const BoardDoubt *doubt) {
    json_t *object = json_object();
    json_put(object, "at", boards_place(board_to_face(&board->copper, doubt->side, doubt->at)));
    json_put(object, "a", boards_place(board_to_face(&board->copper, doubt->side, doubt->a)));
    json_put(object, "b", boards_place(board_to_face(&board->copper, doubt->side, doubt->b)));
    json_put(object, "p", rounded(doubt->p_joined));
    json_put_text(object, "looks", doubt->looks);
    json_put_text(object, "net_a", net_name(bench, board, doubt->net_a));
    json_put_text(object, "net_b", net_name(bench, board, doubt->net_b));
    json_put_text(object, "joined", doubt_note(arena, board, doubt, true));
    json_put_text(object, "apart", doubt_note(arena, board, doubt, false));
    return object;
}

static json_t *of_doubts(Arena *arena, const Bench *bench, const BenchBoard *board, BoardSide side) {
    json_t *array = json_array();
    for (uint32_t i = 0; i < board->copper.doubts.count; i++)
        if (board->copper.doubts.at[i].side == side)
            json_array_append_new(array, of_doubt(arena, bench, board, &board->copper.doubts.at[i]));
    return array;
}

/* ---- pins ---- */

static json_t *of_pads(Arena *arena, const Bench *bench, uint32_t number, BoardSide side) {
    const BenchBoard *board = &bench->photographed.at[number];
    json_t *array = json_array();
    for (uint32_t i = 0; i < bench->pads.count; i++) {
        const BenchPad *pad = &bench->pads.at[i];
        if (pad->board != number || pad->side != side) continue;
        json_t *object = json_object();
        json_put_text(object, "pin", bench_pin_name(arena, bench, pad->pin));
        json_put_text(object, "part", bench->parts.at[bench->pins.at[pad->pin].part].ref);
        json_put(object, "at", boards_place(board_to_face(&board->copper, side, pad->at)));
        json_put_text(object, "net", boards_net_name(arena, bench, board, pad->meets == BENCH_MEETS_ONE ? pad->net : 0));
        json_array_append_new(array, object);
    }
    return array;
}

/* ---- pictures ---- */

/* Another one when a net of the board has another name, so that its copper is to be fetched again. */
static Text names_digest(Arena *arena, const Bench *bench, const BenchBoard *board) {
    Out names = out_new(arena);
    for (uint32_t net = 1; net <= board->copper.nets.count; net++) {
        out_add(&names, net_name(bench, board, net));
        out_char(&names, '\n');
    }
    Text all = out_text(&names);
    return text_fmt(arena, "%016llx", (unsigned long long)XXH3_64bits(all.at, all.len));
}

static void put_board(Arena *arena, const Bench *bench, const Picture *picture, json_t *object) {
    const BenchBoard *board = &bench->photographed.at[picture->board];
    json_put(object, "board", json_integer(picture->board));
    json_put_text(object, "name", board->name);
    json_put_text(object, "face", side_word(picture->side));
    json_put(object, "width", rounded(picture->width_mm));
    json_put(object, "height", rounded(picture->height_mm));
    json_put(object, "to_top", of_matrix(board->copper.face[picture->side].to_top));
    json_put(object, "pads", of_pads(arena, bench, picture->board, picture->side));
    json_put(object, "doubts", of_doubts(arena, bench, board, picture->side));
    json_put(object, "parts", noted_parts(bench, picture));
    json_put(object, "shapes", noted_shapes(bench, picture));
    json_put_text(object, "named", names_digest(arena, bench, board));
}

/* Its name, and its size as noted. */
static json_t *of_board(const Bench *bench, uint32_t number) {
    json_t *object = json_object();
    json_put_text(object, "name", bench->boards.at[number]);
    for (uint32_t i = 0; i < bench->notebook->notes.count; i++) {
        const Note *note = &bench->notebook->notes.at[i];
        if (note->verb == NOTE_BOARD && note->board->size.len > 0 && text_same(note->board->name, bench->boards.at[number]))
            json_put_text(object, "size", note->board->size);
    }
    return object;
}

void render_boards(Out *out, const PageModel *model) {
    json_t *object = json_object(), *pictures = json_array(), *boards = json_array();
    for (uint32_t i = 0; model->open && i < model->teardown.bench->boards.count; i++)
        json_array_append_new(boards, of_board(model->teardown.bench, i));
    for (uint32_t i = 0; i < model->pictures.count; i++) {
        const Picture *picture = &model->pictures.at[i];
        json_t *told = json_object();
        json_put_text(told, "id", picture->id);
        json_put_text(told, "title", picture->title);
        json_put_text(told, "file", picture->file);
        json_put(told, "straight", json_boolean(picture->straight));
        if (picture->straight) put_board(model->arena, model->teardown.bench, picture, told);
        json_put(told, "callouts", noted_callouts(model->teardown.bench, picture));
        json_array_append_new(pictures, told);
    }
    json_put(object, "boards", boards);
    json_put(object, "parts", json_integer(model->open ? model->teardown.bench->parts.count : 0));
    json_put(object, "pictures", pictures);
    json_finish_line(out, object);
}

void answer_boards(Call *call) {
    call->answer->type = "application/json";
    out_add(&call->out, call->model->boards);
}

/* ---- copper ---- */

static void put_ring(Out *out, const CopperRing *ring) {
    for (uint32_t i = 0; i < ring->count; i++)
        out_fmt(out, "%c%.2f %.2f", i == 0 ? 'M' : 'L', ring->at[i].x, ring->at[i].y);
    out_char(out, 'Z');
}

static void put_net(Call *call, const BenchBoard *board, const BoardFace *face, uint32_t number) {
    const CopperNet *net = &face->copper.nets.at[number - 1];
    uint32_t boards = face->net[number];
    markup(&call->out, "<path data-net=\"$\" d=\"",
           boards_net_name(call->arena, call->model->teardown.bench, board, boards));
    for (uint32_t i = 0; i < net->ring_count; i++) put_ring(&call->out, &net->rings[i]);
    out_lit(&call->out, "\"/>\n");
}

void answer_copper(Call *call) {
    Text id = call_argument(call, "id");
    for (uint32_t i = 0; i < call->model->pictures.count; i++) {
        const Picture *picture = &call->model->pictures.at[i];
        if (!picture->straight || !text_same(picture->id, id)) continue;
        const BenchBoard *board = &call->model->teardown.bench->photographed.at[picture->board];
        const BoardFace *face = &board->copper.face[picture->side];
        call->answer->type = "image/svg+xml";
        out_lit(&call->out, "<svg xmlns=\"http://www.w3.org/2000/svg\" fill-rule=\"evenodd\">\n");
        for (uint32_t net = 1; net <= face->copper.nets.count; net++) put_net(call, board, face, net);
        out_lit(&call->out, "</svg>\n");
        return;
    }
    call_refuse(call, 404, "There is no copper for this picture.");
}
