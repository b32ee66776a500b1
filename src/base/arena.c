/* Blocks in a singly linked list, each twice the last up to BLOCK_MOST; taking is a bump of one pointer. */
#include "base/arena.h"

#include <stdalign.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

enum { BLOCK_FIRST = 16 * 1024, BLOCK_MOST = 4 * 1024 * 1024, BLOCK_LARGE = 2 * 1024 * 1024 };

typedef struct Block {
    struct Block *older;
    size_t size, used;
    alignas(max_align_t) unsigned char bytes[];
} Block;

struct Arena {
    Block *newest;
    size_t next_size, held;
};

static void *must(void *memory) {
    if (memory == NULL) {
        fputs("unpick: the machine has no memory left\n", stderr);
        abort();
    }
    return memory;
}

static size_t aligned(size_t bytes) {
    size_t unit = alignof(max_align_t);
    if (bytes > SIZE_MAX / 2) must(NULL);
    return (bytes + unit - 1) / unit * unit;
}

Arena *arena_new(void) {
    Arena *arena = must(calloc(1, sizeof *arena));
    arena->next_size = BLOCK_FIRST;
    return arena;
}

void arena_free(Arena *arena) {
    if (arena == NULL) return;
    for (Block *block = arena->newest, *older; block != NULL; block = older) {
        older = block->older;
        free(block);
    }
    free(arena);
}

/* Asks for large pages under a large block: filling it would else fault once for every 4 KiB, which took a fifth of the time
 * of reading 100,000 notes. A wish, not a need: where the system knows no such thing, nothing is lost. */
static void want_large_pages(Block *block, size_t size) {
#ifdef MADV_HUGEPAGE
    uintptr_t page = (uintptr_t)sysconf(_SC_PAGESIZE), from = ((uintptr_t)block + page - 1) / page * page;
    uintptr_t to = ((uintptr_t)block + size) / page * page;
    if (size >= BLOCK_LARGE && to > from) madvise((void *)from, to - from, MADV_HUGEPAGE);
#else
    (void)block, (void)size;
#endif
}

/* calloc, not malloc: fresh pages come zeroed from the system at no cost, and every block is used once. */
static void add_block(Arena *arena, size_t at_least) {
    size_t size = arena->next_size > at_least ? arena->next_size : at_least;
    Block *block = must(calloc(1, sizeof *block + size));
    want_large_pages(block, size);
    block->older = arena->newest;
    block->size = size;
    arena->newest = block;
    arena->held += sizeof *block + size;
    if (arena->next_size < BLOCK_MOST) arena->next_size *= 2;
}

void *arena_take(Arena *arena, size_t bytes) {
    bytes = aligned(bytes);
    Block *block = arena->newest;
    if (block == NULL || block->size - block->used < bytes) {
        add_block(arena, bytes);
        block = arena->newest;
    }
    void *taken = block->bytes + block->used;
    block->used += bytes;
    return taken;
}

void *arena_grow(Arena *arena, void *block, size_t now, size_t then) {
    if (block == NULL) return arena_take(arena, then);
    Block *newest = arena->newest;
    size_t have = aligned(now), want = aligned(then);
    if ((unsigned char *)block + have == newest->bytes + newest->used && newest->size - newest->used >= want - have) {
        newest->used += want - have;
        return block;
    }
    void *moved = arena_take(arena, then);
    memcpy(moved, block, now);
    return moved;
}

size_t arena_held(const Arena *arena) { return arena->held; }
