/* What JPEG leaves of a picture, without writing one: colour difference planes, 2 x 2 means, 8 x 8 cosine transforms,
 * rounding by the quantisation tables of ITU T.81 annex K scaled by libjpeg's rule (both from memory), and back. Cost: some
 * 10 ns a pixel. */
#include "camera.h"

#include <stdlib.h>

static const unsigned char light_table[64] = {16, 11, 10, 16, 24,  40,  51,  61,  12, 12, 14, 19, 26,  58,  60,  55,
                                              14, 13, 16, 24, 40,  57,  69,  56,  14, 17, 22, 29, 51,  87,  80,  62,
                                              18, 22, 37, 56, 68,  109, 103, 77,  24, 35, 55, 64, 81,  104, 113, 92,
                                              49, 64, 78, 87, 103, 121, 120, 101, 72, 92, 95, 98, 112, 100, 103, 99};
static const unsigned char colour_table[64] = {17, 18, 24, 47, 99, 99, 99, 99, 18, 21, 26, 66, 99, 99, 99, 99,
                                               24, 26, 56, 99, 99, 99, 99, 99, 47, 66, 99, 99, 99, 99, 99, 99,
                                               99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99,
                                               99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99};

static void scale_table(const unsigned char *table, int quality, float *out) {
    int scale = quality < 50 ? 5000 / quality : 200 - 2 * quality;
    for (int i = 0; i < 64; i++) {
        int q = (table[i] * scale + 50) / 100;
        out[i] = (float)(q < 1 ? 1 : q > 255 ? 255 : q);
    }
}

typedef float Eight __attribute__((vector_size(32), aligned(4), may_alias));

/* out = a times b, eight columns of b at once in one vector. */
static inline void times(const float a[64], const float b[64], float out[64]) {
    const Eight *rows = (const Eight *)b;
    for (int i = 0; i < 8; i++) {
        Eight row = rows[0] * a[8 * i];
        for (int k = 1; k < 8; k++) row += rows[k] * a[8 * i + k];
        *(Eight *)(out + 8 * i) = row;
    }
}

/* side_x, side_y: what a block of 16 x 16 pixels of the patch measures in this plane. */
static void wear_plane(const Patch *p, float *plane, int side_x, int side_y, const float *quant, const float *cosine,
                       const float *turned) {
    int w = p->w / 16 * side_x, h = p->h / 16 * side_y;
    float block[64], middle[64], inverse[64];
    for (int i = 0; i < 64; i++) inverse[i] = 1 / quant[i];
    for (int by = 0; by + 8 <= h; by += 8)
        for (int bx = 0; bx + 8 <= w; bx += 8) {
            float *at = plane + (long)by * w + bx;
            if (p->live && !p->live[by / side_y * (p->w / 16) + bx / side_x]) continue;
            for (int i = 0; i < 64; i++) block[i] = at[(long)(i / 8) * w + i % 8];
            times(cosine, block, middle);
            times(middle, turned, block);
            for (int i = 0; i < 64; i++) block[i] = rintf(block[i] * inverse[i]) * quant[i];
            times(turned, block, middle);
            times(middle, cosine, block);
            for (int i = 0; i < 64; i++) at[(long)(i / 8) * w + i % 8] = rintf(block[i]); /* samples are whole numbers */
        }
}

static void shrink(const float *in, float *out, int w, int h, int by_x, int by_y) {
    float share = 1.0f / (float)(by_x * by_y);
    for (int y = 0; y < h / by_y; y++)
        for (int x = 0; x < w / by_x; x++) {
            float sum = 0;
            for (int v = 0; v < by_y; v++)
                for (int u = 0; u < by_x; u++) sum += in[(long)(y * by_y + v) * w + x * by_x + u];
            out[(long)y * (w / by_x) + x] = rintf(sum * share);
        }
}

/* A chroma sample between its neighbours, three parts to one, as libjpeg's "fancy" upsampling does. */
static float between(const float *in, int w, int h, int x, int y, int by_x, int by_y) {
    int cx = x / by_x, cy = y / by_y, nx = by_x == 2 ? cx + (x % 2 ? 1 : -1) : cx,
        ny = by_y == 2 ? cy + (y % 2 ? 1 : -1) : cy;
    nx = nx < 0 ? 0 : nx >= w ? w - 1 : nx, ny = ny < 0 ? 0 : ny >= h ? h - 1 : ny;
    float top = 0.75f * in[(long)cy * w + cx] + 0.25f * in[(long)cy * w + nx];
    return 0.75f * top + 0.25f * (0.75f * in[(long)ny * w + cx] + 0.25f * in[(long)ny * w + nx]);
}

static unsigned char to_byte(float v) { return (unsigned char)(v < 0 ? 0 : v > 254.5f ? 255 : (int)(v + 0.5f)); }

static void to_planes(const unsigned char *bytes, long count, float *y, float *b, float *r) {
    for (long i = 0; i < count; i++) {
        float red = bytes[3 * i], green = bytes[3 * i + 1], blue = bytes[3 * i + 2];
        y[i] = rintf(0.299f * red + 0.587f * green + 0.114f * blue) - 128;
        b[i] = rintf(-0.168736f * red - 0.331264f * green + 0.5f * blue);
        r[i] = rintf(0.5f * red - 0.418688f * green - 0.081312f * blue);
    }
}

/* Back to bytes; b and r are the small planes. */
static void from_planes(Patch *p, const float *y, const float *b, const float *r, int by_x, int by_y) {
    int cw = p->w / by_x, ch = p->h / by_y;
    for (int v = 0; v < p->h; v++)
        for (int u = 0; u < p->w; u++) {
            if (p->live && !p->live[v / 16 * (p->w / 16) + u / 16]) continue;
            unsigned char *out = p->bytes + 3 * ((long)v * p->w + u);
            float cb = between(b, cw, ch, u, v, by_x, by_y), cr = between(r, cw, ch, u, v, by_x, by_y);
            float l = y[(long)v * p->w + u] + 128;
            out[0] = to_byte(l + 1.402f * cr);
            out[1] = to_byte(l - 0.344136f * cb - 0.714136f * cr);
            out[2] = to_byte(l + 1.772f * cb);
        }
}

void jpeg_wear(Patch *p, int quality, int chroma) {
    long count = (long)p->w * p->h;
    float *y = malloc((size_t)count * 5 * sizeof *y), light[64], colour[64], cosine[64], turned[64];
    if (!y) abort();
    float *b = y + count, *r = b + count, *small_b = r + count, *small_r = small_b + count;
    int by_x = chroma < 2 ? 2 : 1, by_y = chroma < 1 ? 2 : 1;
    scale_table(light_table, quality, light), scale_table(colour_table, quality, colour);
    for (int i = 0; i < 64; i++) {
        cosine[i] = (i < 8 ? 0.35355339f : 0.5f) * cosf((float)((2 * (i % 8) + 1) * (i / 8)) * 3.14159265f / 16);
        turned[(i % 8) * 8 + i / 8] = cosine[i];
    }
    to_planes(p->bytes, count, y, b, r);
    shrink(b, small_b, p->w, p->h, by_x, by_y), shrink(r, small_r, p->w, p->h, by_x, by_y);
    wear_plane(p, y, 16, 16, light, cosine, turned);
    wear_plane(p, small_b, 16 / by_x, 16 / by_y, colour, cosine, turned);
    wear_plane(p, small_r, 16 / by_x, 16 / by_y, colour, cosine, turned);
    from_planes(p, y, small_b, small_r, by_x, by_y);
    free(y);
}
