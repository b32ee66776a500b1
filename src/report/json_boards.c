/* The boards' copper as JSON. Places are [x, y] in mm from the board's top-left corner seen from the top; lengths are
 * rounded to 0.1 um. */
#include "report/json.h"

#include "copper/export.h"

#include <math.h>

static json_t *rounded(double value) { return isfinite(value) ? json_real(round(value * 1e4) / 1e4) : json_null(); }

static json_t *some(double value) { return value > 0 ? rounded(value) : json_null(); }

static json_t *of_point(PlacePoint at) {
    json_t *pair = json_array();
    json_array_append_new(pair, rounded(at.x));
    json_array_append_new(pair, rounded(at.y));
    return pair;
}

static json_t *some_point(double value, PlacePoint at) { return value > 0 && isfinite(value) ? of_point(at) : json_null(); }

static json_t *of_side(BoardSide side) { return json_string(side == BOARD_TOP ? "top" : "bottom"); }

static json_t *of_photos(const BenchBoard *board) {
    json_t *photos = json_array();
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        const BoardFace *face = &board->copper.face[side];
        if (!face->known) continue;
        json_t *object = json_object(), *corners = json_array();
        for (int i = 0; i < 4; i++) json_array_append_new(corners, of_point(face->corners[i]));
        json_put(object, "side", of_side(side));
        json_put_text(object, "file", board->photo[side]->photo->file);
        json_put(object, "line", json_integer(board->photo[side]->line));
        json_put(object, "corners_px", corners);
        json_put(object, "corners_sure", rounded(face->corners_sure));
        json_array_append_new(photos, object);
    }
    return photos;
}

static json_t *net_name(const Bench *bench, const BenchBoard *board, uint32_t net) {
    uint32_t known = net == 0 ? (uint32_t)BENCH_NONE : board->net[net];
    return known == BENCH_NONE ? json_null() : json_of_text(bench->nets.at[known].name);
}

static json_t *of_figures(const StoryBoard *story) {
    const BoardCopper *copper = &story->board->copper;
    json_t *object = json_object();
    json_put(object, "nets", json_integer(copper->nets.count));
    json_put(object, "holes", json_integer(copper->holes.count));
    json_put(object, "copper_mm2", rounded(copper->area));
    json_put(object, "narrowest_mm", some(copper->narrowest));
    json_put(object, "narrowest_at_mm", some_point(copper->narrowest, copper->narrowest_at));
    json_put(object, "narrowest_ampere", some(story_board_ampere(copper->narrowest)));
    json_put(object, "thickness_mm", rounded(EXPORT_THICKNESS_MM));
    json_put(object, "rise_kelvin", rounded(EXPORT_RISE_KELVIN));
    json_put(object, "gap_mm", some(copper->gap_least));
    json_put(object, "gap_at_mm", some_point(copper->gap_least, copper->gap_at));
    json_put(object, "mains_gap_mm", some(story->mains_gap));
    json_put(object, "mains_gap_at_mm", some_point(story->mains_gap, story->mains_gap_at));
    return object;
}

static json_t *of_doubts(const Bench *bench, const BenchBoard *board) {
    json_t *doubts = json_array();
    for (uint32_t i = 0; i < board->copper.doubts.count; i++) {
        const BoardDoubt *doubt = &board->copper.doubts.at[i];
        json_t *object = json_object(), *probes = json_array(), *nets = json_array();
        json_array_append_new(probes, of_point(doubt->a)), json_array_append_new(probes, of_point(doubt->b));
        json_array_append_new(nets, net_name(bench, board, doubt->net_a));
        json_array_append_new(nets, net_name(bench, board, doubt->net_b));
        json_put(object, "at_mm", of_point(doubt->at));
        json_put(object, "side", of_side(doubt->side));
        json_put(object, "joined", json_boolean(doubt->joined));
        json_put(object, "p_joined", rounded(doubt->p_joined));
        json_put(object, "width_mm", rounded(doubt->width));
        json_put_text(object, "looks", doubt->looks);
        json_put(object, "probes_mm", probes);
        json_put(object, "nets", nets);
        json_array_append_new(doubts, object);
    }
    return doubts;
}

static json_t *of_pins(Arena *arena, const Bench *bench, const BenchBoard *board) {
    static const char *const meets[] = {[BENCH_MEETS_ONE] = "one net",
                                        [BENCH_MEETS_NONE] = "none",
                                        [BENCH_MEETS_TWO] = "two nets",
                                        [BENCH_MEETS_UNSEEN] = "unseen"};
    json_t *pins = json_array();
    for (uint32_t i = 0; i < bench->pads.count; i++) {
        const BenchPad *pad = &bench->pads.at[i];
        if (&bench->photographed.at[pad->board] != board) continue;
        json_t *object = json_object();
        json_put_text(object, "pin", bench_pin_name(arena, bench, pad->pin));
        json_put(object, "at_mm", of_point(pad->at));
        json_put(object, "side", of_side(pad->side));
        json_put_text(object, "meets", text_of(meets[pad->meets]));
        json_put(object, "net", pad->meets == BENCH_MEETS_ONE ? net_name(bench, board, pad->net) : json_null());
        json_array_append_new(pins, object);
    }
    return pins;
}

json_t *json_of_boards(Arena *arena, const Bench *bench, const Story *story) {
    json_t *boards = json_array();
    for (uint32_t i = 0; i < story->boards.count; i++) {
        const BenchBoard *board = story->boards.at[i].board;
        json_t *object = json_object();
        json_put_text(object, "name", board->name);
        json_put(object, "width_mm", rounded(board->copper.width_mm));
        json_put(object, "height_mm", rounded(board->copper.height_mm));
        json_put(object, "photos", of_photos(board));
        json_put(object, "figures", of_figures(&story->boards.at[i]));
        json_put(object, "pins", of_pins(arena, bench, board));
        json_put(object, "doubts", of_doubts(bench, board));
        json_array_append_new(boards, object);
    }
    return boards;
}
