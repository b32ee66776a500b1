/* What a person or a meter said, put over what the photo shows. Cuts and hidden places are drawn into the pictures before
 * anything is read from them. Then, meter before eye, each in the order given: `apart` forbids two regions one net (one
 * region is first cut in its narrowest place), `joined` takes the likeliest way between two places (Dijkstra 1959 over the
 * edges, a way as long as it is unlikely) and, where no way is likely, joins the nets without copper: through a wire, a
 * part or the other side. A word that can't be kept, or that the photo speaks strongly against, is a conflict with its
 * place. */
#include "copper/inside.h"

#include <math.h>

static const double SNAP_MM = 0.4;      /* a place given by hand is meant for the copper this near */
static const double CUT_REACH_MM = 10;  /* across the widest track */
static const double CUT_HALF_MM = 0.06; /* a knife's line */
static const double WAY_LEAST = 0.001;  /* less likely than this: joined, but not by copper that can be seen */
static const double STRONGLY = 0.99;    /* the photo speaks strongly against a word */

/* ---- drawing ---- */

static void draw_line(const Trace *trace, unsigned char *picture, PlacePoint from, PlacePoint to, double half,
                      unsigned char as) {
    double steps = ceil(hypot(to.x - from.x, to.y - from.y) * trace->scale * 2) + 1, round = half * trace->scale + 0.5;
    for (double i = 0; i <= steps && steps < 1e6; i++) {
        double x = (from.x + (to.x - from.x) * i / steps) * trace->scale,
               y = (from.y + (to.y - from.y) * i / steps) * trace->scale;
        for (double v = floor(y - round); v <= y + round; v++)
            for (double u = floor(x - round); u <= x + round; u++) {
                bool inside = u >= 0 && v >= 0 && u < trace->width && v < trace->height;
                if (inside && hypot(u + 0.5 - x, v + 0.5 - y) <= round)
                    picture[trace_at(trace, (uint32_t)u, (uint32_t)v)] = as;
            }
    }
}

/* Across the copper at the place, where that is shortest, and a little beyond. */
static void draw_cut(Trace *trace, PlacePoint at) {
    Chord chord = chord_least(trace, at, CHORD_ANY, CUT_REACH_MM, CHORD_TURNS);
    if (chord.width <= 0 || trace->copper[trace_pixel(trace, at)] < TRACE_COPPER) return;
    double beyond = 1.5 / trace->scale, x = cos(chord.turn) * beyond, y = sin(chord.turn) * beyond;
    draw_line(trace, trace->copper, (PlacePoint){chord.from.x - x, chord.from.y - y},
              (PlacePoint){chord.to.x + x, chord.to.y + y}, fmax(CUT_HALF_MM, 1 / trace->scale), 0);
}

/* Fills a polygon: a pixel is inside when a ray from its centre crosses the polygon's sides an odd number of times. */
static void draw_hidden(Trace *trace, const CopperWord *word) {
    for (uint32_t y = 0; y < trace->height; y++)
        for (uint32_t i = 0, j = word->count - 1; i < word->count; j = i++) {
            PlacePoint a = word->at[i], b = word->at[j];
            double v = (y + 0.5) / trace->scale;
            if ((a.y > v) == (b.y > v)) continue;
            double from = (a.x + (v - a.y) / (b.y - a.y) * (b.x - a.x)) * trace->scale - 0.5;
            if (!(from < trace->width)) continue;
            uint32_t x = from <= 0 ? 0 : (uint32_t)ceil(from);
            for (unsigned char *at = trace->unseen + trace_at(trace, 0, y); x < trace->width; x++)
                at[x] = (unsigned char)~at[x];
        }
}

static void draw_all_hidden(Trace *trace, const CopperWord *words, size_t count) {
    size_t pixels = (size_t)trace->stride * (trace->height + 2);
    unsigned char *before = NULL;
    for (size_t i = 0; i < count; i++) {
        if (words[i].sort != COPPER_HIDDEN || words[i].count < 3) continue;
        if (before == NULL) before = arena_many(trace->arena, unsigned char, pixels);
        memcpy(before, trace->unseen, pixels);
        memset(trace->unseen, 0, pixels);
        draw_hidden(trace, &words[i]);
        for (size_t k = 0; k < pixels; k++) trace->unseen[k] |= before[k];
    }
}

void words_draw(Trace *trace, const CopperWord *words, size_t count) {
    draw_all_hidden(trace, words, count);
    for (size_t i = 0; i < count; i++)
        if (words[i].sort == COPPER_CUT && words[i].count > 0 && trace_pixel(trace, words[i].at[0]) != 0)
            draw_cut(trace, words[i].at[0]);
}

/* ---- conflicts ---- */

static void conflict(Arena *arena, Copper *copper, const CopperWord *word, PlacePoint at, Text says) {
    list_push(arena, &copper->conflicts, ((CopperConflict){.at = at, .says = says, .line = word->line}));
}

static const char *said_by(const CopperWord *word) { return word->meter ? "a meter" : "an eye"; }

/* ---- the likeliest way between two regions ---- */

typedef struct Way {
    double length; /* -ln of its probability */
    uint32_t edge; /* by which it came, + 1 */
    bool done;
} Way;

typedef struct Waiting {
    double length;
    uint32_t region;
} Waiting;

typedef struct Search {
    Arena *arena;
    Trace *trace;
    TraceLinks links;
    Way *way; /* size regions + 1 */
    LIST(Waiting) heap;
} Search;

static void heap_push(Search *search, Waiting item) {
    list_push(search->arena, &search->heap, item);
    uint32_t i = search->heap.count - 1;
    for (; i > 0 && search->heap.at[(i - 1) / 2].length > item.length; i = (i - 1) / 2)
        search->heap.at[i] = search->heap.at[(i - 1) / 2];
    search->heap.at[i] = item;
}

static Waiting heap_pop(Search *search) {
    Waiting least = search->heap.at[0], last = search->heap.at[--search->heap.count];
    uint32_t i = 0, count = search->heap.count;
    for (uint32_t child; (child = 2 * i + 1) < count; i = child) {
        if (child + 1 < count && search->heap.at[child + 1].length < search->heap.at[child].length) child++;
        if (search->heap.at[child].length >= last.length) break;
        search->heap.at[i] = search->heap.at[child];
    }
    if (count > 0) search->heap.at[i] = last;
    return least;
}

static void go_on(Search *search, Waiting from, const TraceAparts *aparts, uint32_t a, uint32_t b) {
    for (uint32_t i = search->links.start[from.region]; i < search->links.start[from.region + 1]; i++) {
        uint32_t number = search->links.list[i];
        const TraceEdge *edge = &search->trace->edges.at[number];
        uint32_t to = edge->a == from.region ? edge->b : edge->a;
        double length = from.length - (edge->joined ? 0 : log(edge->p));
        Way *way = &search->way[to];
        if (way->done || length > -log(WAY_LEAST) || (way->edge != 0 && way->length <= length)) continue;
        if (trace_kept_apart(search->trace, aparts, a, to) != 0 || trace_kept_apart(search->trace, aparts, b, to) != 0)
            continue;
        way->length = length, way->edge = number + 1;
        heap_push(search, (Waiting){length, to});
    }
}

/* False when no way is likely enough. */
static bool find_way(Search *search, const TraceAparts *aparts, uint32_t a, uint32_t b) {
    memset(search->way, 0, (search->trace->regions.count + 1) * sizeof *search->way);
    search->heap.count = 0;
    heap_push(search, (Waiting){0, a});
    while (search->heap.count > 0) {
        Waiting next = heap_pop(search);
        if (search->way[next.region].done) continue;
        search->way[next.region].done = true;
        if (next.region == b) return true;
        go_on(search, next, aparts, a, b);
    }
    return false;
}

/* ---- settling ---- */

typedef struct Settle {
    Arena *arena;
    Trace *trace;
    Copper *copper;
    const CopperWord *words;
    size_t *pixel_a, *pixel_b; /* of each word; 0: no copper there */
    TraceAparts aparts;
    Search search;
} Settle;

static bool has_two_ends(const CopperWord *word) {
    return word->count >= 2 && (word->sort == COPPER_JOINED || word->sort == COPPER_APART || word->sort == COPPER_BRIDGE);
}

/* Finds the copper that a word speaks of; where both ends are in one region that must be two, cuts it. */
static void find_ends(Settle *settle, size_t i) {
    const CopperWord *word = &settle->words[i];
    Trace *trace = settle->trace;
    settle->pixel_a[i] = trace_copper_near(trace, word->at[0], SNAP_MM);
    settle->pixel_b[i] = trace_copper_near(trace, word->at[1], SNAP_MM);
    size_t a = settle->pixel_a[i], b = settle->pixel_b[i];
    for (unsigned k = 0; k < 2; k++)
        if ((k == 0 ? a : b) == 0)
            conflict(settle->arena, settle->copper, word, word->at[k],
                     text_fmt(settle->arena, "%s found copper here, the photo shows none within %.1f mm", said_by(word),
                              SNAP_MM));
    if (a == 0 || b == 0) settle->pixel_a[i] = 0;
    if (word->sort == COPPER_APART && a == b && a != 0) {
        settle->pixel_a[i] = 0;
        conflict(settle->arena, settle->copper, word, word->at[0], TEXT("one place can't be apart from itself"));
        return;
    }
    if (a != 0 && b != 0 && word->sort == COPPER_APART && trace->region[a] == trace->region[b]) trace_split(trace, a, b);
}

static void contradicts(Settle *settle, size_t i, uint32_t other) {
    const CopperWord *word = &settle->words[i], *against = &settle->words[other - 1];
    Text line = against->line == 0 ? TEXT("what was said before") : text_fmt(settle->arena, "line %u", against->line);
    conflict(settle->arena, settle->copper, word, word->at[0],
             text_fmt(settle->arena, "%s says %s, against %.*s, which counts", said_by(word),
                      word->sort == COPPER_APART ? "apart" : "joined", TEXT_ARG(line)));
}

static void unite(Trace *trace, uint32_t a, uint32_t b) {
    trace->regions.at[trace_root(trace, b) - 1].up = trace_root(trace, a);
}

static void tell_no_way(Settle *settle, size_t i) {
    const CopperWord *word = &settle->words[i];
    conflict(settle->arena, settle->copper, word, word->at[0],
             text_fmt(settle->arena, "%s says joined, the photo shows no way for it on this side", said_by(word)));
    settle->copper->conflicts.at[settle->copper->conflicts.count - 1].no_way = (uint32_t)i + 1;
}

static void join(Settle *settle, size_t i) {
    Trace *trace = settle->trace;
    const CopperWord *word = &settle->words[i];
    uint32_t a = trace->region[settle->pixel_a[i]], b = trace->region[settle->pixel_b[i]];
    uint32_t against = trace_kept_apart(trace, &settle->aparts, a, b);
    if (against != 0) {
        contradicts(settle, i, against);
        return;
    }
    if (trace_root(trace, a) == trace_root(trace, b)) return;
    if (word->sort == COPPER_JOINED && find_way(&settle->search, &settle->aparts, a, b)) {
        for (uint32_t at = b; at != a;) {
            TraceEdge *edge = &trace->edges.at[settle->search.way[at].edge - 1];
            uint32_t before = edge->a == at ? edge->b : edge->a;
            if (!edge->joined) edge->joined = true, edge->told = (uint32_t)i + 1;
            if (trace_root(trace, before) != trace_root(trace, at)) edge->tree = true;
            unite(trace, before, at);
            at = before;
        }
        return;
    }
    unite(trace, a, b);
    if (word->sort == COPPER_BRIDGE)
        list_push(trace->arena, &trace->bridges, ((TraceBridge){word->at[0], word->at[1], a}));
    else
        tell_no_way(settle, i);
}

static void keep_apart(Settle *settle, size_t i) {
    Trace *trace = settle->trace;
    uint32_t a = trace->region[settle->pixel_a[i]], b = trace->region[settle->pixel_b[i]];
    if (trace_root(trace, a) != trace_root(trace, b)) {
        list_push(trace->arena, &settle->aparts, ((TraceApart){a, b, (uint32_t)i}));
        return;
    }
    uint32_t other = 0;
    for (uint32_t k = 0; k < trace->edges.count && other == 0; k++)
        if (trace->edges.at[k].joined && trace_root(trace, trace->edges.at[k].a) == trace_root(trace, a))
            other = trace->edges.at[k].told;
    if (other == 0) other = (uint32_t)i + 1;
    contradicts(settle, i, other);
}

/* Words that the photo speaks strongly against: each once, at its worst place. */
static void tell_strong(Settle *settle, size_t count) {
    const TraceEdge **worst = arena_many(settle->trace->arena, const TraceEdge *, count);
    for (uint32_t i = 0; i < settle->trace->edges.count; i++) {
        const TraceEdge *edge = &settle->trace->edges.at[i];
        double against = edge->joined ? 1 - edge->p : edge->p;
        if (edge->told == 0 || against < STRONGLY) continue;
        const TraceEdge **slot = &worst[edge->told - 1];
        if (*slot == NULL || against > ((*slot)->joined ? 1 - (*slot)->p : (*slot)->p)) *slot = edge;
    }
    for (size_t i = 0; i < count; i++) {
        if (worst[i] == NULL) continue;
        const CopperWord *word = &settle->words[i];
        conflict(settle->arena, settle->copper, word, trace_mm(settle->trace, worst[i]->at),
                 text_fmt(settle->arena, "%s says %s, the photo shows %s of %.2f mm here", said_by(word),
                          worst[i]->joined ? "joined" : "apart", worst[i]->copper ? "copper" : "a gap", worst[i]->width));
    }
}

void words_settle(Arena *arena, Trace *trace, const CopperWord *words, size_t count, Copper *copper) {
    Settle settle = {.arena = arena, .trace = trace, .copper = copper, .words = words};
    settle.pixel_a = arena_many(trace->arena, size_t, count);
    settle.pixel_b = arena_many(trace->arena, size_t, count);
    for (size_t i = 0; i < count; i++)
        if (has_two_ends(&words[i])) find_ends(&settle, i);
    doubt_weigh(trace);
    settle.search = (Search){.arena = trace->arena, .trace = trace, .links = trace_links(trace, trace->arena, false)};
    settle.search.way = arena_many(trace->arena, Way, trace->regions.count + 1);
    for (int meter = 1; meter >= 0; meter--)
        for (size_t i = 0; i < count; i++) {
            if (words[i].meter != (meter == 1) || !has_two_ends(&words[i]) || settle.pixel_a[i] == 0) continue;
            if (words[i].sort == COPPER_APART)
                keep_apart(&settle, i);
            else
                join(&settle, i);
        }
    trace_join(trace, &settle.aparts);
    for (uint32_t i = 0; i < trace->edges.count && settle.aparts.count > 0; i++) {
        TraceEdge *edge = &trace->edges.at[i];
        if (!edge->joined) edge->told = trace_kept_apart(trace, &settle.aparts, edge->a, edge->b);
    }
    tell_strong(&settle, count);
}
