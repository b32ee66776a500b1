/* How sure a pixel is to be copper, counting how wide the copper is there: the mean of the pixel's own probability and that
 * of a square round it. Where all is sure, a neck narrower than the square still stands lower than its two ends, and a gap
 * narrower than the square higher than its two sides: so every narrow place becomes a saddle of this one picture, however
 * sure the pixels are. Nothing is known where nothing is seen: there the value has a floor, so that a way through an unseen
 * place is found, though an unlikely one. Box sums by running columns: 5 operations a pixel. */
#include "copper/inside.h"

enum { UNSEEN_FLOOR = 48 };                /* of 255: less than any copper that is seen */
static const double SQUARE_HALF_MM = 0.09; /* with the pixel itself about 0.23 mm: the finest tracks people etch are 0.15 */
enum { HALF_LEAST = 1, HALF_MOST = 3 };

typedef struct Box {
    uint32_t half;
    uint32_t factor; /* sum * factor >> 16 is the mean */
    uint16_t *sums;  /* size stride: of the rows in the square */
} Box;

static const unsigned char *row_of(const Trace *trace, const unsigned char *picture, int64_t row) {
    if (row < 0) row = 0;
    if (row >= trace->height) row = (int64_t)trace->height - 1; /* beyond the edge lies what lies at the edge */
    return picture + ((size_t)row + 1) * trace->stride;
}

static void move_down(const Trace *trace, Box *box, int64_t row) {
    const unsigned char *enters = row_of(trace, trace->copper, row + box->half);
    const unsigned char *leaves = row_of(trace, trace->copper, row - 1 - box->half);
    for (uint32_t i = 0; i < trace->stride; i++) box->sums[i] = (uint16_t)(box->sums[i] + enters[i] - leaves[i]);
}

static void value_row(Trace *trace, const Box *box, uint32_t row) {
    size_t start = trace_at(trace, 0, row);
    const unsigned char *own = trace->copper + start, *unseen = trace->unseen + start;
    unsigned char *value = trace->value + start;
    int64_t last = (int64_t)trace->width - 1, half = box->half;
    uint32_t sum = 0;
    for (int64_t i = -half; i < half; i++) sum += box->sums[1 + (i < 0 ? 0 : i > last ? last : i)];
    for (int64_t i = 0; i <= last; i++) {
        sum += box->sums[1 + (i + half > last ? last : i + half)];
        uint32_t mean = sum * box->factor >> 16;
        sum -= box->sums[1 + (i - half < 0 ? 0 : i - half)];
        uint32_t both = (own[i] + mean) / 2, least = unseen[i] * (uint32_t)UNSEEN_FLOOR / 255;
        value[i] = (unsigned char)(both > least ? both : least);
    }
}

void trace_value(Trace *trace) {
    double half = trace->scale * SQUARE_HALF_MM + 0.5;
    Box box = {.half = half < HALF_LEAST ? HALF_LEAST : half > HALF_MOST ? HALF_MOST : (uint32_t)half};
    uint32_t side = 2 * box.half + 1;
    box.factor = 65536 / (side * side);
    box.sums = arena_many(trace->arena, uint16_t, trace->stride);
    for (int64_t row = -(int64_t)box.half; row <= box.half; row++) {
        const unsigned char *from = row_of(trace, trace->copper, row);
        for (uint32_t i = 0; i < trace->stride; i++) box.sums[i] = (uint16_t)(box.sums[i] + from[i]);
    }
    for (uint32_t row = 0; row < trace->height; row++) {
        if (row > 0) move_down(trace, &box, row);
        value_row(trace, &box, row);
    }
}
