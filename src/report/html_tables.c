/* The page's tables: parts, nets, derived figures. Each stands in a box that scrolls sideways on a narrow screen. */
#include "report/html.h"

static void open_table(Html *html, const char *const *heads, size_t count) {
    out_lit(html->out, "<div class=\"wide\" tabindex=\"0\"><table class=\"sortable\">\n<thead><tr>");
    for (size_t i = 0; i < count; i++) out_fmt(html->out, "<th scope=\"col\">%s</th>", heads[i]);
    out_lit(html->out, "</tr></thead>\n<tbody>\n");
}

static void close_table(Html *html) { out_lit(html->out, "</tbody>\n</table></div>\n"); }

/* A row about a part or a net, which is lit with it. */
static void open_row(Html *html, const char *about, Text name) {
    out_fmt(html->out, "<tr data-%s=\"", about);
    html_escape(html->out, name);
    out_lit(html->out, "\">");
}

/* A cell that is sorted by what it is worth. */
static void value_cell(Html *html, Text text, double worth) {
    out_fmt(html->out, "<td data-sort=\"%.9g\">", worth);
    html_escape(html->out, text);
    out_lit(html->out, "</td>");
}

static void cell(Html *html, Text text) {
    out_lit(html->out, "<td>");
    html_escape(html->out, text);
    out_lit(html->out, "</td>");
}

static void row_head(Html *html, Text text) {
    out_lit(html->out, "<th scope=\"row\">");
    html_escape(html->out, text);
    out_lit(html->out, "</th>");
}

#define OPEN_TABLE(html, ...)                                                                                              \
    open_table((html), (const char *const[]){__VA_ARGS__}, sizeof((const char *const[]){__VA_ARGS__}) / sizeof(char *))

static void fact(Html *html, const BenchFact *fact) {
    Out *out = html->out;
    if (fact->says.len == 0) return;
    out_lit(out, "<p>");
    html_escape(out, words_sentence(html->arena, words_capital(html->arena, fact->says)));
    out_lit(out, "</p>\n");
    html_quotes(html, fact->lines, fact->line_count);
}

/* What a part is, when no claim says it: its marking's readings, its kind and its value, each with what it rests on. */
static void part_evidence(Html *html, const BenchPart *part) {
    Out *out = html->out;
    out_lit(out, "<div class=\"why\">\n");
    for (uint32_t i = 0; i < part->readings.count; i++) {
        const MarkReading *reading = &part->readings.at[i];
        out_lit(out, "<p>");
        html_escape(out, words_sentence(html->arena, words_capital(html->arena, reading->says)));
        out_lit(out, " <cite>");
        html_escape(out, reading->standard);
        if (reading->assumed.len > 0) out_lit(out, "; assumed: ");
        html_escape(out, reading->assumed);
        out_lit(out, "</cite></p>\n");
    }
    fact(html, &part->kind_why);
    fact(html, &part->value_why);
    out_lit(out, "</div>\n");
}

static void part_is(Html *html, const StoryPart *row, const BenchPart *part) {
    Out *out = html->out;
    if (row->claim != NULL) {
        html_claim_as(html, row->claim, row->is);
    } else if (row->is.len > 0) {
        out_lit(out, "<details class=\"claim\"><summary><span class=\"says\">");
        html_escape(out, row->is);
        out_lit(out, "</span> <span class=\"sure\"></span></summary>\n");
        part_evidence(html, part);
        out_lit(out, "</details>\n");
    }
}

void html_parts(Html *html) {
    Out *out = html->out;
    if (html->story->parts.count == 0) return;
    html_section(html, "parts", "Parts");
    OPEN_TABLE(html, "Part", "Kind", "Package", "Marking", "Value", "What it is", "Note");
    for (uint32_t i = 0; i < html->story->parts.count; i++) {
        const StoryPart *row = &html->story->parts.at[i];
        const BenchPart *part = &html->bench->parts.at[row->part];
        open_row(html, "ref", part->ref);
        row_head(html, part->ref);
        cell(html, part->kind->name);
        cell(html, row->package);
        cell(html, row->marking);
        if (part->has_value)
            value_cell(html, row->value, part->value.value);
        else
            cell(html, row->value);
        out_lit(out, "<td>");
        part_is(html, row, part);
        out_lit(out, "</td><td>");
        if (part->line > 0) html_lines(html, &part->line, 1);
        out_lit(out, "</td></tr>\n");
    }
    close_table(html);
    Out csv = out_new(html->arena);
    report_parts_csv(&csv, html->reasoning);
    out_lit(out, "<p class=\"from\"><a download=\"parts.csv\" href=\"data:text/csv;charset=utf-8;base64,");
    out_base64(out, out_text(&csv));
    out_lit(out, "\">The table as CSV</a></p>\n</section>\n");
}

/* What was read of a net: `6.21 V (idle)`. */
static void net_voltages(Html *html, uint32_t net) {
    bool first = true;
    for (uint32_t i = 0; i < html->bench->readings.count; i++) {
        const BenchReading *reading = &html->bench->readings.at[i];
        if (!text_is(reading->function, "v") || reading->about_count == 0 || reading->about[0] != net) continue;
        if (!first) out_lit(html->out, "; ");
        first = false;
        html_escape(
            html->out,
            words_quantity(html->arena, reading->note->reading->value.quantity)) /* with the digits it was written with */;
        if (reading->mode.len == 0) continue;
        out_lit(html->out, " (");
        html_escape(html->out, reading->mode);
        out_lit(html->out, ")");
    }
}

void html_nets(Html *html) {
    Out *out = html->out;
    bool any = false;
    for (uint32_t i = 0; i < html->bench->nets.count; i++) {
        const BenchNet *net = &html->bench->nets.at[i];
        if (net->pin_count < 2 && !net->named) continue; /* a pin alone says nothing */
        if (!any) html_section(html, "nets", "Nets");
        if (!any) OPEN_TABLE(html, "Net", "Pins", "Read");
        any = true;
        open_row(html, "net", net->name);
        row_head(html, net->name);
        out_lit(out, "<td>");
        for (uint32_t k = 0; k < net->pin_count; k++) {
            if (k > 0) out_char(out, ' ');
            html_escape(out, bench_pin_name(html->arena, html->bench, net->pins[k]));
        }
        out_lit(out, "</td><td>");
        net_voltages(html, i);
        out_lit(out, "</td></tr>\n");
    }
    if (!any) return;
    close_table(html);
    out_lit(out, "</section>\n");
}

static void value_row(Html *html, const ReasonClaim *claim, const ReasonValue *value) {
    Out *out = html->out;
    out_lit(out, "<tr>");
    row_head(html, value->name);
    cell(html, words_quantity(html->arena, value->value));
    cell(html, words_range(html->arena, value->value));
    out_lit(out, "<td><code>");
    html_escape(out, value->formula);
    out_lit(out, "</code></td>");
    cell(html, value->source);
    out_lit(out, "<td><a href=\"#");
    html_anchor(out, "claim-", claim->id);
    out_lit(out, "\">");
    html_escape(out, claim->name);
    for (uint32_t k = 0; k < claim->own_count; k++) {
        out_add(out, k == 0 ? TEXT(": ") : TEXT(" "));
        html_escape(out, html->bench->parts.at[claim->about[k]].ref);
    }
    out_lit(out, "</a></td></tr>\n");
}

void html_values(Html *html) {
    bool any = false;
    for (uint32_t i = 0; i < html->reasoning->hazards.count + html->reasoning->claims.count; i++) {
        uint32_t hazards = html->reasoning->hazards.count;
        const ReasonClaim *claim = i < hazards ? &html->reasoning->hazards.at[i] : &html->reasoning->claims.at[i - hazards];
        for (uint32_t k = 0; k < claim->value_count; k++) {
            if (!any) html_section(html, "figures", "Figures");
            if (!any) OPEN_TABLE(html, "Figure", "Value", "Limits", "Formula", "Source", "Of");
            any = true;
            value_row(html, claim, &claim->values[k]);
        }
    }
    if (!any) return;
    close_table(html);
    out_lit(html->out, "</section>\n");
}
