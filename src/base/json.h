/* What the house adds to jansson: JSON of its texts, and out into an Out. Doubles must be finite: jansson refuses others, and
 * the member is then left out. */
#ifndef UNPICK_BASE_JSON_H
#define UNPICK_BASE_JSON_H

#include "base/text.h"

#include <jansson.h>

json_t *json_of_text(Text text);                             /* bytes that are not UTF-8 become U+FFFD */
void json_put(json_t *object, const char *key, json_t *value); /* takes the value; NULL is left out */
void json_put_text(json_t *object, const char *key, Text text);
/* Writes the document and a newline, and lets go of it; all on one line, as an event or a log wants it. */
void json_finish(Out *out, json_t *document);
void json_finish_line(Out *out, json_t *document);

#endif
