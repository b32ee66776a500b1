/* The parts as CSV (RFC 4180), as spreadsheets open it without asking: UTF-8 with a byte order mark, commas, every field
 * between quotes. A field that a spreadsheet would take for a formula is made text by an apostrophe before it (OWASP, CSV
 * Injection, from memory: = + - @, tab, line end, and their wide forms). */
#include "report/csv.h"

#include <math.h>

static bool reads_as_formula(Text text) {
    static const char *const starts[] = {"=", "+", "-", "@", "\t", "\r", "\n", "\xEF\xBC\x9D", "\xEF\xBC\x8B", "\xEF\xBC\x8D", "\xEF\xBC\xA0"};
    while (text.len > 0 && text.at[0] == ' ') text = text_sub(text, 1, text.len);
    for (size_t i = 0; i < sizeof starts / sizeof *starts; i++)
        if (text_starts(text, starts[i])) return true;
    return false;
}

void csv_field(Out *out, Text text) {
    Out clean = out_new(out->arena);
    words_clean(&clean, text);
    text = out_text(&clean);
    out_char(out, '"');
    if (reads_as_formula(text)) out_char(out, '\'');
    for (size_t i = 0; i < text.len; i++) {
        if (text.at[i] == '"') out_char(out, '"');
        out_char(out, text.at[i]);
    }
    out_char(out, '"');
}

static void row(Out *out, const Text *fields, size_t count) {
    for (size_t i = 0; i < count; i++) {
        if (i > 0) out_char(out, ',');
        csv_field(out, fields[i]);
    }
    out_lit(out, "\r\n");
}

static Text number(Arena *arena, double value) { return isfinite(value) ? text_fmt(arena, "%.6g", value) : TEXT(""); }

void report_parts_csv(Out *out, const Reasoning *reasoning) {
    static const Text heads[] = {TEXT_INIT("part"),  TEXT_INIT("kind"), TEXT_INIT("value"),   TEXT_INIT("value in SI units"),
                                 TEXT_INIT("unit"),  TEXT_INIT("lowest"), TEXT_INIT("highest"), TEXT_INIT("package"),
                                 TEXT_INIT("marking"), TEXT_INIT("what it is"), TEXT_INIT("how sure"), TEXT_INIT("board"),
                                 TEXT_INIT("line of the notes")};
    enum { COLUMNS = sizeof heads / sizeof *heads };
    Arena *arena = out->arena;
    const Story *story = story_of(arena, reasoning);
    out_lit(out, "\xEF\xBB\xBF");
    row(out, heads, COLUMNS);
    for (uint32_t i = 0; i < story->parts.count; i++) {
        const StoryPart *told = &story->parts.at[i];
        const BenchPart *part = &reasoning->bench->parts.at[told->part];
        bool has = part->has_value;
        const Text fields[COLUMNS] = {part->ref,
                                      part->kind->name,
                                      told->value,
                                      has ? number(arena, part->value.value) : TEXT(""),
                                      has ? unit_symbol(arena, part->value.unit) : TEXT(""),
                                      has ? number(arena, part->value.low) : TEXT(""),
                                      has ? number(arena, part->value.high) : TEXT(""),
                                      told->package,
                                      part->marking,
                                      told->is,
                                      told->claim != NULL ? words_probability(arena, told->claim->p) : TEXT(""),
                                      part->board,
                                      part->line > 0 ? text_fmt(arena, "%u", part->line) : TEXT("")};
        row(out, fields, COLUMNS);
    }
}
