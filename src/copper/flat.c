/* The board straightened: for each pixel of the result the place in the photo it came from (place.h), and there a weighted
 * mean of the photo's pixels, with a kernel as wide as the result's pixel: Catmull-Rom's cubic where photo and result are
 * about as fine as each other, so that no edge gets softer, a tent (which averages the area) where the photo is much finer.
 * The two threads take rows. Cost: 20 to 60 products a pixel and channel. */
#include "copper/flat_inside.h"

#include <math.h>
#include <stdlib.h>

static const double SCALE_LEAST = 12, SCALE_MOST = 25; /* px/mm: below, 0.2 mm gaps vanish; above, nothing is gained */
static const double FINE = 1.6;                        /* photo pixels a result pixel from which on the area is averaged */
static const double SHARE = 0.72;                      /* pixels of the result for each of the photo, at most */
static const double SIDE_MOST = 20000;                 /* pixels of the result */
enum { TAPS_MOST = 64 };

typedef struct Taps {
    int first, count;        /* of the photo's pixels along one axis */
    float weight[TAPS_MOST]; /* sum 1 */
} Taps;

/* Keys 1981: the cubic that goes through its samples, a = -1/2. t in output pixels. */
static float cubic(float t) {
    t = fabsf(t);
    if (t < 1) return (1.5f * t - 2.5f) * t * t + 1;
    return t < 2 ? ((-0.5f * t + 2.5f) * t - 4) * t + 2 : 0;
}

static float tent(float t) { return fabsf(t) < 1 ? 1 - fabsf(t) : 0; }

/* The kernel for pixels of the result that are `step` of the photo's wide. */
typedef struct Kernel {
    bool fine;          /* the photo is: the area is averaged */
    double wide, reach; /* pixels */
} Kernel;

static Kernel kernel_for(double step) {
    bool fine = step > FINE;
    double wide = step > 1 ? step : 1;
    return (Kernel){fine, wide, fmin((fine ? 1 : 2) * wide, TAPS_MOST / 2 - 1)};
}

/* Taps round `at` (continuous), kept inside 0 .. size - 1 by leaving the others out. */
static void find_taps(double at, const Kernel *kernel, int size, Taps *taps) {
    int first = (int)ceil(at - 0.5 - kernel->reach), last = (int)floor(at - 0.5 + kernel->reach);
    if (first < 0) first = 0;
    if (last > size - 1) last = size - 1;
    float sum = 0;
    taps->first = first;
    taps->count = last - first + 1;
    for (int i = 0; i < taps->count; i++) {
        float t = (float)((first + i + 0.5 - at) / kernel->wide);
        taps->weight[i] = kernel->fine ? tent(t) : cubic(t);
        sum += taps->weight[i];
    }
    for (int i = 0; i < taps->count; i++) taps->weight[i] /= sum;
}

static void mean_at(const Photo *photo, const Taps *across, const Taps *down, unsigned char *rgb) {
    const unsigned char *in = photo->rgb + 3 * ((size_t)down->first * photo->width + (size_t)across->first);
    float column[3 * TAPS_MOST], sum[3] = {0, 0, 0}; /* down first: the bytes of a row lie side by side */
    int bytes = 3 * across->count;
    for (int i = 0; i < bytes; i++) column[i] = down->weight[0] * (float)in[i];
    for (int j = 1; j < down->count; j++) {
        in += 3 * (size_t)photo->width;
        for (int i = 0; i < bytes; i++) column[i] += down->weight[j] * (float)in[i];
    }
    for (int i = 0; i < across->count; i++)
        for (int c = 0; c < 3; c++) sum[c] += across->weight[i] * column[3 * i + c];
    for (int c = 0; c < 3; c++) rgb[c] = (unsigned char)(sum[c] < 0 ? 0 : sum[c] > 255 ? 255 : sum[c] + 0.5f);
}

/* Where a row's pixels lie in the photo: worked out for every STRETCH-th, and on a straight line between, which perspective
 * and barrel distortion leave by less than a hundredth of a pixel. */
enum { STRETCH = 8 };

static void draw_stretch(const Photo *photo, PlacePoint from, PlacePoint to, uint32_t x, uint32_t y, Flat *flat) {
    Taps across, down;
    PlacePoint step = {(to.x - from.x) / STRETCH, (to.y - from.y) / STRETCH};
    Kernel kernel = kernel_for(hypot(step.x, step.y)); /* the other direction differs by a few parts in a hundred */
    for (uint32_t i = 0; i < STRETCH && x + i < flat->width; i++) {
        PlacePoint at = {from.x + i * step.x, from.y + i * step.y};
        size_t pixel = (size_t)y * flat->width + x + i;
        if (!(at.x >= 0 && at.y >= 0 && at.x < photo->width && at.y < photo->height)) { /* also when not a number */
            flat->unseen[pixel] = 255;
            continue;
        }
        find_taps(at.x, &kernel, (int)photo->width, &across);
        find_taps(at.y, &kernel, (int)photo->height, &down);
        mean_at(photo, &across, &down, flat->rgb + 3 * pixel);
    }
}

static void draw_row(const Photo *photo, const BoardPlace *place, uint32_t y, Flat *flat) {
    double step = 1 / flat->scale, down = (y + 0.5) * step;
    PlacePoint from = place_to_photo(place, (PlacePoint){0.5 * step, down});
    for (uint32_t x = 0; x < flat->width; x += STRETCH) {
        PlacePoint to = place_to_photo(place, (PlacePoint){(x + STRETCH + 0.5) * step, down});
        draw_stretch(photo, from, to, x, y, flat);
        from = to;
    }
}

/* What the photo bears out; its 3 bytes a pixel and the 4 of this must stay under 6 for each pixel of the photo. */
static double natural_scale(const Photo *photo, const BoardPlace *place) {
    double scale = place_scale(place, (PlacePoint){place->width_mm / 2, place->height_mm / 2});
    double pixels = (double)photo->width * photo->height, area = place->width_mm * place->height_mm;
    return fmin(fmin(fmax(scale, SCALE_LEAST), SCALE_MOST), sqrt(SHARE * pixels / area));
}

bool flat_from_photo(const Photo *photo, const BoardPlace *place, double scale, Flat *flat) {
    if (!(scale > 0)) scale = natural_scale(photo, place);
    double width = round(place->width_mm * scale), height = round(place->height_mm * scale);
    *flat = (Flat){.scale = scale};
    if (!(width >= 1 && height >= 1 && width <= SIDE_MOST && height <= SIDE_MOST)) return false;
    flat->width = (uint32_t)width;
    flat->height = (uint32_t)height;
    flat->rgb = calloc((size_t)flat->width * flat->height, 3);
    flat->unseen = calloc((size_t)flat->width, flat->height);
    if (flat->rgb == NULL || flat->unseen == NULL) {
        flat_free(flat);
        return false;
    }
#pragma omp parallel for num_threads(2) schedule(dynamic, 16)
    for (uint32_t y = 0; y < flat->height; y++) draw_row(photo, place, y, flat);
    flat_mark_unseen(flat); /* by what was photographed, before the light is changed */
    flat_even_light(flat);
    return true;
}

void flat_free(Flat *flat) {
    free(flat->rgb);
    free(flat->unseen);
    *flat = (Flat){0};
}
