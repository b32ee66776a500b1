/* What the files plot*.c share. */
#ifndef UNPICK_DRAW_PLOT_INSIDE_H
#define UNPICK_DRAW_PLOT_INSIDE_H

#include "draw/plot.h"

#define PLOT_TEXT 2.9  /* mm: what is read */
#define PLOT_SMALL 2.5 /* mm: ticks */
enum { PLOT_SERIES = 6, PLOT_OTHERS = PLOT_SERIES /* what has no colour of its own */ };

/* From an amount to a place on the page. */
typedef struct PlotAxis {
    double low, high; /* in SI units; above 0 when log */
    double from, to;  /* mm: where they are */
    double step;      /* between ticks; of a linear one */
    bool log;
    Unit unit;
} PlotAxis;

/* Widened to round numbers. low < high, or both the same; for a logarithmic one 0 < low. */
PlotAxis plot_linear(double low, double high, Unit unit, double from, double to);
PlotAxis plot_log(double low, double high, Unit unit, double from, double to);
/* mm; what lies beyond an end is put at it. */
double plot_at(const PlotAxis *axis, double amount);

typedef struct PlotTick {
    double amount;
    Text label; /* without the unit where the whole axis has one; empty: only a line */
} PlotTick;
typedef LIST(PlotTick) PlotTicks;

/* unit: what all labels are in ("mA", "days"), empty where each says its own. */
PlotTicks plot_ticks(Arena *arena, const PlotAxis *axis, Text *unit);

/* Grid lines from `top` to `bottom` with labels below them, the name of the axis and its unit under these: 9 mm high. */
void plot_x_axis(Out *out, const PlotAxis *axis, double top, double bottom, const char *name);
/* Grid lines from `left` to `right`, labels left of them, the name and unit above. */
void plot_y_axis(Out *out, const PlotAxis *axis, double left, double right, const char *name);

/* A bar of a series: its colour and its hatching. */
void plot_bar(Out *out, uint32_t series, double left, double top, double width, double height);

typedef struct PlotName {
    uint32_t series;
    Text name;
} PlotName;
/* What the bars are, in rows no wider than `wide`; how high they are, mm. */
double plot_legend(Out *out, const PlotName *names, uint32_t count, double top, double wide);

Text plot_quantity(Arena *arena, double amount, Unit unit);

#endif
