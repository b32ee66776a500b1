/* What is not background: the photo made small, its border learned as background (place_ground.h), all that is not taken
 * together, the largest piece, its convex hull, and of all quadrilaterals made of four of the hull's longer edges the
 * smallest that holds the hull (place_hull.h). Cost: up to 16 pixels of each cell are looked at, the rest is small. */
#include "copper/place_ground.h"
#include "copper/place_hull.h"
#include "copper/place_inside.h"

#include <math.h>
#include <stdlib.h>

enum { SMALL = 640 /* pixels of the longer side of the small photo, at most */ };
static const double BORDER = 0.06;      /* of the shorter side is taken for background */
static const double AREA_LEAST = 0.004; /* of the photo that a board covers */

typedef struct Small {
    int width, height, step;
    GroundSample *cells;
    unsigned char *mask;
} Small;

static void make_small(const Photo *photo, Small *small) {
    int stride = small->step > 4 ? small->step / 4 : 1;
    for (int y = 0; y < small->height; y++) {
        for (int x = 0; x < small->width; x++) {
            GroundSample *cell = &small->cells[y * small->width + x];
            unsigned sum[3] = {0, 0, 0}, count = 0;
            for (int j = 0; j < small->step; j += stride) {
                const unsigned char *row =
                    photo->rgb + 3 * ((size_t)(y * small->step + j) * photo->width + (size_t)(x * small->step));
                for (int i = 0; i < small->step; i += stride, count++)
                    for (int c = 0; c < 3; c++) sum[c] += row[3 * i + c];
            }
            cell->u = 2 * ((float)x + 0.5f) / (float)small->width - 1;
            cell->v = 2 * ((float)y + 0.5f) / (float)small->height - 1;
            for (int c = 0; c < 3; c++) cell->rgb[c] = (float)sum[c] / (float)count;
        }
    }
}

static Ground *learn_border(const Small *small) {
    int wide = (int)(BORDER * (small->width < small->height ? small->width : small->height)) + 1;
    GroundSample *border = malloc((size_t)(small->width * small->height) * sizeof *border);
    size_t count = 0;
    if (border == NULL) return NULL;
    for (int y = 0; y < small->height; y++)
        for (int x = 0; x < small->width; x++)
            if (x < wide || y < wide || x >= small->width - wide || y >= small->height - wide)
                border[count++] = small->cells[y * small->width + x];
    Ground *ground = ground_learn(border, count);
    free(border);
    return ground;
}

/* Median of 3 x 3: single pixels and hairlines go. */
static bool clean_mask(Small *small) {
    int w = small->width, h = small->height;
    unsigned char *kept = malloc((size_t)(w * h));
    if (kept == NULL) return false;
    memcpy(kept, small->mask, (size_t)(w * h));
    for (int y = 1; y + 1 < h; y++) {
        for (int x = 1; x + 1 < w; x++) {
            int sum = 0;
            for (int j = -1; j <= 1; j++)
                for (int i = -1; i <= 1; i++) sum += kept[(y + j) * w + x + i];
            small->mask[y * w + x] = sum >= 5;
        }
    }
    free(kept);
    return true;
}

/* Keeps the largest connected piece (mask 2) and returns its pixels. */
static int keep_largest(Small *small) {
    int w = small->width, count = w * small->height, best = 0, best_start = -1,
        *stack = malloc((size_t)count * sizeof *stack);
    for (int pass = 0; stack != NULL && pass < 2; pass++) {
        unsigned char from = pass == 0 ? 1 : 3, to = pass == 0 ? 3 : 2;
        for (int start = pass == 0 ? 0 : best_start; start >= 0 && start < count; start++) {
            if (small->mask[start] != from) continue;
            int top = 0, size = 0;
            stack[top++] = start;
            small->mask[start] = to;
            while (top > 0) {
                int at = stack[--top], x = at % w;
                size++;
                const int near[4] = {x > 0 ? at - 1 : -1, x + 1 < w ? at + 1 : -1, at - w, at + w};
                for (int k = 0; k < 4; k++) {
                    if (near[k] < 0 || near[k] >= count || small->mask[near[k]] != from) continue;
                    small->mask[near[k]] = to;
                    stack[top++] = near[k];
                }
            }
            if (pass == 0 && size > best) best = size, best_start = start;
            if (pass > 0) break;
        }
    }
    free(stack);
    return best;
}

bool place_outline(const Photo *photo, PlacePoint corners[4], double *sure, Ground **ground) {
    uint32_t longer = photo->width > photo->height ? photo->width : photo->height;
    Small small = {.step = (int)((longer + SMALL - 1) / SMALL)};
    *ground = NULL;
    if (longer == 0 || photo->width / (uint32_t)small.step < 32 || photo->height / (uint32_t)small.step < 32) return false;
    small.width = (int)photo->width / small.step;
    small.height = (int)photo->height / small.step;
    size_t pixels = (size_t)(small.width * small.height);
    small.cells = malloc(pixels * sizeof *small.cells);
    small.mask = calloc(pixels, 1);
    bool done = small.cells != NULL && small.mask != NULL;
    if (done) make_small(photo, &small);
    if (done) *ground = learn_border(&small);
    done = done && *ground != NULL;
    for (size_t i = 0; done && i < pixels; i++)
        small.mask[i] = !ground_holds(*ground, small.cells[i].u, small.cells[i].v, small.cells[i].rgb);
    done = done && clean_mask(&small);
    int area = done ? keep_largest(&small) : 0;
    done = area > AREA_LEAST * (double)pixels && hull_quad(small.mask, 2, small.width, small.height, corners);
    if (done) *sure = fmin(1, area / hull_area(corners, 4));
    for (int i = 0; done && i < 4; i++) corners[i] = (PlacePoint){corners[i].x * small.step, corners[i].y * small.step};
    free(small.cells);
    free(small.mask);
    return done;
}
