/* Labels at any scale: each pixel of the PNG takes the net at its centre. Also what all the files have in common: names,
 * places. */
#include "copper/export.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>

Text export_net_name(Arena *arena, const ExportNames *names, uint32_t net) {
    if (names->nets != NULL && net > 0 && names->nets[net - 1].len > 0) return names->nets[net - 1];
    return text_fmt(arena, "N%u", net);
}

PlacePoint export_place(const Copper *copper, const ExportNames *names, PlacePoint mm) {
    return (PlacePoint){names->bottom ? copper->width_mm - mm.x : mm.x, copper->height_mm - mm.y};
}

bool export_labels(const char *path, const Copper *copper, double scale) {
    if (!(scale > 0)) return photo_write_png_grey16(path, copper->width, copper->height, copper->labels);
    double width = round(copper->width_mm * scale), height = round(copper->height_mm * scale);
    if (!(width >= 1 && height >= 1 && width * height <= PHOTO_PIXELS_MOST)) {
        errno = EINVAL;
        return false;
    }
    uint32_t columns = (uint32_t)width, rows = (uint32_t)height;
    uint16_t *labels = malloc((size_t)columns * rows * sizeof *labels);
    if (labels == NULL) return false;
    for (uint32_t y = 0; y < rows; y++)
        for (uint32_t x = 0; x < columns; x++)
            labels[(size_t)y * columns + x] =
                (uint16_t)copper_net_at(copper, (PlacePoint){(x + 0.5) / scale, (y + 0.5) / scale});
    bool written = photo_write_png_grey16(path, columns, rows, labels);
    int error = errno;
    free(labels);
    errno = error;
    return written;
}
