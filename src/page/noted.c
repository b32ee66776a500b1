/* What the notes say of places on a picture, for drawing it there: outlines of parts, cuts, bridges and what can't be seen,
 * and callouts. Places are in the picture's own measure. */
#include "page/inside.h"

/* ---- parts ---- */

/* Where on the picture a place of the package is. */
static json_t *pose_place(const BenchBoard *board, BoardSide side, const BenchPose *pose, double x, double y) {
    return boards_place(board_to_face(&board->copper, side, bench_pose_at(pose, x, y)));
}

static json_t *outline(const BenchBoard *board, BoardSide side, const BenchPart *part, const BenchPose *pose) {
    const MarkPackage *package = part->package;
    double x = package->size_x / 2, y = package->size_y / 2;
    json_t *told = json_object(), *ring = json_array();
    for (int i = 0; i < 4; i++)
        json_array_append_new(ring, pose_place(board, side, pose, i == 1 || i == 2 ? x : -x, i < 2 ? -y : y));
    json_put_text(told, "ref", part->ref);
    json_put(told, "ring", ring);
    json_put(told, "round", json_boolean(text_is(package->style, "radial") || text_is(package->style, "can")));
    json_put(told, "far", json_boolean(pose->side != side));
    if (package->pin_count > 2)
        json_put(told, "first", pose_place(board, side, pose, package->pins[0].x, package->pins[0].y));
    return told;
}

json_t *noted_parts(const Bench *bench, const Picture *picture) {
    const BenchBoard *board = &bench->photographed.at[picture->board];
    json_t *parts = json_array();
    for (uint32_t i = 0; i < bench->notebook->notes.count; i++) {
        const Note *note = &bench->notebook->notes.at[i];
        BenchPose pose;
        if (note->verb != NOTE_PART || bench_board_of(bench, note) != picture->board) continue;
        const BenchPart *part = &bench->parts.at[bench_part(bench, note->part->ref)];
        if (!bench_pose(bench, part, note, &pose) || (!pose.through && pose.side != picture->side)) continue;
        if (part->package->size_x > 0 && part->package->size_y > 0)
            json_array_append_new(parts, outline(board, picture->side, part, &pose));
    }
    return parts;
}

/* ---- cut, bridge, hidden ---- */

static const char *shape_of(NoteVerb verb) {
    return verb == NOTE_CUT ? "cut" : verb == NOTE_BRIDGE ? "bridge" : verb == NOTE_HIDDEN ? "hidden" : NULL;
}

/* The side that is meant: said, or the only one that has a photo. */
static bool on_side(const BenchBoard *board, const Note *note, BoardSide side) {
    if (note->with->side == NOTE_SIDE_UNSAID) return board->photo[!side] == NULL;
    return (note->with->side == NOTE_SIDE_BOTTOM) == (side == BOARD_BOTTOM);
}

json_t *noted_shapes(const Bench *bench, const Picture *picture) {
    const BenchBoard *board = &bench->photographed.at[picture->board];
    json_t *shapes = json_array();
    for (uint32_t i = 0; i < bench->notebook->notes.count; i++) {
        const Note *note = &bench->notebook->notes.at[i];
        const char *sort = shape_of(note->verb);
        if (sort == NULL || bench_board_of(bench, note) != picture->board || !on_side(board, note, picture->side)) continue;
        const NotePoint *at = note->verb == NOTE_CUT ? &note->with->at : note->points.at;
        uint32_t count = note->verb == NOTE_CUT ? 1 : note->points.count;
        json_t *told = json_object(), *places = json_array();
        for (uint32_t k = 0; k < count; k++)
            json_array_append_new(
                places, boards_place(board_to_face(&board->copper, picture->side, (PlacePoint){at[k].x, at[k].y})));
        json_put(told, "sort", json_string(sort));
        json_put(told, "at", places);
        json_put(told, "line", json_integer(note->line));
        json_array_append_new(shapes, told);
    }
    return shapes;
}

/* ---- callouts ---- */

static bool is_on(const Bench *bench, const Picture *picture, const BenchCallout *callout) {
    if (!picture->straight) return text_same(callout->file, picture->file);
    return callout->file.len == 0 && callout->side == picture->side &&
           text_same(callout->board, bench->photographed.at[picture->board].name);
}

json_t *noted_callouts(const Bench *bench, const Picture *picture) {
    json_t *callouts = json_array();
    for (uint32_t i = 0; i < bench->callouts.count; i++) {
        const BenchCallout *callout = &bench->callouts.at[i];
        if (!is_on(bench, picture, callout)) continue;
        PlacePoint at = {callout->note->with->at.x, callout->note->with->at.y};
        if (picture->straight) at = board_to_face(&bench->photographed.at[picture->board].copper, picture->side, at);
        json_t *told = json_object();
        json_put(told, "at", boards_place(at));
        json_put(told, "number", json_integer(callout->number));
        json_put_text(told, "says", callout->note->mark.says);
        json_put(told, "line", json_integer(callout->note->line));
        json_array_append_new(callouts, told);
    }
    return callouts;
}
