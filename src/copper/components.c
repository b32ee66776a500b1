/* Connected pieces by runs: each row is cut into runs of pixels that are in, a run is united with the runs of the row above
 * that it touches, and a second pass over the runs numbers the pieces and writes the labels. Union by the smaller number
 * keeps the order of first pixels. One look at each pixel, the rest is by run: near linear, 16 bytes a run. */
#include "copper/components.h"

typedef struct Run {
    uint32_t row, from, to; /* columns from ... to - 1 */
    uint32_t up;            /* a run of the same piece with a smaller number, or itself */
} Run;

typedef LIST(Run) Runs;

static uint32_t root_of(Run *runs, uint32_t run) {
    while (runs[run].up != run) run = runs[run].up = runs[runs[run].up].up;
    return run;
}

static void unite(Run *runs, uint32_t a, uint32_t b) {
    a = root_of(runs, a), b = root_of(runs, b);
    if (a < b) runs[b].up = a;
    if (b < a) runs[a].up = b;
}

static uint16_t kind_at(const ComponentPicture *picture, uint32_t row, uint32_t column) {
    return picture->within == NULL ? 1 : picture->within[(size_t)row * picture->width + column];
}

/* A run is of one kind, so that pieces of two kinds never share one. */
static void cut_row(Arena *arena, const ComponentPicture *picture, uint32_t row, Runs *runs) {
    const unsigned char *at = picture->at + (size_t)row * picture->stride;
    for (uint32_t i = 0; i < picture->width;) {
        uint16_t kind = at[i] >= picture->least ? kind_at(picture, row, i) : 0;
        uint32_t from = i++;
        if (kind == 0) continue;
        while (i < picture->width && at[i] >= picture->least && kind_at(picture, row, i) == kind) i++;
        uint32_t number = runs->count;
        list_push(arena, runs, ((Run){row, from, i, number}));
    }
}

static void unite_if_touching(const ComponentPicture *picture, Runs *runs, uint32_t high, uint32_t low) {
    const Run *a = &runs->at[high], *b = &runs->at[low];
    if (a->from <= b->to && b->from <= a->to && kind_at(picture, a->row, a->from) == kind_at(picture, b->row, b->from))
        unite(runs->at, high, low);
}

/* Unites the runs above ... now - 1 of one row with the runs now ... count - 1 of the next. */
static void join_rows(const ComponentPicture *picture, Runs *runs, uint32_t above, uint32_t now) {
    uint32_t high = above, low = now;
    while (high < now && low < runs->count) {
        unite_if_touching(picture, runs, high, low);
        if (runs->at[high].to == runs->at[low].to && high + 1 < now) unite_if_touching(picture, runs, high + 1, low);
        if (runs->at[high].to < runs->at[low].to)
            high++;
        else
            low++;
    }
}

static void add_run(const ComponentPicture *picture, const Run *run, Component *piece) {
    const unsigned char *at = picture->at + (size_t)run->row * picture->stride;
    double weight = 0, sum_x = 0;
    for (uint32_t i = run->from; i < run->to; i++) weight += at[i], sum_x += at[i] * (i + 0.5);
    if (piece->area == 0) *piece = (Component){.left = run->from, .top = run->row};
    piece->area += run->to - run->from;
    piece->bottom = run->row;
    if (run->from < piece->left) piece->left = run->from;
    if (run->to - 1 > piece->right) piece->right = run->to - 1;
    piece->weight += weight, piece->sum_x += sum_x, piece->sum_y += weight * (run->row + 0.5);
}

Components components_of(Arena *arena, const ComponentPicture *picture, uint32_t *labels) {
    Components found = {0};
    Arena *scratch = arena_new();
    Runs runs = {0};
    uint32_t above = 0;
    for (uint32_t row = 0; row < picture->height; row++) {
        uint32_t now = runs.count;
        cut_row(scratch, picture, row, &runs);
        if (row > 0) join_rows(picture, &runs, above, now);
        above = now;
    }
    uint32_t *number = arena_many(scratch, uint32_t, runs.count);
    for (uint32_t i = 0; i < runs.count; i++) {
        const Run *run = &runs.at[i];
        uint32_t root = root_of(runs.at, i);
        if (root == i) {
            (void)list_add(arena, &found.list);
            number[i] = found.list.count;
        }
        add_run(picture, run, &found.list.at[number[root] - 1]);
        uint32_t *to = labels + (size_t)run->row * picture->stride;
        for (uint32_t x = run->from; x < run->to; x++) to[x] = number[root];
    }
    arena_free(scratch);
    return found;
}
