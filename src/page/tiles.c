/* Photos cut into tiles, so that one of 200 million pixels can be looked at through any window. A photo is decoded once, in
 * the sandboxed child, or twice when it is large: a small picture of a JPEG is there some times sooner. What is written is
 * new JPEGs of its pixels, without anything else the file held. The file `size`, written last, says from which level on all
 * are there. */
#include "page/pictures.h"

#include "base/file.h"
#include "copper/flat.h"

#include <math.h>
#include <stdio.h>
#include <sys/stat.h>

enum { QUALITY = 88, SIZE_MOST = 100, COARSE_PIXELS = 2000 * 1000 /* fill a large window */ };

static Text folder_of(Arena *arena, const char *folder, Text id) {
    return text_fmt(arena, "%s/derived/tiles/%.*s", folder, TEXT_ARG(id));
}

Text tile_path(Arena *arena, const char *folder, Text id, uint32_t level, uint32_t x, uint32_t y) {
    return text_fmt(arena, "%.*s/%u-%u-%u.jpg", TEXT_ARG(folder_of(arena, folder, id)), level, x, y);
}

static uint32_t levels_of(uint32_t width, uint32_t height) {
    uint32_t levels = 1;
    for (uint32_t side = width > height ? width : height; side > TILE_SIDE; side = (side + 1) / 2) levels++;
    return levels;
}

bool tiles_ready(const char *folder, Text id, PictureSize *size) {
    Arena *arena = arena_new();
    Text said;
    *size = (PictureSize){0};
    bool ready =
        file_read(arena, text_fmt(arena, "%.*s/size", TEXT_ARG(folder_of(arena, folder, id))).at, SIZE_MOST, &said) &&
        sscanf(text_cstring(arena, said), "%u %u %u", &size->width, &size->height, &size->finest) == 3 && size->width > 0 &&
        size->height > 0;
    size->levels = ready ? levels_of(size->width, size->height) : 0;
    arena_free(arena);
    return ready && size->finest < size->levels;
}

static bool write_size(Arena *arena, Text to, PictureSize size) {
    return file_write(text_fmt(arena, "%.*s/size", TEXT_ARG(to)).at,
                      text_fmt(arena, "%u %u %u\n", size.width, size.height, size.finest));
}

/* ---- cutting ---- */

static bool write_tile(Arena *arena, const char *path, const Photo *photo, uint32_t left, uint32_t top) {
    uint32_t width = photo->width - left < TILE_SIDE ? photo->width - left : TILE_SIDE;
    uint32_t height = photo->height - top < TILE_SIDE ? photo->height - top : TILE_SIDE;
    unsigned char *rgb = arena_take(arena, (size_t)3 * width * height);
    for (uint32_t y = 0; y < height; y++)
        memcpy(rgb + (size_t)3 * width * y, photo->rgb + 3 * ((size_t)photo->width * (top + y) + left), (size_t)3 * width);
    Text jpeg;
    FILE *file = photo_to_jpeg(arena, width, height, rgb, QUALITY, &jpeg) ? fopen(path, "wbe") : NULL;
    bool done = file != NULL && fwrite(jpeg.at, 1, jpeg.len, file) == jpeg.len;
    return file != NULL && fclose(file) == 0 && done; /* one cut short is no matter: `size` is not written then */
}

static bool cut_level(const char *folder, Text id, const Photo *photo, uint32_t level) {
    bool done = true;
    for (uint32_t top = 0; done && top < photo->height; top += TILE_SIDE)
        for (uint32_t left = 0; done && left < photo->width; left += TILE_SIDE) {
            Arena *arena = arena_new();
            Text path = tile_path(arena, folder, id, level, left / TILE_SIDE, top / TILE_SIDE);
            done = write_tile(arena, path.at, photo, left, top);
            arena_free(arena);
        }
    return done;
}

/* Half as large, in place: each pixel the mean of up to four. */
static void halve(Photo *photo) {
    uint32_t width = (photo->width + 1) / 2, height = (photo->height + 1) / 2;
    for (uint32_t y = 0; y < height; y++)
        for (uint32_t x = 0; x < width; x++) {
            uint32_t right = 2 * x + 1 < photo->width ? 2 * x + 1 : 2 * x;
            uint32_t below = 2 * y + 1 < photo->height ? 2 * y + 1 : 2 * y;
            const unsigned char *up = photo->rgb + (size_t)3 * photo->width * 2 * y;
            const unsigned char *down = photo->rgb + (size_t)3 * photo->width * below;
            unsigned char *to = photo->rgb + 3 * ((size_t)width * y + x);
            for (uint32_t c = 0; c < 3; c++)
                to[c] =
                    (unsigned char)((up[6 * x + c] + up[3 * right + c] + down[6 * x + c] + down[3 * right + c] + 2) / 4);
        }
    photo->width = width, photo->height = height;
}

/* The board in the photo's own resolution, laid into a photo. */
static bool straighten(const Picture *picture, Photo *photo, Diags *problems) {
    BoardPlace place;
    Flat flat;
    if (!place_from_corners(picture->corners, picture->width_mm, picture->height_mm, photo->width, photo->height, &place))
        return false;
    place_refine(photo, &place);
    double scale = place_scale(&place, (PlacePoint){picture->width_mm / 2, picture->height_mm / 2});
    scale = fmin(scale, sqrt(PHOTO_PIXELS_MOST / 4 / (picture->width_mm * picture->height_mm)));
    bool done = isfinite(scale) && scale > 0 && flat_from_photo(photo, &place, scale, &flat);
    photo_free(photo);
    if (!done) {
        diag_add(problems, (Diag){.place.file = picture->file, .message = TEXT("the board can't be straightened")});
        return false;
    }
    done = photo_new(flat.width, flat.height, photo);
    if (done) memcpy(photo->rgb, flat.rgb, (size_t)3 * flat.width * flat.height);
    flat_free(&flat);
    return done;
}

/* From a level on; the photo shrinks in its own memory. */
static bool cut_levels(const char *folder, Text id, Photo *photo, uint32_t from, uint32_t levels) {
    bool done = true;
    for (uint32_t level = from; done && level < levels; level++) {
        if (level > from) halve(photo);
        done = cut_level(folder, id, photo, level);
    }
    return done;
}

/* The coarse levels of a large photo, from a small picture of it. What fails here fails again when it is read whole. */
static bool cut_coarse(Arena *arena, const char *folder, const Picture *picture, const char *path, Text to) {
    Diags problems = diags_new(arena);
    Photo photo = {0};
    unsigned shrunk = 1;
    bool done = photo_read_small(path, COARSE_PIXELS, 0, &photo, &shrunk, &problems) && shrunk > 1;
    PictureSize size = {.width = photo.width * shrunk, .height = photo.height * shrunk};
    while (1u << size.finest < shrunk) size.finest++;
    uint32_t levels = levels_of(size.width, size.height);
    done = done && size.finest < levels && cut_levels(folder, picture->id, &photo, size.finest, levels) &&
           write_size(arena, to, size);
    photo_free(&photo);
    return done;
}

bool tiles_cut(const char *folder, const Picture *picture, TilesListener heard, Diags *problems) {
    Arena *arena = arena_new();
    Photo photo = {0};
    PictureSize size;
    Text to = folder_of(arena, folder, picture->id);
    const char *path = text_fmt(arena, "%s/photos/%.*s", folder, TEXT_ARG(picture->file)).at;
    mkdir(text_fmt(arena, "%s/derived", folder).at, 0777);
    mkdir(text_fmt(arena, "%s/derived/tiles", folder).at, 0777);
    mkdir(to.at, 0777);                                    /* that it can't be made shows when the first tile is written */
    bool coarse = tiles_ready(folder, picture->id, &size); /* of the last time, which was cut short */
    if (!coarse && !picture->straight && cut_coarse(arena, folder, picture, path, to)) heard.hear(heard.context);
    bool done = photo_read(path, &photo, problems) && (!picture->straight || straighten(picture, &photo, problems));
    size = (PictureSize){.width = photo.width, .height = photo.height};
    done = done && cut_levels(folder, picture->id, &photo, 0, levels_of(size.width, size.height)) &&
           write_size(arena, to, size);
    photo_free(&photo);
    arena_free(arena);
    return done;
}
