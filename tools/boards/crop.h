/* Training records. A file of records has no header: record n starts at byte n * CROP_BYTES.
 *
 * One record, all unsigned bytes, rows from the top, CROP_SIDE = 256 pixels a side, 12 to 33 pixels per mm, which the
 * record does not tell:
 *
 *   offset          bytes     what
 *   0               196608    rgb, three bytes a pixel: the photo straightened as the product does it
 *   196608           65536    copper: share of the pixel that is copper (holes filled), 255 all
 *   262144           65536    pad: share that is bare metal or solder on copper (on boards without mask: land of a pad)
 *   327680           65536    hole: share that is open drilled hole
 *   393216           65536    unseen: 255 where nothing can be told (glare, under a part)
 *   458752           65536    weight of the copper target: 64 on the mixed pixels of edges, CROP_THIN in gaps and necks
 * under 0.35 mm, 255 in those that print or solder hides, else 128
 *
 * The target planes show what lies at the place that each pixel of the straightened photo truly shows, errors of
 * straightening included. They are bilinear samples of planes of 40 pixels per mm. */
#ifndef BOARDS_CROP_H
#define BOARDS_CROP_H

#include "camera.h"

enum { CROP_SIDE = 256, CROP_AREA = CROP_SIDE * CROP_SIDE, CROP_BYTES = 8 * CROP_AREA, CROPS_A_BOARD = 8, CROP_THIN = 224 };

/* Fills `count` records (at most CROPS_A_BOARD) of a board, which has this number in the stream `seed`. out: count *
 * CROP_BYTES. */
void crop_board(const Noise *noise, const Board *board, uint64_t seed, uint64_t number, int count, unsigned char *out);

/* Weights from a copper plane of `scale` pixels a mm and from what hides it, not 0 there (weigh.c), and the scene through
 * the lens (crop.c; also for whole photos). */
void crop_weigh(const unsigned char *copper, const unsigned char *covered, float scale, unsigned char *weight);
struct Scene;
void crop_project(const Camera *camera, struct Scene *scene, Patch *patch);

#endif
