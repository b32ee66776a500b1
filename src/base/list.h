/* A growing array in an arena: `LIST(Net) nets;` is { Net *at; uint32_t count, room; }. Zeroed memory is an empty list. */
#ifndef UNPICK_BASE_LIST_H
#define UNPICK_BASE_LIST_H

#include "base/arena.h"

#include <stdint.h>

#define LIST(type)                                                                                                             \
    struct {                                                                                                                   \
        type *at;                                                                                                              \
        uint32_t count, room;                                                                                                  \
    }

/* Makes room for one more item and yields a pointer to it, zeroed. Earlier pointers into the list may become stale. */
#define list_add(arena, list)                                                                                                  \
    ((list)->count == (list)->room                                                                                             \
         ? (void)((list)->at = arena_grow((arena), (list)->at, (list)->room * sizeof *(list)->at,                              \
                                          list_next_room((list)->room) * sizeof *(list)->at),                                  \
                  (list)->room = (uint32_t)list_next_room((list)->room))                                                       \
         : (void)0,                                                                                                            \
     &(list)->at[(list)->count++])

#define list_push(arena, list, item) (*list_add((arena), (list)) = (item))

static inline size_t list_next_room(uint32_t room) { return room == 0 ? 4 : (size_t)room * 2; }

#endif
