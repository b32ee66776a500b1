/* The public face of the library (unpick.h): the rooms' functions with plain C strings. Each text is made anew when asked
 * for, on the arena of the Unpick. */
#include "unpick.h"

#include "report/report.h"

#include <string.h>

enum { FOUND_MOST = 20 };

struct Unpick {
    Arena *arena;
    ReportTeardown teardown; /* zeroed as far as it could not be read */
    Diags problems;
};

Unpick *unpick_open(const char *folder, const char *catalogue) {
    Arena *arena = arena_new();
    Unpick *bench = arena_one(arena, Unpick);
    bench->arena = arena;
    bench->problems = diags_new(arena);
    ReportTeardown teardown = {0};
    bool read = folder == NULL ? report_know(arena, NULL, catalogue, &teardown.knows, &bench->problems)
                               : report_open(arena, folder, catalogue, &teardown, &bench->problems);
    if (read) bench->teardown = teardown;
    return bench;
}

void unpick_close(Unpick *bench) {
    if (bench == NULL) return;
    if (bench->teardown.knows.shelf != NULL) report_close(&bench->teardown);
    arena_free(bench->arena);
}

/* What was written, as a C string. */
static const char *ended(Out *out) {
    out_char(out, '\0');
    return out->at;
}

const char *unpick_problems(const Unpick *bench) {
    Out out = out_new(bench->arena);
    diags_print(&out, &bench->problems);
    return ended(&out);
}

const char *unpick_look(Unpick *bench, unsigned columns) {
    if (bench->teardown.reasoning == NULL) return NULL;
    Out out = out_new(bench->arena);
    report_look(&out, bench->teardown.reasoning, (ReportStyle){.columns = columns});
    return ended(&out);
}

const char *unpick_json(Unpick *bench) {
    if (bench->teardown.reasoning == NULL) return NULL;
    Out out = out_new(bench->arena);
    report_json(&out, bench->teardown.reasoning);
    return ended(&out);
}

const char *unpick_html(Unpick *bench) {
    if (bench->teardown.reasoning == NULL) return NULL;
    Out out = out_new(bench->arena);
    report_html(&out, bench->teardown.reasoning, bench->teardown.sums, false, &bench->problems);
    return ended(&out);
}

const char *unpick_why(Unpick *bench, const char *claim) {
    if (bench->teardown.reasoning == NULL) return NULL;
    Out out = out_new(bench->arena);
    return report_why_json(&out, bench->teardown.reasoning, text_of(claim)) ? ended(&out) : NULL;
}

const char *unpick_mark(Unpick *bench, const char *marking, const char *kind) {
    if (bench->teardown.knows.marks == NULL) return NULL;
    Out out = out_new(bench->arena);
    MarkReadings readings = mark_read(bench->arena, bench->teardown.knows.marks, text_of(marking), (MarkContext){.kind = text_of(kind)});
    report_mark_json(&out, text_of(marking), readings);
    return ended(&out);
}

const char *unpick_find(Unpick *bench, const char *marking, const char *package) {
    if (bench->teardown.knows.shelf == NULL) return NULL;
    Out out = out_new(bench->arena);
    ShelfMatch matches[FOUND_MOST];
    ShelfQuery query = {.marking = text_of(marking), .package = text_of(package)};
    size_t count = shelf_find(bench->teardown.knows.shelf, bench->arena, query, matches, FOUND_MOST);
    report_matches_json(&out, text_of(marking), matches, count);
    return ended(&out);
}

bool unpick_note(const char *folder, const char *note, char *problem, unsigned room) {
    Arena *arena = arena_new();
    Diags problems = diags_new(arena);
    uint32_t line;
    bool added = note_append(folder, text_of(note), &line, &problems);
    Out out = out_new(arena);
    if (!added) diags_print(&out, &problems);
    if (room > 0 && problem != NULL) {
        Text said = text_sub(out_text(&out), 0, room - 1);
        memcpy(problem, said.at == NULL ? "" : said.at, said.len);
        problem[said.len] = '\0';
    }
    arena_free(arena);
    return added;
}
