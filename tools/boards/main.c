/* boards --out FILE --count N [--seed S] [--threads T] [--first B]: writes training records (crop.h). */
#include "crop.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

typedef struct Wish {
    const char *out;
    long count, threads;
    uint64_t seed, first;
} Wish;

static bool read_wish(int argc, char **argv, Wish *wish) {
    *wish = (Wish){NULL, 64, 1, 1, 0};
    for (int i = 1; i + 1 < argc; i += 2) {
        if (!strcmp(argv[i], "--out"))
            wish->out = argv[i + 1];
        else if (!strcmp(argv[i], "--count"))
            wish->count = strtol(argv[i + 1], NULL, 10);
        else if (!strcmp(argv[i], "--threads"))
            wish->threads = strtol(argv[i + 1], NULL, 10);
        else if (!strcmp(argv[i], "--seed"))
            wish->seed = strtoull(argv[i + 1], NULL, 10);
        else if (!strcmp(argv[i], "--first"))
            wish->first = strtoull(argv[i + 1], NULL, 10);
        else
            return false;
    }
    return argc % 2 == 1 && wish->out && wish->count > 0 && wish->threads > 0;
}

static bool write_records(int file, const unsigned char *bytes, size_t size, off_t at) {
    while (size) {
        ssize_t done = pwrite(file, bytes, size, at);
        if (done <= 0) return false;
        bytes += done, size -= (size_t)done, at += done;
    }
    return true;
}

int main(int argc, char **argv) {
    Wish wish;
    if (!read_wish(argc, argv, &wish)) {
        fprintf(stderr, "usage: boards --out FILE --count N [--seed S] [--threads T] [--first BOARD]\n");
        return 2;
    }
    int file = open(wish.out, O_WRONLY | O_CREAT | O_TRUNC, 0644);
    Noise *noise = noise_new();
    long boards = (wish.count + CROPS_A_BOARD - 1) / CROPS_A_BOARD, failed = file < 0;
#pragma omp parallel for schedule(dynamic, 1) num_threads((int)wish.threads) reduction(+ : failed)
    for (long b = 0; b < boards; b++) {
        int count = (int)(wish.count - b * CROPS_A_BOARD < CROPS_A_BOARD ? wish.count - b * CROPS_A_BOARD : CROPS_A_BOARD);
        unsigned char *bytes = malloc((size_t)CROPS_A_BOARD * CROP_BYTES);
        if (!bytes) abort();
        crop_board(noise, wish.seed, wish.first + (uint64_t)b, count, bytes);
        failed += !write_records(file, bytes, (size_t)count * CROP_BYTES, (off_t)b * CROPS_A_BOARD * CROP_BYTES);
        free(bytes);
    }
    free(noise);
    if (failed || close(file)) {
        perror(wish.out);
        return 3;
    }
    return 0;
}
