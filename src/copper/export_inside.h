/* What the files that write JSON share. Each gives a new reference. */
#ifndef UNPICK_COPPER_EXPORT_INSIDE_H
#define UNPICK_COPPER_EXPORT_INSIDE_H

#include "copper/export.h"

#include <jansson.h>

json_t *export_number(double value); /* to 0.0001; null when it is no number */
json_t *export_point(PlacePoint at);
json_t *export_string(Text text);
void export_put(json_t *object, const char *key, json_t *value); /* takes the value */
/* What a side and a board have in common; the caller adds the rest. */
json_t *export_hole(PlacePoint at, double diameter);
json_t *export_doubt(const CopperDoubt *doubt);
json_t *export_conflict(PlacePoint at, Text says, uint32_t line);
json_t *export_face(Arena *arena, const Copper *copper, const ExportNames *names, const ExportFound *found);
void export_write(Out *out, json_t *root); /* takes it */

#endif
