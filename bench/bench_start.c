/* From start to exit: `unpick look demo/dispenser` run again and again as a shell would, beside a program that does nothing
 * (`true`) started in the same way, which is what starting costs on this machine. bench_start PROGRAM FOLDER */
#include "bench/measure.h"

#include <fcntl.h>
#include <math.h>
#include <spawn.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <unistd.h>

extern char **environ;

enum { RUNS = 101 };
static const double BAR = 0.020; /* seconds */

typedef struct Runs {
    double median, worst; /* seconds */
    double peak_mib;
    bool fine;            /* every run ended with 0 or 1 (contradictions) */
} Runs;

static int by_size(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static Runs run_often(char *const *arguments) {
    Runs runs = {.fine = true};
    double times[RUNS];
    posix_spawn_file_actions_t quiet;
    posix_spawn_file_actions_init(&quiet);
    posix_spawn_file_actions_addopen(&quiet, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
    for (int i = 0; i < RUNS; i++) {
        pid_t pid;
        int status = 0;
        struct rusage usage = {0};
        double before = measure_seconds();
        bool ran = posix_spawnp(&pid, arguments[0], &quiet, NULL, arguments, environ) == 0 && wait4(pid, &status, 0, &usage) == pid;
        times[i] = measure_seconds() - before;
        runs.fine = runs.fine && ran && WIFEXITED(status) && WEXITSTATUS(status) <= 1;
        runs.peak_mib = fmax(runs.peak_mib, (double)usage.ru_maxrss / 1024);
    }
    posix_spawn_file_actions_destroy(&quiet);
    qsort(times, RUNS, sizeof *times, by_size);
    runs.median = times[RUNS / 2];
    runs.worst = times[RUNS - 1];
    return runs;
}

int main(int argc, char **argv) {
    if (argc != 3) {
        fprintf(stderr, "usage: bench_start PROGRAM FOLDER\n");
        return 2;
    }
    Runs look = run_often((char *[]){argv[1], "look", argv[2], NULL});
    Runs nothing = run_often((char *[]){"true", NULL});
    char value[96], reference[64], ratio[32], memory[32];
    snprintf(value, sizeof value, "%.1f ms (worst of %d: %.1f ms)", look.median * 1e3, RUNS, look.worst * 1e3);
    snprintf(reference, sizeof reference, "true: %.1f ms", nothing.median * 1e3);
    snprintf(ratio, sizeof ratio, "%.1f x as long", look.median / nothing.median);
    measure_print("look at the demo, start to exit", value, "under 20 ms", reference, ratio, look.fine && look.median < BAR);
    snprintf(memory, sizeof memory, "%.1f MiB", look.peak_mib);
    snprintf(reference, sizeof reference, "true: %.1f MiB", nothing.peak_mib);
    snprintf(ratio, sizeof ratio, "%.1f x as much", look.peak_mib / nothing.peak_mib);
    measure_print("look at the demo, peak memory", memory, "-", reference, ratio, look.fine);
    return look.fine && nothing.fine ? 0 : 1;
}
