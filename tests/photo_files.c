/* The encoders behind photo_files.h. They stop the program when a library fails: a test without its input is no test. */
#include "tests/photo_files.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <jpeglib.h>
#include <libheif/heif.h>
#include <png.h>
#include <webp/encode.h>
#include <webp/mux.h>

/* The encoder of HEIC does not free all it took; no fault of what is tested. */
const char *__lsan_default_suppressions(void);
const char *__lsan_default_suppressions(void) { return "leak:libx265"; }

typedef struct Bytes {
    unsigned char *at;
    size_t len;
} Bytes;

static void add(Bytes *bytes, const void *more, size_t len) {
    bytes->at = realloc(bytes->at, bytes->len + len + 1);
    if (bytes->at == NULL) abort();
    memcpy(bytes->at + bytes->len, more, len);
    bytes->len += len;
}

void files_pixel(uint32_t x, uint32_t y, uint32_t width, uint32_t height, unsigned char rgb[3]) {
    float u = (float)x / (float)width, v = (float)y / (float)height;
    rgb[0] = (unsigned char)(40 + 180 * u);
    rgb[1] = (unsigned char)(40 + 180 * v);
    rgb[2] = (unsigned char)(120 + 80 * sinf(3 * u + 2 * v));
}

unsigned char *files_picture(uint32_t width, uint32_t height) {
    unsigned char *rgb = malloc((size_t)3 * width * height);
    if (rgb == NULL) abort();
    for (uint32_t y = 0; y < height; y++)
        for (uint32_t x = 0; x < width; x++) files_pixel(x, y, width, height, rgb + 3 * ((size_t)y * width + x));
    return rgb;
}

/* Exif 2.32, 4.5 (from memory): a TIFF header, little endian; IFD0 with orientation and the pointer to the Exif IFD. */
void files_exif(unsigned turn, unsigned char block[EXIF_BYTES]) {
    const unsigned char all[EXIF_BYTES] = {'E',  'x',  'i',  'f',  0, 0, 'I', 'I', 42, 0, 8,
                                           0,    0,    0, /* header: IFD0 at 8 */
                                           2,    0,    0x12, 0x01, 3, 0, 1,   0,   0,  0, (unsigned char)turn,
                                           0,    0,    0, /* 0x0112 orientation, one SHORT */
                                           0x69, 0x87, 4,    0,    1, 0, 0,   0,   38, 0, 0,
                                           0,    0,    0,    0,    0, /* 0x8769 Exif IFD, at 38; no next IFD */
                                           1,    0,    0x05, 0xA4, 3, 0, 1,   0,   0,  0, 26,
                                           0,    0,    0,    0,    0, 0, 0}; /* 0xA405 focal length in 35 mm film, 26 */
    memcpy(block, all, sizeof all);
}

static Bytes write_jpeg(FileSort sort, const unsigned char *rgb, uint32_t width, uint32_t height, unsigned turn) {
    struct jpeg_compress_struct info;
    struct jpeg_error_mgr errors;
    Bytes out = {0};
    unsigned long len = 0;
    unsigned char exif[EXIF_BYTES];
    files_exif(turn, exif);
    info.err = jpeg_std_error(&errors);
    jpeg_create_compress(&info);
    jpeg_mem_dest(&info, &out.at, &len);
    info.image_width = width;
    info.image_height = height;
    info.input_components = 3;
    info.in_color_space = JCS_RGB;
    jpeg_set_defaults(&info);
    if (sort == FILE_JPEG_GREY) jpeg_set_colorspace(&info, JCS_GRAYSCALE);
    jpeg_set_quality(&info, 95, TRUE);
    if (sort == FILE_JPEG_IN_SCANS) jpeg_simple_progression(&info);
    jpeg_start_compress(&info, TRUE);
    if (turn > 0) jpeg_write_marker(&info, JPEG_APP0 + 1, exif, sizeof exif);
    while (info.next_scanline < height) {
        JSAMPROW row = (JSAMPROW)(uintptr_t)(rgb + (size_t)info.next_scanline * 3 * width);
        jpeg_write_scanlines(&info, &row, 1);
    }
    jpeg_finish_compress(&info);
    jpeg_destroy_compress(&info);
    out.len = len;
    return out;
}

static void png_take(png_structp png, png_bytep data, size_t len) { add(png_get_io_ptr(png), data, len); }

static void png_nothing(png_structp png) { (void)png; }

/* One line as this sort of PNG stores it. */
static void png_line(FileSort sort, const unsigned char *rgb, uint32_t width, unsigned char *line) {
    for (uint32_t x = 0; x < width; x++, rgb += 3) {
        switch (sort) {
        case FILE_PNG_GREY16:
            line[2 * x] = rgb[1], line[2 * x + 1] = rgb[1];
            break;
        case FILE_PNG_PALETTE:
            line[x] = rgb[0];
            break;
        case FILE_PNG_ALPHA:
            memcpy(line + 4 * x, rgb, 3), line[4 * x + 3] = 128;
            break;
        default:
            memcpy(line + 3 * x, rgb, 3);
        }
    }
}

static Bytes write_png(FileSort sort, const unsigned char *rgb, uint32_t width, uint32_t height, unsigned turn) {
    Bytes out = {0};
    unsigned char exif[EXIF_BYTES], *line = malloc((size_t)4 * width);
    png_color palette[256];
    for (int i = 0; i < 256; i++) palette[i] = (png_color){(png_byte)i, (png_byte)(255 - i), (png_byte)(i / 2)};
    files_exif(turn, exif);
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(png);
    png_set_write_fn(png, &out, png_take, png_nothing);
    int colour = sort == FILE_PNG_GREY16    ? PNG_COLOR_TYPE_GRAY
                 : sort == FILE_PNG_PALETTE ? PNG_COLOR_TYPE_PALETTE
                 : sort == FILE_PNG_ALPHA   ? PNG_COLOR_TYPE_RGB_ALPHA
                                            : PNG_COLOR_TYPE_RGB;
    png_set_IHDR(png, info, width, height, sort == FILE_PNG_GREY16 ? 16 : 8, colour,
                 sort == FILE_PNG_INTERLACED ? PNG_INTERLACE_ADAM7 : PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT,
                 PNG_FILTER_TYPE_DEFAULT);
    png_set_compression_level(png, 1);
    if (sort == FILE_PNG_PALETTE) png_set_PLTE(png, info, palette, 256);
    if (turn > 0) png_set_eXIf_1(png, info, sizeof exif - 6, exif + 6);
    png_write_info(png, info);
    int passes = png_set_interlace_handling(png);
    for (int pass = 0; pass < passes; pass++) {
        for (uint32_t y = 0; y < height; y++) {
            png_line(sort, rgb + (size_t)y * 3 * width, width, line);
            png_write_row(png, line);
        }
    }
    png_write_end(png, info);
    png_destroy_write_struct(&png, &info);
    free(line);
    return out;
}

static Bytes write_webp(FileSort sort, const unsigned char *rgb, uint32_t width, uint32_t height, unsigned turn) {
    Bytes out = {0};
    unsigned char exif[EXIF_BYTES];
    files_exif(turn, exif);
    WebPConfig config;
    WebPPicture picture;
    WebPMemoryWriter writer;
    WebPMemoryWriterInit(&writer);
    WebPConfigInit(&config);
    WebPPictureInit(&picture);
    config.quality = 90;
    config.method = 0;
    config.lossless = sort == FILE_WEBP_LOSSLESS;
    picture.use_argb = config.lossless;
    picture.width = (int)width;
    picture.height = (int)height;
    picture.writer = WebPMemoryWrite;
    picture.custom_ptr = &writer;
    if (!WebPPictureImportRGB(&picture, rgb, (int)width * 3) || !WebPEncode(&config, &picture)) abort();
    WebPMux *mux = WebPMuxNew();
    WebPData image = {writer.mem, writer.size}, whole = {0}, chunk = {exif + 6, sizeof exif - 6};
    WebPMuxSetImage(mux, &image, 0);
    if (turn > 0) WebPMuxSetChunk(mux, "EXIF", &chunk, 1);
    if (WebPMuxAssemble(mux, &whole) != WEBP_MUX_OK) abort();
    add(&out, whole.bytes, whole.size);
    WebPDataClear(&whole);
    WebPMuxDelete(mux);
    WebPMemoryWriterClear(&writer);
    WebPPictureFree(&picture);
    return out;
}

static struct heif_error heic_take(struct heif_context *context, const void *data, size_t len, void *out) {
    (void)context;
    add(out, data, len);
    return (struct heif_error){heif_error_Ok, heif_suberror_Unspecified, ""};
}

static Bytes write_heic(const unsigned char *rgb, uint32_t width, uint32_t height, unsigned turn) {
    Bytes out = {0};
    unsigned char exif[EXIF_BYTES];
    files_exif(turn, exif);
    struct heif_context *context = heif_context_alloc();
    struct heif_encoder *encoder = NULL;
    struct heif_image *image = NULL;
    struct heif_image_handle *handle = NULL;
    struct heif_encoding_options *options = heif_encoding_options_alloc();
    if (heif_context_get_encoder_for_format(context, heif_compression_HEVC, &encoder).code != heif_error_Ok) goto done;
    heif_encoder_set_lossy_quality(encoder, 90);
    heif_encoder_set_parameter_string(encoder, "preset", "ultrafast");
    heif_image_create((int)width, (int)height, heif_colorspace_RGB, heif_chroma_interleaved_RGB, &image);
    heif_image_add_plane(image, heif_channel_interleaved, (int)width, (int)height, 8);
    int stride = 0;
    uint8_t *plane = heif_image_get_plane(image, heif_channel_interleaved, &stride);
    for (uint32_t y = 0; y < height; y++)
        memcpy(plane + (size_t)y * (size_t)stride, rgb + (size_t)y * 3 * width, (size_t)3 * width);
    if (turn > 0) options->image_orientation = (enum heif_orientation)turn;
    if (heif_context_encode_image(context, image, encoder, options, &handle).code != heif_error_Ok) abort();
    if (turn > 0) heif_context_add_exif_metadata(context, handle, exif, sizeof exif);
    heif_context_write(context, &(struct heif_writer){.writer_api_version = 1, .write = heic_take}, &out);
done:
    heif_encoding_options_free(options);
    heif_image_handle_release(handle);
    heif_image_release(image);
    heif_encoder_release(encoder);
    heif_context_free(context);
    return out;
}

Text files_write(FileSort sort, const unsigned char *rgb, uint32_t width, uint32_t height, unsigned turn) {
    Bytes out = sort <= FILE_JPEG_GREY       ? write_jpeg(sort, rgb, width, height, turn)
                : sort <= FILE_PNG_ALPHA     ? write_png(sort, rgb, width, height, turn)
                : sort <= FILE_WEBP_LOSSLESS ? write_webp(sort, rgb, width, height, turn)
                                             : write_heic(rgb, width, height, turn);
    return (Text){(const char *)out.at, out.len};
}
