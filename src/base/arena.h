/* Memory by lifetime: one arena for a bench, a request, a photo.
 *
 * The rule of the whole house: what an arena gave is never freed singly; arena_free gives all of it back at once.
 * arena_take never returns NULL: when the machine has no memory left the program stops with a message (abort), because
 * no answer could be trusted after that. Inputs are bounded where they are read, so that this is never their doing. */
#ifndef UNPICK_BASE_ARENA_H
#define UNPICK_BASE_ARENA_H

#include <stddef.h>

typedef struct Arena Arena;

Arena *arena_new(void);
void arena_free(Arena *arena); /* NULL is fine */

/* `bytes` zeroed bytes, aligned for any type. */
void *arena_take(Arena *arena, size_t bytes);

/* A block of `now` bytes made into one of `then` bytes (then >= now), the first `now` kept, the rest zero. In place when it
 * was the last block taken; otherwise copied, and the old one is wasted until arena_free. */
void *arena_grow(Arena *arena, void *block, size_t now, size_t then);

/* Bytes held from the system. */
size_t arena_held(const Arena *arena);

#define arena_one(arena, type) ((type *)arena_take((arena), sizeof(type)))
#define arena_many(arena, type, count) ((type *)arena_take((arena), (size_t)(count) * sizeof(type)))

#endif
