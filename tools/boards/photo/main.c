/* boardphoto --photo OUT.jpg --truth OUT.json --copper OUT.png: one board, invented or from layers drawn elsewhere, a whole
 * photo of it, and what is true of it, in the fields that a scorer of labels reads. The photo is an ordinary good one (no
 * blinding glare, in focus, and of a board from layers close enough to fill the frame), since a person would take it again
 * otherwise. Cost: a few seconds for 12 megapixels, and 20 bytes a pixel. */
#include "../crop.h"
#include "../material.h"
#include "photo.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool read_wish(int argc, char **argv, PhotoWish *wish) {
    for (int i = 1; i < argc; i++) {
        const char *value = i + 1 < argc ? argv[i + 1] : NULL;
        bool *flag = !strcmp(argv[i], "--plain")     ? &wish->plain
                     : !strcmp(argv[i], "--hard")    ? &wish->hard
                     : !strcmp(argv[i], "--crowded") ? &wish->crowded
                                                     : NULL;
        if (flag) {
            *flag = true;
            continue;
        }
        if (!value) return false;
        if (!strcmp(argv[i], "--photo"))
            wish->photo = value;
        else if (!strcmp(argv[i], "--truth"))
            wish->truth = value;
        else if (!strcmp(argv[i], "--copper"))
            wish->copper = value;
        else if (!strcmp(argv[i], "--seed"))
            wish->seed = strtoull(value, NULL, 10);
        else if (!strcmp(argv[i], "--board"))
            wish->board = strtoull(value, NULL, 10);
        else if (!strcmp(argv[i], "--finish"))
            wish->finish = value;
        else if (!strcmp(argv[i], "--layers"))
            wish->layers = value;
        else if (!strcmp(argv[i], "--sheets"))
            wish->sheets = value;
        else if (!strcmp(argv[i], "--size")) {
            if (sscanf(value, "%fx%f", &wish->width, &wish->height) != 2) return false;
        } else if (!strcmp(argv[i], "--scale"))
            wish->scale = strtof(value, NULL);
        else
            return false;
        i++;
    }
    return (wish->photo || wish->sheets) && (wish->layers || !wish->sheets) && !wish->layers == (wish->width <= 0) &&
           (wish->scale == 0 || (wish->scale >= 8 && wish->scale <= 100));
}

static Board *wished_board(const PhotoWish *wish) {
    if (!wish->layers) return (wish->crowded ? layout_crowded : layout_new)(wish->seed, wish->board);
    Plane sheets[SHEET_COUNT];
    const char *at;
    Board *board = NULL;
    if (!photo_read_sheets(wish->layers, sheets, &at))
        fprintf(stderr, "boardphoto: %s/%s.png can't be read as a sheet\n", wish->layers, at);
    else if (wish->sheets && !sheets_write(wish->sheets, sheets))
        perror(wish->sheets);
    else if (!(board = sheets_board(sheets, wish->width, wish->height, wish->seed, wish->board)))
        fprintf(stderr, "boardphoto: the sheets in %s are no board of %g x %g mm at %g pixels per mm\n", wish->layers,
                (double)wish->width, (double)wish->height, (double)RASTER_SCALE);
    sheets_free(sheets);
    return board;
}

static const char *const finish_names[] = {"mask", "lacquer", "bare", "tinned"};

/* "green" is mask of that colour, the commonest. */
static bool finish_fits(const Look *look, const char *wished) {
    const Colour *l = &look->laminate;
    if (!strcmp(wished, "green")) return look->finish == FINISH_MASK && l->g > 1.5f * l->r && l->g > 1.5f * l->b;
    return !strcmp(wished, finish_names[look->finish]);
}

static Look wished_look(const Board *board, const PhotoWish *wish) {
    for (uint64_t tries = 0;; tries++) {
        Rng rng = rng_new(wish->seed, wish->board, 5000 + tries);
        Look look = look_new(board, &rng);
        if (wish->hard) look_harden(&look, &rng);
        look.populated = false;
        if (wish->plain) look.ground = GROUND_PLAIN;
        if (!wish->finish || finish_fits(&look, wish->finish) || tries > 1000) return look;
    }
}

static Camera wished_camera(const Board *board, const PhotoWish *wish) {
    for (uint64_t tries = 0;; tries++) {
        Rng rng = rng_new(wish->seed, wish->board, 9000 + tries);
        Camera camera = camera_new(board, &rng);
        if (wish->hard) camera_harden(&camera, board, &rng);
        for (int i = 0; i < 3; i++) camera.glare[i][3] = fminf(camera.glare[i][3], 0.25f);
        camera.defocus = fminf(camera.defocus, 1), camera.motion = 0;
        camera.exposure = fmaxf(0.7f, fminf(camera.exposure, 1.1f)), camera.shot_noise = fminf(camera.shot_noise, 0.02f);
        bool fits =
            wish->scale == 0 ? camera.scale >= 20 && camera.scale <= 34 : fabsf(camera.scale / wish->scale - 1) < 0.08f;
        if (wish->layers) fits &= camera.scale * hypotf(board->width, board->height) > 0.6f * (float)camera.height;
        if (fits || tries > 3000) return camera;
    }
}

/* Tile by tile: each tile's part of the board is rendered with room round it for the parallax and for blurs. */
static Patch whole_photo(const Board *board, const Look *look, const Camera *camera, const Noise *noise) {
    enum { TILE = 256 };
    Patch all = patch_new(0, 0, camera->width, camera->height);
    int across = (all.w + TILE - 1) / TILE, down = (all.h + TILE - 1) / TILE;
#pragma omp parallel for schedule(dynamic, 1)
    for (int t = 0; t < across * down; t++) {
        int x = t % across * TILE, y = t / across * TILE, w = all.w - x < TILE ? all.w - x : TILE,
            h = all.h - y < TILE ? all.h - y : TILE;
        double low_x = 1e9, low_y = 1e9, high_x = -1e9, high_y = -1e9;
        for (int k = 0; k < 4; k++) {
            double mx, my;
            camera_to_board(camera, x + (k % 2 ? w : 0), y + (k / 2 ? h : 0), &mx, &my);
            low_x = fmin(low_x, mx), high_x = fmax(high_x, mx), low_y = fmin(low_y, my), high_y = fmax(high_y, my);
        }
        int x0 = (int)plane_px((float)low_x - 2), y0 = (int)plane_px((float)low_y - 2);
        Scene scene = scene_render(board, look, camera, noise, x0, y0, (int)plane_px((float)high_x + 2) - x0,
                                   (int)plane_px((float)high_y + 2) - y0);
        Patch tile = patch_new(x, y, w, h);
        crop_project(camera, &scene, &tile);
        for (int c = 0; c < 3; c++)
            for (int row = 0; row < h; row++)
                memcpy(all.rgb[c] + (long)(y + row) * all.w + x, tile.rgb[c] + (long)row * w, (size_t)w * sizeof(float));
        patch_free(&tile);
        scene_free(&scene);
    }
    return all;
}

int main(int argc, char **argv) {
    PhotoWish wish = {.seed = 1};
    if (!read_wish(argc, argv, &wish)) {
        fprintf(stderr, "usage: boardphoto --photo OUT.jpg [--truth OUT.json] [--copper OUT.png] [--seed S] [--board B]\n"
                        "                  [--finish mask|green|lacquer|bare|tinned] [--scale PIXELS_PER_MM] [--plain] "
                        "[--hard] [--crowded]\n"
                        "                  [--layers FOLDER --size AxB [--sheets OUT.pgm]]\n");
        return 2;
    }
    Board *board = wished_board(&wish);
    if (!board) return 3;
    Rng hard = rng_new(wish.seed, wish.board, 7);
    if (wish.hard) layout_harden(board, &hard);
    if (!wish.photo) {
        layout_free(board);
        return 0;
    }
    Noise *noise = noise_new();
    Look look = wished_look(board, &wish);
    Camera camera = wished_camera(board, &wish);
    Patch photo = whole_photo(board, &look, &camera, noise);
    Rng rng = rng_new(wish.seed, wish.board, 77);
    camera_expose(&camera, noise, &rng, &photo);
    bool done = photo_write_jpeg(wish.photo, &photo, camera.quality, camera.chroma);
    if (done && wish.copper) done = photo_write_copper(wish.copper, board);
    if (done && wish.truth) done = photo_write_truth(wish.truth, &wish, board, finish_names[look.finish], &camera);
    if (!done) perror("boardphoto");
    patch_free(&photo);
    layout_free(board);
    free(noise);
    return done ? 0 : 3;
}
