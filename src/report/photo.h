/* Photos made fit for a page: upright, no larger than a page shows, and nothing but pixels. A photo's place, time, camera and
 * serial number stay in the file it came in. */
#ifndef UNPICK_REPORT_PHOTO_H
#define UNPICK_REPORT_PHOTO_H

#include "base/diag.h"

/* 1280 px is twice what the page's column shows (46 rem), for screens of two dots a pixel. */
enum { PHOTO_PAGE_SIDE = 1280, PHOTO_SHOW_SIDE = 1920 /* what projectors show */, PHOTO_BOARD_SIDE = 1600, PHOTO_PAGE_BYTES = 5 * 1024 * 1024 / 4 * 3 /* of all photos of a page: 5 MiB in base64 */ };

typedef struct PagePhoto {
    Text jpeg;
    uint32_t width, height; /* of this picture */
    double scale;           /* of its pixels to one of the photo, upright: at most 1 */
} PagePhoto;

/* side_most: pixels of the longer side. bytes_most: a picture that would be larger is packed harder, then made smaller.
 * False with a problem: it can't be read, or is none. */
bool photo_for_page(Arena *arena, const char *path, uint32_t side_most, size_t bytes_most, PagePhoto *made, Diags *problems);
/* The same for pixels at hand (size 3 * width * height). False: no pixels, or no memory. */
bool photo_page_pixels(Arena *arena, uint32_t width, uint32_t height, const unsigned char *rgb, uint32_t side_most,
                       size_t bytes_most, PagePhoto *made);

#endif
