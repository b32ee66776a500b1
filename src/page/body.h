/* A request's body as it comes in: kept in memory while it is small, then in a file without a name. Private to the room. */
#ifndef UNPICK_PAGE_BODY_H
#define UNPICK_PAGE_BODY_H

#include "base/text.h"

typedef struct Body {
    Out small;
    int file; /* -1: none yet */
    uint64_t len;
    void *mapped;
} Body;

Body body_new(Arena *arena);
/* False when it grows beyond `most` bytes, or can't be kept. */
bool body_take(Body *body, Text bytes, uint64_t most);
/* All of it, until body_free. */
bool body_whole(Body *body, Text *whole);
void body_free(Body *body);

#endif
