/* The two facts of an EXIF block that matter here: which way is up, and how wide the lens sees. Nothing else is read, so
 * that no position and no serial number gets any further. */
#include "copper/photo_inside.h"

#include <libexif/exif-data.h>

/* A number of the first entry with this tag, or `otherwise`. */
static unsigned read_short(ExifData *data, ExifIfd ifd, ExifTag tag, unsigned otherwise) {
    ExifEntry *entry = exif_content_get_entry(data->ifd[ifd], tag);
    if (entry == NULL || entry->components < 1) return otherwise;
    ExifByteOrder order = exif_data_get_byte_order(data);
    if (entry->format == EXIF_FORMAT_SHORT && entry->size >= 2) return exif_get_short(entry->data, order);
    if (entry->format == EXIF_FORMAT_LONG && entry->size >= 4) return exif_get_long(entry->data, order);
    return otherwise;
}

void photo_exif(Text exif, unsigned *turn, double *focal_35mm) {
    static const char mark[6] = "Exif\0\0";
    enum { EXIF_MOST = 64 * 1024 };
    *turn = 1;
    *focal_35mm = 0;
    if (exif.len < 8) return;
    exif = text_sub(exif, 0, EXIF_MOST); /* what comes first matters; previews come last */
    char block[sizeof mark + EXIF_MOST];
    size_t len = 0;
    if (memcmp(exif.at, mark, sizeof mark) != 0) { /* libexif wants the mark, PNG, WebP and HEIC leave it out */
        memcpy(block, mark, sizeof mark);
        len = sizeof mark;
    }
    memcpy(block + len, exif.at, exif.len);
    ExifData *data = exif_data_new();
    if (data == NULL) return;
    exif_data_unset_option(data, EXIF_DATA_OPTION_FOLLOW_SPECIFICATION); /* as it was written, nothing put right */
    exif_data_load_data(data, (const unsigned char *)block, (unsigned)(len + exif.len));
    unsigned said = read_short(data, EXIF_IFD_0, EXIF_TAG_ORIENTATION, 1);
    if (said >= 1 && said <= 8) *turn = said;
    *focal_35mm = read_short(data, EXIF_IFD_EXIF, EXIF_TAG_FOCAL_LENGTH_IN_35MM_FILM, 0);
    exif_data_unref(data);
}
