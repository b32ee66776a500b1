/* The weight plane: mixed pixels of edges count little, thin gaps and necks much, most of all under print and solder. Thin
 * is what an opening (copper) or closing (gaps) with a disc of 0.175 mm takes away; distances by chamfer steps of 5 and 7,
 * within 5 % of a disc. */
#include "crop.h"

#include <string.h>

static const float THIN = 0.175f; /* mm, half of what is thin */

static int lesser(int a, int b) { return a < b ? a : b; }

/* d[i]: chamfer distance to the nearest pixel with in[i] != 0; beyond the border nothing is known and nothing counts. */
static void chamfer(const unsigned char *in, int *d) {
    const int n = CROP_SIDE;
    for (int i = 0; i < CROP_AREA; i++) d[i] = in[i] ? 0 : 1000;
    for (int y = 0; y < n; y++)
        for (int x = 0; x < n; x++) {
            int *at = d + y * n + x;
            if (x) *at = lesser(*at, at[-1] + 5);
            if (y) *at = lesser(*at, at[-n] + 5);
            if (x && y) *at = lesser(*at, at[-n - 1] + 7);
            if (y && x + 1 < n) *at = lesser(*at, at[-n + 1] + 7);
        }
    for (int y = n - 1; y >= 0; y--)
        for (int x = n - 1; x >= 0; x--) {
            int *at = d + y * n + x;
            if (x + 1 < n) *at = lesser(*at, at[1] + 5);
            if (y + 1 < n) *at = lesser(*at, at[n] + 5);
            if (x + 1 < n && y + 1 < n) *at = lesser(*at, at[n + 1] + 7);
            if (y + 1 < n && x) *at = lesser(*at, at[n - 1] + 7);
        }
}

/* Marks what an opening of the set takes away. */
static void thin_parts(const unsigned char *set, float scale, unsigned char *thin) {
    unsigned char other[CROP_AREA];
    int d[CROP_AREA], reach = (int)(5 * THIN * scale + 0.5f); /* chamfer steps */
    for (int i = 0; i < CROP_AREA; i++) other[i] = !set[i];
    chamfer(other, d);
    for (int i = 0; i < CROP_AREA; i++) other[i] = d[i] > reach;
    chamfer(other, d);
    for (int i = 0; i < CROP_AREA; i++)
        if (set[i] && d[i] > reach + 2) thin[i] = 1;
}

void crop_weigh(const unsigned char *copper, const unsigned char *covered, float scale, unsigned char *weight) {
    unsigned char set[CROP_AREA], thin[CROP_AREA];
    memset(thin, 0, sizeof thin);
    for (int i = 0; i < CROP_AREA; i++) set[i] = copper[i] >= 128;
    thin_parts(set, scale, thin);
    for (int i = 0; i < CROP_AREA; i++) set[i] = copper[i] < 128;
    thin_parts(set, scale, thin);
    for (int i = 0; i < CROP_AREA; i++) {
        bool mixed = copper[i] > 25 && copper[i] < 230;
        weight[i] = !thin[i] ? 128 : covered[i] ? 255 : CROP_THIN;
        if (mixed) weight[i] = thin[i] ? 128 : 64;
    }
}
