/* A bench page over a folder made for one test, asked without a socket. */
#ifndef UNPICK_TESTS_PAGE_FIXTURE_H
#define UNPICK_TESTS_PAGE_FIXTURE_H

#include "base/file.h"
#include "note/note.h"
#include "page/page.h"
#include "tests/check.h"

#include <stdlib.h>
#include <unistd.h>

enum { PAGE_PORT = 8017 };

typedef struct Asked {
    Arena *arena;
    char base[64];
    const char *folder;
    Page *page;
    Text key; /* `/KEY/` */
    Diags problems;
} Asked;

static inline void page_open(Asked *asked) {
    asked->page = page_new(&(PageSettings){.folder = asked->folder, .port = PAGE_PORT}, &asked->problems);
    assert_non_null(asked->page);
    Text address = page_address(asked->arena, asked->page);
    asked->key = text_sub(address, text_find(address, TEXT(":8017/")) + strlen(":8017"), address.len);
}

static inline int page_set_up(void **state) {
    Arena *arena = arena_new();
    Asked *asked = arena_one(arena, Asked);
    *asked = (Asked){.arena = arena, .problems = diags_new(arena)};
    strcpy(asked->base, "/tmp/unpick-page-XXXXXX");
    if (mkdtemp(asked->base) == NULL) return -1;
    asked->folder = text_fmt(arena, "%s/fan", asked->base).at;
    *state = asked;
    if (!note_new_folder(asked->folder, &asked->problems)) return -1;
    page_open(asked);
    return 0;
}

static inline int page_tear_down(void **state) {
    Asked *asked = *state;
    page_stop(asked->page);
    int gone = system(text_fmt(asked->arena, "rm -rf '%s'", asked->base).at);
    arena_free(asked->arena);
    return gone;
}

/* As a browser on this machine asks that has the key: `path` is what stands behind it. */
static inline PageRequest page_request(Asked *asked, const char *method, const char *path) {
    PageRequest request = {.method = text_of(method), .host = TEXT("127.0.0.1:8017"), .origin = TEXT("http://127.0.0.1:8017")};
    request.path = text_fmt(asked->arena, "%.*s%s", TEXT_ARG(asked->key), path);
    return request;
}

static inline void page_argument(PageRequest *request, const char *name, const char *value) {
    request->arguments[request->argument_count++] = (PageArgument){text_of(name), text_of(value)};
}

static inline PageAnswer page_asked(Asked *asked, const PageRequest *request) {
    PageAnswer answer = {0};
    page_answer(asked->page, asked->arena, request, &answer);
    return answer;
}

static inline PageAnswer page_get(Asked *asked, const char *path) {
    PageRequest request = page_request(asked, "GET", path);
    return page_asked(asked, &request);
}

static inline PageAnswer page_post(Asked *asked, const char *path, const char *body) {
    PageRequest request = page_request(asked, "POST", path);
    request.body = text_of(body);
    return page_asked(asked, &request);
}

static inline Text page_notes(Asked *asked) {
    Text content;
    assert_true(file_read(asked->arena, text_fmt(asked->arena, "%s/notes.txt", asked->folder).at, NOTE_FILE_MOST, &content));
    return content;
}

/* The page begun anew, as after a kill. */
static inline void page_again(Asked *asked) {
    page_stop(asked->page);
    page_open(asked);
}

#define assert_holds(text, part) assert_true(text_find((text), TEXT(part)) != SIZE_MAX)
#define assert_lacks(text, part) assert_true(text_find((text), TEXT(part)) == SIZE_MAX)

#endif
