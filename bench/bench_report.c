/* The demo's report without photos: from notes to the page's bytes, in one process, and what of it is what. The nets of its
 * board come from its photo, as an earlier look left them in derived/; no photo is put on the page. The same for the show.
 * Beside them the time that xmllint takes to read the page. */
#include "bench/measure.h"

#include "base/file.h"
#include "report/report.h"

#include <fcntl.h>
#include <math.h>
#include <spawn.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <unistd.h>

extern char **environ;

enum { RUNS = 15 };
static const char FOLDER[] = "demo/dispenser";
static const double BAR = 0.150; /* seconds */

typedef struct Times { /* seconds */
    double lore, bench, reason, sums, page, show, all;
} Times;

/* One report from nothing: lore, notes, bench, reasoning, sums, page; and the show after it. */
static Times once(Arena *kept, Text *html) {
    Times t = {0};
    Arena *arena = arena_new();
    Diags problems = diags_new(arena);
    ReportKnowledge knows;
    double start = measure_seconds();
    if (!report_know(arena, FOLDER, NULL, &knows, &problems)) exit(1);
    double know = measure_seconds();
    const Notebook *book = note_read_folder(arena, FOLDER, &problems);
    if (book == NULL) exit(1);
    Bench *bench = bench_build(
        arena, book, (BenchKnows){.kinds = knows.kinds, .marks = knows.marks, .shelf = knows.shelf, .folder = FOLDER});
    double built = measure_seconds();
    Reasoning *reasoning = reason_about(arena, bench, knows.rules);
    double reasoned = measure_seconds();
    const Sums *sums = sums_about(arena, reasoning, knows.models, (SumsEffort){0});
    double summed = measure_seconds();
    bench->folder = TEXT(""); /* no photos on the page */
    Out page = out_new(arena), show = out_new(arena);
    report_html(&page, reasoning, sums, false, &problems);
    double paged = measure_seconds();
    report_show(&show, reasoning, sums, false, &problems);
    double shown = measure_seconds();
    t = (Times){know - start,   built - know,  reasoned - built, summed - reasoned,
                paged - summed, shown - paged, paged - start};
    if (kept != NULL) *html = text_copy(kept, out_text(&page));
    bench_free(bench);
    report_forget(&knows);
    arena_free(arena);
    return t;
}

static Times least(Times a, Times b) {
    return (Times){fmin(a.lore, b.lore), fmin(a.bench, b.bench), fmin(a.reason, b.reason), fmin(a.sums, b.sums),
                   fmin(a.page, b.page), fmin(a.show, b.show),   fmin(a.all, b.all)};
}

/* Seconds that xmllint takes, start to exit, the quickest of a few; infinite: there is none here. */
static double lint(Text html) {
    char path[] = "/tmp/unpick-bench-XXXXXX";
    int fd = mkstemp(path);
    double best = INFINITY;
    if (fd < 0) return best;
    close(fd);
    posix_spawn_file_actions_t quiet;
    posix_spawn_file_actions_init(&quiet);
    posix_spawn_file_actions_addopen(&quiet, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
    posix_spawn_file_actions_addopen(&quiet, STDERR_FILENO, "/dev/null", O_WRONLY, 0);
    for (int i = 0; i < RUNS && file_write(path, html); i++) {
        pid_t pid;
        int status = 0;
        double before = measure_seconds();
        bool ran = posix_spawnp(&pid, "xmllint", &quiet, NULL, (char *[]){"xmllint", "--html", "--noout", path, NULL},
                                environ) == 0 &&
                   waitpid(pid, &status, 0) == pid;
        if (ran && WIFEXITED(status) && WEXITSTATUS(status) != 127) best = fmin(best, measure_seconds() - before);
    }
    posix_spawn_file_actions_destroy(&quiet);
    unlink(path);
    return best;
}

static void print_share(const char *name, double seconds, double all) {
    char value[64], ratio[64];
    snprintf(value, sizeof value, "%.1f ms", seconds * 1e3);
    snprintf(ratio, sizeof ratio, "%.0f %% of it", 100 * seconds / all);
    measure_print(name, value, "-", "-", ratio, true);
}

int main(void) {
    Arena *arena = arena_new();
    Text html = {0};
    once(arena, &html); /* the photo is looked at once */
    Times t = once(NULL, NULL);
    for (int i = 1; i < RUNS; i++) t = least(t, once(NULL, NULL));
    double reference = lint(html);
    char value[96], against[64] = "-", ratio[64] = "-";
    snprintf(value, sizeof value, "%.1f ms (%.0f kB)", t.all * 1e3, (double)html.len / 1e3);
    if (isfinite(reference)) {
        snprintf(against, sizeof against, "xmllint --html reads it: %.1f ms", reference * 1e3);
        snprintf(ratio, sizeof ratio, "%.1f x as long", t.all / reference);
    }
    measure_print("report of the demo, no photos, notes to bytes", value, "under 150 ms", against, ratio, t.all < BAR);
    print_share("  reading the lore", t.lore, t.all);
    print_share("  notes and the nets of the photo", t.bench, t.all);
    print_share("  the reasoning", t.reason, t.all);
    print_share("  the sums", t.sums, t.all);
    print_share("  the page", t.page, t.all);
    snprintf(value, sizeof value, "%.1f ms", t.show * 1e3);
    measure_print("show of the demo, the page alone", value, "-", "-", "-", true);
    arena_free(arena);
    return 0;
}
