/* From drawn layers to a board: planes with their margin, holes as regions of the drill's sheet, pads as regions of copper
 * in openings. A pad's box comes from its extent where it fills most of it, else from its second moments; its sample point
 * is the point farthest from every edge, by a distance sweep. Cost: about 0.3 s for 20 cm2. */
#include "sheets.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const char *const sheet_names[SHEET_COUNT] = {"copper", "mask", "print", "drill", "outline"};

static const float least_room = 0.04f;  /* mm round a sample point; less is a sliver, not a pad */
static const float least_drill = 0.02f; /* mm2 */

/* What is summed over one region of a plane. Places are of pixel centres, in raster pixels. */
typedef struct Region {
    int low_x, low_y, high_x, high_y;
    double area, x, y, xx, xy, yy; /* sums */
    long deepest;                  /* pixel farthest from the region's edge */
    float depth;                   /* its distance, pixels */
} Region;

static Region *regions_new(const Plane *plane, int *label, int *count) {
    *count = plane_label(plane, label);
    Region *regions = calloc((size_t)*count + 1, sizeof *regions);
    unsigned char *outside = malloc((size_t)plane->w * (size_t)plane->h);
    float *depth = malloc((size_t)plane->w * (size_t)plane->h * sizeof *depth);
    if (!regions || !outside || !depth) abort();
    for (int i = 1; i <= *count; i++) regions[i].low_x = plane->w, regions[i].low_y = plane->h, regions[i].depth = -1;
    for (long i = 0; i < (long)plane->w * plane->h; i++) outside[i] = !label[i];
    distance_to(outside, plane->w, plane->h, 1e6f, depth, NULL);
    for (long i = 0; i < (long)plane->w * plane->h; i++) {
        if (!label[i]) continue;
        Region *r = &regions[label[i]];
        int x = (int)(i % plane->w), y = (int)(i / plane->w);
        if (x < r->low_x) r->low_x = x;
        if (y < r->low_y) r->low_y = y;
        if (x > r->high_x) r->high_x = x;
        if (y > r->high_y) r->high_y = y;
        r->area++, r->x += x, r->y += y, r->xx += (double)x * x, r->xy += (double)x * y, r->yy += (double)y * y;
        if (depth[i] > r->depth) r->depth = depth[i], r->deepest = i;
    }
    free(outside), free(depth);
    return regions;
}

static float board_mm(double raster) { return ((float)raster + 0.5f) / RASTER_SCALE - RASTER_MARGIN; }

/* Middle, sides and turn of the region as a box; false when it is no box, oval or disc. */
static bool region_box(const Region *r, Pad *pad) {
    const float scale2 = RASTER_SCALE * RASTER_SCALE, corner = 4 - 3.14159f;
    double mx = r->x / r->area, my = r->y / r->area;
    float area = (float)r->area / scale2;
    pad->x = board_mm((r->low_x + r->high_x) / 2.0), pad->y = board_mm((r->low_y + r->high_y) / 2.0);
    pad->w = (float)(r->high_x - r->low_x + 1) / RASTER_SCALE, pad->h = (float)(r->high_y - r->low_y + 1) / RASTER_SCALE;
    bool box = area > 0.74f * pad->w * pad->h; /* a disc fills 0.785 */
    if (!box) {
        double xx = r->xx / r->area - mx * mx, yy = r->yy / r->area - my * my, xy = r->xy / r->area - mx * my;
        double mean = (xx + yy) / 2, off = sqrt((xx - yy) * (xx - yy) / 4 + xy * xy);
        Pad turned = *pad;
        turned.turn = (float)(0.5 * atan2(2 * xy, xx - yy)), turned.x = board_mm(mx), turned.y = board_mm(my);
        turned.w = (float)sqrt(12 * (mean + off)) / RASTER_SCALE;
        turned.h = (float)sqrt(12 * fmax(mean - off, 0)) / RASTER_SCALE;
        box = turned.h > 0 && fabsf(area / (turned.w * turned.h) - 1) < 0.1f;
        if (box) *pad = turned;
    }
    pad->round = fminf(sqrtf(fmaxf(pad->w * pad->h - area, 0) / corner), fminf(pad->w, pad->h) / 2);
    return box;
}

static void take_sheet(Plane *plane, const Plane *sheet, int right, int down) {
    int margin = (int)(RASTER_MARGIN * RASTER_SCALE);
    for (int y = 0; y < sheet->h; y++)
        for (int x = 0; x < sheet->w; x++) {
            int px = x + margin + right, py = y + margin + down;
            if (px < plane->w && py < plane->h) plane->at[(long)py * plane->w + px] = sheet->at[(long)y * sheet->w + x];
        }
}

/* Every drilled region as a hole, a slot along its longer side; those in a ring of copper are filled, as groups count them.
 */
static void take_holes(Board *board, int *label) {
    int count;
    Region *regions = regions_new(&board->drill, label, &count);
    long *rim = calloc(2 * ((size_t)count + 1), sizeof *rim);
    board->bores = realloc(board->bores, ((size_t)count + 1) * sizeof *board->bores);
    if (!board->bores || !rim) abort();
    for (int y = 1; y + 1 < board->h; y++)
        for (int x = 1; x + 1 < board->w; x++) {
            long i = (long)y * board->w + x;
            int near = label[i + 1]          ? label[i + 1]
                       : label[i - 1]        ? label[i - 1]
                       : label[i + board->w] ? label[i + board->w]
                                             : label[i - board->w];
            if (!label[i] && near) rim[2 * near]++, rim[2 * near + 1] += board->copper.at[i] >= 128;
        }
    for (long i = 0; i < (long)board->w * board->h; i++)
        if (label[i] && 2 * rim[2 * label[i] + 1] >= rim[2 * label[i]]) board->copper.at[i] = 255;
    for (int k = 1; k <= count; k++) {
        const Region *r = &regions[k];
        float w = (float)(r->high_x - r->low_x + 1) / RASTER_SCALE, h = (float)(r->high_y - r->low_y + 1) / RASTER_SCALE;
        float x = board_mm((r->low_x + r->high_x) / 2.0), y = board_mm((r->low_y + r->high_y) / 2.0),
              half = fabsf(w - h) / 2;
        if (w * h < least_drill) continue;
        if (half < 0.06f) half = 0;
        board->bores[board->bore_count++] =
            w > h ? shape_line(x - half, y, x + half, y, h) : shape_line(x, y - half, x, y + half, w);
    }
    free(regions), free(rim);
}

/* The hole in a pad, whose label is read at the hole's middle. */
static void give_holes(Board *board, const int *label, const int *pad_of) {
    for (int i = 0; i < board->bore_count; i++) {
        const Shape *bore = &board->bores[i];
        int x = (int)plane_px((bore->x + bore->x2) / 2), y = (int)plane_px((bore->y + bore->y2) / 2);
        if (x < 0 || y < 0 || x >= board->w || y >= board->h) continue;
        int pad = pad_of[label[(long)y * board->w + x]];
        if (pad < 0) continue;
        Pad *p = &board->pads[pad];
        p->hole = fmaxf(p->hole, 2 * bore->r), p->via = p->hole < 0.55f && fmaxf(p->w, p->h) < 1.3f;
        board->style.through_hole |= !p->via;
    }
}

/* Sample points: of the copper in openings that is left beside holes, the point farthest from any edge, for each pad. */
static void give_samples(Board *board, const int *label, const int *pad_of) {
    Plane left = plane_copy(&board->land);
    int count, *piece = malloc((size_t)board->w * (size_t)board->h * sizeof *piece);
    board->samples = calloc((size_t)board->pad_count + 1, sizeof *board->samples);
    if (!piece || !board->samples) abort();
    for (long i = 0; i < (long)left.w * left.h; i++)
        if (board->drill.at[i]) left.at[i] = 0;
    Region *pieces = regions_new(&left, piece, &count);
    for (int k = 1; k <= count; k++) {
        const Region *r = &pieces[k];
        int pad = pad_of[label[r->deepest]];
        float room = (r->depth - 0.5f) / RASTER_SCALE;
        if (pad < 0 || room < least_room || room <= board->samples[pad].room) continue;
        board->samples[pad] =
            (PadSample){board_mm((double)(r->deepest % left.w)), board_mm((double)(r->deepest / left.w)), room};
    }
    free(pieces), free(piece);
    plane_free(&left);
}

/* Solder is drawn as over a box: what is none (part -1) gets none, nor does what is larger than hands or ovens solder. */
static void take_pads(Board *board, int *label) {
    const float most_soldered = 6; /* mm */
    int count, *pad_of;
    Region *regions = regions_new(&board->land, label, &count);
    board->pads = realloc(board->pads, ((size_t)count + 1) * sizeof *board->pads);
    pad_of = malloc(((size_t)count + 1) * sizeof *pad_of);
    if (!board->pads || !pad_of) abort();
    pad_of[0] = -1;
    for (int k = 1; k <= count; k++) {
        Pad pad = {0};
        bool box = region_box(&regions[k], &pad) && fmaxf(pad.w, pad.h) < most_soldered;
        pad_of[k] = regions[k].depth < least_room * RASTER_SCALE ? -1 : board->pad_count;
        pad.part = box ? 0 : -1;
        if (pad_of[k] >= 0) board->pads[board->pad_count++] = pad;
    }
    give_holes(board, label, pad_of);
    give_samples(board, label, pad_of);
    free(regions), free(pad_of);
}

/* The factory's share: mask a little beside its place, print cut where the mask is open (on most boards) and at the edge.
 */
static void finish(Board *board, const Plane *mask, Rng *rng) {
    memset(board->open.at, 0, (size_t)board->w * (size_t)board->h);
    take_sheet(&board->open, mask, (int)lrintf(0.03f * rng_gauss(rng) * RASTER_SCALE),
               (int)lrintf(0.03f * rng_gauss(rng) * RASTER_SCALE));
    bool cut = rng_chance(rng, 0.8f);
    for (long i = 0; i < (long)board->w * board->h; i++)
        if (cut && board->open.at[i] > 255 - board->silk.at[i])
            board->silk.at[i] = (unsigned char)(255 - board->open.at[i]);
    plane_keep(&board->silk, &board->outline);
    layout_solder(board, rng);
}

static bool sheets_fit(const Plane sheets[SHEET_COUNT], float width, float height) {
    int w = (int)lrintf(width * RASTER_SCALE), h = (int)lrintf(height * RASTER_SCALE);
    bool fit = width >= SHEETS_LEAST_MM && height >= SHEETS_LEAST_MM && width <= SHEETS_MOST_MM && height <= SHEETS_MOST_MM;
    for (int i = 0; fit && i < SHEET_COUNT; i++) fit = abs(sheets[i].w - w) <= 1 && abs(sheets[i].h - h) <= 1;
    double body = 0;
    const Plane *outline = &sheets[SHEET_OUTLINE];
    for (long i = 0; fit && i < (long)outline->w * outline->h; i++) body += outline->at[i];
    return fit && body >= 0.25 * 255 * outline->w * outline->h;
}

Board *sheets_board(const Plane sheets[SHEET_COUNT], float width, float height, uint64_t seed, uint64_t number) {
    if (!sheets_fit(sheets, width, height)) return NULL;
    Rng rng = rng_new(seed, number, 2);
    Board *board = layout_blank(width, height, &rng);
    Plane *const planes[SHEET_COUNT] = {&board->copper, &board->open, &board->silk, &board->drill, &board->outline};
    int *label = malloc((size_t)board->w * (size_t)board->h * sizeof *label);
    if (!label) abort();
    for (int i = 0; i < SHEET_COUNT; i++) take_sheet(planes[i], &sheets[i], 0, 0);
    plane_keep(&board->copper, &board->outline);
    board->style.through_hole = false;
    take_holes(board, label);
    plane_add(&board->land, &board->copper);
    plane_keep(&board->land, &board->open);
    take_pads(board, label);
    finish(board, &sheets[SHEET_MASK], &rng);
    free(label);
    return board;
}

void sheets_free(Plane sheets[SHEET_COUNT]) {
    for (int i = 0; i < SHEET_COUNT; i++) plane_free(&sheets[i]);
}

bool sheets_write(const char *path, const Plane sheets[SHEET_COUNT]) {
    FILE *file = fopen(path, "wb");
    bool done = file != NULL;
    for (int i = 0; done && i < SHEET_COUNT; i++) {
        size_t size = (size_t)sheets[i].w * (size_t)sheets[i].h;
        done =
            fprintf(file, "P5\n%d %d\n255\n", sheets[i].w, sheets[i].h) > 0 && fwrite(sheets[i].at, 1, size, file) == size;
    }
    return file && fclose(file) == 0 && done;
}

bool sheets_read(const char *path, Plane sheets[SHEET_COUNT]) {
    const int most = (int)(SHEETS_MOST_MM * RASTER_SCALE) + 1;
    FILE *file = fopen(path, "rb");
    bool done = file != NULL;
    memset(sheets, 0, SHEET_COUNT * sizeof *sheets);
    for (int i = 0; done && i < SHEET_COUNT; i++) {
        int w = 0, h = 0;
        errno = 0;
        done =
            fscanf(file, "P5 %5d %5d 255", &w, &h) == 2 && fgetc(file) == '\n' && w > 0 && h > 0 && w <= most && h <= most;
        if (!done) break;
        sheets[i] = plane_new(w, h);
        done = fread(sheets[i].at, 1, (size_t)w * (size_t)h, file) == (size_t)w * (size_t)h;
    }
    if (file) fclose(file);
    return done;
}
