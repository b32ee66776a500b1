/* A teardown opened: lore, catalogue, notes, bench, reasoning, one on top of the other. The lore is read anew each time (a
 * few hundred kilobytes of text), so that nothing can be stale. */
#include "report/report.h"

bool report_know(Arena *arena, const char *folder, const char *catalogue, ReportKnowledge *knows, Diags *problems) {
    Lore *lore = lore_new(arena);
    *knows = (ReportKnowledge){.lore = lore};
    lore_add_builtin(lore);
    if (folder != NULL) lore_add_folder(lore, text_fmt(arena, "%s/lore", folder).at);
    knows->marks = marks_new(arena, lore);
    knows->kinds = bench_kinds_new(arena, lore);
    knows->shelf = shelf_open(arena, lore, catalogue, problems);
    knows->rules = reason_rules_new(arena, lore, knows->kinds);
    for (uint32_t i = 0; i < lore->problems.list.count; i++) diag_add(problems, lore->problems.list.at[i]);
    problems->left_out += lore->problems.left_out;
    return knows->shelf != NULL;
}

void report_forget(ReportKnowledge *knows) {
    shelf_close(knows->shelf);
    knows->shelf = NULL;
}

bool report_open(Arena *arena, const char *folder, const char *catalogue, ReportTeardown *teardown, Diags *problems) {
    *teardown = (ReportTeardown){0};
    teardown->notebook = note_read_folder(arena, folder, problems);
    if (teardown->notebook == NULL) return false;
    const Diags *slips = &teardown->notebook->problems;
    for (uint32_t i = 0; i < slips->list.count; i++) diag_add(problems, slips->list.at[i]);
    problems->left_out += slips->left_out;
    if (!report_know(arena, folder, catalogue, &teardown->knows, problems)) return false;
    uint32_t rows;
    if (!shelf_add(teardown->knows.shelf, text_fmt(arena, "%s/shelf.csv", folder).at, &rows, problems)) {
        report_close(teardown);
        return false;
    }
    BenchKnows knows = {teardown->knows.kinds, teardown->knows.marks, teardown->knows.shelf};
    teardown->reasoning = reason_about(arena, bench_build(arena, teardown->notebook, knows), teardown->knows.rules);
    return true;
}

void report_close(ReportTeardown *teardown) { report_forget(&teardown->knows); }
