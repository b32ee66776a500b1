/* What is known, as HTML: hazards before anything, then the next thing to do, contradictions, and how it works. Every
 * sentence is a button that opens what it rests on. */
#include "page/inside.h"

enum { SHOWN = 24 /* of each list, at first */ };

typedef struct Board {
    Out *out;
    Arena *arena;
    const PageModel *model;
    const Reasoning *reasoning;
    const Bench *bench;
    size_t card; /* the one that is open */
} Board;

static void open_card(Board *board, const char *id, const char *title) {
    board->card = piece_open(board->out, "section", text_of(id));
    markup(board->out, " class=\"card\" aria-labelledby=\"$-title\"><h3 id=\"$-title\">$</h3>\n", text_of(id), text_of(id),
           text_of(title));
}

static void close_card(Board *board) {
    out_lit(board->out, "</section>");
    piece_close(board->out, board->card);
}

/* What goes on behind the first ones of a list: fetched when somebody opens it, and empty until then. */
static void say_more(Board *board, Text of, Text summary) {
    Out id = out_new(board->arena);
    for (size_t i = 0; i < of.len; i++) out_char(&id, of.at[i] == ' ' ? '-' : of.at[i]);
    markup(board->out,
           "<details id=\"more-$\" data-from=\"more?of=$\"><summary>$</summary><div class=\"fetched\"></div></details>",
           out_text(&id), of, summary);
}

static Text probability(Arena *arena, double p) {
    Out out = out_new(arena);
    probability_print(&out, p);
    return out_text(&out);
}

/* The lines a claim rests on and the parts it is about, for lighting them up. */
static Text lines_of(Arena *arena, const ReasonClaim *claim) {
    Out out = out_new(arena);
    for (uint32_t i = 0; i < claim->because_count; i++)
        for (uint32_t k = 0; k < claim->because[i].line_count; k++) out_fmt(&out, "%u ", claim->because[i].lines[k]);
    return out_text(&out);
}

static Text parts_of(Board *board, const ReasonClaim *claim) {
    Out out = out_new(board->arena);
    for (uint32_t i = 0; i < claim->about_count; i++)
        out_fmt(&out, "%.*s ", TEXT_ARG(board->bench->parts.at[claim->about[i]].ref));
    return out_text(&out);
}

static void say_texts(Board *board, const char *form, const Text *texts, uint32_t count) {
    for (uint32_t i = 0; i < count; i++) markup(board->out, form, report_as_sentence(board->arena, texts[i]));
}

static void say_claim(Board *board, const ReasonClaim *claim) {
    int percent = (int)(claim->p * 100 + 0.5);
    markup(board->out,
           "<li class=\"claim\"><button type=\"button\" aria-expanded=\"false\" data-claim=\"$\" data-lines=\"$\" "
           "data-parts=\"$\">",
           claim->id, lines_of(board->arena, claim), parts_of(board, claim));
    markup(board->out,
           "<span>$</span> <span class=\"sure\"><meter min=\"0\" max=\"100\" value=\"$\" aria-hidden=\"true\">"
           "</meter>$</span></button>",
           report_sentence(board->arena, claim), text_fmt(board->arena, "%d", percent),
           probability(board->arena, claim->p));
    say_texts(board, "<p class=\"warns\">$</p>", claim->warnings, claim->warning_count);
    out_lit(board->out, "</li>\n");
}

/* ---- before anything ---- */

/* Said to whoever has written nothing yet; from common practice. */
static const char FIRST_CARE[] =
    "<p>Before the first screw: unplug it, take cells out, and let it stand. A capacitor may stay charged for hours: "
    "measure "
    "across it before you touch, and discharge it through a resistor made for that. Don't pry at lithium cells; keep "
    "button "
    "cells and magnets from children. Look into no laser, also not one you can't see. On mains, local codes and licensed "
    "practice decide.</p>";

static void say_hazards(Board *board) {
    open_card(board, "hazards", "Before you open it");
    if (board->bench->product == NULL) out_add(board->out, text_of(FIRST_CARE));
    if (board->reasoning->hazards.count == 0)
        out_lit(board->out,
                "<p>The notes so far name no hazard that is known here. That is no promise that there is none.</p>");
    out_lit(board->out, "<ul class=\"claims\">");
    for (uint32_t i = 0; i < board->reasoning->hazards.count; i++) {
        const ReasonClaim *hazard = &board->reasoning->hazards.at[i];
        say_claim(board, hazard);
        say_texts(board, "<li class=\"care\">$</li>", hazard->cautions, hazard->caution_count);
    }
    out_lit(board->out, "</ul>");
    close_card(board);
}

/* ---- what to do first, in an empty teardown ---- */

static void say_first(Board *board) {
    static const struct {
        const char *says, *note;
    } steps[] = {{"Say what it is, and what sort of thing: hazards follow from that.", "product \"what it is\" household"},
                 {"Copy its label.", "rated 6 V \"4 x AAA\" by label"},
                 {"Photograph it closed, then drop the photo on the table.", NULL},
                 {"Number each step of opening it; closing it is the list from the end.",
                  "step 1 \"battery door, one screw\" with \"PH1 screwdriver\""},
                 {"Write down what you see, one line a thing.", "part R1 0805 marked \"101\""}};
    open_card(board, "first", "Begin here");
    out_lit(board->out, "<ol class=\"first\">");
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
        markup(board->out, "<li>$", text_of(steps[i].says));
        if (steps[i].note != NULL)
            markup(board->out, " <button type=\"button\" data-put=\"$\"><code>$</code></button>", text_of(steps[i].note),
                   text_of(steps[i].note));
        out_lit(board->out, "</li>");
    }
    out_lit(board->out, "</ol>");
    close_card(board);
}

/* ---- what to measure, what contradicts ---- */

static void say_open(Board *board, const ReasonOpen *open) {
    markup(board->out,
           "<li class=\"open\"><button type=\"button\" data-lines=\"$\" data-claim=\"$\" "
           "aria-expanded=\"false\">$</button></li>\n",
           markup_numbers(board->arena, open->lines, open->line_count), open->claim,
           report_as_sentence(board->arena, open->ask));
}

static void say_opens(Board *board, uint32_t from) {
    out_fmt(board->out, "<ol class=\"claims\" start=\"%u\">", from + 1);
    uint32_t to = from == 0 ? 1 : board->reasoning->open.count;
    for (uint32_t i = from; i < to; i++) say_open(board, &board->reasoning->open.at[i]);
    out_lit(board->out, "</ol>");
}

static void say_next(Board *board) {
    uint32_t count = board->reasoning->open.count;
    if (count == 0) return;
    open_card(board, "next", "Next");
    say_opens(board, 0);
    if (count > 1) say_more(board, TEXT("open"), text_fmt(board->arena, "%u more open", count - 1));
    close_card(board);
}

static void say_conflict(Board *board, const BenchConflict *conflict) {
    markup(board->out, "<li class=\"conflict\"><button type=\"button\" data-lines=\"$\"><span>$</span></button>",
           markup_numbers(board->arena, conflict->lines, conflict->line_count),
           report_as_sentence(board->arena, conflict->says));
    if (conflict->settle.len > 0)
        markup(board->out, "<p class=\"settle\">To settle it: $</p>", report_as_sentence(board->arena, conflict->settle));
    out_lit(board->out, "</li>\n");
}

static void say_some_conflicts(Board *board, uint32_t from, uint32_t to) {
    out_lit(board->out, "<ul class=\"claims\">");
    for (uint32_t i = from; i < to && i < board->bench->conflicts.count; i++)
        say_conflict(board, &board->bench->conflicts.at[i]);
    out_lit(board->out, "</ul>");
}

static void say_conflicts(Board *board) {
    uint32_t count = board->bench->conflicts.count;
    if (count == 0) return;
    open_card(board, "contradictions", "Contradictions");
    say_some_conflicts(board, 0, SHOWN);
    if (count > SHOWN)
        say_more(board, TEXT("contradictions"), text_fmt(board->arena, "%u more contradictions", count - SHOWN));
    close_card(board);
}

/* ---- how it works ---- */

static Text title_of(const ReasonClaim *claim) {
    if (claim->block.len > 0) return claim->block;
    if (claim->sort == REASON_SUM) return TEXT("beside the meter");
    return text_of(claim->sort == REASON_CAPABILITY ? "what the chips must hold"
                   : claim->sort == REASON_STATED   ? "as stated"
                                                    : "");
}

/* The claims under one title, from the first that is shown to before the last: true when there are more. */
static bool say_claims(Board *board, Text title, uint32_t from, uint32_t to) {
    uint32_t count = 0;
    out_lit(board->out, "<ul class=\"claims\">\n");
    for (uint32_t i = 0; i < board->reasoning->claims.count; i++) {
        const ReasonClaim *claim = &board->reasoning->claims.at[i];
        if (claim->sort == REASON_PART || !text_same(title_of(claim), title)) continue;
        if (count >= from && count < to) say_claim(board, claim);
        count++;
    }
    out_lit(board->out, "</ul>\n");
    return count > to;
}

static void say_blocks(Board *board) {
    Names *titles = names_new(board->arena); /* few; each once, in telling order */
    open_card(board, "how", "How it works");
    if (board->reasoning->claims.count == 0) out_lit(board->out, "<p>No circuit is recognised yet.</p>");
    out_lit(board->out, "<div id=\"blocks-drawn\" class=\"drawn\"></div>");
    for (uint32_t i = 0; i < board->reasoning->claims.count; i++) {
        const ReasonClaim *claim = &board->reasoning->claims.at[i];
        uint32_t before = names_count(titles);
        if (claim->sort == REASON_PART || names_add(titles, title_of(claim)) < before) continue;
        Text title = title_of(claim);
        markup(board->out, "<h4>$</h4>", title);
        if (say_claims(board, title, 0, SHOWN))
            say_more(board, title, text_fmt(board->arena, "more of %.*s", TEXT_ARG(title)));
    }
    close_card(board);
}

/* ---- tables, fetched when they are opened ---- */

static void say_lazy(Board *board, const char *id, const char *title, const char *from, Text summary) {
    open_card(board, id, title);
    markup(board->out, "<details id=\"$-all\" data-from=\"$\"><summary>$</summary><div class=\"fetched\"></div></details>",
           text_of(id), text_of(from), summary);
    close_card(board);
}

static void say_tables(Board *board) {
    uint32_t parts = board->bench->parts.count;
    if (numbers_any(board->model->teardown.sums))
        say_lazy(board, "numbers", "Numbers", "numbers", TEXT("Volts, currents and powers, mode by mode"));
    if (parts > 0) say_lazy(board, "parts", "Parts", "parts", text_fmt(board->arena, "%u noted", parts));
}

/* ---- what could not be read ---- */

static void say_problems(Board *board) {
    const Diags *problems = &board->model->problems;
    if (problems->list.count == 0) return;
    open_card(board, "unread", "Could not be read");
    out_lit(board->out, "<ul>");
    for (uint32_t i = 0; i < problems->list.count && i < SHOWN; i++) {
        const Diag *diag = &problems->list.at[i];
        markup(board->out, "<li>$: $",
               diag->place.line > 0
                   ? text_fmt(board->arena, "line %u of %.*s", diag->place.line, TEXT_ARG(diag->place.file))
                   : diag->place.file,
               diag->message);
        if (diag->expected.len > 0) markup(board->out, "; expected $", diag->expected);
        if (diag->hint.len > 0) markup(board->out, "; $", diag->hint);
        out_lit(board->out, "</li>\n");
    }
    if (problems->list.count > SHOWN)
        markup(board->out, "<li>and $ more</li>", text_fmt(board->arena, "%u", problems->list.count - SHOWN));
    out_lit(board->out, "</ul>");
    close_card(board);
}

void render_findings(Out *out, const PageModel *model) {
    Board board = {.out = out, .arena = out->arena, .model = model};
    say_problems(&board);
    if (!model->open) return;
    board.reasoning = model->teardown.reasoning;
    board.bench = model->teardown.bench;
    say_hazards(&board);
    if (model->teardown.notebook->notes.count == 0) say_first(&board);
    say_next(&board);
    say_conflicts(&board);
    say_blocks(&board);
    say_tables(&board);
}

void answer_findings(Call *call) { out_add(&call->out, call->model->findings); }

void answer_more(Call *call) {
    Text of = call_argument(call, "of");
    if (!call->model->open) return;
    Board board = {.out = &call->out, .arena = call->arena, .model = call->model};
    board.reasoning = call->model->teardown.reasoning;
    board.bench = call->model->teardown.bench;
    if (text_is(of, "open"))
        say_opens(&board, 1);
    else if (text_is(of, "contradictions"))
        say_some_conflicts(&board, SHOWN, UINT32_MAX);
    else
        say_claims(&board, of, SHOWN, UINT32_MAX);
}
