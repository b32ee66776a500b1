/* What a board is made of and lies on, and the light over it: everything about its look that is drawn by lot once a board.
 */
#ifndef BOARDS_LOOK_H
#define BOARDS_LOOK_H

#include "layout.h"
#include "noise.h"

typedef struct Colour {
    float r, g, b; /* linear light, 1: white paper */
} Colour;

typedef enum Finish { FINISH_MASK, FINISH_LACQUER, FINISH_BARE, FINISH_TINNED } Finish;
typedef enum Ground { GROUND_WOOD, GROUND_MAT, GROUND_CLOTH, GROUND_PAPER, GROUND_PLAIN, GROUND_COUNT } Ground;

typedef struct Look {
    Finish finish;
    Colour laminate, copper; /* as seen, under mask or lacquer where there is one */
    Colour bare_laminate, pad, silk, solder, wall, edge, flux;
    float silk_cover, silk_wear;
    float bleed, rim_reach;        /* blur of the copper's edge seen through mask, and width of its slope; raster pixels */
    float rim_in, rim_out, relief; /* brightness at the edge: on copper, beside it, by the light's direction */
    float open_rim;                /* darkening round mask openings */
    float blotch, weave, fine, brushed, tarnish, pad_lumps; /* gains of textures */
    float weave_period;                                     /* mm */
    Colour tarnish_colour;
    Grain blotch_grain, fine_grain, brush_grain, tarnish_grain, weave_grain, lump_grain, wear_grain;
    float ghost;                   /* how much the other side's copper darkens the laminate */
    float light_x, light_y, gloss; /* direction the light comes from, sharpness of solder's highlights */
    float lamp[3][3];              /* light sources seen in solder: slope x, slope y, strength */
    float solder_dull, solder_noise;
    float dust, scratches, flux_amount;
    float stain, stain_from; /* dried flux anywhere: how strong, and from which level of its noise on; 0: none */
    Colour stain_colour;
    bool stain_white; /* it lies on top and hides, instead of dyeing */
    Grain stain_grain;
    bool populated;
    uint32_t dice; /* for choices per part */
    Colour body, cap;
    Ground ground;
    Colour ground_a, ground_b;
    Grain ground_grain, ground_fine;
    float ground_turn, ground_pitch;
} Look;

Look look_new(const Board *board, Rng *rng);
void look_harden(Look *look, Rng *rng); /* dull and grainy solder, little contrast, stains, thin print: some of them */
Colour colour_hsv(float hue, float saturation, float value); /* degrees, 0..1, 0..1 in display values; linear comes back */
Colour colour_mix(Colour a, Colour b, float share);
Colour colour_scale(Colour a, float gain);
float colour_light(Colour a);                                             /* luminance */
Colour ground_at(const Look *look, const Noise *noise, float x, float y); /* the desk at a point in mm */

#endif
