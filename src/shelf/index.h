/* An index of spellings that finds all within a few wrong characters of a marking without looking at most of them.
 * (Inside the shelf room.) */
#ifndef UNPICK_SHELF_INDEX_H
#define UNPICK_SHELF_INDEX_H

#include "shelf/damage.h"

/* The spellings of a catalogue are read in three ways; each has its own tree. */
typedef enum IndexView {
    VIEW_FORWARD,
    VIEW_BACKWARD,
    VIEW_CORE /* forward from behind the prefix; no codes */,
    VIEW_COUNT
} IndexView;

typedef struct IndexNode {
    uint32_t first; /* of the view's order: the first spelling below it; the last is before the first of node `next` */
    uint32_t next;  /* the node behind all that is below it */
    uint8_t depth;  /* characters from the root */
    uint8_t letter; /* the last of them, folded */
    uint16_t unused;
} IndexNode;

typedef struct IndexTree {
    const IndexNode *nodes; /* size node_count; in preorder, the root first */
    const uint32_t *order;  /* size count: numbers of spellings; NULL: 0, 1, 2 ... */
    uint32_t node_count, count;
} IndexTree;

typedef struct Index {
    const uint8_t *image; /* all of it in one piece, as it is stored; size image_size */
    size_t image_size;
    uint32_t count;        /* of spellings */
    const uint32_t *start; /* size count + 1: where each begins in chars */
    const uint32_t *owner; /* size count: whose spelling it is; the caller's business */
    const uint8_t *chars;
    const uint8_t *prefix; /* size count: letters before the number; CODE_FLAG added for a body code */
    const uint8_t *nth;    /* size count: which of its owner's spellings it is */
    IndexTree trees[VIEW_COUNT];
    uint64_t *seen; /* a bit a spelling, for the search */
} Index;

enum { CODE_FLAG = 0x80, INDEX_SPELLINGS_MOST = 16 * 1024 * 1024 };

typedef struct IndexBuilder IndexBuilder;

IndexBuilder *index_builder(const Damage *damage);
/* False when there are INDEX_SPELLINGS_MOST already. Spellings without a letter or digit are left out. */
bool index_add(IndexBuilder *builder, Text spelling, bool code, uint32_t owner, uint8_t nth);
/* Builds on `arena` and frees the builder; cost: each spelling is looked at once for each character that it shares with
 * others. */
Index *index_finish(IndexBuilder *builder, Arena *arena);
void index_drop(IndexBuilder *builder); /* frees it unbuilt; NULL is fine */

/* From a stored image, which must outlive it. NULL when it is not whole, or was built for other look-alikes. Whatever it
 * holds, a search in it stays within it. */
Index *index_from(Arena *arena, const Damage *damage, const uint8_t *image, size_t size);

/* Spelling `number` as a reading (without places). */
Reading index_reading(const Index *index, uint32_t number);

/* Who asks: `found` is called once for each spelling that is near enough to the marking (see shelf_find) and could weigh
 * `least` (tenths of a deciban) or more; `least` may rise meanwhile. */
typedef void IndexFound(void *context, uint32_t number);
typedef struct IndexAsker {
    IndexFound *found;
    void *context;
    int least;
} IndexAsker;
void index_search(Index *index, const Damage *damage, const Reading *marking, IndexAsker *asker);
/* The spellings that read the same but for look-alikes. */
void index_same(Index *index, const Damage *damage, const Reading *name, IndexAsker *asker);

#endif
