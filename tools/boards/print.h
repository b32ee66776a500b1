/* The stroke font, for print on boards and on parts. */
#ifndef BOARDS_PRINT_H
#define BOARDS_PRINT_H

#include "raster.h"
#include "rng.h"

#include <stddef.h>

/* Draws upper case letters, digits and a few signs from (x, y), the top left, in mm; turn in radian; height of a capital
 * and stroke width in mm. */
void print_text(Plane *plane, const char *text, float x, float y, float height, float turn, float width);
void print_word(Rng *rng, char *word, size_t room); /* "R12", "GND" ... */

#endif
