/* The camera: where it stands, how it maps the board to the photo, and what lens, sensor and file do to the light.
 *
 * Board points are in mm from the board's top left; photo points in continuous pixels. */
#ifndef BOARDS_CAMERA_H
#define BOARDS_CAMERA_H

#include "look.h"

typedef struct Camera {
    int width, height;                            /* photo, pixels */
    double h[9], back[9];                         /* board mm to undistorted pixels, and its inverse */
    double k1, centre_x, centre_y, half_diagonal; /* r_distorted = r (1 + k1 (r / half_diagonal)^2) */
    double eye_x, eye_y, eye_z;                   /* the camera's place in board mm, z above the board */
    float scale;                                  /* photo pixels per mm at the board's middle */
    /* lens and light */
    float defocus, motion, motion_turn, fringe; /* pixels, pixels, radian, relative */
    float slope_x, slope_y, vignette, shadow, shadow_at, shadow_turn, shadow_soft;
    float glare[3][4]; /* x, y, radius (mm), strength */
    /* sensor and file */
    float balance[3], exposure, contrast, black, shot_noise, read_noise, noise_blur, sharpen;
    int quality, chroma; /* JPEG; 0: 4:2:0, 1: 4:2:2, 2: 4:4:4 */
} Camera;

Camera camera_new(const Board *board, Rng *rng);
void camera_harden(Camera *camera, const Board *board,
                   Rng *rng); /* coloured and uneven light, stronger JPEG: some of them */
void camera_to_photo(const Camera *camera, double x, double y, double *px, double *py);
void camera_to_board(const Camera *camera, double px, double py, double *x, double *y);

/* Light at a board point: gain on what is there, and glare added on top (1: white by itself). */
void camera_light(const Camera *camera, float x, float y, float *gain, float *glare);

/* A rectangle of the photo, in the making (linear planes) and finished (bytes). */
typedef struct Patch {
    int x, y, w, h;        /* place in the photo; x, y, w, h are multiples of 16 */
    float *rgb[3], *spare; /* each size w * h */
    unsigned char *bytes;  /* size 3 * w * h, after camera_develop */
    unsigned char *live;   /* one for each block of 16 x 16 pixels, row by row: 0 is not worked on; NULL: all are */
} Patch;

Patch patch_new(int x, int y, int w, int h);
void patch_free(Patch *patch);
/* Lens blur, sensor noise, tone, sharpening and JPEG: from linear light to the bytes that a decoder would give. */
void camera_develop(const Camera *camera, const Noise *noise, Rng *rng, Patch *patch);
void camera_expose(const Camera *camera, const Noise *noise, Rng *rng, Patch *patch); /* all but JPEG */
/* What quantising 8 x 8 blocks at this quality does to a patch (ITU T.81 tables, libjpeg's quality scaling, from memory).
 */
void jpeg_wear(Patch *patch, int quality, int chroma);

bool homography_from_corners(const double from[4][2], const double to[4][2], double h[9]);
void homography_invert(const double h[9], double back[9]);
static inline void homography_map(const double h[9], double x, double y, double *u, double *v) {
    double w = h[6] * x + h[7] * y + h[8];
    *u = (h[0] * x + h[1] * y + h[2]) / w;
    *v = (h[3] * x + h[4] * y + h[5]) / w;
}

#endif
