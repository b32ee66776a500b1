/* For test_photo_gerbers.sh: photo_score FOLDER LABELS SCALE prints how well a picture of labels (16-bit grey PNG, SCALE
 * pixels per mm) gives back the nets of the board whose truth.json is in FOLDER: F1 over pairs of pads, wrong joins, wrong
 * splits, pads missed, pads, and the copper's intersection over union. */
#include "tests/copper_truth.h"

#include <png.h>
#include <stdio.h>
#include <stdlib.h>

/* All of it, native byte order; NULL when it is no 16-bit grey PNG. */
static uint16_t *read_labels(Arena *arena, const char *path, uint32_t *width, uint32_t *height) {
    FILE *file = fopen(path, "rb");
    if (file == NULL) return NULL;
    png_structp png = png_create_read_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(png);
    uint16_t *volatile labels = NULL;
    if (setjmp(png_jmpbuf(png)) == 0) {
        png_init_io(png, file);
        png_read_info(png, info);
        if (png_get_bit_depth(png, info) == 16 && png_get_color_type(png, info) == PNG_COLOR_TYPE_GRAY) {
            *width = png_get_image_width(png, info), *height = png_get_image_height(png, info);
            png_set_swap(png); /* files are big-endian */
            png_bytep *rows = arena_many(arena, png_bytep, *height);
            labels = arena_many(arena, uint16_t, (size_t)*width * *height);
            for (uint32_t y = 0; y < *height; y++) rows[y] = (png_bytep)(labels + (size_t)y * *width);
            png_read_image(png, rows);
        }
    } else {
        labels = NULL;
    }
    png_destroy_read_struct(&png, &info, NULL);
    fclose(file);
    return labels;
}

int main(int argc, char **argv) {
    Arena *arena = arena_new();
    Truth truth;
    uint32_t width, height;
    double scale = argc == 4 ? strtod(argv[3], NULL) : 0;
    const uint16_t *labels = scale > 0 ? read_labels(arena, argv[2], &width, &height) : NULL;
    if (labels == NULL || !truth_read(arena, argv[1], &truth)) {
        fprintf(stderr, "usage: photo_score FOLDER LABELS.png SCALE; both must be readable\n");
        arena_free(arena);
        return 2;
    }
    Score score = truth_score(arena, &truth, labels, width, height, scale);
    printf("%.4f %u %u %u %u %.4f\n", score.f1, score.shorts, score.opens, score.missed, score.pads, score.iou);
    arena_free(arena);
    return 0;
}
