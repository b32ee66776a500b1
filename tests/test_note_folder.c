/* note: the folder, and the promise that an accepted note is never lost: writers killed at random moments, two at once, a
 * disk that is full. Children are forks of this program, so that every moment of note_append itself is hit. */
#include "tests/check.h"

#include "base/file.h"
#include "note/note.h"

#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

typedef struct Bench {
    Arena *arena;
    char base[64];
    const char *folder, *notes;
    Diags problems;
} Bench;

static int set_up(void **state) {
    Arena *arena = arena_new();
    Bench *bench = arena_one(arena, Bench);
    bench->arena = arena;
    bench->problems = diags_new(arena);
    strcpy(bench->base, "/tmp/unpick-note-XXXXXX");
    if (mkdtemp(bench->base) == NULL) return -1;
    bench->folder = text_fmt(arena, "%s/teardown", bench->base).at;
    bench->notes = text_fmt(arena, "%s/notes.txt", bench->folder).at;
    *state = bench;
    return note_new_folder(bench->folder, &bench->problems) ? 0 : -1;
}

static int tear_down(void **state) {
    Bench *bench = *state;
    int gone = system(text_fmt(bench->arena, "rm -rf '%s'", bench->base).at);
    arena_free(bench->arena);
    return gone;
}

static bool append(Bench *bench, const char *note) {
    uint32_t line;
    return note_append(bench->folder, text_of(note), &line, &bench->problems);
}

static Text content(Bench *bench) {
    Text text;
    assert_true(file_read(bench->arena, bench->notes, NOTE_FILE_MOST, &text));
    return text;
}

static const Diag *last_problem(const Bench *bench) {
    assert_true(bench->problems.list.count > 0);
    return &bench->problems.list.at[bench->problems.list.count - 1];
}

static void a_new_folder_has_notes_and_is_not_made_twice(void **state) {
    Bench *bench = *state;
    Notebook *book = note_read_folder(bench->arena, bench->folder, &bench->problems);
    assert_non_null(book);
    assert_int_equal(book->problems.list.count, 0);
    assert_int_equal(book->notes.count, 0);
    assert_false(note_new_folder(bench->folder, &bench->problems));
    assert_true(text_is(last_problem(bench)->message, "there is something in it already"));
    assert_null(note_read_folder(bench->arena, "/nowhere", &bench->problems));
    assert_true(text_is(last_problem(bench)->hint, "`unpick new DIR` starts one"));
    assert_non_null(note_read_folder(bench->arena, bench->notes, &bench->problems)); /* the file itself will do */
}

static void an_accepted_note_is_the_last_line(void **state) {
    Bench *bench = *state;
    uint32_t lines = note_read_folder(bench->arena, bench->folder, &bench->problems)->lines, line;
    assert_true(note_append(bench->folder, TEXT("  join U1.1 R1.1 \n"), &line, &bench->problems));
    assert_int_equal(line, lines + 1);
    assert_true(text_ends(content(bench), "\njoin U1.1 R1.1\n"));
}

static void a_missing_last_newline_is_repaired(void **state) {
    Bench *bench = *state;
    assert_true(file_write(bench->notes, TEXT("mode a\nmode b")));
    assert_true(append(bench, "mode c"));
    assert_true(text_is(content(bench), "mode a\nmode b\nmode c\n"));
}

static void what_is_refused_changes_nothing(void **state) {
    Bench *bench = *state;
    assert_true(file_write(bench->notes, TEXT("mode a\n\nnonsense\nstrike 6")));
    const struct {
        const char *note, *message;
    } refused[] = {
        {"jion U1.1 R1.1", "`jion` is not a verb"},
        {"mode b\nmode c", "a note is one line, and this has a line end inside"},
        {"mode b\rmode c", "a note is one line, and this has a line end inside"},
        {"   ", "there is no note in this"},
        {"# a comment", "there is no note in this"},
        {"strike 9", "strike 9: line 9 does not exist"},
        {"strike 2", "strike 2: line 2 has no note to strike"},
        {"strike 3", "strike 3: line 3 is bad and does not count anyway"},
        {"strike 5", "strike 5: line 5 is this line itself"},
    };
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        assert_false(append(bench, refused[i].note));
        Text message = last_problem(bench)->message;
        if (!text_is(message, refused[i].message)) fail_msg("%s: %.*s", refused[i].note, TEXT_ARG(message));
    }
    assert_true(text_is(content(bench), "mode a\n\nnonsense\nstrike 6"));
    assert_true(append(bench, "strike 1"));
    assert_false(append(bench, "mode c")); /* line 6, which line 4 voids in advance */
    assert_true(text_is(content(bench), "mode a\n\nnonsense\nstrike 6\nstrike 1\n"));
}

static void a_full_disk_leaves_no_half_line(void **state) {
    Bench *bench = *state;
    Text before = content(bench);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        signal(SIGXFSZ, SIG_IGN); /* the limit then looks to the writer as a full disk does: a short write */
        struct rlimit limit = {before.len + 4, before.len + 4};
        setrlimit(RLIMIT_FSIZE, &limit);
        _exit(append(bench, "join U1.1 R1.1") ? 1 : 0);
    }
    int status;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    assert_true(text_same(content(bench), before));
}

/* Appends `join W<writer>.1 N<i>.1` until killed or done, and says each accepted i through the pipe. */
static pid_t start_writer(Bench *bench, int writer, int count, int said) {
    pid_t child = fork();
    assert_true(child >= 0);
    if (child != 0) return child;
    for (int i = 0; i < count; i++) {
        Arena *arena = arena_new();
        Diags problems = diags_new(arena);
        uint32_t line;
        if (!note_append(bench->folder, text_fmt(arena, "join W%d.1 N%d.1", writer, i), &line, &problems)) _exit(1);
        if (write(said, &i, sizeof i) != sizeof i) _exit(2);
        arena_free(arena);
    }
    _exit(0);
}

/* Every line of the file is whole: the head lines, then notes that end with a newline; returns the notes. */
static Notebook *read_whole(Bench *bench) {
    assert_true(text_ends(content(bench), "\n"));
    Notebook *book = note_read_folder(bench->arena, bench->folder, &bench->problems);
    assert_non_null(book);
    assert_int_equal(book->problems.list.count, 0);
    return book;
}

static uint32_t count_of(const Notebook *book, Text writer, Text number) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < book->notes.count; i++) {
        const NoteNet *net = &book->notes.at[i].net;
        count += text_same(net->terminals[0].part, writer) && text_same(net->terminals[1].part, number);
    }
    return count;
}

/* Nanoseconds in which a writer, started and all, has this many notes accepted on this machine now. */
static long time_of_notes(Bench *bench, int count) {
    struct timespec from, to;
    int ends[2], i, got = 0;
    assert_int_equal(pipe(ends), 0);
    clock_gettime(CLOCK_MONOTONIC, &from);
    pid_t child = start_writer(bench, 9999, count, ends[1]);
    close(ends[1]);
    while (read(ends[0], &i, sizeof i) == sizeof i) got++;
    clock_gettime(CLOCK_MONOTONIC, &to);
    close(ends[0]);
    assert_int_equal(waitpid(child, NULL, 0), child);
    assert_int_equal(got, count);
    return (to.tv_sec - from.tv_sec) * 1000000000 + to.tv_nsec - from.tv_nsec;
}

static void writers_killed_at_random_moments_lose_nothing(void **state) {
    Bench *bench = *state;
    enum { BEFORE = 16 };
    uint64_t window = 2 * (uint64_t)time_of_notes(bench, BEFORE);
    enum { KILLS = 200, ENOUGH = 1000000 };
    uint64_t chance = 88172645463325252u; /* xorshift64 */
    int last[KILLS];
    uint32_t accepted = 0;
    for (int kill_number = 0; kill_number < KILLS; kill_number++) {
        chance ^= chance << 13, chance ^= chance >> 7, chance ^= chance << 17;
        int ends[2], i;
        assert_int_equal(pipe(ends), 0);
        pid_t child = start_writer(bench, kill_number, ENOUGH, ends[1]);
        close(ends[1]);
        nanosleep(&(struct timespec){.tv_nsec = (long)(chance % window % 1000000000)}, NULL);
        kill(child, SIGKILL);
        int status;
        assert_int_equal(waitpid(child, &status, 0), child);
        assert_true(WIFSIGNALED(status));
        last[kill_number] = -1;
        while (read(ends[0], &i, sizeof i) == sizeof i) last[kill_number] = i, accepted++;
        close(ends[0]);
    }
    Notebook *book = read_whole(bench);
    for (int k = 0; k < KILLS; k++)
        for (int i = 0; i <= last[k]; i++)
            assert_int_equal(count_of(book, text_fmt(bench->arena, "W%d", k), text_fmt(bench->arena, "N%d", i)), 1);
    assert_true(accepted > KILLS / 4);
    assert_true(book->notes.count >= accepted + BEFORE && book->notes.count <= accepted + BEFORE + KILLS);
}

static void two_writers_at_once_lose_nothing(void **state) {
    Bench *bench = *state;
    enum { EACH = 200 };
    int null = open("/dev/null", O_WRONLY | O_CLOEXEC);
    pid_t children[2] = {start_writer(bench, 0, EACH, null), start_writer(bench, 1, EACH, null)};
    for (int k = 0; k < 2; k++) {
        int status;
        assert_int_equal(waitpid(children[k], &status, 0), children[k]);
        assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    }
    close(null);
    Notebook *book = read_whole(bench);
    assert_int_equal(book->notes.count, 2 * EACH);
    for (int i = 0; i < EACH; i++)
        for (int k = 0; k < 2; k++)
            assert_int_equal(count_of(book, text_fmt(bench->arena, "W%d", k), text_fmt(bench->arena, "N%d", i)), 1);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_new_folder_has_notes_and_is_not_made_twice, set_up, tear_down),
        cmocka_unit_test_setup_teardown(an_accepted_note_is_the_last_line, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_missing_last_newline_is_repaired, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_is_refused_changes_nothing, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_full_disk_leaves_no_half_line, set_up, tear_down),
        cmocka_unit_test_setup_teardown(writers_killed_at_random_moments_lose_nothing, set_up, tear_down),
        cmocka_unit_test_setup_teardown(two_writers_at_once_lose_nothing, set_up, tear_down),
    };
    return cmocka_run_group_tests_name("note, folder", tests, NULL, NULL);
}
