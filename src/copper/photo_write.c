/* PNG files out, by libpng: fast compression, since overlays and labels are looked at more often than kept. */
#include "copper/photo.h"

#include <errno.h>
#include <setjmp.h>
#include <stdio.h>
#include <unistd.h>

#include <png.h>

typedef struct Picture {
    uint32_t width, height;
    int depth, colour; /* as libpng has them */
    const unsigned char *rows;
    size_t line; /* bytes */
} Picture;

static void hear(png_structp png, png_const_charp says) { (void)png, (void)says; }

static void give_up(png_structp png, png_const_charp says) {
    (void)says;
    png_longjmp(png, 1);
}

static bool write_rows(FILE *file, const Picture *picture) {
    png_infop volatile info = NULL;
    volatile bool done = false;
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, give_up, hear);
    if (png == NULL) return false;
    if (setjmp(png_jmpbuf(png)) == 0 && (info = png_create_info_struct(png)) != NULL) {
        png_init_io(png, file);
        png_set_compression_level(png, 2);
        png_set_filter(png, PNG_FILTER_TYPE_BASE, picture->depth == 8 ? PNG_FILTER_SUB : PNG_FILTER_NONE);
        png_set_IHDR(png, info, picture->width, picture->height, picture->depth, picture->colour, PNG_INTERLACE_NONE,
                     PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
        png_write_info(png, info);
        if (picture->depth == 16) png_set_swap(png); /* ours are little endian */
        for (uint32_t y = 0; y < picture->height; y++) png_write_row(png, picture->rows + y * picture->line);
        png_write_end(png, NULL);
        done = true;
    }
    png_destroy_write_struct(&png, (png_infopp)&info);
    return done;
}

static bool write_file(const char *path, const Picture *picture) {
    FILE *file = fopen(path, "wbe");
    if (file == NULL) return false;
    errno = 0;
    bool done = write_rows(file, picture);
    int why = errno != 0 ? errno : EIO;
    if (fclose(file) != 0 && done) {
        done = false;
        why = errno;
    }
    if (!done) unlink(path); /* no half pictures */
    errno = why;
    return done;
}

bool photo_write_png(const char *path, uint32_t width, uint32_t height, const unsigned char *rgb) {
    return write_file(path, &(Picture){width, height, 8, PNG_COLOR_TYPE_RGB, rgb, (size_t)width * 3});
}

bool photo_write_png_grey16(const char *path, uint32_t width, uint32_t height, const uint16_t *grey) {
    return write_file(path,
                      &(Picture){width, height, 16, PNG_COLOR_TYPE_GRAY, (const unsigned char *)grey, (size_t)width * 2});
}
