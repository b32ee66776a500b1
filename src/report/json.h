/* JSON values of the house's types (jansson). Private to the room. Doubles must be finite: jansson refuses others, and the
 * member is then left out. */
#ifndef UNPICK_REPORT_JSON_H
#define UNPICK_REPORT_JSON_H

#include "report/words.h"

#include <jansson.h>

json_t *json_of_text(Text text);                           /* bytes that are not UTF-8 become U+FFFD */
json_t *json_of_quantity(Arena *arena, Quantity quantity); /* {value, low, high, unit}; null when not finite */
json_t *json_of_claim(Arena *arena, const Bench *bench, const ReasonClaim *claim);
/* [{line, note}]: note lines as they stand, in canonical spacing. */
json_t *json_of_lines_quoted(Arena *arena, const Notebook *notebook, const uint32_t *lines, uint32_t count);
json_t *json_of_boards(Arena *arena, const Bench *bench, const Story *story);
json_t *json_answer(void); /* {"unpick": 1} */

void json_put(json_t *object, const char *key, json_t *value); /* takes the value */
void json_put_text(json_t *object, const char *key, Text text);
/* Writes the document and a newline, and lets go of it. */
void json_finish(Out *out, json_t *document);

#endif
