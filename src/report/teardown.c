/* A teardown opened: lore, catalogue, notes, bench, reasoning, sums, one on top of the other. The lore is read anew each time (a
 * few hundred kilobytes of text), so that nothing can be stale. */
#include "report/report.h"

#include <sys/stat.h>

static void take_over(Diags *to, const Diags *from) {
    for (uint32_t i = 0; i < from->list.count; i++) diag_add(to, from->list.at[i]);
    to->left_out += from->left_out;
}

bool report_know(Arena *arena, const char *folder, const char *catalogue, ReportKnowledge *knows, Diags *problems) {
    Lore *lore = lore_new(arena);
    *knows = (ReportKnowledge){.lore = lore};
    lore_add_builtin(lore);
    if (folder != NULL) lore_add_folder(lore, text_fmt(arena, "%s/lore", folder).at);
    knows->marks = marks_new(arena, lore);
    knows->kinds = bench_kinds_new(arena, lore);
    knows->shelf = shelf_open(arena, lore, catalogue, problems);
    knows->rules = reason_rules_new(arena, lore, knows->kinds);
    knows->models = sums_models_new(arena, lore, knows->kinds);
    take_over(problems, &lore->problems);
    return knows->shelf != NULL;
}

void report_forget(ReportKnowledge *knows) {
    shelf_close(knows->shelf);
    knows->shelf = NULL;
}

static void left_out(Arena *arena, Diags *problems, Text file, uint32_t count, const char *what) {
    if (count > 0) diag_add(problems, (Diag){.place.file = file, .message = text_fmt(arena, "%u %s", count, what)});
}

/* Whatever was bounded says so: a list that ends silently would be taken for the whole. */
static void tell_limits(Arena *arena, const Reasoning *reasoning, Diags *problems) {
    const Bench *bench = reasoning->bench;
    Text file = bench->notebook->file;
    take_over(problems, &bench->problems);
    left_out(arena, problems, file, bench->conflicts_left_out, "more contradictions are not listed");
    left_out(arena, problems, file, bench->markings_left_out, "parts have markings that were not looked up: there are too many different ones");
    left_out(arena, problems, file, reasoning->cut, "times the search for circuits was cut short: too many parts fit one pattern");
}

/* Where photos/ and derived/ lie: the folder, or that of a notes file given in its place. */
static const char *folder_of(Arena *arena, const char *folder) {
    struct stat info;
    Text path = text_of(folder);
    if (stat(folder, &info) == 0 && S_ISDIR(info.st_mode)) return folder;
    while (path.len > 0 && path.at[path.len - 1] != '/') path.len--;
    return path.len == 0 ? "." : text_cstring(arena, path);
}

static void do_sums(Arena *arena, const ReportTeardown *before, Reasoning *reasoning, ReportTeardown *teardown) {
    const SumsModels *models = teardown->knows.models;
    teardown->sums = before == NULL || before->sums == NULL ? NULL : sums_again(arena, before->sums, reasoning, models);
    teardown->again = teardown->sums != NULL;
    if (!teardown->again) teardown->sums = sums_about(arena, reasoning, models, (SumsEffort){0});
}

bool report_open(Arena *arena, const char *folder, const char *catalogue, ReportTeardown *teardown, Diags *problems) {
    return report_open_after(arena, folder, catalogue, NULL, teardown, problems);
}

bool report_open_after(Arena *arena, const char *folder, const char *catalogue, const ReportTeardown *before,
                       ReportTeardown *teardown, Diags *problems) {
    *teardown = (ReportTeardown){0};
    teardown->notebook = note_read_folder(arena, folder, problems);
    if (teardown->notebook == NULL) return false;
    take_over(problems, &teardown->notebook->problems);
    if (!report_know(arena, folder, catalogue, &teardown->knows, problems)) return false;
    uint32_t rows;
    if (!shelf_add(teardown->knows.shelf, text_fmt(arena, "%s/shelf.csv", folder).at, &rows, problems)) {
        report_close(teardown);
        return false;
    }
    BenchKnows knows = {.kinds = teardown->knows.kinds,
                        .marks = teardown->knows.marks,
                        .shelf = teardown->knows.shelf,
                        .folder = folder_of(arena, folder)};
    teardown->bench = bench_build(arena, teardown->notebook, knows);
    Reasoning *reasoning = reason_about(arena, teardown->bench, teardown->knows.rules);
    do_sums(arena, before, reasoning, teardown);
    teardown->reasoning = reasoning;
    tell_limits(arena, teardown->reasoning, problems);
    return true;
}

void report_close(ReportTeardown *teardown) {
    if (teardown->bench != NULL) bench_free(teardown->bench);
    report_forget(&teardown->knows);
}
