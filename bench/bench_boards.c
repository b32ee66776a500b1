/* Photos to nets, judged, and how far the doubts can be believed: each sample board beside the repository
 * (../shared/boards; nothing is printed where it is absent), with its true corners and no hints, scored as score.py scores;
 * and the time from file to nets. The reference is the table of a plain library pipeline that lies beside the samples. */
#include "bench/measure.h"
#include "copper/board.h"
#include "tests/beeps.h"
#include "tests/truth_photo.h"
#include "tools/doubts/doubts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double BAR_MEAN = 0.97, BAR_LEAST = 0.90, PLAIN_MEAN = 0.503; /* baseline.md: best fixed setting */

static const double BAR_AFTER = 0.995, BAR_LISTED = 0.95;

typedef struct Sums {
    double f1, after, preview, preview_least;
    uint32_t boards, answers, pads, wrong, not_listed;
    DoubtSamples doubts;
} Sums;

/* The same photo at a first glance. */
static void judge_preview(Arena *arena, const char *folder, const Truth *truth, Sums *sums) {
    char path[512];
    BoardCopper board;
    Diags problems = diags_new(arena);
    BoardAsked asked = {.width_mm = truth->width_mm, .height_mm = truth->height_mm, .coarse = true};
    snprintf(path, sizeof path, "%s/photo.jpg", folder);
    asked.face[BOARD_TOP] = (BoardFaceAsked){.photo = path, .has_corners = true};
    memcpy(asked.face[BOARD_TOP].corners, truth->corners, sizeof truth->corners);
    if (!board_trace(arena, &asked, &board, &problems)) return;
    const Copper *copper = &board.face[BOARD_TOP].copper;
    double f1 = truth_score(arena, truth, copper->labels, copper->width, copper->height, copper->scale).f1;
    sums->preview += f1;
    sums->preview_least = fmin(sums->preview_least, f1);
    board_free(&board);
}

static void judge(Arena *arena, const char *folder, Sums *sums) {
    Truth truth;
    Layers layers;
    Copper copper;
    Beeps beeps = {0};
    char name[160], value[96];
    if (!truth_read(arena, folder, &truth)) return;
    double before = measure_seconds();
    if (!truth_photo_layers(arena, folder, &truth, LAYER_SCALE, &layers)) return;
    if (copper_trace(arena, &layers, NULL, 0, &copper)) {
        double took = measure_seconds() - before;
        copper_free(&copper);
        beeps_run(arena, &truth, &layers, &beeps);
        doubts_of(arena, &truth, &layers, &sums->doubts);
        const char *slash = strrchr(folder, '/');
        snprintf(name, sizeof name, "nets of a photo: %s", slash == NULL ? folder : slash + 1);
        snprintf(value, sizeof value, "F1 %.3f, %u wrong joins, %u wrong splits, IoU %.3f, %.0f ms", beeps.first.f1,
                 beeps.first.shorts, beeps.first.opens, beeps.first.iou, took * 1e3);
        measure_print(name, value, "F1 at least 0.90", "-", "-", beeps.first.f1 >= BAR_LEAST);
        judge_preview(arena, folder, &truth, sums);
        sums->f1 += beeps.first.f1, sums->after += beeps.last.f1, sums->answers += beeps.answers;
        sums->pads += truth.pads.count, sums->wrong += beeps.wrong, sums->not_listed += beeps.wrong_after;
        sums->boards++;
    }
    layers_free(&layers);
}

static void tell(Arena *arena, const Sums *sums) {
    char value[96], ratio[32];
    double mean = sums->f1 / sums->boards, after = sums->after / sums->boards;
    snprintf(value, sizeof value, "mean F1 %.3f over %u photos", mean, sums->boards);
    snprintf(ratio, sizeof ratio, "%.2f x", mean / PLAIN_MEAN);
    measure_print("nets of photos", value, "at least 0.97", "plain library pipeline: 0.503", ratio, mean >= BAR_MEAN);
    snprintf(value, sizeof value, "mean F1 %.3f, the least %.3f", sums->preview / sums->boards, sums->preview_least);
    snprintf(ratio, sizeof ratio, "%.2f of it", sums->preview / sums->f1);
    measure_print("nets of photos, preview", value, "-", "the whole way", ratio, true);
    snprintf(value, sizeof value, "mean F1 %.4f after %u answers for %u pads", after, sums->answers, sums->pads);
    measure_print("beeps to truth", value, "at least 0.995", "-", "-", after >= BAR_AFTER);
    snprintf(value, sizeof value, "%u of %u", sums->wrong - sums->not_listed, sums->wrong);
    measure_print("wrong joins and splits that were listed as doubts", value, "95 %", "-", "-",
                  sums->wrong - sums->not_listed >= BAR_LISTED * sums->wrong);
    Out table = out_new(arena);
    doubts_table(&table, &sums->doubts, NULL);
    fprintf(stderr, "\nHow far the doubts of these photos can be believed (every neck and gap of the first run):\n%.*s\n",
            (int)table.len, table.at);
}

int main(void) {
    Arena *arena = arena_new();
    const char **folders;
    Sums sums = {.preview_least = 1};
    uint32_t count = truth_folders(arena, "../shared/boards", &folders);
    for (uint32_t i = 0; i < count; i++) judge(arena, folders[i], &sums);
    if (sums.boards > 0) tell(arena, &sums);
    arena_free(arena);
    return 0;
}
