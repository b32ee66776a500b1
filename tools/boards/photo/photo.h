/* Files of a whole photo. Each writer gives false with errno set. */
#ifndef BOARDS_PHOTO_H
#define BOARDS_PHOTO_H

#include "../camera.h"

typedef struct PhotoWish {
    const char *photo, *truth, *copper, *finish;
    uint64_t seed, board;
    float scale; /* pixels per mm wished for, 0: any ordinary one */
    bool plain;  /* on a plain desk */
} PhotoWish;

bool photo_write_jpeg(const char *path, const Patch *photo, int quality, int chroma);
bool photo_write_copper(const char *path, const Board *board); /* PNG, 40 pixels per mm, 0 or 255, holes filled */
bool photo_write_truth(const char *path, const PhotoWish *wish, const Board *board, const char *finish,
                       const Camera *camera);

#endif
