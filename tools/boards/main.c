/* boards --out FILE --count N [--seed S] [--threads T] [--first B] [--hard SHARE] [--crowded SHARE] [--sheets FILE ...]:
 * writes training records (crop.h), of invented boards, or of boards drawn elsewhere (sheets.h), which then take turns.
 * SHARE of them are hard to read (hard.c), or of the invented ones crowded (crowd.c), 0 unless said. */
#include "crop.h"
#include "sheets.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { SHEETS_MOST = 256 };

typedef struct Wish {
    const char *out, *sheets[SHEETS_MOST];
    int sheet_files;
    long count, threads;
    float hard, crowded;
    uint64_t seed, first;
} Wish;

static bool read_wish(int argc, char **argv, Wish *wish) {
    *wish = (Wish){.count = 64, .threads = 1, .seed = 1};
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
        else if (!strcmp(argv[i], "--hard"))
            wish->hard = strtof(argv[i + 1], NULL);
        else if (!strcmp(argv[i], "--crowded"))
            wish->crowded = strtof(argv[i + 1], NULL);
        else if (!strcmp(argv[i], "--sheets") && wish->sheet_files < SHEETS_MOST)
            wish->sheets[wish->sheet_files++] = argv[i + 1];
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

typedef Plane Sheets[SHEET_COUNT];

static Board *sheets_whole(Sheets sheets, uint64_t seed, uint64_t number) {
    return sheets_board(sheets, (float)sheets[0].w / RASTER_SCALE, (float)sheets[0].h / RASTER_SCALE, seed, number);
}

/* All files of sheets, each tried once; NULL when one makes no board, after saying which. */
static Sheets *read_sheets(const Wish *wish) {
    Sheets *all = calloc((size_t)wish->sheet_files + 1, sizeof *all);
    if (!all) abort();
    for (int i = 0; i < wish->sheet_files; i++) {
        Board *board = sheets_read(wish->sheets[i], all[i]) ? sheets_whole(all[i], 0, 0) : NULL;
        if (!board) {
            fprintf(stderr, "boards: %s holds no sheets of a board\n", wish->sheets[i]);
            for (int k = 0; k <= i; k++) sheets_free(all[k]);
            free(all);
            return NULL;
        }
        layout_free(board);
    }
    return all;
}

int main(int argc, char **argv) {
    Wish wish;
    if (!read_wish(argc, argv, &wish)) {
        fprintf(stderr, "usage: boards --out FILE --count N [--seed S] [--threads T] [--first BOARD] [--hard SHARE] "
                        "[--crowded SHARE] [--sheets FILE ...]\n");
        return 2;
    }
    Sheets *sheets = read_sheets(&wish);
    if (!sheets) return 3;
    int file = open(wish.out, O_WRONLY | O_CREAT | O_TRUNC, 0644);
    Noise *noise = noise_new();
    long boards = (wish.count + CROPS_A_BOARD - 1) / CROPS_A_BOARD, failed = file < 0;
#pragma omp parallel for schedule(dynamic, 1) num_threads((int)wish.threads) reduction(+ : failed)
    for (long b = 0; b < boards; b++) {
        int count = (int)(wish.count - b * CROPS_A_BOARD < CROPS_A_BOARD ? wish.count - b * CROPS_A_BOARD : CROPS_A_BOARD);
        unsigned char *bytes = malloc((size_t)CROPS_A_BOARD * CROP_BYTES);
        if (!bytes) abort();
        uint64_t number = wish.first + (uint64_t)b;
        Rng hard = rng_new(wish.seed, number, 7), kind = rng_new(wish.seed, number, 9);
        Board *board = wish.sheet_files ? sheets_whole(sheets[number % (uint64_t)wish.sheet_files], wish.seed, number)
                       : rng_chance(&kind, wish.crowded) ? layout_crowded(wish.seed, number)
                                                         : layout_new(wish.seed, number);
        if (rng_chance(&hard, wish.hard)) layout_harden(board, &hard);
        crop_board(noise, board, wish.seed, number, count, bytes);
        layout_free(board);
        failed += !write_records(file, bytes, (size_t)count * CROP_BYTES, (off_t)b * CROPS_A_BOARD * CROP_BYTES);
        free(bytes);
    }
    for (int i = 0; i < wish.sheet_files; i++) sheets_free(sheets[i]);
    free(sheets);
    free(noise);
    if (failed || close(file)) {
        perror(wish.out);
        return 3;
    }
    return 0;
}
