/* The page's plots, each with what it shows as a table under it. */
#include "report/html.h"

#include "draw/plot.h"
#include "sums/life.h"

static void open_figure(Html *html) {
    out_lit(html->out, "<figure class=\"drawing plot\">\n<div class=\"wide\" tabindex=\"0\">\n");
}

static void close_figure(Html *html, Text caption) {
    out_lit(html->out, "</div>\n<figcaption>");
    html_escape(html->out, caption);
    out_lit(html->out, "</figcaption>\n</figure>\n");
}

static void open_table(Html *html) {
    out_lit(html->out, "<details class=\"as-table\"><summary>The same as a table</summary>\n<div class=\"wide\" "
                       "tabindex=\"0\"><table>\n<thead><tr>");
}

static void head(Html *html, Text text) {
    out_lit(html->out, "<th scope=\"col\">");
    html_escape(html->out, text);
    out_lit(html->out, "</th>");
}

static void cell(Html *html, const char *element, Text text) {
    out_fmt(html->out, "<%s>", element);
    html_escape(html->out, text);
    out_fmt(html->out, "</%.2s>", element);
}

static void row_head(Html *html, Text text) { cell(html, "th scope=\"row\"", text); }

static void body(Html *html) { out_lit(html->out, "</tr></thead>\n<tbody>\n"); }

static void close_table(Html *html) { out_lit(html->out, "</tbody>\n</table></div></details>\n"); }

static Text amount(Html *html, double value, Unit unit) { return words_quantity(html->arena, quantity_exact(value, unit)); }

/* ---- current by mode ---- */

static void currents_table(Html *html) {
    PlotDraws draws = plot_draws(html->arena, html->sums);
    open_table(html);
    head(html, TEXT("current into"));
    for (uint32_t m = 0; m < html->sums->modes.count; m++)
        head(html, html->sums->modes.at[m].name.len > 0 ? html->sums->modes.at[m].name : TEXT("at rest"));
    body(html);
    for (uint32_t i = 0; i <= draws.list.count; i++) {
        bool all = i == draws.list.count;
        const double *amperes = all ? draws.total : draws.list.at[i].amperes;
        out_lit(html->out, "<tr>");
        row_head(html, all ? TEXT("all") : draws.list.at[i].name);
        for (uint32_t m = 0; m < html->sums->modes.count; m++) cell(html, "td", amount(html, amperes[m], UNIT_AMPERE));
        out_lit(html->out, "</tr>\n");
    }
    close_table(html);
}

void html_plot_currents(Html *html) {
    Out svg = out_new(html->arena);
    if (!draw_currents(&svg, &(PlotAsked){.sums = html->sums, .id = TEXT("plot-currents")})) return;
    open_figure(html);
    out_add(html->out, out_text(&svg));
    close_figure(html, TEXT("Where the supply's current goes. Parts that carry one current stand together."));
    currents_table(html);
}

/* ---- batteries ---- */

static void battery_table(Html *html, const SumsBattery *battery) {
    open_table(html);
    head(html, TEXT("after")), head(html, TEXT("at rest")), head(html, TEXT("under load"));
    body(html);
    for (uint32_t i = 0; i < battery->count; i++) {
        const LifePoint *at = &battery->at[i];
        out_lit(html->out, "<tr>");
        row_head(html, amount(html, at->seconds, UNIT_SECOND));
        cell(html, "td", amount(html, at->rest, UNIT_VOLT));
        cell(html, "td", amount(html, at->loaded, UNIT_VOLT));
        out_lit(html->out, "</tr>\n");
    }
    close_table(html);
}

void html_plot_batteries(Html *html) {
    for (uint32_t i = 0; i < html->sums->batteries.count; i++) {
        const SumsBattery *battery = &html->sums->batteries.at[i];
        Out svg = out_new(html->arena);
        if (!draw_battery(&svg, &(PlotAsked){.sums = html->sums, .id = text_fmt(html->arena, "plot-battery-%u", i + 1)}, i))
            continue;
        open_figure(html);
        out_add(html->out, out_text(&svg));
        close_figure(html, text_fmt(html->arena, "%.*s as it empties; the band is where the end may lie. %.*s",
                                    TEXT_ARG(html->bench->parts.at[battery->part].ref), TEXT_ARG(battery->stops)));
        battery_table(html, battery);
    }
}

/* ---- readings ---- */

static void readings_table(Html *html) {
    open_table(html);
    head(html, TEXT("reading")), head(html, TEXT("mode")), head(html, TEXT("read")), head(html, TEXT("by all else")),
        head(html, TEXT("note"));
    body(html);
    for (uint32_t i = 0; i < html->sums->compared.count; i++) {
        const SumsCompared *compared = &html->sums->compared.at[i];
        const BenchReading *reading = &html->bench->readings.at[compared->reading];
        if (compared->verdict == SUMS_UNKNOWN) continue;
        Out spread = out_new(html->arena);
        quantity_print_spread(&spread,
                              quantity_within(compared->typical, compared->low, compared->high, reading->value.unit));
        out_lit(html->out, "<tr>");
        row_head(html, bench_reading_name(html->arena, reading));
        cell(html, "td", reading->mode);
        cell(html, "td", reading->note->reading->value.written);
        cell(html, "td", compared->verdict == SUMS_ALONE ? TEXT("only it tells") : out_text(&spread));
        out_lit(html->out, "<td>");
        html_lines(html, &reading->note->line, 1);
        out_lit(html->out, "</td></tr>\n");
    }
    close_table(html);
}

void html_plot_readings(Html *html) {
    Out svg = out_new(html->arena);
    if (!draw_ranges(&svg, &(PlotAsked){.sums = html->sums, .id = TEXT("plot-readings")})) return;
    open_figure(html);
    out_add(html->out, out_text(&svg));
    close_figure(html,
                 TEXT("Each reading beside what the parts and all other readings make of it, on an axis of its own."));
    readings_table(html);
}
