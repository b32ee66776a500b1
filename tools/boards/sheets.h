/* A board side that is already drawn elsewhere, one picture a layer ("sheet"), instead of one drawn by lot. Only the
 * copper's look, its solder, the mask's place and the photo are left to the lot.
 *
 * Sheets are cut to the board's rectangle, at RASTER_SCALE pixels per mm, as seen; 255 where there is copper, an opening in
 * the mask, print, a drilled hole, board. */
#ifndef BOARDS_SHEETS_H
#define BOARDS_SHEETS_H

#include "layout.h"

typedef enum Sheet { SHEET_COPPER, SHEET_MASK, SHEET_PRINT, SHEET_DRILL, SHEET_OUTLINE, SHEET_COUNT } Sheet;

#define SHEETS_LEAST_MM 5.0f
#define SHEETS_MOST_MM 120.0f /* either side of the board; 23 million pixels a plane */

/* The names of the sheets' files, without their ending, in the order of Sheet. */
extern const char *const sheet_names[SHEET_COUNT];

/* The board, or NULL when the sheets differ in size, don't fit `width` x `height` mm to a pixel, or the outline covers less
 * than a quarter of them. Pads are the connected pieces of copper in openings, each with its sample point. */
Board *sheets_board(const Plane sheets[SHEET_COUNT], float width, float height, uint64_t seed, uint64_t number);

/* Sheets in one file, for machines without a PNG library: five 8-bit pictures of netpbm's P5 in a row, in the order of
 * Sheet. False, with errno set or 0 where the file is no such thing. What is read is the caller's to free by sheets_free
 * either way. */
bool sheets_write(const char *path, const Plane sheets[SHEET_COUNT]);
bool sheets_read(const char *path, Plane sheets[SHEET_COUNT]);
void sheets_free(Plane sheets[SHEET_COUNT]);

#endif
