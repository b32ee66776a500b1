/* The verbs of a note, for whoever types one: what follows, what it is for. Private to the room. doc/notes.md is the whole. */
#ifndef UNPICK_PAGE_VERBS_H
#define UNPICK_PAGE_VERBS_H

#include "note/note.h"

typedef struct VerbHelp {
    NoteVerb verb;
    const char *form, *says, *example; /* a test reads every example */
} VerbHelp;

/* NULL when the word is no verb. */
const VerbHelp *verb_help(Text word);
const VerbHelp *verb_helps(size_t *count);

#endif
