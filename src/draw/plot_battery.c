/* A battery's volts over the time that it lasts: at rest, and under the load of the mode in which it sags most; the line
 * below which it counts as used up, and when it ends, with its limits as a band. */
#include "draw/plot_inside.h"

#include "sums/life.h"

#include <math.h>

static const double WIDE = 150, HIGH = 62, LEFT = 13, TOP = 8, AXIS = 10, LEGEND = 7, EDGE = 3; /* mm */

typedef struct Discharge {
    Out *out;
    const Sums *sums;
    const SumsBattery *battery;
    PlotAxis time, volts;
    double bottom;
} Discharge;

static Text life_text(const Discharge *d) {
    Out out = out_new(d->out->arena);
    Quantity life = quantity_within(d->battery->seconds, d->battery->low, d->battery->high, UNIT_SECOND);
    out_lit(&out, "ends after about ");
    quantity_print(&out, life);
    out_lit(&out, " (");
    quantity_print_range(&out, life);
    out_char(&out, ')');
    return out_text(&out);
}

static Text load_text(const Discharge *d) {
    Text mode = d->sums->modes.at[d->battery->at[d->battery->count - 1].mode].name;
    return mode.len == 0 ? TEXT("under load") : text_fmt(d->out->arena, "under load: %.*s", TEXT_ARG(mode));
}

static void put_curve(const Discharge *d, const char *class, bool loaded) {
    SvgPoint at[LIFE_STEPS];
    for (uint32_t i = 0; i < d->battery->count; i++) {
        const LifePoint *point = &d->battery->at[i];
        at[i] = (SvgPoint){plot_at(&d->time, point->seconds), plot_at(&d->volts, loaded ? point->loaded : point->rest)};
    }
    svg_polyline(d->out, (SvgMark){.class = class}, at, d->battery->count);
}

static void put_limit(const Discharge *d) {
    double y = plot_at(&d->volts, d->battery->end);
    svg_line(d->out, (SvgMark){.class = "p-limit"}, (SvgPoint){d->time.from, y}, (SvgPoint){d->time.to, y});
    Text says = text_fmt(d->out->arena, "used up: %.*s under load",
                         TEXT_ARG(plot_quantity(d->out->arena, d->battery->end, UNIT_VOLT)));
    svg_text(d->out, (SvgMark){.class = "p-label"}, (SvgPoint){d->time.from + 1.5, y - 1}, PLOT_SMALL, SVG_START, says);
}

static void put_end(const Discharge *d) {
    double x = plot_at(&d->time, d->battery->seconds), low = plot_at(&d->time, d->battery->low),
           high = plot_at(&d->time, d->battery->high);
    svg_rect(d->out, (SvgMark){.class = "p-span"}, (SvgPoint){low, TOP}, high - low, d->bottom - TOP, 0);
    svg_line(d->out, (SvgMark){.class = "p-end"}, (SvgPoint){x, TOP}, (SvgPoint){x, d->bottom});
    bool room = x - d->time.from > svg_text_width(life_text(d), PLOT_TEXT) + 2;
    svg_text(d->out, (SvgMark){.class = "p-mode"}, (SvgPoint){room ? x - 1.2 : x + 1.2, TOP + 1 + PLOT_TEXT}, PLOT_TEXT,
             room ? SVG_END : SVG_START, life_text(d));
}

static void put_legend(const Discharge *d) {
    static const double LONG = 9;
    double y = d->bottom + AXIS + 4, x = LEFT;
    const struct {
        const char *class;
        Text name;
    } lines[] = {{"p-rest", TEXT("at rest")}, {"p-load", svg_clip(d->out->arena, load_text(d), PLOT_SMALL, WIDE / 2)}};
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        svg_line(d->out, (SvgMark){.class = lines[i].class}, (SvgPoint){x, y - 0.9}, (SvgPoint){x + LONG, y - 0.9});
        svg_text(d->out, (SvgMark){.class = "p-label"}, (SvgPoint){x + LONG + 1.5, y}, PLOT_SMALL, SVG_START,
                 lines[i].name);
        x += LONG + 6 + svg_text_width(lines[i].name, PLOT_SMALL);
    }
}

static Text in_words(const Discharge *d) {
    Out out = out_new(d->out->arena);
    const SumsBattery *battery = d->battery;
    const LifePoint *first = &battery->at[0], *last = &battery->at[battery->count - 1];
    Text ref = d->sums->bench->parts.at[battery->part].ref;
    out_fmt(&out, "%.*s falls from %.2f V to %.2f V at rest and from %.2f V to %.2f V %.*s; it %.*s. %.*s", TEXT_ARG(ref),
            first->rest, last->rest, first->loaded, last->loaded, TEXT_ARG(load_text(d)), TEXT_ARG(life_text(d)),
            TEXT_ARG(battery->stops));
    return out_text(&out);
}

static void set_axes(Discharge *d) {
    double most = 0, least = d->battery->end;
    for (uint32_t i = 0; i < d->battery->count; i++)
        most = fmax(most, d->battery->at[i].rest), least = fmin(least, d->battery->at[i].loaded);
    d->bottom = TOP + HIGH;
    d->time = plot_linear(0, fmax(d->battery->high, d->battery->seconds), UNIT_SECOND, LEFT, WIDE);
    d->volts = plot_linear(fmax(0, least - 0.08 * (most - least)), most, UNIT_VOLT, d->bottom, TOP);
}

bool draw_battery(Out *out, const PlotAsked *asked, uint32_t which) {
    if (asked->sums == NULL || which >= asked->sums->batteries.count) return false;
    Discharge d = {.out = out, .sums = asked->sums, .battery = &asked->sums->batteries.at[which]};
    if (d.battery->count < 2 || !isfinite(d.battery->high)) return false;
    set_axes(&d);
    Text ref = d.sums->bench->parts.at[d.battery->part].ref;
    SvgPage page = {.left = -EDGE,
                    .top = -EDGE,
                    .width = WIDE + 2 * EDGE,
                    .height = d.bottom + AXIS + LEGEND + 2 * EDGE,
                    .id = asked->id,
                    .title = text_fmt(out->arena, "Discharge of %.*s", TEXT_ARG(ref)),
                    .desc = in_words(&d),
                    .css = asked->alone ? DRAW_PLOT_CSS : NULL};
    svg_open(out, &page);
    svg_group(out, (SvgMark){.class = "p-view"});
    plot_x_axis(out, &d.time, TOP, d.bottom, "time in this duty");
    plot_y_axis(out, &d.volts, LEFT, WIDE, text_cstring(out->arena, text_fmt(out->arena, "volts of %.*s", TEXT_ARG(ref))));
    put_end(&d);
    put_limit(&d);
    put_curve(&d, "p-rest", false);
    put_curve(&d, "p-load", true);
    put_legend(&d);
    svg_group_end(out);
    svg_close(out);
    return true;
}
