/* Pixels as a JPEG, by libjpeg. */
#include "copper/photo.h"

#include <stdio.h> /* before jpeglib.h, which needs it */

#include <jpeglib.h>
#include <setjmp.h>
#include <stdlib.h>

typedef struct Failure {
    struct jpeg_error_mgr base;
    jmp_buf way_out;
} Failure;

static void fail(j_common_ptr codec) {
    Failure *failure = (Failure *)codec->err;
    longjmp(failure->way_out, 1);
}

static void hear(j_common_ptr codec) { (void)codec; }

static void write_rows(struct jpeg_compress_struct *codec, const unsigned char *rgb) {
    while (codec->next_scanline < codec->image_height) {
        union {
            const unsigned char *read;
            JSAMPROW row; /* which libjpeg does not write to */
        } at = {.read = rgb + (size_t)3 * codec->image_width * codec->next_scanline};
        jpeg_write_scanlines(codec, &at.row, 1);
    }
}

bool photo_to_jpeg(Arena *arena, uint32_t width, uint32_t height, const unsigned char *rgb, int quality, Text *jpeg) {
    struct jpeg_compress_struct codec;
    Failure failure;
    unsigned char *made = NULL;
    unsigned long size = 0;
    volatile bool done = false;
    *jpeg = (Text){"", 0};
    if (width == 0 || height == 0 || width > JPEG_MAX_DIMENSION || height > JPEG_MAX_DIMENSION) return false;
    codec.err = jpeg_std_error(&failure.base);
    failure.base.error_exit = fail;
    failure.base.output_message = hear;
    jpeg_create_compress(&codec);
    if (setjmp(failure.way_out) == 0) {
        jpeg_mem_dest(&codec, &made, &size);
        codec.image_width = width, codec.image_height = height;
        codec.input_components = 3, codec.in_color_space = JCS_RGB;
        jpeg_set_defaults(&codec);
        jpeg_set_quality(&codec, quality, TRUE);
        codec.optimize_coding = TRUE;
        jpeg_start_compress(&codec, TRUE);
        write_rows(&codec, rgb);
        jpeg_finish_compress(&codec);
        done = true;
    }
    jpeg_destroy_compress(&codec);
    if (done) *jpeg = text_copy(arena, (Text){(const char *)made, size});
    free(made);
    return done;
}
