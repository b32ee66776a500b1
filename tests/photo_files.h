/* Photo files for tests and measurements, made by the formats' own libraries: a picture of any size in any format, with an
 * EXIF block that says which way is up. */
#ifndef UNPICK_TESTS_PHOTO_FILES_H
#define UNPICK_TESTS_PHOTO_FILES_H

#include "base/text.h"

typedef enum FileSort {
    FILE_JPEG,
    FILE_JPEG_IN_SCANS, /* progressive */
    FILE_JPEG_GREY,
    FILE_PNG,
    FILE_PNG_INTERLACED,
    FILE_PNG_GREY16,
    FILE_PNG_PALETTE,
    FILE_PNG_ALPHA, /* every pixel half there, over white */
    FILE_WEBP,
    FILE_WEBP_LOSSLESS,
    FILE_HEIC,
    FILE_SORTS
} FileSort;

/* The test picture: soft colours without any symmetry, so that each way of turning it is told from the others. */
void files_pixel(uint32_t x, uint32_t y, uint32_t width, uint32_t height, unsigned char rgb[3]);
unsigned char *files_picture(uint32_t width, uint32_t height); /* malloc, size 3 * width * height */

/* The bytes of such a file (malloc). turn: EXIF orientation, 0 for no EXIF; HEIC gets its own boxes as well. Empty: no
 * encoder. */
Text files_write(FileSort sort, const unsigned char *rgb, uint32_t width, uint32_t height, unsigned turn);
/* An EXIF block of `mark`, TIFF header, orientation and a focal length like 26 mm; size EXIF_BYTES. */
enum { EXIF_BYTES = 6 + 8 + 2 + 2 * 12 + 4 + 2 + 12 + 4 };
void files_exif(unsigned turn, unsigned char block[EXIF_BYTES]);

#endif
