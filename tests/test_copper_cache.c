/* copper: what was asked of a photo before costs nothing, and nothing in the cache is trusted. */
#include "tests/two_sides.h"

#include "base/file.h"
#include "copper/board_cache.h"
#include "copper/export.h"

#include <dirent.h>
#include <fcntl.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

/* No larger than it must be, for nearly every trace here is made anew. */
static const DrawnTrack TWO[] = {{{1.2, 1.5}, {6, 1.5}, 0.5, DRAWN_TOP}, {{1.2, 4}, {7, 4}, 0.5, DRAWN_TOP | DRAWN_BOTTOM}};
static const DrawnPad FOUR[] = {{{1.2, 1.5}, 1.2, 0.6, 3, 0, 0},
                                {{1.2, 4}, 1.3, 0.7, 3, 0, 0},
                                {{7, 4}, 1.3, 0.7, 3, 0, 0},
                                {{6, 1.5}, 1.1, 0.5, 3, 0, 0}};
static const DrawnBoard SMALL = {8.5, 5.5, TWO, 2, FOUR, 4, NULL};
static const PlacePoint FIRST = {3.5, 1.5}, SECOND = {4, 4};

static int draw_small(void **state) { return draw_sides(state, &SMALL); }

/* All that a board says, as text. */
static Text told(Drawn *drawn) {
    Out out = out_new(drawn->arena);
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        const Copper *copper = &drawn->board.face[side].copper;
        ExportNames names = {.nets = board_names(drawn->arena, &drawn->board, side, NULL)};
        export_json(&out, copper, &names, &(ExportFound){0});
        out_add(&out, (Text){(const char *)copper->labels, 2 * (size_t)copper->width * copper->height});
        out_add(&out, (Text){(const char *)drawn->board.face[side].unseen, (size_t)copper->width * copper->height});
    }
    for (uint32_t i = 0; i < drawn->board.doubts.count; i++) out_add(&out, drawn->board.doubts.at[i].looks);
    out_fmt(&out, "%u %u %u", drawn->board.nets.count, drawn->board.holes.count, drawn->board.fit.holes);
    return out_text(&out);
}

static void assert_traced(Drawn *drawn, bool cached, Text as) {
    trace(drawn);
    for (BoardSide side = 0; side < BOARD_SIDES; side++) assert_int_equal(drawn->board.face[side].cached, cached);
    if (as.len > 0) assert_true(text_same(told(drawn), as));
    board_free(&drawn->board);
}

static uint32_t files_in(Drawn *drawn, const char *folder, Text paths[64]) {
    uint32_t count = 0;
    DIR *dir = opendir(folder);
    for (struct dirent *entry; dir != NULL && (entry = readdir(dir)) != NULL;)
        if (entry->d_name[0] != '.' && count < 64)
            paths[count++] = text_fmt(drawn->arena, "%s/%s%c", folder, entry->d_name, 0);
    if (dir != NULL) closedir(dir);
    return count;
}

static void what_was_asked_before_is_read_back(void **state) {
    Drawn *drawn = *state;
    Text none = {0}, files[64];
    trace(drawn);
    Text first = told(drawn);
    board_free(&drawn->board);
    drawn->asked.cache = in_folder(drawn, "derived");
    assert_traced(drawn, false, first);
    assert_traced(drawn, true, first);
    assert_int_equal(files_in(drawn, drawn->asked.cache, files), 6); /* of each face: itself, layers, nets */
    const PlacePoint ends[] = {FIRST, SECOND};
    const CopperWord word = {COPPER_JOINED, ends, 2, 0, true};
    drawn->asked.face[BOARD_TOP].words = &word, drawn->asked.face[BOARD_TOP].word_count = 1;
    trace(drawn); /* from the layers that were kept */
    assert_true(drawn->board.face[BOARD_TOP].cached && top(drawn, FIRST) == top(drawn, SECOND));
    board_free(&drawn->board);
    drawn->asked.face[BOARD_TOP].word_count = 0;
    assert_traced(drawn, true, first);
    drawn->asked.height_mm = 5.51; /* another size: all anew */
    assert_traced(drawn, false, none);
}

static void another_photo_under_the_same_name_is_read_anew(void **state) {
    Drawn *drawn = *state;
    drawn->asked.cache = in_folder(drawn, "derived");
    assert_traced(drawn, false, (Text){0});
    draw_bottom_turned(drawn, drawn->photo[BOARD_BOTTOM]);
    trace(drawn);
    assert_true(drawn->board.face[BOARD_TOP].cached);
    assert_false(drawn->board.face[BOARD_BOTTOM].cached);
    board_free(&drawn->board);
}

/* What may have become of a file of the cache. */
static Text spoilt(Arena *arena, Text content, unsigned way, size_t at) {
    char *bytes = text_cstring(arena, content);
    if (way == 0) return text_sub(content, 0, at % content.len);
    if (way == 1) bytes[at % content.len] ^= 0x40;
    if (way == 2) return TEXT("something else altogether");
    if (way == 3) return (Text){0};
    return (Text){bytes, content.len};
}

static void a_spoilt_cache_is_computed_again(void **state) {
    Drawn *drawn = *state;
    Text files[64];
    drawn->asked.cache = in_folder(drawn, "derived");
    trace(drawn);
    Text first = told(drawn);
    board_free(&drawn->board);
    uint32_t count = files_in(drawn, drawn->asked.cache, files);
    for (unsigned round = 0; round < 4; round++) {
        for (uint32_t i = 0; i < count; i++) {
            Text content;
            assert_true(file_read(drawn->arena, files[i].at, SIZE_MAX, &content));
            assert_true(file_write(files[i].at, spoilt(drawn->arena, content, round, 7919 * (size_t)(round + i))));
        }
        assert_traced(drawn, false, first);
        assert_traced(drawn, true, first);
    }
    for (uint32_t i = 0; i < count; i++) { /* each under another's name */
        Text content;
        assert_true(file_read(drawn->arena, files[(i + 1) % count].at, SIZE_MAX, &content));
        assert_true(file_write(files[i].at, content));
    }
    assert_traced(drawn, false, first);
    for (uint32_t i = 0; i < count; i++) assert_true(unlink(files[i].at) == 0 && mkdir(files[i].at, 0777) == 0);
    assert_traced(drawn, false, first);
}

/* A file with a good checksum whose inside is nonsense: only a program that means harm writes one. */
static void a_forged_face_is_refused(void **state) {
    Drawn *drawn = *state;
    trace(drawn);
    Out whole = out_new(drawn->arena);
    Pack pack = {.out = &whole};
    pack_face(&pack, &drawn->board.face[BOARD_TOP]);
    uint64_t seed = 1;
    uint32_t refused = 0;
    for (unsigned round = 0; round < 300; round++) {
        Text bytes = {text_cstring(drawn->arena, out_text(&whole)), whole.len};
        seed = seed * 6364136223846793005u + 1442695040888963407u; /* Knuth's */
        size_t at = round < 200 ? (seed >> 33) % 4000 : (seed >> 33) % bytes.len;
        if (round % 3 == 0) bytes.len = at;
        if (round % 3 != 0) memset((char *)bytes.at + at, round % 3 == 1 ? 255 : (int)(seed >> 56), 4);
        BoardFace face = {0};
        Arena *arena = arena_new();
        Pack back = {.arena = arena, .rest = bytes};
        pack_face(&back, &face);
        refused += !pack_done(&back);
        for (size_t i = 0; pack_done(&back) && i < (size_t)face.copper.width * face.copper.height; i++)
            assert_true(face.copper.labels[i] <= face.copper.nets.count);
        copper_free(&face.copper);
        free(face.unseen);
        arena_free(arena);
    }
    assert_true(refused >= 100);
    board_free(&drawn->board);
}

static void the_cache_is_bounded(void **state) {
    Drawn *drawn = *state;
    drawn->asked.cache = in_folder(drawn, "derived");
    assert_int_equal(mkdir(drawn->asked.cache, 0777), 0);
    const char *old = in_folder(drawn, "derived/copper-layers-0"), *other = in_folder(drawn, "derived/notes");
    assert_true(file_write(old, TEXT("x")) && file_write(other, TEXT("x")));
    assert_int_equal(truncate(old, CACHE_BYTES_MOST), 0); /* holes take no room on the disk */
    assert_int_equal(truncate(other, CACHE_BYTES_MOST), 0);
    const struct timespec times[2] = {{.tv_sec = 1000}, {.tv_sec = 1000}};
    assert_int_equal(utimensat(AT_FDCWD, old, times, 0), 0);
    assert_traced(drawn, false, (Text){0});
    assert_int_not_equal(access(old, F_OK), 0);
    assert_int_equal(access(other, F_OK), 0); /* not the cache's */
    assert_traced(drawn, true, (Text){0});
}

static void a_cache_that_cannot_be_written_is_no_failure(void **state) {
    Drawn *drawn = *state;
    drawn->asked.cache = drawn->photo[BOARD_TOP]; /* a file */
    assert_traced(drawn, false, (Text){0});
    assert_int_equal(drawn->problems.list.count, 0);
}

/* Holds the board that it gets while another is traced, and beyond the end of the keep. */
static void what_this_process_has_traced_is_shared(void **state) {
    Drawn *drawn = *state;
    Text none = {0};
    BoardKeep *keep = board_keep_new();
    drawn->asked.keep = keep;
    trace(drawn);
    Text first = told(drawn);
    BoardCopper held = drawn->board;
    assert_false(held.face[BOARD_TOP].cached);
    assert_traced(drawn, true, first);
    const PlacePoint ends[] = {FIRST, SECOND};
    const CopperWord word = {COPPER_JOINED, ends, 2, 7, true};
    drawn->asked.face[BOARD_TOP].words = &word, drawn->asked.face[BOARD_TOP].word_count = 1;
    assert_traced(drawn, false, none);
    const BoardHoleAsked hole = {{7, 4}, 0, BOARD_BARE, 3};
    drawn->asked.holes = &hole, drawn->asked.hole_count = 1;
    assert_traced(drawn, false, none);
    drawn->asked.face[BOARD_TOP].word_count = 0, drawn->asked.hole_count = 0;
    assert_traced(drawn, true, first);
    draw_bottom_turned(drawn, drawn->photo[BOARD_BOTTOM]);
    assert_traced(drawn, false, none);
    board_keep_free(keep);
    drawn->board = held;
    assert_true(text_same(told(drawn), first));
    board_free(&held);
}

static void what_failed_is_not_kept_and_fails_again(void **state) {
    Drawn *drawn = *state;
    BoardKeep *keep = board_keep_new();
    drawn->asked.keep = keep;
    memset(drawn->asked.face[BOARD_TOP].corners, 0, sizeof drawn->asked.face[BOARD_TOP].corners);
    drawn->asked.face[BOARD_BOTTOM].photo = NULL;
    for (uint32_t times = 1; times <= 2; times++) {
        assert_false(board_trace(drawn->arena, &drawn->asked, &drawn->board, &drawn->problems));
        assert_int_equal(drawn->problems.list.count, times);
        assert_true(drawn->board.face[BOARD_TOP].unplaced);
    }
    board_keep_free(keep);
}

#define drawn_test(test) cmocka_unit_test_setup_teardown(test, draw_small, wipe)

int main(void) {
    const struct CMUnitTest tests[] = {
        drawn_test(what_was_asked_before_is_read_back),
        drawn_test(another_photo_under_the_same_name_is_read_anew),
        drawn_test(a_spoilt_cache_is_computed_again),
        drawn_test(a_forged_face_is_refused),
        drawn_test(the_cache_is_bounded),
        drawn_test(a_cache_that_cannot_be_written_is_no_failure),
        drawn_test(what_this_process_has_traced_is_shared),
        drawn_test(what_failed_is_not_kept_and_fails_again),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
