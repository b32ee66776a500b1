/* The straightened board cut into tiles with a margin, each run through the net; two threads share the tiles. The margin lets a
 * pixel at a tile's rim see its surroundings; what lies beyond the board is given as the nearest board pixel. */
#include "copper/layers.h"
#include "copper/net.h"

#include <stdlib.h>
#include <string.h>

enum { TILE = 384, MARGIN = 64, SIDE = TILE + 2 * MARGIN };

/* The weights, compiled in (data/copper.net). */
extern const char COPPER_NET[];
extern const size_t COPPER_NET_LEN;

static uint32_t clamp_to(int64_t at, uint32_t size) { return at < 0 ? 0 : at >= size ? size - 1 : (uint32_t)at; }

static void take_tile(const Flat *flat, uint32_t left, uint32_t top, unsigned char *tile) {
    for (uint32_t y = 0; y < SIDE; y++) {
        const unsigned char *row = flat->rgb + (size_t)clamp_to((int64_t)top + y - MARGIN, flat->height) * flat->width * 3;
        for (uint32_t x = 0; x < SIDE; x++)
            memcpy(tile + ((size_t)y * SIDE + x) * 3, row + (size_t)clamp_to((int64_t)left + x - MARGIN, flat->width) * 3, 3);
    }
}

static void put_tile(Layers *layers, uint32_t left, uint32_t top, const unsigned char *planes) {
    for (uint32_t layer = 0; layer < LAYER_COUNT; layer++)
        for (uint32_t y = 0; y < TILE && top + y < layers->height; y++) {
            uint32_t count = layers->width - left < TILE ? layers->width - left : TILE;
            memcpy(layers->at[layer] + (size_t)(top + y) * layers->width + left,
                   planes + ((size_t)layer * SIDE + y + MARGIN) * SIDE + MARGIN, count);
        }
}

static bool run_tiles(const Net *net, const Flat *flat, Layers *layers) {
    uint32_t columns = (flat->width + TILE - 1) / TILE, rows = (flat->height + TILE - 1) / TILE;
    int failed = 0;
#pragma omp parallel for schedule(dynamic) reduction(| : failed)
    for (uint32_t t = 0; t < columns * rows; t++) {
        unsigned char *tile = malloc((size_t)SIDE * SIDE * 3), *planes = malloc((size_t)SIDE * SIDE * LAYER_COUNT);
        bool done = tile != NULL && planes != NULL;
        if (done) {
            take_tile(flat, t % columns * TILE, t / columns * TILE, tile);
            done = net_run(net, SIDE, SIDE, tile, planes);
        }
        if (done) put_tile(layers, t % columns * TILE, t / columns * TILE, planes);
        if (!done) failed = 1;
        free(tile);
        free(planes);
    }
    return !failed;
}

static const double HINT_RADIUS_MM = 0.1; /* what a finger or a probe tip points at */

/* A person's word on a spot beats the picture there. */
static void draw_hint(Layers *layers, const LayerHint *hint) {
    double radius = HINT_RADIUS_MM * layers->scale, x = hint->at.x * layers->scale, y = hint->at.y * layers->scale;
    if (!(x >= 0 && y >= 0 && x < layers->width && y < layers->height)) return;
    for (int64_t j = (int64_t)(y - radius); j <= (int64_t)(y + radius); j++)
        for (int64_t i = (int64_t)(x - radius); i <= (int64_t)(x + radius); i++) {
            double dx = (double)i + 0.5 - x, dy = (double)j + 0.5 - y;
            if (i < 0 || j < 0 || i >= layers->width || j >= layers->height || dx * dx + dy * dy > radius * radius) continue;
            layers->at[LAYER_COPPER][(size_t)j * layers->width + (size_t)i] = hint->copper ? 255 : 0;
            layers->at[LAYER_UNSEEN][(size_t)j * layers->width + (size_t)i] = 0;
        }
}

bool layers_from_flat(const Flat *flat, const LayerHint *hints, size_t hint_count, Layers *layers) {
    *layers = (Layers){.scale = flat->scale, .width = flat->width, .height = flat->height};
    Arena *arena = arena_new();
    Diags problems = diags_new(arena);
    const Net *net = net_new(arena, TEXT("copper.net"), (Text){COPPER_NET, COPPER_NET_LEN}, &problems);
    size_t pixels = (size_t)flat->width * flat->height;
    bool done = net != NULL && net_channels_out(net) == LAYER_COUNT && pixels > 0;
    for (uint32_t i = 0; i < LAYER_COUNT && done; i++) done = (layers->at[i] = malloc(pixels)) != NULL;
    done = done && run_tiles(net, flat, layers);
    for (size_t i = 0; done && i < pixels; i++)
        if (flat->unseen[i] > layers->at[LAYER_UNSEEN][i]) layers->at[LAYER_UNSEEN][i] = flat->unseen[i];
    for (size_t i = 0; done && i < hint_count; i++) draw_hint(layers, &hints[i]);
    arena_free(arena);
    if (!done) layers_free(layers);
    return done;
}

void layers_free(Layers *layers) {
    for (uint32_t i = 0; i < LAYER_COUNT; i++) free(layers->at[i]);
    *layers = (Layers){0};
}
