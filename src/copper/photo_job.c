/* What the decoders have in common: which format it is, whether its size is one of a photo, and where its rows go: a slot
 * of the window at a time to the parent, which turns them upright. */
#include "copper/photo_inside.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <unistd.h>

/* A file with fewer bits than this for each pixel holds no photo: a JPEG of one flat grey takes 0.14. Below so many pixels
 * it can do no harm. */
static const double BITS_A_PIXEL = 0.06;
enum { PIECE = 1 << 20 /* bytes given back at a time */ };
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
    free(job->own_slot);
    job->own_slot = NULL;
    job->whole = done;
    return done;
}

bool photo_size_fine(PhotoJob *job, uint64_t width, uint64_t height) {
    if (width == 0 || height == 0 || width > PHOTO_SIDE_MOST || height > PHOTO_SIDE_MOST ||
        width * height > job->pixels_most)
        return photo_refuse(job, "a photo of 1 to 200 million pixels", "%llu x %llu pixels", (unsigned long long)width,
                            (unsigned long long)height);
    if (width * height > HARMLESS_PIXELS && 8 * (double)job->bytes.len < BITS_A_PIXEL * (double)(width * height))
        return photo_refuse(job, "a photo as the camera wrote it", "%zu bytes that claim to hold %llu x %llu pixels",
                            job->bytes.len, (unsigned long long)width, (unsigned long long)height);
    return true;
}

bool photo_begin(PhotoJob *job, uint64_t width, uint64_t height, Text exif, double beside) {
    if (!photo_size_fine(job, width, height)) return false;
    photo_exif(exif, &job->turn, &job->focal_35mm);
    job->width = (uint32_t)width;
    job->height = (uint32_t)height;
    job->heavy = beside >= 2;
    if (job->box != NULL) sandbox_allow(job->box, PHOTO_BESIDE + (size_t)(beside * (double)(width * height)));
    if (job->window == NULL) job->own_slot = malloc(WINDOW_BYTES);
    return job->window != NULL || job->own_slot != NULL || photo_refuse(job, "fewer pixels", "no memory to read it");
}

uint32_t photo_slot_rows(uint32_t width, uint32_t height, uint32_t at, uint32_t left) {
    uint32_t rows = WINDOW_BYTES / (3 * width);
    if (rows > height - at) rows = height - at;
    return rows < left ? rows : left;
}

/* Of the slot that is being filled: its first row, and how many belong into it. */
static uint32_t slot_rows(const PhotoJob *job, uint32_t *at) {
    uint32_t before = job->row - job->in_slot;
    *at = photo_row_after(job->first, before, job->height);
    return photo_slot_rows(job->width, job->height, *at, job->height - before);
}

unsigned char *photo_rows(PhotoJob *job, uint32_t *count) {
    uint32_t at, room = slot_rows(job, &at) - job->in_slot;
    if (job->in_slot == 0) job->slot = job->window != NULL ? window_next(job->window) : job->own_slot;
    if (*count > room) *count = room;
    return job->slot + (size_t)job->in_slot * job->width * 3;
}

void photo_rows_done(PhotoJob *job, uint32_t count) {
    uint32_t at, all = slot_rows(job, &at);
    job->row += count;
    job->in_slot += count;
    if (job->in_slot < all) return;
    if (job->window != NULL)
        window_put(job->window);
    else
        photo_turn(job->slot, (PhotoPart){0, at, job->width, all}, job->width, job->height, job->turn, job->rgb);
    job->in_slot = 0;
}

void photo_done_with(PhotoJob *job, size_t bytes) {
    if (job->window != NULL) photo_hand_back(job->bytes.at, bytes, &job->dropped); /* else they are the caller's */
}

void photo_hand_back(const void *memory, size_t done, size_t *before) {
    if (done < *before + PIECE) return;
    uintptr_t page = (uintptr_t)sysconf(_SC_PAGESIZE), at = (uintptr_t)memory;
    uintptr_t from = (at + *before + page - 1) / page * page, to = (at + done) / page * page;
    if (from < to) madvise((void *)from, to - from, MADV_DONTNEED);
    *before = done;
}

void photo_rows_from(PhotoJob *job, unsigned char *picture, uint32_t end) {
    size_t line = (size_t)job->width * 3;
    uint32_t at = photo_row_after(job->first, job->row, job->height);
    while (at < end && job->row < job->height) {
        uint32_t count = end - at;
        unsigned char *rows = photo_rows(job, &count);
        memcpy(rows, picture + at * line, count * line);
        photo_rows_done(job, count);
        photo_hand_back(picture, (at + count) * line, &job->handed);
        at += count;
    }
    if (at >= end) photo_hand_back(picture, end * line, &job->handed);
}
