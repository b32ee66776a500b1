#include "copper/board_pack.h"

#include <math.h>
#include <stdlib.h>

static void pack_bytes(Pack *pack, void *at, size_t size) {
    if (pack->out != NULL) {
        out_add(pack->out, (Text){at, size});
        return;
    }
    pack->bad = pack->bad || pack->rest.len < size;
    if (pack->bad) {
        memset(at, 0, size);
        return;
    }
    memcpy(at, pack->rest.at, size);
    pack->rest = (Text){pack->rest.at + size, pack->rest.len - size};
}

/* A number of at most `most`. */
static void pack_count(Pack *pack, uint32_t *value, uint32_t most) {
    pack_bytes(pack, value, sizeof *value);
    if (*value <= most) return;
    pack->bad = true;
    *value = 0;
}

static void pack_bool(Pack *pack, bool *value) {
    uint32_t number = *value;
    pack_count(pack, &number, 1);
    *value = number == 1;
}

static void pack_double(Pack *pack, double *value) {
    pack_bytes(pack, value, sizeof *value);
    if (!isfinite(*value)) pack->bad = true, *value = 0;
}

static void pack_point(Pack *pack, PlacePoint *point) {
    pack_double(pack, &point->x);
    pack_double(pack, &point->y);
}

static void pack_text(Pack *pack, Text *text) {
    uint32_t len = (uint32_t)text->len;
    pack_count(pack, &len, pack->out != NULL ? UINT32_MAX : (uint32_t)fmin((double)pack->rest.len, UINT32_MAX));
    if (pack->out != NULL) {
        out_add(pack->out, *text);
        return;
    }
    *text = text_copy(pack->arena, text_sub(pack->rest, 0, len));
    pack->rest = text_sub(pack->rest, len, pack->rest.len);
    if (text_bad_byte(*text) != text->len) pack->bad = true, *text = TEXT("");
}

/* How many items there are of which each takes at least `least` bytes. */
static uint32_t pack_length(Pack *pack, uint32_t count, size_t least) {
    size_t most = pack->out != NULL ? UINT32_MAX : pack->rest.len / least;
    pack_count(pack, &count, most < UINT32_MAX ? (uint32_t)most : UINT32_MAX);
    return count;
}

/* A list of items, read onto the arena: its length, and room for them. */
#define pack_list(pack, list, least)                                                                                       \
    do {                                                                                                                   \
        uint32_t pack_items = pack_length((pack), (list)->count, (least));                                                 \
        if ((pack)->out == NULL) {                                                                                         \
            (list)->at = arena_take((pack)->arena, pack_items * sizeof *(list)->at);                                       \
            (list)->count = (list)->room = pack_items;                                                                     \
        }                                                                                                                  \
    } while (0)

/* size bytes from the system; NULL when they can't be had or read. */
static void *pack_block(Pack *pack, void *block, size_t size) {
    if (pack->out == NULL) {
        block = pack->bad || size == 0 || pack->rest.len < size ? NULL : malloc(size);
        if (block == NULL) pack->bad = true;
    }
    if (block != NULL) pack_bytes(pack, block, size);
    return block;
}

/* ---- a face on its way ---- */

void pack_seen(Pack *pack, FaceSeen *seen) {
    for (unsigned i = 0; i < 4; i++) pack_point(pack, &seen->corners[i]);
    pack_double(pack, &seen->corners_sure);
    pack_bool(pack, &seen->placed);
    pack_list(pack, &seen->holes, 3 * sizeof(double));
    for (uint32_t i = 0; i < seen->holes.count; i++) {
        pack_point(pack, &seen->holes.at[i].at);
        pack_double(pack, &seen->holes.at[i].diameter);
        pack_bool(pack, &seen->holes.at[i].pad);
    }
}

static void pack_size(Pack *pack, double *scale, uint32_t *width, uint32_t *height) {
    pack_double(pack, scale);
    pack_count(pack, width, UINT32_MAX);
    pack_count(pack, height, UINT32_MAX);
    pack->bad = pack->bad || *scale <= 0;
}

void pack_layers(Pack *pack, Layers *layers) {
    pack_size(pack, &layers->scale, &layers->width, &layers->height);
    for (unsigned i = 0; i < LAYER_COUNT; i++)
        layers->at[i] = pack_block(pack, layers->at[i], (size_t)layers->width * layers->height);
}

/* ---- its copper ---- */

static void pack_net(Pack *pack, CopperNet *net) {
    pack_double(pack, &net->area);
    pack_double(pack, &net->neck);
    pack_point(pack, &net->neck_at);
    pack_double(pack, &net->width_median);
    pack_point(pack, &net->low);
    pack_point(pack, &net->high);
    uint32_t rings = pack_length(pack, net->ring_count, 2 * sizeof(uint32_t));
    CopperRing *at = pack->out != NULL ? NULL : arena_many(pack->arena, CopperRing, rings);
    for (uint32_t i = 0; i < rings; i++) {
        CopperRing ring = pack->out != NULL ? net->rings[i] : (CopperRing){0};
        uint32_t count = pack_length(pack, ring.count, sizeof(PlacePoint));
        pack_bool(pack, &ring.hole);
        PlacePoint *points = pack->out != NULL ? NULL : arena_many(pack->arena, PlacePoint, count);
        for (uint32_t k = 0; k < count; k++) {
            PlacePoint point = pack->out != NULL ? ring.at[k] : (PlacePoint){0, 0};
            pack_point(pack, &point);
            if (points != NULL) points[k] = point;
        }
        if (at != NULL) at[i] = (CopperRing){points, count, ring.hole};
    }
    if (at != NULL) net->rings = at, net->ring_count = rings;
}

static void pack_pads(Pack *pack, Copper *copper) {
    pack_list(pack, &copper->holes, 3 * sizeof(double));
    for (uint32_t i = 0; i < copper->holes.count; i++) {
        CopperHole *hole = &copper->holes.at[i];
        pack_point(pack, &hole->at);
        pack_double(pack, &hole->diameter);
        pack_count(pack, &hole->net, copper->nets.count);
        pack_bool(pack, &hole->plated);
    }
    pack_list(pack, &copper->pads, 4 * sizeof(double));
    for (uint32_t i = 0; i < copper->pads.count; i++) {
        CopperPad *pad = &copper->pads.at[i];
        pack_point(pack, &pad->at);
        pack_double(pack, &pad->width);
        pack_double(pack, &pad->height);
        pack_count(pack, &pad->net, copper->nets.count);
        pack_count(pack, &pad->hole, UINT32_MAX);
        pack->bad = pack->bad || (pad->hole != UINT32_MAX && pad->hole >= copper->holes.count);
    }
}

static void pack_doubts(Pack *pack, Copper *copper) {
    pack_list(pack, &copper->doubts, 8 * sizeof(double));
    for (uint32_t i = 0; i < copper->doubts.count; i++) {
        CopperDoubt *doubt = &copper->doubts.at[i];
        pack_point(pack, &doubt->at);
        pack_bool(pack, &doubt->joined);
        pack_double(pack, &doubt->p_joined);
        pack_double(pack, &doubt->width);
        pack_text(pack, &doubt->looks);
        pack_point(pack, &doubt->a);
        pack_point(pack, &doubt->b);
        pack_count(pack, &doubt->net_a, copper->nets.count);
        pack_count(pack, &doubt->net_b, copper->nets.count);
    }
    pack_list(pack, &copper->conflicts, 3 * sizeof(double));
    for (uint32_t i = 0; i < copper->conflicts.count; i++) {
        CopperConflict *conflict = &copper->conflicts.at[i];
        pack_point(pack, &conflict->at);
        pack_text(pack, &conflict->says);
        pack_count(pack, &conflict->line, UINT32_MAX);
        pack_count(pack, &conflict->no_way, UINT32_MAX);
    }
}

void pack_face(Pack *pack, BoardFace *face) {
    Copper *copper = &face->copper;
    pack_size(pack, &copper->scale, &copper->width, &copper->height);
    pack_double(pack, &copper->width_mm);
    pack_double(pack, &copper->height_mm);
    pack_double(pack, &copper->gap_least);
    pack_point(pack, &copper->gap_at);
    pack_double(pack, &copper->area);
    pack_list(pack, &copper->nets, 9 * sizeof(double));
    for (uint32_t i = 0; i < copper->nets.count; i++) pack_net(pack, &copper->nets.at[i]);
    pack_pads(pack, copper);
    pack_doubts(pack, copper);
    size_t pixels = (size_t)copper->width * copper->height;
    face->unseen = pack_block(pack, face->unseen, pixels);
    copper->labels = pack_block(pack, copper->labels, pixels * sizeof *copper->labels);
    for (size_t i = 0; copper->labels != NULL && i < pixels; i++)
        if (copper->labels[i] > copper->nets.count) pack->bad = true, copper->labels[i] = 0;
}
