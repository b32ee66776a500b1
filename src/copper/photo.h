/* A photo as pixels: JPEG, PNG, WebP or HEIC, upright as its EXIF orientation says, decoded in a child process that can
 * neither write, nor open, nor reach a network (seccomp), so that a bad file can hurt nothing.
 *
 * Memory: 3 bytes a pixel here, and less than 4 while a photo is read, the child included; but nearly 6 for a WebP without
 * losses and for a HEIC that is not made of tiles (cameras' are), of which their libraries alone hold 4 and 5 for a while.
 * A photo is freed by photo_free. */
#ifndef UNPICK_COPPER_PHOTO_H
#define UNPICK_COPPER_PHOTO_H

#include "base/diag.h"

enum { PHOTO_PIXELS_MOST = 200 * 1000 * 1000 };

typedef struct Photo {
    uint32_t width, height; /* upright */
    unsigned char *rgb;     /* size 3 * width * height, rows from the top */
    double focal_35mm;      /* equivalent focal length in mm, 0 when the file does not say */
} Photo;

/* False with a problem that says what was expected: not a photo, truncated, larger than PHOTO_PIXELS_MOST ... Within a
 * second and bounded memory for whatever bytes the file holds. */
bool photo_read(const char *path, Photo *photo, Diags *problems);
/* The same for a first look, smaller and sooner: each `*shrunk` (1, 2, 4 or 8) pixels along a side are one, as many as
 * leave at least `enough` pixels of the photo, or of a part of it that has `part` pixels in the file (0: all). Only JPEG
 * can be read so (libjpeg-turbo then leaves out most of the cosine transforms); others come whole. */
bool photo_read_small(const char *path, uint64_t enough, uint64_t part, Photo *photo, unsigned *shrunk, Diags *problems);
/* photo_read for bytes at hand. `name` is for problems. */
bool photo_decode(Text name, Text bytes, Photo *photo, Diags *problems);
/* A black one to draw on. False: no pixels, more than PHOTO_PIXELS_MOST, or no memory. */
bool photo_new(uint32_t width, uint32_t height, Photo *photo);
void photo_free(Photo *photo); /* of any of these; safe on a zeroed one */

/* PNG files out: 8-bit RGB, 16-bit grey. False: errno. */
bool photo_write_png(const char *path, uint32_t width, uint32_t height, const unsigned char *rgb);
bool photo_write_png_grey16(const char *path, uint32_t width, uint32_t height, const uint16_t *grey);
/* A JPEG of the pixels and nothing else: none of a photo's own remarks. quality: 1 to 100, as libjpeg counts. False: no
 * pixels, more than JPEG can have, or no memory. */
bool photo_to_jpeg(Arena *arena, uint32_t width, uint32_t height, const unsigned char *rgb, int quality, Text *jpeg);

#endif
