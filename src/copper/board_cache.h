/* What a face's photo gave, kept in a folder under what it follows from. A file there is a head (magic, key, lengths,
 * checksum) and a packed face (board_pack.h) under zlib; one that is not whole, or not what its name says, counts as
 * absent. */
#ifndef UNPICK_COPPER_BOARD_CACHE_H
#define UNPICK_COPPER_BOARD_CACHE_H

#include "copper/board_pack.h"

/* Of a face's photo: its content, the size, the corners given, `made` (the odd turns its corners are given), and the
 * program's own way from photo to nets. False when the photo can't be read. */
bool cache_key_photo(const BoardAsked *asked, BoardSide side, unsigned made, CacheKey *key);
/* Of the photo with hints, which are in the view that its layers are made in. */
CacheKey cache_key_hints(CacheKey photo, const LayerHint *hints, size_t hint_count);
/* Of its nets: the photo's with its hints, whether it is then turned by half, and words in the face's view. */
CacheKey cache_key_nets(CacheKey photo, bool half, const CopperWord *words, size_t word_count);
/* Of the whole board: all that is asked of it. False when a photo can't be read. */
bool cache_key_board(const BoardAsked *asked, CacheKey *key);

/* Reads what `pack_what` packs. kind: of file, a word. False: it is not there, or not good. */
typedef void CachePack(Pack *pack, void *what);
bool cache_read(Arena *arena, const char *folder, const char *kind, CacheKey key, CachePack *pack_what, void *what);
/* Writes it, beside the others, of which the longest unused are deleted beyond CACHE_BYTES_MOST. That it can't be is no
 * failure of anything else. */
void cache_write(const char *folder, const char *kind, CacheKey key, CachePack *pack_what, void *what);

enum { CACHE_BYTES_MOST = 256 * 1024 * 1024 };

#endif
