/* Whole files in and out. */
#ifndef UNPICK_BASE_FILE_H
#define UNPICK_BASE_FILE_H

#include "base/text.h"

#include <stdint.h>

/* The content of a file of at most `most` bytes, on the arena. False when it can't be read; errno says why, EFBIG when it
 * is larger, EISDIR for a folder. */
bool file_read(Arena *arena, const char *path, size_t most, Text *content);

/* Writes a file so that a reader sees the old content or the new, never half: beside it, fsync, rename. What is no file (a
 * device, a pipe) is written into. False: errno. */
bool file_write(const char *path, Text content);

/* A number for what stands at a path, mixed with `with`: another one as soon as that was changed. From inode, size and
 * times, of a folder those of each file in it: nothing is read. */
uint64_t file_stamp(const char *path, uint64_t with);

#endif
