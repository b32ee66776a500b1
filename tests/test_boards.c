/* The generator of invented boards: the same seed gives the same bytes, the camera's arithmetic goes there and back, and
 * what stands in for JPEG leaves what libjpeg-turbo leaves. */
#include "../tools/boards/crop.h"
#include "../tools/boards/sheets.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>
#include <jpeglib.h>

static void crops_of(const Noise *noise, uint64_t seed, uint64_t number, int count, unsigned char *out) {
    Board *board = layout_new(seed, number);
    crop_board(noise, board, seed, number, count, out);
    layout_free(board);
}

static void same_seed_same_bytes(void **state) {
    (void)state;
    Noise *noise = noise_new();
    unsigned char *once = malloc(3 * (size_t)CROP_BYTES), *again = once + CROP_BYTES, *other = again + CROP_BYTES;
    assert_non_null(once);
    crops_of(noise, 11, 3, 1, once);
    crops_of(noise, 11, 3, 1, again);
    crops_of(noise, 12, 3, 1, other);
    assert_memory_equal(once, again, CROP_BYTES);
    assert_memory_not_equal(once, other, CROP_BYTES);
    free(once);
    free(noise);
}

/* More pads to a square centimetre, and more of the gaps under 0.3 mm below print, than on other boards. */
static void crowded_boards_are_dense_and_printed_over_their_gaps(void **state) {
    (void)state;
    double printed[2] = {0}, pads[2] = {0}, area[2] = {0}; /* mm2 */
    for (uint64_t n = 0; n < 16; n++) {
        bool crowded = n % 2;
        Board *board = (crowded ? layout_crowded : layout_new)(21, n / 2);
        pads[crowded] += board->pad_count, area[crowded] += (double)board->width * (double)board->height;
        Plane grown = plane_copy(&board->copper);
        plane_grow(&grown, 0.15f);
        for (long i = 0; i < (long)board->w * board->h; i++) {
            bool gap = grown.at[i] >= 128 && board->copper.at[i] < 128 && board->open.at[i] < 128;
            if (gap && board->silk.at[i] >= 128) printed[crowded] += 1.0 / (double)(RASTER_SCALE * RASTER_SCALE);
        }
        plane_free(&grown);
        layout_free(board);
    }
    assert_true(pads[1] / area[1] > 1.3 * pads[0] / area[0]);
    assert_true(printed[1] / area[1] > 1.3 * printed[0] / area[0]);
}

static void camera_goes_there_and_back(void **state) {
    (void)state;
    Board board = {.width = 40, .height = 25};
    for (uint64_t n = 0; n < 200; n++) {
        Rng rng = rng_new(5, n, 0);
        Camera camera = camera_new(&board, &rng);
        for (int k = 0; k < 20; k++) {
            double x = (double)rng_between(&rng, 0, board.width), y = (double)rng_between(&rng, 0, board.height), px, py,
                   bx, by;
            camera_to_photo(&camera, x, y, &px, &py);
            camera_to_board(&camera, px, py, &bx, &by);
            assert_true(fabs(bx - x) < 1e-4 && fabs(by - y) < 1e-4);
            assert_true(px > 0 && py > 0 && px < camera.width && py < camera.height); /* the whole board is in the photo */
        }
    }
}

/* From the definition: the nearest of all set pixels. */
static void distances_are_nearest(void **state) {
    (void)state;
    enum { SIDE = 40, AREA = SIDE * SIDE };
    unsigned char set[AREA];
    float out[AREA];
    int near[AREA];
    Rng rng = rng_new(2, 0, 0);
    for (int round = 0; round < 20; round++) {
        for (int i = 0; i < AREA; i++) set[i] = rng_chance(&rng, 0.01f);
        set[rng_below(&rng, AREA)] = 1;
        distance_to(set, SIDE, SIDE, 1000, out, near);
        for (int i = 0; i < AREA; i++) {
            float least = 1e9f;
            for (int k = 0; k < AREA; k++)
                if (set[k]) least = fminf(least, hypotf((float)(i % SIDE - k % SIDE), (float)(i / SIDE - k / SIDE)));
            assert_true(set[near[i]] && out[i] >= least - 1e-3f && out[i] <= least + 0.5f);
        }
    }
}

/* Two areas a quarter of a millimetre apart: the gap counts much, and most where print hides it; two areas a
 * millimetre apart: it does not. */
static void thin_gaps_weigh_most(void **state) {
    (void)state;
    static unsigned char copper[CROP_AREA], covered[CROP_AREA], weight[CROP_AREA];
    for (int i = 0; i < CROP_AREA; i++) {
        int x = i % CROP_SIDE;
        bool gap = (x >= 80 && x < 85) || (x >= 160 && x < 180);
        copper[i] = gap ? 0 : 255, covered[i] = i / CROP_SIDE >= 200;
    }
    crop_weigh(copper, covered, 20, weight);
    assert_int_equal(weight[128 * CROP_SIDE + 82], CROP_THIN);
    assert_int_equal(weight[210 * CROP_SIDE + 82], 255);
    assert_int_equal(weight[210 * CROP_SIDE + 40], 128);
    assert_int_equal(weight[128 * CROP_SIDE + 170], 128);
    assert_int_equal(weight[128 * CROP_SIDE + 40], 128);
}

static void through_libjpeg(const unsigned char *rgb, int side, int quality, int chroma, unsigned char *out) {
    struct jpeg_error_mgr errors;
    struct jpeg_compress_struct to = {.err = jpeg_std_error(&errors)};
    unsigned char *bytes = NULL;
    unsigned long size = 0;
    jpeg_create_compress(&to);
    jpeg_mem_dest(&to, &bytes, &size);
    to.image_width = to.image_height = (JDIMENSION)side, to.input_components = 3, to.in_color_space = JCS_RGB;
    jpeg_set_defaults(&to);
    jpeg_set_quality(&to, quality, TRUE);
    to.comp_info[0].h_samp_factor = chroma < 2 ? 2 : 1, to.comp_info[0].v_samp_factor = chroma < 1 ? 2 : 1;
    jpeg_start_compress(&to, TRUE);
    for (int y = 0; y < side; y++) {
        JSAMPLE row[3 * 256], *rows[1] = {row};
        memcpy(row, rgb + 3 * y * side, 3 * (size_t)side);
        jpeg_write_scanlines(&to, rows, 1);
    }
    jpeg_finish_compress(&to);
    jpeg_destroy_compress(&to);
    struct jpeg_decompress_struct from = {.err = jpeg_std_error(&errors)};
    jpeg_create_decompress(&from);
    jpeg_mem_src(&from, bytes, size);
    jpeg_read_header(&from, TRUE);
    jpeg_start_decompress(&from);
    for (int y = 0; y < side; y++) {
        JSAMPROW row = out + 3 * y * side;
        jpeg_read_scanlines(&from, &row, 1);
    }
    jpeg_finish_decompress(&from);
    jpeg_destroy_decompress(&from);
    free(bytes);
}

static void wear_is_jpeg(void **state) {
    (void)state;
    Noise *noise = noise_new();
    unsigned char *crop = malloc(CROP_BYTES), *jpeg = malloc(3 * CROP_AREA);
    assert_true(crop && jpeg);
    crops_of(noise, 4, 1, 1, crop);
    for (int chroma = 0; chroma < 3; chroma++)
        for (int quality = 75; quality <= 95; quality += 10) {
            Patch patch = patch_new(0, 0, CROP_SIDE, CROP_SIDE);
            double apart = 0, worn = 0;
            memcpy(patch.bytes, crop, 3 * CROP_AREA);
            jpeg_wear(&patch, quality, chroma);
            through_libjpeg(crop, CROP_SIDE, quality, chroma, jpeg);
            for (int i = 0; i < 3 * CROP_AREA; i++) {
                apart += abs(patch.bytes[i] - jpeg[i]);
                worn += abs(crop[i] - jpeg[i]);
            }
            apart /= 3 * CROP_AREA, worn /= 3 * CROP_AREA;
            /* levels of 255, on average; what is left apart is mostly how colour is brought back to full size */
            assert_true(worn > 1 && apart < 0.6 * worn && apart < 0.7);
            patch_free(&patch);
        }
    free(crop), free(jpeg), free(noise);
}

/* Two pads of one piece of copper, one of them drilled in a ring without copper in its middle; a third beside them behind a
 * gap; a hole in bare laminate; a track under mask, which is no pad. */
static void sheets_become_pads_and_groups(void **state) {
    (void)state;
    enum { W = 12, H = 8, PADS = 3 };
    const Shape pads[PADS] = {shape_disc(3, 3, 1.6f), shape_box(7, 3, 1, 2, 0, 0), shape_box(8.3f, 3, 1, 2, 0, 0)};
    const Shape hole = shape_disc(3, 3, 0.8f), bore = shape_line(3, 6, 4, 6, 1), track = shape_line(3, 3, 7, 3, 0.3f),
                body = shape_box(W / 2.0f, H / 2.0f, W, H, 0, 0);
    Plane drawn = plane_new((int)((W + 4) * RASTER_SCALE), (int)((H + 4) * RASTER_SCALE)), sheets[SHEET_COUNT];
    for (int i = 0; i < SHEET_COUNT; i++) {
        memset(drawn.at, 0, (size_t)drawn.w * (size_t)drawn.h);
        for (int k = 0; k < PADS && i <= SHEET_MASK; k++) plane_draw(&drawn, &pads[k], i == SHEET_MASK ? 0.05f : 0);
        if (i == SHEET_COPPER) plane_draw(&drawn, &track, 0), plane_cut(&drawn, &hole, 0);
        if (i == SHEET_DRILL) plane_draw(&drawn, &hole, 0), plane_draw(&drawn, &bore, 0);
        if (i == SHEET_OUTLINE) plane_draw(&drawn, &body, 0);
        sheets[i] = plane_new((int)(W * RASTER_SCALE), (int)(H * RASTER_SCALE));
        for (int y = 0; y < sheets[i].h; y++)
            memcpy(sheets[i].at + (long)y * sheets[i].w,
                   drawn.at + (y + (long)(RASTER_MARGIN * RASTER_SCALE)) * drawn.w + (long)(RASTER_MARGIN * RASTER_SCALE),
                   (size_t)sheets[i].w);
    }
    assert_null(sheets_board(sheets, W + 1, H, 1, 1)); /* of another size */
    Board *board = sheets_board(sheets, W, H, 1, 1);
    assert_non_null(board);
    assert_int_equal(board->pad_count, PADS);
    assert_int_equal(board->bore_count, 2);
    int *label = malloc((size_t)board->w * (size_t)board->h * sizeof *label), group[PADS];
    assert_non_null(label);
    assert_int_equal(plane_label(&board->copper, label), 2);
    for (int k = 0; k < PADS; k++) {
        int i = 0;
        while (i < PADS && hypotf(board->pads[i].x - pads[k].x, board->pads[i].y - pads[k].y) > 0.05f) i++;
        assert_true(i < PADS);
        const PadSample *sample = &board->samples[i];
        assert_true(shape_distance(&pads[k], sample->x, sample->y) < 0 && sample->room > 0.1f);
        assert_true(k > 0 ||
                    (shape_distance(&hole, sample->x, sample->y) > 0.1f && fabsf(board->pads[i].hole - 0.8f) < 0.04f));
        group[k] = label[(long)(int)plane_px(sample->y) * board->w + (int)plane_px(sample->x)];
    }
    assert_true(group[0] == group[1] && group[1] != group[2] && group[0] > 0 && group[2] > 0);
    free(label);
    layout_free(board);
    plane_free(&drawn);
    char path[] = "/tmp/unpick-sheets-XXXXXX";
    int file = mkstemp(path);
    Plane again[SHEET_COUNT];
    assert_true(file >= 0 && sheets_write(path, sheets) && sheets_read(path, again));
    for (int i = 0; i < SHEET_COUNT; i++) {
        assert_true(again[i].w == sheets[i].w && again[i].h == sheets[i].h);
        assert_memory_equal(again[i].at, sheets[i].at, (size_t)again[i].w * (size_t)again[i].h);
    }
    sheets_free(again);
    assert_int_equal(ftruncate(file, 100000), 0); /* cut short */
    assert_false(sheets_read(path, again));
    sheets_free(again);
    close(file), unlink(path);
    sheets_free(sheets);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(same_seed_same_bytes),
        cmocka_unit_test(camera_goes_there_and_back),
        cmocka_unit_test(crowded_boards_are_dense_and_printed_over_their_gaps),
        cmocka_unit_test(distances_are_nearest),
        cmocka_unit_test(sheets_become_pads_and_groups),
        cmocka_unit_test(thin_gaps_weigh_most),
        cmocka_unit_test(wear_is_jpeg),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
