/* JPEG by libjpeg-turbo, line by line into the window. A file that breaks off is refused before anything
 * is decoded, by walking its markers (ISO/IEC 10918-1, annex B), which costs what a memory search does. A progressive file
 * is kept as coefficients until its last scan (6 bytes a pixel at most); they are handed back to the system row by row as
 * they are drawn, so that coefficients and pixels never stand in memory together. */
#include "copper/photo_inside.h"

#include <setjmp.h>
#include <stdio.h>
#include <sys/mman.h>
#include <unistd.h>

#include <jpeglib.h>
/* after jpeglib.h, which it needs */
#include <jerror.h>

enum {
    SCANS_MOST = 100 /* of progressive files; cameras and programs write about ten */,
    COMPONENTS_MOST = 4,
    LINES_AT_ONCE = 16
};
static const char EXPECTED[] = "a JPEG as the camera wrote it";

typedef struct Coefficients { /* of one component: the rows in use */
    jvirt_barray_ptr array;
    JBLOCKARRAY rows;
    JDIMENSION count;
} Coefficients;

typedef struct Jpeg {
    struct jpeg_decompress_struct info; /* first: libjpeg hands back pointers to it */
    struct jpeg_error_mgr errors;
    struct jpeg_progress_mgr progress;
    jmp_buf out;
    PhotoJob *job;
    JBLOCKARRAY (*access)(j_common_ptr, jvirt_barray_ptr, JDIMENSION, JDIMENSION, boolean);
    Coefficients coefficients[COMPONENTS_MOST];
} Jpeg;

static void give_up(j_common_ptr info) {
    Jpeg *jpeg = (Jpeg *)info;
    char says[JMSG_LENGTH_MAX];
    info->err->format_message(info, says);
    photo_refuse(jpeg->job, EXPECTED, "%s", says);
    longjmp(jpeg->out, 1);
}

/* Warnings: what damages the picture ends it, since a guessed track is worse than none. */
static void hear(j_common_ptr info, int level) {
    if (level >= 0) return;
    switch (info->err->msg_code) {
    case JWRN_EXTRANEOUS_DATA:
    case JWRN_ADOBE_XFORM:
    case JWRN_JFIF_MAJOR:
    case JWRN_BOGUS_PROGRESSION:
        return;
    default:
        give_up(info);
    }
}

static void count_scans(j_common_ptr info) {
    Jpeg *jpeg = (Jpeg *)info;
    if (jpeg->info.input_scan_number <= SCANS_MOST) return;
    photo_refuse(jpeg->job, EXPECTED, "more than %d scans", SCANS_MOST);
    longjmp(jpeg->out, 1);
}

/* Stands in for libjpeg's own access to coefficients: the rows asked for before are done with. */
static JBLOCKARRAY access_and_hand_back(j_common_ptr info, jvirt_barray_ptr array, JDIMENSION start, JDIMENSION count,
                                        boolean writes) {
    Jpeg *jpeg = (Jpeg *)info;
    JBLOCKARRAY rows = jpeg->access(info, array, start, count, writes);
    int i = 0; /* components come in their order */
    while (i < jpeg->info.num_components && jpeg->coefficients[i].array != NULL && jpeg->coefficients[i].array != array)
        i++;
    if (i == jpeg->info.num_components) return rows;
    Coefficients *seen = &jpeg->coefficients[i];
    uintptr_t page = (uintptr_t)sysconf(_SC_PAGESIZE), bytes = jpeg->info.comp_info[i].width_in_blocks * sizeof(JBLOCK);
    for (JDIMENSION r = 0; r < seen->count; r++) {
        uintptr_t from = ((uintptr_t)seen->rows[r] + page - 1) / page * page,
                  to = ((uintptr_t)seen->rows[r] + bytes) / page * page;
        if (from < to) madvise((void *)from, to - from, MADV_DONTNEED);
    }
    *seen = (Coefficients){array, rows, count};
    return rows;
}

/* marker: FF, then a byte that is neither 0 (a plain FF of the data), nor another FF (filling), nor D0..D7 (a restart). */
static bool has_end(Text bytes) {
    const unsigned char *at = (const unsigned char *)bytes.at + 2, *end = (const unsigned char *)bytes.at + bytes.len;
    while ((at = memchr(at, 0xFF, (size_t)(end - at))) != NULL && end - at >= 2) {
        unsigned char marker = at[1];
        if (marker == 0xD9) return true;
        if (marker == 0xFF || marker == 0 || marker == 1 || (marker >= 0xD0 && marker <= 0xD8)) {
            at += marker == 0xFF ? 1 : 2;
            continue;
        }
        size_t length = end - at >= 4 ? (size_t)at[2] * 256 + at[3] + 2 : SIZE_MAX; /* a segment says how long it is */
        if (length > (size_t)(end - at)) return false;
        at += length;
    }
    return false;
}

static Text find_exif(const Jpeg *jpeg) {
    for (jpeg_saved_marker_ptr marker = jpeg->info.marker_list; marker != NULL; marker = marker->next) {
        Text data = {(const char *)marker->data, marker->data_length};
        if (text_starts(data, "Exif")) return data;
    }
    return TEXT("");
}

/* How many pixels along a side libjpeg-turbo shall make one. */
static unsigned shrink(const PhotoJob *job, const struct jpeg_decompress_struct *info) {
    unsigned by = job->enough > 0 ? 8 : 1;
    uint64_t pixels = job->part > 0 ? job->part : (uint64_t)info->image_width * info->image_height;
    while (by > 1 && pixels / (by * by) < job->enough) by /= 2;
    return by;
}

/* Between setjmp and longjmp: nothing here owns memory of its own. */
static bool decode(Jpeg *jpeg) {
    PhotoJob *job = jpeg->job;
    struct jpeg_decompress_struct *info = &jpeg->info;
    jpeg_save_markers(info, JPEG_APP0 + 1, 0xFFFF);
    jpeg_mem_src(info, (const unsigned char *)job->bytes.at, job->bytes.len);
    jpeg_read_header(info, TRUE);
    if (info->num_components != 1 && info->num_components != 3)
        return photo_refuse(job, "a JPEG in colour or grey, as cameras write it", "%d colour components",
                            info->num_components);
    bool in_scans = jpeg_has_multiple_scans(info);
    if (!photo_size_fine(job, info->image_width, info->image_height)) return false;
    info->out_color_space = JCS_RGB;
    info->scale_num = 1, info->scale_denom = job->shrunk = shrink(job, info);
    jpeg_calc_output_dimensions(info);
    double beside = in_scans ? 6.2 * job->shrunk * job->shrunk : 0;
    if (!photo_begin(job, info->output_width, info->output_height, find_exif(jpeg), beside)) return false;
    jpeg_start_decompress(info);
    if (in_scans) {
        jpeg->access = info->mem->access_virt_barray;
        info->mem->access_virt_barray = access_and_hand_back;
    }
    while (info->output_scanline < info->output_height) {
        JSAMPROW rows[LINES_AT_ONCE];
        uint32_t left = info->output_height - info->output_scanline, count = left < LINES_AT_ONCE ? left : LINES_AT_ONCE;
        unsigned char *first = photo_rows(job, &count);
        for (uint32_t i = 0; i < count; i++) rows[i] = first + (size_t)i * 3 * job->width;
        for (uint32_t done = 0; done < count;) done += jpeg_read_scanlines(info, rows + done, count - done);
        photo_rows_done(job, count);
    }
    return true;
}

bool photo_jpeg(PhotoJob *job) {
    if (!has_end(job->bytes)) return photo_refuse(job, EXPECTED, "a JPEG that breaks off before its end");
    Jpeg jpeg = {.job = job};
    jpeg.info.err = jpeg_std_error(&jpeg.errors);
    jpeg.errors.error_exit = give_up;
    jpeg.errors.emit_message = hear;
    if (setjmp(jpeg.out) == 0) {
        jpeg_create_decompress(&jpeg.info);
        jpeg.progress.progress_monitor = count_scans;
        jpeg.info.progress = &jpeg.progress;
        bool decoded = decode(&jpeg);
        jpeg_destroy_decompress(&jpeg.info);
        return decoded;
    }
    jpeg_destroy_decompress(&jpeg.info);
    return false;
}
