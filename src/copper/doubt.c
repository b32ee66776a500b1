/* How likely copper joins two regions at an edge, judged by what the place looks like: a logistic model over a few measures
 * of the saddle. Its weights stand below, with where they came from. A neck's doubt is that of all the ways between its two
 * sides together: when two of four spokes are in doubt, no single place decides.
 *
 * The list is in the order of what a wrong answer would cost: the chance of being wrong times the pairs of pads that would
 * then be told wrongly. Cost: a chord an edge, and for each second way a walk along the tree, which is cut off in a maze.
 */
#include "copper/inside.h"

#include <math.h>
#include <stdlib.h>

const char *const DOUBT_FEATURE_NAMES[DOUBT_FEATURES] = {"one",    "pixel", "value", "neck",   "gap",
                                                         "hidden", "metal", "dip",   "border", "valley"};

/* Log odds for each measure, as measure_edge_looks computes it. Fitted by tools/doubts to 18,797 edges of 44 photos of
 * invented boards at LAYER_SCALE and at 14 px/mm, as a preview has them (boardphoto --seed 7001 --board 1 ... 16, --seed
 * 7002 --crowded --board 17 ... 32 and --hard --board 33 ... 44, finishes in turn, the weights of the network as they
 * stand); bench_boards prints how far they hold on other photos. */
static const double WEIGHTS[DOUBT_FEATURES] = {
    1.313,  /* one */
    0.583,  /* pixel: log odds of the saddle's pixel, within LOG_ODDS_MOST */
    1.291,  /* value: probability with the square round it, -1 ... 1 */
    1.573,  /* neck: its width, mm */
    1.662,  /* gap: its width, mm */
    -3.0,   /* hidden: nothing is seen there, 0 ... 1; rule of thumb: a way that nobody saw is no way until somebody says so
             */
    1.469,  /* metal: bare metal or solder at the saddle, 0 ... 1 */
    -2.377, /* dip: how far below its two sides the saddle lies, 0 ... 1 */
    0.303,  /* border: log2 of the half millimetres along which the two meet, at least 0 */
    -0.745, /* valley: dip times border: a long dip is a gap, not a neck */
};
static const double LOG_ODDS_MOST = 5.5;                     /* what 8 bits of probability bear out */
static const double SIDE_MM = 0.4;                           /* how far from the saddle its sides are looked for */
static const double NECK_REACH_MM = 0.5, GAP_REACH_MM = 1.0; /* wider than this says no more */
static const double BORDER_UNIT_MM =
    0.5; /* most tracks are narrower: a border no longer than that may be a crack across one */
static const double HIDDEN_COUNTS = 0.2; /* what is guessed where nothing is seen counts for so much of what is seen */
static const double SURE = 0.005;        /* less chance of being wrong than this is no doubt */
enum { DOUBTS_MOST = 4096, WALK_MOST = 4 * 1000 * 1000 };

static double model(const double *feature) {
    double sum = 0;
    for (unsigned i = 0; i < DOUBT_FEATURES; i++) sum += WEIGHTS[i] * feature[i];
    return 1 / (1 + exp(-sum));
}

static double log_odds(unsigned char probability) {
    double p = probability / 255.0;
    return p <= 0 ? -LOG_ODDS_MOST : p >= 1 ? LOG_ODDS_MOST : fmax(-LOG_ODDS_MOST, fmin(LOG_ODDS_MOST, log(p / (1 - p))));
}

/* The surest pixel of each of an edge's regions close to its saddle. */
static void find_sides(const Trace *trace, TraceEdge *edge) {
    int64_t x = edge->at % trace->stride, y = edge->at / trace->stride, reach = (int64_t)(SIDE_MM * trace->scale + 0.5);
    edge->side_a = edge->side_b = edge->at;
    unsigned best_a = 0, best_b = 0;
    for (int64_t v = y - reach < 1 ? 1 : y - reach; v <= y + reach && v <= trace->height; v++)
        for (int64_t u = x - reach < 1 ? 1 : x - reach; u <= x + reach && u <= trace->width; u++) {
            size_t at = (size_t)v * trace->stride + (size_t)u;
            if (trace->region[at] == edge->a && trace->value[at] > best_a)
                best_a = trace->value[at], edge->side_a = (uint32_t)at;
            if (trace->region[at] == edge->b && trace->value[at] > best_b)
                best_b = trace->value[at], edge->side_b = (uint32_t)at;
        }
}

static void measure_edge_looks(const Trace *trace, TraceEdge *edge) {
    edge->copper = trace->copper[edge->at] >= TRACE_COPPER;
    double reach = edge->copper ? NECK_REACH_MM : GAP_REACH_MM;
    Chord chord =
        chord_least(trace, trace_mm(trace, edge->at), edge->copper ? CHORD_ANY : CHORD_REGIONS, reach, CHORD_TURNS);
    edge->width = chord.width, edge->from = chord.from, edge->to = chord.to;
    find_sides(trace, edge);
    double width = chord.width > 0 ? fmin(chord.width, reach) : reach;
    double unseen = trace->unseen[edge->at] / 255.0, counts = 1 - unseen * (1 - HIDDEN_COUNTS);
    double sides = fmin(trace->value[edge->side_a], trace->value[edge->side_b]);
    double dip = fmax(0, sides - edge->value) / 255, border = log2(fmax(1, edge->border / trace->scale / BORDER_UNIT_MM));
    double measures[DOUBT_FEATURES] = {1,
                                       counts * log_odds(trace->copper[edge->at]),
                                       counts * (edge->value - 127.5) / 127.5,
                                       edge->copper ? counts * width : 0,
                                       edge->copper ? 0 : counts * width,
                                       unseen,
                                       trace->pad[trace_label_at(trace, edge->at)] / 255.0,
                                       counts * dip,
                                       counts * border,
                                       counts * dip * border};
    memcpy(edge->feature, measures, sizeof measures);
}

void doubt_weigh(Trace *trace) {
#pragma omp parallel for num_threads(2) schedule(dynamic, 64)
    for (uint32_t i = 0; i < trace->edges.count; i++) {
        TraceEdge *edge = &trace->edges.at[i];
        measure_edge_looks(trace, edge);
        edge->p = model(edge->feature);
    }
}

/* ---- the tree that holds each net together ---- */

typedef struct Node {
    uint32_t parent; /* region, 0 at the top */
    uint32_t edge;   /* to the parent */
    uint32_t depth;
    uint32_t pads; /* of the region and all below it */
    uint32_t pads_of_net;
} Node;

typedef struct Forest {
    const Trace *trace;
    Node *node;      /* size regions + 1 */
    uint32_t *order; /* regions, parents before children */
    uint32_t order_count;
    double *broken; /* size edges: the chance that no way joins the two sides of this tree edge */
    const uint32_t *region_of_pad;
    const Copper *copper;
} Forest;

static void visit(Forest *forest, TraceLinks links, uint32_t top) {
    uint32_t next = forest->order_count;
    forest->order[forest->order_count++] = top;
    forest->node[top].depth = 1;
    while (next < forest->order_count) {
        uint32_t region = forest->order[next++];
        for (uint32_t i = links.start[region]; i < links.start[region + 1]; i++) {
            const TraceEdge *edge = &forest->trace->edges.at[links.list[i]];
            uint32_t other = edge->a == region ? edge->b : edge->a;
            if (forest->node[other].depth != 0) continue;
            forest->node[other].parent = region, forest->node[other].edge = links.list[i];
            forest->node[other].depth = forest->node[region].depth + 1;
            forest->order[forest->order_count++] = other;
        }
    }
}

static Forest forest_grow(const Trace *trace, Arena *arena, const Copper *copper, const uint32_t *region_of_pad) {
    uint32_t regions = trace->regions.count;
    TraceLinks links = trace_links(trace, arena, true);
    Forest forest = {.trace = trace, .copper = copper, .region_of_pad = region_of_pad};
    forest.node = arena_many(arena, Node, regions + 1);
    forest.order = arena_many(arena, uint32_t, regions);
    forest.broken = arena_many(arena, double, trace->edges.count);
    for (uint32_t i = 0; i < copper->pads.count; i++) forest.node[region_of_pad[i]].pads++;
    for (uint32_t region = 1; region <= regions; region++)
        if (forest.node[region].depth == 0) visit(&forest, links, region);
    for (uint32_t i = regions; i-- > 0;) {
        const Node *node = &forest.node[forest.order[i]];
        forest.node[node->parent].pads += node->parent == 0 ? 0 : node->pads;
    }
    for (uint32_t i = 0; i < regions; i++) {
        Node *node = &forest.node[forest.order[i]];
        node->pads_of_net = node->parent == 0 ? node->pads : forest.node[node->parent].pads_of_net;
    }
    for (uint32_t i = 0; i < trace->edges.count; i++) forest.broken[i] = 1 - trace->edges.at[i].together;
    return forest;
}

/* Every second way stands in for each tree edge between its two ends. */
static void count_second_ways(Forest *forest) {
    uint32_t steps = 0;
    for (uint32_t i = 0; i < forest->trace->edges.count && steps < WALK_MOST; i++) {
        const TraceEdge *edge = &forest->trace->edges.at[i];
        if (edge->tree || !edge->joined) continue;
        uint32_t a = edge->a, b = edge->b;
        for (; a != b && a != 0 && b != 0 && steps < WALK_MOST; steps++) {
            uint32_t *lower = forest->node[a].depth >= forest->node[b].depth ? &a : &b;
            forest->broken[forest->node[*lower].edge] *= 1 - edge->together;
            *lower = forest->node[*lower].parent;
        }
    }
}

/* ---- the list ---- */

typedef struct Candidate {
    uint32_t edge;
    double p, cost;
} Candidate;

typedef LIST(Candidate) Candidates;

static int by_falling_cost(const void *a, const void *b) {
    const Candidate *one = a, *two = b;
    if (one->cost != two->cost) return one->cost < two->cost ? 1 : -1;
    double doubt_one = fmin(one->p, 1 - one->p), doubt_two = fmin(two->p, 1 - two->p);
    if (doubt_one != doubt_two) return doubt_one < doubt_two ? 1 : -1;
    return one->edge < two->edge ? -1 : 1;
}

/* joined: how it was taken, which is not always the likelier. */
static void add_candidate(Arena *arena, Candidates *list, uint32_t edge, bool joined, double p, double pads_a,
                          double pads_b) {
    double wrong = joined ? 1 - p : p;
    if (wrong >= SURE) list_push(arena, list, ((Candidate){edge, p, wrong * pads_a * pads_b}));
}

static void add_necks(const Forest *forest, Arena *arena, Candidates *list) {
    for (uint32_t region = 1; region <= forest->trace->regions.count; region++) {
        const Node *node = &forest->node[region];
        if (node->parent == 0 || forest->trace->edges.at[node->edge].told) continue;
        if (forest->trace->regions.at[region - 1].net == 0) continue;
        add_candidate(arena, list, node->edge, true, 1 - forest->broken[node->edge], node->pads,
                      node->pads_of_net - node->pads);
    }
}

typedef struct Between {
    uint64_t nets;
    uint32_t edge;
    double p;
} Between;

static int by_nets_then_p(const void *a, const void *b) {
    const Between *one = a, *two = b;
    if (one->nets != two->nets) return one->nets < two->nets ? -1 : 1;
    if (one->p != two->p) return one->p < two->p ? 1 : -1;
    return one->edge < two->edge ? -1 : 1;
}

/* For each two nets the likeliest gap between them; none when a word has told that they are apart. */
static void add_gaps(const Forest *forest, Arena *arena, Candidates *list) {
    const Trace *trace = forest->trace;
    LIST(Between) gaps = {0};
    for (uint32_t i = 0; i < trace->edges.count; i++) {
        uint32_t a = trace->regions.at[trace->edges.at[i].a - 1].net, b = trace->regions.at[trace->edges.at[i].b - 1].net;
        if (a == b || a == 0 || b == 0) continue;
        uint64_t nets = a < b ? (uint64_t)a << 32 | b : (uint64_t)b << 32 | a;
        list_push(arena, &gaps, ((Between){nets, i, trace->edges.at[i].told ? 2 : trace->edges.at[i].together}));
    }
    if (gaps.count > 0) qsort(gaps.at, gaps.count, sizeof *gaps.at, by_nets_then_p);
    for (uint32_t i = 0; i < gaps.count; i++) {
        if ((i > 0 && gaps.at[i].nets == gaps.at[i - 1].nets) || gaps.at[i].p > 1) continue;
        const TraceEdge *edge = &trace->edges.at[gaps.at[i].edge];
        add_candidate(arena, list, gaps.at[i].edge, false, gaps.at[i].p, forest->node[edge->a].pads_of_net,
                      forest->node[edge->b].pads_of_net);
    }
}

/* What a person would see there. */
static Text looks(Arena *arena, const Trace *trace, const TraceEdge *edge) {
    const char *where = trace->unseen[edge->at] >= 128 ? " where the photo shows nothing" : "";
    double pixel = trace->copper[edge->at] / 2.55;
    if (edge->width <= 0 && *where != '\0') return text_fmt(arena, "a way%s", where);
    if (edge->width <= 0) return text_fmt(arena, "a wide place, %.0f %% like copper", pixel);
    return text_fmt(arena, "a %s of %.2f mm, %.0f %% like copper%s", edge->copper ? "neck" : "gap", edge->width, pixel,
                    where);
}

/* Where to put a probe on one side of an edge: the nearest pad of its region, else the middle of its copper. */
static PlacePoint probe(const Forest *forest, uint32_t region, PlacePoint from) {
    double least = INFINITY;
    PlacePoint best = trace_mm(forest->trace, forest->trace->regions.at[region - 1].peak_at);
    for (uint32_t i = 0; i < forest->copper->pads.count; i++) {
        const CopperPad *pad = &forest->copper->pads.at[i];
        double x = pad->at.x - from.x, y = pad->at.y - from.y, far = x * x + y * y;
        if (forest->region_of_pad[i] == region && far < least) least = far, best = pad->at;
    }
    return best;
}

static void tell(Arena *arena, const Forest *forest, const Candidate *candidate, CopperDoubt *doubt) {
    const Trace *trace = forest->trace;
    const TraceEdge *edge = &trace->edges.at[candidate->edge];
    doubt->at = trace_mm(trace, edge->at);
    doubt->joined = edge->joined;
    doubt->p_joined = candidate->p;
    doubt->width = edge->width;
    doubt->looks = looks(arena, trace, edge);
    doubt->a = probe(forest, edge->a, doubt->at), doubt->b = probe(forest, edge->b, doubt->at);
    doubt->net_a = trace->regions.at[edge->a - 1].net, doubt->net_b = trace->regions.at[edge->b - 1].net;
}

void doubt_list(Arena *arena, Trace *trace, Copper *copper) {
    uint32_t *region_of_pad = arena_many(trace->arena, uint32_t, copper->pads.count);
    for (uint32_t i = 0; i < copper->pads.count; i++) {
        size_t at = trace_copper_near(trace, copper->pads.at[i].at, 1.0);
        region_of_pad[i] = at == 0 ? 0 : trace->region[at];
    }
    Forest forest = forest_grow(trace, trace->arena, copper, region_of_pad);
    count_second_ways(&forest);
    Candidates list = {0};
    add_necks(&forest, trace->arena, &list);
    add_gaps(&forest, trace->arena, &list);
    if (list.count > 0) qsort(list.at, list.count, sizeof *list.at, by_falling_cost);
    for (uint32_t i = 0; i < list.count && i < DOUBTS_MOST; i++)
        tell(arena, &forest, &list.at[i], list_add(arena, &copper->doubts));
}
