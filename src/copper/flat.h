/* The board straightened: a picture in millimetres, with uneven light taken out and the places that can't be read marked.
 */
#ifndef UNPICK_COPPER_FLAT_H
#define UNPICK_COPPER_FLAT_H

#include "copper/place.h"

typedef struct Flat {
    double scale; /* pixels per mm; pixel (i, j) has its centre at ((i + 0.5) / scale, (j + 0.5) / scale) mm */
    uint32_t width, height;
    unsigned char *rgb;    /* size 3 * width * height */
    unsigned char *unseen; /* size width * height: 0 readable, 255 not (glare, out of focus, outside the photo) */
} Flat;

/* scale 0: what the photo's resolution bears out, between 12 and 25 px/mm. Area-averaged where the photo is finer. */
bool flat_from_photo(const Photo *photo, const BoardPlace *place, double scale, Flat *flat);
/* For a preview: as many pixels as can be looked at at once, however large the board; of a photo, in which it must be found
 * first, so many. */
enum { FLAT_COARSE = 350 * 1000, FLAT_COARSE_PHOTO = 1500 * 1000 };
void flat_free(Flat *flat);

#endif
