/* The copper as JSON (jansson). Lengths are rounded to 0.1 um, which is more than any photo bears out. */
#include "copper/export.h"

#include <jansson.h>
#include <math.h>

enum { INDENT = 1, DIGITS = 12 };

static json_t *rounded(double value) { return isfinite(value) ? json_real(round(value * 1e4) / 1e4) : json_null(); }

static json_t *of_point(PlacePoint at) {
    json_t *pair = json_array();
    json_array_append_new(pair, rounded(at.x));
    json_array_append_new(pair, rounded(at.y));
    return pair;
}

static json_t *of_text(Text text) {
    json_t *value = text.len == 0 ? json_string("") : json_stringn(text.at, text.len);
    return value != NULL ? value : json_string(""); /* a name that is not UTF-8 */
}

static void put(json_t *object, const char *key, json_t *value) { json_object_set_new(object, key, value); }

static double ampere(double width, const ExportFound *found) {
    double thickness = found->thickness_mm > 0 ? found->thickness_mm : EXPORT_THICKNESS_MM;
    double rise = found->rise_kelvin > 0 ? found->rise_kelvin : EXPORT_RISE_KELVIN;
    return copper_ipc2221_ampere(width, thickness, rise, true);
}

static json_t *of_rings(const CopperNet *net) {
    json_t *rings = json_array();
    for (uint32_t i = 0; i < net->ring_count; i++) {
        json_t *ring = json_object(), *points = json_array();
        put(ring, "hole", json_boolean(net->rings[i].hole));
        for (uint32_t k = 0; k < net->rings[i].count; k++) json_array_append_new(points, of_point(net->rings[i].at[k]));
        put(ring, "points_mm", points);
        json_array_append_new(rings, ring);
    }
    return rings;
}

static json_t *of_nets(Arena *arena, const Copper *copper, const ExportNames *names, const ExportFound *found) {
    json_t *nets = json_array();
    for (uint32_t i = 0; i < copper->nets.count; i++) {
        const CopperNet *net = &copper->nets.at[i];
        json_t *object = json_object();
        put(object, "net", json_integer(i + 1));
        put(object, "name", of_text(export_net_name(arena, names, i + 1)));
        put(object, "area_mm2", rounded(net->area));
        put(object, "low_mm", of_point(net->low));
        put(object, "high_mm", of_point(net->high));
        put(object, "neck_mm", net->neck > 0 ? rounded(net->neck) : json_null());
        put(object, "neck_at_mm", net->neck > 0 ? of_point(net->neck_at) : json_null());
        put(object, "neck_ampere", net->neck > 0 ? rounded(ampere(net->neck, found)) : json_null());
        put(object, "track_mm", net->width_median > 0 ? rounded(net->width_median) : json_null());
        put(object, "outlines", of_rings(net));
        json_array_append_new(nets, object);
    }
    return nets;
}

static json_t *of_pads(const Copper *copper) {
    json_t *pads = json_array();
    for (uint32_t i = 0; i < copper->pads.count; i++) {
        const CopperPad *pad = &copper->pads.at[i];
        json_t *object = json_object();
        put(object, "at_mm", of_point(pad->at));
        put(object, "width_mm", rounded(pad->width));
        put(object, "height_mm", rounded(pad->height));
        put(object, "net", json_integer(pad->net));
        put(object, "hole", pad->hole == UINT32_MAX ? json_null() : json_integer(pad->hole));
        json_array_append_new(pads, object);
    }
    return pads;
}

static json_t *of_holes(const Copper *copper) {
    json_t *holes = json_array();
    for (uint32_t i = 0; i < copper->holes.count; i++) {
        const CopperHole *hole = &copper->holes.at[i];
        json_t *object = json_object();
        put(object, "at_mm", of_point(hole->at));
        put(object, "diameter_mm", rounded(hole->diameter));
        put(object, "net", json_integer(hole->net));
        put(object, "plated", json_boolean(hole->plated));
        json_array_append_new(holes, object);
    }
    return holes;
}

static json_t *of_doubts(const Copper *copper) {
    json_t *doubts = json_array();
    for (uint32_t i = 0; i < copper->doubts.count; i++) {
        const CopperDoubt *doubt = &copper->doubts.at[i];
        json_t *object = json_object();
        put(object, "at_mm", of_point(doubt->at));
        put(object, "joined", json_boolean(doubt->joined));
        put(object, "p_joined", rounded(doubt->p_joined));
        put(object, "width_mm", doubt->width > 0 ? rounded(doubt->width) : json_null());
        put(object, "looks", of_text(doubt->looks));
        put(object, "probe_a_mm", of_point(doubt->a));
        put(object, "probe_b_mm", of_point(doubt->b));
        put(object, "net_a", json_integer(doubt->net_a));
        put(object, "net_b", json_integer(doubt->net_b));
        json_array_append_new(doubts, object);
    }
    return doubts;
}

static json_t *of_conflicts(const Copper *copper) {
    json_t *conflicts = json_array();
    for (uint32_t i = 0; i < copper->conflicts.count; i++) {
        json_t *object = json_object();
        put(object, "at_mm", of_point(copper->conflicts.at[i].at));
        put(object, "says", of_text(copper->conflicts.at[i].says));
        put(object, "line", json_integer(copper->conflicts.at[i].line));
        json_array_append_new(conflicts, object);
    }
    return conflicts;
}

static json_t *of_board(const Copper *copper, const ExportNames *names, const ExportFound *found) {
    json_t *board = json_object(), *corners = json_null();
    put(board, "name", of_text(names->board));
    put(board, "side", json_string(names->bottom ? "bottom" : "top"));
    put(board, "width_mm", rounded(copper->width_mm));
    put(board, "height_mm", rounded(copper->height_mm));
    put(board, "px_per_mm", rounded(copper->scale));
    if (found->has_corners) {
        corners = json_array();
        for (unsigned i = 0; i < 4; i++) json_array_append_new(corners, of_point(found->corners[i]));
    }
    put(board, "corners_px", corners);
    put(board, "corners_sure", found->has_corners ? rounded(found->corners_sure) : json_null());
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
    put(figures, "copper_mm2", rounded(copper->area));
    put(figures, "narrowest_mm", least == NULL ? json_null() : rounded(least->neck));
    put(figures, "narrowest_at_mm", least == NULL ? json_null() : of_point(least->neck_at));
    put(figures, "narrowest_ampere", least == NULL ? json_null() : rounded(ampere(least->neck, found)));
    put(figures, "thickness_mm", rounded(found->thickness_mm > 0 ? found->thickness_mm : EXPORT_THICKNESS_MM));
    put(figures, "rise_kelvin", rounded(found->rise_kelvin > 0 ? found->rise_kelvin : EXPORT_RISE_KELVIN));
    put(figures, "gap_mm", copper->gap_least > 0 ? rounded(copper->gap_least) : json_null());
    put(figures, "gap_at_mm", copper->gap_least > 0 ? of_point(copper->gap_at) : json_null());
    return figures;
}

static int add_piece(const char *bytes, size_t count, void *out) {
    out_add(out, (Text){bytes, count});
    return 0;
}

void export_json(Out *out, const Copper *copper, const ExportNames *names, const ExportFound *found) {
    json_t *root = json_object();
    put(root, "unpick", json_integer(1));
    put(root, "board", of_board(copper, names, found));
    put(root, "figures", of_figures(copper, found));
    put(root, "nets", of_nets(out->arena, copper, names, found));
    put(root, "pads", of_pads(copper));
    put(root, "holes", of_holes(copper));
    put(root, "doubts", of_doubts(copper));
    put(root, "conflicts", of_conflicts(copper));
    json_dump_callback(root, add_piece, out, JSON_INDENT(INDENT) | JSON_REAL_PRECISION(DIGITS));
    out_char(out, '\n');
    json_decref(root);
}
