/* `unpick note` from outside: killed at random moments, and two writers at once. What must hold: a note that was accepted is
 * there, once, and no line is torn. UNPICK names the program. */
#include "tests/check.h"

#include "base/file.h"

#include <signal.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

extern char **environ;

enum { KILLS = 200, CALIBRATIONS = 11, WRITES = 40, NOTES_MOST = 1 << 20 };

typedef struct Run {
    pid_t pid;
    int said; /* read end of its stdout */
} Run;

/* A new teardown folder in a fresh temporary one; *folder is on the arena. */
static void new_folder(Arena *arena, const char **folder) {
    const char *temporary = getenv("TMPDIR");
    char *base = text_cstring(arena, text_fmt(arena, "%s/unpick-kill-XXXXXX", temporary == NULL ? "/tmp" : temporary));
    assert_non_null(mkdtemp(base));
    *folder = text_cstring(arena, text_fmt(arena, "%s/teardown", base));
}

static void remove_folder(Arena *arena, const char *folder) {
    Text slash = text_of(folder);
    slash.len -= strlen("/teardown");
    assert_int_equal(system(text_cstring(arena, text_fmt(arena, "rm -rf '%.*s'", TEXT_ARG(slash)))), 0);
}

static Run start(const char *verb, const char *folder, const char *note) {
    const char *program = getenv("UNPICK");
    assert_non_null(program);
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_adddup2(&actions, ends[1], STDOUT_FILENO);
    posix_spawn_file_actions_addclose(&actions, ends[0]);
    posix_spawn_file_actions_addclose(&actions, ends[1]);
    char *arguments[] = {(char *)program, (char *)verb, (char *)folder, (char *)note, NULL};
    Run run = {.said = ends[0]};
    assert_int_equal(posix_spawn(&run.pid, program, &actions, NULL, arguments, environ), 0);
    posix_spawn_file_actions_destroy(&actions);
    close(ends[1]);
    return run;
}

/* Waits for its end. True when it said yes: a whole line on stdout, or exit status 0; killed: whether a signal ended it. */
static bool said_yes(Run run, bool *killed) {
    char buffer[256];
    bool line = false;
    for (ssize_t got; (got = read(run.said, buffer, sizeof buffer)) > 0;)
        if (memchr(buffer, '\n', (size_t)got) != NULL) line = true;
    close(run.said);
    int status;
    assert_int_equal(waitpid(run.pid, &status, 0), run.pid);
    *killed = WIFSIGNALED(status);
    return line || (WIFEXITED(status) && WEXITSTATUS(status) == 0);
}

static bool run_whole(const char *verb, const char *folder, const char *note) {
    bool killed;
    return said_yes(start(verb, folder, note), &killed);
}

static double seconds(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static int by_size(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* How long one accepted note usually takes, in seconds: the median of a few. */
static double usual_time(const char *folder) {
    double times[CALIBRATIONS];
    for (int i = 0; i < CALIBRATIONS; i++) {
        double before = seconds();
        assert_true(run_whole("note", folder, "ask \"a note to measure the time by\""));
        times[i] = seconds() - before;
    }
    qsort(times, CALIBRATIONS, sizeof *times, by_size);
    return times[CALIBRATIONS / 2];
}

static Text read_notes(Arena *arena, const char *folder) {
    Text content;
    assert_true(file_read(arena, text_fmt(arena, "%s/notes.txt", folder).at, NOTES_MOST, &content));
    return content;
}

/* How often this note stands as a whole line after the first `skip` bytes; those bytes end with a newline. */
static int count_line(Text content, size_t skip, const char *note) {
    char line[128];
    int len = snprintf(line, sizeof line, "\n%s\n", note), count = 0;
    Text rest = text_sub(content, skip - 1, content.len);
    for (size_t at; (at = text_find(rest, (Text){line, (size_t)len})) < rest.len; count++)
        rest = text_sub(rest, at + (size_t)len - 1, rest.len);
    return count;
}

/* DESIGN section 10: a note that was accepted is never lost, whatever is killed. */
static void killed_at_random_moments(void **state) {
    (void)state;
    Arena *arena = arena_new();
    const char *folder;
    new_folder(arena, &folder);
    assert_true(run_whole("new", folder, NULL));
    double usual = usual_time(folder);
    size_t before = read_notes(arena, folder).len;
    bool accepted[KILLS];
    int kills = 0, yes = 0;
    srand48(1);
    for (int i = 0; i < KILLS; i++) {
        char note[64];
        snprintf(note, sizeof note, "ask \"question %d\"", i);
        double wait = drand48() * 1.5 * usual;
        Run run = start("note", folder, note);
        nanosleep(&(struct timespec){.tv_sec = (time_t)wait, .tv_nsec = (long)(1e9 * (wait - floor(wait)))}, NULL);
        kill(run.pid, SIGKILL);
        bool killed;
        accepted[i] = said_yes(run, &killed);
        kills += killed;
        yes += accepted[i];
    }
    Text content = read_notes(arena, folder);
    size_t whole = before;
    for (int i = 0; i < KILLS; i++) {
        char note[64];
        int len = snprintf(note, sizeof note, "ask \"question %d\"", i), found = count_line(content, before, note);
        if (accepted[i] && found != 1) fail_msg("note %d was accepted and stands %d times in the file", i, found);
        assert_in_range(found, 0, 1);
        whole += (size_t)found * ((size_t)len + 1);
    }
    assert_int_equal(content.len, whole); /* no torn line, nor any other */
    /* unless both happened often, nothing was tested */
    if (kills < KILLS / 20 || yes < KILLS / 20) fail_msg("only %d of %d were killed, only %d accepted", kills, KILLS, yes);
    remove_folder(arena, folder);
    arena_free(arena);
}

/* A child that writes WRITES notes, one program run each; its exit status tells whether all were accepted. */
static pid_t write_many(const char *folder, const char *name) {
    pid_t pid = fork();
    assert_true(pid >= 0);
    if (pid > 0) return pid;
    for (int i = 0; i < WRITES; i++) {
        char note[64];
        snprintf(note, sizeof note, "ask \"%s %d\"", name, i);
        if (!run_whole("note", folder, note)) _exit(1);
    }
    _exit(0);
}

static void two_writers_lose_nothing(void **state) {
    (void)state;
    Arena *arena = arena_new();
    const char *folder;
    new_folder(arena, &folder);
    assert_true(run_whole("new", folder, NULL));
    size_t before = read_notes(arena, folder).len;
    pid_t writers[2] = {write_many(folder, "left"), write_many(folder, "right")};
    for (int i = 0; i < 2; i++) {
        int status;
        assert_int_equal(waitpid(writers[i], &status, 0), writers[i]);
        assert_int_equal(status, 0);
    }
    Text content = read_notes(arena, folder);
    size_t whole = before;
    for (int i = 0; i < 2 * WRITES; i++) {
        char note[64];
        int len = snprintf(note, sizeof note, "ask \"%s %d\"", i % 2 == 0 ? "left" : "right", i / 2);
        assert_int_equal(count_line(content, before, note), 1);
        whole += (size_t)len + 1;
    }
    assert_int_equal(content.len, whole);
    remove_folder(arena, folder);
    arena_free(arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(killed_at_random_moments),
        cmocka_unit_test(two_writers_lose_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
