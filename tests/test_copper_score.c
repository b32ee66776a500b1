/* copper: the counts by which tracing is judged, against score.py of ../shared/boards; their clean copper, which must come
 * back whole; and a meter that answers the first doubt. */
#include "tests/beeps.h"
#include "tests/check.h"

#include "copper/export.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

static const char BOARDS[] = "../shared/boards";
enum { SCALE = 20 };

/* One board traced from its clean copper made dirty: so dirty that some nets come out wrong, which the counts must see. */
typedef struct Traced {
    Truth truth;
    Layers layers;
    Copper copper;
    Score score;
} Traced;

static void trace(Arena *arena, const char *folder, TruthDirt dirt, Traced *traced) {
    assert_true(truth_read(arena, folder, &traced->truth));
    truth_layers(arena, &traced->truth, SCALE, dirt, &traced->layers);
    assert_true(copper_trace(arena, &traced->layers, NULL, 0, &traced->copper));
    const Copper *copper = &traced->copper;
    traced->score = truth_score(arena, &traced->truth, copper->labels, copper->width, copper->height, SCALE);
}

static json_t *score_py(const char *folder, const char *labels) {
    char command[1024];
    snprintf(command, sizeof command, "/usr/bin/python3 -B %s/score.py %s/truth.json %s --scale %d 2>/dev/null", BOARDS,
             folder, labels, SCALE);
    FILE *answer = popen(command, "r");
    json_t *root = answer == NULL ? NULL : json_loadf(answer, 0, NULL);
    if (answer != NULL) pclose(answer);
    return root;
}

static void assert_says(const json_t *root, const char *key, double ours, double most) {
    double theirs = json_number_value(json_object_get(root, key));
    if (fabs(theirs - ours) > most) fail_msg("%s is %g, score.py has %g", key, ours, theirs);
}

static void the_counts_are_those_of_score_py(void **state) {
    (void)state;
    Arena *arena = arena_new();
    const char **folders;
    uint32_t count = truth_folders(arena, BOARDS, &folders), wrong = 0, seen = 0;
    char labels[] = "/tmp/unpick-score-XXXXXX";
    int file = mkstemp(labels);
    assert_true(file >= 0);
    close(file);
    for (uint32_t i = 0; i < count; i++) {
        Traced traced;
        trace(arena, folders[i], (TruthDirt){.blur = 2, .noise = 40, .seed = i}, &traced);
        assert_true(export_labels(labels, &traced.copper, 0));
        json_t *root = score_py(folders[i], labels);
        copper_free(&traced.copper);
        if (root == NULL) break; /* no python3 with OpenCV here */
        const Score *score = &traced.score;
        assert_says(root, "pads", score->pads, 0);
        assert_says(root, "missed", score->missed, 0);
        assert_says(root, "shorts", score->shorts, 0);
        assert_says(root, "opens", score->opens, 0);
        assert_says(root, "open_groups", score->open_groups, 0);
        assert_says(root, "precision", score->precision, 1e-4);
        assert_says(root, "recall", score->recall, 1e-4);
        assert_says(root, "f1", score->f1, 1e-4);
        assert_says(root, "iou", score->iou, 5e-3); /* holes are drawn a little otherwise there */
        wrong += score->shorts + score->opens, seen++;
        json_decref(root);
    }
    unlink(labels);
    arena_free(arena);
    if (seen == 0) {
        print_message("skipped: no boards with truth in %s, or no python3-opencv for their score.py\n", BOARDS);
        skip();
    }
    assert_true(wrong > 0); /* else nothing was compared */
}

/* The clean copper of real boards comes back as the nets it is, at every scale that flat_from_photo chooses, blurred as
 * well. */
static void real_copper_comes_back(void **state) {
    (void)state;
    Arena *arena = arena_new();
    const char **folders;
    uint32_t count = truth_folders(arena, BOARDS, &folders);
    if (count == 0) {
        print_message("skipped: no boards with truth in %s\n", BOARDS);
        skip();
    }
    for (uint32_t i = 0; i < count; i++)
        for (double scale = 14; scale <= 26; scale += 6) {
            Truth truth;
            Layers layers;
            Copper copper;
            assert_true(truth_read(arena, folders[i], &truth));
            truth_layers(arena, &truth, scale,
                         (TruthDirt){.blur = scale == 20 ? 0.8 : 0, .noise = scale == 20 ? 6 : 0, .seed = 5}, &layers);
            assert_true(copper_trace(arena, &layers, NULL, 0, &copper));
            Score score = truth_score(arena, &truth, copper.labels, copper.width, copper.height, scale);
            if (score.f1 < 1 || score.missed > 0 || score.iou < 0.97)
                fail_msg("%s at %g px/mm: f1 %g, missed %u, iou %g", folders[i], scale, score.f1, score.missed, score.iou);
            copper_free(&copper);
        }
    arena_free(arena);
}

static void answers_only_make_it_better(void **state) {
    (void)state;
    Arena *arena = arena_new();
    const char **folders;
    uint32_t count = truth_folders(arena, BOARDS, &folders);
    double before = 0, after = 0;
    uint32_t answers = 0;
    for (uint32_t i = 0; i < count; i++) {
        Truth truth;
        Layers layers;
        Beeps beeps;
        assert_true(truth_read(arena, folders[i], &truth));
        truth_layers(arena, &truth, 25, (TruthDirt){.blur = 1, .noise = 45, .steep = 3, .seed = 1}, &layers);
        assert_true(beeps_run(arena, &truth, &layers, &beeps));
        assert_true(beeps.last.shorts + beeps.last.opens <= beeps.wrong);
        before += beeps.first.f1, after += beeps.last.f1, answers += beeps.answers;
    }
    arena_free(arena);
    if (count == 0) {
        print_message("skipped: no boards with truth in %s\n", BOARDS);
        skip();
    }
    print_message("mean F1 %.4f, after %u answers %.4f\n", before / count, answers, after / count);
    assert_true(answers > 0 && after > before);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_counts_are_those_of_score_py),
        cmocka_unit_test(real_copper_comes_back),
        cmocka_unit_test(answers_only_make_it_better),
    };
    return cmocka_run_group_tests_name("copper_score", tests, NULL, NULL);
}
