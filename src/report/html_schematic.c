/* The page's schematic: a figure a sheet, with the volts that the sums give for the first mode they solve. */
#include "report/html.h"

/* What to write at each net; NULL: nothing is known of any. */
static const Text *volts_of(Arena *arena, const Reasoning *reasoning, const Sums *sums, Text *mode) {
    uint32_t nets = reasoning->bench->nets.count;
    bool any = false;
    for (uint32_t m = 0; sums != NULL && m < sums->modes.count; m++) {
        if (!sums->modes.at[m].solved) continue;
        Text *volts = arena_many(arena, Text, nets + 1);
        for (uint32_t i = 0; i < nets; i++) {
            const SumsFigure *figure = &sums->modes.at[m].volts[i];
            if (!figure->known || i == sums->ground) continue;
            any = true;
            volts[i] = words_nothing(figure, UNIT_VOLT) ? words_figure(arena, figure, UNIT_VOLT)
                                                        : words_quantity(arena, sums_quantity(figure, UNIT_VOLT));
        }
        *mode = sums->modes.at[m].name;
        return any ? volts : NULL;
    }
    return NULL;
}

const Schematic *report_schematic(Arena *arena, const Reasoning *reasoning, const Sums *sums, Text *mode, bool *volts) {
    *mode = TEXT("");
    SchematicAsked asked = {.reasoning = reasoning, .volts = volts_of(arena, reasoning, sums, mode)};
    *volts = asked.volts != NULL;
    return schematic_draw(arena, &asked);
}

void html_schematic(Html *html) {
    Out *out = html->out;
    Text mode;
    bool volts;
    const Schematic *schematic = report_schematic(html->arena, html->reasoning, html->sums, &mode, &volts);
    if (schematic->sheets.count == 0) return;
    html_section(html, "schematic", "Schematic");
    for (uint32_t i = 0; i < schematic->sheets.count; i++) {
        out_lit(out, "<figure class=\"drawing sheet\">\n<div class=\"wide\" tabindex=\"0\">\n");
        schematic_svg(out, schematic, i, text_fmt(html->arena, "sheet-%u", i + 1));
        out_lit(out, "</div>\n<figcaption>");
        html_escape(out, schematic->sheets.at[i].title.len > 0 ? words_sentence(html->arena, schematic->sheets.at[i].title)
                                                              : TEXT("The circuit as it is known."));
        if (volts) {
            out_lit(out, " Volts are computed");
            if (mode.len > 0) out_lit(out, " for the mode ");
            html_escape(out, mode);
            out_lit(out, ".");
        }
        out_lit(out, " A pin marked ? is one that no note tells of.</figcaption>\n</figure>\n");
    }
    out_lit(out, "</section>\n");
}
