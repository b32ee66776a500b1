/* A small window that pixels go through from the child that decodes to its parent: a ring of slots in memory that both see,
 * one side waiting for the other (futex). It stays in the processor's cache; neither side sees more of the other than this.
 */
#ifndef UNPICK_COPPER_PHOTO_WINDOW_H
#define UNPICK_COPPER_PHOTO_WINDOW_H

#include <stdatomic.h>
#include <stdint.h>

enum { WINDOW_SLOTS = 4, WINDOW_BYTES = 384 * 1024 };

typedef struct PhotoWindow {
    _Atomic uint32_t put;   /* slots filled so far, by the child */
    _Atomic uint32_t taken; /* of them emptied, by the parent */
    _Atomic uint32_t ended; /* the child has no more */
    unsigned char slot[WINDOW_SLOTS][WINDOW_BYTES];
} PhotoWindow;

/* The child: the next slot to fill, once there is one free; then over with it; at last, that it was the last. */
unsigned char *window_next(PhotoWindow *window);
void window_put(PhotoWindow *window);
void window_end(PhotoWindow *window);
/* The parent, which counts for itself: slot number `at` when it is filled within `seconds`, else NULL; then free again. */
const unsigned char *window_wait(PhotoWindow *window, uint32_t at, double seconds);
void window_take(PhotoWindow *window, uint32_t at);

#endif
