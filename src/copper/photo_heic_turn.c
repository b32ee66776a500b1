/* Which way up a HEIC photo is: libheif would turn the whole picture itself, into a second one; here the boxes that say how
 * are read instead, so that its rows can be turned as they go by. The boxes (ISO/IEC 14496-12, 23008-12, from memory):
 *
 *   file       box*
 *   box        size(4) type(4) [size(8)] body
 *   meta       version(4) box*        among them pitm and iprp
 *   pitm       version(4) item(2|4)
 *   iprp       ipco ipma*
 *   ipco       property*              counted from 1
 *   ipma       version(4) entries(4) { item(2|4) count(1) { property(1|2), its top bit "essential" } }
 *   irot       turns(1)               quarters against the clock
 *   imir       axis(1)                0: what is up goes down; 1: what is left goes right
 *   clap       a cut-out: not for us */
#include "copper/photo_inside.h"

static uint64_t number(Text text, size_t at, size_t bytes) {
    uint64_t value = 0;
    for (size_t i = 0; i < bytes; i++) value = value << 8 | (at + i < text.len ? (unsigned char)text.at[at + i] : 0);
    return value;
}

/* The first box of `rest` and what follows it. False: there is none, or it is longer than what there is. */
static bool next_box(Text *rest, Text *type, Text *body) {
    uint64_t size = number(*rest, 0, 4), head = 8;
    if (rest->len < 8) return false;
    if (size == 1 && rest->len >= 16) size = number(*rest, 8, 8), head = 16;
    if (size == 0) size = rest->len; /* to the end of the file */
    if (size < head || size > rest->len) return false;
    *type = text_sub(*rest, 4, 4);
    *body = text_sub(*rest, head, size - head);
    *rest = text_sub(*rest, size, rest->len);
    return true;
}

static Text find_box(Text rest, const char *wanted) {
    Text type, body;
    while (next_box(&rest, &type, &body))
        if (text_is(type, wanted)) return body;
    return TEXT("");
}

static bool nth_box(Text rest, uint64_t n, Text *type, Text *body) {
    for (uint64_t i = 0; i < n; i++)
        if (!next_box(&rest, type, body)) return false;
    return n > 0;
}

/* EXIF orientations as: first rows and columns change places or not, then left and right, then up and down. */
typedef struct Turning {
    bool aside, flip_x, flip_y;
} Turning;

static unsigned orientation_of(Turning t) {
    static const unsigned upright[] = {1, 2, 4, 3}, aside[] = {5, 6, 8, 7};
    return (t.aside ? aside : upright)[(t.flip_x ? 1 : 0) + (t.flip_y ? 2 : 0)];
}

/* One quarter against the clock: what was right is now up, so columns become rows, from the last to the first. */
static Turning quarter(Turning t) { return (Turning){!t.aside, t.flip_y, !t.flip_x}; }

/* Adds what one property does. False: it cuts. */
static bool apply(Text type, Text body, Turning *turning) {
    if (text_is(type, "clap")) return false;
    if (text_is(type, "irot"))
        for (uint64_t i = number(body, 0, 1) & 3; i > 0; i--) *turning = quarter(*turning);
    if (text_is(type, "imir")) {
        if (number(body, 0, 1) & 1)
            turning->flip_x = !turning->flip_x;
        else
            turning->flip_y = !turning->flip_y;
    }
    return true;
}

/* One ipma box: what it says of the item. */
static bool apply_all(Text map, Text properties, uint64_t item, Turning *turning) {
    uint64_t version = number(map, 0, 1), wide = number(map, 3, 1) & 1 ? 2 : 1, entries = number(map, 4, 4);
    size_t at = 8, id_bytes = version < 1 ? 2 : 4;
    for (uint64_t e = 0; e < entries && at < map.len; e++) {
        uint64_t id = number(map, at, id_bytes), count = number(map, at + id_bytes, 1);
        at += id_bytes + 1;
        for (uint64_t i = 0; i < count; i++, at += wide) {
            Text type, body;
            uint64_t index = number(map, at, wide) & (wide == 2 ? 0x7FFF : 0x7F);
            if (id == item && nth_box(properties, index, &type, &body) && !apply(type, body, turning)) return false;
        }
    }
    return true;
}

bool photo_heic_turn(Text bytes, unsigned *turn) {
    Text meta = find_box(bytes, "meta");
    meta = text_sub(meta, 4, meta.len);
    Text primary = find_box(meta, "pitm"), rest = find_box(meta, "iprp"), properties = find_box(rest, "ipco"), type, body;
    uint64_t item = number(primary, 4, number(primary, 0, 1) == 0 ? 2 : 4);
    Turning turning = {0};
    if (primary.len == 0 || properties.len == 0) return false;
    while (next_box(&rest, &type, &body))
        if (text_is(type, "ipma") && !apply_all(body, properties, item, &turning)) return false;
    *turn = orientation_of(turning);
    return true;
}
