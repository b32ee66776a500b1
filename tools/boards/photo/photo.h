/* Files of a whole photo. Each writer gives false with errno set. */
#ifndef BOARDS_PHOTO_H
#define BOARDS_PHOTO_H

#include "../camera.h"
#include "../sheets.h"

typedef struct PhotoWish {
    const char *photo, *truth, *copper, *finish;
    const char *layers;  /* folder of sheets; NULL: an invented board */
    const char *sheets;  /* file that these are written to, for boardgen */
    float width, height; /* of that board, mm */
    uint64_t seed, board;
    float scale;  /* pixels per mm wished for, 0: any ordinary one */
    bool plain;   /* on a plain desk */
    bool hard;    /* hard to read (hard.c) */
    bool crowded; /* an invented board that is densely set (crowd.c) */
} PhotoWish;

bool photo_write_jpeg(const char *path, const Patch *photo, int quality, int chroma);
bool photo_write_copper(const char *path, const Board *board); /* PNG, 40 pixels per mm, 0 or 255, holes filled */
bool photo_write_truth(const char *path, const PhotoWish *wish, const Board *board, const char *finish,
                       const Camera *camera);

/* FOLDER/copper.png, mask.png, print.png, drill.png, outline.png as sheets (any PNG, taken as grey). False when one can't
 * be read or is larger than a board may be; `at` then names it. Planes are the caller's to free either way. */
bool photo_read_sheets(const char *folder, Plane sheets[SHEET_COUNT], const char **at);

#endif
