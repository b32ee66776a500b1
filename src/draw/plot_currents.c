/* Current by mode: a row a mode. Where all modes are of one size, bars on one linear axis, stacked by part. Where they are
 * not (a product that sleeps), lengths on a logarithmic axis would not add up: then the total is a dot on such an axis, and
 * beside it a bar says which share of it each part has. */
#include "draw/plot_inside.h"

#include <math.h>

static const double WIDE = 150, ROW = 14, BAR = 6, TOP = 7, EDGE = 3, SHARE_FROM = 74,
                    LINEAR_MOST = 20; /* mm; largest to smallest total */

typedef struct Currents {
    Out *out;
    const Sums *sums;
    PlotDraws draws;
    uint32_t named; /* draws with a series of their own */
    bool others;    /* there are more */
    PlotAxis total, share;
    double bottom;
} Currents;

static Text mode_name(const SumsMode *mode) { return mode->name.len > 0 ? mode->name : TEXT("at rest"); }

/* What the one source gives, with its limits; NULL: there are several. */
static const SumsFigure *source_of(const Currents *c, uint32_t mode) {
    const Bench *bench = c->sums->bench;
    const BenchKind *source = bench_kind(bench->kinds, TEXT("source"));
    const SumsFigure *found = NULL;
    for (uint32_t p = 0; p < bench->parts.count; p++) {
        const SumsFigure *figure = &c->sums->modes.at[mode].current[p];
        if (source == NULL || !bench_kind_is(bench->parts.at[p].kind, source) || !figure->known) continue;
        if (found != NULL) return NULL;
        found = figure;
    }
    static const double SAME = 0.03; /* more is drawn from elsewhere */
    return found != NULL && found->low > 0 && fabs(found->typical - c->draws.total[mode]) <= SAME * found->typical ? found
                                                                                                                   : NULL;
}

static Text total_text(const Currents *c, uint32_t mode) {
    const SumsFigure *figure = source_of(c, mode);
    Out out = out_new(c->out->arena);
    if (figure == NULL) return plot_quantity(c->out->arena, c->draws.total[mode], UNIT_AMPERE);
    quantity_print(&out, sums_quantity(figure, UNIT_AMPERE));
    out_lit(&out, " (");
    quantity_print_range(&out, sums_quantity(figure, UNIT_AMPERE));
    out_char(&out, ')');
    return out_text(&out);
}

/* One after the other from `left` on, `wide` mm for the whole. */
static void put_stack(const Currents *c, uint32_t mode, double top, double left, double wide) {
    static const double LEAST = 0.05, PAD = 1; /* mm */
    double others = c->draws.total[mode], total = others;
    for (uint32_t i = 0; i <= c->named; i++) {
        double amperes = i < c->named ? c->draws.list.at[i].amperes[mode] : others, width = wide * amperes / total;
        others -= i < c->named ? amperes : 0;
        if (!(width > LEAST)) continue;
        uint32_t series = i < c->named ? i : (uint32_t)PLOT_OTHERS;
        Text name = i < c->named ? c->draws.list.at[i].name : TEXT("others");
        svg_group(c->out,
                  (SvgMark){.ref = i < c->named ? c->sums->bench->parts.at[c->draws.list.at[i].part].ref : TEXT("")});
        svg_title(c->out, text_fmt(c->out->arena, "%.*s: %.*s, %.0f %%", TEXT_ARG(name),
                                   TEXT_ARG(plot_quantity(c->out->arena, amperes, UNIT_AMPERE)), 100 * amperes / total));
        plot_bar(c->out, series, left, top, width, BAR);
        if (svg_text_width(name, PLOT_SMALL) + 2 * PAD < width)
            svg_text(c->out, (SvgMark){.class = "p-in"},
                     (SvgPoint){left + width / 2, top + BAR / 2 + SVG_ASCENT * PLOT_SMALL / 2}, PLOT_SMALL, SVG_MIDDLE,
                     name);
        svg_group_end(c->out);
        left += width;
    }
}

static void put_dot(const Currents *c, uint32_t mode, double y) {
    const SumsFigure *figure = source_of(c, mode);
    double x = plot_at(&c->total, c->draws.total[mode]);
    if (figure != NULL) {
        double low = plot_at(&c->total, figure->low), high = plot_at(&c->total, figure->high);
        svg_line(c->out, (SvgMark){.class = "p-range"}, (SvgPoint){low, y}, (SvgPoint){high, y});
    }
    svg_circle(c->out, (SvgMark){.class = "p-dot"}, (SvgPoint){x, y}, 1.3);
}

static void put_row(const Currents *c, uint32_t mode, uint32_t row) {
    static const double NAME_WIDE = 30; /* mm */
    double top = TOP + row * ROW, bar = top + 5;
    svg_text(c->out, (SvgMark){.class = "p-mode"}, (SvgPoint){0, top + 3}, PLOT_TEXT, SVG_START,
             svg_clip(c->out->arena, mode_name(&c->sums->modes.at[mode]), PLOT_TEXT, NAME_WIDE));
    svg_text(c->out, (SvgMark){.class = "p-label"}, (SvgPoint){c->total.to, top + 3}, PLOT_TEXT, SVG_END,
             total_text(c, mode));
    if (c->total.log) {
        put_dot(c, mode, bar + BAR / 2);
        put_stack(c, mode, bar, c->share.from, c->share.to - c->share.from);
    } else {
        put_stack(c, mode, bar, c->total.from, plot_at(&c->total, c->draws.total[mode]) - c->total.from);
    }
}

/* The picture in words. */
static Text in_words(const Currents *c) {
    Out out = out_new(c->out->arena);
    for (uint32_t m = 0; m < c->sums->modes.count; m++) {
        if (!(c->draws.total[m] > 0)) continue;
        Text name = mode_name(&c->sums->modes.at[m]), total = total_text(c, m);
        out_fmt(&out, "%s%.*s: %.*s", out.len > 0 ? "; " : "", TEXT_ARG(name), TEXT_ARG(total));
        for (uint32_t i = 0; i < c->named; i++) {
            double amperes = c->draws.list.at[i].amperes[m];
            if (amperes > 0.005 * c->draws.total[m])
                out_fmt(&out, ", %.*s %.0f %%", TEXT_ARG(c->draws.list.at[i].name), 100 * amperes / c->draws.total[m]);
        }
    }
    out_char(&out, '.');
    return out_text(&out);
}

static void set_axes(Currents *c, uint32_t rows) {
    double least = INFINITY, largest = 0;
    for (uint32_t m = 0; m < c->sums->modes.count; m++) {
        if (!(c->draws.total[m] > 0)) continue;
        const SumsFigure *figure = source_of(c, m);
        least = fmin(least, figure != NULL ? figure->low : c->draws.total[m]);
        largest = fmax(largest, figure != NULL ? figure->high : c->draws.total[m]);
    }
    bool far = largest > LINEAR_MOST * least;
    c->total =
        far ? plot_log(least, largest, UNIT_AMPERE, 4, SHARE_FROM - 10) : plot_linear(0, largest, UNIT_AMPERE, 0, WIDE);
    c->share = plot_linear(0, 1, UNIT_NONE, SHARE_FROM, WIDE);
    c->bottom = TOP + rows * ROW;
}

/* Into an Out of its own; how high it is. */
static double make_legend(const Currents *c, double top, Out *legend) {
    PlotName names[PLOT_SERIES + 1];
    uint32_t count = 0;
    for (; count < c->named; count++) names[count] = (PlotName){count, c->draws.list.at[count].name};
    if (c->others) names[count++] = (PlotName){PLOT_OTHERS, TEXT("others")};
    return plot_legend(legend, names, count, top, WIDE);
}

bool draw_currents(Out *out, const PlotAsked *asked) {
    static const double AXIS = 11;
    if (asked->sums == NULL) return false;
    Currents c = {.out = out, .sums = asked->sums, .draws = plot_draws(out->arena, asked->sums)};
    uint32_t rows = 0;
    for (uint32_t m = 0; m < c.sums->modes.count; m++) rows += c.draws.total[m] > 0;
    if (rows == 0) return false;
    c.named = c.draws.list.count < PLOT_SERIES ? c.draws.list.count : PLOT_SERIES;
    c.others = c.draws.list.count > c.named;
    set_axes(&c, rows);
    Out legend = out_new(out->arena);
    double legend_high = make_legend(&c, c.bottom + AXIS, &legend);
    SvgPage page = {.left = -EDGE,
                    .top = -EDGE,
                    .width = WIDE + 2 * EDGE,
                    .height = c.bottom + AXIS + legend_high + 2 * EDGE,
                    .id = asked->id,
                    .title = TEXT("Current by mode"),
                    .desc = in_words(&c),
                    .css = asked->alone ? DRAW_PLOT_CSS : NULL};
    svg_open(out, &page);
    svg_group(out, (SvgMark){.class = "p-view"});
    plot_x_axis(out, &c.total, TOP, c.bottom, c.total.log ? "from the supply, on a logarithmic scale" : "from the supply");
    if (c.total.log) plot_x_axis(out, &c.share, TOP, c.bottom, "share of each part");
    uint32_t row = 0;
    for (uint32_t m = 0; m < c.sums->modes.count; m++)
        if (c.draws.total[m] > 0) put_row(&c, m, row++);
    out_add(out, out_text(&legend));
    svg_group_end(out);
    svg_close(out);
    return true;
}
