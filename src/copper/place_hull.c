/* Andrew's monotone chain over the first and last cell of each row; then short edges are taken out of the hull one by one
 * (the vertex whose loss changes least area goes first) until few enough are left to try every four of them. */
#include "copper/place_hull.h"

#include <math.h>
#include <stdlib.h>

enum { EDGES = 14 };
static const double SLACK =
    0.035; /* of the hull's size that it may stand out of the quadrilateral: rounded corners, a tab */
static const double CORNER_SINE = 0.5; /* corners between 30 and 150 degrees */

static double turn(PlacePoint a, PlacePoint b, PlacePoint c) {
    return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
}

double hull_area(const PlacePoint *at, int count) {
    double sum = 0;
    for (int i = 0; i < count; i++) {
        PlacePoint a = at[i], b = at[(i + 1) % count];
        sum += a.x * b.y - a.y * b.x;
    }
    return sum / 2;
}

static int by_place(const void *a, const void *b) {
    const PlacePoint *p = a, *q = b;
    if (p->x != q->x) return (p->x > q->x) - (p->x < q->x);
    return (p->y > q->y) - (p->y < q->y);
}

/* points (used up) to their hull, clockwise on the screen; returns its size. hull: size 2 * count. */
static int find_hull(PlacePoint *points, int count, PlacePoint *hull) {
    int size = 0;
    qsort(points, (size_t)count, sizeof *points, by_place);
    for (int pass = 0; pass < 2; pass++) {
        int kept = size + 1;
        for (int i = 0; i < count; i++) {
            PlacePoint p = points[pass == 0 ? i : count - 1 - i];
            while (size > kept && turn(hull[size - 2], hull[size - 1], p) <= 0) size--;
            hull[size++] = p;
        }
        size--; /* the other chain starts with it */
    }
    return size;
}

/* The corners of the first and last cell of each row. Returns how many; points: size 4 * height. */
static int row_ends(const unsigned char *mask, unsigned char value, int width, int height, PlacePoint *points) {
    int count = 0;
    for (int y = 0; y < height; y++) {
        int first = 0, last = width - 1;
        while (first < width && mask[y * width + first] != value) first++;
        if (first == width) continue;
        while (mask[y * width + last] != value) last--;
        for (int k = 0; k < 2; k++) {
            points[count++] = (PlacePoint){first, y + k};
            points[count++] = (PlacePoint){last + 1, y + k};
        }
    }
    return count;
}

/* Takes out an edge by lengthening its two neighbours until they meet: the hull only grows. */
static int drop_edges(PlacePoint *hull, int count) {
    while (count > EDGES) {
        int best = -1;
        double least = INFINITY;
        PlacePoint best_at = {0, 0};
        for (int i = 0; i < count; i++) { /* the edge from i to i + 1 */
            PlacePoint a = hull[(i + count - 1) % count], b = hull[i], c = hull[(i + 1) % count], d = hull[(i + 2) % count];
            double under = (b.x - a.x) * (d.y - c.y) - (b.y - a.y) * (d.x - c.x);
            if (!(under > 1e-9)) continue;
            double t = ((c.x - a.x) * (d.y - c.y) - (c.y - a.y) * (d.x - c.x)) / under;
            PlacePoint meet = {a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)};
            double more = fabs(turn(b, meet, c)) / 2;
            if (more < least) least = more, best = i, best_at = meet;
        }
        if (best < 0) break;
        hull[best] = best_at;
        int gone = (best + 1) % count;
        for (int i = gone; i + 1 < count; i++) hull[i] = hull[i + 1];
        count--;
    }
    return count;
}

static bool meet(const PlacePoint *hull, int count, int i, int j, PlacePoint *at) {
    PlacePoint a = hull[i], b = hull[(i + 1) % count], c = hull[j], d = hull[(j + 1) % count];
    double x = b.x - a.x, y = b.y - a.y, u = d.x - c.x, v = d.y - c.y, under = x * v - y * u;
    if (!(under > CORNER_SINE * hypot(x, y) * hypot(u, v))) return false;
    double t = ((c.x - a.x) * v - (c.y - a.y) * u) / under;
    *at = (PlacePoint){a.x + t * x, a.y + t * y};
    return true;
}

static bool holds(const PlacePoint quad[4], const PlacePoint *hull, int count, double slack) {
    for (int k = 0; k < 4; k++) {
        PlacePoint a = quad[k], b = quad[(k + 1) % 4];
        double length = hypot(b.x - a.x, b.y - a.y);
        for (int i = 0; i < count; i++)
            if (!(turn(a, b, hull[i]) >= -slack * length)) return false;
    }
    return true;
}

static bool best_quad(const PlacePoint *hull, int count, PlacePoint corners[4]) {
    double least = INFINITY, slack = SLACK * sqrt(hull_area(hull, count));
    for (int a = 0; a < count; a++)
        for (int b = a + 1; b < count; b++)
            for (int c = b + 1; c < count; c++)
                for (int d = c + 1; d < count; d++) {
                    PlacePoint quad[4];
                    if (!meet(hull, count, d, a, &quad[0]) || !meet(hull, count, a, b, &quad[1]) ||
                        !meet(hull, count, b, c, &quad[2]) || !meet(hull, count, c, d, &quad[3]))
                        continue;
                    double area = hull_area(quad, 4);
                    if (!(area > 0) || area >= least || !holds(quad, hull, count, slack)) continue;
                    least = area;
                    memcpy(corners, quad, sizeof quad);
                }
    return isfinite(least);
}

bool hull_quad(const unsigned char *mask, unsigned char value, int width, int height, PlacePoint corners[4]) {
    PlacePoint *points = malloc((size_t)height * 4 * sizeof *points), *hull = malloc((size_t)height * 8 * sizeof *hull);
    bool done = false;
    if (points != NULL && hull != NULL) {
        int count = row_ends(mask, value, width, height, points);
        count = count < 4 ? 0 : drop_edges(hull, find_hull(points, count, hull));
        done = count >= 4 && best_quad(hull, count, corners);
    }
    free(points);
    free(hull);
    return done;
}
