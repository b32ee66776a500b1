/* JPEG by libjpeg-turbo, PNG by libpng (sheets in, copper out), and the truth as JSON. Groups are connected regions of the
 * finished copper, holes filled. */
#include "photo.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>
#include <png.h>

bool photo_write_jpeg(const char *path, const Patch *photo, int quality, int chroma) {
    FILE *file = fopen(path, "wb");
    if (!file) return false;
    struct jpeg_compress_struct jpeg;
    struct jpeg_error_mgr errors;
    jpeg.err = jpeg_std_error(&errors);
    jpeg_create_compress(&jpeg);
    jpeg_stdio_dest(&jpeg, file);
    jpeg.image_width = (JDIMENSION)photo->w, jpeg.image_height = (JDIMENSION)photo->h;
    jpeg.input_components = 3, jpeg.in_color_space = JCS_RGB;
    jpeg_set_defaults(&jpeg);
    jpeg_set_quality(&jpeg, quality, TRUE);
    jpeg.comp_info[0].h_samp_factor = chroma < 2 ? 2 : 1, jpeg.comp_info[0].v_samp_factor = chroma < 1 ? 2 : 1;
    jpeg_start_compress(&jpeg, TRUE);
    while (jpeg.next_scanline < jpeg.image_height) {
        JSAMPROW row = photo->bytes + 3 * (size_t)jpeg.next_scanline * (size_t)photo->w;
        jpeg_write_scanlines(&jpeg, &row, 1);
    }
    jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    return fclose(file) == 0;
}

static bool read_sheet(const char *path, Plane *sheet) {
    const int most = (int)(SHEETS_MOST_MM * RASTER_SCALE) + 1;
    png_image image = {.version = PNG_IMAGE_VERSION};
    if (!png_image_begin_read_from_file(&image, path)) return false;
    image.format = PNG_FORMAT_GRAY;
    if (image.width > (png_uint_32)most || image.height > (png_uint_32)most) {
        png_image_free(&image);
        return false;
    }
    *sheet = plane_new((int)image.width, (int)image.height);
    return png_image_finish_read(&image, &(png_color){0, 0, 0}, sheet->at, 0, NULL) != 0;
}

bool photo_read_sheets(const char *folder, Plane sheets[SHEET_COUNT], const char **at) {
    memset(sheets, 0, SHEET_COUNT * sizeof *sheets);
    for (int i = 0; i < SHEET_COUNT; i++) {
        char path[4096];
        *at = sheet_names[i];
        int length = snprintf(path, sizeof path, "%s/%s.png", folder, sheet_names[i]);
        if (length < 0 || length >= (int)sizeof path || !read_sheet(path, &sheets[i])) return false;
    }
    return true;
}

static int mask_width(const Board *board) { return (int)lrintf(board->width * RASTER_SCALE); }
static int mask_height(const Board *board) { return (int)lrintf(board->height * RASTER_SCALE); }

bool photo_write_copper(const char *path, const Board *board) {
    int w = mask_width(board), h = mask_height(board), margin = (int)(RASTER_MARGIN * RASTER_SCALE);
    unsigned char *grey = malloc((size_t)w * (size_t)h);
    png_image image = {
        .version = PNG_IMAGE_VERSION, .width = (png_uint_32)w, .height = (png_uint_32)h, .format = PNG_FORMAT_GRAY};
    if (!grey) return false;
    for (int y = 0; y < h; y++)
        for (int x = 0; x < w; x++)
            grey[(long)y * w + x] = plane_at(&board->copper, x + margin, y + margin) >= 128 ? 255 : 0;
    int done = png_image_write_to_file(&image, path, 0, grey, 0, NULL);
    free(grey);
    return done != 0;
}

/* A point on a pad's copper and clear of its hole, the farthest from any edge among points on rings round its middle, where
 * the board has none. Gives that distance in mm. */
static float sample_point(const Board *board, const Pad *pad, float *best_x, float *best_y) {
    Shape shape = layout_pad_shape(pad);
    float best = -1;
    if (board->samples) {
        const PadSample *sample = &board->samples[pad - board->pads];
        *best_x = sample->x, *best_y = sample->y;
        return sample->room;
    }
    for (int k = 0; k < 200; k++) {
        float t = (float)(k % 40) * 0.15708f, r = hypotf(pad->w, pad->h) / 2 * (float)(k / 40) / 5,
              x = pad->x + cosf(t) * r, y = pad->y + sinf(t) * r;
        float room = fminf(-shape_distance(&shape, x, y), pad->hole > 0 ? r - pad->hole / 2 : 1);
        for (int b = 0; b < board->bore_count; b++) room = fminf(room, shape_distance(&board->bores[b], x, y));
        if (plane_sample(&board->copper, plane_px(x), plane_px(y)) < 250 || room <= best) continue;
        if (x < 0.1f || y < 0.1f || x > board->width - 0.1f || y > board->height - 0.1f) continue;
        best = room, *best_x = x, *best_y = y;
    }
    return best;
}

static void write_pads(FILE *file, const Board *board, const int *label) {
    bool first = true;
    fprintf(file, " \"pads\": [");
    for (int i = 0; i < board->pad_count; i++) {
        const Pad *pad = &board->pads[i];
        float x = 0, y = 0, room = sample_point(board, pad, &x, &y), turned = fabsf(sinf(pad->turn));
        if (room < 0.04f) continue;
        int group = label[(long)(int)plane_px(y) * board->w + (int)plane_px(x)];
        float w = turned > 0.7f ? pad->h : pad->w, h = turned > 0.7f ? pad->w : pad->h;
        const char *kind = pad->via ? "via" : pad->hole > 0 ? "th" : "smd";
        fprintf(file,
                "%s\n  {\"x_mm\": %.3f, \"y_mm\": %.3f, \"w_mm\": %.3f, \"h_mm\": %.3f, \"hole_mm\": %.3f, \"group\": %d, "
                "\"kind\": \"%s\", "
                "\"sample\": [%.3f, %.3f], \"sample_r_mm\": %.3f}",
                first ? "" : ",", (double)pad->x, (double)pad->y, (double)w, (double)h, (double)pad->hole, group, kind,
                (double)x, (double)y, (double)fminf(0.15f, room));
        first = false;
    }
    fprintf(file, "\n ],\n");
}

static void write_hole(FILE *file, int id, const Shape *hole) {
    float x = (hole->x + hole->x2) / 2, y = (hole->y + hole->y2) / 2;
    fprintf(file, "%s\n  {\"id\": %d, \"x_mm\": %.3f, \"y_mm\": %.3f, \"d_mm\": %.3f", id ? "," : "", id, (double)x,
            (double)y, 2 * (double)hole->r);
    if (hypotf(hole->x2 - hole->x, hole->y2 - hole->y) > 0.01f)
        fprintf(file, ", \"slot_mm\": [%.3f, %.3f, %.3f, %.3f]", (double)hole->x, (double)hole->y, (double)hole->x2,
                (double)hole->y2);
    fprintf(file, "}");
}

/* Pads' holes, and all others; the holes of a board from sheets are all among the others. */
static void write_holes(FILE *file, const Board *board) {
    int id = 0;
    fprintf(file, " \"holes\": [");
    for (int i = 0; i < board->pad_count; i++) {
        const Pad *pad = &board->pads[i];
        Shape hole = shape_disc(pad->x, pad->y, pad->hole);
        if (pad->hole > 0 && !board->samples) write_hole(file, id++, &hole);
    }
    for (int i = 0; i < board->bore_count; i++)
        if (board->bores[i].sort == SHAPE_CAPSULE) write_hole(file, id++, &board->bores[i]);
    fprintf(file, "\n ]\n}\n");
}

static const char *base_name(const char *path) { return strrchr(path, '/') ? strrchr(path, '/') + 1 : path; }

bool photo_write_truth(const char *path, const PhotoWish *wish, const Board *board, const char *finish,
                       const Camera *camera) {
    FILE *file = fopen(path, "w");
    int *label = malloc((size_t)board->w * (size_t)board->h * sizeof *label);
    if (!file || !label) {
        free(label);
        if (file) fclose(file);
        return false;
    }
    int groups = plane_label(&board->copper, label);
    const double corners[4][2] = {{0, 0}, {board->width, 0}, {board->width, board->height}, {0, board->height}};
    fprintf(file, "{\n \"name\": \"%s-%llu-%llu\",\n \"finish\": \"%s\",\n \"photo\": \"%s\",\n \"photo_px\": [%d, %d],\n",
            wish->layers ? "layers" : "invented", (unsigned long long)wish->seed, (unsigned long long)wish->board, finish,
            base_name(wish->photo), camera->width, camera->height);
    fprintf(file,
            " \"width_mm\": %.4f,\n \"height_mm\": %.4f,\n \"px_per_mm\": %.2f,\n \"groups\": %d,\n \"corners_px\": [",
            (double)board->width, (double)board->height, (double)camera->scale, groups);
    for (int i = 0; i < 4; i++) {
        double px, py;
        camera_to_photo(camera, corners[i][0], corners[i][1], &px, &py);
        fprintf(file, "%s[%.2f, %.2f]", i ? ", " : "", px, py);
    }
    fprintf(file, "],\n \"camera\": {\"k1\": %.5f},\n \"jpeg_quality\": %d,\n", camera->k1, camera->quality);
    if (wish->copper)
        fprintf(file, " \"copper_mask\": {\"file\": \"%s\", \"px_per_mm\": %g},\n", base_name(wish->copper),
                (double)RASTER_SCALE);
    write_pads(file, board, label);
    write_holes(file, board);
    free(label);
    return fclose(file) == 0;
}
