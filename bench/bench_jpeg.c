/* JPEG bytes to nets, the whole way on two cores: photos of 3 to 108 megapixels of one panel, four times the same invented
 * board (drawn by boardphoto, the first argument), which fills 85 % of each photo's width. Beside each, the same steps
 * written with OpenCV alone (bench/opencv_nets.cpp), and bare libjpeg-turbo decoding of the same file. Then how time grows,
 * the memory of the whole command (unpick, the second argument), and what the network does beside a matrix product of
 * OpenBLAS. */
#include "bench/measure.h"
#include "bench/opencv_nets.h"
#include "bench/photo_cost.h"
#include "copper/net.h"
#include "tests/copper_truth.h"
#include "tests/photo_files.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { BOARDS = 2 /* along each side of the panel */, MARGIN = 64 /* of tiles, as in layers.c */ };
static const double BOARD_SCALE = 54; /* px/mm, about as boardphoto was asked to photograph */
static const double FILL = 0.85, KEYSTONE = 0.02;
static const double BYTES_A_PIXEL = 6, PREVIEW_SECONDS = 0.3;

extern const char COPPER_NET[];
extern const size_t COPPER_NET_LEN;

static char folder[] = "/tmp/unpick-bench-XXXXXX";

/* ---- the photos ---- */

typedef struct Shot {
    char path[64];
    const char *command;
    uint32_t width, height;
    PlacePoint corners[4];
    double width_mm, height_mm;
} Shot;

/* One board straightened, fine enough to be enlarged. */
static bool draw_board(Arena *arena, const char *boardphoto, Flat *board, Truth *truth) {
    char command[512], photo_path[64];
    Photo photo;
    BoardPlace place;
    Diags problems = diags_new(arena);
    snprintf(photo_path, sizeof photo_path, "%s/photo.jpg", folder);
    snprintf(command, sizeof command,
             "%s --photo %s --truth %s/truth.json --copper %s/copper.png --seed 7 --board 2 --scale 58 --plain", boardphoto,
             photo_path, folder, folder);
    if (system(command) != 0 || !truth_read(arena, folder, truth) || !photo_read(photo_path, &photo, &problems))
        return false;
    bool done = place_from_corners(truth->corners, truth->width_mm, truth->height_mm, photo.width, photo.height, &place) &&
                flat_from_photo(&photo, &place, BOARD_SCALE, board);
    photo_free(&photo);
    return done;
}

/* The panel's colour at a place of it in mm, between its pixels. */
static void panel_colour(const Flat *board, double x, double y, float rgb[3]) {
    double u = fmod(x * board->scale, board->width), v = fmod(y * board->scale, board->height);
    uint32_t i = (uint32_t)u, j = (uint32_t)v, right = i + 1 < board->width ? 3 : 0;
    size_t down = j + 1 < board->height ? 3 * (size_t)board->width : 0;
    float a = (float)(u - i), b = (float)(v - j);
    const unsigned char *at = board->rgb + 3 * ((size_t)j * board->width + i);
    for (int c = 0; c < 3; c++, at++)
        rgb[c] = (1 - b) * ((1 - a) * at[0] + a * at[right]) + b * ((1 - a) * at[down] + a * at[down + right]);
}

static void shoot_row(const Flat *board, const BoardPlace *place, uint32_t y, uint32_t width, unsigned char *rgb) {
    enum { STEP = 16 };
    uint32_t draw = y * 2654435761u + 1;
    PlacePoint from = place_to_board(place, (PlacePoint){0.5, y + 0.5});
    for (uint32_t x = 0; x < width; x += STEP) {
        PlacePoint to = place_to_board(place, (PlacePoint){x + STEP + 0.5, y + 0.5});
        for (uint32_t i = 0; i < STEP && x + i < width; i++) {
            float t = (float)i / STEP, colour[3] = {190, 186, 180};
            double mx = from.x + t * (to.x - from.x), my = from.y + t * (to.y - from.y);
            if (mx >= 0 && my >= 0 && mx < place->width_mm && my < place->height_mm) panel_colour(board, mx, my, colour);
            for (int c = 0; c < 3; c++) {
                draw = draw * 1664525u + 1013904223u;
                float noisy = colour[c] + (float)(draw >> 29) - 3.5f;
                *rgb++ = (unsigned char)(noisy < 0 ? 0 : noisy > 255 ? 255 : noisy);
            }
        }
        from = to;
    }
}

static bool shoot(const Flat *board, Shot *shot, double megapixels) {
    double aspect = 0.75, side = FILL, high = FILL * shot->height_mm / shot->width_mm;
    shot->width = (uint32_t)(sqrt(megapixels * 1e6 / aspect) / 16) * 16;
    shot->height = (uint32_t)(shot->width * aspect);
    if (high > FILL * aspect) side *= FILL * aspect / high, high = FILL * aspect;
    PlacePoint corners[4];
    for (int k = 0; k < 4; k++) {
        double in = k < 2 ? KEYSTONE : 0, x = k == 1 || k == 2 ? 0.5 + side / 2 - in : 0.5 - side / 2 + in;
        corners[k] = (PlacePoint){shot->width * x, shot->height * 0.5 + shot->width * (k < 2 ? -high / 2 : high / 2)};
    }
    snprintf(shot->path, sizeof shot->path, "%s/%.0f.jpg", folder, megapixels);
    memcpy(shot->corners, corners, sizeof corners);
    BoardPlace place;
    unsigned char *rgb = malloc((size_t)3 * shot->width * shot->height);
    if (rgb == NULL || !place_from_corners(corners, shot->width_mm, shot->height_mm, shot->width, shot->height, &place))
        return false;
#pragma omp parallel for num_threads(2)
    for (uint32_t y = 0; y < shot->height; y++) shoot_row(board, &place, y, shot->width, rgb + (size_t)3 * y * shot->width);
    Text bytes = files_write(FILE_JPEG, rgb, shot->width, shot->height, 1);
    FILE *file = fopen(shot->path, "wb");
    bool done = file != NULL && fwrite(bytes.at, 1, bytes.len, file) == bytes.len && fclose(file) == 0;
    free((void *)(uintptr_t)bytes.at);
    free(rgb);
    return done;
}

/* ---- the way to nets ---- */

typedef struct Times {
    double photo, place, flat, layers, trace, all;
    uint32_t nets, width, height;
} Times;

static bool nets_of(const Shot *shot, Times *times) {
    Arena *arena = arena_new();
    Diags problems = diags_new(arena);
    Photo photo;
    BoardPlace place;
    Flat flat;
    Layers layers;
    Copper copper;
    double start = measure_seconds(), now = start;
    bool done = photo_read(shot->path, &photo, &problems);
    times->photo = measure_seconds() - now, now += times->photo;
    done = done && place_from_corners(shot->corners, shot->width_mm, shot->height_mm, photo.width, photo.height, &place);
    if (done) place_refine(&photo, &place);
    times->place = measure_seconds() - now, now += times->place;
    done = done && flat_from_photo(&photo, &place, LAYER_SCALE, &flat);
    photo_free(&photo);
    times->flat = measure_seconds() - now, now += times->flat;
    done = done && layers_from_flat(&flat, NULL, 0, &layers);
    times->layers = measure_seconds() - now, now += times->layers;
    if (done) flat_free(&flat);
    done = done && copper_trace(arena, &layers, NULL, 0, &copper);
    times->trace = measure_seconds() - now, now += times->trace;
    times->all = now - start;
    if (done) {
        layers_free(&layers);
        times->nets = copper.nets.count, times->width = copper.width, times->height = copper.height;
        copper_free(&copper);
    }
    arena_free(arena);
    return done;
}

/* The command on the same photo: the most memory it holds, in bytes, and its seconds. */
static double run_command(const Shot *shot, bool preview, double *seconds, bool *done) {
    char size[64], corners[160];
    snprintf(size, sizeof size, "%.4fx%.4fmm", shot->width_mm, shot->height_mm);
    snprintf(corners, sizeof corners, "%.2f,%.2f %.2f,%.2f %.2f,%.2f %.2f,%.2f", shot->corners[0].x, shot->corners[0].y,
             shot->corners[1].x, shot->corners[1].y, shot->corners[2].x, shot->corners[2].y, shot->corners[3].x,
             shot->corners[3].y);
    const char *argv[] = {
        shot->command, "copper", shot->path, "--board", size, "--corners", corners, preview ? "--preview" : NULL, NULL};
    return cost_command((char *const *)argv, seconds, done);
}

static Times best_of(const Shot *shot, int runs, bool *done) {
    Times best = {.all = INFINITY};
    for (int i = 0; i < runs; i++) {
        Times times;
        *done = nets_of(shot, &times);
        if (*done && times.all < best.all) best = times;
    }
    return best;
}

static double opencv_of(const Shot *shot, const Times *ours, int runs, double *net_seconds, uint32_t *pieces) {
    double best = INFINITY, corners[8];
    *net_seconds = INFINITY;
    for (int k = 0; k < 4; k++) corners[2 * k] = shot->corners[k].x, corners[2 * k + 1] = shot->corners[k].y;
    for (int i = 0; i < runs; i++) {
        double in_net, start = measure_seconds();
        *pieces = opencv_nets(shot->path, corners, ours->width, ours->height, MARGIN, COPPER_NET, COPPER_NET_LEN, &in_net);
        double seconds = measure_seconds() - start;
        if (*pieces == 0) return INFINITY;
        best = fmin(best, seconds);
        *net_seconds = fmin(*net_seconds, in_net);
    }
    return best;
}

/* The whole command, from its start to its end, the best of some runs. */
static void measure_preview(const Shot *shot, double megapixels) {
    char name[96], value[64];
    double best = INFINITY;
    bool all = true;
    for (int i = 0; i < 3; i++) {
        double seconds;
        bool done;
        run_command(shot, true, &seconds, &done);
        best = fmin(best, seconds);
        all &= done;
    }
    snprintf(name, sizeof name, "preview, %.0f megapixels", megapixels);
    snprintf(value, sizeof value, "%.0f ms, the whole command", best * 1e3);
    measure_print(name, value, "300 ms", "-", "-", all && best < PREVIEW_SECONDS);
}

static void measure_memory(const Shot *shot, double megapixels) {
    char name[96], value[64], reference[96];
    double seconds, pixels = (double)shot->width * shot->height;
    bool done;
    double bytes = run_command(shot, false, &seconds, &done);
    snprintf(name, sizeof name, "memory from JPEG to nets, %.0f megapixels", megapixels);
    snprintf(value, sizeof value, "%.2f bytes a pixel, child included", bytes / pixels);
    double straight = shot->width_mm * shot->height_mm * LAYER_SCALE * LAYER_SCALE;
    snprintf(reference, sizeof reference, "%.0f MB: %.1f bytes a pixel of the straightened board", bytes / 1e6,
             bytes / straight);
    measure_print(name, value, "6 bytes", reference, "-", done && bytes < BYTES_A_PIXEL * pixels);
}

static double measure(const Flat *board, Shot *shot, double megapixels, double bar) {
    char name[96], value[160], limit[32] = "-", reference[96] = "-", ratio[64] = "-";
    bool done = shoot(board, shot, megapixels);
    Times times = best_of(shot, megapixels > 20 ? 2 : 3, &done);
    double bare = cost_bare_jpeg(shot->path, 2), pixels = (double)shot->width * shot->height, opencv = INFINITY, in_net;
    uint32_t pieces = 0;
    snprintf(name, sizeof name, "JPEG to nets, %.0f megapixels", megapixels);
    snprintf(value, sizeof value, "%.2f s (photo %.0f, place %.0f, flat %.0f, layers %.0f, nets %.0f ms; %u nets)",
             times.all, times.photo * 1e3, times.place * 1e3, times.flat * 1e3, times.layers * 1e3, times.trace * 1e3,
             times.nets);
    if (bar > 0) {
        opencv = opencv_of(shot, &times, megapixels > 20 ? 1 : 2, &in_net, &pieces);
        snprintf(limit, sizeof limit, "%.1f s, and OpenCV's", bar);
        snprintf(reference, sizeof reference, "OpenCV 4 with its dnn: %.2f s (%u pieces)", opencv, pieces);
        snprintf(ratio, sizeof ratio, "%.2f of it", times.all / opencv);
    }
    measure_print(name, value, limit, reference, ratio, done && (bar == 0 || (times.all < bar && times.all < opencv)));
    snprintf(name, sizeof name, "JPEG to nets, %.0f megapixels, beside decoding", megapixels);
    snprintf(value, sizeof value, "%.1f ns a pixel of the photo", times.all * 1e9 / pixels);
    snprintf(reference, sizeof reference, "bare libjpeg-turbo: %.2f s", bare);
    snprintf(ratio, sizeof ratio, "%.2f x as long", times.all / bare);
    measure_print(name, value, "-", reference, ratio, done);
    measure_memory(shot, megapixels);
    if (bar > 0) measure_preview(shot, megapixels);
    unlink(shot->path);
    return times.all;
}

/* The largest photo that is taken, for its memory only. */
static void measure_largest(const Flat *board, Shot *shot) {
    double megapixels = 0.999e-6 * PHOTO_PIXELS_MOST;
    if (shoot(board, shot, megapixels)) measure_memory(shot, megapixels);
    unlink(shot->path);
}

/* Time as the straight line a + b * megapixels through the first and the last, and how far the others are from it. */
static void measure_growth(const double *megapixels, const double *seconds, int count) {
    char value[96], ratio[96];
    int last = count - 1;
    double b = (seconds[last] - seconds[0]) / (megapixels[last] - megapixels[0]), a = seconds[0] - b * megapixels[0],
           off = 0;
    for (int i = 1; i < last; i++) off = fmax(off, seconds[i] / (a + b * megapixels[i]) - 1);
    double power = log(seconds[last] / seconds[1]) / log(megapixels[last] / megapixels[1]);
    snprintf(value, sizeof value, "%.2f s and %.1f ms a megapixel", a, b * 1e3);
    snprintf(ratio, sizeof ratio, "grows as the %.2f power, at most %.0f %% above the line", power, off * 100);
    measure_print("JPEG to nets, 3 to 108 megapixels", value, "no more than a straight line", "-", ratio,
                  off < 0.2 && power < 1.1);
}

/* Products and sums that the network's definition asks for, a pixel of the picture. */
static double net_flops_a_pixel(Arena *arena) {
    double flops = 0, share = 1;
    const char *text = text_cstring(arena, text_sub((Text){COPPER_NET, COPPER_NET_LEN}, 0,
                                                    text_find((Text){COPPER_NET, COPPER_NET_LEN}, TEXT("weights"))));
    for (const char *line = text; line != NULL && *line != '\0'; line = strchr(line, '\n'), line += line != NULL) {
        int in, out, stride;
        if (strncmp(line, "fold", 4) == 0) share /= 4;
        if (strncmp(line, "grow", 4) == 0) share *= 4;
        if (sscanf(line, "conv %d %d %d", &in, &out, &stride) != 3) continue;
        if (stride == 2) share /= 4;
        flops += share * 2 * 9 * in * out;
    }
    return flops;
}

/* One thread of it, against a product of matrices as large as its largest step: 24 channels from 9 times 64. */
static void measure_net(Arena *arena) {
    enum { WIDE = 1024, HIGH = 512, OUTS = 24, DEEP = 9 * 64 };
    Diags problems = diags_new(arena);
    const Net *net = net_new(arena, TEXT("copper.net"), (Text){COPPER_NET, COPPER_NET_LEN}, &problems);
    unsigned char *in = arena_take(arena, (size_t)WIDE * HIGH * 3),
                  *out = arena_take(arena, (size_t)WIDE * HIGH * LAYER_COUNT);
    double best = INFINITY;
    for (int i = 0; i < 3; i++) {
        double start = measure_seconds();
        if (net == NULL || !net_run(net, WIDE, HIGH, in, out)) return;
        best = fmin(best, measure_seconds() - start);
    }
    double ours = net_flops_a_pixel(arena) * WIDE * HIGH / best, sgemm = openblas_flops(OUTS, WIDE * HIGH / 4, DEEP);
    char value[96], reference[96], ratio[48];
    snprintf(value, sizeof value, "%.0f Gflop/s by definition, %.0f ns a pixel", ours / 1e9, best * 1e9 / (WIDE * HIGH));
    snprintf(reference, sizeof reference, "OpenBLAS sgemm, %d x %d by %d x %d: %.0f Gflop/s", OUTS, DEEP, DEEP,
             WIDE * HIGH / 4, sgemm / 1e9);
    snprintf(ratio, sizeof ratio, "%.2f x as many", ours / sgemm);
    measure_print("the network, one thread", value, "OpenBLAS", reference, ratio, ours > sgemm);
}

int main(int argc, char **argv) {
    Arena *arena = arena_new();
    Flat board;
    Truth truth;
    if (argc != 3 || mkdtemp(folder) == NULL || !draw_board(arena, argv[1], &board, &truth)) return 1;
    Shot shot = {.command = argv[2], .width_mm = BOARDS * truth.width_mm, .height_mm = BOARDS * truth.height_mm};
    static const double megapixels[] = {3, 12, 48, 108}, bars[] = {0, 1.5, 4, 0};
    double seconds[4];
    measure_net(arena);
    for (int i = 0; i < 4; i++) seconds[i] = measure(&board, &shot, megapixels[i], bars[i]);
    measure_growth(megapixels, seconds, 4);
    measure_largest(&board, &shot);
    flat_free(&board);
    arena_free(arena);
    static const char *const made[] = {"photo.jpg", "truth.json", "copper.png"};
    for (int i = 0; i < 3; i++) {
        char path[64];
        snprintf(path, sizeof path, "%s/%s", folder, made[i]);
        unlink(path);
    }
    rmdir(folder);
    return 0;
}
