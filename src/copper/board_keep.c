/* Boards kept in memory. One that was asked for lies on an arena of its own; the keep and every caller that was given it
 * hold it, and the last to let go frees it. */
#include "copper/board_cache.h"

#include <stdatomic.h>

enum { KEPT_MOST = 16 /* the boards of a teardown */ };

struct BoardKept {
    Arena *arena;
    CacheKey key;
    BoardCopper board;
    Diags problems;
    atomic_uint holders;
};

struct BoardKeep {
    Arena *arena;
    struct BoardKept *at[KEPT_MOST]; /* lately used first, then NULL */
};

BoardKeep *board_keep_new(void) {
    Arena *arena = arena_new();
    BoardKeep *keep = arena_one(arena, BoardKeep);
    keep->arena = arena;
    return keep;
}

void board_let_go(struct BoardKept *kept) {
    if (atomic_fetch_sub(&kept->holders, 1) > 1) return;
    board_free(&kept->board);
    arena_free(kept->arena);
}

void board_keep_free(BoardKeep *keep) {
    if (keep == NULL) return;
    for (unsigned i = 0; i < KEPT_MOST && keep->at[i] != NULL; i++) board_let_go(keep->at[i]);
    arena_free(keep->arena);
}

/* Puts it first; what was there, up to its old place, moves back by one. */
static void put_first(BoardKeep *keep, struct BoardKept *kept, unsigned old) {
    for (unsigned i = old; i > 0; i--) keep->at[i] = keep->at[i - 1];
    keep->at[0] = kept;
}

static struct BoardKept *find(BoardKeep *keep, CacheKey key) {
    for (unsigned i = 0; i < KEPT_MOST && keep->at[i] != NULL; i++) {
        struct BoardKept *kept = keep->at[i];
        if (kept->key.low != key.low || kept->key.high != key.high) continue;
        put_first(keep, kept, i);
        return kept;
    }
    return NULL;
}

/* A board traced, and kept when that went well; else only its flags count, and problems say why. */
static bool trace(BoardKeep *keep, const BoardAsked *asked, CacheKey key, BoardCopper *board, Diags *problems) {
    Arena *arena = arena_new();
    struct BoardKept *kept = arena_one(arena, struct BoardKept);
    kept->arena = arena, kept->key = key, kept->problems = diags_new(arena);
    atomic_init(&kept->holders, 1);
    bool done = board_trace_anew(arena, asked, &kept->board, &kept->problems);
    *board = kept->board;
    if (done) {
        if (keep->at[KEPT_MOST - 1] != NULL) board_let_go(keep->at[KEPT_MOST - 1]);
        put_first(keep, kept, KEPT_MOST - 1);
    } else {
        diags_copy(problems, &kept->problems);
        arena_free(arena);
    }
    return done;
}

bool board_trace(Arena *arena, const BoardAsked *asked, BoardCopper *board, Diags *problems) {
    CacheKey key;
    if (asked->keep == NULL || !cache_key_board(asked, &key)) return board_trace_anew(arena, asked, board, problems);
    struct BoardKept *kept = find(asked->keep, key);
    if (kept != NULL) {
        *board = kept->board;
        for (BoardSide side = 0; side < BOARD_SIDES; side++) board->face[side].cached = board->face[side].known;
    } else if (trace(asked->keep, asked, key, board, problems)) {
        kept = asked->keep->at[0];
    } else {
        return false;
    }
    atomic_fetch_add(&kept->holders, 1);
    board->kept = kept;
    diags_copy(problems, &kept->problems);
    return true;
}
