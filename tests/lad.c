#include "tests/lad.h"

#include <igraph.h>
#include <time.h>

enum { PATTERN_VERTICES_MOST = ROLES_MOST + PATTERN_PINS_MOST + PATTERN_NETS_MOST };

/* The bench as vertices: units first, then their pins, then nets. */
typedef struct Vertices {
    const Bench *bench;
    uint32_t *pin_start; /* size unit count + 1: pin k of unit u is vertex pin_start[u] + k */
    uint32_t net_start;
    igraph_integer_t *kept; /* by vertex: its number in the graph, or -1 */
    igraph_integer_t kept_count;
} Vertices;

/* The pattern's vertices and, for each, which vertices of the bench it may stand for. */
typedef struct Shape {
    const Pattern *pattern;
    const bool *absent; /* size pin count: optional pins that are taken to be not noted */
    int32_t role[ROLES_MOST], pin[PATTERN_PINS_MOST], net[PATTERN_NETS_MOST]; /* vertex, -1 when it takes no part */
    uint32_t count;
    LIST(uint32_t) domain[PATTERN_VERTICES_MOST];
} Shape;

static Vertices number_vertices(Arena *arena, const Bench *bench) {
    Vertices vertices = {.bench = bench, .pin_start = arena_many(arena, uint32_t, bench->units.count + 1)};
    uint32_t next = bench->units.count;
    for (uint32_t u = 0; u < bench->units.count; u++) {
        vertices.pin_start[u] = next;
        next += bench->units.at[u].pin_count;
    }
    vertices.pin_start[bench->units.count] = vertices.net_start = next;
    next += bench->nets.count;
    vertices.kept = arena_many(arena, igraph_integer_t, next);
    for (uint32_t v = 0; v < next; v++) vertices.kept[v] = -1;
    return vertices;
}

static bool is_main(const Pattern *pattern, uint32_t role) {
    for (uint32_t i = 0; i < pattern->main_count; i++)
        if (pattern->main_roles[i] == role) return true;
    return false;
}

/* Which roles, pins and nets the needs speak of. */
static Shape number_shape(const Pattern *pattern, const bool *absent) {
    Shape shape = {.pattern = pattern, .absent = absent};
    for (uint32_t i = 0; i < ROLES_MOST; i++) shape.role[i] = -1;
    for (uint32_t i = 0; i < PATTERN_NETS_MOST; i++) shape.net[i] = -1;
    for (uint32_t i = 0; i < PATTERN_PINS_MOST; i++) shape.pin[i] = -1;
    for (uint32_t i = 0; i < pattern->main_count; i++) shape.role[pattern->main_roles[i]] = (int32_t)shape.count++;
    for (uint32_t i = 0; i < pattern->pin_count; i++) {
        const PatternPin *pin = &pattern->pins[i];
        if (!is_main(pattern, pin->role) || pin->group != 0) continue;
        if (pin->position != PIN_ANY) shape.pin[i] = (int32_t)shape.count++;
        if (shape.net[pin->net] == -1 && !absent[i]) shape.net[pin->net] = (int32_t)shape.count++;
    }
    for (uint32_t i = 0; i < pattern->net_count && pattern->main_count == 0; i++)
        if (pattern->nets[i].floating) shape.net[i] = (int32_t)shape.count++;
    return shape;
}

/* May pin k of the unit be what the pattern calls by this position? The kind's alike pins may change places. */
static bool pin_may(const BenchUnit *unit, uint32_t k, int position) {
    if (position == PIN_VARIABLE) return true;
    if (unit->kind->pin_count == 0) return false;
    return k == (uint32_t)position || k == unit->kind->mate[position];
}

static bool net_may(const struct Rail *rail, const PatternNet *net) {
    if ((net->ground && !rail->ground) || (net->no_ground && rail->ground)) return false;
    return !(net->supply && !rail->supply) && !(net->no_supply && rail->supply);
}

static void fill_domains(Arena *arena, Shape *shape, const Vertices *vertices, const struct Rail *rails) {
    const Pattern *pattern = shape->pattern;
    const Bench *bench = vertices->bench;
    for (uint32_t r = 0; r < pattern->role_count; r++)
        for (uint32_t u = 0; shape->role[r] >= 0 && u < bench->units.count; u++)
            if (bench_kind_is(bench->units.at[u].kind, pattern->roles[r].kind))
                list_push(arena, &shape->domain[shape->role[r]], u);
    for (uint32_t p = 0; p < pattern->pin_count; p++)
        for (uint32_t u = 0; shape->pin[p] >= 0 && u < bench->units.count; u++) {
            const BenchUnit *unit = &bench->units.at[u];
            if (!bench_kind_is(unit->kind, pattern->roles[pattern->pins[p].role].kind)) continue;
            for (uint32_t k = 0; k < unit->pin_count; k++)
                if ((unit->pins[k] == BENCH_NONE) == shape->absent[p] && pin_may(unit, k, pattern->pins[p].position))
                    list_push(arena, &shape->domain[shape->pin[p]], vertices->pin_start[u] + k);
        }
    for (uint32_t n = 0; n < pattern->net_count; n++)
        for (uint32_t net = 0; shape->net[n] >= 0 && net < bench->nets.count; net++)
            if (net_may(&rails[net], &pattern->nets[n]))
                list_push(arena, &shape->domain[shape->net[n]], vertices->net_start + net);
}

/* Numbers the vertices that stand in some domain. */
static void keep_vertices(const Shape *shape, Vertices *vertices) {
    for (uint32_t i = 0; i < shape->count; i++)
        for (uint32_t k = 0; k < shape->domain[i].count; k++) {
            igraph_integer_t *kept = &vertices->kept[shape->domain[i].at[k]];
            if (*kept == -1) *kept = vertices->kept_count++;
        }
}

static void add_edge(igraph_vector_int_t *edges, igraph_integer_t a, igraph_integer_t b) {
    if (a < 0 || b < 0) return;
    igraph_vector_int_push_back(edges, a);
    igraph_vector_int_push_back(edges, b);
}

static void build_target(const Vertices *vertices, igraph_t *graph) {
    const Bench *bench = vertices->bench;
    igraph_vector_int_t edges;
    igraph_vector_int_init(&edges, 0);
    for (uint32_t u = 0; u < bench->units.count; u++)
        for (uint32_t k = 0; k < bench->units.at[u].pin_count; k++) {
            uint32_t pin = bench->units.at[u].pins[k];
            igraph_integer_t unit = vertices->kept[u], end = vertices->kept[vertices->pin_start[u] + k];
            add_edge(&edges, unit, end);
            if (pin == BENCH_NONE) continue;
            igraph_integer_t net = vertices->kept[vertices->net_start + bench->pins.at[pin].net];
            add_edge(&edges, end, net);
            add_edge(&edges, unit, net);
        }
    igraph_create(graph, &edges, vertices->kept_count, IGRAPH_UNDIRECTED);
    igraph_simplify(graph, true, true, NULL);
    igraph_vector_int_destroy(&edges);
}

static void build_pattern(const Shape *shape, igraph_t *graph) {
    igraph_vector_int_t edges;
    igraph_vector_int_init(&edges, 0);
    for (uint32_t i = 0; i < shape->pattern->pin_count; i++) {
        const PatternPin *pin = &shape->pattern->pins[i];
        if (pin->group != 0) continue;
        if (pin->position == PIN_ANY) {
            add_edge(&edges, shape->role[pin->role], shape->net[pin->net]);
            continue;
        }
        add_edge(&edges, shape->role[pin->role], shape->pin[i]);
        if (!shape->absent[i]) add_edge(&edges, shape->pin[i], shape->net[pin->net]);
    }
    igraph_create(graph, &edges, (igraph_integer_t)shape->count, IGRAPH_UNDIRECTED);
    igraph_simplify(graph, true, true, NULL);
    igraph_vector_int_destroy(&edges);
}

static void give_domains(const Shape *shape, const Vertices *vertices, igraph_vector_int_list_t *domains) {
    igraph_vector_int_list_init(domains, shape->count);
    for (uint32_t i = 0; i < shape->count; i++)
        for (uint32_t k = 0; k < shape->domain[i].count; k++)
            igraph_vector_int_push_back(igraph_vector_int_list_get_ptr(domains, i), vertices->kept[shape->domain[i].at[k]]);
}

static double seconds(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* A vertex that may stand for nothing: no match, and nothing to ask igraph. */
static bool is_hopeless(const Shape *shape) {
    for (uint32_t i = 0; i < shape->count; i++)
        if (shape->domain[i].count == 0) return true;
    return false;
}

static LadAnswer count_shape(Arena *arena, const Bench *bench, const struct Rail *rails, Shape shape, int seconds_most) {
    Vertices vertices = number_vertices(arena, bench);
    fill_domains(arena, &shape, &vertices, rails);
    if (shape.count == 0) return (LadAnswer){.count = 1, .done = true}; /* nothing fits anything in just one way */
    if (is_hopeless(&shape)) return (LadAnswer){.done = true};
    keep_vertices(&shape, &vertices);
    igraph_t target, wanted;
    igraph_vector_int_list_t domains, maps;
    build_target(&vertices, &target);
    build_pattern(&shape, &wanted);
    give_domains(&shape, &vertices, &domains);
    igraph_vector_int_list_init(&maps, 0);
    igraph_bool_t any;
    igraph_error_handler_t *usual = igraph_set_error_handler(igraph_error_handler_ignore);
    double before = seconds();
    igraph_error_t error = igraph_subisomorphic_lad(&wanted, &target, &domains, &any, NULL, &maps, false, seconds_most);
    igraph_set_error_handler(usual);
    LadAnswer answer = {.count = (uint64_t)igraph_vector_int_list_size(&maps),
                        .seconds = seconds() - before,
                        .vertices = (uint32_t)vertices.kept_count,
                        .done = error == IGRAPH_SUCCESS};
    igraph_vector_int_list_destroy(&maps);
    igraph_vector_int_list_destroy(&domains);
    igraph_destroy(&wanted);
    igraph_destroy(&target);
    return answer;
}

LadAnswer lad_count(Arena *arena, const Bench *bench, const struct Rail *rails, const Pattern *pattern, int seconds_most) {
    uint32_t optional[PATTERN_PINS_MOST], count = 0;
    for (uint32_t i = 0; i < pattern->pin_count; i++)
        if (pattern->pins[i].optional && pattern->pins[i].group == 0) optional[count++] = i;
    LadAnswer all = {.done = true};
    for (uint64_t subset = 0; subset >> count == 0 && all.done; subset++) {
        bool absent[PATTERN_PINS_MOST] = {false};
        for (uint32_t i = 0; i < count; i++) absent[optional[i]] = subset >> i & 1;
        LadAnswer answer = count_shape(arena, bench, rails, number_shape(pattern, absent), seconds_most);
        all.count += answer.count;
        all.seconds += answer.seconds;
        all.vertices = answer.vertices > all.vertices ? answer.vertices : all.vertices;
        all.done = answer.done;
    }
    return all;
}
