/* Reads truth.json by jansson. */
#include "tests/board_samples.h"

#include <dirent.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static bool read_sample(const char *folder, const char *name, BoardSample *sample) {
    char path[256];
    snprintf(path, sizeof path, "%s/%s/truth.json", folder, name);
    json_t *truth = json_load_file(path, 0, NULL);
    if (truth == NULL) return false;
    *sample = (BoardSample){.width_mm = json_number_value(json_object_get(truth, "width_mm")),
                            .height_mm = json_number_value(json_object_get(truth, "height_mm")),
                            .k1 = json_number_value(json_object_get(json_object_get(truth, "camera"), "k1"))};
    snprintf(sample->name, sizeof sample->name, "%s", name);
    snprintf(sample->photo, sizeof sample->photo, "%s/%s/photo.jpg", folder, name);
    json_t *corners = json_object_get(truth, "corners_px");
    for (size_t i = 0; i < 4; i++) {
        json_t *corner = json_array_get(corners, i);
        sample->corners[i] =
            (PlacePoint){json_number_value(json_array_get(corner, 0)), json_number_value(json_array_get(corner, 1))};
    }
    json_decref(truth);
    return true;
}

int board_samples(const char *folder, BoardSample samples[BOARD_SAMPLES_MOST]) {
    struct dirent **items = NULL;
    int found = scandir(folder, &items, NULL, alphasort), count = 0;
    for (int i = 0; i < found; i++) {
        if (items[i]->d_name[0] != '.' && count < BOARD_SAMPLES_MOST)
            count += read_sample(folder, items[i]->d_name, &samples[count]);
        free(items[i]);
    }
    free(items);
    return count;
}

void board_sample_errors(const BoardSample *sample, const Photo *photo, const PlacePoint corners[4], double mm[4]) {
    double ratio = sample->width_mm / sample->height_mm, least = INFINITY;
    int step = ratio > 0.9 && ratio < 1 / 0.9 ? 1 : 2;
    BoardPlace place;
    place_from_corners(sample->corners, sample->width_mm, sample->height_mm, photo->width, photo->height, &place);
    for (int turn = 0; turn < 4; turn += step) {
        double one[4], sum = 0;
        for (int i = 0; i < 4; i++) {
            PlacePoint found = place_to_board(&place, corners[(i + turn) % 4]),
                       is = place_to_board(&place, sample->corners[i]);
            one[i] = hypot(found.x - is.x, found.y - is.y);
            sum += one[i];
        }
        if (sum >= least) continue;
        least = sum;
        for (int i = 0; i < 4; i++) mm[i] = one[i];
    }
}
