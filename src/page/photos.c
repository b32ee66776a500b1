/* A photo added: decoded first, in the sandboxed child, so that nothing lies in photos/ that is none; then put there as it came,
 * under a name that is free, and noted. */
#include "page/inside.h"

#include "base/file.h"
#include "base/json.h"

#include <errno.h>
#include <sys/stat.h>
#include <unistd.h>

static bool decodes(Call *call, Text name) {
    Diags problems = diags_new(call->arena);
    Photo photo;
    bool fine = photo_decode(name, call->request->body, &photo, &problems);
    photo_free(&photo);
    if (fine) return true;
    Diag diag = problems.list.count > 0 ? problems.list.at[0] : (Diag){.message = TEXT("it can't be read")};
    call_refuse(call, 422, text_fmt(call->arena, "%.*s%s%.*s", TEXT_ARG(diag.message), diag.expected.len > 0 ? "; expected " : "",
                                    TEXT_ARG(diag.expected))
                               .at);
    return false;
}

/* `seam.jpg`, `seam-2.jpg` ... */
static Text numbered(Arena *arena, Text name, unsigned number) {
    size_t dot = name.len;
    while (name.at[dot - 1] != '.') dot--;
    Text stem = text_sub(name, 0, dot - 1), ending = text_sub(name, dot - 1, name.len);
    return number == 1 ? name : text_fmt(arena, "%.*s-%u%.*s", TEXT_ARG(stem), number, TEXT_ARG(ending));
}

/* Puts the bytes into photos/ under the first free name: whole or not at all, and never over another. Empty: errno. */
static Text store(Call *call, Text name) {
    enum { TRIES = 1000 };
    Arena *arena = call->arena;
    PageKey random;
    Text stored = TEXT("");
    const char *folder = text_fmt(arena, "%s/photos", call->page->folder).at;
    mkdir(folder, 0777);
    if (!key_make(&random)) return stored;
    const char *beside = text_fmt(arena, "%s/.%s", folder, random.hex).at;
    if (!file_write(beside, call->request->body)) return stored;
    errno = EEXIST;
    for (unsigned number = 1; stored.len == 0 && errno == EEXIST && number <= TRIES; number++) {
        Text free_name = numbered(arena, name, number);
        if (link(beside, text_fmt(arena, "%s/%.*s", folder, TEXT_ARG(free_name)).at) == 0) stored = free_name;
    }
    int why = errno;
    unlink(beside);
    errno = why;
    return stored;
}

/* `photo A bottom "seam 2.jpg"`; `shows` is `A bottom`, or empty: the product. */
static Text note_of(Arena *arena, Text shows, Text file) {
    Out note = out_new(arena);
    out_fmt(&note, "photo %.*s%s", TEXT_ARG(shows), shows.len > 0 ? " " : "");
    note_file_print(&note, file);
    return out_text(&note);
}

/* Only a board's name and a side: what is put into a note must not be a note of its own. */
static bool shows_fine(Text shows) {
    for (size_t i = 0; i < shows.len; i++)
        if (strchr("\"#(),=:\\", shows.at[i]) != NULL || (unsigned char)shows.at[i] < 0x20) return false;
    return true;
}

void answer_photo(Call *call) {
    Text name = call_argument(call, "name"), shows = call_argument(call, "shows");
    Diags problems = diags_new(call->arena);
    uint32_t line = 0;
    if (!picture_name_fine(name) || !shows_fine(shows)) {
        call_refuse(call, 422, "A photo's name has at most 100 bytes and ends in .jpg, .png, .webp or .heic.");
        return;
    }
    if (!decodes(call, name)) return;
    Text file = store(call, name);
    if (file.len == 0) {
        call_refuse(call, 500, text_fmt(call->arena, "It can't be kept: %s", strerror(errno)).at);
        return;
    }
    bool noted = note_append(call->page->folder, note_of(call->arena, shows, file), &line, &problems);
    watch_poke(call->page);
    json_t *object = json_object();
    json_put_text(object, "file", file);
    json_put(object, "line", noted ? json_integer(line) : json_null());
    json_finish(&call->out, object);
    call->answer->type = "application/json";
}
