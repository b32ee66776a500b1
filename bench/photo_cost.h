/* What a photo costs, seen from outside: bare decoding as the reference, and the memory of a process and the child that
 * decodes for it. */
#ifndef UNPICK_BENCH_PHOTO_COST_H
#define UNPICK_BENCH_PHOTO_COST_H

#include <stdbool.h>

/* Seconds of libjpeg-turbo alone, each line thrown away; the best of some runs, in a process that takes its memory with it.
 */
double cost_bare_jpeg(const char *path, int runs);

/* The most bytes beside files that a process and its only child held together at any one time while it did `work` in a
 * process of its own. done: what work returned. work must use no OpenMP: a fork loses its threads. */
double cost_memory(bool (*work)(void *given), void *given, bool *done);

/* The same of a command (argv[0] is its path; what it prints is thrown away), and its seconds from start to end. done: it ended well. */
double cost_command(char *const argv[], double *seconds, bool *done);

#endif
