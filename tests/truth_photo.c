/* Photo, place, flat, layers: each let go of as soon as the next stands. */
#include "tests/truth_photo.h"

bool truth_photo_layers(Arena *arena, const char *folder, const Truth *truth, double scale, Layers *layers) {
    Photo photo;
    BoardPlace place;
    Flat flat;
    Diags problems = diags_new(arena);
    if (!photo_read(text_fmt(arena, "%s/photo.jpg%c", folder, 0).at, &photo, &problems)) return false;
    bool done = place_from_corners(truth->corners, truth->width_mm, truth->height_mm, photo.width, photo.height, &place);
    if (done) place_refine(&photo, &place);
    done = done && flat_from_photo(&photo, &place, scale, &flat);
    photo_free(&photo);
    if (!done) return false;
    done = layers_from_flat(&flat, NULL, 0, layers);
    flat_free(&flat);
    return done;
}
