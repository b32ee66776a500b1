/* WebP by libwebp: into the photo's own memory when it stands upright, else into a copy that is turned from there (libwebp
 * gives no rows away). */
#include "copper/photo_inside.h"

#include <stdlib.h>

#include <webp/decode.h>
#include <webp/demux.h>

static const char EXPECTED[] = "a WebP photo as it was written";

/* The EXIF chunk; valid while the demuxer lives. */
static Text find_exif(WebPDemuxer *demuxer, WebPChunkIterator *chunk) {
    if (demuxer == NULL || !WebPDemuxGetChunk(demuxer, "EXIF", 1, chunk)) return TEXT("");
    return (Text){(const char *)chunk->chunk.bytes, chunk->chunk.size};
}

/* Frames of a film are refused by the decoder itself; of alpha only what it covers is lost. */
static bool decode_into(PhotoJob *job, WebPDecoderConfig *config, unsigned char *rgb) {
    config->output.colorspace = MODE_RGB;
    config->output.is_external_memory = 1;
    config->output.u.RGBA.rgba = rgb;
    config->output.u.RGBA.stride = (int)job->width * 3;
    config->output.u.RGBA.size = (size_t)job->width * job->height * 3;
    VP8StatusCode status = WebPDecode((const uint8_t *)job->bytes.at, job->bytes.len, config);
    if (status == VP8_STATUS_OK) return true;
    bool short_file = status == VP8_STATUS_NOT_ENOUGH_DATA || status == VP8_STATUS_SUSPENDED;
    return photo_refuse(job, EXPECTED, short_file ? "a WebP that breaks off before its end" : "a WebP that is damaged (%d)",
                        (int)status);
}

bool photo_webp(PhotoJob *job) {
    WebPDecoderConfig config;
    WebPData data = {(const uint8_t *)job->bytes.at, job->bytes.len};
    if (!WebPInitDecoderConfig(&config)) return photo_refuse(job, EXPECTED, "libwebp does not fit");
    VP8StatusCode status = WebPGetFeatures(data.bytes, data.size, &config.input);
    if (status != VP8_STATUS_OK) return photo_refuse(job, EXPECTED, "no WebP photo (%d)", (int)status);
    if (config.input.has_animation) return photo_refuse(job, "a still photo", "a moving WebP picture");
    WebPChunkIterator chunk = {0};
    WebPDemuxer *demuxer = WebPDemux(&data);
    bool lossless = config.input.format == 2;
    bool done = photo_begin(job, (uint64_t)config.input.width, (uint64_t)config.input.height, find_exif(demuxer, &chunk),
                            lossless ? 8 : 4);
    if (demuxer != NULL) WebPDemuxReleaseChunkIterator(&chunk);
    WebPDemuxDelete(demuxer);
    if (!done) return false;
    unsigned char *copy = job->turn == 1 ? NULL : malloc((size_t)job->width * job->height * 3);
    if (job->turn != 1 && copy == NULL) return photo_refuse(job, "fewer pixels", "no memory to turn it upright");
    done = decode_into(job, &config, copy != NULL ? copy : job->rgb);
    if (done && copy != NULL) photo_turn(copy, 0, job->height, job->width, job->height, job->turn, job->rgb);
    job->row = done ? job->height : 0;
    free(copy);
    WebPFreeDecBuffer(&config.output);
    return done;
}
