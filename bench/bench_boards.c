/* Photos to nets, judged: each sample board beside the repository (../shared/boards; nothing is printed where it is absent),
 * with its true corners and no hints, scored as score.py scores; and the time from file to nets. The reference is the table of a
 * plain library pipeline that lies beside the samples. */
#include "bench/measure.h"
#include "tests/truth_photo.h"

#include <string.h>

static const double BAR_MEAN = 0.97, BAR_LEAST = 0.90, PLAIN_MEAN = 0.503; /* baseline.md: best fixed setting */

int main(void) {
    Arena *arena = arena_new();
    const char **folders;
    uint32_t count = truth_folders(arena, "../shared/boards", &folders);
    double sum = 0;
    for (uint32_t i = 0; i < count; i++) {
        Truth truth;
        Layers layers;
        Copper copper;
        char name[160], value[96];
        if (!truth_read(arena, folders[i], &truth)) continue;
        double before = measure_seconds();
        if (!truth_photo_layers(arena, folders[i], &truth, LAYER_SCALE, &layers)) continue;
        bool traced = copper_trace(arena, &layers, NULL, 0, &copper);
        double took = measure_seconds() - before;
        layers_free(&layers);
        if (!traced) continue;
        Score score = truth_score(arena, &truth, copper.labels, copper.width, copper.height, LAYER_SCALE);
        copper_free(&copper);
        const char *slash = strrchr(folders[i], '/');
        snprintf(name, sizeof name, "nets of a photo: %s", slash == NULL ? folders[i] : slash + 1);
        snprintf(value, sizeof value, "F1 %.3f, %u wrong joins, %u wrong splits, IoU %.3f, %.0f ms", score.f1, score.shorts, score.opens,
                 score.iou, took * 1e3);
        measure_print(name, value, "F1 at least 0.90", "-", "-", score.f1 >= BAR_LEAST);
        sum += score.f1;
    }
    if (count > 0) {
        char value[64], ratio[32];
        snprintf(value, sizeof value, "mean F1 %.3f over %u photos", sum / count, count);
        snprintf(ratio, sizeof ratio, "%.2f x", sum / count / PLAIN_MEAN);
        measure_print("nets of photos", value, "at least 0.97", "plain library pipeline: 0.503", ratio, sum / count >= BAR_MEAN);
    }
    arena_free(arena);
    return 0;
}
