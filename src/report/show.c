/* show.html as a whole, and what a screen is made of. Like the report it asks for nothing from anyone. */
#include "report/show.h"

#include "draw/blocks.h"
#include "draw/board.h"
#include "draw/plot.h"

#include <math.h>

/* How long a screen takes: words at the pace of someone who explains (120 to 150 a minute are common practice), and time to
 * look. Rules of thumb. */
static const double WORDS_A_MINUTE = 130, LOOK = 8, LOOK_AT_CALLOUT = 4, LEAST = 10, ROUND = 5; /* s */
enum { BECAUSE_MOST = 3 };

static ShowCue *cue(Show *show) { return &show->cues.at[show->cues.count - 1]; }

static double speaking(Text text) {
    uint32_t words = 0;
    for (size_t i = 0; i < text.len; i++) words += text.at[i] != ' ' && (i == 0 || text.at[i - 1] == ' ');
    return words / WORDS_A_MINUTE * 60;
}

static void told(Show *show, Text text) {
    list_push(show->html.arena, &cue(show)->says, text);
    cue(show)->seconds += speaking(text);
}

static Text sentence_of(Show *show, Text text) {
    return words_sentence(show->html.arena, words_capital(show->html.arena, text));
}

static void end_list(Show *show) {
    if (show->listing) out_lit(show->html.out, "</ul>\n");
    show->listing = false;
}

void show_open(Show *show, const char *class, Text title) {
    list_push(show->html.arena, &show->cues, ((ShowCue){.title = title}));
    uint32_t n = show->cues.count;
    const char *head = n == 1 ? "h1" : "h2";
    out_fmt(show->html.out,
            "<section class=\"screen %s\" id=\"screen-%u\" aria-labelledby=\"title-%u\" tabindex=\"-1\">\n<div "
            "class=\"words\">\n<%s id=\"title-%u\">",
            class, n, n, head, n);
    html_escape(show->html.out, title);
    out_fmt(show->html.out, "</%s>\n", head);
    cue(show)->seconds = speaking(title);
}

void show_says(Show *show, Text sentence) {
    if (sentence.len == 0) return;
    sentence = sentence_of(show, sentence);
    end_list(show);
    out_lit(show->html.out, "<p class=\"says\">");
    html_escape(show->html.out, sentence);
    out_lit(show->html.out, "</p>\n");
    told(show, sentence);
}

void show_point(Show *show, Text sentence) {
    sentence = sentence_of(show, sentence);
    if (!show->listing) out_lit(show->html.out, "<ul class=\"points\">\n");
    show->listing = true;
    out_lit(show->html.out, "<li>");
    html_escape(show->html.out, sentence);
    out_lit(show->html.out, "</li>\n");
    told(show, sentence);
}

void show_callouts(Show *show, Text file, Text board, BoardSide side) {
    const Bench *bench = show->html.bench;
    bool any = false;
    end_list(show);
    for (uint32_t i = 0; i < bench->callouts.count; i++) {
        const BenchCallout *callout = &bench->callouts.at[i];
        if (!text_same(callout->file, file)) continue;
        if (file.len == 0 && (callout->side != side || !text_same(callout->board, board))) continue;
        Text says = sentence_of(show, callout->note->mark.says);
        out_add(show->html.out, any ? TEXT("<li>") : TEXT("<ol class=\"callouts\">\n<li>"));
        html_escape(show->html.out, says);
        out_lit(show->html.out, "</li>\n");
        any = true;
        told(show, text_fmt(show->html.arena, "(%u) %.*s", callout->number, TEXT_ARG(says)));
        cue(show)->seconds += LOOK_AT_CALLOUT;
    }
    if (any) out_lit(show->html.out, "</ol>\n");
}

void show_picture(Show *show) {
    end_list(show);
    out_lit(show->html.out, "</div>\n<div class=\"picture\">\n");
    show->picturing = true;
    cue(show)->seconds += LOOK;
}

void show_close(Show *show) {
    end_list(show);
    out_lit(show->html.out, "</div>\n</section>\n");
    show->picturing = false;
    cue(show)->seconds = ROUND * ceil(fmax(cue(show)->seconds, LEAST) / ROUND);
}

/* ---- only for the speaker ---- */

void show_because(Show *show, Text evidence) {
    if (evidence.len > 0) list_push(show->html.arena, &cue(show)->because, sentence_of(show, evidence));
}

void show_because_lines(Show *show, const char *what, const uint32_t *lines, uint32_t count) {
    Text said = words_lines(show->html.arena, lines, count);
    if (said.len > 0) show_because(show, text_fmt(show->html.arena, "%s%.*s", what, TEXT_ARG(said)));
}

/* The weightiest that weighs less than the one before, or as much and stands behind it; NULL: no more. */
static const ReasonBecause *next_weightiest(const ReasonClaim *claim, const ReasonBecause *before) {
    const ReasonBecause *best = NULL;
    for (uint32_t i = 0; i < claim->because_count; i++) {
        const ReasonBecause *because = &claim->because[i];
        double weight = fabs(because->decibans);
        bool later =
            before == NULL || weight < fabs(before->decibans) || (weight == fabs(before->decibans) && because > before);
        if (later && (best == NULL || weight > fabs(best->decibans))) best = because;
    }
    return best;
}

void show_because_claim(Show *show, const ReasonClaim *claim) {
    Arena *arena = show->html.arena;
    show_because(show, text_fmt(arena, "%.*s sure", TEXT_ARG(words_probability(arena, claim->p))));
    const ReasonBecause *because = NULL;
    for (int i = 0; i < BECAUSE_MOST && (because = next_weightiest(claim, because)) != NULL; i++) {
        Text lines = words_lines(arena, because->lines, because->line_count);
        Out out = out_new(arena);
        out_add(&out, because->says);
        if (lines.len > 0) out_fmt(&out, " (%.*s)", TEXT_ARG(lines));
        show_because(show, out_text(&out));
    }
}

/* ---- the page ---- */

static void say_head(Show *show) {
    Html *html = &show->html;
    html_begin_head(html, ", told", SHOW_JS_HASH);
    out_add(html->out, text_of(SHOW_CSS));
    out_add(html->out, text_of(DRAW_BOARD_CSS));
    out_add(html->out, text_of(DRAW_BLOCKS_CSS));
    out_add(html->out, text_of(DRAW_PLOT_CSS));
    html_end_head(html);
    out_lit(html->out, "<main>\n");
}

void report_show(Out *out, const Reasoning *reasoning, const Sums *sums, bool ansi, Diags *problems) {
    Show show = {.html = html_new(out, reasoning, sums, ansi, problems)};
    show.html.photo_side = PHOTO_SHOW_SIDE;
    html_photos_find(&show.html);
    say_head(&show);
    show_screens(&show);
    out_lit(out, "</main>\n");
    show_cues(&show);
    out_lit(out, "<script>");
    out_add(out, text_of(SHOW_JS));
    out_lit(out, "</script>\n</body>\n</html>\n");
}
