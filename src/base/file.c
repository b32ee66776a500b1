#include "base/file.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#define XXH_INLINE_ALL
#include <xxhash.h>

/* Reads until the end of the file: pipes and /dev/stdin have no size to ask for. */
static bool read_all(int fd, Arena *arena, size_t most, size_t expected, Text *content) {
    size_t room = expected + 1, len = 0;
    char *at = arena_take(arena, room);
    for (;;) {
        ssize_t got = read(fd, at + len, room - len);
        if (got < 0 && errno == EINTR) continue;
        if (got < 0) return false;
        if (got == 0) break;
        len += (size_t)got;
        if (len > most) {
            errno = EFBIG;
            return false;
        }
        if (len < room) continue;
        at = arena_grow(arena, at, room, room * 2);
        room *= 2;
    }
    *content = (Text){at, len};
    return true;
}

bool file_read(Arena *arena, const char *path, size_t most, Text *content) {
    *content = (Text){"", 0};
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0) return false;
    struct stat info;
    bool done = false;
    if (fstat(fd, &info) != 0)
        ;
    else if (S_ISDIR(info.st_mode))
        errno = EISDIR;
    else if (info.st_size > 0 && (unsigned long long)info.st_size > most)
        errno = EFBIG;
    else
        done = read_all(fd, arena, most, info.st_size > 0 ? (size_t)info.st_size : 4096, content);
    int why = errno;
    close(fd);
    errno = why;
    return done;
}

static bool write_all(int fd, Text content) {
    while (content.len > 0) {
        ssize_t put = write(fd, content.at, content.len);
        if (put < 0 && errno == EINTR) continue;
        if (put < 0) return false;
        content = text_sub(content, (size_t)put, content.len);
    }
    return true;
}

/* A device, a pipe or a terminal takes what it is given; a file in its place would be the end of it. */
static bool write_into(const char *path, Text content) {
    int fd = open(path, O_WRONLY | O_CLOEXEC);
    bool done = fd >= 0 && write_all(fd, content);
    int why = errno;
    if (fd >= 0) close(fd);
    errno = why;
    return done;
}

bool file_write(const char *path, Text content) {
    struct stat now;
    if (stat(path, &now) == 0 && !S_ISREG(now.st_mode) && !S_ISDIR(now.st_mode)) return write_into(path, content);
    Arena *arena = arena_new();
    Text beside = text_fmt(arena, "%s.%ld.new", path, (long)getpid());
    int fd = open(beside.at, O_WRONLY | O_CREAT | O_TRUNC | O_NOFOLLOW | O_CLOEXEC, 0666);
    bool done = fd >= 0 && write_all(fd, content) && fsync(fd) == 0;
    if (fd >= 0 && close(fd) != 0) done = false;
    done = done && rename(beside.at, path) == 0;
    int why = errno;
    if (!done && fd >= 0) unlink(beside.at);
    arena_free(arena);
    errno = why;
    return done;
}

/* ---- stamps ---- */

static uint64_t stamp_of(const struct stat *info, uint64_t with) {
    const int64_t said[] = {(int64_t)info->st_ino, info->st_size, info->st_mtim.tv_sec, info->st_mtim.tv_nsec};
    return XXH3_64bits_withSeed(said, sizeof said, with);
}

/* Of all files of a folder, in whatever order they come. */
static uint64_t stamp_of_files(DIR *dir) {
    uint64_t sum = 0;
    struct stat info;
    for (struct dirent *entry; (entry = readdir(dir)) != NULL;)
        if (entry->d_name[0] != '.' && fstatat(dirfd(dir), entry->d_name, &info, 0) == 0)
            sum += stamp_of(&info, XXH3_64bits(entry->d_name, strlen(entry->d_name)));
    return sum;
}

uint64_t file_stamp(const char *path, uint64_t with) {
    struct stat info;
    if (stat(path, &info) != 0) return XXH3_64bits_withSeed("", 0, with);
    DIR *dir = S_ISDIR(info.st_mode) ? opendir(path) : NULL;
    if (dir == NULL) return stamp_of(&info, with);
    uint64_t sum = stamp_of_files(dir);
    closedir(dir);
    return XXH3_64bits_withSeed(&sum, sizeof sum, with);
}
