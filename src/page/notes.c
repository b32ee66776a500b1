/* The notebook as HTML: every line as it stands in the file, with its number; a line that is a note opens on what it bears
 * and what can be done with it. The newest stand last, next to the hand that writes. */
#include "page/inside.h"

/* On a page at first; the lines before are fetched when asked for. */
enum { LINES_SHOWN = 300 };

typedef struct Book {
    Out *out;
    const PageModel *model;
    const Notebook *notebook;
    const uint32_t *by; /* of each line: the strike that voids it, 0 */
} Book;

static Text number(Arena *arena, uint32_t value) { return text_fmt(arena, "%u", value); }

static const Diag *problem_of(const Notebook *book, uint32_t line) {
    for (uint32_t i = 0; i < book->problems.list.count; i++)
        if (book->problems.list.at[i].place.line == line) return &book->problems.list.at[i];
    return NULL;
}

static void say_problem(Book *book, const Diag *diag) {
    markup(book->out, "<p class=\"wrong\">$", diag->message);
    if (diag->expected.len > 0) markup(book->out, "; expected $", diag->expected);
    if (diag->hint.len > 0) markup(book->out, "; $", diag->hint);
    out_lit(book->out, "</p>");
}

/* Short: the sentence stands among the findings, where it leads. */
static Text name_of(Book *book, const ReasonClaim *claim) {
    if (claim->about_count == 0) return claim->name;
    Text ref = book->model->teardown.bench->parts.at[claim->about[0]].ref;
    return text_fmt(book->out->arena, "%.*s: %.*s", TEXT_ARG(ref), TEXT_ARG(claim->name));
}

static ClaimList claims_on(const PageModel *model, uint32_t line) {
    return line <= model->claim_lines ? model->claims[line].list : (ClaimList){0};
}

static void say_bears(Book *book, uint32_t line) {
    ClaimList claims = claims_on(book->model, line);
    if (claims.count == 0) out_lit(book->out, "<p>Nothing rests on this line yet.</p>");
    if (claims.count == 0) return;
    out_lit(book->out, "<p>It bears:</p><ul class=\"bears\">");
    for (uint32_t i = 0; i < claims.count; i++)
        markup(book->out, "<li><button type=\"button\" data-claim=\"$\">$</button></li>", claims.at[i]->id,
               name_of(book, claims.at[i]));
    out_lit(book->out, "</ul>");
}

/* What can be done with a line. Nothing is ever taken out of the file: a strike is a note like any other. */
static void say_deeds(Book *book, uint32_t line, bool counts) {
    Arena *arena = book->out->arena;
    uint32_t by = book->by[line];
    if (by > 0)
        markup(book->out, "<p>Struck in line $.</p><button type=\"button\" data-strike=\"$\">Let it count again</button>",
               number(arena, by), number(arena, by));
    else if (counts)
        markup(book->out, "<button type=\"button\" data-strike=\"$\">Strike this line</button>", number(arena, line));
    markup(book->out,
           "<button type=\"button\" data-light=\"$\">Light its parts</button>"
           "<button type=\"button\" data-again>Write it again</button>",
           number(arena, line));
}

static bool is_blank(Text text) {
    Text trimmed = text_trim(text);
    return trimmed.len == 0 || trimmed.at[0] == '#';
}

static void say_note(Book *book, uint32_t line, Text text) {
    Text n = number(book->out->arena, line);
    const Diag *problem = problem_of(book->notebook, line);
    uint32_t bears = claims_on(book->model, line).count;
    const char *fate = book->by[line] > 0 ? "struck" : problem != NULL ? "bad" : "";
    markup(book->out, " data-line=\"$\" class=\"$\"><details data-from=\"line?n=$\"><summary><span class=\"n\">$</span>", n,
           text_of(fate), n, n);
    markup(book->out, book->by[line] > 0 ? "<s><code>$</code></s>" : "<code>$</code>", text);
    if (bears > 0)
        markup(book->out, " <span class=\"count\" title=\"claims that rest on it\">$</span>",
               number(book->out->arena, bears));
    out_lit(book->out, "</summary><div class=\"under fetched\"></div></details>");
    if (problem != NULL) say_problem(book, problem);
}

static void say_line(Book *book, uint32_t line, Text text) {
    Text n = number(book->out->arena, line);
    size_t piece = piece_open(book->out, "li", text_fmt(book->out->arena, "line-%u", line));
    if (is_blank(text))
        markup(book->out, " class=\"aside\"><span class=\"n\">$</span><code>$</code>", n, text);
    else
        say_note(book, line, text);
    out_lit(book->out, "</li>");
    piece_close(book->out, piece);
}

static void say_earlier(Out *out, uint32_t count) {
    size_t piece = piece_open(out, "li", TEXT("earlier"));
    markup(out, "><button type=\"button\" data-earlier>Show the $ lines before</button></li>", number(out->arena, count));
    piece_close(out, piece);
}

/* From the last up: only a later strike can void a strike. */
static const uint32_t *struck_by(Arena *arena, const Notebook *notebook) {
    uint32_t *by = arena_many(arena, uint32_t, notebook->lines + 2);
    for (uint32_t i = notebook->struck.count; i-- > 0;) {
        const Note *note = &notebook->struck.at[i];
        if (note->verb == NOTE_STRIKE && note->strike <= notebook->lines && by[note->line] == 0)
            by[note->strike] = note->line;
    }
    return by;
}

static void render(Out *out, const PageModel *model, uint32_t most) {
    const Notebook *notebook = model->teardown.notebook;
    Book book = {.out = out, .model = model, .notebook = notebook, .by = struck_by(out->arena, notebook)};
    uint32_t from = notebook->lines > most ? notebook->lines - most + 1 : 1, line = 1;
    if (from > 1) say_earlier(out, from - 1);
    for (size_t at = 0; at < model->content.len && line <= notebook->lines; line++) {
        Text rest = text_sub(model->content, at, model->content.len);
        size_t end = text_find(rest, TEXT("\n"));
        Text text = text_sub(rest, 0, end == SIZE_MAX ? rest.len : end);
        at += text.len + 1;
        if (text_ends(text, "\r")) text.len--;
        if (line >= from) say_line(&book, line, text);
    }
}

void render_notes(Out *out, const PageModel *model) {
    if (model->open) render(out, model, LINES_SHOWN);
}

void answer_notes(Call *call) {
    if (call_argument(call, "all").len > 0 && call->model->open)
        render(&call->out, call->model, UINT32_MAX);
    else
        out_add(&call->out, call->model->notes);
}

/* What one line bears, and what can be done with it: fetched when it is opened. */
void answer_line(Call *call) {
    const Notebook *notebook = call->model->teardown.notebook;
    uint32_t line = call_number(call, "n");
    if (!call->model->open || line == 0 || line > notebook->lines) {
        call_refuse(call, 404, "There is no such line.");
        return;
    }
    Book book = {.out = &call->out, .model = call->model, .notebook = notebook, .by = struck_by(call->arena, notebook)};
    bool wrong = problem_of(notebook, line) != NULL;
    if (!wrong && book.by[line] == 0) say_bears(&book, line);
    say_deeds(&book, line, !wrong);
}
