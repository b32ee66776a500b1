/* The board found by itself: corners against truth on every sample beside the repository, one line each, and the mean over
 * all, with what finding costs beside decoding the same photo. Prints nothing to compare where the samples are absent. */
#include "bench/measure.h"
#include "tests/board_samples.h"

#include <math.h>
#include <string.h>

static const double BAR = 0.15; /* mm, on average */

typedef struct Found {
    bool found;
    double mean, worst; /* mm */
    double sure, read_seconds, find_seconds;
} Found;

static Found find(const BoardSample *sample) {
    Found result = {0};
    Diags problems = diags_new(arena_new());
    Photo photo;
    PlacePoint corners[4];
    double start = measure_seconds();
    if (photo_read(sample->photo, &photo, &problems)) {
        double read = measure_seconds(), mm[4] = {0};
        result.found = place_find(&photo, sample->width_mm, sample->height_mm, corners, &result.sure);
        result.find_seconds = measure_seconds() - read;
        result.read_seconds = read - start;
        if (result.found) board_sample_errors(sample, &photo, corners, mm);
        for (int i = 0; i < 4; i++) {
            result.mean += mm[i] / 4;
            result.worst = fmax(result.worst, mm[i]);
        }
        photo_free(&photo);
    }
    arena_free(problems.arena);
    return result;
}

int main(int argc, char **argv) {
    static BoardSample samples[BOARD_SAMPLES_MOST];
    int count = board_samples(argc > 1 ? argv[1] : "../shared/boards", samples);
    double sum = 0;
    for (int i = 0; i < count; i++) {
        char name[96], value[96], reference[64], ratio[32];
        Found found = find(&samples[i]);
        sum += found.found ? found.mean : 1;
        snprintf(name, sizeof name, "corners found: %s", samples[i].name);
        snprintf(value, sizeof value, found.found ? "%.3f mm (worst corner %.3f mm, sure %.2f)" : "not found", found.mean,
                 found.worst, found.sure);
        snprintf(reference, sizeof reference, "photo read in %.0f ms", found.read_seconds * 1e3);
        snprintf(ratio, sizeof ratio, "%.1f x as long", found.find_seconds / found.read_seconds);
        measure_print(name, value, "-", reference, ratio, found.found);
    }
    char value[96];
    snprintf(value, sizeof value, count > 0 ? "%.3f mm over %d photos" : "no samples here", sum / fmax(count, 1), count);
    measure_print("corners found, mean", value, "0.15 mm", "-", "-", count == 0 || sum / count <= BAR);
    return 0;
}
