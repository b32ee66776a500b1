/* Records of comma-separated text (RFC 4180), and parts out of them. (Inside the shelf room.) */
#ifndef UNPICK_SHELF_CSV_H
#define UNPICK_SHELF_CSV_H

#include "base/names.h"
#include "shelf/shelf.h"

typedef struct CsvField {
    Text text;             /* quotes resolved */
    uint32_t line, column; /* from 1, where it begins in the file; column in bytes */
} CsvField;

typedef struct Csv {
    Text file, content;
    char comma; /* `,`, or `;` or a tab where the first line has those and no comma */
    size_t at, line_start;
    uint32_t line;
    Diags *problems;
    LIST(CsvField) fields; /* of the record last read */
} Csv;

enum { CSV_FILE_MOST = 512 * 1024 * 1024, CSV_FIELDS_MOST = 1024 };

/* A byte order mark is passed over. `file` and `content` must outlive it. */
Csv csv_start(Text file, Text content, Diags *problems);
/* Reads the next record that is not empty; quoted fields are copied to `arena` where they hold doubled quotes. A record
 * that is not well formed is a problem, and reading goes on behind it. False at the end. */
bool csv_next(Csv *csv, Arena *arena);

/* What the columns of a parts list mean, and how people call them: the `columns` entry of the lore. */
typedef struct CsvColumns {
    Names *called; /* spellings; number n means meaning.at[n] */
    LIST(uint32_t) meaning;
} CsvColumns;
CsvColumns *csv_columns(Arena *arena, Lore *lore);

/* A part as a row of the list says it. */
typedef struct CsvPart {
    ShelfPart part;
    const Text *aliases, *codes; /* size alias_count, code_count */
    uint32_t alias_count, code_count;
    CsvField name; /* for problems with it */
} CsvPart;

/* Takes one part; false, with a problem, when it can't be taken. */
typedef bool CsvTake(void *context, const CsvPart *part);

/* Reads the whole list. keep: the arena for the parts, or NULL when `take` copies them. kinds: the kinds of part that there
 * are. False when there was any problem; then too all rows are read, so that all problems show. rows: how many were taken.
 */
typedef struct CsvList {
    Text file, content;
    const CsvColumns *columns;
    const Names *kinds;
    Arena *keep;
    CsvTake *take;
    void *context;
} CsvList;
bool csv_read(CsvList list, uint32_t *rows, Diags *problems);
void csv_problem(Diags *problems, Text file, const CsvField *field, Text message, Text expected, Text hint);

#endif
