/* Photos of the demo's opening, made of heights and colours: every shape is a box with round corners and round edges (a rod
 * is one that is all edge), seen from straight above, lit from one side. mm; x to the right, y down, heights towards the
 * eye. */
#ifndef DEMO_STEPS_H
#define DEMO_STEPS_H

#include <stdbool.h>
#include <stdint.h>

enum { STEPS_WIDE = 800, STEPS_TALL = 600, STEPS_PIXELS_A_MM = 4, SHAPES_MOST = 400 };

typedef struct Shape {
    double x, y, wide, tall; /* its middle and its sides */
    double turn;             /* degrees */
    double round;            /* radius of its corners */
    double top, edge;        /* height; radius of its edges */
    uint32_t colour;         /* 0xRRGGBB */
    double gloss;            /* 0 to 1 */
    bool cut;                /* a hole down to `top` instead */
    bool barrel;             /* round along its longer side only: its ends are flat */
} Shape;

typedef struct Scene {
    const char *file;
    Shape shapes[SHAPES_MOST];
    int count;
} Scene;

enum { SCENES = 6 };
/* The whole product (0), and the scenes of steps 1 to 5. */
void scene_make(int step, Scene *scene);
/* Its picture: rgb, size 3 * STEPS_WIDE * STEPS_TALL. False: no memory. */
bool scene_shoot(const Scene *scene, unsigned seed, unsigned char *rgb);

#endif
