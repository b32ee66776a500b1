/* The person's own parts in an SQLite file, with their index beside them in the same file. (Inside the shelf room.) */
#ifndef UNPICK_SHELF_STORE_H
#define UNPICK_SHELF_STORE_H

#include "shelf/csv.h"
#include "shelf/index.h"

typedef struct Store Store;

/* A missing file is made by store_begin only. NULL with a problem when there is one that is no catalogue or can't be read.
 */
Store *store_open(Arena *arena, const Damage *damage, const char *path, Diags *problems);
void store_close(Store *store); /* NULL is fine */

/* One load: store_begin, store_put for each part, and store_end, which keeps all of it (with a new index) or nothing. False
 * with a problem. */
bool store_begin(Store *store, Diags *problems);
bool store_put(Store *store, const CsvPart *part, Text file, Diags *problems);
bool store_end(Store *store, bool keep, Diags *problems);

/* The index, read at the first call; NULL when the catalogue is empty or missing. */
Index *store_index(Store *store);
/* Part `id` (an owner of the index), on `arena`; NULL when it is gone. nth: which of its spellings is asked for; out
 * spelling. */
const ShelfPart *store_part(Store *store, Arena *arena, uint32_t id, uint32_t nth, Text *spelling);

#endif
