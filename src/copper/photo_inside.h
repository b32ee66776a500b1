/* What the files photo*.c share: one job, a file's bytes to upright pixels. Everything here but photo.c runs in the
 * sandbox. */
#ifndef UNPICK_COPPER_PHOTO_INSIDE_H
#define UNPICK_COPPER_PHOTO_INSIDE_H

#include "copper/photo.h"
#include "copper/sandbox.h"

enum {
    PHOTO_BAND = 32 /* rows turned at a time */,
    PHOTO_BESIDE = 64 << 20 /* bytes besides what grows with the pixels */
};

typedef enum PhotoSort { PHOTO_NONE, PHOTO_JPEG, PHOTO_PNG, PHOTO_WEBP, PHOTO_HEIC } PhotoSort;

typedef struct PhotoHeif PhotoHeif;

/* Lives in memory that parent and child share. The decoder reads `bytes`, calls photo_begin, then fills the rows in order.
 */
typedef struct PhotoJob {
    Text bytes;
    uint64_t pixels_most;
    unsigned char *rgb; /* upright pixels, room for pixels_most; zero */
    Sandbox *box;       /* NULL outside one */
    PhotoHeif *heif;    /* libheif, once photo_open has been called on a HEIC photo */

    uint32_t width, height; /* as stored; 0 until photo_begin */
    unsigned turn;          /* EXIF orientation, 1 to 8 */
    double focal_35mm;
    bool whole; /* all pixels are there */
    char message[160], expected[160];

    unsigned char *band;  /* rows not yet turned, or NULL when they need no turning */
    uint32_t row, banded; /* rows handed over so far; of them in the band */
} PhotoJob;

PhotoSort photo_sort(Text bytes);
/* Before the sandbox closes: opens what decoding will need. photo_close frees it. */
void photo_open(PhotoJob *job);
void photo_close(PhotoJob *job);
/* Decodes whatever it is. False: message and expected are set. */
bool photo_decode_job(PhotoJob *job);
bool photo_jpeg(PhotoJob *job);
bool photo_png(PhotoJob *job);
bool photo_webp(PhotoJob *job);
bool photo_heic(PhotoJob *job);
void photo_heic_open(PhotoJob *job);

/* Sets what is wrong, unless something is already. Returns false. */
bool photo_refuse(PhotoJob *job, const char *expected, const char *format, ...) __attribute__((format(printf, 3, 4)));
/* The size as stored and the EXIF block (empty: none) are known; beside: bytes a pixel that the decoder itself will hold.
 */
bool photo_begin(PhotoJob *job, uint64_t width, uint64_t height, Text exif, double beside);
/* Where the next `count` rows (at most PHOTO_BAND) are to be written, 3 * width bytes each; photo_rows_done hands them
 * over. */
unsigned char *photo_rows(PhotoJob *job, uint32_t count);
void photo_rows_done(PhotoJob *job, uint32_t count);

/* Orientation (1 when it isn't said) and focal length of an EXIF block, with or without its "Exif\0\0". */
void photo_exif(Text exif, unsigned *turn, double *focal_35mm);
/* Writes `count` rows that start at row `from` of a width x height picture to where `turn` puts them. */
void photo_turn(const unsigned char *rows, uint32_t from, uint32_t count, uint32_t width, uint32_t height, unsigned turn,
                unsigned char *upright);
static inline bool photo_turns_aside(unsigned turn) { return turn >= 5; } /* width and height change places */

#endif
