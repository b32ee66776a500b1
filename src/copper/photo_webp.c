/* WebP by libwebp, fed piece by piece: it writes into a picture of ours, whose rows go through the window as they are
 * finished and are given back to the system behind it. A photo with losses then costs little more than its own 3 bytes a
 * pixel. Of one without, libwebp keeps all that it has decoded, 4 bytes a pixel, until its end, so that 7 would stand in
 * memory together: it is decoded twice, first for its lower part, when only that part of the photo takes memory, then, as
 * far as that, for the upper one, when libwebp has touched only that part of its own. */
#include "copper/photo_inside.h"

#include <stdlib.h>

#include <webp/decode.h>
#include <webp/demux.h>

enum { PIECES = 64, LOSSLESS = 2 /* of WebPBitstreamFeatures.format */ };
static const double FIRST_PART = 0.5625; /* of the height: 5.3 bytes a pixel at the end of either decoding */
static const char EXPECTED[] = "a WebP photo as it was written";

/* The EXIF chunk; valid while the demuxer lives. */
static Text find_exif(WebPDemuxer *demuxer, WebPChunkIterator *chunk) {
    if (demuxer == NULL || !WebPDemuxGetChunk(demuxer, "EXIF", 1, chunk)) return TEXT("");
    return (Text){(const char *)chunk->chunk.bytes, chunk->chunk.size};
}

static bool begin(PhotoJob *job, const WebPBitstreamFeatures *features) {
    WebPChunkIterator chunk = {0};
    WebPDemuxer *demuxer = WebPDemux(&(WebPData){(const uint8_t *)job->bytes.at, job->bytes.len});
    bool lossless = features->format == LOSSLESS;
    bool done = photo_begin(job, (uint64_t)features->width, (uint64_t)features->height, find_exif(demuxer, &chunk),
                            lossless ? 8 : 4);
    if (demuxer != NULL) WebPDemuxReleaseChunkIterator(&chunk);
    WebPDemuxDelete(demuxer);
    return done;
}

/* Hands over, or passes by, the rows up to `end`: the whole file is asked for only when that is its height. */
static bool decode_upto(PhotoJob *job, WebPIDecoder *decoder, unsigned char *picture, uint32_t end) {
    VP8StatusCode status = VP8_STATUS_SUSPENDED;
    size_t piece = job->bytes.len / PIECES + 4096;
    bool enough = false;
    for (size_t fed = 0, had = 0; fed < job->bytes.len && status == VP8_STATUS_SUSPENDED && !enough;) {
        int ready = 0;
        fed = fed + piece < job->bytes.len ? fed + piece : job->bytes.len;
        status = WebPIUpdate(decoder, (const uint8_t *)job->bytes.at, fed);
        if (WebPIDecGetRGB(decoder, &ready, NULL, NULL, NULL) == NULL) ready = 0;
        if ((status != VP8_STATUS_OK && status != VP8_STATUS_SUSPENDED) || ready <= (int)had) continue;
        photo_rows_from(job, picture, (uint32_t)ready);
        had = (size_t)ready;
        enough = end < job->height && had >= end;
    }
    if (enough || status == VP8_STATUS_OK) return true;
    return photo_refuse(
        job, EXPECTED, status == VP8_STATUS_SUSPENDED ? "a WebP that breaks off before its end" : "a WebP that is damaged");
}

static bool decode(PhotoJob *job, uint32_t end) {
    size_t size = (size_t)job->width * job->height * 3;
    unsigned char *picture = malloc(size);
    WebPIDecoder *decoder = picture == NULL ? NULL : WebPINewRGB(MODE_RGB, picture, size, (int)job->width * 3);
    job->handed = 0;
    bool done = decoder == NULL ? photo_refuse(job, "fewer pixels", "no memory to read it")
                                : decode_upto(job, decoder, picture, end);
    WebPIDelete(decoder);
    free(picture);
    return done;
}

bool photo_webp(PhotoJob *job) {
    WebPBitstreamFeatures features;
    if (WebPGetFeatures((const uint8_t *)job->bytes.at, job->bytes.len, &features) != VP8_STATUS_OK)
        return photo_refuse(job, EXPECTED, "a WebP without a picture");
    if (features.has_animation) return photo_refuse(job, "a still photo", "a moving WebP picture");
    if (!begin(job, &features)) return false;
    if (features.format != LOSSLESS) return decode(job, job->height);
    job->first = (uint32_t)(FIRST_PART * job->height);
    return decode(job, job->height) && (job->first == 0 || decode(job, job->first));
}
