/* The schematic with what the sums give: for one mode, or for all, of which the reader chooses one without a script. */
#include "report/html.h"

static Text figure_text(Arena *arena, const SumsFigure *figure, Unit unit) {
    if (!figure->known) return (Text){0};
    return words_nothing(figure, unit) ? words_figure(arena, figure, unit)
                                       : words_quantity(arena, sums_quantity(figure, unit));
}

/* What to write at each net; NULL: nothing is known of any. */
static const Text *volts_of(Arena *arena, const Reasoning *reasoning, const Sums *sums, Text *mode) {
    uint32_t nets = reasoning->bench->nets.count;
    bool any = false;
    for (uint32_t m = 0; sums != NULL && m < sums->modes.count; m++) {
        if (!sums->modes.at[m].solved) continue;
        Text *volts = arena_many(arena, Text, nets + 1);
        for (uint32_t i = 0; i < nets; i++) {
            if (i != sums->ground) volts[i] = figure_text(arena, &sums->modes.at[m].volts[i], UNIT_VOLT);
            any |= volts[i].len > 0;
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

/* ---- on the page: a figure a sheet, with volts and currents of one mode at a time ---- */

typedef struct Figures {
    Text *volts, *amps; /* as SchematicAsked wants them */
    Text *mode;         /* size count: their names */
    uint32_t count;     /* modes that are solved */
} Figures;

static void fill_mode(Html *html, const SumsMode *mode, Text *volts, Text *amps) {
    const Bench *bench = html->bench;
    for (uint32_t n = 0; n < bench->nets.count; n++)
        if (n != html->sums->ground) volts[n] = figure_text(html->arena, &mode->volts[n], UNIT_VOLT);
    for (uint32_t p = 0; p < bench->parts.count; p++) amps[p] = figure_text(html->arena, &mode->current[p], UNIT_AMPERE);
}

/* A part that never carries a current needs no figure. */
static void leave_out_idle(Html *html, Figures *figures) {
    uint32_t parts = html->bench->parts.count;
    for (uint32_t p = 0; p < parts; p++) {
        bool any = false;
        for (uint32_t m = 0; m < html->sums->modes.count; m++) {
            const SumsMode *mode = &html->sums->modes.at[m];
            any |= mode->solved && mode->current[p].known && !words_nothing(&mode->current[p], UNIT_AMPERE);
        }
        for (uint32_t m = 0; m < figures->count && !any; m++) figures->amps[(size_t)m * parts + p] = (Text){0};
    }
}

static Figures figures_of(Html *html) {
    Figures figures = {0};
    uint32_t nets = html->bench->nets.count, parts = html->bench->parts.count,
             most = html->sums == NULL ? 0 : html->sums->modes.count;
    figures.volts = arena_many(html->arena, Text, (size_t)most * nets + 1);
    figures.amps = arena_many(html->arena, Text, (size_t)most * parts + 1);
    figures.mode = arena_many(html->arena, Text, most + 1);
    for (uint32_t m = 0; m < most; m++) {
        const SumsMode *mode = &html->sums->modes.at[m];
        if (!mode->solved) continue;
        uint32_t k = figures.count++;
        figures.mode[k] = mode->name.len > 0 ? mode->name : TEXT("at rest");
        fill_mode(html, mode, figures.volts + (size_t)k * nets, figures.amps + (size_t)k * parts);
    }
    if (most > 0) leave_out_idle(html, &figures);
    return figures;
}

static uint32_t solved_modes(const Html *html) {
    uint32_t count = 0;
    for (uint32_t m = 0; html->sums != NULL && m < html->sums->modes.count; m++) count += html->sums->modes.at[m].solved;
    return count;
}

/* Of all figures those of the chosen mode are in sight; where a browser knows no :has, those of the first. */
void html_schematic_css(Html *html) {
    uint32_t modes = solved_modes(html);
    if (modes == 0) return;
    out_lit(html->out, ".sheet .volts, .sheet .amps { display: none }\n.sheet .m-0 { display: inline }\n");
    for (uint32_t m = 1; m <= modes; m++) {
        out_fmt(html->out, "#schematic:has(#mode-%u:checked) .m-0 { display: none }\n", m);
        if (m < modes) out_fmt(html->out, "#schematic:has(#mode-%u:checked) .m-%u { display: inline }\n", m, m);
    }
}

/* One choice a mode, and one for none. */
static void say_choice(Html *html, const Figures *figures) {
    Out *out = html->out;
    if (figures->count == 0) return;
    out_lit(out, "<fieldset class=\"modes\"><legend>Volts and currents as computed in mode</legend>\n");
    for (uint32_t m = 0; m <= figures->count; m++) {
        out_fmt(out, "<label><input type=\"radio\" name=\"mode\" id=\"mode-%u\"%s> ", m, m == 0 ? " checked" : "");
        html_escape(out, m < figures->count ? figures->mode[m] : TEXT("none"));
        out_lit(out, "</label>\n");
    }
    out_lit(out, "</fieldset>\n");
}

void html_schematic(Html *html) {
    Out *out = html->out;
    Figures figures = figures_of(html);
    SchematicAsked asked = {.reasoning = html->reasoning, .ansi = html->ansi};
    if (figures.count > 0) asked.volts = figures.volts, asked.amps = figures.amps, asked.modes = figures.count;
    const Schematic *schematic = schematic_draw(html->arena, &asked);
    if (schematic->sheets.count == 0) return;
    html_section(html, "schematic", "Schematic");
    say_choice(html, &figures);
    for (uint32_t i = 0; i < schematic->sheets.count; i++) {
        out_lit(out, "<figure class=\"drawing sheet\">\n<div class=\"wide\" tabindex=\"0\">\n");
        schematic_svg(out, schematic, i, text_fmt(html->arena, "sheet-%u", i + 1));
        out_lit(out, "</div>\n<figcaption>");
        html_escape(out, schematic->sheets.at[i].title.len > 0 ? words_sentence(html->arena, schematic->sheets.at[i].title)
                                                               : TEXT("The circuit as it is known."));
        out_lit(out, " A pin marked ? is one that no note tells of.</figcaption>\n</figure>\n");
    }
    out_lit(out, "</section>\n");
}
