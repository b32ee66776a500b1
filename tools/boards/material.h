/* The board as light: a window of its planes turned into linear colours, still without a lens. */
#ifndef BOARDS_MATERIAL_H
#define BOARDS_MATERIAL_H

#include "camera.h"

/* A window of a board's raster with what stands in it. */
typedef struct Scene {
    int x, y, w, h;        /* raster pixels of the board's planes; may reach beyond them */
    float *rgb[3];         /* linear, size w * h */
    unsigned char *hidden; /* under a part's body, 0 or 255 */
} Scene;

Scene scene_render(const Board *board, const Look *look, const Camera *camera, const Noise *noise, int x, int y, int w,
                   int h);
void scene_free(Scene *scene);

/* Stages. */
void scene_solder(Scene *scene, const Board *board, const Look *look, const Noise *noise);
void scene_holes(Scene *scene, const Board *board, const Look *look, const Camera *camera, const Noise *noise);
void scene_dirt(Scene *scene, const Look *look);
void scene_stains(Scene *scene, const Look *look, const Noise *noise);
void scene_parts(Scene *scene, const Board *board, const Look *look, const Camera *camera);
static inline float scene_mm(int from, int at) { return ((float)(from + at) + 0.5f) / RASTER_SCALE - RASTER_MARGIN; }

#endif
