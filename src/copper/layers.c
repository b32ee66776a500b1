/* Two looks: a coarse one at half the scale, from which the board's own colours are learned (layers_prior.h), and the real
 * one that knows them. For either the straightened board is cut into tiles with a margin, each run through the net; two
 * threads share the tiles, which are as many and as large as makes them done soonest. The margin lets a pixel at a tile's
 * rim see its surroundings; what lies beyond the board is given as the nearest board pixel. */
#include "copper/layers_prior.h"
#include "copper/net.h"

#include <stdlib.h>
#include <string.h>

enum {
    PLANES = 4, /* red, green, blue, prior */
    MARGIN = 64,
    MARGIN_COARSE = 24, /* less to compute; a seam may show */
    GRAIN = 16,         /* what the net wants a picture's sides to be multiples of */
    THREADS = 2,
    TILE_WIDE = 512, /* at most: a few rows of all channels stay in a cache of 1 MiB, and some hundred in 25 MB */
    TILE_HIGH = 8192 /* at most */
};

typedef struct Tiling {
    uint32_t across, down, width, height; /* tiles; pixels of one, without margin */
    uint32_t margin;
} Tiling;

/* The weights, compiled in (data/copper.net). */
extern const char COPPER_NET[];
extern const size_t COPPER_NET_LEN;

static uint32_t clamp_to(int64_t at, uint32_t size) { return at < 0 ? 0 : at >= size ? size - 1 : (uint32_t)at; }

static uint32_t parts_of(uint32_t size, uint32_t count) { return ((size + count - 1) / count + GRAIN - 1) / GRAIN * GRAIN; }

/* The tiling under which the thread with the most to do has least of it. */
static Tiling find_tiling(uint32_t width, uint32_t height, uint32_t margin) {
    uint32_t across = (width + TILE_WIDE - 1) / TILE_WIDE, down = (height + TILE_HIGH - 1) / TILE_HIGH;
    uint64_t least = UINT64_MAX;
    Tiling best = {0};
    for (uint32_t a = across; a <= across + 1; a++)
        for (uint32_t d = down; d <= down + 1; d++) {
            Tiling t = {a, d, parts_of(width, a), parts_of(height, d), margin};
            uint64_t work = (uint64_t)((a * d + THREADS - 1) / THREADS) * (t.width + 2 * margin) * (t.height + 2 * margin);
            if (work < least) least = work, best = t;
        }
    return best;
}

typedef struct Looking {
    const Net *net;
    const Flat *flat;
    const LayerPrior *prior;
    Tiling tiling;
} Looking;

/* A tile on its way through the net: its first pixel without margin, and where what comes of it goes. */
typedef struct Tile {
    const Looking *looking;
    uint32_t left, top;
    Layers *layers;
} Tile;

static void take_row(void *given, uint32_t y, unsigned char *pixels) {
    const Tile *tile = given;
    const Flat *flat = tile->looking->flat;
    const Tiling *t = &tile->looking->tiling;
    uint32_t wide = t->width + 2 * t->margin;
    const unsigned char *row =
        flat->rgb + (size_t)clamp_to((int64_t)tile->top + y - t->margin, flat->height) * flat->width * 3;
    for (uint32_t x = 0; x < wide; x++, pixels += PLANES) {
        memcpy(pixels, row + (size_t)clamp_to((int64_t)tile->left + x - t->margin, flat->width) * 3, 3);
        pixels[3] = prior_at(tile->looking->prior, pixels);
    }
}

static void put_row(void *given, uint32_t y, uint32_t layer, const unsigned char *row) {
    const Tile *tile = given;
    const Tiling *t = &tile->looking->tiling;
    Layers *layers = tile->layers;
    uint32_t left = layers->width - tile->left, count = left < t->width ? left : t->width;
    if (y < t->margin || y >= t->margin + t->height || tile->top + y - t->margin >= layers->height) return;
    memcpy(layers->at[layer] + (size_t)(tile->top + y - t->margin) * layers->width + tile->left, row + t->margin, count);
}

static bool run_tile(const Looking *looking, uint32_t left, uint32_t top, Layers *layers) {
    const Tiling *t = &looking->tiling;
    Tile tile = {looking, left, top, layers};
    return net_stream(looking->net, t->width + 2 * t->margin, t->height + 2 * t->margin,
                      &(NetPort){&tile, take_row, put_row});
}

static bool run_tiles(const Looking *looking, Layers *layers) {
    Tiling tiling = looking->tiling;
    int failed = 0;
#pragma omp parallel for num_threads(THREADS) schedule(dynamic) reduction(| : failed)
    for (uint32_t t = 0; t < tiling.across * tiling.down; t++) {
        uint32_t left = t % tiling.across * tiling.width, top = t / tiling.across * tiling.height;
        if (left < layers->width && top < layers->height) failed |= !run_tile(looking, left, top, layers);
    }
    return !failed;
}

/* Where the board is cut its edge shines, and corners are a tenth of a millimetre off: what seems to be copper on that last
 * strip and not just inside it is none (copper keeps 0.2 mm and more from an edge, by common practice, or goes up to it).
 */
static const double EDGE_MM = 0.12;

static void settle_edge(Layers *layers) {
    int64_t width = layers->width, height = layers->height, deep = (int64_t)(EDGE_MM * layers->scale);
    if (deep < 1 || width <= 2 * deep || height <= 2 * deep) return;
    unsigned char *copper = layers->at[LAYER_COPPER];
    for (int64_t y = 0; y < height; y++)
        for (int64_t x = 0; x < width; x++) {
            bool rim = x < deep || x >= width - deep || y < deep || y >= height - deep;
            int64_t inside_x = x < deep ? deep : x >= width - deep ? width - deep - 1 : x;
            int64_t inside_y = y < deep ? deep : y >= height - deep ? height - deep - 1 : y;
            unsigned char inside = copper[inside_y * width + inside_x];
            if (rim && inside < copper[y * width + x]) copper[y * width + x] = inside;
        }
}

static const double HINT_RADIUS_MM = 0.1; /* what a finger or a probe tip points at */

/* A person's word on a spot beats the picture there. */
static void draw_hint(Layers *layers, const LayerHint *hint) {
    double radius = HINT_RADIUS_MM * layers->scale, x = hint->at.x * layers->scale, y = hint->at.y * layers->scale;
    if (!(x >= 0 && y >= 0 && x < layers->width && y < layers->height)) return;
    for (int64_t j = (int64_t)(y - radius); j <= (int64_t)(y + radius); j++)
        for (int64_t i = (int64_t)(x - radius); i <= (int64_t)(x + radius); i++) {
            double dx = (double)i + 0.5 - x, dy = (double)j + 0.5 - y;
            if (i < 0 || j < 0 || i >= layers->width || j >= layers->height || dx * dx + dy * dy > radius * radius)
                continue;
            layers->at[LAYER_COPPER][(size_t)j * layers->width + (size_t)i] = hint->copper ? 255 : 0;
            layers->at[LAYER_UNSEEN][(size_t)j * layers->width + (size_t)i] = 0;
        }
}

/* One look at a whole board. */
static bool look(const Net *net, const Flat *flat, const LayerPrior *prior, uint32_t margin, Layers *layers) {
    *layers = (Layers){.scale = flat->scale, .width = flat->width, .height = flat->height};
    size_t pixels = (size_t)flat->width * flat->height;
    bool done = pixels > 0;
    for (uint32_t i = 0; i < LAYER_COUNT && done; i++) done = (layers->at[i] = malloc(pixels)) != NULL;
    Looking looking = {net, flat, prior, find_tiling(flat->width, flat->height, margin)};
    done = done && run_tiles(&looking, layers);
    if (!done) layers_free(layers);
    return done;
}

/* Half as fine: each pixel the mean of four. */
static bool halve(const Flat *flat, Flat *half) {
    *half = (Flat){.scale = flat->scale / 2, .width = flat->width / 2, .height = flat->height / 2};
    size_t pixels = (size_t)half->width * half->height, row = (size_t)flat->width * 3;
    half->rgb = malloc(3 * pixels + 1);
    half->unseen = malloc(pixels + 1);
    if (half->rgb == NULL || half->unseen == NULL) return flat_free(half), false;
    for (uint32_t y = 0; y < half->height; y++)
        for (uint32_t x = 0; x < half->width; x++) {
            size_t to = (size_t)y * half->width + x, from = (size_t)2 * y * flat->width + 2 * x;
            const unsigned char *rgb = flat->rgb + 3 * from, *unseen = flat->unseen + from;
            for (int c = 0; c < 3; c++)
                half->rgb[3 * to + (size_t)c] =
                    (unsigned char)((rgb[c] + rgb[c + 3] + rgb[row + (size_t)c] + rgb[row + (size_t)c + 3] + 2) / 4);
            half->unseen[to] = unseen[0] | unseen[1] | unseen[flat->width] | unseen[flat->width + 1];
        }
    return true;
}

/* What this board's colours say. A board too small to be looked at twice says nothing. */
static bool first_look(const Net *net, const Flat *flat, const LayerHint *hints, size_t hint_count, uint32_t margin,
                       LayerPrior *prior) {
    Flat half;
    Layers layers;
    prior_unknown(prior);
    if (flat->width < GRAIN || flat->height < GRAIN) return true;
    if (!halve(flat, &half)) return false;
    bool done = look(net, &half, prior, margin, &layers);
    done = done && prior_learn(&half, &layers, hints, hint_count, prior);
    if (done) layers_free(&layers);
    flat_free(&half);
    return done;
}

static bool look_twice(const Flat *flat, const LayerHint *hints, size_t hint_count, uint32_t margin, Layers *layers) {
    Arena *arena = arena_new();
    Diags problems = diags_new(arena);
    const Net *net = net_new(arena, TEXT("copper.net"), (Text){COPPER_NET, COPPER_NET_LEN}, &problems);
    LayerPrior *prior = arena_one(arena, LayerPrior);
    size_t pixels = (size_t)flat->width * flat->height;
    bool done = net != NULL && net_channels_in(net) == PLANES && net_channels_out(net) == LAYER_COUNT && pixels > 0 &&
                first_look(net, flat, hints, hint_count, margin, prior) && look(net, flat, prior, margin, layers);
    if (!done) *layers = (Layers){0};
    for (size_t i = 0; done && i < pixels; i++)
        if (flat->unseen[i] > layers->at[LAYER_UNSEEN][i]) layers->at[LAYER_UNSEEN][i] = flat->unseen[i];
    if (done) settle_edge(layers);
    for (size_t i = 0; done && i < hint_count; i++) draw_hint(layers, &hints[i]);
    arena_free(arena);
    return done;
}

bool layers_from_flat(const Flat *flat, const LayerHint *hints, size_t hint_count, Layers *layers) {
    return look_twice(flat, hints, hint_count, MARGIN, layers);
}

bool layers_coarse(const Flat *flat, const LayerHint *hints, size_t hint_count, Layers *layers) {
    return look_twice(flat, hints, hint_count, MARGIN_COARSE, layers);
}

void layers_free(Layers *layers) {
    for (uint32_t i = 0; i < LAYER_COUNT; i++) free(layers->at[i]);
    *layers = (Layers){0};
}
