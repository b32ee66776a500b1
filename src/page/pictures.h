/* What can lie on the table: each side of a board straightened to millimetres, and each photo as it is. Private to the room. */
#ifndef UNPICK_PAGE_PICTURES_H
#define UNPICK_PAGE_PICTURES_H

#include "report/report.h"

enum { PICTURES_MOST = 500, TILE_SIDE = 512 };

typedef struct Picture {
    Text id;     /* 16 hex digits; another one when the photo or how it is straightened changes */
    Text file;   /* its name in photos/ */
    Text title;  /* "Board A, bottom", or the file's name */
    bool straight;
    uint32_t board; /* straight: index of the bench's photographed boards */
    BoardSide side;
    double width_mm, height_mm;
    PlacePoint corners[4];
} Picture;

typedef LIST(Picture) PictureList;
typedef LIST(Text) PictureNames;

/* The files in photos/ that could be photos by their names: plain names, in order, at most PICTURES_MOST. */
PictureNames picture_names(Arena *arena, const char *folder);
/* A name that may stand in photos/: no path, not hidden, a photo's ending, at most 100 bytes. */
bool picture_name_fine(Text name);
PictureList picture_list(Arena *arena, const char *folder, const Bench *bench);

/* ---- tiles: squares of TILE_SIDE pixels; level 0 is the whole size, each next one half of it ---- */

/* In pixels at level 0. */
typedef struct PictureSize {
    uint32_t width, height, levels;
    uint32_t finest; /* the level from which on all are there: 0, once it has been cut wholly */
} PictureSize;
/* Whether there is something to see of it. */
bool tiles_ready(const char *folder, Text id, PictureSize *size);
/* Told when the coarse levels are there. */
typedef struct TilesListener {
    void (*hear)(void *context);
    void *context;
} TilesListener;
/* Decodes, straightens, cuts, and leaves all tiles under derived/tiles/ID. Takes seconds for a large photo. */
bool tiles_cut(const char *folder, const Picture *picture, TilesListener heard, Diags *problems);
/* Where a tile lies. */
Text tile_path(Arena *arena, const char *folder, Text id, uint32_t level, uint32_t x, uint32_t y);

#endif
