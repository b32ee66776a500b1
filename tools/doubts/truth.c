/* Whether copper joins the two sides of an edge: read from the clean copper within a window round the edge, so that a way
 * round the board does not count. */
#include "copper/components.h"
#include "tools/doubts/doubts.h"

#include <math.h>

static const double WINDOW_MM = 0.7; /* half a side */
static const double SIDE_MM = 0.12;  /* how far the true copper may lie from where a side was traced */

typedef struct Window {
    uint32_t left, top, width, height; /* pixels of the mask */
    uint32_t *piece;
} Window;

static uint32_t clamped(double at, uint32_t most) { return at <= 0 ? 0 : at >= most ? most : (uint32_t)at; }

static Window window_round(Arena *arena, const Truth *truth, PlacePoint mm) {
    Window w = {.left = clamped((mm.x - WINDOW_MM) * truth->mask_scale, truth->mask_width),
                .top = clamped((mm.y - WINDOW_MM) * truth->mask_scale, truth->mask_height)};
    w.width = clamped((mm.x + WINDOW_MM) * truth->mask_scale, truth->mask_width) - w.left;
    w.height = clamped((mm.y + WINDOW_MM) * truth->mask_scale, truth->mask_height) - w.top;
    w.piece = arena_many(arena, uint32_t, (size_t)w.width * w.height);
    unsigned char *mask = arena_take(arena, (size_t)w.width * w.height);
    for (uint32_t y = 0; y < w.height; y++)
        memcpy(mask + (size_t)y * w.width, truth->mask + (size_t)(w.top + y) * truth->mask_width + w.left, w.width);
    components_of(arena, &(ComponentPicture){mask, w.width, w.height, w.width, 128, NULL}, w.piece);
    return w;
}

static uint32_t piece_near(const Truth *truth, const Window *w, PlacePoint mm) {
    double x = mm.x * truth->mask_scale - 0.5 - w->left, y = mm.y * truth->mask_scale - 0.5 - w->top;
    double reach = SIDE_MM * truth->mask_scale, least = reach;
    uint32_t piece = 0;
    for (double v = fmax(0, ceil(y - reach)); v <= fmin(w->height - 1.0, y + reach); v++)
        for (double u = fmax(0, ceil(x - reach)); u <= fmin(w->width - 1.0, x + reach); u++) {
            uint32_t here = w->piece[(size_t)v * w->width + (size_t)u];
            if (here != 0 && hypot(u - x, v - y) < least) piece = here, least = hypot(u - x, v - y);
        }
    return piece;
}

void doubts_of(Arena *arena, const Truth *truth, const Layers *layers, DoubtSamples *samples) {
    Arena *scratch = arena_new();
    Trace trace = trace_start(scratch, layers);
    trace_value(&trace);
    trace_flood(&trace);
    doubt_weigh(&trace);
    for (uint32_t i = 0; i < trace.edges.count; i++) {
        const TraceEdge *edge = &trace.edges.at[i];
        Arena *local = arena_new();
        Window window = window_round(local, truth, trace_mm(&trace, edge->at));
        uint32_t a = piece_near(truth, &window, trace_mm(&trace, edge->side_a));
        uint32_t b = piece_near(truth, &window, trace_mm(&trace, edge->side_b));
        arena_free(local);
        if (a == 0 || b == 0) continue;
        DoubtSample *sample = list_add(arena, samples);
        memcpy(sample->feature, edge->feature, sizeof sample->feature);
        sample->p = edge->p, sample->joined = a == b;
    }
    arena_free(scratch);
}
