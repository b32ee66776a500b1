/* Escaping, anchors, and the small pieces that every chapter of the page is made of. */
#include "report/html.h"

void html_escape(Out *out, Text text) {
    Text whole = text;
    while (text.len > 0) {
        Text one = text;
        uint32_t code = words_next(&text);
        size_t at = whole.len - one.len;
        one.len -= text.len;
        if (code == ' ' && words_glued(text_sub(whole, 0, at), text))
            out_lit(out, "&nbsp;");
        else if (words_unsafe(code) || code > 0x7F)
            words_clean(out, one);
        else
            out_markup(out, one);
    }
}

void html_anchor(Out *out, const char *prefix, Text name) {
    out_add(out, text_of(prefix));
    for (size_t i = 0; i < name.len; i++) {
        char c = name.at[i];
        bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == '.';
        if (plain)
            out_char(out, c);
        else
            out_fmt(out, "_%02X", (unsigned)(unsigned char)c);
    }
}

Html html_new(Out *out, const Reasoning *reasoning, const Sums *sums, bool ansi, Diags *problems) {
    return (Html){.out = out,
                  .arena = out->arena,
                  .reasoning = reasoning,
                  .bench = reasoning->bench,
                  .story = story_of(out->arena, reasoning),
                  .sums = sums,
                  .ansi = ansi,
                  .problems = problems};
}

void html_section(Html *html, const char *id, const char *title) {
    out_fmt(html->out, "<section id=\"%s\">\n<h2>%s</h2>\n", id, title);
}

void html_lines(Html *html, const uint32_t *lines, uint32_t count) {
    for (uint32_t i = 0; i < count; i++)
        out_fmt(html->out, "%s<a href=\"#line-%u\">%s%u</a>", i == 0 ? "" : ", ", lines[i], i == 0 ? "line&nbsp;" : "",
                lines[i]);
}

void html_quotes(Html *html, const uint32_t *lines, uint32_t count) {
    if (count == 0) return;
    out_lit(html->out, "<ul class=\"quotes\">\n");
    for (uint32_t i = 0; i < count; i++) {
        out_lit(html->out, "<li>");
        html_lines(html, &lines[i], 1);
        out_lit(html->out, " <code>");
        html_escape(html->out, words_quote(html->arena, html->bench->notebook, lines[i]));
        out_lit(html->out, "</code></li>\n");
    }
    out_lit(html->out, "</ul>\n");
}

void html_texts(Html *html, const char *class, const Text *texts, uint32_t count) {
    for (uint32_t i = 0; i < count; i++) {
        out_fmt(html->out, "<p class=\"%s\">", class);
        html_escape(html->out, words_sentence(html->arena, words_capital(html->arena, texts[i])));
        out_lit(html->out, "</p>\n");
    }
}

void html_sure(Html *html, double p) {
    out_fmt(html->out, "<span class=\"sure%s\">", p < 0.5 ? " weak" : p < 0.8 ? " fair" : "");
    html_escape(html->out, words_probability(html->arena, p));
    out_lit(html->out, "</span>");
}
