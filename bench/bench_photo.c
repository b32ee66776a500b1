/* Photos to pixels: what the sandbox and the turning cost beside bare libjpeg-turbo decoding the same file line by line,
 * how time grows from 12 to 108 megapixels, and the most memory for a pixel that reader and decoding child hold together at
 * any one time, for every format. The photos are drawn with a camera's noise in a process of their own, so that this one
 * stays small. */
#include "bench/measure.h"
#include "copper/photo.h"
#include "tests/photo_files.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <jpeglib.h>

enum { RUNS = 3 };
static const double BYTES_A_PIXEL = 6, TIMES_BARE = 1.25, TIMES_BARE_TURNED = 1.75;

static char folder[] = "/tmp/unpick-bench-XXXXXX";

static void make_file(const char *path, FileSort sort, uint32_t width, uint32_t height, unsigned turn) {
    pid_t child = fork();
    if (child == 0) {
        unsigned char *rgb = files_picture(width, height);
        uint32_t draw = 1;
        for (size_t i = 0; i < (size_t)3 * width * height; i++) {
            draw = draw * 1664525u + 1013904223u;
            rgb[i] = (unsigned char)(rgb[i] + (draw >> 29));
        }
        Text bytes = files_write(sort, rgb, width, height, turn);
        FILE *file = fopen(path, "wb");
        bool done = file != NULL && fwrite(bytes.at, 1, bytes.len, file) == bytes.len && fclose(file) == 0;
        _exit(done ? 0 : 1);
    }
    int status = 1;
    waitpid(child, &status, 0);
    if (status != 0) fprintf(stderr, "%s could not be made\n", path);
}

static double decode_once(const char *path) {
    struct jpeg_decompress_struct info;
    struct jpeg_error_mgr errors;
    FILE *file = fopen(path, "rb");
    if (file == NULL) return INFINITY;
    double start = measure_seconds();
    info.err = jpeg_std_error(&errors);
    jpeg_create_decompress(&info);
    jpeg_stdio_src(&info, file);
    jpeg_read_header(&info, TRUE);
    info.out_color_space = JCS_RGB;
    jpeg_start_decompress(&info);
    JSAMPROW row = malloc((size_t)3 * info.output_width);
    while (info.output_scanline < info.output_height) jpeg_read_scanlines(&info, &row, 1);
    jpeg_finish_decompress(&info);
    jpeg_destroy_decompress(&info);
    double seconds = measure_seconds() - start;
    free(row);
    fclose(file);
    return seconds;
}

/* Seconds of libjpeg-turbo alone, each line thrown away; the best of some runs, in a process that takes its memory with it.
 */
static double decode_bare(const char *path) {
    double *shared = mmap(NULL, sizeof *shared, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0), best;
    *shared = INFINITY;
    pid_t child = fork();
    if (child == 0) {
        for (int run = 0; run < RUNS; run++) *shared = fmin(*shared, decode_once(path));
        _exit(0);
    }
    waitpid(child, NULL, 0);
    best = *shared;
    munmap(shared, sizeof *shared);
    return best;
}

/* Seconds to read it, the best of some runs; and the most bytes that reader and decoder held together at any one time. */
typedef struct Cost {
    double seconds, bytes;
    bool read;
} Cost;

static double read_once(const char *path, bool *read) {
    Diags problems = diags_new(arena_new());
    Photo photo;
    double start = measure_seconds();
    *read = photo_read(path, &photo, &problems);
    double seconds = measure_seconds() - start;
    photo_free(&photo);
    arena_free(problems.arena);
    return seconds;
}

/* Bytes that a process holds beside files (proc(5), statm). 0 when it is gone. */
static double held_by(long process) {
    char path[64];
    long size = 0, resident = 0, shared = 0;
    snprintf(path, sizeof path, "/proc/%ld/statm", process);
    FILE *file = fopen(path, "r");
    if (file == NULL) return 0;
    if (fscanf(file, "%ld %ld %ld", &size, &resident, &shared) != 3) resident = shared = 0;
    fclose(file);
    return (double)(resident - shared) * (double)sysconf(_SC_PAGESIZE);
}

/* The same of a process and its only child. */
static double held_with_child(long process) {
    char path[64];
    long child = 0;
    snprintf(path, sizeof path, "/proc/%ld/task/%ld/children", process, process);
    FILE *file = fopen(path, "r");
    if (file != NULL && fscanf(file, "%ld", &child) != 1) child = 0;
    if (file != NULL) fclose(file);
    return held_by(process) + (child > 0 ? held_by(child) : 0);
}

static Cost read_photo(const char *path) {
    Cost *shared = mmap(NULL, sizeof *shared, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0), cost = {0};
    for (int run = 0; run < RUNS + 1; run++) {
        pid_t reader = fork();
        if (reader == 0) {
            double seconds = read_once(path, &shared->read);
            shared->seconds =
                run == 0 ? INFINITY : fmin(shared->seconds, seconds); /* the first is watched, which takes time */
            _exit(0);
        }
        while (run == 0 && waitpid(reader, NULL, WNOHANG) == 0) {
            cost.bytes = fmax(cost.bytes, held_with_child(reader));
            usleep(300);
        }
        if (run > 0) waitpid(reader, NULL, 0);
    }
    cost.seconds = shared->seconds;
    cost.read = shared->read;
    munmap(shared, sizeof *shared);
    return cost;
}

static double measure(const char *name, FileSort sort, uint32_t width, uint32_t height, unsigned turn, bool against_bare) {
    char path[64], text[96], value[96], reference[64] = "-", ratio[32] = "-";
    snprintf(path, sizeof path, "%s/photo", folder);
    make_file(path, sort, width, height, turn);
    double pixels = (double)width * height, bare = against_bare ? decode_bare(path) : 0;
    Cost cost = read_photo(path);
    struct stat info = {0};
    stat(path, &info);
    snprintf(text, sizeof text, "photo read: %s, %.0f megapixels", name, pixels / 1e6);
    snprintf(value, sizeof value, "%.0f ms (%.1f ns a pixel)", cost.seconds * 1e3, cost.seconds * 1e9 / pixels);
    if (against_bare) {
        snprintf(reference, sizeof reference, "bare libjpeg-turbo: %.0f ms", bare * 1e3);
        snprintf(ratio, sizeof ratio, "%.2f x as long", cost.seconds / bare);
    }
    measure_print(text, value,
                  !against_bare ? "-"
                  : turn > 4    ? "1.75 x bare"
                                : "1.25 x bare",
                  reference, ratio,
                  cost.read && (!against_bare || cost.seconds < (turn > 4 ? TIMES_BARE_TURNED : TIMES_BARE) * bare));
    snprintf(text, sizeof text, "photo memory: %s, %.0f megapixels", name, pixels / 1e6);
    snprintf(value, sizeof value, "%.2f bytes a pixel", cost.bytes / pixels);
    snprintf(reference, sizeof reference, "file: %.2f bytes a pixel", (double)info.st_size / pixels);
    measure_print(text, value, "6 bytes", reference, "-", cost.read && cost.bytes < BYTES_A_PIXEL * pixels);
    unlink(path);
    return cost.seconds / pixels;
}

int main(void) {
    if (mkdtemp(folder) == NULL) return 1;
    char value[96];
    double small = measure("JPEG", FILE_JPEG, 4000, 3000, 1, true), large;
    measure("JPEG on its side", FILE_JPEG, 4000, 3000, 6, true);
    measure("JPEG", FILE_JPEG, 8000, 6000, 1, true);
    large = measure("JPEG", FILE_JPEG, 12000, 9000, 1, true);
    snprintf(value, sizeof value, "%.2f x the time of a pixel", large / small);
    measure_print("photo read: JPEG, 108 beside 12 megapixels", value, "1.3 x", "-", "-", large < 1.3 * small);
    measure("JPEG in scans", FILE_JPEG_IN_SCANS, 8000, 6000, 1, true);
    measure("JPEG in scans on its side", FILE_JPEG_IN_SCANS, 4000, 3000, 6, true);
    measure("PNG", FILE_PNG, 4000, 3000, 1, false);
    measure("interlaced PNG on its side", FILE_PNG_INTERLACED, 4000, 3000, 6, false);
    measure("WebP", FILE_WEBP, 4000, 3000, 1, false);
    measure("WebP on its side", FILE_WEBP, 4000, 3000, 6, false);
    measure("WebP without loss", FILE_WEBP_LOSSLESS, 4000, 3000, 1, false);
    measure("HEIC on its side", FILE_HEIC, 4000, 3000, 6, false);
    rmdir(folder);
    return 0;
}
