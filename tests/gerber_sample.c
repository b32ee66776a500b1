/* For test_gerber.sh: writes a board's copper as Gerber and as labels, and compares labels with a picture of the Gerber
 * file. gerber_sample write FOLDER [BOARD]    FOLDER/copper.gbr, labels.png, size.json; of a drawn board, or of one with
 * truth gerber_sample compare LABELS PICTURE  prints the overlap of copper with what is dark: intersection over union */
#include "tests/copper_draw.h"
#include "tests/copper_truth.h"

#include "base/file.h"
#include "copper/export.h"

#include <png.h>
#include <stdio.h>

enum { SCALE = 20 };

/* A pour with an island in a hole in it, a slanted track, a round pad with a hole beside it, and a net in the pour's hole.
 */
static Layers drawn(Arena *arena) {
    Layers layers = draw_layers(arena, SCALE, 20, 14);
    draw_track(&layers, 5, 5, 5, 5, 8);
    draw_line(&layers, LAYER_COPPER, 5, 5, 5, 5, 5, 0, false);
    draw_track(&layers, 5, 5, 5, 5, 3);
    draw_line(&layers, LAYER_COPPER, 5, 5, 5, 5, 1, 0, false);
    draw_track(&layers, 10, 2, 18, 6, 0.4);
    draw_track(&layers, 10, 3, 18, 12, 0.25);
    draw_pad(&layers, 18, 6, 2, 1);
    draw_track(&layers, 1, 12, 12, 12, 1.5);
    return layers;
}

static int write_all(const char *folder, const char *board) {
    Arena *arena = arena_new();
    Layers layers = drawn(arena);
    Truth truth;
    Copper copper;
    if (board != NULL && !truth_read(arena, board, &truth)) return 2;
    if (board != NULL) truth_layers(arena, &truth, SCALE, (TruthDirt){.blur = 0.8}, &layers);
    if (!copper_trace(arena, &layers, NULL, 0, &copper)) return 2;
    Out gerber = out_new(arena), size = out_new(arena);
    export_gerber(&gerber, &copper, &(ExportNames){.board = TEXT("sample")});
    out_fmt(&size, "{\"width\": %.6f, \"height\": %.6f, \"scale\": %d}\n", copper.width_mm, copper.height_mm, SCALE);
    bool done = file_write(text_fmt(arena, "%s/copper.gbr%c", folder, 0).at, out_text(&gerber)) &&
                file_write(text_fmt(arena, "%s/size.json%c", folder, 0).at, out_text(&size)) &&
                export_labels(text_fmt(arena, "%s/labels.png%c", folder, 0).at, &copper, 0);
    copper_free(&copper);
    arena_free(arena);
    return done ? 0 : 3;
}

/* 8-bit grey; a label counts as white when it is any. */
static unsigned char *read_grey(Arena *arena, const char *path, bool labels, png_image *image) {
    *image = (png_image){.version = PNG_IMAGE_VERSION};
    if (!png_image_begin_read_from_file(image, path)) return NULL;
    image->format = labels ? PNG_FORMAT_LINEAR_Y : PNG_FORMAT_GRAY;
    size_t pixels = (size_t)image->width * image->height;
    void *read = arena_take(arena, PNG_IMAGE_SIZE(*image));
    if (!png_image_finish_read(image, &(png_color){255, 255, 255}, read, 0, NULL)) return NULL;
    unsigned char *grey = arena_take(arena, pixels);
    for (size_t i = 0; i < pixels; i++)
        grey[i] = labels ? (((uint16_t *)read)[i] != 0 ? 255 : 0) : ((unsigned char *)read)[i];
    return grey;
}

static int compare(const char *labels, const char *picture) {
    Arena *arena = arena_new();
    png_image one, two;
    const unsigned char *is = read_grey(arena, labels, true, &one), *drawn_dark = read_grey(arena, picture, false, &two);
    if (is == NULL || drawn_dark == NULL || one.width != two.width || one.height != two.height) return 2;
    double both = 0, either = 0;
    for (size_t i = 0; i < (size_t)one.width * one.height; i++) {
        both += is[i] != 0 && drawn_dark[i] < 128;
        either += is[i] != 0 || drawn_dark[i] < 128;
    }
    printf("%.4f\n", either > 0 ? both / either : 0);
    arena_free(arena);
    return 0;
}

int main(int argc, char **argv) {
    if (argc >= 3 && strcmp(argv[1], "write") == 0) return write_all(argv[2], argc > 3 ? argv[3] : NULL);
    if (argc == 4 && strcmp(argv[1], "compare") == 0) return compare(argv[2], argv[3]);
    return 2;
}
