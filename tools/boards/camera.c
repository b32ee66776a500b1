/* A pinhole camera over the board, tilted, with one term of radial distortion. Perspective is a homography; the camera's
 * place in board millimetres also serves the parallax of holes, edges and tall parts. */
#include "camera.h"

#include <stdlib.h>
#include <string.h>

static double det3(const double m[9]) {
    return m[0] * (m[4] * m[8] - m[5] * m[7]) - m[1] * (m[3] * m[8] - m[5] * m[6]) + m[2] * (m[3] * m[7] - m[4] * m[6]);
}

void homography_invert(const double h[9], double b[9]) {
    double d = det3(h);
    b[0] = (h[4] * h[8] - h[5] * h[7]) / d, b[1] = (h[2] * h[7] - h[1] * h[8]) / d, b[2] = (h[1] * h[5] - h[2] * h[4]) / d;
    b[3] = (h[5] * h[6] - h[3] * h[8]) / d, b[4] = (h[0] * h[8] - h[2] * h[6]) / d, b[5] = (h[2] * h[3] - h[0] * h[5]) / d;
    b[6] = (h[3] * h[7] - h[4] * h[6]) / d, b[7] = (h[1] * h[6] - h[0] * h[7]) / d, b[8] = (h[0] * h[4] - h[1] * h[3]) / d;
}

/* Eight equations, h[8] = 1; Gauss with pivots. */
bool homography_from_corners(const double from[4][2], const double to[4][2], double h[9]) {
    double a[8][9] = {{0}};
    for (int i = 0; i < 4; i++) {
        double x = from[i][0], y = from[i][1], u = to[i][0], v = to[i][1];
        const double one[9] = {x, y, 1, 0, 0, 0, -u * x, -u * y, u}, two[9] = {0, 0, 0, x, y, 1, -v * x, -v * y, v};
        memcpy(a[2 * i], one, sizeof one);
        memcpy(a[2 * i + 1], two, sizeof two);
    }
    for (int c = 0; c < 8; c++) {
        int best = c;
        for (int r = c + 1; r < 8; r++)
            if (fabs(a[r][c]) > fabs(a[best][c])) best = r;
        if (fabs(a[best][c]) < 1e-12) return false;
        for (int k = 0; k < 9; k++) {
            double t = a[c][k];
            a[c][k] = a[best][k], a[best][k] = t;
        }
        for (int r = 0; r < 8; r++) {
            double f = r == c ? 0 : a[r][c] / a[c][c];
            for (int k = c; k < 9; k++) a[r][k] -= f * a[c][k];
        }
    }
    for (int i = 0; i < 8; i++) h[i] = a[i][8] / a[i][i];
    h[8] = 1;
    return true;
}

/* Rotation about the optical axis, then a tilt about an axis in the image; the board's middle sits off the photo's middle a
 * little. */
static void stand(Camera *camera, const Board *board, Rng *rng) {
    double turn = rng_chance(rng, 0.3f) ? rng_between(rng, -0.15f, 0.15f) + 1.5707963 * rng_below(rng, 4)
                                        : rng_between(rng, 0, 6.2832f);
    double tilt = rng_between(rng, 0, 20) * 0.0174533, axis = rng_between(rng, 0, 6.2832f);
    double c = cos(turn), s = sin(turn), ca = cos(axis), sa = sin(axis), ct = cos(tilt), st = sin(tilt);
    const double spin[9] = {c, -s, 0, s, c, 0, 0, 0, 1};
    const double lean[9] = {ca * ca + sa * sa * ct,
                            ca * sa * (1 - ct),
                            sa * st,
                            ca * sa * (1 - ct),
                            sa * sa + ca * ca * ct,
                            -ca * st,
                            -sa * st,
                            ca * st,
                            ct};
    double r[9] = {0}, focal = (double)camera->width * (double)rng_between(rng, 0.72f, 1.1f), far = focal / camera->scale;
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            for (int k = 0; k < 3; k++) r[3 * i + j] += lean[3 * i + k] * spin[3 * k + j];
    double off_x = (double)rng_between(rng, -0.12f, 0.12f) * camera->width / camera->scale;
    double off_y = (double)rng_between(rng, -0.1f, 0.1f) * camera->height / camera->scale;
    double mx = board->width / 2, my = board->height / 2;
    const double t[3] = {off_x - r[0] * mx - r[1] * my, off_y - r[3] * mx - r[4] * my, far - r[6] * mx - r[7] * my};
    for (int i = 0; i < 3; i++) {
        camera->h[i] = focal * (i < 2 ? r[i] : t[0]) + camera->centre_x * (i < 2 ? r[6 + i] : t[2]);
        camera->h[3 + i] = focal * (i < 2 ? r[3 + i] : t[1]) + camera->centre_y * (i < 2 ? r[6 + i] : t[2]);
        camera->h[6 + i] = i < 2 ? r[6 + i] : t[2];
    }
    homography_invert(camera->h, camera->back);
    camera->eye_x = -(r[0] * t[0] + r[3] * t[1] + r[6] * t[2]);
    camera->eye_y = -(r[1] * t[0] + r[4] * t[1] + r[7] * t[2]);
    camera->eye_z = fabs(r[2] * t[0] + r[5] * t[1] + r[8] * t[2]);
}

static void draw_lamps(Camera *camera, const Board *board, Rng *rng) {
    float strong = rng_chance(rng, 0.7f) ? rng_between(rng, 0, 0.02f) : rng_between(rng, 0, 0.05f);
    camera->slope_x = strong * rng_gauss(rng), camera->slope_y = strong * rng_gauss(rng);
    camera->vignette = rng_between(rng, 0, 0.5f);
    camera->shadow = rng_chance(rng, 0.3f) ? rng_between(rng, 0.05f, 0.6f) : 0;
    camera->shadow_turn = rng_between(rng, 0, 6.2832f), camera->shadow_soft = rng_log(rng, 0.5f, 10);
    camera->shadow_at = rng_between(rng, -0.4f, 0.4f) * board->width;
    for (int i = 0; i < 3; i++) {
        bool on = rng_chance(rng, i == 0 ? 0.6f : 0.15f);
        camera->glare[i][0] = rng_between(rng, 0, board->width), camera->glare[i][1] = rng_between(rng, 0, board->height);
        camera->glare[i][2] = rng_log(rng, 1.5f, 14);
        camera->glare[i][3] = !on ? 0 : rng_chance(rng, 0.72f) ? rng_between(rng, 0.01f, 0.2f) : rng_log(rng, 0.2f, 3);
    }
}

static void draw_sensor(Camera *camera, Rng *rng) {
    float warm = rng_between(rng, -0.16f, 0.16f), tint = rng_between(rng, -0.06f, 0.06f);
    camera->balance[0] = 1 + warm, camera->balance[1] = 1 + tint, camera->balance[2] = 1 - warm;
    camera->exposure = rng_log(rng, 0.5f, 1.25f);
    camera->contrast = rng_between(rng, -0.1f, 0.5f), camera->black = rng_between(rng, 0, 0.03f);
    camera->shot_noise = rng_chance(rng, 0.8f) ? rng_log(rng, 0.003f, 0.03f) : rng_log(rng, 0.02f, 0.07f);
    camera->read_noise = camera->shot_noise * rng_between(rng, 0.03f, 0.2f);
    camera->noise_blur = rng_between(rng, 0, 1);
    camera->sharpen = rng_chance(rng, 0.7f) ? rng_between(rng, 0, 1.4f) : 0;
    camera->quality = rng_from(rng, 75, 95);
    camera->chroma = rng_chance(rng, 0.65f) ? 0 : rng_chance(rng, 0.3f) ? 1 : 2;
    camera->defocus =
        rng_chance(rng, 0.8f) ? rng_between(rng, 0.4f, 1.0f) : rng_between(rng, 0.8f, fminf(2.2f, 0.055f * camera->scale));
    camera->motion = rng_chance(rng, 0.2f) ? rng_between(rng, 0, fminf(4, 0.1f * camera->scale)) : 0,
    camera->motion_turn = rng_between(rng, 0, 3.1416f);
    camera->fringe = rng_chance(rng, 0.5f) ? rng_between(rng, -0.0012f, 0.0012f) : 0;
}

Camera camera_new(const Board *board, Rng *rng) {
    static const int sizes[5][2] = {{2048, 1536}, {3264, 2448}, {4000, 3000}, {4032, 3024}, {8000, 6000}};
    Camera camera = {0};
    camera.scale = rng_chance(rng, 0.8f) ? rng_log(rng, 15, 40) : rng_log(rng, 30, 60);
    float span = camera.scale * hypotf(board->width, board->height) * 1.15f;
    int least = 0;
    while (least < 4 && (float)sizes[least][1] < span) least++;
    int pick = rng_from(rng, least, least < 3 ? 3 : least);
    camera.width = sizes[pick][0], camera.height = sizes[pick][1];
    if ((float)camera.height < span) camera.scale *= (float)camera.height / span;
    camera.centre_x = camera.width / 2.0, camera.centre_y = camera.height / 2.0;
    camera.half_diagonal = hypot(camera.centre_x, camera.centre_y);
    camera.k1 = rng_chance(rng, 0.6f) ? rng_between(rng, -0.025f, 0.005f) : rng_between(rng, -0.06f, 0.02f);
    stand(&camera, board, rng);
    draw_lamps(&camera, board, rng);
    draw_sensor(&camera, rng);
    return camera;
}

void camera_to_photo(const Camera *camera, double x, double y, double *px, double *py) {
    double u, v;
    homography_map(camera->h, x, y, &u, &v);
    double dx = (u - camera->centre_x) / camera->half_diagonal, dy = (v - camera->centre_y) / camera->half_diagonal;
    double bend = 1 + camera->k1 * (dx * dx + dy * dy);
    *px = camera->centre_x + dx * bend * camera->half_diagonal;
    *py = camera->centre_y + dy * bend * camera->half_diagonal;
}

void camera_to_board(const Camera *camera, double px, double py, double *x, double *y) {
    double dx = (px - camera->centre_x) / camera->half_diagonal, dy = (py - camera->centre_y) / camera->half_diagonal,
           ux = dx, uy = dy;
    for (int i = 0; i < 8; i++) {
        double bend = 1 + camera->k1 * (ux * ux + uy * uy);
        ux = dx / bend, uy = dy / bend;
    }
    homography_map(camera->back, camera->centre_x + ux * camera->half_diagonal,
                   camera->centre_y + uy * camera->half_diagonal, x, y);
}

void camera_light(const Camera *camera, float x, float y, float *gain, float *glare) {
    float g = expf(camera->slope_x * (x - 15) + camera->slope_y * (y - 12));
    if (camera->shadow > 0) {
        float d = cosf(camera->shadow_turn) * (x - 15) + sinf(camera->shadow_turn) * (y - 12) - camera->shadow_at;
        g *= 1 - camera->shadow / (1 + expf(-d / camera->shadow_soft * 3));
    }
    *gain = g, *glare = 0;
    for (int i = 0; i < 3; i++) {
        float dx = x - camera->glare[i][0], dy = y - camera->glare[i][1], r = camera->glare[i][2];
        if (camera->glare[i][3] > 0) *glare += camera->glare[i][3] * expf(-(dx * dx + dy * dy) / (2 * r * r));
    }
}

Patch patch_new(int x, int y, int w, int h) {
    Patch patch = {.x = x, .y = y, .w = w, .h = h};
    size_t n = (size_t)w * (size_t)h;
    float *all = calloc(4 * n, sizeof *all);
    patch.bytes = malloc(3 * n);
    if (!all || !patch.bytes) abort();
    for (size_t k = 0; k < 3; k++) patch.rgb[k] = all + k * n;
    patch.spare = all + 3 * n;
    return patch;
}

void patch_free(Patch *patch) {
    free(patch->rgb[0]), free(patch->bytes), free(patch->live);
    *patch = (Patch){0};
}
