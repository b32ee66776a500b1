/* Reading truth.json with jansson and copper.png with libpng; area-averaging, blurring by three boxes, and noise; the
 * counts. */
#include "tests/copper_truth.h"

#include <dirent.h>
#include <jansson.h>
#include <math.h>
#include <png.h>
#include <stdio.h>
#include <stdlib.h>

/* ---- reading ---- */

static double number(const json_t *object, const char *key, double otherwise) {
    const json_t *value = json_object_get(object, key);
    return json_is_number(value) ? json_number_value(value) : otherwise;
}

static void read_pads(Arena *arena, const json_t *root, Truth *truth) {
    size_t i;
    json_t *pad;
    json_array_foreach(json_object_get(root, "pads"), i, pad) {
        const json_t *sample = json_object_get(pad, "sample");
        list_push(arena, &truth->pads,
                  ((TruthPad){.at = {number(pad, "x_mm", 0), number(pad, "y_mm", 0)},
                              .sample = {json_number_value(json_array_get(sample, 0)),
                                         json_number_value(json_array_get(sample, 1))},
                              .width = number(pad, "w_mm", 0),
                              .height = number(pad, "h_mm", 0),
                              .radius = fmax(0, number(pad, "sample_r_mm", 0.15)),
                              .group = (uint32_t)number(pad, "group", 0),
                              .hidden = json_is_true(json_object_get(pad, "occluded"))}));
    }
}

static void read_holes(Arena *arena, const json_t *root, Truth *truth) {
    size_t i;
    json_t *hole;
    json_array_foreach(json_object_get(root, "holes"), i, hole) {
        PlacePoint at = {number(hole, "x_mm", 0), number(hole, "y_mm", 0)};
        TruthHole read = {at, at, number(hole, "d_mm", 0)};
        const json_t *slot = json_object_get(hole, "slot_mm");
        if (json_array_size(slot) == 4) {
            read.from =
                (PlacePoint){json_number_value(json_array_get(slot, 0)), json_number_value(json_array_get(slot, 1))};
            read.to = (PlacePoint){json_number_value(json_array_get(slot, 2)), json_number_value(json_array_get(slot, 3))};
        }
        list_push(arena, &truth->holes, read);
    }
}

static bool read_mask(Arena *arena, const char *path, Truth *truth) {
    png_image image = {.version = PNG_IMAGE_VERSION};
    if (!png_image_begin_read_from_file(&image, path)) return false;
    image.format = PNG_FORMAT_GRAY;
    truth->mask_width = image.width, truth->mask_height = image.height;
    truth->mask = arena_take(arena, PNG_IMAGE_SIZE(image));
    if (!png_image_finish_read(&image, NULL, truth->mask, 0, NULL)) return false;
    for (size_t i = 0; i < PNG_IMAGE_SIZE(image); i++) truth->mask[i] = truth->mask[i] >= 128 ? 255 : 0;
    return true;
}

bool truth_read(Arena *arena, const char *folder, Truth *truth) {
    *truth = (Truth){0};
    json_error_t error;
    json_t *root = json_load_file(text_fmt(arena, "%s/truth.json%c", folder, 0).at, 0, &error);
    if (root == NULL) return false;
    truth->width_mm = number(root, "width_mm", 0), truth->height_mm = number(root, "height_mm", 0);
    for (unsigned i = 0; i < 4; i++) {
        const json_t *corner = json_array_get(json_object_get(root, "corners_px"), i);
        truth->corners[i] =
            (PlacePoint){json_number_value(json_array_get(corner, 0)), json_number_value(json_array_get(corner, 1))};
    }
    read_pads(arena, root, truth);
    read_holes(arena, root, truth);
    const json_t *mask = json_object_get(root, "copper_mask");
    const char *file = json_string_value(json_object_get(mask, "file"));
    truth->mask_scale = number(mask, "px_per_mm", 50);
    bool read = file == NULL || read_mask(arena, text_fmt(arena, "%s/%s%c", folder, file, 0).at, truth);
    json_decref(root);
    return read;
}

static int by_name(const void *a, const void *b) { return strcmp(*(const char *const *)a, *(const char *const *)b); }

uint32_t truth_folders(Arena *arena, const char *boards, const char ***folders) {
    LIST(const char *) found = {0};
    DIR *folder = opendir(boards);
    for (const struct dirent *entry; folder != NULL && (entry = readdir(folder)) != NULL;) {
        const char *path = text_fmt(arena, "%s/%s%c", boards, entry->d_name, 0).at;
        FILE *file = fopen(text_fmt(arena, "%s/truth.json%c", path, 0).at, "r");
        if (file == NULL) continue;
        fclose(file);
        list_push(arena, &found, path);
    }
    if (folder != NULL) closedir(folder);
    if (found.count > 0) qsort(found.at, found.count, sizeof *found.at, by_name);
    *folders = found.at;
    return found.count;
}

/* ---- layers ---- */

/* The mean of the mask over the square of one pixel at another scale. */
static double mean_of(const Truth *truth, double x0, double y0, double x1, double y1) {
    double sum = 0, whole = (x1 - x0) * (y1 - y0);
    for (double y = floor(y0); y < y1; y++)
        for (double x = floor(x0); x < x1; x++) {
            if (x >= truth->mask_width || y >= truth->mask_height) continue;
            double part = (fmin(x + 1, x1) - fmax(x, x0)) * (fmin(y + 1, y1) - fmax(y, y0));
            sum += part * truth->mask[(size_t)y * truth->mask_width + (size_t)x];
        }
    return sum / whole;
}

static void box(float *line, float *spare, size_t count, size_t step, long half) {
    float sum = 0;
    long last = (long)count - 1;
    for (long i = -half; i <= half; i++) sum += line[(size_t)(i < 0 ? 0 : i > last ? last : i) * step];
    for (long i = 0; i <= last; i++) {
        spare[i] = sum / (float)(2 * half + 1);
        long in = i + half + 1, out = i - half;
        sum += line[(size_t)(in > last ? last : in) * step] - line[(size_t)(out < 0 ? 0 : out) * step];
    }
    for (size_t i = 0; i < count; i++) line[i * step] = spare[i];
}

/* Three boxes are nearly a Gaussian; half a box of whole pixels is mixed in for sigmas in between. */
static void blur(Arena *arena, float *at, uint32_t width, uint32_t height, double sigma) {
    float *spare = arena_many(arena, float, width > height ? width : height);
    double half = (sqrt(4 * sigma * sigma + 1) - 1) / 2;
    long less = (long)half;
    double part = half - (double)less;
    float *mixed = arena_many(arena, float, (size_t)width *height);
    for (unsigned way = 0; way < 2; way++) {
        long h = less + (long)way;
        float *copy = arena_many(arena, float, (size_t)width *height);
        memcpy(copy, at, (size_t)width * height * sizeof *at);
        for (unsigned i = 0; i < 3 && h > 0; i++) {
            for (uint32_t y = 0; y < height; y++) box(copy + (size_t)y * width, spare, width, 1, h);
            for (uint32_t x = 0; x < width; x++) box(copy + x, spare, height, width, h);
        }
        for (size_t i = 0; i < (size_t)width * height; i++) mixed[i] += copy[i] * (float)(way == 0 ? 1 - part : part);
    }
    memcpy(at, mixed, (size_t)width * height * sizeof *at);
}

static double draw(uint64_t *state) { /* splitmix64; 0 ... 1 */
    uint64_t z = *state += 0x9e3779b97f4a7c15u;
    z = (z ^ z >> 30) * 0xbf58476d1ce4e5b9u, z = (z ^ z >> 27) * 0x94d049bb133111ebu;
    return (double)((z ^ z >> 31) >> 11) / 9007199254740992.0;
}

static float *smooth_noise(Arena *arena, uint32_t width, uint32_t height, uint64_t seed) {
    size_t count = (size_t)width * height;
    float *noise = arena_many(arena, float, count);
    for (size_t i = 0; i < count; i++) noise[i] = (float)(draw(&seed) + draw(&seed) + draw(&seed) - 1.5);
    blur(arena, noise, width, height, 1.5);
    double sum = 0;
    for (size_t i = 0; i < count; i++) sum += (double)noise[i] * noise[i];
    float factor = (float)(1 / sqrt(sum / (double)count));
    for (size_t i = 0; i < count; i++) noise[i] *= factor;
    return noise;
}

static double from_slot(const TruthHole *hole, double x, double y) {
    double dx = hole->to.x - hole->from.x, dy = hole->to.y - hole->from.y, square = dx * dx + dy * dy;
    double t = square > 0 ? fmin(1, fmax(0, ((x - hole->from.x) * dx + (y - hole->from.y) * dy) / square)) : 0;
    return hypot(x - hole->from.x - t * dx, y - hole->from.y - t * dy);
}

static void draw_pads_and_holes(const Truth *truth, Layers *layers) {
    for (uint32_t j = 0; j < layers->height; j++)
        for (uint32_t i = 0; i < layers->width; i++) {
            double x = (i + 0.5) / layers->scale, y = (j + 0.5) / layers->scale;
            size_t at = (size_t)j * layers->width + i;
            for (uint32_t k = 0; k < truth->pads.count; k++) {
                const TruthPad *pad = &truth->pads.at[k];
                if (fabs(x - pad->at.x) <= pad->width / 2 && fabs(y - pad->at.y) <= pad->height / 2)
                    layers->at[LAYER_PAD][at] = 255;
            }
            for (uint32_t k = 0; k < truth->holes.count; k++)
                if (from_slot(&truth->holes.at[k], x, y) <= truth->holes.at[k].diameter / 2)
                    layers->at[LAYER_HOLE][at] = 255;
        }
}

void truth_layers(Arena *arena, const Truth *truth, double scale, TruthDirt dirt, Layers *layers) {
    *layers = (Layers){scale, (uint32_t)lround(truth->width_mm * scale), (uint32_t)lround(truth->height_mm * scale), {0}};
    size_t count = (size_t)layers->width * layers->height;
    for (unsigned i = 0; i < LAYER_COUNT; i++) layers->at[i] = arena_many(arena, unsigned char, count);
    double step = truth->mask_scale / scale;
    float *copper = arena_many(arena, float, count);
    for (uint32_t y = 0; y < layers->height; y++)
        for (uint32_t x = 0; x < layers->width; x++)
            copper[(size_t)y * layers->width + x] =
                (float)mean_of(truth, x * step, y * step, (x + 1) * step, (y + 1) * step);
    if (dirt.blur > 0) blur(arena, copper, layers->width, layers->height, dirt.blur);
    const float *noise = dirt.noise > 0 ? smooth_noise(arena, layers->width, layers->height, dirt.seed) : NULL;
    for (size_t i = 0; i < count; i++) {
        double value = copper[i] + (noise == NULL ? 0 : dirt.noise * noise[i]);
        if (dirt.steep > 0) value = 127.5 + dirt.steep * (value - 127.5);
        layers->at[LAYER_COPPER][i] = (unsigned char)lround(fmin(255, fmax(0, value)));
    }
    draw_pads_and_holes(truth, layers);
}

/* ---- counting ---- */

uint32_t truth_label(const TruthPad *pad, const uint16_t *labels, uint32_t width, uint32_t height, double scale) {
    uint16_t seen[4096], best = 0;
    uint32_t times[4096], count = 0, most = 0;
    double r = pad->radius * scale, cx = pad->sample.x * scale - 0.5, cy = pad->sample.y * scale - 0.5;
    for (long j = lround(floor(cy - r)); j <= lround(ceil(cy + r)); j++)
        for (long i = lround(floor(cx - r)); i <= lround(ceil(cx + r)); i++) {
            double dx = (double)i - cx, dy = (double)j - cy;
            if (i < 0 || j < 0 || i >= (long)width || j >= (long)height || dx * dx + dy * dy > r * r + 1e-9) continue;
            uint16_t label = labels[(size_t)j * width + (size_t)i];
            uint32_t k = 0;
            while (k < count && seen[k] != label) k++;
            if (k == count && count < 4096) seen[count] = label, times[count++] = 0;
            if (k < count) times[k]++;
        }
    if (count == 0) {
        long i = lround(cx), j = lround(cy);
        i = i < 0 ? 0 : i >= (long)width ? (long)width - 1 : i, j = j < 0 ? 0 : j >= (long)height ? (long)height - 1 : j;
        return labels[(size_t)j * width + (size_t)i];
    }
    for (uint32_t k = 0; k < count; k++)
        if (times[k] > most || (times[k] == most && seen[k] > best)) most = times[k], best = seen[k];
    return best;
}

static double pairs(double n) { return n * (n - 1) / 2; }

static int by_number(const void *a, const void *b) {
    uint64_t one = *(const uint64_t *)a, two = *(const uint64_t *)b;
    return one < two ? -1 : one > two ? 1 : 0;
}

/* Of keys high << 32 | low: the pairs of equal keys; how many highs have several lows, and how many lows too many. A high
 * of 0xffffffff is left out. */
typedef struct Tally {
    double pairs, pairs_high;
    uint32_t several, extra;
} Tally;

static Tally tally(uint64_t *keys, uint32_t count) {
    Tally t = {0};
    if (count > 0) qsort(keys, count, sizeof *keys, by_number);
    for (uint32_t i = 0; i < count;) {
        uint32_t high = i, lows = 0;
        while (i < count && keys[i] >> 32 == keys[high] >> 32) {
            uint32_t same = i;
            while (i < count && keys[i] == keys[same]) i++;
            t.pairs += pairs(i - same), lows++;
        }
        t.pairs_high += pairs(i - high);
        t.several += lows > 1, t.extra += lows - 1;
    }
    return t;
}

static void count_copper(const Truth *truth, const uint16_t *labels, uint32_t width, uint32_t height, double scale,
                         Score *score) {
    double both = 0, either = 0, step = truth->mask_scale / scale;
    for (uint32_t y = 0; y < height; y++)
        for (uint32_t x = 0; x < width; x++) {
            bool hole = false;
            for (uint32_t k = 0; k < truth->holes.count && !hole; k++)
                hole = from_slot(&truth->holes.at[k], (x + 0.5) / scale, (y + 0.5) / scale) <=
                       (truth->holes.at[k].diameter + 0.1) / 2;
            if (hole) continue;
            bool is = mean_of(truth, x * step, y * step, (x + 1) * step, (y + 1) * step) >= 127.5;
            bool told = labels[(size_t)y * width + x] != 0;
            both += is && told, either += is || told;
        }
    score->iou = either > 0 ? both / either : 1;
}

Score truth_score(Arena *arena, const Truth *truth, const uint16_t *labels, uint32_t width, uint32_t height, double scale) {
    Score score = {.pads = truth->pads.count, .iou = -1};
    uint64_t *by_net = arena_many(arena, uint64_t, truth->pads.count + 1),
             *by_group = arena_many(arena, uint64_t, truth->pads.count + 1);
    uint32_t found = 0;
    uint64_t *groups = arena_many(arena, uint64_t, truth->pads.count + 1);
    for (uint32_t i = 0; i < truth->pads.count; i++) {
        uint64_t net = truth_label(&truth->pads.at[i], labels, width, height, scale), group = truth->pads.at[i].group;
        groups[i] = group << 32;
        if (net == 0) continue;
        by_net[found] = net << 32 | group, by_group[found] = group << 32 | net;
        found++;
    }
    score.missed = truth->pads.count - found;
    Tally nets = tally(by_net, found), split = tally(by_group, found), all = tally(groups, truth->pads.count);
    score.shorts = nets.extra, score.opens = split.extra, score.open_groups = split.several;
    double right = nets.pairs, told = nets.pairs_high, is = all.pairs_high;
    score.precision = told > 0 ? right / told : is > 0 ? 0 : 1;
    score.recall = is > 0 ? right / is : 1;
    score.f1 =
        score.precision + score.recall > 0 ? 2 * score.precision * score.recall / (score.precision + score.recall) : 0;
    if (truth->mask != NULL) count_copper(truth, labels, width, height, scale, &score);
    return score;
}
