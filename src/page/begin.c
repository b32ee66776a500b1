/* A page without a folder: begin a teardown in the current folder, or look at the demo. */
#include "page/inside.h"

#include "base/file.h"

#include <errno.h>
#include <sys/stat.h>

void answer_begin(Call *call) { out_add(&call->out, shell_styled(&call->out, asset("web/begin.html"))); }

/* A folder's name in the current folder: letters, digits, and - _ . inside. */
static bool name_fine(Text name) {
    enum { NAME_MOST = 60 };
    if (name.len == 0 || name.len > NAME_MOST || name.at[0] == '.' || name.at[0] == '-') return false;
    for (size_t i = 0; i < name.len; i++) {
        char c = name.at[i];
        bool fine =
            (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == '_' || c == '.';
        if (!fine) return false;
    }
    return true;
}

static bool write_demo(Arena *arena, const char *folder) {
    Text notes = asset("dispenser/notes.txt"), photo = asset("photos/a-bottom.jpg");
    return file_write(text_fmt(arena, "%s/notes.txt", folder).at, notes) &&
           file_write(text_fmt(arena, "%s/photos/a-bottom.jpg", folder).at, photo);
}

void answer_begun(Call *call) {
    Diags problems = diags_new(call->arena);
    bool demo = call_argument(call, "demo").len > 0;
    Text name = demo ? TEXT("unpick-demo") : text_trim(call->request->body);
    call->answer->type = "text/plain; charset=utf-8";
    if (call->model != NULL) {
        call_refuse(call, 409, "This page has a teardown already.");
        return;
    }
    if (!name_fine(name)) {
        call_refuse(call, 422, "A folder's name has letters, digits, - and _, at most 60.");
        return;
    }
    const char *folder = text_cstring(call->arena, name);
    struct stat info;
    bool there = demo && stat(folder, &info) == 0; /* looked at before */
    if (!there && (!note_new_folder(folder, &problems) || (demo && !write_demo(call->arena, folder)))) {
        Text why = problems.list.count > 0 ? problems.list.at[0].message : text_of(strerror(errno));
        call_refuse(call, 422, text_fmt(call->arena, "%s: %.*s", folder, TEXT_ARG(why)).at);
        return;
    }
    page_take_folder(call->page, folder);
    out_lit(&call->out, "begun\n");
}
