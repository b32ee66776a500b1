/* JSON values of the house's types. Private to the room. */
#ifndef UNPICK_REPORT_JSON_H
#define UNPICK_REPORT_JSON_H

#include "base/json.h"
#include "report/words.h"

json_t *json_of_quantity(Arena *arena, Quantity quantity); /* {value, low, high, unit}; null when not finite */
json_t *json_of_claim(Arena *arena, const Bench *bench, const ReasonClaim *claim);
/* [{line, note}]: note lines as they stand, in canonical spacing. */
json_t *json_of_lines_quoted(Arena *arena, const Notebook *notebook, const uint32_t *lines, uint32_t count);
json_t *json_of_boards(Arena *arena, const Bench *bench, const Story *story);
json_t *json_of_sums(Arena *arena, const Sums *sums);
json_t *json_answer(void); /* {"unpick": 1} */

#endif
