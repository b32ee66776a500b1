#include "bench/photo_cost.h"
#include "bench/measure.h"

#include <fcntl.h>
#include <math.h>
#include <spawn.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

#include <jpeglib.h>

extern char **environ;

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

double cost_bare_jpeg(const char *path, int runs) {
    double *shared = mmap(NULL, sizeof *shared, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0), best;
    *shared = INFINITY;
    pid_t child = fork();
    if (child == 0) {
        for (int run = 0; run < runs; run++) *shared = fmin(*shared, decode_once(path));
        _exit(0);
    }
    waitpid(child, NULL, 0);
    best = *shared;
    munmap(shared, sizeof *shared);
    return best;
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

/* The most that a process and its child hold until it ends. */
static double most_held(pid_t worker, bool *done) {
    double most = 0;
    int status = 1;
    while (waitpid(worker, &status, WNOHANG) == 0) {
        most = fmax(most, held_with_child(worker));
        usleep(300);
    }
    *done = status == 0;
    return most;
}

double cost_memory(bool (*work)(void *given), void *given, bool *done) {
    pid_t worker = fork();
    if (worker == 0) _exit(work(given) ? 0 : 1);
    return most_held(worker, done);
}

/* Spawned, not forked: between fork and exec a copy of this process would be weighed. */
double cost_command(char *const argv[], double *seconds, bool *done) {
    pid_t worker;
    posix_spawn_file_actions_t quiet;
    posix_spawn_file_actions_init(&quiet);
    posix_spawn_file_actions_addopen(&quiet, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
    double start = measure_seconds(), most = 0;
    *done = posix_spawn(&worker, argv[0], &quiet, NULL, argv, environ) == 0;
    if (*done) most = most_held(worker, done);
    *seconds = measure_seconds() - start;
    posix_spawn_file_actions_destroy(&quiet);
    return most;
}
