/* What a face's photo gave, as bytes and back. One walk does both ways, so that what is written is what is read. Bytes from
 * outside are not trusted: counts, indices, text and numbers are checked, and memory is bounded by what there is to read.
 */
#ifndef UNPICK_COPPER_BOARD_PACK_H
#define UNPICK_COPPER_BOARD_PACK_H

#include "copper/board_inside.h"

typedef struct Pack {
    Arena *arena; /* of what is read */
    Out *out;     /* written to; NULL when reading */
    Text rest;    /* still to read */
    bool bad;     /* what was read is not what was written */
} Pack;

void pack_seen(Pack *pack, FaceSeen *seen);
void pack_layers(Pack *pack, Layers *layers); /* planes from the system: layers_free, also when bad */
void pack_face(Pack *pack, BoardFace *face);  /* its copper and unseen, from the system too: copper_free, free */
/* All was read and it was good. */
static inline bool pack_done(const Pack *pack) { return !pack->bad && pack->rest.len == 0; }

#endif
