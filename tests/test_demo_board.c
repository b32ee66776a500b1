/* The demo's board: the nets that its photo gives to the placed pins, held against the wiring from which it was drawn
 * (demo/board/wiring.txt). The photo is a simulated camera's. */
#include "tests/check.h"

#include "base/file.h"
#include "bench/bench.h"
#include "lore/lore.h"

#include <stdio.h>
#include <stdlib.h>

/* The router leaves ground in several pieces, which the demo's notes join: pairs on ground can't all be seen in copper. */
enum { LEAST_FOUND = 90 /* percent of the others */ };

typedef struct Known {
    Arena *arena;
    BenchKnows knows;
} Known;

static int set_up(void **state) {
    Known *k = calloc(1, sizeof *k);
    k->arena = arena_new();
    Lore *lore = lore_new(k->arena);
    Diags problems = diags_new(k->arena);
    lore_add_builtin(lore);
    k->knows = (BenchKnows){.kinds = bench_kinds_new(k->arena, lore), .marks = marks_new(k->arena, lore)};
    k->knows.shelf = shelf_open(k->arena, lore, NULL, &problems);
    *state = k;
    return 0;
}

static int tear_down(void **state) {
    Known *k = *state;
    shelf_close(k->knows.shelf);
    arena_free(k->arena);
    free(k);
    return 0;
}

/* The wiring, with its joins or with what places the parts only. */
static Bench *bench_of(Known *k, bool joins, const char *folder) {
    Text wiring;
    assert_true(file_read(k->arena, "demo/board/wiring.txt", 1 << 20, &wiring));
    Notebook *book = note_read(k->arena, TEXT("wiring.txt"), wiring);
    assert_int_equal(book->problems.list.count, 0);
    uint32_t kept = 0;
    for (uint32_t i = 0; i < book->notes.count; i++) {
        NoteVerb verb = book->notes.at[i].verb;
        if (joins || (verb != NOTE_JOIN && verb != NOTE_NET)) book->notes.at[kept++] = book->notes.at[i];
    }
    book->notes.count = kept;
    BenchKnows knows = k->knows;
    knows.folder = folder;
    return bench_build(k->arena, book, knows);
}

/* The net of the other bench's pin with this name. */
static uint32_t net_of(const Bench *bench, const Bench *other, uint32_t pin) {
    const BenchPin *at = &other->pins.at[pin];
    uint32_t part = bench_part(bench, other->parts.at[at->part].ref), own = bench_pin(bench, part, at->label);
    return own == BENCH_NONE ? (uint32_t)BENCH_NONE : bench->pins.at[own].net;
}

static void the_photo_gives_the_nets_that_were_drawn(void **state) {
    Known *k = *state;
    Bench *drawn = bench_of(k, true, NULL), *seen = bench_of(k, false, "demo/dispenser");
    for (uint32_t i = 0; i < seen->problems.list.count; i++) fail_msg("%.*s", TEXT_ARG(seen->problems.list.at[i].message));
    unsigned joined = 0, found = 0, told = 0, right = 0, one = 0;
    for (uint32_t a = 0; a < seen->pads.count; a++) {
        uint32_t pin_a = seen->pads.at[a].pin;
        one += seen->pads.at[a].meets == BENCH_MEETS_ONE;
        for (uint32_t b = a + 1; b < seen->pads.count; b++) {
            uint32_t pin_b = seen->pads.at[b].pin;
            if (pin_a == pin_b) continue;
            bool wired =
                net_of(drawn, seen, pin_a) == net_of(drawn, seen, pin_b) && net_of(drawn, seen, pin_a) != BENCH_NONE;
            bool shown = seen->pins.at[pin_a].net == seen->pins.at[pin_b].net;
            bool ground = wired && text_is(drawn->nets.at[net_of(drawn, seen, pin_a)].name, "GND");
            told += shown, right += wired && shown;
            if (!ground) joined += wired, found += wired && shown;
        }
    }
    printf("# %u of %u pads meet one net; %u of %u joined pairs found beside ground, %u of %u shown pairs right\n", one,
           seen->pads.count, found, joined, right, told);
    assert_true(joined > 50 && one * 10 >= seen->pads.count * 9);
    assert_true(right * 100 >= told * 98); /* what the photo joins is joined */
    assert_true(found * 100 >= joined * LEAST_FOUND);
    bench_free(seen);
}

/* The cut edge shines: it is neither a net, nor is it for a meter to say what it is. */
static void where_the_board_ends_decides_nothing(void **state) {
    Known *k = *state;
    BoardCopper board;
    Diags problems = diags_new(k->arena);
    BoardAsked asked = {.width_mm = 46.5, .height_mm = 21};
    asked.face[BOARD_BOTTOM] = (BoardFaceAsked){.photo = "demo/dispenser/photos/a-bottom.jpg",
                                                .has_corners = true,
                                                .corners = {{388, 483}, {1492, 477}, {1504, 980}, {378, 983}}};
    assert_true(board_trace(k->arena, &asked, &board, &problems));
    const Copper *copper = &board.face[BOARD_BOTTOM].copper;
    assert_true(copper->nets.count > 20 && board.doubts.count > 0);
    for (uint32_t i = 0; i < board.doubts.count; i++) {
        PlacePoint at = board.doubts.at[i].at;
        assert_true(at.x > 0.1 && at.y > 0.1 && at.x < 46.4 && at.y < 20.9);
    }
    for (uint32_t i = 0; i < copper->nets.count; i++) {
        const CopperNet *net = &copper->nets.at[i];
        assert_true(net->high.x > 0.15 && net->high.y > 0.15 && net->low.x < 46.35 && net->low.y < 20.85);
    }
    board_free(&board);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(the_photo_gives_the_nets_that_were_drawn, set_up, tear_down),
        cmocka_unit_test_setup_teardown(where_the_board_ends_decides_nothing, set_up, tear_down)};
    return cmocka_run_group_tests_name("demo's board", tests, NULL, NULL);
}
