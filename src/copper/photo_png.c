/* PNG by libpng, line by line into the window; 16 bits become 8, palettes and grey become RGB, what shows through is laid
 * on white. An interlaced picture comes in seven passes over the whole, which is kept here until the last (3 bytes a
 * pixel). */
#include "copper/photo_inside.h"

#include <setjmp.h>
#include <stdlib.h>

#include <png.h>

enum { CHUNK_MOST = 8 << 20 };
static const char EXPECTED[] = "a PNG as it was written";

typedef struct Source {
    PhotoJob *job;
    size_t at;
} Source;

static void feed(png_structp png, png_bytep out, size_t count) {
    Source *source = png_get_io_ptr(png);
    if (count > source->job->bytes.len - source->at) {
        photo_refuse(source->job, EXPECTED, "a PNG that breaks off before its end");
        png_longjmp(png, 1);
    }
    memcpy(out, source->job->bytes.at + source->at, count);
    source->at += count;
    photo_done_with(source->job, source->at);
}

static void give_up(png_structp png, png_const_charp says) {
    photo_refuse(png_get_error_ptr(png), EXPECTED, "%s", says);
    png_longjmp(png, 1);
}

static void hear(png_structp png, png_const_charp says) { (void)png, (void)says; }

static void ask_for_rgb(png_structp png, png_infop info) {
    png_set_expand(png);
    png_set_scale_16(png);
    png_set_gray_to_rgb(png);
    png_color_16 white = {.red = 255, .green = 255, .blue = 255, .gray = 255};
    if (png_get_color_type(png, info) & PNG_COLOR_MASK_ALPHA || png_get_valid(png, info, PNG_INFO_tRNS))
        png_set_background(png, &white, PNG_BACKGROUND_GAMMA_SCREEN, 0, 1);
}

static void read_passes(png_structp png, PhotoJob *job, int passes, unsigned char *copy) {
    size_t line = (size_t)job->width * 3;
    for (int pass = 0; pass < passes; pass++)
        for (uint32_t y = 0; y < job->height; y++) png_read_row(png, copy + y * line, NULL);
    photo_rows_from(job, copy, job->height);
}

static void read_lines(png_structp png, PhotoJob *job) {
    while (job->row < job->height) {
        uint32_t one = 1;
        png_read_row(png, photo_rows(job, &one), NULL);
        photo_rows_done(job, 1);
    }
}

static bool decode(png_structp png, png_infop info, PhotoJob *job, unsigned char **copy) {
    png_read_info(png, info);
    png_bytep exif = NULL;
    png_uint_32 exif_len = 0;
    if (png_get_eXIf_1(png, info, &exif_len, &exif) == 0) exif_len = 0;
    bool interlaced = png_get_interlace_type(png, info) != PNG_INTERLACE_NONE;
    if (!photo_begin(job, png_get_image_width(png, info), png_get_image_height(png, info),
                     (Text){(const char *)exif, exif_len}, interlaced ? 3.2 : 0))
        return false;
    ask_for_rgb(png, info);
    int passes = png_set_interlace_handling(png);
    png_read_update_info(png, info);
    if (png_get_rowbytes(png, info) != (size_t)job->width * 3)
        return photo_refuse(job, EXPECTED, "colours of an unknown kind");
    if (interlaced && (*copy = malloc((size_t)job->width * job->height * 3)) == NULL)
        return photo_refuse(job, "a photo without interlacing", "no memory for its passes");
    if (interlaced)
        read_passes(png, job, passes, *copy);
    else
        read_lines(png, job);
    png_read_end(png, NULL);
    return true;
}

bool photo_png(PhotoJob *job) {
    Source source = {job, 0};
    unsigned char *volatile copy = NULL;
    volatile bool done = false;
    png_infop volatile info = NULL;
    png_structp png = png_create_read_struct(PNG_LIBPNG_VER_STRING, job, give_up, hear);
    if (png == NULL) return photo_refuse(job, EXPECTED, "no memory to read it");
    if (setjmp(png_jmpbuf(png)) == 0) {
        info = png_create_info_struct(png);
        if (info == NULL) png_error(png, "no memory to read it");
        png_set_read_fn(png, &source, feed);
        png_set_user_limits(png, PNG_UINT_31_MAX, PNG_UINT_31_MAX); /* photo_begin says what is too large */
        png_set_chunk_malloc_max(png, CHUNK_MOST);
        png_set_chunk_cache_max(png, 64);
        done = decode(png, info, job, (unsigned char **)&copy);
    }
    png_destroy_read_struct(&png, (png_infopp)&info, NULL);
    free(copy);
    return done;
}
