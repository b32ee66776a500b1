/* A note from the page: checked while it is typed, appended when it is meant. Where two write at once, both are appended, in the
 * order in which they come: a note is never refused for having been thought of before the last one. */
#include "page/inside.h"

#include "base/json.h"

/* The first problem as JSON; its column counts the note's bytes from 1, 0: the note as a whole. */
static void say_problem(Call *call, const Diags *problems, unsigned status) {
    json_t *object = json_object();
    Diag diag = problems->list.count > 0 ? problems->list.at[0] : (Diag){.message = TEXT("it can't be added")};
    json_put(object, "ok", json_false());
    json_put_text(object, "message", diag.message);
    json_put_text(object, "expected", diag.expected);
    json_put_text(object, "hint", diag.hint);
    json_put(object, "column", json_integer(diag.place.column));
    json_finish(&call->out, object);
    call->answer->status = status;
}

static void say_line(Call *call, uint32_t line) {
    json_t *object = json_object();
    json_put(object, "ok", json_true());
    if (line > 0) json_put(object, "line", json_integer(line));
    json_finish(&call->out, object);
}

void answer_add(Call *call) {
    Diags problems = diags_new(call->arena);
    uint32_t line = 0;
    call->answer->type = "application/json";
    if (!note_append(call->page->folder, call->request->body, &line, &problems)) {
        say_problem(call, &problems, 422);
        return;
    }
    watch_poke(call->page);
    say_line(call, line);
}

void answer_check(Call *call) {
    Diags problems = diags_new(call->arena);
    call->answer->type = "application/json";
    if (note_check(call->page->folder, call->request->body, &problems))
        say_line(call, 0);
    else
        say_problem(call, &problems, 200); /* the question was answered */
}
