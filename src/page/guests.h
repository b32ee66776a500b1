/* Who is connected, and until when each must have done what it is at: telling a request, sending its body, taking the answer. Who takes
 * longer is cut, so that a few who send a byte a second can't keep all others out. Private to the room. */
#ifndef UNPICK_PAGE_GUESTS_H
#define UNPICK_PAGE_GUESTS_H

#include "base/diag.h"

typedef struct Guests Guests;
typedef struct Guest Guest;

/* Starts the thread that looks after them. patience: seconds for each step besides what its bytes need. NULL with a problem. */
Guests *guests_new(uint32_t patience, Diags *problems);
/* A connection begins: NULL when there are more than can be looked after. */
Guest *guests_come(Guests *guests, int socket);
/* It is at something that moves so many bytes. NULL is fine. */
void guest_may_take(Guest *guest, uint64_t bytes);
/* It may take for ever: it listens to what changes. */
void guest_may_stay(Guest *guest);
/* Before its socket is closed. */
void guests_go(Guests *guests, Guest *guest);
/* When nobody is connected any more. */
void guests_free(Guests *guests);

#endif
