/* Lore as text: entries of a head line and indented lines below it. What the words mean is each room's own business;
 * this room only cuts files into entries, keeps their places, and holds the files that are compiled in.
 *
 *   idiom "low-side switch, bipolar"       a head line starts in column 1: a word, then what names the entry
 *     needs Q npn                          an indented line belongs to the entry above it
 */
#ifndef UNPICK_LORE_LORE_H
#define UNPICK_LORE_LORE_H

#include "base/diag.h"
#include "base/lex.h"

typedef struct LoreLine {
    Text word;      /* the first word: `needs` */
    Text text;      /* the whole line, comment included */
    Text file;
    uint32_t line;  /* from 1 */
} LoreLine;

typedef struct LoreEntry {
    LoreLine head;
    const LoreLine *lines; /* size line_count, in order */
    uint32_t line_count;
    bool builtin;          /* compiled in, not the person's own */
} LoreEntry;

typedef struct Lore {
    Arena *arena;
    LIST(LoreEntry) entries; /* built-in files first, then the person's, each in order */
    Diags problems;          /* of cutting; each room adds its own while it reads */
} Lore;

Lore *lore_new(Arena *arena);
/* The files under lore/ that were compiled in. */
void lore_add_builtin(Lore *lore);
/* Cuts one file. `content` must outlive the lore. */
void lore_add_text(Lore *lore, Text file, Text content);
/* Every *.lore file of a folder, by name; a missing folder is no error. False, with a problem noted, if one can't be read. */
bool lore_add_folder(Lore *lore, const char *folder);

/* A lexer placed after the line's first word. */
Lexer lore_lexer(const LoreLine *line);
/* Notes a problem at a token of the line (column 0: the whole line). */
void lore_problem(Lore *lore, const LoreLine *line, uint32_t column, Text message, Text expected, Text hint);
/* "file:line", for showing where a rule stands. */
Text lore_place(Arena *arena, const LoreLine *line);

/* The compiled-in files, made by the build (tools/embed.c). */
typedef struct LoreFile {
    const char *name;
    const char *content;
    size_t len;
} LoreFile;
extern const LoreFile LORE_FILES[];
extern const size_t LORE_FILE_COUNT;

#endif
