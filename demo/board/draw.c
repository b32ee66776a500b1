/* The layout as sheets, as the bottom is seen: mirrored. */
#include "board.h"

#include "copper/photo.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PIXELS_A_MM = 40, SUB = 2 };
static const double MASK_BEYOND = 0.05, POUR_DISC = 0.24;

typedef struct Sheet {
    unsigned char *rgb;
    uint32_t width, height;
    double board;
} Sheet;

static void put(Sheet *s, double x, double y, double reach_x, double reach_y, bool round) {
    double left = s->board - x - reach_x, top = y - reach_y;
    for (int v = (int)(top * PIXELS_A_MM); v <= (top + 2 * reach_y) * PIXELS_A_MM; v++)
        for (int u = (int)(left * PIXELS_A_MM); u <= (left + 2 * reach_x) * PIXELS_A_MM; u++) {
            double dx = ((u + 0.5) / PIXELS_A_MM - (s->board - x)) / reach_x, dy = ((v + 0.5) / PIXELS_A_MM - y) / reach_y;
            bool in = round ? dx * dx + dy * dy <= 1 : fabs(dx) <= 1 && fabs(dy) <= 1;
            if (in && u >= 0 && v >= 0 && u < (int)s->width && v < (int)s->height)
                memset(s->rgb + 3 * ((size_t)v * s->width + (size_t)u), 255, 3);
        }
}

static void put_land(Sheet *s, const Land *land, double beyond) {
    put(s, land->x, land->y, land->w / 2 + beyond, land->h / 2 + beyond, land->round);
}

static void put_way(Sheet *s, const Way *way) {
    for (int i = 0; i < way->count; i++) {
        int last = i + 1 < way->count ? i + 1 : i;
        for (int k = 0; k < 4; k++)
            put(s, way->x[i] + (way->x[last] - way->x[i]) * k / 4, way->y[i] + (way->y[last] - way->y[i]) * k / 4,
                way->width / 2, way->width / 2, true);
    }
}

static void put_pour(Sheet *s, const Layout *layout) {
    for (int i = 0; i < layout->columns * layout->rows; i++)
        if (layout->poured[i])
            put(s, (i % layout->columns + 0.5) / CELLS_A_MM, (i / layout->columns + 0.5) / CELLS_A_MM, POUR_DISC, POUR_DISC,
                true);
}

static void put_all(Sheet *s, const Layout *layout, int sheet) {
    for (uint32_t i = 0; i < layout->lands.count; i++) {
        const Land *land = &layout->lands.at[i];
        if (sheet == 0) put_land(s, land, 0);
        if (sheet == 1) put_land(s, land, MASK_BEYOND);
        if (sheet == 3 && land->hole > 0) put(s, land->x, land->y, land->hole / 2, land->hole / 2, true);
    }
    for (uint32_t i = 0; i < layout->ways.count && sheet == 0; i++) put_way(s, &layout->ways.at[i]);
    if (sheet == 0) put_pour(s, layout);
    for (uint32_t i = 0; i < layout->bores.count && sheet == 3; i++)
        put(s, layout->bores.at[i].x, layout->bores.at[i].y, layout->bores.at[i].hole / 2, layout->bores.at[i].hole / 2,
            true);
    if (sheet == 4) put(s, layout->width / 2, layout->height / 2, layout->width, layout->height, false);
}

bool draw(const Layout *layout, const char *folder) {
    static const char *const names[] = {"copper", "mask", "print", "drill", "outline"};
    Sheet s = {.width = (uint32_t)lround(layout->width * PIXELS_A_MM),
               .height = (uint32_t)lround(layout->height * PIXELS_A_MM),
               .board = layout->width};
    size_t size = 3 * (size_t)s.width * s.height;
    bool done = (s.rgb = malloc(size)) != NULL;
    for (int i = 0; i < 5 && done; i++) {
        char path[4096];
        memset(s.rgb, 0, size);
        put_all(&s, layout, i);
        snprintf(path, sizeof path, "%s/%s.png", folder, names[i]);
        done = photo_write_png(path, s.width, s.height, s.rgb);
    }
    free(s.rgb);
    return done;
}
