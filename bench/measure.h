/* What the benchmark programs share: the clock, the memory, and the one line a measure prints. ./bench.sh makes the table. */
#ifndef UNPICK_BENCH_MEASURE_H
#define UNPICK_BENCH_MEASURE_H

#include <stdbool.h>
#include <stdio.h>
#include <sys/resource.h>
#include <time.h>

static inline double measure_seconds(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* The most memory this process has held so far, in MiB. */
static inline double measure_peak_mib(void) {
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    return (double)usage.ru_maxrss / 1024;
}

/* name, value, bar, reference, ratio, met|missed, with tabs between; texts say their units, "-" where there is nothing. */
static inline void measure_print(const char *name, const char *value, const char *bar, const char *reference,
                                 const char *ratio, bool met) {
    printf("%s\t%s\t%s\t%s\t%s\t%s\n", name, value, bar, reference, ratio, met ? "met" : "missed");
    fflush(stdout);
}

#endif
