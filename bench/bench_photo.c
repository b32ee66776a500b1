/* Photos to pixels: what the sandbox and the turning cost beside bare libjpeg-turbo decoding the same file line by line,
 * how time grows from 12 to 108 megapixels, and the most memory for a pixel that reader and decoding child hold together at
 * any one time, for every format. The photos are drawn with a camera's noise in a process of their own, so that this one
 * stays small. */
#include "bench/measure.h"
#include "bench/photo_cost.h"
#include "copper/photo.h"
#include "tests/photo_files.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

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

static bool read_watched(void *given) {
    bool read;
    read_once(given, &read);
    return read;
}

/* The time, of a process of its own each run; the memory, of one more, since being watched takes time. */
static Cost read_photo(char *path) {
    Cost *shared = mmap(NULL, sizeof *shared, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0), cost;
    shared->seconds = INFINITY;
    for (int run = 0; run < RUNS; run++) {
        pid_t reader = fork();
        if (reader == 0) {
            shared->seconds = fmin(shared->seconds, read_once(path, &shared->read));
            _exit(0);
        }
        waitpid(reader, NULL, 0);
    }
    cost = *shared;
    munmap(shared, sizeof *shared);
    bool done;
    cost.bytes = cost_memory(read_watched, path, &done);
    cost.read &= done;
    return cost;
}

static double measure(const char *name, FileSort sort, uint32_t width, uint32_t height, unsigned turn, bool against_bare) {
    char path[64], text[96], value[96], reference[64] = "-", ratio[32] = "-";
    snprintf(path, sizeof path, "%s/photo", folder);
    make_file(path, sort, width, height, turn);
    double pixels = (double)width * height, bare = against_bare ? cost_bare_jpeg(path, RUNS) : 0;
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
