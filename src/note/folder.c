/* The teardown folder: made, read, and appended to so that an accepted note is never lost.
 *
 * Appending holds flock(2) on notes.txt itself, so no lock file can be left behind. Under the lock the whole file is read
 * as it would stand with the new line, and the line must count there; then one write puts the line and its newline at the
 * end, fsync makes it last, and only then the answer is yes. A write that fails or comes short is cut off again. An editor
 * may put a new file in place of the old one at any time: the name is checked again after the write, and the note goes into
 * the new file too when it changed. Cost: one reading of the file a note, some 10 ms a megabyte at the very most. */
#include "base/file.h"
#include "note/note.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

static const char FIRST_LINES[] = "# Bench notes: one line, one observation. A # begins a comment.\n"
                                  "# Begin with what it is, then what the label says, then what you see:\n"
                                  "#\n"
                                  "#   product \"what it is\" household\n"
                                  "#   rated 6 V \"4 x AAA\"\n"
                                  "#   step 1 \"battery door, one screw\" with \"PH1 screwdriver\"\n"
                                  "#   part R1 0805 marked \"101\"\n"
                                  "#   join U1.8 R1.1 by meter\n"
                                  "#\n"
                                  "# Then let the bench tell what it makes of them: unpick look .\n";

/* ---- problems ---- */

static bool refuse(Diags *problems, const char *path, uint32_t line, const char *message, const char *expected,
                   const char *hint) {
    Text file = text_copy(problems->arena, text_of(path));
    Text copied = text_copy(problems->arena, text_of(message));
    diag_add(problems, (Diag){{file, line, 0}, copied, text_of(expected), text_of(hint), TEXT("")});
    return false;
}

static bool refuse_errno(Diags *problems, const char *path) {
    switch (errno) {
    case ENOENT:
    case ENOTDIR:
        return refuse(problems, path, 0, "there are no notes here", "a teardown folder", "`unpick new DIR` starts one");
    case EFBIG:
        return refuse(problems, path, 0, "the file is too large for notes", "at most 256 MiB", "cut it in two");
    default:
        return refuse(problems, path, 0, strerror(errno), "", "");
    }
}

/* ---- making ---- */

static bool is_empty(const char *folder) {
    DIR *dir = opendir(folder);
    if (dir == NULL) return false;
    int entries = 0;
    for (struct dirent *entry; (entry = readdir(dir)) != NULL;)
        entries += strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0;
    closedir(dir);
    return entries == 0;
}

static bool sync_folder(const char *folder) {
    int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    bool done = fd >= 0 && fsync(fd) == 0;
    if (fd >= 0) close(fd);
    return done;
}

static const char *inside(Arena *arena, const char *folder, const char *name) {
    return text_fmt(arena, "%s%s%s", folder, text_ends(text_of(folder), "/") ? "" : "/", name).at;
}

/* The folder that holds this one: what to fsync for the new name to last. */
static const char *holder(Arena *arena, const char *folder) {
    Text path = text_of(folder);
    while (path.len > 1 && path.at[path.len - 1] == '/') path.len--;
    while (path.len > 0 && path.at[path.len - 1] != '/') path.len--;
    return path.len == 0 ? "." : text_cstring(arena, path);
}

bool note_new_folder(const char *folder, Diags *problems) {
    bool made = mkdir(folder, 0777) == 0;
    if (!made && errno != EEXIST) return refuse(problems, folder, 0, strerror(errno), "a place for a new folder", "");
    if (!made && !is_empty(folder))
        return refuse(problems, folder, 0, "there is something in it already", "a new or an empty folder", "");
    Arena *arena = arena_new();
    bool done = mkdir(inside(arena, folder, "photos"), 0777) == 0 && mkdir(inside(arena, folder, "captures"), 0777) == 0 &&
                file_write(inside(arena, folder, "notes.txt"), text_of(FIRST_LINES)) && sync_folder(folder) &&
                sync_folder(holder(arena, folder));
    if (!done) refuse(problems, folder, 0, strerror(errno), "", "");
    arena_free(arena);
    return done;
}

/* ---- reading ---- */

static const char *notes_path(Arena *arena, const char *folder) {
    struct stat info;
    if (stat(folder, &info) == 0 && !S_ISDIR(info.st_mode)) return text_cstring(arena, text_of(folder));
    return inside(arena, folder, "notes.txt");
}

Notebook *note_read_folder(Arena *arena, const char *folder, Diags *problems) {
    const char *path = notes_path(arena, folder);
    Text content;
    if (file_read(arena, path, NOTE_FILE_MOST, &content)) return note_read(arena, text_of(path), content);
    refuse_errno(problems, path);
    return NULL;
}

/* ---- appending ---- */

typedef struct Append {
    Arena *arena;
    Diags *problems;
    const char *path;
    int fd;
    Text text;     /* the note, without its newline */
    Text content;  /* what the file holds */
    Text addition; /* what is written */
    uint32_t line; /* where the note lands */
} Append;

enum { LOCK_WAIT_MS = 10000, LOCK_POLL_MS = 2 };

/* Waits its turn, but not for ever: whoever holds the lock may hang. */
static bool lock(Append *a) {
    for (int waited = 0;; waited += LOCK_POLL_MS) {
        if (flock(a->fd, LOCK_EX | LOCK_NB) == 0) return true;
        if (errno != EWOULDBLOCK && errno != EINTR) return refuse(a->problems, a->path, 0, strerror(errno), "", "");
        if (waited >= LOCK_WAIT_MS)
            return refuse(a->problems, a->path, 0, "another program has held the notes for ten seconds", "", "try again");
        nanosleep(&(struct timespec){.tv_nsec = LOCK_POLL_MS * 1000000L}, NULL);
    }
}

/* Whether the name still leads to the file that is open. */
static bool still_named(const Append *a) {
    struct stat open_file, named;
    return fstat(a->fd, &open_file) == 0 && stat(a->path, &named) == 0 && open_file.st_ino == named.st_ino &&
           open_file.st_dev == named.st_dev;
}

static bool counts(const Notebook *book, uint32_t line) {
    if (book->notes.count > 0 && book->notes.at[book->notes.count - 1].line == line) return true;
    const Note *last = book->struck.count > 0 ? &book->struck.at[book->struck.count - 1] : NULL;
    return last != NULL && last->line == line && last->verb == NOTE_STRIKE;
}

/* Passes on what the file's reading found wrong with the new line. */
static bool refuse_line(Append *a, const Notebook *book) {
    for (uint32_t i = 0; i < book->problems.list.count; i++) {
        Diag diag = book->problems.list.at[i];
        if (diag.place.line != a->line) continue;
        diag.place.file = text_copy(a->problems->arena, diag.place.file);
        diag.message = text_copy(a->problems->arena, diag.message);
        diag.hint = text_copy(a->problems->arena, diag.hint);
        diag.source = text_copy(a->problems->arena, diag.source);
        diag_add(a->problems, diag);
        return false;
    }
    return refuse(a->problems, a->path, a->line, "the note would not count: a strike voids its line in advance", "",
                  "strike that strike first, or correct its number by hand");
}

static bool check_text(Append *a) {
    Note note;
    uint32_t known = a->problems->list.count + a->problems->left_out;
    if (memchr(a->text.at, '\n', a->text.len) != NULL || memchr(a->text.at, '\r', a->text.len) != NULL)
        return refuse(a->problems, "", 0, "a note is one line, and this has a line end inside", "one note at a time", "");
    if (note_parse(a->problems->arena, TEXT(""), 0, a->text, &note, a->problems)) return true;
    if (a->problems->list.count + a->problems->left_out > known) return false;
    return refuse(a->problems, "", 0, "there is no note in this", "a note such as join U1.8 R1.1", "");
}

/* The file as it would stand must have the new line as a note that counts: a strike must find its line. */
static bool check_whole(Append *a) {
    Out whole = out_new(a->arena);
    out_add(&whole, a->content);
    if (a->content.len > 0 && !text_ends(a->content, "\n")) out_char(&whole, '\n');
    out_add(&whole, a->text);
    out_char(&whole, '\n');
    if (whole.len > NOTE_FILE_MOST) return errno = EFBIG, refuse_errno(a->problems, a->path);
    a->addition = text_sub(out_text(&whole), a->content.len, whole.len);
    Notebook *book = note_read(a->arena, text_of(a->path), out_text(&whole));
    a->line = book->lines;
    return counts(book, a->line) || refuse_line(a, book);
}

/* One write; what came short is cut off again, so that the file is as before. */
static bool put(Append *a) {
    ssize_t written;
    do written = write(a->fd, a->addition.at, a->addition.len);
    while (written < 0 && errno == EINTR);
    if (written >= 0 && (size_t)written < a->addition.len) errno = ENOSPC;
    if (written == (ssize_t)a->addition.len && fsync(a->fd) == 0) return true;
    int why = errno;
    if (written > 0 && ftruncate(a->fd, (off_t)a->content.len) != 0)
        return refuse(a->problems, a->path, 0, "the disk failed in the middle of the note", "",
                      "look at the file's last line");
    errno = why;
    return refuse_errno(a->problems, a->path);
}

typedef enum Try { TRY_DONE, TRY_AGAIN, TRY_REFUSED } Try;

static Try append_to_named(Append *a) {
    if (!lock(a)) return TRY_REFUSED;
    if (!still_named(a)) return TRY_AGAIN;
    if (!file_read(a->arena, a->path, NOTE_FILE_MOST, &a->content)) {
        refuse_errno(a->problems, a->path);
        return TRY_REFUSED;
    }
    if (!check_whole(a) || !put(a)) return TRY_REFUSED;
    return still_named(a) ? TRY_DONE : TRY_AGAIN;
}

static bool append(Append *a) {
    enum { TRIES = 10 };
    for (int i = 0; i < TRIES; i++) {
        a->fd = open(a->path, O_WRONLY | O_APPEND | O_CLOEXEC);
        if (a->fd < 0) return refuse_errno(a->problems, a->path);
        Try try = append_to_named(a);
        close(a->fd);
        if (try != TRY_AGAIN) return try == TRY_DONE;
    }
    return refuse(a->problems, a->path, 0, "another program keeps replacing the notes", "", "close it and try again");
}

bool note_append(const char *folder, Text text, uint32_t *line, Diags *problems) {
    Arena *arena = arena_new();
    Append a = {.arena = arena, .problems = problems, .path = notes_path(arena, folder)};
    a.text = text_copy(problems->arena, text_trim(text));
    bool done = check_text(&a) && append(&a);
    if (done) *line = a.line;
    arena_free(arena);
    return done;
}

bool note_check(const char *folder, Text text, Diags *problems) {
    Arena *arena = arena_new();
    Append a = {.arena = arena, .problems = problems, .path = notes_path(arena, folder)};
    a.text = text_copy(problems->arena, text_trim(text));
    bool done = check_text(&a);
    if (done && !(done = file_read(arena, a.path, NOTE_FILE_MOST, &a.content))) refuse_errno(problems, a.path);
    done = done && check_whole(&a);
    arena_free(arena);
    return done;
}
