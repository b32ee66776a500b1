/* A teardown opened: lore, catalogue, notes, bench, reasoning, sums, one on top of the other. */
#include "report/keep.h"

#include <sys/stat.h>

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
    diags_copy(problems, &lore->problems);
    return knows->shelf != NULL;
}

bool know_all(Arena *arena, const char *folder, const char *catalogue, ReportKnowledge *knows, Diags *problems) {
    uint32_t rows;
    if (!report_know(arena, folder, catalogue, knows, problems)) return false;
    if (shelf_add(knows->shelf, text_fmt(arena, "%s/shelf.csv", folder).at, &rows, problems)) return true;
    report_forget(knows);
    return false;
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
    diags_copy(problems, &bench->problems);
    left_out(arena, problems, file, bench->conflicts_left_out, "more contradictions are not listed");
    left_out(arena, problems, file, bench->markings_left_out,
             "parts have markings that were not looked up: there are too many different ones");
    left_out(arena, problems, file, reasoning->cut,
             "times the search for circuits was cut short: too many parts fit one pattern");
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
    return report_open_after(arena, folder, catalogue, (ReportBefore){0}, teardown, problems);
}

bool report_open_after(Arena *arena, const char *folder, const char *catalogue, ReportBefore before,
                       ReportTeardown *teardown, Diags *problems) {
    *teardown = (ReportTeardown){0};
    teardown->notebook = note_read_folder(arena, folder, problems);
    if (teardown->notebook == NULL) return false;
    diags_copy(problems, &teardown->notebook->problems);
    bool known = before.keep != NULL ? keep_know(before.keep, folder, catalogue, teardown, problems)
                                     : know_all(arena, folder, catalogue, &teardown->knows, problems);
    if (!known) return false;
    BenchKnows knows = {.kinds = teardown->knows.kinds,
                        .marks = teardown->knows.marks,
                        .shelf = teardown->knows.shelf,
                        .folder = folder_of(arena, folder),
                        .keep = before.keep == NULL ? NULL : keep_boards(before.keep)};
    teardown->bench = bench_build(arena, teardown->notebook, knows);
    Reasoning *reasoning = reason_about(arena, teardown->bench, teardown->knows.rules);
    do_sums(arena, before.teardown, reasoning, teardown);
    teardown->reasoning = reasoning;
    tell_limits(arena, teardown->reasoning, problems);
    return true;
}

void report_close(ReportTeardown *teardown) {
    if (teardown->bench != NULL) bench_free(teardown->bench);
    if (teardown->kept == NULL)
        report_forget(&teardown->knows);
    else
        keep_let_go(teardown->kept);
    teardown->kept = NULL;
}
