/* A board of two sides as JSON. */
#include "copper/export_board.h"
#include "copper/export_inside.h"

static json_t *of_side(BoardSide side) { return json_string(side == BOARD_TOP ? "top" : "bottom"); }

static json_t *of_fit(const BoardFit *fit) {
    json_t *object = json_object();
    export_put(object, "holes", json_integer(fit->holes));
    export_put(object, "mean_mm", fit->holes > 0 ? export_number(fit->mean) : json_null());
    export_put(object, "most_mm", fit->holes > 0 ? export_number(fit->most) : json_null());
    export_put(object, "turns", json_integer(fit->turns));
    return object;
}

static json_t *of_nets(const BoardCopper *board) {
    json_t *nets = json_array();
    for (uint32_t i = 0; i < board->nets.count; i++) {
        json_t *object = json_object();
        export_put(object, "net", json_integer(i + 1));
        export_put(object, "name", json_sprintf("N%u", i + 1));
        export_put(object, "pads", json_integer(board->nets.at[i].pads));
        export_put(object, "top_mm2", export_number(board->nets.at[i].area[BOARD_TOP]));
        export_put(object, "bottom_mm2", export_number(board->nets.at[i].area[BOARD_BOTTOM]));
        json_array_append_new(nets, object);
    }
    return nets;
}

static json_t *of_holes(const BoardCopper *board) {
    json_t *holes = json_array();
    for (uint32_t i = 0; i < board->holes.count; i++) {
        const BoardHole *hole = &board->holes.at[i];
        json_t *object = export_hole(hole->at, hole->diameter);
        export_put(object, "plated",
                   hole->plating == BOARD_PLATING_UNSAID ? json_null() : json_boolean(hole->plating == BOARD_PLATED));
        export_put(object, "p_plated", export_number(hole->p_plated));
        export_put(object, "noted", json_boolean(hole->noted));
        export_put(object, "net_top", json_integer(hole->net[BOARD_TOP]));
        export_put(object, "net_bottom", json_integer(hole->net[BOARD_BOTTOM]));
        json_array_append_new(holes, object);
    }
    return holes;
}

static json_t *of_doubts(const BoardCopper *board) {
    json_t *doubts = json_array();
    for (uint32_t i = 0; i < board->doubts.count; i++) {
        const BoardDoubt *doubt = &board->doubts.at[i];
        json_t *object = export_doubt(&(CopperDoubt){.at = doubt->at,
                                                     .joined = doubt->joined,
                                                     .p_joined = doubt->p_joined,
                                                     .width = doubt->width,
                                                     .looks = doubt->looks,
                                                     .a = doubt->a,
                                                     .b = doubt->b,
                                                     .net_a = doubt->net_a,
                                                     .net_b = doubt->net_b});
        export_put(object, "side", of_side(doubt->side));
        export_put(object, "hole", json_boolean(doubt->hole));
        export_put(object, "side_a", of_side(doubt->side_a));
        export_put(object, "side_b", of_side(doubt->side_b));
        json_array_append_new(doubts, object);
    }
    return doubts;
}

static json_t *of_conflicts(const BoardCopper *board) {
    json_t *conflicts = json_array();
    for (uint32_t i = 0; i < board->conflicts.count; i++) {
        const BoardConflict *conflict = &board->conflicts.at[i];
        json_t *object = export_conflict(conflict->at, conflict->says, conflict->line);
        export_put(object, "side", of_side(conflict->side));
        json_array_append_new(conflicts, object);
    }
    return conflicts;
}

static json_t *of_faces(Arena *arena, const BoardCopper *board, Text name) {
    json_t *faces = json_array();
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        const BoardFace *face = &board->face[side];
        if (!face->known) continue;
        Copper copper = export_board_face(arena, board, side);
        ExportNames names = {name, board_names(arena, board, side, NULL), side == BOARD_BOTTOM};
        ExportFound found = {.has_corners = true, .corners_sure = face->corners_sure};
        memcpy(found.corners, face->corners, sizeof found.corners);
        json_array_append_new(faces, export_face(arena, &copper, &names, &found));
    }
    return faces;
}

void export_board_json(Out *out, const BoardCopper *board, Text name) {
    json_t *root = json_object();
    export_put(root, "unpick", json_integer(1));
    export_put(root, "fit", of_fit(&board->fit));
    export_put(root, "nets", of_nets(board));
    export_put(root, "holes", of_holes(board));
    export_put(root, "doubts", of_doubts(board));
    export_put(root, "conflicts", of_conflicts(board));
    export_put(root, "faces", of_faces(out->arena, board, name));
    export_write(out, root);
}
