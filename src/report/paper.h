/* Sheets of terminal text: paragraphs and columns set to a width. Private to the room. */
#ifndef UNPICK_REPORT_PAPER_H
#define UNPICK_REPORT_PAPER_H

#include "report/report.h"

typedef enum PaperInk { INK_PLAIN, INK_BOLD, INK_DIM, INK_ALARM, INK_COUNT } PaperInk;

/* A paragraph is gathered with paper_text and its like, then set with paper_flow. */
typedef struct Paper {
    Out *out;
    Out paragraph;
    uint32_t columns, prose; /* the sheet's width, and that of running text */
    bool colour;
} Paper;

Paper paper_new(Out *out, ReportStyle style);

/* Adds to the paragraph. Control characters and those that turn the writing direction become U+FFFD. */
void paper_text(Paper *paper, Text text);
void paper_fmt(Paper *paper, const char *format, ...) __attribute__((format(printf, 2, 3)));
void paper_ink(Paper *paper, PaperInk ink); /* what follows, to the end of the paragraph, is so */

/* Sets the paragraph: the first line after `first` blanks, the others after `rest`; an empty one sets nothing. */
void paper_flow(Paper *paper, uint32_t first, uint32_t rest);
void paper_gap(Paper *paper);                      /* one empty line */
void paper_title(Paper *paper, const char *title); /* a gap, and a heading */

/* Columns that text takes on a terminal: wide characters two, combining ones none. */
uint32_t paper_width(Text text);

/* ---- tables ---- */

enum { PAPER_CELLS_MOST = 8 };

typedef struct PaperTable {
    uint32_t cell_count;
    const char *heads[PAPER_CELLS_MOST];
    uint32_t widest[PAPER_CELLS_MOST]; /* no column is made wider; 0: this one takes the room that is left and is broken */
    const Text *cells;                 /* size row_count * cell_count, row by row */
    uint32_t row_count;
} PaperTable;

/* Sets the table; where the sheet is too narrow for it, as one paragraph a row. */
void paper_table(Paper *paper, const PaperTable *table);

#endif
