/* Setting text on a terminal: a paragraph is a stretch of clean text with ink changes in it (one byte each, which clean
 * text can't hold), broken greedily at blanks, O(n). A figure and its unit stay together; a word longer than the line is
 * cut. */
#include "report/paper.h"
#include "report/words.h"

enum {
    COLUMNS_LEAST = 32,
    COLUMNS_MOST = 1000,
    PROSE_MOST = 100 /* beyond this the eye loses the line: typographer's rule of thumb, generous */
};

static const char *const INKS[INK_COUNT] = {"\x1B[0m", "\x1B[1m", "\x1B[2m", "\x1B[1;31m"};

Paper paper_new(Out *out, ReportStyle style) {
    uint32_t columns = style.columns < COLUMNS_LEAST  ? COLUMNS_LEAST
                       : style.columns > COLUMNS_MOST ? COLUMNS_MOST
                                                      : style.columns;
    return (Paper){.out = out,
                   .paragraph = out_new(out->arena),
                   .columns = columns,
                   .prose = columns < PROSE_MOST ? columns : PROSE_MOST,
                   .colour = style.colour};
}

void paper_text(Paper *paper, Text text) { words_clean(&paper->paragraph, text); }

void paper_fmt(Paper *paper, const char *format, ...) {
    va_list args;
    va_start(args, format);
    paper_text(paper, text_vfmt(paper->out->arena, format, args));
    va_end(args);
}

void paper_ink(Paper *paper, PaperInk ink) { out_char(&paper->paragraph, (char)(ink + 1)); }

static bool is_ink(char c) { return c > 0 && c <= INK_COUNT; }

uint32_t paper_width(Text text) {
    uint32_t width = 0;
    while (text.len > 0) {
        if (is_ink(text.at[0]))
            text = text_sub(text, 1, text.len);
        else
            width += words_columns(words_next(&text));
    }
    return width;
}

/* The longest beginning of `text` that a line of `room` columns takes, without its last blank. */
static Text line_of(Text text, uint32_t room) {
    size_t fits = 0;
    uint32_t width = 0;
    for (Text rest = text; rest.len > 0;) {
        size_t at = text.len - rest.len;
        if (rest.at[0] == ' ' && !words_glued(text_sub(text, 0, at), text_sub(rest, 1, rest.len))) fits = at;
        bool ink = is_ink(rest.at[0]);
        uint32_t columns = ink ? 0 : words_columns(words_next(&rest));
        if (ink) rest = text_sub(rest, 1, rest.len);
        if (width + columns > room) return text_sub(text, 0, fits > 0 ? fits : at > 0 ? at : text.len - rest.len);
        width += columns;
    }
    return text;
}

static void put_blanks(Out *out, uint32_t count) {
    for (uint32_t i = 0; i < count; i++) out_char(out, ' ');
}

/* Writes one line's text; `ink` is carried from line to line. */
static void put_line(Paper *paper, Text text, PaperInk *ink) {
    for (size_t i = 0; i < text.len; i++) {
        if (!is_ink(text.at[i])) {
            out_char(paper->out, text.at[i]);
            continue;
        }
        PaperInk then = (PaperInk)(text.at[i] - 1);
        if (paper->colour && then != *ink) {
            if (*ink != INK_PLAIN) out_add(paper->out, text_of(INKS[INK_PLAIN]));
            if (then != INK_PLAIN) out_add(paper->out, text_of(INKS[then]));
        }
        *ink = then;
    }
}

/* Sets text between two margins; lines end in a newline. Every line ends plain, so that margins never carry ink. */
static void set(Paper *paper, Text text, uint32_t first, uint32_t rest, uint32_t columns) {
    PaperInk ink = INK_PLAIN;
    uint32_t margin = first;
    while (text.len > 0) {
        Text line = line_of(text, columns > margin + 8 ? columns - margin : 8);
        put_blanks(paper->out, margin);
        if (paper->colour && ink != INK_PLAIN) out_add(paper->out, text_of(INKS[ink]));
        put_line(paper, line, &ink);
        if (paper->colour && ink != INK_PLAIN) out_add(paper->out, text_of(INKS[INK_PLAIN]));
        out_char(paper->out, '\n');
        text = text_sub(text, line.len, text.len);
        while (text.len > 0 && text.at[0] == ' ') text = text_sub(text, 1, text.len);
        margin = rest;
    }
}

static Text take_paragraph(Paper *paper) {
    Text text = out_text(&paper->paragraph);
    paper->paragraph = out_new(paper->out->arena);
    return text;
}

void paper_flow(Paper *paper, uint32_t first, uint32_t rest) {
    set(paper, take_paragraph(paper), first, rest, paper->prose);
}

void paper_gap(Paper *paper) {
    if (paper->out->len > 0) out_char(paper->out, '\n');
}

void paper_title(Paper *paper, const char *title) {
    paper_gap(paper);
    paper_ink(paper, INK_BOLD);
    paper_fmt(paper, "%s", title);
    paper_flow(paper, 0, 0);
}

/* ---- tables ---- */

enum { MARGIN = 2, GUTTER = 2, OPEN_LEAST = 16 };

static void column_widths(const PaperTable *table, uint32_t *widths) {
    for (uint32_t c = 0; c < table->cell_count; c++) {
        widths[c] = paper_width(text_of(table->heads[c]));
        for (uint32_t r = 0; r < table->row_count; r++) {
            uint32_t width = paper_width(table->cells[r * table->cell_count + c]);
            if (width > widths[c]) widths[c] = width;
        }
        if (table->widest[c] > 0 && widths[c] > table->widest[c]) widths[c] = table->widest[c];
    }
}

/* One row over as many lines as its fullest cell needs. */
static void table_row(Paper *paper, const PaperTable *table, const uint32_t *widths, const Text *row, PaperInk ink) {
    Text left[PAPER_CELLS_MOST];
    bool more = true;
    for (uint32_t c = 0; c < table->cell_count; c++) left[c] = row[c];
    while (more) {
        more = false;
        paper_ink(paper, ink);
        uint32_t owed = 0; /* blanks before the next text: none are left at a line's end */
        for (uint32_t c = 0; c < table->cell_count; c++) {
            Text piece = line_of(left[c], widths[c]);
            put_blanks(&paper->paragraph, piece.len > 0 ? owed : 0);
            if (piece.len > 0) owed = 0;
            out_add(&paper->paragraph, piece);
            owed += widths[c] - paper_width(piece) + GUTTER;
            left[c] = text_trim(text_sub(left[c], piece.len, left[c].len));
            if (left[c].len > 0) more = true;
        }
        PaperInk now = INK_PLAIN;
        put_blanks(paper->out, MARGIN);
        put_line(paper, take_paragraph(paper), &now);
        if (paper->colour && now != INK_PLAIN) out_add(paper->out, text_of(INKS[INK_PLAIN]));
        out_char(paper->out, '\n');
    }
}

/* For narrow sheets: `Q1, npn, SOT-23, marked "J3Y"`. */
static void row_as_paragraph(Paper *paper, const PaperTable *table, const Text *row) {
    for (uint32_t c = 0; c < table->cell_count; c++) {
        if (row[c].len == 0) continue;
        if (c > 0) paper_fmt(paper, "; %s ", table->heads[c]);
        paper_text(paper, row[c]);
    }
    paper_flow(paper, MARGIN, MARGIN + 2);
}

void paper_table(Paper *paper, const PaperTable *table) {
    Text clean[PAPER_CELLS_MOST], heads[PAPER_CELLS_MOST];
    uint32_t widths[PAPER_CELLS_MOST], open = 0, taken = MARGIN;
    column_widths(table, widths);
    for (uint32_t c = 0; c < table->cell_count; c++) {
        heads[c] = text_of(table->heads[c]);
        if (table->widest[c] == 0) open = c;
        if (c + 1 < table->cell_count) taken += GUTTER;
        if (table->widest[c] > 0) taken += widths[c];
    }
    bool narrow = taken + OPEN_LEAST > paper->columns;
    if (!narrow && widths[open] > paper->columns - taken) widths[open] = paper->columns - taken;
    if (!narrow) table_row(paper, table, widths, heads, INK_DIM);
    for (uint32_t r = 0; r < table->row_count; r++) {
        const Text *row = &table->cells[r * table->cell_count];
        for (uint32_t c = 0; c < table->cell_count; c++) {
            Out cell = out_new(paper->out->arena);
            words_clean(&cell, row[c]);
            clean[c] = out_text(&cell);
        }
        if (narrow)
            row_as_paragraph(paper, table, row);
        else
            table_row(paper, table, widths, clean, INK_PLAIN);
    }
}
