/* What the files photo*.c share: one job, a file's bytes to upright pixels. Everything here but photo.c runs in the
 * sandbox, and the turning outside it as well. */
#ifndef UNPICK_COPPER_PHOTO_INSIDE_H
#define UNPICK_COPPER_PHOTO_INSIDE_H

#include "copper/photo.h"
#include "copper/photo_window.h"
#include "copper/sandbox.h"

enum {
    PHOTO_SIDE_MOST = 100 * 1000, /* pixels: a row fits into a slot of the window */
    PHOTO_BESIDE = 64 << 20       /* bytes besides what grows with the pixels */
};

typedef enum PhotoSort { PHOTO_NONE, PHOTO_JPEG, PHOTO_PNG, PHOTO_WEBP, PHOTO_HEIC } PhotoSort;

typedef struct PhotoHeif PhotoHeif;

/* Lives in memory that parent and child share. The decoder reads `bytes`, calls photo_begin, then fills the rows in order.
 */
typedef struct PhotoJob {
    Text bytes;
    uint64_t pixels_most;
    uint64_t enough, part; /* as photo_read_small takes them; enough 0: it is wanted whole */
    PhotoWindow *window;   /* where the rows go; NULL: */
    unsigned char *rgb;    /* ... here, upright, room for pixels_most */
    Sandbox *box;          /* NULL outside one */
    PhotoHeif *heif;       /* libheif, once photo_open has been called on a HEIC photo */

    uint32_t width, height; /* as stored; 0 until photo_begin */
    unsigned turn;          /* EXIF orientation, 1 to 8 */
    unsigned shrunk;        /* pixels of the file along a side to one of these */
    uint32_t first; /* the row that comes first; 0 unless set right after photo_begin. Behind the last comes row 0 */
    bool heavy;     /* the decoder itself holds about as much as the photo */
    double focal_35mm;
    bool whole; /* all pixels are there */
    char message[160], expected[160];

    unsigned char *slot, *own_slot; /* rows not yet handed over; memory for them where there is no window */
    uint32_t row, in_slot;          /* how many rows are filled; of them in the slot */
    size_t dropped, handed;         /* bytes given back, of the file and of a picture */
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
/* The EXIF orientation that a HEIC file's own boxes amount to. False: it can't be told, or the photo is cut out of a larger
 * one. */
bool photo_heic_turn(Text bytes, unsigned *turn);

/* Sets what is wrong, unless something is already. Returns false. */
bool photo_refuse(PhotoJob *job, const char *expected, const char *format, ...) __attribute__((format(printf, 3, 4)));
/* Whether a picture of this size, as the file has it, may be read at all. */
bool photo_size_fine(PhotoJob *job, uint64_t width, uint64_t height);
/* The size as stored and the EXIF block (empty: none) are known; beside: bytes a pixel that the decoder itself will hold.
 */
bool photo_begin(PhotoJob *job, uint64_t width, uint64_t height, Text exif, double beside);
/* How many rows go through the window at a time, of those from row `at` on when `left` are still to come. */
uint32_t photo_slot_rows(uint32_t width, uint32_t height, uint32_t at, uint32_t left);
/* The row that comes when so many are filled. */
static inline uint32_t photo_row_after(uint32_t first, uint32_t filled, uint32_t height) {
    return filled < height - first ? first + filled : filled - (height - first);
}
/* Where the next rows are to be written, 3 * width bytes each. count in: how many are wanted, at least one; out: how many
 * there is room for, at least one. photo_rows_done hands them over. */
unsigned char *photo_rows(PhotoJob *job, uint32_t *count);
void photo_rows_done(PhotoJob *job, uint32_t count);
/* Hands over the rows up to `end` from a whole picture, and gives their memory back to the system; of those before
 * job->first, while they aren't wanted yet, only their memory. */
void photo_rows_from(PhotoJob *job, unsigned char *picture, uint32_t end);

/* The first so many bytes of the file won't be looked at again: their memory goes back to the system now and then. */
void photo_done_with(PhotoJob *job, size_t bytes);
/* The same of any memory: of its first `done` bytes those beyond the first `*before`, which grows. */
void photo_hand_back(const void *memory, size_t done, size_t *before);

/* Orientation (1 when it isn't said) and focal length of an EXIF block, with or without its "Exif\0\0". */
void photo_exif(Text exif, unsigned *turn, double *focal_35mm);
/* A part of the stored picture. */
typedef struct PhotoPart {
    uint32_t x, y, width, height;
} PhotoPart;

/* Writes a part of a width x height picture, its rows one after the other, to where `turn` puts it. */
void photo_turn(const unsigned char *pixels, PhotoPart part, uint32_t width, uint32_t height, unsigned turn,
                unsigned char *upright);
/* The same in two steps: rows are kept in blocks (size 3 * width * height, from mmap), which are used up when they are
 * turned. */
void photo_keep_blocks(const unsigned char *rows, uint32_t from, uint32_t count, uint32_t width, uint32_t height,
                       unsigned char *blocks);
void photo_turn_blocks(unsigned char *blocks, uint32_t width, uint32_t height, unsigned turn, unsigned char *upright);
static inline bool photo_turns_aside(unsigned turn) { return turn >= 5; } /* width and height change places */

#endif
