/* Knowledge kept from one opening to the next. It lies on an arena of its own; the keep and every teardown opened with it
 * hold it, and the last to let go frees it. */
#include "report/keep.h"

#include "base/file.h"

#include <stdatomic.h>

/* Parts looked up in the catalogue stay on the shelf's arena: beyond this it is opened anew. */
enum { HELD_MOST = 256 * 1024 * 1024 /* bytes */ };

struct ReportKept {
    Arena *arena;
    uint64_t stamp; /* of the files it was read from */
    ReportKnowledge knows;
    Diags problems;
    atomic_uint holders;
};

struct ReportKeep {
    Arena *arena;
    struct ReportKept *now; /* NULL: none yet */
    BoardKeep *boards;
};

ReportKeep *report_keep_new(void) {
    Arena *arena = arena_new();
    ReportKeep *keep = arena_one(arena, ReportKeep);
    keep->arena = arena, keep->boards = board_keep_new();
    return keep;
}

void report_keep_free(ReportKeep *keep) {
    if (keep == NULL) return;
    keep_let_go(keep->now);
    board_keep_free(keep->boards);
    arena_free(keep->arena);
}

void keep_let_go(struct ReportKept *kept) {
    if (kept == NULL || atomic_fetch_sub(&kept->holders, 1) > 1) return;
    report_forget(&kept->knows);
    arena_free(kept->arena);
}

BoardKeep *keep_boards(ReportKeep *keep) { return keep->boards; }

static uint64_t stamp_of(const char *folder, const char *catalogue) {
    Arena *arena = arena_new();
    uint64_t stamp = file_stamp(text_fmt(arena, "%s/lore", folder).at, 0);
    stamp = file_stamp(text_fmt(arena, "%s/shelf.csv", folder).at, stamp);
    if (catalogue != NULL) stamp = file_stamp(catalogue, stamp);
    arena_free(arena);
    return stamp;
}

static struct ReportKept *kept_new(const char *folder, const char *catalogue, uint64_t stamp, Diags *problems) {
    Arena *arena = arena_new();
    struct ReportKept *kept = arena_one(arena, struct ReportKept);
    kept->arena = arena, kept->stamp = stamp, kept->problems = diags_new(arena);
    atomic_init(&kept->holders, 1);
    if (know_all(arena, folder, catalogue, &kept->knows, &kept->problems)) return kept;
    diags_copy(problems, &kept->problems);
    arena_free(arena);
    return NULL;
}

bool keep_know(ReportKeep *keep, const char *folder, const char *catalogue, ReportTeardown *teardown, Diags *problems) {
    uint64_t stamp = stamp_of(folder, catalogue); /* before: what changes meanwhile is read again */
    struct ReportKept *now = keep->now;
    if (now == NULL || now->stamp != stamp || arena_held(now->arena) > HELD_MOST) {
        keep->now = kept_new(folder, catalogue, stamp, problems);
        keep_let_go(now);
        now = keep->now;
    }
    if (now == NULL) return false;
    atomic_fetch_add(&now->holders, 1);
    teardown->kept = now, teardown->knows = now->knows;
    diags_copy(problems, &now->problems);
    return true;
}
