/* Axes, ticks at 1, 2 or 5 times a power of ten, bars with hatching, and names of series. */
#include "draw/plot_inside.h"

#include <math.h>
#include <stdio.h>

enum { TICKS_ABOUT = 5, TICKS_MOST = 40 };
static const double LEAST = 1e-4;    /* of the size of what is shown: nothing tighter is drawn */
static const double ALL_DECADES = 5; /* that many or fewer: 2 and 5 between the powers of ten have lines too */

/* The least of 1, 2 and 5 times a power of ten that is no less. */
static double round_up(double step) {
    double power = pow(10, floor(log10(step) + 1e-9)), factor = step / power;
    return power * (factor <= 1 + 1e-9 ? 1 : factor <= 2 + 1e-9 ? 2 : factor <= 5 + 1e-9 ? 5 : 10);
}

typedef struct Scale {
    double factor;
    char symbol[24];
} Scale;

/* What the whole axis is labelled in. */
static Scale scale_of(Arena *arena, const PlotAxis *axis) {
    static const char *const prefixes[] = {"f", "p", "n", "\xC2\xB5", "m", "", "k", "M", "G", "T"};
    static const struct {
        double least, factor;
        const char *symbol;
    } spans[] = {{172800, 86400, "days"}, {7200, 3600, "h"}, {120, 60, "min"}};
    Scale scale = {.factor = 1};
    double size = fmax(fabs(axis->low), fabs(axis->high));
    if (unit_same(axis->unit, UNIT_NONE)) return (Scale){0.01, "%"};
    for (size_t i = 0; unit_same(axis->unit, UNIT_SECOND) && i < sizeof spans / sizeof *spans; i++) {
        if (size < spans[i].least) continue;
        scale.factor = spans[i].factor;
        snprintf(scale.symbol, sizeof scale.symbol, "%s", spans[i].symbol);
        return scale;
    }
    int step = size > 0 ? (int)floor(log10(size * (1 + 1e-12)) / 3) : 0;
    step = step < -5 ? -5 : step > 4 ? 4 : step;
    Text symbol = unit_symbol(arena, axis->unit);
    scale.factor = pow(10, 3 * step);
    snprintf(scale.symbol, sizeof scale.symbol, "%s%.*s", prefixes[step + 5], TEXT_ARG(symbol));
    return scale;
}

PlotAxis plot_linear(double low, double high, Unit unit, double from, double to) {
    PlotAxis axis = {.low = low, .high = high, .from = from, .to = to, .unit = unit};
    double least = LEAST * fmax(fabs(low), fabs(high));
    if (!(high - low > least)) {
        double middle = (low + high) / 2, half = middle != 0 ? 5 * LEAST * fabs(middle) : 0.5;
        axis.low = low = middle - half, axis.high = high = middle + half;
    }
    Arena *scratch = arena_new();
    double factor = scale_of(scratch, &axis).factor, step = factor * round_up((high - low) / factor / TICKS_ABOUT);
    axis.step = step;
    arena_free(scratch);
    axis.low = step * floor(low / step + 1e-9), axis.high = step * ceil(high / step - 1e-9);
    return axis;
}

PlotAxis plot_log(double low, double high, Unit unit, double from, double to) {
    double first = pow(10, floor(log10(low) + 1e-9)), last = pow(10, ceil(log10(high) - 1e-9));
    return (PlotAxis){
        .low = first, .high = last > first ? last : 10 * first, .from = from, .to = to, .log = true, .unit = unit};
}

double plot_at(const PlotAxis *axis, double amount) {
    double share = axis->log ? (amount > 0 ? log(amount / axis->low) / log(axis->high / axis->low) : 0)
                             : (amount - axis->low) / (axis->high - axis->low);
    return axis->from + (axis->to - axis->from) * fmin(fmax(share, 0), 1);
}

Text plot_quantity(Arena *arena, double amount, Unit unit) {
    Out out = out_new(arena);
    quantity_print(&out, quantity_exact(amount, unit));
    return out_text(&out);
}

static void log_ticks(Arena *arena, const PlotAxis *axis, PlotTicks *ticks) {
    bool close = log10(axis->high / axis->low) <= ALL_DECADES;
    for (double power = axis->low; power <= axis->high * (1 + 1e-9) && ticks->count < TICKS_MOST; power *= 10) {
        Out label = out_new(arena);
        quantity_print(&label, (Quantity){power, power, power, power, axis->unit});
        list_push(arena, ticks, ((PlotTick){power, out_text(&label)}));
        for (int i = 2; close && i <= 5 && power * i < axis->high; i += 3)
            list_push(arena, ticks, ((PlotTick){power * i, {0}}));
    }
}

PlotTicks plot_ticks(Arena *arena, const PlotAxis *axis, Text *unit) {
    PlotTicks ticks = {0};
    *unit = TEXT("");
    if (axis->log) {
        log_ticks(arena, axis, &ticks);
        return ticks;
    }
    Scale scale = scale_of(arena, axis);
    double step = axis->step;
    int decimals = (int)fmax(0, ceil(-log10(step / scale.factor) - 1e-9)); /* all labels alike */
    *unit = text_copy(arena, text_of(scale.symbol));
    for (double k = ceil(axis->low / step - 1e-9); k * step <= axis->high + 1e-9 * step && ticks.count < TICKS_MOST; k++) {
        double amount = k == 0 ? 0 : k * step / scale.factor; /* 0, not -0 */
        list_push(arena, &ticks, ((PlotTick){k * step, text_fmt(arena, "%.*f", decimals, amount)}));
    }
    return ticks;
}

/* ---- drawn ---- */

static Text named(Arena *arena, const char *name, Text unit) {
    return unit.len == 0 ? text_of(name) : text_fmt(arena, "%s, %.*s", name, TEXT_ARG(unit));
}

void plot_x_axis(Out *out, const PlotAxis *axis, double top, double bottom, const char *name) {
    Text unit;
    PlotTicks ticks = plot_ticks(out->arena, axis, &unit);
    for (uint32_t i = 0; i < ticks.count; i++) {
        double x = plot_at(axis, ticks.at[i].amount);
        svg_line(out, (SvgMark){.class = ticks.at[i].label.len > 0 ? "p-grid" : "p-grid p-fine"}, (SvgPoint){x, top},
                 (SvgPoint){x, bottom});
        if (ticks.at[i].label.len == 0) continue;
        svg_text(out, (SvgMark){.class = "p-tick"}, (SvgPoint){x, bottom + 1 + SVG_ASCENT * PLOT_SMALL}, PLOT_SMALL,
                 SVG_MIDDLE, ticks.at[i].label);
    }
    svg_line(out, (SvgMark){.class = "p-axis"}, (SvgPoint){axis->from, bottom}, (SvgPoint){axis->to, bottom});
    svg_text(out, (SvgMark){.class = "p-name"}, (SvgPoint){(axis->from + axis->to) / 2, bottom + 8}, PLOT_SMALL, SVG_MIDDLE,
             named(out->arena, name, unit));
}

void plot_y_axis(Out *out, const PlotAxis *axis, double left, double right, const char *name) {
    Text unit;
    PlotTicks ticks = plot_ticks(out->arena, axis, &unit);
    for (uint32_t i = 0; i < ticks.count; i++) {
        double y = plot_at(axis, ticks.at[i].amount);
        svg_line(out, (SvgMark){.class = "p-grid"}, (SvgPoint){left, y}, (SvgPoint){right, y});
        svg_text(out, (SvgMark){.class = "p-tick"}, (SvgPoint){left - 1.2, y + SVG_ASCENT * PLOT_SMALL / 2}, PLOT_SMALL,
                 SVG_END, ticks.at[i].label);
    }
    svg_line(out, (SvgMark){.class = "p-axis"}, (SvgPoint){left, axis->from}, (SvgPoint){left, axis->to});
    svg_text(out, (SvgMark){.class = "p-name"}, (SvgPoint){left, fmin(axis->from, axis->to) - 2}, PLOT_SMALL, SVG_START,
             named(out->arena, name, unit));
}

static void put_stroke(Out *path, double x1, double y1, double x2, double y2) {
    const double ends[] = {x1, y1, x2, y2};
    for (size_t i = 0; i < 4; i++) {
        out_char(path, i == 0 ? 'M' : i == 2 ? 'L' : ' ');
        svg_number(path, ends[i]);
    }
}

/* Strokes that lean by `lean` of the height for all of it, clipped to the bar. */
static void put_leaning(Out *path, double left, double top, double width, double height, double apart, double lean) {
    double reach = fabs(lean) * height;
    for (double at = apart / 2 - (lean > 0 ? reach : 0); at < width + (lean < 0 ? reach : 0); at += apart) {
        double start = 0, end = 1; /* shares of the way up from x = at to at + lean * height */
        if (lean != 0) {
            double a = (0 - at) / (lean * height), b = (width - at) / (lean * height);
            start = fmax(0, fmin(a, b)), end = fmin(1, fmax(a, b));
        }
        if (!(end > start)) continue;
        put_stroke(path, left + at + start * lean * height, top + height * (1 - start), left + at + end * lean * height,
                   top + height * (1 - end));
    }
}

/* Told apart without colour: plain, leaning right, upright, leaning left, level, crossed. */
static void put_hatching(Out *out, uint32_t series, double left, double top, double width, double height) {
    static const double APART = 1.6;
    Out path = out_new(out->arena);
    if (series == 1 || series == 5) put_leaning(&path, left, top, width, height, APART, 1);
    if (series == 3 || series == 5) put_leaning(&path, left, top, width, height, APART, -1);
    if (series == 2) put_leaning(&path, left, top, width, height, APART, 0);
    for (double y = APART / 2; series == 4 && y < height; y += APART)
        put_stroke(&path, left, top + y, left + width, top + y);
    if (path.len > 0) svg_path(out, (SvgMark){.class = "p-hatch"}, out_text(&path));
}

void plot_bar(Out *out, uint32_t series, double left, double top, double width, double height) {
    static const char *const classes[] = {"p-bar p-c0", "p-bar p-c1", "p-bar p-c2",    "p-bar p-c3",
                                          "p-bar p-c4", "p-bar p-c5", "p-bar p-others"};
    svg_rect(out, (SvgMark){.class = classes[series]}, (SvgPoint){left, top}, width, height, 0);
    put_hatching(out, series, left, top, width, height);
}

double plot_legend(Out *out, const PlotName *names, uint32_t count, double top, double wide) {
    static const double BOX = 5, HIGH = 3, GAP = 1.2, APART = 4, ROW = 5;
    double x = 0, y = top;
    for (uint32_t i = 0; i < count; i++) {
        double needs = BOX + GAP + svg_text_width(names[i].name, PLOT_SMALL);
        if (x > 0 && x + needs > wide) x = 0, y += ROW;
        plot_bar(out, names[i].series, x, y, BOX, HIGH);
        svg_text(out, (SvgMark){.class = "p-label"}, (SvgPoint){x + BOX + GAP, y + HIGH - 0.5}, PLOT_SMALL, SVG_START,
                 names[i].name);
        x += needs + APART;
    }
    return count == 0 ? 0 : y + ROW - top;
}
