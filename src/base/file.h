/* Whole files in and out. */
#ifndef UNPICK_BASE_FILE_H
#define UNPICK_BASE_FILE_H

#include "base/text.h"

/* The content of a file of at most `most` bytes, on the arena. False when it can't be read; errno says why, EFBIG when it
 * is larger, EISDIR for a folder. */
bool file_read(Arena *arena, const char *path, size_t most, Text *content);

/* Writes a file so that a reader sees the old content or the new, never half: beside it, fsync, rename. What is no file (a device,
 * a pipe) is written into. False: errno. */
bool file_write(const char *path, Text content);

#endif
