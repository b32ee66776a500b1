/* The nets of one side's copper: their outlines thinned (D. Douglas, T. Peucker, 1973) to what the eye sees at the scale of a
 * page, coloured in the order of their size, named where they have a name. */
#include "draw/board_inside.h"

#include <math.h>
#include <stdlib.h>

static const double THIN = 0.02; /* mm: an outline may be off by this much */
enum { NAMES_SHOWN = 24 };

/* ---- which nets ---- */

typedef struct Sized {
    uint32_t net;
    double area;
} Sized;

static int larger_first(const void *one, const void *other) {
    const Sized *a = one, *b = other;
    return a->area != b->area ? (a->area > b->area ? -1 : 1) : (a->net > b->net) - (a->net < b->net);
}

static const BenchBoard *board_named(const Bench *bench, Text name) {
    for (uint32_t i = 0; i < bench->photographed.count; i++)
        if (text_same(bench->photographed.at[i].name, name)) return &bench->photographed.at[i];
    return NULL;
}

BoardViewNets draw_board_nets(Arena *arena, const Bench *bench, Text name, BoardSide side) {
    const BenchBoard *board = board_named(bench, name);
    if (board == NULL || board->net == NULL || !board->copper.face[side].known) return (BoardViewNets){0};
    const BoardFace *face = &board->copper.face[side];
    double *area = arena_many(arena, double, bench->nets.count + 1);
    for (uint32_t i = 1; i <= face->copper.nets.count; i++) {
        uint32_t net = board->net[face->net[i]];
        if (net != BENCH_NONE) area[net] += face->copper.nets.at[i - 1].area;
    }
    LIST(Sized) nets = {0};
    for (uint32_t i = 0; i < bench->nets.count; i++)
        if (area[i] > 0) list_push(arena, &nets, ((Sized){i, area[i]}));
    if (nets.count > 0) qsort(nets.at, nets.count, sizeof *nets.at, larger_first);
    uint32_t *order = arena_many(arena, uint32_t, nets.count + 1);
    for (uint32_t i = 0; i < nets.count; i++) order[i] = nets.at[i].net;
    return (BoardViewNets){order, nets.count};
}

Text draw_board_net_id(Arena *arena, Text id, uint32_t n) { return text_fmt(arena, "%.*s-net-%u", TEXT_ARG(id), n); }

/* ---- outlines ---- */

static double off_line(PlacePoint p, PlacePoint a, PlacePoint b) {
    double x = b.x - a.x, y = b.y - a.y, length = hypot(x, y);
    if (length == 0) return hypot(p.x - a.x, p.y - a.y);
    return fabs(x * (p.y - a.y) - y * (p.x - a.x)) / length;
}

typedef struct Span {
    uint32_t from, to;
} Span;

/* Marks the points between two kept ones that must stay. */
static void thin(Arena *scratch, const PlacePoint *at, Span whole, bool *kept) {
    LIST(Span) spans = {0};
    list_push(scratch, &spans, whole);
    while (spans.count > 0) {
        Span span = spans.at[--spans.count];
        uint32_t farthest = 0;
        double most = THIN;
        for (uint32_t i = span.from + 1; i < span.to; i++) {
            double off = off_line(at[i], at[span.from], at[span.to]);
            if (off > most) most = off, farthest = i;
        }
        if (farthest == 0) continue;
        kept[farthest] = true;
        list_push(scratch, &spans, ((Span){span.from, farthest}));
        list_push(scratch, &spans, ((Span){farthest, span.to}));
    }
}

static void put_place(Out *path, char command, PlacePoint at) {
    out_char(path, command);
    svg_number(path, round(at.x * 100) / 100);
    out_char(path, ' ');
    svg_number(path, round(at.y * 100) / 100);
}

static void put_ring(Out *path, Arena *scratch, const CopperRing *ring) {
    if (ring->count < 3) return;
    bool *kept = arena_many(scratch, bool, ring->count);
    uint32_t half = ring->count / 2;
    kept[0] = kept[half] = kept[ring->count - 1] = true;
    thin(scratch, ring->at, (Span){0, half}, kept);
    thin(scratch, ring->at, (Span){half, ring->count - 1}, kept);
    for (uint32_t i = 0; i < ring->count; i++)
        if (kept[i]) put_place(path, i == 0 ? 'M' : 'L', ring->at[i]);
    out_char(path, 'Z');
}

/* ---- drawing ---- */

/* The outlines of all copper of one net of the bench; BENCH_NONE: of copper that no pin is known to be on. */
static Text outline_of(const View *view, uint32_t net) {
    const BenchBoard *board = &view->bench->photographed.at[view->number];
    Arena *scratch = arena_new();
    Out path = out_new(view->arena);
    for (uint32_t i = 1; i <= view->face->copper.nets.count; i++) {
        const CopperNet *copper = &view->face->copper.nets.at[i - 1];
        if (board->net[view->face->net[i]] != net) continue;
        for (uint32_t r = 0; r < copper->ring_count; r++) put_ring(&path, scratch, &copper->rings[r]);
    }
    arena_free(scratch);
    return out_text(&path);
}

static void put_net(View *view, Text name, const char *class, Text id, Text outline) {
    if (outline.len == 0) return;
    svg_group(view->out, (SvgMark){.class = class, .net = name, .id = id});
    svg_title(view->out, name.len > 0 ? name : TEXT("copper without a known pin"));
    svg_path(view->out, (SvgMark){0}, outline);
    svg_group_end(view->out);
}

void view_copper(View *view) {
    if (view->face == NULL) return;
    BoardViewNets nets = draw_board_nets(view->arena, view->bench, view->asked->board, view->asked->side);
    put_net(view, TEXT(""), "b-copper b-other", TEXT(""), outline_of(view, BENCH_NONE));
    for (uint32_t i = 0; i < nets.count; i++) {
        Text class = text_fmt(view->arena, "b-copper b-c%u b-d%u", i % BOARD_VIEW_COLOURS,
                              i / BOARD_VIEW_COLOURS % BOARD_VIEW_DASHES);
        put_net(view, view->bench->nets.at[nets.net[i]].name, text_cstring(view->arena, class),
                draw_board_net_id(view->arena, view->asked->id, i), outline_of(view, nets.net[i]));
    }
}

/* ---- names ---- */

/* By the first pad of the net beside which there is room. */
static void put_name(View *view, uint32_t number, const BenchNet *net) {
    for (uint32_t i = 0; i < view->face->copper.pads.count; i++) {
        const CopperPad *pad = &view->face->copper.pads.at[i];
        if (view->bench->photographed.at[view->number].net[view->face->net[pad->net]] != number) continue;
        SvgPoint at = {pad->at.x, pad->at.y - pad->height / 2 - 0.4 * view->unit};
        if (view_label(view, (SvgMark){.class = "b-netname", .net = net->name}, at, view->unit, net->name)) return;
    }
}

void view_net_names(View *view) {
    if (view->face == NULL) return;
    BoardViewNets nets = draw_board_nets(view->arena, view->bench, view->asked->board, view->asked->side);
    for (uint32_t i = 0; i < nets.count && i < NAMES_SHOWN; i++) {
        const BenchNet *net = &view->bench->nets.at[nets.net[i]];
        if (net->named) put_name(view, nets.net[i], net);
    }
}
