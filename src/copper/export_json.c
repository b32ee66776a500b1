/* The copper as JSON (jansson). Lengths are rounded to 0.1 um, which is more than any photo bears out. */
#include "copper/export_inside.h"

#include <math.h>

enum { INDENT = 1, DIGITS = 12 };

json_t *export_number(double value) { return isfinite(value) ? json_real(round(value * 1e4) / 1e4) : json_null(); }

json_t *export_point(PlacePoint at) {
    json_t *pair = json_array();
    json_array_append_new(pair, export_number(at.x));
    json_array_append_new(pair, export_number(at.y));
    return pair;
}

json_t *export_string(Text text) {
    json_t *value = text.len == 0 ? json_string("") : json_stringn(text.at, text.len);
    return value != NULL ? value : json_string(""); /* a name that is not UTF-8 */
}

void export_put(json_t *object, const char *key, json_t *value) { json_object_set_new(object, key, value); }

static double ampere(double width, const ExportFound *found) {
    double thickness = found->thickness_mm > 0 ? found->thickness_mm : EXPORT_THICKNESS_MM;
    double rise = found->rise_kelvin > 0 ? found->rise_kelvin : EXPORT_RISE_KELVIN;
    return copper_ipc2221_ampere(width, thickness, rise, true);
}

static json_t *of_rings(const CopperNet *net) {
    json_t *rings = json_array();
    for (uint32_t i = 0; i < net->ring_count; i++) {
        json_t *ring = json_object(), *points = json_array();
        export_put(ring, "hole", json_boolean(net->rings[i].hole));
        for (uint32_t k = 0; k < net->rings[i].count; k++) json_array_append_new(points, export_point(net->rings[i].at[k]));
        export_put(ring, "points_mm", points);
        json_array_append_new(rings, ring);
    }
    return rings;
}

static json_t *of_nets(Arena *arena, const Copper *copper, const ExportNames *names, const ExportFound *found) {
    json_t *nets = json_array();
    for (uint32_t i = 0; i < copper->nets.count; i++) {
        const CopperNet *net = &copper->nets.at[i];
        json_t *object = json_object();
        export_put(object, "net", json_integer(i + 1));
        export_put(object, "name", export_string(export_net_name(arena, names, i + 1)));
        export_put(object, "area_mm2", export_number(net->area));
        export_put(object, "low_mm", export_point(net->low));
        export_put(object, "high_mm", export_point(net->high));
        export_put(object, "neck_mm", net->neck > 0 ? export_number(net->neck) : json_null());
        export_put(object, "neck_at_mm", net->neck > 0 ? export_point(net->neck_at) : json_null());
        export_put(object, "neck_ampere", net->neck > 0 ? export_number(ampere(net->neck, found)) : json_null());
        export_put(object, "track_mm", net->width_median > 0 ? export_number(net->width_median) : json_null());
        export_put(object, "outlines", of_rings(net));
        json_array_append_new(nets, object);
    }
    return nets;
}

static json_t *of_pads(const Copper *copper) {
    json_t *pads = json_array();
    for (uint32_t i = 0; i < copper->pads.count; i++) {
        const CopperPad *pad = &copper->pads.at[i];
        json_t *object = json_object();
        export_put(object, "at_mm", export_point(pad->at));
        export_put(object, "width_mm", export_number(pad->width));
        export_put(object, "height_mm", export_number(pad->height));
        export_put(object, "net", json_integer(pad->net));
        export_put(object, "hole", pad->hole == UINT32_MAX ? json_null() : json_integer(pad->hole));
        json_array_append_new(pads, object);
    }
    return pads;
}

json_t *export_hole(PlacePoint at, double diameter) {
    json_t *object = json_object();
    export_put(object, "at_mm", export_point(at));
    export_put(object, "diameter_mm", export_number(diameter));
    return object;
}

static json_t *of_holes(const Copper *copper) {
    json_t *holes = json_array();
    for (uint32_t i = 0; i < copper->holes.count; i++) {
        const CopperHole *hole = &copper->holes.at[i];
        json_t *object = export_hole(hole->at, hole->diameter);
        export_put(object, "net", json_integer(hole->net));
        export_put(object, "plated", json_boolean(hole->plated));
        json_array_append_new(holes, object);
    }
    return holes;
}

json_t *export_doubt(const CopperDoubt *doubt) {
    json_t *object = json_object();
    export_put(object, "at_mm", export_point(doubt->at));
    export_put(object, "joined", json_boolean(doubt->joined));
    export_put(object, "p_joined", export_number(doubt->p_joined));
    export_put(object, "width_mm", doubt->width > 0 ? export_number(doubt->width) : json_null());
    export_put(object, "looks", export_string(doubt->looks));
    export_put(object, "probe_a_mm", export_point(doubt->a));
    export_put(object, "probe_b_mm", export_point(doubt->b));
    export_put(object, "net_a", json_integer(doubt->net_a));
    export_put(object, "net_b", json_integer(doubt->net_b));
    return object;
}

static json_t *of_doubts(const Copper *copper) {
    json_t *doubts = json_array();
    for (uint32_t i = 0; i < copper->doubts.count; i++)
        json_array_append_new(doubts, export_doubt(&copper->doubts.at[i]));
    return doubts;
}

json_t *export_conflict(PlacePoint at, Text says, uint32_t line) {
    json_t *object = json_object();
    export_put(object, "at_mm", export_point(at));
    export_put(object, "says", export_string(says));
    export_put(object, "line", json_integer(line));
    return object;
}

static json_t *of_conflicts(const Copper *copper) {
    json_t *conflicts = json_array();
    for (uint32_t i = 0; i < copper->conflicts.count; i++) {
        const CopperConflict *conflict = &copper->conflicts.at[i];
        json_array_append_new(conflicts, export_conflict(conflict->at, conflict->says, conflict->line));
    }
    return conflicts;
}

static json_t *of_board(const Copper *copper, const ExportNames *names, const ExportFound *found) {
    json_t *board = json_object(), *corners = json_null();
    export_put(board, "name", export_string(names->board));
    export_put(board, "side", json_string(names->bottom ? "bottom" : "top"));
    export_put(board, "width_mm", export_number(copper->width_mm));
    export_put(board, "height_mm", export_number(copper->height_mm));
    export_put(board, "px_per_mm", export_number(copper->scale));
    if (found->has_corners) {
        corners = json_array();
        for (unsigned i = 0; i < 4; i++) json_array_append_new(corners, export_point(found->corners[i]));
    }
    export_put(board, "corners_px", corners);
    export_put(board, "corners_sure", found->has_corners ? export_number(found->corners_sure) : json_null());
    return board;
}

/* What matters to people. The narrowest track is the narrowest neck between two pads of any net. */
static json_t *of_figures(const Copper *copper, const ExportFound *found) {
    json_t *figures = json_object();
    const CopperNet *least = NULL;
    for (uint32_t i = 0; i < copper->nets.count; i++) {
        const CopperNet *net = &copper->nets.at[i];
        if (net->neck > 0 && (least == NULL || net->neck < least->neck)) least = net;
    }
    export_put(figures, "copper_mm2", export_number(copper->area));
    export_put(figures, "narrowest_mm", least == NULL ? json_null() : export_number(least->neck));
    export_put(figures, "narrowest_at_mm", least == NULL ? json_null() : export_point(least->neck_at));
    export_put(figures, "narrowest_ampere", least == NULL ? json_null() : export_number(ampere(least->neck, found)));
    export_put(figures, "thickness_mm", export_number(found->thickness_mm > 0 ? found->thickness_mm : EXPORT_THICKNESS_MM));
    export_put(figures, "rise_kelvin", export_number(found->rise_kelvin > 0 ? found->rise_kelvin : EXPORT_RISE_KELVIN));
    export_put(figures, "gap_mm", copper->gap_least > 0 ? export_number(copper->gap_least) : json_null());
    export_put(figures, "gap_at_mm", copper->gap_least > 0 ? export_point(copper->gap_at) : json_null());
    return figures;
}

static int add_piece(const char *bytes, size_t count, void *out) {
    out_add(out, (Text){bytes, count});
    return 0;
}

json_t *export_face(Arena *arena, const Copper *copper, const ExportNames *names, const ExportFound *found) {
    json_t *root = json_object();
    export_put(root, "unpick", json_integer(1));
    export_put(root, "board", of_board(copper, names, found));
    export_put(root, "figures", of_figures(copper, found));
    export_put(root, "nets", of_nets(arena, copper, names, found));
    export_put(root, "pads", of_pads(copper));
    export_put(root, "holes", of_holes(copper));
    export_put(root, "doubts", of_doubts(copper));
    export_put(root, "conflicts", of_conflicts(copper));
    return root;
}

void export_write(Out *out, json_t *root) {
    json_dump_callback(root, add_piece, out, JSON_INDENT(INDENT) | JSON_REAL_PRECISION(DIGITS));
    out_char(out, '\n');
    json_decref(root);
}

void export_json(Out *out, const Copper *copper, const ExportNames *names, const ExportFound *found) {
    export_write(out, export_face(out->arena, copper, names, found));
}
