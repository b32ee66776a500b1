/* Any bytes as a request to a bench page: it is answered or refused, and nothing but what the tables name is ever told. The
 * first line is method, door and path (`k` in front of the path stands for the key), the next ones Host, Origin and
 * arguments, the rest after an empty line the body. */
#include "fuzz/fuzz.h"

#include "note/note.h"
#include "page/page.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char NOTES[] =
    "board A 10 x 10 mm\npart Q1 SOT-23 npn\npart R1 0805 10k\njoin Q1.B R1.1\nmode idle\nclaim Q1 \"a switch\" sure 70%\n";

/* One page for the whole run, over a folder in which nothing can be written any more. */
typedef struct Target {
    Arena *arena;
    Page *page;
    Text key;
} Target;

static const Target *target(void) {
    static Target one; /* a fuzz target has nowhere else to keep it */
    if (one.page != NULL) return &one;
    char folder[] = "/tmp/unpick-fuzz-XXXXXX", path[64];
    if (mkdtemp(folder) == NULL) abort();
    snprintf(path, sizeof path, "%s/notes.txt", folder);
    FILE *file = fopen(path, "w");
    if (file == NULL || fputs(NOTES, file) < 0 || fclose(file) != 0) abort();
    one.arena = arena_new();
    Diags problems = diags_new(one.arena);
    one.page = page_new(&(PageSettings){.folder = folder, .port = 8017}, &problems);
    if (one.page == NULL) abort();
    Text address = page_address(one.arena, one.page);
    one.key = text_sub(address, strlen("http://127.0.0.1:8017/"), 32);
    unlink(path); /* so that no note is kept */
    rmdir(folder);
    return &one;
}

static Text take_line(Text *rest) {
    size_t end = text_find(*rest, TEXT("\n"));
    Text line = text_sub(*rest, 0, end == SIZE_MAX ? rest->len : end);
    *rest = text_sub(*rest, line.len + 1, rest->len);
    return line;
}

static Text take_word(Text *line) {
    size_t end = text_find(*line, TEXT(" "));
    Text word = text_sub(*line, 0, end == SIZE_MAX ? line->len : end);
    *line = text_sub(*line, word.len + 1, line->len);
    return word;
}

static PageRequest request_of(Arena *arena, const Target *one, Text bytes) {
    Text first = take_line(&bytes);
    PageRequest request = {.method = take_word(&first)};
    request.door = text_is(take_word(&first), "phone") ? PAGE_DOOR_PHONE : PAGE_DOOR_BENCH;
    request.path = text_starts(first, "k")
                       ? text_fmt(arena, "/%.*s/%.*s", TEXT_ARG(one->key), TEXT_ARG(text_sub(first, 1, first.len)))
                       : first;
    request.host = take_line(&bytes);
    request.origin = take_line(&bytes);
    for (Text line; (line = take_line(&bytes)).len > 0 && request.argument_count < PAGE_ARGUMENTS_MOST;) {
        size_t equals = text_find(line, TEXT("="));
        if (equals == SIZE_MAX) equals = line.len;
        request.arguments[request.argument_count++] =
            (PageArgument){text_sub(line, 0, equals), text_sub(line, equals + 1, line.len)};
    }
    request.body = bytes;
    return request;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    const Target *one = target();
    Arena *arena = arena_new();
    PageRequest request = request_of(arena, one, (Text){(const char *)data, size});
    PageAnswer answer = {0}, refusal = {0};
    uint64_t most = 0;
    bool admitted = page_admit(one->page, arena, &request, &most, &refusal);
    page_answer(one->page, arena, &request, &answer);
    if (!admitted && (answer.status != refusal.status || answer.status < 300)) abort();
    if (admitted && (answer.status < 200 || answer.status > 599 || answer.type == NULL)) abort();
    bool with_key = text_find(request.path, one->key) != SIZE_MAX;
    if (!with_key && answer.status == 200) abort();
    bool markup =
        strstr(answer.type, "html") != NULL || strstr(answer.type, "svg") != NULL; /* JSON may quote what was written */
    if (markup && text_find(answer.body, TEXT("<script>")) != SIZE_MAX) abort();   /* none of ours is without src */
    arena_free(arena);
    return 0;
}
