/* doubts [--clean] [--dump] [--scale S] BOARD ...: prints, for boards with truth (folders as ../shared/boards has them),
 * weights for src/copper/doubt.c fitted to them, and the calibration before and after; with --dump the samples instead, a
 * line each: the measures, the probability as the program has it, 1 when joined. default   from the photo, its corners
 * taken from truth: what people will meet; to fit by
 *   --clean   from the clean copper, blurred, noisy and steepened: no network needed */
#include "tests/truth_photo.h"
#include "tools/doubts/doubts.h"

#include <stdio.h>
#include <stdlib.h>

typedef struct Wish {
    bool clean, dump;
    double scale;
} Wish;

enum { DIRTS = 4 };
static const TruthDirt DIRT[DIRTS] = {{1.2, 20, 3, 1}, {1.5, 30, 4, 2}, {1, 40, 3, 3}, {2, 20, 0, 4}};

static bool add_board(Arena *arena, const char *folder, const Wish *wish, DoubtSamples *samples) {
    Truth truth;
    Layers layers;
    if (!truth_read(arena, folder, &truth) || truth.mask == NULL) return false;
    if (!wish->clean) {
        if (!truth_photo_layers(arena, folder, &truth, wish->scale, &layers)) return false;
        doubts_of(arena, &truth, &layers, samples);
        layers_free(&layers);
        return true;
    }
    for (unsigned i = 0; i < DIRTS; i++) {
        truth_layers(arena, &truth, wish->scale > 0 ? wish->scale : 20, DIRT[i], &layers);
        doubts_of(arena, &truth, &layers, samples);
    }
    return true;
}

static void print_samples(Out *out, const DoubtSamples *samples) {
    for (unsigned i = 0; i < DOUBT_FEATURES; i++) out_fmt(out, "%s ", DOUBT_FEATURE_NAMES[i]);
    out_lit(out, "p joined\n");
    for (uint32_t s = 0; s < samples->count; s++) {
        for (unsigned i = 0; i < DOUBT_FEATURES; i++) out_fmt(out, "%.5g ", samples->at[s].feature[i]);
        out_fmt(out, "%.5f %d\n", samples->at[s].p, samples->at[s].joined);
    }
}

static void print_fit(Out *out, const DoubtSamples *samples) {
    double weights[DOUBT_FEATURES];
    out_lit(out, "as the program has it:\n");
    doubts_table(out, samples, NULL);
    if (!doubts_fit(samples, weights)) {
        out_lit(out, "the samples don't determine the weights\n");
        return;
    }
    out_lit(out, "\nfitted:\n");
    doubts_table(out, samples, weights);
    for (unsigned i = 0; i < DOUBT_FEATURES; i++) out_fmt(out, "    %.3f, /* %s */\n", weights[i], DOUBT_FEATURE_NAMES[i]);
}

int main(int argc, char **argv) {
    Arena *arena = arena_new();
    Wish wish = {0};
    DoubtSamples samples = {0};
    int boards = 0;
    for (int i = 1; i < argc; i++) {
        if (strcmp(argv[i], "--clean") == 0)
            wish.clean = true;
        else if (strcmp(argv[i], "--dump") == 0)
            wish.dump = true;
        else if (strcmp(argv[i], "--scale") == 0 && i + 1 < argc)
            wish.scale = strtod(argv[++i], NULL);
        else if (add_board(arena, argv[i], &wish, &samples))
            boards++;
        else
            fprintf(stderr, "doubts: %s is no board with truth that can be read\n", argv[i]);
    }
    if (boards == 0) {
        fprintf(stderr, "usage: doubts [--clean] [--dump] [--scale S] BOARD ...\n");
        return 2;
    }
    Out out = out_new(arena);
    if (wish.dump)
        print_samples(&out, &samples);
    else
        print_fit(&out, &samples);
    fwrite(out.at, 1, out.len, stdout);
    arena_free(arena);
    return 0;
}
