/* The page's numbers: readings that differ and what would explain them, then each mode's nets and parts. */
#include "report/html.h"

static void cell(Html *html, Text text) {
    out_lit(html->out, "<td>");
    html_escape(html->out, text);
    out_lit(html->out, "</td>");
}

static void head_cell(Html *html, Text text) {
    out_lit(html->out, "<th scope=\"row\">");
    html_escape(html->out, text);
    out_lit(html->out, "</th>");
}

static void open_table(Html *html, const char *first) {
    out_fmt(html->out, "<div class=\"wide\" tabindex=\"0\"><table>\n<thead><tr><th scope=\"col\">%s</th>", first);
    for (uint32_t i = 0; i < html->sums->modes.count; i++) {
        Text name = html->sums->modes.at[i].name;
        out_lit(html->out, "<th scope=\"col\">");
        html_escape(html->out, name.len > 0 ? name : TEXT("at rest"));
        out_lit(html->out, "</th>");
    }
    out_lit(html->out, "</tr></thead>\n<tbody>\n");
}

static void close_table(Html *html) { out_lit(html->out, "</tbody>\n</table></div>\n"); }

/* One row a net or part, one column a mode; rows in which nothing is known or flows are left out. */
static void table(Html *html, const char *first, uint32_t count, Text (*name)(const Bench *, uint32_t),
                  const SumsFigure *(*of)(const SumsMode *, uint32_t), Unit unit) {
    bool open = false;
    for (uint32_t n = 0; n < count; n++) {
        bool any = false;
        for (uint32_t i = 0; i < html->sums->modes.count; i++) {
            const SumsFigure *at = of(&html->sums->modes.at[i], n);
            any = any || (at->known && !words_nothing(at, unit));
        }
        if (!any) continue;
        if (!open) open_table(html, first);
        open = true;
        out_lit(html->out, "<tr>");
        head_cell(html, name(html->bench, n));
        for (uint32_t i = 0; i < html->sums->modes.count; i++) cell(html, words_figure(html->arena, of(&html->sums->modes.at[i], n), unit));
        out_lit(html->out, "</tr>\n");
    }
    if (open) close_table(html);
}

static Text net_name(const Bench *bench, uint32_t n) { return bench->nets.at[n].name; }
static Text part_name(const Bench *bench, uint32_t p) { return bench->parts.at[p].ref; }
static const SumsFigure *volts(const SumsMode *mode, uint32_t n) { return &mode->volts[n]; }
static const SumsFigure *current(const SumsMode *mode, uint32_t p) { return &mode->current[p]; }
static const SumsFigure *power(const SumsMode *mode, uint32_t p) { return &mode->power[p]; }

static void faults(Html *html) {
    for (uint32_t i = 0; i < html->sums->modes.count; i++) {
        const SumsMode *mode = &html->sums->modes.at[i];
        if (mode->solved) continue;
        out_lit(html->out, "<p>");
        html_escape(html->out, words_sentence(html->arena, text_fmt(html->arena, "No answer %s%.*s: %.*s", mode->name.len > 0 ? "in " : "at rest",
                                                                    TEXT_ARG(mode->name), TEXT_ARG(mode->fault))));
        out_lit(html->out, "</p>\n");
    }
}

static void explanations(Html *html) {
    if (html->sums->explanations.count == 0) return;
    out_lit(html->out, "<p>One mistake would explain the reading that differs; likeliest first:</p>\n<ol>\n");
    for (uint32_t i = 0; i < html->sums->explanations.count; i++) {
        const SumsExplanation *explanation = &html->sums->explanations.at[i];
        out_lit(html->out, "<li>");
        html_escape(html->out, words_capital(html->arena, words_sentence(html->arena, explanation->says)));
        out_char(html->out, ' ');
        html_sure(html, explanation->p);
        out_lit(html->out, " <span class=\"from\">");
        html_lines(html, explanation->lines, explanation->line_count);
        out_lit(html->out, "</span></li>\n");
    }
    out_lit(html->out, "</ol>\n<p>To settle it: ");
    html_escape(html->out, html->sums->best_reading);
    out_lit(html->out, "</p>\n");
}

bool html_has_sums(const Html *html) {
    bool any = html->sums != NULL && html->sums->differ > 0;
    for (uint32_t i = 0; html->sums != NULL && i < html->sums->modes.count; i++) any = any || html->sums->modes.at[i].solved;
    return any;
}

void html_sums(Html *html) {
    if (!html_has_sums(html)) return;
    html_section(html, "numbers", "Numbers by mode");
    out_lit(html->out, "<p>Computed from the parts and joins as noted; 95 of 100 products made of such parts lie within the limits.</p>\n");
    html_plot_currents(html);
    html_plot_batteries(html);
    html_plot_readings(html);
    explanations(html);
    faults(html);
    table(html, "volts of", html->bench->nets.count, net_name, volts, UNIT_VOLT);
    table(html, "current of", html->bench->parts.count, part_name, current, UNIT_AMPERE);
    table(html, "power in", html->bench->parts.count, part_name, power, UNIT_WATT);
    out_lit(html->out, "</section>\n");
}
