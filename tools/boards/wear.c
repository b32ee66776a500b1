/* What JPEG leaves of a picture, without writing one: colour difference planes, 2 x 2 means, 8 x 8 cosine transforms, rounding by the
 * quantisation tables of ITU T.81 annex K scaled by libjpeg's rule (both from memory), and back. Cost: some 10 ns a pixel. */
#include "camera.h"

#include <stdlib.h>

static const unsigned char light_table[64] = {
    16, 11, 10, 16, 24, 40, 51, 61, 12, 12, 14, 19, 26, 58, 60, 55, 14, 13, 16, 24, 40, 57, 69, 56, 14, 17, 22, 29, 51, 87, 80, 62,
    18, 22, 37, 56, 68, 109, 103, 77, 24, 35, 55, 64, 81, 104, 113, 92, 49, 64, 78, 87, 103, 121, 120, 101, 72, 92, 95, 98, 112, 100, 103, 99};
static const unsigned char colour_table[64] = {
    17, 18, 24, 47, 99, 99, 99, 99, 18, 21, 26, 66, 99, 99, 99, 99, 24, 26, 56, 99, 99, 99, 99, 99, 47, 66, 99, 99, 99, 99, 99, 99,
    99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99};

static void scale_table(const unsigned char *table, int quality, float *out)
{
    int scale = quality < 50 ? 5000 / quality : 200 - 2 * quality;
    for (int i = 0; i < 64; i++) {
        int q = (table[i] * scale + 50) / 100;
        out[i] = (float)(q < 1 ? 1 : q > 255 ? 255 : q);
    }
}

/* out = a times b, and with b turned over: the cosine matrix applied from one side; eight columns stand in one vector. */
static void times(const float a[64], const float b[64], float out[64])
{
    for (int i = 0; i < 8; i++) {
        float row[8] = {0};
        for (int k = 0; k < 8; k++)
            for (int j = 0; j < 8; j++) row[j] += a[8 * i + k] * b[8 * k + j];
        for (int j = 0; j < 8; j++) out[8 * i + j] = row[j];
    }
}

static void wear_plane(float *plane, int w, int h, const float *quant, const float *cosine, const float *turned)
{
    float block[64], middle[64];
    for (int by = 0; by + 8 <= h; by += 8)
        for (int bx = 0; bx + 8 <= w; bx += 8) {
            float *at = plane + (long)by * w + bx;
            for (int i = 0; i < 64; i++) block[i] = at[(long)(i / 8) * w + i % 8];
            times(cosine, block, middle);
            times(middle, turned, block);
            for (int i = 0; i < 64; i++) block[i] = rintf(block[i] / quant[i]) * quant[i];
            times(turned, block, middle);
            times(middle, cosine, block);
            for (int i = 0; i < 64; i++) at[(long)(i / 8) * w + i % 8] = block[i];
        }
}

static void shrink(const float *in, float *out, int w, int h, int by_x, int by_y)
{
    float share = 1.0f / (float)(by_x * by_y);
    for (int y = 0; y < h / by_y; y++)
        for (int x = 0; x < w / by_x; x++) {
            float sum = 0;
            for (int v = 0; v < by_y; v++)
                for (int u = 0; u < by_x; u++) sum += in[(long)(y * by_y + v) * w + x * by_x + u];
            out[(long)y * (w / by_x) + x] = sum * share;
        }
}

/* A chroma sample between its neighbours, three parts to one, as libjpeg's "fancy" upsampling does. */
static float between(const float *in, int w, int h, int x, int y, int by_x, int by_y)
{
    int cx = x / by_x, cy = y / by_y, nx = by_x == 2 ? cx + (x % 2 ? 1 : -1) : cx, ny = by_y == 2 ? cy + (y % 2 ? 1 : -1) : cy;
    nx = nx < 0 ? 0 : nx >= w ? w - 1 : nx, ny = ny < 0 ? 0 : ny >= h ? h - 1 : ny;
    float top = 0.75f * in[(long)cy * w + cx] + 0.25f * in[(long)cy * w + nx];
    return 0.75f * top + 0.25f * (0.75f * in[(long)ny * w + cx] + 0.25f * in[(long)ny * w + nx]);
}

static unsigned char to_byte(float v) { return (unsigned char)(v < 0 ? 0 : v > 254.5f ? 255 : (int)(v + 0.5f)); }

void jpeg_wear(unsigned char *bytes, int w, int h, int quality, int chroma)
{
    long count = (long)w * h;
    float *y = malloc((size_t)count * 5 * sizeof *y), light[64], colour[64], cosine[64], turned[64];
    if (!y) abort();
    float *b = y + count, *r = b + count, *small_b = r + count, *small_r = small_b + count;
    int by_x = chroma < 2 ? 2 : 1, by_y = chroma < 1 ? 2 : 1, cw = w / by_x, ch = h / by_y;
    scale_table(light_table, quality, light), scale_table(colour_table, quality, colour);
    for (int i = 0; i < 64; i++) {
        cosine[i] = (i < 8 ? 0.35355339f : 0.5f) * cosf((float)((2 * (i % 8) + 1) * (i / 8)) * 3.14159265f / 16);
        turned[(i % 8) * 8 + i / 8] = cosine[i];
    }
    for (long i = 0; i < count; i++) {
        float red = bytes[3 * i], green = bytes[3 * i + 1], blue = bytes[3 * i + 2];
        y[i] = 0.299f * red + 0.587f * green + 0.114f * blue - 128;
        b[i] = -0.168736f * red - 0.331264f * green + 0.5f * blue;
        r[i] = 0.5f * red - 0.418688f * green - 0.081312f * blue;
    }
    shrink(b, small_b, w, h, by_x, by_y), shrink(r, small_r, w, h, by_x, by_y);
    wear_plane(y, w, h, light, cosine, turned);
    wear_plane(small_b, cw, ch, colour, cosine, turned), wear_plane(small_r, cw, ch, colour, cosine, turned);
    for (int v = 0; v < h; v++)
        for (int u = 0; u < w; u++) {
            long i = (long)v * w + u;
            float cb = between(small_b, cw, ch, u, v, by_x, by_y), cr = between(small_r, cw, ch, u, v, by_x, by_y), l = y[i] + 128;
            bytes[3 * i] = to_byte(l + 1.402f * cr);
            bytes[3 * i + 1] = to_byte(l - 0.344136f * cb - 0.714136f * cr);
            bytes[3 * i + 2] = to_byte(l + 1.772f * cb);
        }
    free(y);
}
