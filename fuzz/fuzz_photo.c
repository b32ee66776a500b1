/* Any bytes as a photo of each format, whole or for a first look, and as an EXIF block, decoded here and not in the
 * sandbox, so that the fuzzer sees where they lead. Small pictures only: what is large is refused by the same code at
 * another number. */
#include "fuzz/fuzz.h"

#include "copper/photo_inside.h"

#include <stdlib.h>

enum { PIXELS_MOST = 512 * 512 };

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    Text bytes = {(const char *)data, size};
    PhotoJob *job = calloc(1, sizeof *job);
    unsigned char *rgb = malloc(3 * (size_t)PIXELS_MOST);
    if (job == NULL || rgb == NULL) abort();
    *job = (PhotoJob){.bytes = bytes, .pixels_most = PIXELS_MOST, .rgb = rgb, .turn = 1, .enough = size % 2};
    photo_open(job);
    bool done = photo_decode_job(job);
    photo_close(job);
    if (!done && (job->message[0] == '\0' || job->expected[0] == '\0')) abort(); /* a refusal says why */
    if (done && (uint64_t)job->width * job->height > PIXELS_MOST) abort();
    unsigned turn;
    double focal;
    photo_exif(bytes, &turn, &focal);
    if (turn < 1 || turn > 8 || !(focal >= 0)) abort();
    free(rgb);
    free(job);
    return 0;
}
