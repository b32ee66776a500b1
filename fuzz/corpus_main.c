/* Runs one fuzz target over every file of the folders given, in the order of their names, without a fuzzer: so the corpora
 * are tested with any compiler and in every run. Says what it did as TAP, one line a file; a crash ends it. */
#include "fuzz/fuzz.h"

#include "base/file.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { INPUT_MOST = 16 * 1024 * 1024 };

static int is_visible(const struct dirent *item) { return item->d_name[0] != '.'; }

/* Runs one file; false when it can't be read. */
static bool run_file(const char *path) {
    Arena *arena = arena_new();
    Text content;
    bool read = file_read(arena, path, INPUT_MOST, &content);
    if (read) {
        /* a block of exactly its size, so that the sanitizer sees a read past the end */
        uint8_t *bytes = malloc(content.len > 0 ? content.len : 1);
        if (bytes == NULL) abort();
        memcpy(bytes, content.at, content.len);
        LLVMFuzzerTestOneInput(bytes, content.len);
        free(bytes);
    }
    arena_free(arena);
    return read;
}

/* Returns how many files could not be read; count: how many there were. */
static int run_folder(Arena *arena, const char *folder, int *count) {
    struct dirent **items = NULL;
    int found = scandir(folder, &items, is_visible, alphasort), failed = 0;
    for (int i = 0; i < found; i++) {
        Text path = text_fmt(arena, "%s/%s", folder, items[i]->d_name);
        bool read = run_file(path.at);
        printf("%s %d - %s\n", read ? "ok" : "not ok", ++*count, path.at);
        fflush(stdout);
        failed += !read;
        free(items[i]);
    }
    free(items);
    return failed;
}

int main(int argc, char **argv) {
    Arena *arena = arena_new();
    int count = 0, failed = 0;
    for (int i = 1; i < argc; i++) failed += run_folder(arena, argv[i], &count);
    printf("1..%d\n", count);
    arena_free(arena);
    if (count == 0) fprintf(stderr, "usage: %s FOLDER ...  (with at least one file in them)\n", argv[0]);
    return failed > 0 || count == 0;
}
