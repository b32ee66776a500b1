/* What the decoders have in common: which format it is, whether its size is one of a photo, and where its rows go. Rows of
 * an upright photo are decoded in place; others are gathered in bands and turned from there, so that turning costs one
 * band. */
#include "copper/photo_inside.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

/* A file with fewer bits than this for each pixel holds no photo: a JPEG of one flat grey takes 0.14. Below so many pixels
 * it can do no harm. */
static const double BITS_A_PIXEL = 0.06;
static const uint64_t HARMLESS_PIXELS = 16 * 1000 * 1000;

bool photo_refuse(PhotoJob *job, const char *expected, const char *format, ...) {
    if (job->message[0] != '\0') return false;
    va_list args;
    va_start(args, format);
    vsnprintf(job->message, sizeof job->message, format, args);
    va_end(args);
    snprintf(job->expected, sizeof job->expected, "%s", expected);
    return false;
}

/* ISO/IEC 23008-12: a `ftyp` box that names one of its brands. */
static bool is_heic(Text bytes) {
    static const char *const brands[] = {"heic", "heix", "hevc", "heim", "heis", "mif1", "msf1"};
    if (bytes.len < 16 || memcmp(bytes.at + 4, "ftyp", 4) != 0) return false;
    size_t box = (size_t)(unsigned char)bytes.at[3] + 256 * (size_t)(unsigned char)bytes.at[2];
    for (size_t at = 8; at + 4 <= bytes.len && at + 4 <= box; at += 4) /* at 12 a version stands, which is no brand */
        for (size_t i = 0; i < sizeof brands / sizeof brands[0]; i++)
            if (memcmp(bytes.at + at, brands[i], 4) == 0) return true;
    return false;
}

PhotoSort photo_sort(Text bytes) {
    if (text_starts(bytes, "\xFF\xD8\xFF")) return PHOTO_JPEG;
    if (text_starts(bytes, "\x89PNG\r\n\x1A\n")) return PHOTO_PNG;
    if (bytes.len >= 16 && text_starts(bytes, "RIFF") && memcmp(bytes.at + 8, "WEBPVP8", 7) == 0) return PHOTO_WEBP;
    return is_heic(bytes) ? PHOTO_HEIC : PHOTO_NONE;
}

void photo_open(PhotoJob *job) {
    if (photo_sort(job->bytes) == PHOTO_HEIC) photo_heic_open(job);
}

void photo_close(PhotoJob *job) {
    free(job->heif);
    job->heif = NULL;
}

bool photo_decode_job(PhotoJob *job) {
    bool done = false;
    switch (photo_sort(job->bytes)) {
    case PHOTO_JPEG:
        done = photo_jpeg(job);
        break;
    case PHOTO_PNG:
        done = photo_png(job);
        break;
    case PHOTO_WEBP:
        done = photo_webp(job);
        break;
    case PHOTO_HEIC:
        done = photo_heic(job);
        break;
    default:
        photo_refuse(job, "a JPEG, PNG, WebP or HEIC photo",
                     job->bytes.len == 0 ? "an empty file" : "not a photo that can be read");
    }
    if (done && job->row != job->height)
        done = photo_refuse(job, "all of its rows", "%u rows are missing", job->height - job->row);
    free(job->band);
    job->band = NULL;
    job->whole = done;
    return done;
}

bool photo_begin(PhotoJob *job, uint64_t width, uint64_t height, Text exif, double beside) {
    if (width == 0 || height == 0 || width > job->pixels_most || height > job->pixels_most / width)
        return photo_refuse(job, "a photo of 1 to 200 million pixels", "%llu x %llu pixels", (unsigned long long)width,
                            (unsigned long long)height);
    if (width * height > HARMLESS_PIXELS && 8 * (double)job->bytes.len < BITS_A_PIXEL * (double)(width * height))
        return photo_refuse(job, "a photo as the camera wrote it", "%zu bytes that claim to hold %llu x %llu pixels",
                            job->bytes.len, (unsigned long long)width, (unsigned long long)height);
    photo_exif(exif, &job->turn, &job->focal_35mm);
    job->width = (uint32_t)width;
    job->height = (uint32_t)height;
    if (job->box != NULL) sandbox_allow(job->box, PHOTO_BESIDE + (size_t)(beside * (double)(width * height)));
    if (job->turn == 1) return true;
    job->band = malloc((size_t)width * 3 * PHOTO_BAND);
    return job->band != NULL || photo_refuse(job, "fewer pixels", "no memory to turn it upright");
}

static void turn_band(PhotoJob *job) {
    photo_turn(job->band, job->row - job->banded, job->banded, job->width, job->height, job->turn, job->rgb);
    job->banded = 0;
}

unsigned char *photo_rows(PhotoJob *job, uint32_t count) {
    size_t line = (size_t)job->width * 3;
    if (job->band == NULL) return job->rgb + job->row * line;
    if (job->banded + count > PHOTO_BAND) turn_band(job);
    return job->band + job->banded * line;
}

void photo_rows_done(PhotoJob *job, uint32_t count) {
    job->row += count;
    if (job->band == NULL) return;
    job->banded += count;
    if (job->row == job->height) turn_band(job);
}

/* Where the pixel at (x, y) of the stored picture belongs (Exif 2.32, tag 0x0112): 1 as it is, 2 left and right changed, 3
 * both ways round, 4 up and down changed; 5 to 8 with rows and columns in each other's place first. Given as an offset and
 * two steps, in pixels. */
static void turn_steps(unsigned turn, ptrdiff_t width, ptrdiff_t height, ptrdiff_t *start, ptrdiff_t *right,
                       ptrdiff_t *down) {
    bool aside = photo_turns_aside(turn);
    bool flip_x = turn == 2 || turn == 3 || turn == 6 || turn == 7,
         flip_y = turn == 3 || turn == 4 || turn == 7 || turn == 8;
    ptrdiff_t w = aside ? height : width, h = aside ? width : height; /* upright */
    ptrdiff_t x_step = flip_x ? -1 : 1, y_step = flip_y ? -w : w;
    *start = (flip_x ? w - 1 : 0) + (flip_y ? (h - 1) * w : 0);
    *right = aside ? y_step : x_step;
    *down = aside ? x_step : y_step;
}

void photo_turn(const unsigned char *rows, uint32_t from, uint32_t count, uint32_t width, uint32_t height, unsigned turn,
                unsigned char *upright) {
    ptrdiff_t start, right, down;
    turn_steps(turn, width, height, &start, &right, &down);
    bool aside = photo_turns_aside(turn); /* then a column of the band is a row upright: walk it along what lies together */
    uint32_t outer = aside ? width : count, inner = aside ? count : width;
    for (uint32_t o = 0; o < outer; o++) {
        for (uint32_t i = 0; i < inner; i++) {
            uint32_t x = aside ? o : i, y = aside ? i : o;
            const unsigned char *in = rows + 3 * ((size_t)y * width + x);
            unsigned char *out = upright + 3 * (start + (ptrdiff_t)x * right + (ptrdiff_t)(from + y) * down);
            out[0] = in[0], out[1] = in[1], out[2] = in[2];
        }
    }
}
