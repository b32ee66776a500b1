/* What the browser gets, packed once when the page begins to listen (gzip, RFC 1952): a phone's network is slow. */
#include "page/inside.h"

#include <zlib.h>

static Text packed(Arena *arena, Text plain) {
    enum { GZIP_WINDOW = 15 + 16 /* as zlib.h has it */, MEMORY = 8 };
    z_stream stream = {0};
    if (deflateInit2(&stream, Z_BEST_COMPRESSION, Z_DEFLATED, GZIP_WINDOW, MEMORY, Z_DEFAULT_STRATEGY) != Z_OK)
        return TEXT("");
    uLong room = deflateBound(&stream, (uLong)plain.len);
    unsigned char *to = arena_take(arena, room);
    stream.next_in = (unsigned char *)(uintptr_t)plain.at, stream.avail_in = (uInt)plain.len;
    stream.next_out = to, stream.avail_out = (uInt)room;
    bool done = deflate(&stream, Z_FINISH) == Z_STREAM_END;
    Text text = {(const char *)to, done ? stream.total_out : 0};
    deflateEnd(&stream);
    return text;
}

void pack_assets(Page *page) {
    Text *all = arena_many(page->arena, Text, PAGE_ASSET_COUNT);
    for (size_t i = 0; i < PAGE_ASSET_COUNT; i++)
        if (asset_type(text_of(PAGE_ASSETS[i].name)) != NULL)
            all[i] = packed(page->arena, (Text){PAGE_ASSETS[i].bytes, PAGE_ASSETS[i].len});
    page->packed = all;
}
