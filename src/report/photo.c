/* Photos made fit for a page. Decoding is copper's, in its sandbox; here are only pixels: made smaller by averaging what
 * each new pixel covers (a box filter, exact for any ratio), and written by libjpeg. What has too many bytes is tried again
 * with a lower quality, then smaller: the order in which people notice least. */
#include "report/photo.h"

#include "copper/photo.h"

#include <math.h>
#include <stdlib.h>

/* Of libjpeg, from hardly to clearly seen: rule of thumb. */
static const int QUALITIES[] = {82, 74, 66, 58};
enum { QUALITY_COUNT = sizeof QUALITIES / sizeof *QUALITIES, SIDE_LEAST = 160 };
static const double SMALLER = 0.75; /* of a side, when no quality does */

/* Adds one row of `from` to the sums of a row of `to`, weighed. */
static void add_row(const unsigned char *from, uint32_t from_width, float *sums, uint32_t to_width, float weight) {
    double step = (double)from_width / to_width;
    for (uint32_t x = 0; x < to_width; x++) {
        double left = x * step, right = fmin((x + 1) * step, from_width);
        for (uint32_t i = (uint32_t)left; i < right; i++) {
            float share = (float)(fmin(i + 1, right) - fmax(i, left)) * weight;
            for (int c = 0; c < 3; c++) sums[3 * x + (uint32_t)c] += share * from[3 * i + (uint32_t)c];
        }
    }
}

/* rgb of `from` averaged into `to`, which is no larger. False: no memory. */
static bool shrink(const Photo *from, Photo *to) {
    float *sums = malloc(3 * (size_t)to->width * sizeof *sums);
    if (sums == NULL) return false;
    double step = (double)from->height / to->height;
    float area = (float)(step * from->width / to->width);
    for (uint32_t y = 0; y < to->height; y++) {
        double top = y * step, bottom = fmin((y + 1) * step, from->height);
        memset(sums, 0, 3 * (size_t)to->width * sizeof *sums);
        for (uint32_t i = (uint32_t)top; i < bottom; i++)
            add_row(from->rgb + 3 * (size_t)from->width * i, from->width, sums, to->width,
                    (float)(fmin(i + 1, bottom) - fmax(i, top)));
        for (size_t k = 0; k < 3 * (size_t)to->width; k++)
            to->rgb[3 * (size_t)to->width * y + k] = (unsigned char)(sums[k] / area + 0.5f);
    }
    free(sums);
    return true;
}

static uint32_t side_of(uint32_t side, double ratio) { return (uint32_t)fmax(1, floor(side * ratio + 0.5)); }

/* At most `side` pixels along its longer side. */
static bool pack(Arena *arena, const Photo *photo, uint32_t side, size_t bytes_most, bool last, PagePhoto *made) {
    double ratio = fmin(1, (double)side / fmax(photo->width, photo->height));
    Photo small = {0};
    bool done = photo_new(side_of(photo->width, ratio), side_of(photo->height, ratio), &small) && shrink(photo, &small);
    *made = (PagePhoto){.width = small.width, .height = small.height, .scale = ratio};
    for (int q = 0; done && q < QUALITY_COUNT; q++) {
        done = photo_to_jpeg(arena, small.width, small.height, small.rgb, QUALITIES[q], &made->jpeg);
        if (done && made->jpeg.len <= bytes_most) break;
        if (done && q + 1 == QUALITY_COUNT) done = last;
    }
    photo_free(&small);
    return done;
}

static bool fit(Arena *arena, const Photo *photo, uint32_t side_most, size_t bytes_most, PagePhoto *made) {
    for (uint32_t side = side_most;; side = (uint32_t)(side * SMALLER)) {
        bool last = side <= SIDE_LEAST;
        if (pack(arena, photo, side, bytes_most, last, made)) return true;
        if (last) return false;
    }
}

bool photo_page_pixels(Arena *arena, uint32_t width, uint32_t height, const unsigned char *rgb, uint32_t side_most,
                       size_t bytes_most, PagePhoto *made) {
    Photo photo;
    *made = (PagePhoto){0};
    if (!photo_new(width, height, &photo)) return false;
    memcpy(photo.rgb, rgb, 3 * (size_t)width * height);
    bool done = fit(arena, &photo, side_most, bytes_most, made);
    photo_free(&photo);
    return done;
}

bool photo_for_page(Arena *arena, const char *path, uint32_t side_most, size_t bytes_most, PagePhoto *made,
                    Diags *problems) {
    Photo photo;
    unsigned shrunk;
    *made = (PagePhoto){0};
    if (!photo_read_small(path, (uint64_t)side_most * side_most, 0, &photo, &shrunk, problems)) return false;
    bool done = fit(arena, &photo, side_most, bytes_most, made);
    photo_free(&photo);
    if (!done)
        diag_add(problems, (Diag){.place.file = text_copy(problems->arena, text_of(path)),
                                  .message = TEXT("no memory to make this photo fit for a page")});
    made->scale /= shrunk;
    return done;
}
