/* The smallest distance between two sets of nets, from their outlines: the least distance of two outlines is that of some
 * corner of one from some side of the other. The sides of one set are sorted into square cells; each corner of the other
 * looks through the cells round it, ring by ring, until no nearer one can come. */
#include "copper/copper.h"

#include <math.h>

enum { CELLS = 64 /* along the longer edge of the board */ };

typedef struct Side {
    PlacePoint a, b;
    uint32_t next; /* in the same cell, + 1 */
} Side;

typedef struct Cells {
    Arena *arena;
    double size;
    uint32_t columns, rows;
    uint32_t *first; /* size columns * rows: side + 1 */
    LIST(Side) sides;
} Cells;

typedef struct Found {
    double width;
    PlacePoint from, to;
} Found;

static uint32_t cell_of(double mm, double size, uint32_t count) {
    double cell = floor(mm / size);
    return cell < 0 ? 0 : cell >= count ? count - 1 : (uint32_t)cell;
}

/* A side goes into the cell of its middle; sides are cut so short that this is near enough (see look). */
static void add_side(Cells *cells, PlacePoint a, PlacePoint b) {
    double parts = ceil(hypot(b.x - a.x, b.y - a.y) / cells->size);
    for (double i = 0; i < parts; i++) {
        PlacePoint from = {a.x + (b.x - a.x) * i / parts, a.y + (b.y - a.y) * i / parts};
        PlacePoint to = {a.x + (b.x - a.x) * (i + 1) / parts, a.y + (b.y - a.y) * (i + 1) / parts};
        uint32_t column = cell_of((from.x + to.x) / 2, cells->size, cells->columns);
        uint32_t *first = &cells->first[cell_of((from.y + to.y) / 2, cells->size, cells->rows) * cells->columns + column];
        list_push(cells->arena, &cells->sides, ((Side){from, to, *first}));
        *first = cells->sides.count;
    }
}

static Cells cells_of(Arena *arena, const Copper *copper, const unsigned char *side, unsigned which) {
    Cells cells = {.arena = arena, .size = fmax(copper->width_mm, copper->height_mm) / CELLS};
    cells.columns = (uint32_t)ceil(copper->width_mm / cells.size),
    cells.rows = (uint32_t)ceil(copper->height_mm / cells.size);
    cells.first = arena_many(arena, uint32_t, (size_t)cells.columns * cells.rows);
    for (uint32_t n = 0; n < copper->nets.count; n++) {
        if (side[n + 1] != which) continue;
        for (uint32_t r = 0; r < copper->nets.at[n].ring_count; r++) {
            const CopperRing *ring = &copper->nets.at[n].rings[r];
            for (uint32_t i = 0, j = ring->count - 1; i < ring->count; j = i++) add_side(&cells, ring->at[j], ring->at[i]);
        }
    }
    return cells;
}

static void try_side(const Side *side, PlacePoint p, Found *found) {
    double dx = side->b.x - side->a.x, dy = side->b.y - side->a.y, square = dx * dx + dy * dy;
    double t = square > 0 ? ((p.x - side->a.x) * dx + (p.y - side->a.y) * dy) / square : 0;
    t = t < 0 ? 0 : t > 1 ? 1 : t;
    PlacePoint to = {side->a.x + t * dx, side->a.y + t * dy};
    double width = hypot(p.x - to.x, p.y - to.y);
    if (width < found->width) *found = (Found){width, p, to};
}

/* Cells `ring` away hold nothing nearer than (ring - 1.5) cells: the middle of a side may be half a cell from its end. */
static void look(const Cells *cells, PlacePoint p, Found *found) {
    int64_t x = cell_of(p.x, cells->size, cells->columns), y = cell_of(p.y, cells->size, cells->rows);
    int64_t most = cells->columns > cells->rows ? cells->columns : cells->rows;
    for (int64_t ring = 0; ring <= most && ((double)ring - 1.5) * cells->size < found->width; ring++)
        for (int64_t v = y - ring; v <= y + ring; v++) {
            if (v < 0 || v >= cells->rows) continue;
            int64_t step = v == y - ring || v == y + ring || ring == 0 ? 1 : 2 * ring;
            for (int64_t u = x - ring; u <= x + ring; u += step) {
                if (u < 0 || u >= cells->columns) continue;
                for (uint32_t i = cells->first[v * cells->columns + u]; i != 0; i = cells->sides.at[i - 1].next)
                    try_side(&cells->sides.at[i - 1], p, found);
            }
        }
}

double copper_gap_between(const Copper *copper, const unsigned char *side, PlacePoint *at) {
    Found found = {.width = INFINITY};
    if (copper->nets.count == 0) return INFINITY;
    Arena *arena = arena_new();
    for (unsigned which = 1; which <= 2; which++) {
        Cells cells = cells_of(arena, copper, side, which);
        for (uint32_t n = 0; n < copper->nets.count && cells.sides.count > 0; n++) {
            if (side[n + 1] != 3 - which) continue;
            for (uint32_t r = 0; r < copper->nets.at[n].ring_count; r++)
                for (uint32_t i = 0; i < copper->nets.at[n].rings[r].count; i++)
                    look(&cells, copper->nets.at[n].rings[r].at[i], &found);
        }
    }
    arena_free(arena);
    if (isfinite(found.width)) *at = (PlacePoint){(found.from.x + found.to.x) / 2, (found.from.y + found.to.y) / 2};
    return found.width;
}
