/* HEIC by libheif; which way is up its own boxes say (photo_heic_turn.c), which stand above EXIF. The picture is
 * taken as the codec has it in all but rare files, luma and halved chroma (4:2:0, 1.5 bytes a pixel), and made RGB here row
 * by row: libheif's own conversion would hold a second whole picture. Colours by ITU-T H.273, table 4 (from memory).
 *
 * libheif brings a dozen codecs with it, whose loading takes longer than all of `unpick look`: it is opened only when there
 * is a HEIC photo, before the sandbox closes. */
#include "copper/photo_inside.h"

#include <dlfcn.h>
#include <malloc.h>
#include <stdlib.h>

#include <libheif/heif.h>

enum { LARGE = 256 * 1024 /* bytes */ };
static const char EXPECTED[] = "a HEIC photo as the camera wrote it";

/* clang-format off */
#define HEIF_CALLS(DO)                                                                                                    \
    DO(context_alloc) DO(context_free) DO(context_get_primary_image_handle) DO(context_read_from_memory_without_copy)     \
    DO(context_set_max_decoding_threads) DO(decode_image) DO(decoding_options_alloc) DO(decoding_options_free)            \
    DO(image_get_bits_per_pixel_range) DO(image_get_height) DO(image_get_nclx_color_profile)                              \
    DO(image_get_plane_readonly) DO(image_get_width) DO(image_handle_get_height)                                          \
    DO(image_handle_get_list_of_metadata_block_IDs) DO(image_handle_get_metadata) DO(image_handle_get_metadata_size)      \
    DO(image_handle_get_width) DO(image_handle_release) DO(image_release) DO(nclx_color_profile_free)
/* clang-format on */

struct PhotoHeif { /* libheif's functions by their own names */
#define FIELD(name) __typeof__(heif_##name) *name;
    HEIF_CALLS(FIELD)
#undef FIELD
};

typedef struct Planes { /* luma, and the two of chroma with half as many columns and rows */
    const uint8_t *at[3];
    int stride[3], bits[3];
    size_t done[3]; /* bytes that have gone back to the system */
    float kr, kb;   /* weights of red and blue in luma */
    bool full_range;
} Planes;

static bool went_well(PhotoJob *job, struct heif_error error) {
    return error.code == heif_error_Ok || photo_refuse(job, EXPECTED, "%s", error.message);
}

static Text find_exif(const PhotoHeif *heif, const struct heif_image_handle *handle, char **block) {
    heif_item_id id;
    if (heif->image_handle_get_list_of_metadata_block_IDs(handle, "Exif", &id, 1) < 1) return TEXT("");
    size_t size = heif->image_handle_get_metadata_size(handle, id);
    *block = size > 4 && size < 1 << 20 ? malloc(size) : NULL;
    if (*block == NULL || heif->image_handle_get_metadata(handle, id, *block).code != heif_error_Ok) return TEXT("");
    return (Text){*block + 4, size - 4}; /* ISO/IEC 23008-12, A.2.1: four bytes of offset come first */
}

static bool take_planes(PhotoJob *job, const PhotoHeif *heif, const struct heif_image *image, Planes *planes) {
    static const enum heif_channel channels[] = {heif_channel_Y, heif_channel_Cb, heif_channel_Cr};
    *planes = (Planes){.kr = 0.299f, .kb = 0.114f, .full_range = true}; /* BT.601, what cameras write that say nothing */
    for (int c = 0; c < 3; c++) {
        planes->at[c] = heif->image_get_plane_readonly(image, channels[c], &planes->stride[c]);
        planes->bits[c] = heif->image_get_bits_per_pixel_range(image, channels[c]);
        int width = heif->image_get_width(image, channels[c]), height = heif->image_get_height(image, channels[c]);
        uint32_t half = c > 0 ? 1 : 0;
        if (planes->at[c] == NULL || planes->bits[c] < 8 || planes->bits[c] > 16 || width < 0 || height < 0 ||
            (uint32_t)width < (job->width + half) >> half || (uint32_t)height < (job->height + half) >> half)
            return photo_refuse(job, EXPECTED, "colours of an unknown kind");
    }
    struct heif_color_profile_nclx *profile = NULL;
    if (heif->image_get_nclx_color_profile(image, &profile).code == heif_error_Ok && profile != NULL) {
        planes->full_range = profile->full_range_flag != 0;
        if (profile->matrix_coefficients == heif_matrix_coefficients_ITU_R_BT_709_5)
            planes->kr = 0.2126f, planes->kb = 0.0722f;
        if (profile->matrix_coefficients == heif_matrix_coefficients_ITU_R_BT_2020_2_non_constant_luminance)
            planes->kr = 0.2627f, planes->kb = 0.0593f;
        heif->nclx_color_profile_free(profile);
    }
    return true;
}

static int sample(const Planes *planes, int channel, uint32_t x, uint32_t y) {
    const uint8_t *row = planes->at[channel] + (size_t)y * (size_t)planes->stride[channel];
    return planes->bits[channel] == 8 ? row[x] : ((const uint16_t *)(const void *)row)[x] >> (planes->bits[channel] - 8);
}

static unsigned char clip(int value) { return (unsigned char)(value < 0 ? 0 : value > 255 ? 255 : value); }

/* In 1/65536: y' = a (y - black), red = y' + r cr, and so on. */
static void draw_row(const Planes *planes, uint32_t y, uint32_t width, unsigned char *rgb) {
    float kg = 1 - planes->kr - planes->kb, wide = planes->full_range ? 1 : 255.f / 224;
    int black = planes->full_range ? 0 : 16, half = 1 << 15;
    int luma = (int)((planes->full_range ? 1 : 255.f / 219) * 65536);
    int to_red = (int)(2 * (1 - planes->kr) * wide * 65536), to_blue = (int)(2 * (1 - planes->kb) * wide * 65536);
    int green_cr = (int)(2 * (1 - planes->kr) * planes->kr / kg * wide * 65536);
    int green_cb = (int)(2 * (1 - planes->kb) * planes->kb / kg * wide * 65536);
    for (uint32_t x = 0; x < width; x++, rgb += 3) {
        int bright = (sample(planes, 0, x, y) - black) * luma + half;
        int cb = sample(planes, 1, x / 2, y / 2) - 128, cr = sample(planes, 2, x / 2, y / 2) - 128;
        rgb[0] = clip((bright + cr * to_red) >> 16);
        rgb[1] = clip((bright - cr * green_cr - cb * green_cb) >> 16);
        rgb[2] = clip((bright + cb * to_blue) >> 16);
    }
}

static void draw_rows(PhotoJob *job, Planes *planes) {
    while (job->row < job->height) {
        uint32_t one = 1;
        draw_row(planes, job->row, job->width, photo_rows(job, &one));
        photo_rows_done(job, 1);
        for (int c = 0; c < 3; c++) {
            size_t rows = c == 0 ? job->row : job->row / 2;
            photo_hand_back(planes->at[c], rows * (size_t)planes->stride[c], &planes->done[c]);
        }
    }
}

/* Turned here, row by row, where the file says how; by libheif, which holds more, where it is cut out of a larger picture.
 */
static bool decode(PhotoJob *job, const PhotoHeif *heif, const struct heif_image_handle *handle,
                   struct heif_image **image) {
    unsigned turn = 1, said;
    double focal;
    bool ours = photo_heic_turn(job->bytes, &turn);
    int wide = heif->image_handle_get_width(handle), high = heif->image_handle_get_height(handle); /* upright */
    bool aside = ours && photo_turns_aside(turn);
    int width = aside ? high : wide, height = aside ? wide : high;
    char *block = NULL;
    photo_exif(find_exif(heif, handle, &block), &said, &focal);
    free(block);
    if (!photo_begin(job, width < 0 ? 0 : (uint64_t)width, height < 0 ? 0 : (uint64_t)height, TEXT(""), 8)) return false;
    job->heavy = false; /* what it holds is gone before the first row */
    job->turn = ours ? turn : 1;
    job->focal_35mm = focal;
    struct heif_decoding_options *options = heif->decoding_options_alloc();
    if (options == NULL) return photo_refuse(job, EXPECTED, "no memory to read it");
    options->strict_decoding = 1;
    options->ignore_transformations = ours;
    struct heif_error error = heif->decode_image(handle, image, heif_colorspace_YCbCr, heif_chroma_420, options);
    heif->decoding_options_free(options);
    malloc_trim(0); /* the decoder's own memory, now free, back to the system */
    Planes planes;
    if (!went_well(job, error) || !take_planes(job, heif, *image, &planes)) return false;
    draw_rows(job, &planes);
    return true;
}

void photo_heic_open(PhotoJob *job) {
    void *library = dlopen("libheif.so.1", RTLD_NOW | RTLD_LOCAL); /* stays open: the child ends soon */
    PhotoHeif *heif = library == NULL ? NULL : malloc(sizeof *heif);
    if (heif == NULL) return;
    bool complete = true;
#define LOOK_UP(name) complete &= (*(void **)&heif->name = dlsym(library, "heif_" #name)) != NULL;
    HEIF_CALLS(LOOK_UP)
#undef LOOK_UP
    if (complete)
        job->heif = heif;
    else
        free(heif);
}

bool photo_heic(PhotoJob *job) {
    const PhotoHeif *heif = job->heif;
    if (heif == NULL)
        return photo_refuse(job, "a JPEG, PNG or WebP photo, or libheif 1.15 or newer",
                            "a HEIC photo, and libheif is not installed");
    struct heif_context *context = heif->context_alloc();
    struct heif_image_handle *handle = NULL;
    struct heif_image *image = NULL;
    if (context == NULL) return photo_refuse(job, EXPECTED, "no memory to read it");
    mallopt(M_MMAP_THRESHOLD,
            LARGE); /* what is large goes back as soon as it is freed: most is, before the rest is taken */
    heif->context_set_max_decoding_threads(context, 0); /* tiles one after the other: each thread would hold one more */
    bool done = went_well(job, heif->context_read_from_memory_without_copy(context, job->bytes.at, job->bytes.len, NULL)) &&
                went_well(job, heif->context_get_primary_image_handle(context, &handle)) &&
                decode(job, heif, handle, &image);
    heif->image_release(image);
    heif->image_handle_release(handle);
    heif->context_free(context);
    return done;
}
