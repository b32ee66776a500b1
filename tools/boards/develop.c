/* From light to bytes: lens blur, a shake, noise that grows with light, the camera's tone curve and sharpening, and what
 * JPEG leaves. */
#include "camera.h"

#include <stdlib.h>
#include <string.h>

enum { TONES = 4096 };

static void shake(float *at, float *spare, int w, int h, float length, float turn) {
    int taps = 1 + 2 * (int)ceilf(length / 2);
    memcpy(spare, at, (size_t)w * (size_t)h * sizeof *at);
    for (long i = 0; i < (long)w * h; i++) at[i] /= (float)taps;
    for (int k = 0; k < taps; k++) {
        float t = ((float)k / (float)(taps - 1) - 0.5f) * length;
        int dx = (int)lrintf(cosf(turn) * t), dy = (int)lrintf(sinf(turn) * t);
        if (k == taps / 2) continue; /* the middle one stands already */
        for (int y = 0; y < h; y++) {
            int from = y + dy < 0 ? 0 : y + dy >= h ? h - 1 : y + dy;
            for (int x = 4; x < w - 4; x++) at[(long)y * w + x] += spare[(long)from * w + x + dx] / (float)taps;
        }
    }
}

static void tone_table(const Camera *camera, float *table) {
    for (int i = 0; i < TONES; i++) {
        float x = (float)i / (TONES - 1);
        float v = x <= 0.0031308f ? 12.92f * x : 1.055f * powf(x, 1 / 2.4f) - 0.055f;
        v = v + camera->contrast * 0.5f * (v * v * (3 - 2 * v) - v);
        table[i] = 255 * (camera->black + (1 - camera->black) * v);
    }
}

/* Noise of light (grows with its root) and of reading, partly smoothed as phones do; colours a little apart. */
static void grain(const Camera *camera, const Noise *noise, Rng *rng, Patch *p) {
    int at[4][2];
    for (int k = 0; k < 4; k++) at[k][0] = rng_below(rng, NOISE_SIDE), at[k][1] = rng_below(rng, NOISE_SIDE);
    float soft = camera->noise_blur, raw = 1 - soft;
    for (int c = 0; c < 3; c++) {
        float gain = camera->balance[c] * camera->exposure;
        for (int y = 0; y < p->h; y++) {
            const float *shared = noise->white + ((y + at[3][1]) & 255) * NOISE_SIDE,
                        *own = noise->white + ((y + at[c][1]) & 255) * NOISE_SIDE;
            const float *slow = noise->soft + ((y + at[c][1]) & 255) * NOISE_SIDE;
            float *row = p->rgb[c] + (long)y * p->w;
            for (int x = 0; x < p->w; x++) {
                float v = row[x] * gain, n = 0.6f * raw * shared[(x + at[3][0]) & 255] +
                                             0.6f * raw * own[(x + at[c][0]) & 255] +
                                             0.7f * soft * slow[(x + at[c][0]) & 255];
                row[x] = v + n * (camera->shot_noise * sqrtf(v > 0 ? v : 0) + camera->read_noise);
            }
        }
    }
}

static void tones(const Camera *camera, Patch *p) {
    float table[TONES];
    tone_table(camera, table);
    for (int c = 0; c < 3; c++)
        for (long i = 0; i < (long)p->w * p->h; i++) {
            float v = p->rgb[c][i] * (TONES - 1);
            p->rgb[c][i] = table[v <= 0 ? 0 : v >= TONES - 1 ? TONES - 1 : (int)v];
        }
}

static void sharpen(Patch *p, float amount) {
    long count = (long)p->w * p->h;
    float *light = malloc(2 * (size_t)count * sizeof *light), *soft = light + count;
    if (!light) abort();
    for (long i = 0; i < count; i++) soft[i] = light[i] = 0.3f * p->rgb[0][i] + 0.59f * p->rgb[1][i] + 0.11f * p->rgb[2][i];
    blur_exact(soft, p->spare, p->w, p->h, 1.1f);
    for (int c = 0; c < 3; c++)
        for (long i = 0; i < count; i++) p->rgb[c][i] += amount * (light[i] - soft[i]);
    free(light);
}

void camera_expose(const Camera *camera, const Noise *noise, Rng *rng, Patch *p) {
    for (int c = 0; c < 3; c++) {
        blur_exact(p->rgb[c], p->spare, p->w, p->h, camera->defocus);
        if (camera->motion > 0.8f) shake(p->rgb[c], p->spare, p->w, p->h, camera->motion, camera->motion_turn);
    }
    grain(camera, noise, rng, p);
    tones(camera, p);
    if (camera->sharpen > 0.05f) sharpen(p, camera->sharpen);
    for (long i = 0; i < (long)p->w * p->h; i++)
        for (int c = 0; c < 3; c++) {
            float v = p->rgb[c][i] + 0.5f;
            p->bytes[3 * i + c] = (unsigned char)(v < 0 ? 0 : v > 255 ? 255 : v);
        }
}

void camera_develop(const Camera *camera, const Noise *noise, Rng *rng, Patch *patch) {
    camera_expose(camera, noise, rng, patch);
    jpeg_wear(patch, camera->quality, camera->chroma);
}
