/* What was wrong with an input, where, and what to do about it: errors are values with a place. */
#ifndef UNPICK_BASE_DIAG_H
#define UNPICK_BASE_DIAG_H

#include "base/list.h"
#include "base/text.h"

typedef struct Place {
    Text file;
    uint32_t line;   /* from 1; 0: the file as a whole */
    uint32_t column; /* from 1, in bytes; 0: the line as a whole */
} Place;

typedef struct Diag {
    Place place;
    Text message;  /* what is wrong, without a full stop */
    Text expected; /* what would have been right, or empty */
    Text hint;     /* the nearest right spelling or another way out, or empty */
    Text source;   /* the offending line, shown with a caret, or empty */
} Diag;

typedef struct Diags {
    Arena *arena;
    LIST(Diag) list;
    uint32_t left_out; /* beyond DIAGS_MOST: counted, not kept */
} Diags;

enum { DIAGS_MOST = 1000 };

Diags diags_new(Arena *arena);
/* Adds one; beyond DIAGS_MOST only counts it. Texts are kept, not copied. */
void diag_add(Diags *diags, Diag diag);
/* Adds all of another's, their texts copied: for problems that outlive what told them. */
void diags_copy(Diags *to, const Diags *from);
/* `file:line:column: message; expected ...; hint` and the line with a caret below, on as many lines as it takes. */
void diag_print(Out *out, const Diag *diag);
void diags_print(Out *out, const Diags *diags);

#endif
