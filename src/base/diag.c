#include "base/diag.h"

enum { EXCERPT_MOST = 100 }; /* bytes of an offending line worth showing */

Diags diags_new(Arena *arena) { return (Diags){.arena = arena}; }

void diag_add(Diags *diags, Diag diag) {
    if (diags->list.count >= DIAGS_MOST) {
        diags->left_out++;
        return;
    }
    list_push(diags->arena, &diags->list, diag);
}

void diags_copy(Diags *to, const Diags *from) {
    for (uint32_t i = 0; i < from->list.count; i++) {
        Diag diag = from->list.at[i];
        Text *const texts[] = {&diag.place.file, &diag.message, &diag.expected, &diag.hint, &diag.source};
        for (size_t k = 0; k < sizeof texts / sizeof *texts; k++) *texts[k] = text_copy(to->arena, *texts[k]);
        diag_add(to, diag);
    }
    to->left_out += from->left_out;
}

/* One line of the source around the column, control bytes as dots, and a caret under the column. */
static void print_excerpt(Out *out, const Diag *diag) {
    size_t column = diag->place.column == 0 ? 1 : diag->place.column;
    size_t from = column > EXCERPT_MOST ? column - EXCERPT_MOST / 2 : 0;
    while (from > 0 && from < diag->source.len && ((unsigned char)diag->source.at[from] & 0xC0) == 0x80) from--;
    Text shown = text_sub(diag->source, from, EXCERPT_MOST);
    size_t bad = text_bad_byte(shown);
    if (bad + 4 > shown.len) shown.len = bad; /* the cut fell inside a character */
    bool text = bad >= shown.len;
    out_lit(out, "    ");
    for (size_t i = 0; i < shown.len; i++) {
        unsigned char c = (unsigned char)shown.at[i];
        out_char(out, c == '\t' ? ' ' : c < 0x20 || c == 0x7F || (c >= 0x80 && !text) ? '.' : (char)c);
    }
    out_lit(out, "\n    ");
    for (size_t i = from; i + 1 < column && i - from < shown.len; i++)
        if (!text || ((unsigned char)diag->source.at[i] & 0xC0) != 0x80) out_char(out, ' ');
    out_lit(out, "^\n");
}

void diag_print(Out *out, const Diag *diag) {
    if (diag->place.file.len > 0) out_add(out, diag->place.file);
    if (diag->place.line > 0) out_fmt(out, ":%u", diag->place.line);
    if (diag->place.line > 0 && diag->place.column > 0) out_fmt(out, ":%u", diag->place.column);
    if (diag->place.file.len > 0 || diag->place.line > 0) out_lit(out, ": ");
    out_add(out, diag->message);
    if (diag->expected.len > 0) out_fmt(out, "; expected %.*s", TEXT_ARG(diag->expected));
    if (diag->hint.len > 0) out_fmt(out, "; %.*s", TEXT_ARG(diag->hint));
    out_char(out, '\n');
    if (diag->source.len > 0) print_excerpt(out, diag);
}

void diags_print(Out *out, const Diags *diags) {
    for (uint32_t i = 0; i < diags->list.count; i++) diag_print(out, &diags->list.at[i]);
    if (diags->left_out > 0) out_fmt(out, "and %u more of the like\n", diags->left_out);
}
