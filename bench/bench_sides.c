/* A board of two photos, asked the first time and again: the sample pair beside the repository (nothing is printed where it
 * is absent), cold, then from the cache: nothing changed, and with one word more. The reference is hashing the two files,
 * which is the least that knowing them again can cost. */
#include "bench/measure.h"
#include "tests/board_samples.h"

#include "base/file.h"
#include "copper/board.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <xxhash.h>

static const double BAR = 0.05; /* of the first time: what costs nothing to a person */
enum { ROUNDS = 5 };

static const BoardSample *named(const BoardSample *samples, int count, const char *name) {
    for (int i = 0; i < count; i++)
        if (strcmp(samples[i].name, name) == 0) return &samples[i];
    return NULL;
}

static double once(const BoardAsked *asked, bool cached) {
    Arena *arena = arena_new();
    Diags problems = diags_new(arena);
    BoardCopper board;
    double start = measure_seconds();
    bool done = board_trace(arena, asked, &board, &problems);
    double took = measure_seconds() - start;
    for (BoardSide side = 0; side < BOARD_SIDES; side++) done = done && board.face[side].cached == cached;
    board_free(&board);
    arena_free(arena);
    return done ? took : NAN;
}

static double hash_photos(const BoardAsked *asked) {
    Arena *arena = arena_new();
    double start = measure_seconds();
    uint64_t hash = 0;
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        Text content;
        if (file_read(arena, asked->face[side].photo, SIZE_MAX, &content)) hash ^= XXH3_64bits(content.at, content.len);
    }
    double took = measure_seconds() - start;
    arena_free(arena);
    return hash != 0 ? took : NAN;
}

static double least_of(double (*measure)(const BoardAsked *), const BoardAsked *asked) {
    double least = INFINITY;
    for (int i = 0; i < ROUNDS; i++) least = fmin(least, measure(asked));
    return least;
}

static double again(const BoardAsked *asked) { return once(asked, true); }

static void print(const char *name, double took, double first, const char *reference, double bar) {
    char value[64], ratio[64], said[64];
    snprintf(value, sizeof value, "%.1f ms", took * 1e3);
    snprintf(ratio, sizeof ratio, "%.4f of the first time", took / first);
    snprintf(said, sizeof said, "%g of the first time", bar);
    measure_print(name, value, said, reference, ratio, took <= bar * first);
}

int main(void) {
    static BoardSample samples[BOARD_SAMPLES_MOST];
    int count = board_samples("../shared/boards", samples);
    const BoardSample *photos[BOARD_SIDES] = {named(samples, count, "usb-top-green"),
                                              named(samples, count, "usb-bottom-green")};
    char folder[] = "/tmp/unpick-sides-XXXXXX", command[64], reference[64];
    if (photos[0] == NULL || photos[1] == NULL || mkdtemp(folder) == NULL) return 0;
    BoardAsked asked = {.width_mm = photos[0]->width_mm, .height_mm = photos[0]->height_mm, .cache = folder};
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        asked.face[side].photo = photos[side]->photo;
        asked.face[side].has_corners = true;
        memcpy(asked.face[side].corners, photos[side]->corners, sizeof photos[side]->corners);
    }
    double first = once(&asked, false), second = least_of(again, &asked);
    snprintf(reference, sizeof reference, "both files read and hashed: %.1f ms", least_of(hash_photos, &asked) * 1e3);
    print("two photos of a board, asked again", second, first, reference, BAR);
    const PlacePoint hidden[] = {{1, 1}, {2, 1}, {2, 2}};
    const CopperWord word = {.sort = COPPER_HIDDEN, .at = hidden, .count = 3};
    asked.face[BOARD_TOP].words = &word, asked.face[BOARD_TOP].word_count = 1;
    double changed = once(&asked, true);
    snprintf(reference, sizeof reference, "the first time: %.0f ms", first * 1e3);
    print("two photos of a board, with another word", changed, first, reference, 0.5);
    snprintf(command, sizeof command, "rm -r %s", folder);
    return system(command) == 0 ? 0 : 1;
}
