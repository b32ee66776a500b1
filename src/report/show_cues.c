/* The cue sheet: what the speaker has in hand, on paper. A row a screen: what stands there, what it rests on, how long it
 * takes and when it is over. */
#include "report/show.h"

#include <math.h>

static Text clock(Arena *arena, double seconds) {
    long whole = lround(seconds);
    return text_fmt(arena, "%ld:%02ld", whole / 60, whole % 60);
}

static void put_texts(Show *show, const char *class, const ShowTexts *texts) {
    Out *out = show->html.out;
    for (uint32_t i = 0; i < texts->count; i++) {
        out_fmt(out, "<p%s%s%s>", class[0] != '\0' ? " class=\"" : "", class, class[0] != '\0' ? "\"" : "");
        html_escape(out, texts->at[i]);
        out_lit(out, "</p>\n");
    }
}

static double in_all(const Show *show) {
    double sum = 0;
    for (uint32_t i = 0; i < show->cues.count; i++) sum += show->cues.at[i].seconds;
    return sum;
}

static void put_cue(Show *show, uint32_t number, double over) {
    Out *out = show->html.out;
    const ShowCue *cue = &show->cues.at[number];
    out_fmt(out, "<tr><td>%u</td><th scope=\"row\">", number + 1);
    html_escape(out, cue->title);
    out_lit(out, "</th><td>");
    put_texts(show, "", &cue->says);
    put_texts(show, "because", &cue->because);
    out_fmt(out, "</td><td>%.*s</td>", TEXT_ARG(clock(show->html.arena, cue->seconds)));
    out_fmt(out, "<td>%.*s</td></tr>\n", TEXT_ARG(clock(show->html.arena, over)));
}

void show_cues(Show *show) {
    Out *out = show->html.out;
    double over = 0;
    out_lit(out, "<aside class=\"cues\" aria-label=\"Cue sheet\">\n<h2>");
    html_escape(out, show->html.story->title);
    out_fmt(out,
            ": cue sheet</h2>\n<p>%u screens, about %.0f minutes without questions. In small print: what a sentence rests "
            "on, by lines of the "
            "bench notes.</p>\n<table>\n<thead><tr><th scope=\"col\">Screen</th><th scope=\"col\">About</th><th "
            "scope=\"col\">Say</th>"
            "<th scope=\"col\">Takes</th><th scope=\"col\">Over at</th></tr></thead>\n<tbody>\n",
            show->cues.count, fmax(1, round(in_all(show) / 60)));
    for (uint32_t i = 0; i < show->cues.count; i++) {
        over += show->cues.at[i].seconds;
        put_cue(show, i, over);
    }
    out_lit(out, "</tbody>\n</table>\n</aside>\n");
}
