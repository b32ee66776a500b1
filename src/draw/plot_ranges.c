/* What the meter read beside the sums, a row a reading, each on an axis of its own: volts that differ by a hundredth and
 * currents that differ tenfold have no scale in common. Those that differ come first. */
#include "draw/plot_inside.h"

#include <math.h>

enum { ROWS_MOST = 24 };
static const double WIDE = 150, LEFT = 46, RIGHT = 104, ROW = 13, TOP = 3, LEGEND = 10, EDGE = 3; /* mm */
static const double LOG_FROM = 20; /* largest to smallest on one axis, beyond which it is logarithmic */

typedef struct Row {
    const SumsCompared *compared;
    const BenchReading *reading;
    const SumsFigure *figure; /* with its worst case; NULL: of something that has none */
} Row;

typedef struct Ranges {
    Out *out;
    const Sums *sums;
    Row rows[ROWS_MOST];
    uint32_t count, left_out;
} Ranges;

/* Of a net's volts and a part's current. */
static const SumsFigure *figure_of(const Sums *sums, const SumsCompared *compared, const BenchReading *reading) {
    if (compared->mode == BENCH_NONE || reading->about_count != 1) return NULL;
    const SumsMode *mode = &sums->modes.at[compared->mode];
    const SumsFigure *figure = NULL;
    if (reading->about_what == BENCH_ABOUT_NET && text_is(reading->function, "v")) figure = &mode->volts[reading->about[0]];
    if (reading->about_what == BENCH_ABOUT_PART && text_is(reading->function, "i"))
        figure = &mode->current[reading->about[0]];
    return mode->solved && figure != NULL && figure->known ? figure : NULL;
}

static void find_rows(Ranges *r, uint32_t most) {
    for (uint32_t i = 0; i < r->sums->compared.count; i++) {
        const SumsCompared *compared = &r->sums->compared.at[i];
        const BenchReading *reading = &r->sums->bench->readings.at[compared->reading];
        bool told = compared->verdict == SUMS_AGREES || compared->verdict == SUMS_OFF;
        if (!told || !isfinite(compared->low) || !isfinite(compared->high) || !isfinite(reading->value.value)) continue;
        if (r->count == most)
            r->left_out++;
        else
            r->rows[r->count++] = (Row){compared, reading, figure_of(r->sums, compared, reading)};
    }
}

static PlotAxis axis_of(const Row *row) {
    double low = fmin(row->compared->low, row->reading->value.value),
           high = fmax(row->compared->high, row->reading->value.value);
    if (row->figure != NULL) low = fmin(low, row->figure->least), high = fmax(high, row->figure->most);
    if (low > 0 && high > LOG_FROM * low) return plot_log(low, high, row->reading->value.unit, LEFT, RIGHT);
    return plot_linear(low, high, row->reading->value.unit, LEFT, RIGHT);
}

static Text spread_of(Arena *arena, const Row *row) {
    Out out = out_new(arena);
    quantity_print_spread(
        &out, quantity_within(row->compared->typical, row->compared->low, row->compared->high, row->reading->value.unit));
    return out_text(&out);
}

/* Small ticks of the row's own axis; labels that would touch are left out. */
static void put_axis(const Ranges *r, const PlotAxis *axis, double y) {
    Text unit;
    PlotTicks ticks = plot_ticks(r->out->arena, axis, &unit);
    double free_from = -INFINITY;
    svg_line(r->out, (SvgMark){.class = "p-grid"}, (SvgPoint){axis->from, y}, (SvgPoint){axis->to, y});
    for (uint32_t i = 0; i < ticks.count; i++) {
        double x = plot_at(axis, ticks.at[i].amount);
        Text label = ticks.at[i].label;
        svg_line(r->out, (SvgMark){.class = "p-grid"}, (SvgPoint){x, y - 1}, (SvgPoint){x, y});
        if (i + 1 == ticks.count && unit.len > 0)
            label = text_fmt(r->out->arena, "%.*s %.*s", TEXT_ARG(label), TEXT_ARG(unit));
        double half = svg_text_width(label, PLOT_SMALL) / 2;
        if (label.len == 0 || x - half < free_from) continue;
        svg_text(r->out, (SvgMark){.class = "p-tick"}, (SvgPoint){x, y + 0.8 + SVG_ASCENT * PLOT_SMALL}, PLOT_SMALL,
                 SVG_MIDDLE, label);
        free_from = x + half + 1;
    }
}

static void put_diamond(Out *out, const char *class, double x, double y) {
    static const double HALF = 1.5;
    const SvgPoint at[4] = {{x, y - HALF}, {x + HALF, y}, {x, y + HALF}, {x - HALF, y}};
    svg_polygon(out, (SvgMark){.class = class}, at, 4);
}

static void put_marks(Out *out, double y, double worst_low, double worst_high, double low, double high) {
    static const double HALF = 1.1, LEAST = 0.4;
    if (worst_high > worst_low)
        svg_line(out, (SvgMark){.class = "p-worst"}, (SvgPoint){worst_low, y}, (SvgPoint){worst_high, y});
    for (int i = 0; i < 2 && worst_high > worst_low; i++) {
        double x = i == 0 ? worst_low : worst_high;
        svg_line(out, (SvgMark){.class = "p-worst"}, (SvgPoint){x, y - HALF}, (SvgPoint){x, y + HALF});
    }
    svg_rect(out, (SvgMark){.class = "p-likely"}, (SvgPoint){low, y - HALF}, fmax(high - low, LEAST), 2 * HALF, 0);
}

static void put_row(const Ranges *r, const Row *row, double top) {
    PlotAxis axis = axis_of(row);
    bool off = row->compared->verdict == SUMS_OFF;
    double y = top + 3.4, worst_low = 0, worst_high = 0;
    Arena *arena = r->out->arena;
    if (row->figure != NULL) worst_low = plot_at(&axis, row->figure->least), worst_high = plot_at(&axis, row->figure->most);
    svg_text(r->out, (SvgMark){.class = "p-mode"}, (SvgPoint){0, y}, PLOT_TEXT, SVG_START,
             svg_clip(arena, bench_reading_name(arena, row->reading), PLOT_TEXT, LEFT - 6));
    svg_text(r->out, (SvgMark){.class = "p-name"}, (SvgPoint){0, y + 3.6}, PLOT_SMALL, SVG_START,
             svg_clip(arena, row->reading->mode, PLOT_SMALL, LEFT - 6));
    put_axis(r, &axis, top + 6.4);
    put_marks(r->out, y, worst_low, worst_high, plot_at(&axis, row->compared->low), plot_at(&axis, row->compared->high));
    put_diamond(r->out, off ? "p-read p-off" : "p-read", plot_at(&axis, row->reading->value.value), y);
    Text read = row->reading->note->reading->value.written;
    svg_text(r->out, (SvgMark){.class = off ? "p-off" : "p-label"}, (SvgPoint){RIGHT + 8, y}, PLOT_TEXT, SVG_START,
             svg_clip(arena, text_fmt(arena, "%s%.*s", off ? "off: " : "", TEXT_ARG(read)), PLOT_TEXT, WIDE - RIGHT - 8));
    svg_text(r->out, (SvgMark){.class = "p-name"}, (SvgPoint){RIGHT + 8, y + 3.6}, PLOT_SMALL, SVG_START,
             text_fmt(arena, "sums: %.*s", TEXT_ARG(spread_of(arena, row))));
}

static void put_legend(const Ranges *r, double top) {
    double y = top + 3;
    put_diamond(r->out, "p-read", 1.5, y);
    svg_text(r->out, (SvgMark){.class = "p-label"}, (SvgPoint){5, y + 0.9}, PLOT_SMALL, SVG_START, TEXT("the meter"));
    put_marks(r->out, y, 0, 0, 26, 36);
    svg_text(r->out, (SvgMark){.class = "p-label"}, (SvgPoint){38, y + 0.9}, PLOT_SMALL, SVG_START,
             TEXT("the parts and all other readings, 95 %"));
    put_marks(r->out, y, 96, 106, 101, 101);
    svg_text(r->out, (SvgMark){.class = "p-label"}, (SvgPoint){108, y + 0.9}, PLOT_SMALL, SVG_START,
             TEXT("worst case, the reading counted"));
}

static Text in_words(const Ranges *r) {
    Out out = out_new(r->out->arena);
    for (uint32_t i = 0; i < r->count; i++) {
        const Row *row = &r->rows[i];
        Text name = bench_reading_name(r->out->arena, row->reading), read = row->reading->note->reading->value.written,
             sums = spread_of(r->out->arena, row);
        out_fmt(&out, "%s%.*s", i > 0 ? "; " : "", TEXT_ARG(name));
        if (row->reading->mode.len > 0) out_fmt(&out, " in %.*s", TEXT_ARG(row->reading->mode));
        out_fmt(&out, ": read %.*s, by the sums %.*s, %s", TEXT_ARG(read), TEXT_ARG(sums),
                row->compared->verdict == SUMS_OFF ? "which differs" : "which agrees");
    }
    if (r->left_out > 0) out_fmt(&out, "; %u more are not shown", r->left_out);
    out_char(&out, '.');
    return out_text(&out);
}

bool draw_ranges(Out *out, const PlotAsked *asked) {
    if (asked->sums == NULL) return false;
    Ranges r = {.out = out, .sums = asked->sums};
    find_rows(&r, asked->most > 0 && asked->most < ROWS_MOST ? asked->most : (uint32_t)ROWS_MOST);
    if (r.count == 0) return false;
    double bottom = TOP + r.count * ROW;
    SvgPage page = {.left = -EDGE,
                    .top = -EDGE,
                    .width = WIDE + 2 * EDGE,
                    .height = bottom + LEGEND + 2 * EDGE,
                    .id = asked->id,
                    .title = TEXT("Readings beside the sums"),
                    .desc = in_words(&r),
                    .css = asked->alone ? DRAW_PLOT_CSS : NULL};
    svg_open(out, &page);
    svg_group(out, (SvgMark){.class = "p-view"});
    for (uint32_t i = 0; i < r.count; i++) put_row(&r, &r.rows[i], TOP + i * ROW);
    put_legend(&r, bottom);
    svg_group_end(out);
    svg_close(out);
    return true;
}
