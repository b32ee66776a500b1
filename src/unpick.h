/* Unpick as a library: a teardown folder opened, told and asked, as text.
 *
 *   Unpick *bench = unpick_open("dispenser", NULL);
 *   puts(unpick_json(bench));
 *   unpick_close(bench);
 *
 * Every text given back is UTF-8, ends in a NUL, and belongs to the Unpick it was asked of until unpick_close. One Unpick is
 * for one thread at a time; several may be open. Nothing here writes to the folder but unpick_note. */
#ifndef UNPICK_H
#define UNPICK_H

#include <stdbool.h>

#ifdef __cplusplus
extern "C" {
#endif

#define UNPICK_VERSION "0.1.0"

typedef struct Unpick Unpick;

/* Reads the folder's notes and lore and reasons about them; folder NULL: only markings and parts can be asked about.
 * catalogue: a parts catalogue as `unpick shelf load` makes it, or NULL for the built-in families only. Never NULL: of what could
 * not be read unpick_problems tells why, and the functions below that need it give NULL. */
Unpick *unpick_open(const char *folder, const char *catalogue);
void unpick_close(Unpick *bench); /* NULL is fine */

/* What was wrong with the notes, the lore or the catalogue, with file, line and column; empty when all is well. */
const char *unpick_problems(const Unpick *bench);

/* The teardown told for a terminal of so many columns, without colour. */
const char *unpick_look(Unpick *bench, unsigned columns);
/* The same with the evidence, as the JSON of doc/json.md. */
const char *unpick_json(Unpick *bench);
/* The same as one self-contained HTML page. */
const char *unpick_html(Unpick *bench);
/* The tally behind a claim (its id), or behind all claims about a part (`Q1`) or pin (`Q1.B`), as JSON. NULL when there is none. */
const char *unpick_why(Unpick *bench, const char *claim);

/* What a marking may mean, as JSON, likeliest first. kind: narrows it as `unpick mark --as` does; NULL for any. */
const char *unpick_mark(Unpick *bench, const char *marking, const char *kind);
/* The parts that a damaged or partial marking may belong to, as JSON, likeliest first, at most 20. package: NULL when unknown. */
const char *unpick_find(Unpick *bench, const char *marking, const char *package);

/* Checks one note and appends it to the folder's notes.txt: under a lock, and on the disk when true comes back. An open
 * Unpick does not see it: open the folder again. On false nothing was added, and problem (if not NULL, size room) holds
 * what was expected, cut to fit. */
bool unpick_note(const char *folder, const char *note, char *problem, unsigned room);

#ifdef __cplusplus
}
#endif

#endif
