/* One face: its photo decoded and straightened, its layers, its holes; or what was kept of them. */
#include "copper/board_cache.h"
#include "copper/components.h"

#include <math.h>

static const double SURE_ENOUGH = 0.5; /* of corners found: below, a person should look */
static const double HALF_TURN = 3.14159265358979323846;
static const double HOLE_LEAST_MM = 0.15; /* diameter: the finest drill in use (common practice) */
static const double PAD_LEAST_MM = 0.5, PAD_MOST_MM = 5, PAD_OVAL = 0.25, PAD_FULL = 0.7; /* of one with a hole */
enum { SURE = 128, HOLES_MOST = 4000 }; /* SURE: a pixel is taken for a hole from this probability (of 255) on */

void face_tell(Diags *problems, const FaceWork *work, Text message, Text expected, Text hint) {
    Text file = text_copy(problems->arena, text_of(work->asked->face[work->side].photo));
    diag_add(problems, (Diag){.place = {.file = file}, .message = message, .expected = expected, .hint = hint});
}

/* ---- from the photo ---- */

/* A photo for a preview: where the corners are told, no finer than the board will be. */
static bool read_coarse(const FaceWork *work, Photo *photo, unsigned *shrunk, Diags *problems) {
    const BoardFaceAsked *face = &work->asked->face[work->side];
    double board = 0; /* pixels of the photo, twice */
    for (int i = 0; i < 4; i++) {
        PlacePoint a = face->corners[i], b = face->corners[(i + 1) % 4];
        board += a.x * b.y - b.x * a.y;
    }
    bool told = face->has_corners && board >= 2;
    return photo_read_small(face->photo, told ? FLAT_COARSE : FLAT_COARSE_PHOTO, told ? (uint64_t)(board / 2) : 0, photo,
                            shrunk, problems);
}

/* Straightened finer than the photo itself its nets come out better, as long as it is not much finer: of photos with 8
 * px/mm 28 gave the best, of those with 5 it was 17. */
static double scale_for(const BoardAsked *asked, const BoardPlace *place) {
    const double finer_most = 3.5;
    double width = place->width_mm, height = place->height_mm;
    double scale = fmin(LAYER_SCALE, finer_most * place_scale(place, (PlacePoint){width / 2, height / 2}));
    return asked->coarse ? fmin(scale, sqrt(FLAT_COARSE / (width * height))) : scale;
}

static bool straighten(FaceWork *work, Flat *flat, Diags *problems) {
    const BoardAsked *asked = work->asked;
    Photo photo;
    BoardPlace place;
    unsigned shrunk = 1;
    if (!(asked->coarse ? read_coarse(work, &photo, &shrunk, problems)
                        : photo_read(asked->face[work->side].photo, &photo, problems)))
        return false;
    work->decoded = true;
    bool done = face_place(work, &photo, shrunk, &place, problems);
    if (done && !(done = flat_from_photo(&photo, &place, scale_for(asked, &place), flat)))
        face_tell(problems, work, TEXT("the board can't be straightened"),
                  TEXT("a photo with all of the board in it, and its size in mm"),
                  TEXT("look at its corners and its size"));
    photo_free(&photo);
    return done;
}

static bool make_layers(FaceWork *work, Diags *problems) {
    Flat flat;
    if (!straighten(work, &flat, problems)) return false;
    bool done =
        (work->asked->coarse ? layers_coarse : layers_from_flat)(&flat, work->hints, work->hint_count, &work->layers);
    flat_free(&flat);
    if (!done)
        face_tell(problems, work, TEXT("its copper can't be told: no memory for a board of this size"),
                  TEXT("a board of at most a few hundred mm"), TEXT("photograph it in parts, each with its own size"));
    return done;
}

/* ---- holes ---- */

static Components pieces(Arena *scratch, const Layers *layers, unsigned layer) {
    ComponentPicture picture = {layers->at[layer], layers->width, layers->height, layers->width, SURE, NULL};
    return components_of(scratch, &picture, arena_many(scratch, uint32_t, (size_t)layers->width * layers->height));
}

static PlacePoint middle_of(const Component *piece, double scale) {
    return (PlacePoint){piece->sum_x / piece->weight / scale, piece->sum_y / piece->weight / scale};
}

/* The width of a piece that is about as high and fills a square as a disc does or better; 0 when it is not so. */
static double width_of_pad(const Component *piece, double scale) {
    double width = (piece->right - piece->left + 1) / scale, height = (piece->bottom - piece->top + 1) / scale;
    bool round = fabs(width - height) <= PAD_OVAL * fmax(width, height);
    bool full = piece->area >= PAD_FULL * width * height * scale * scale;
    return round && full && width >= PAD_LEAST_MM && width <= PAD_MOST_MM ? (width + height) / 2 : 0;
}

static bool has_hole(const FaceSeen *seen, PlacePoint at, double width) {
    for (uint32_t i = 0; i < seen->holes.count && !seen->holes.at[i].pad; i++)
        if (hypot(seen->holes.at[i].at.x - at.x, seen->holes.at[i].at.y - at.y) < width / 2) return true;
    return false;
}

static void find_holes(FaceWork *work) {
    FaceSeen *seen = &work->seen;
    double scale = work->layers.scale;
    Arena *scratch = arena_new();
    seen->holes.count = 0;
    Components found = pieces(scratch, &work->layers, LAYER_HOLE);
    for (uint32_t i = 0; i < found.list.count && seen->holes.count < HOLES_MOST; i++) {
        double diameter = 2 * sqrt(found.list.at[i].area / HALF_TURN) / scale;
        if (diameter < HOLE_LEAST_MM) continue;
        list_push(work->arena, &seen->holes, ((FaceHole){middle_of(&found.list.at[i], scale), diameter, false}));
    }
    found = pieces(scratch, &work->layers, LAYER_PAD);
    for (uint32_t i = 0; i < found.list.count && seen->holes.count < HOLES_MOST; i++) {
        PlacePoint at = middle_of(&found.list.at[i], scale);
        double width = width_of_pad(&found.list.at[i], scale);
        if (width == 0 || has_hole(seen, at, width)) continue;
        list_push(work->arena, &seen->holes, ((FaceHole){at, width, true}));
    }
    arena_free(scratch);
}

/* ---- in and out of the cache ---- */

static void pack_any_seen(Pack *pack, void *seen) { pack_seen(pack, seen); }
static void pack_any_layers(Pack *pack, void *layers) { pack_layers(pack, layers); }

static void turn_layers(Layers *layers) {
    size_t count = (size_t)layers->width * layers->height;
    for (unsigned layer = 0; layer < LAYER_COUNT; layer++)
        for (size_t i = 0; i < count / 2; i++) {
            unsigned char *at = layers->at[layer], kept = at[i];
            at[i] = at[count - 1 - i], at[count - 1 - i] = kept;
        }
}

bool face_layers(FaceWork *work, Diags *problems) {
    const char *cache = work->asked->cache;
    if (work->layers.at[0] != NULL) return true;
    bool read = work->kept && cache_read(work->arena, cache, "layers", work->key, pack_any_layers, &work->layers);
    if (!read) {
        layers_free(&work->layers);
        if (!make_layers(work, problems)) return false;
        if (work->kept) cache_write(cache, "layers", work->key, pack_any_layers, &work->layers);
    }
    if (work->half) turn_layers(&work->layers);
    return true;
}

/* Corners and holes: as kept, or from the photo. */
static bool see(FaceWork *work, Diags *problems) {
    const FaceSeen before = work->seen;
    const char *cache = work->asked->cache;
    if (work->kept && cache_read(work->arena, cache, "face", work->key, pack_any_seen, &work->seen)) return true;
    work->seen = before;
    if (!face_layers(work, problems)) return false;
    find_holes(work);
    if (work->kept) cache_write(cache, "face", work->key, pack_any_seen, &work->seen);
    return true;
}

bool face_open(Arena *arena, const BoardAsked *asked, BoardSide side, const BoardCopper *board, FaceWork *work,
               Diags *problems) {
    *work = (FaceWork){.arena = arena, .asked = asked, .side = side};
    work->kept = asked->cache != NULL && !asked->coarse && cache_key_photo(asked, side, 0, &work->key);
    bool alone = asked->face[side == BOARD_TOP ? BOARD_BOTTOM : BOARD_TOP].photo == NULL;
    if (alone) face_hear(work, board);
    if (!see(work, problems)) return false;
    face_tell_place(work, problems);
    if (work->seen.corners_sure < SURE_ENOUGH)
        face_tell(problems, work, TEXT("the corners are a guess"), TEXT("a board that stands out from its background"),
                  TEXT("look at them, and say better ones"));
    return true;
}

PlacePoint face_turned(const FaceWork *work, PlacePoint mm, unsigned turns) {
    double width = work->asked->width_mm, height = work->asked->height_mm;
    for (unsigned i = 0; i < turns % 4; i++) mm = (PlacePoint){mm.y / height * width, (1 - mm.x / width) * height};
    return mm;
}

bool face_turn(FaceWork *work, unsigned turns, Diags *problems) {
    if (turns % 2 == 0) {
        for (uint32_t i = 0; i < work->seen.holes.count; i++)
            work->seen.holes.at[i].at = face_turned(work, work->seen.holes.at[i].at, turns);
        work->half = turns == 2;
        if (work->half && work->layers.at[0] != NULL) turn_layers(&work->layers);
        return true;
    }
    PlacePoint before[4]; /* the picture was stretched the wrong way: made again */
    memcpy(before, work->seen.corners, sizeof before);
    for (unsigned i = 0; i < 4; i++) work->seen.corners[i] = before[(i + turns) % 4];
    work->made = turns;
    work->kept = work->kept && cache_key_photo(work->asked, work->side, turns, &work->key);
    layers_free(&work->layers);
    return see(work, problems);
}

void face_hear(FaceWork *work, const BoardCopper *board) {
    const BoardFaceAsked *asked = &work->asked->face[work->side];
    if (asked->hint_count == 0 || work->hint_count > 0) return;
    LayerHint *hints = arena_many(work->arena, LayerHint, asked->hint_count);
    for (size_t i = 0; i < asked->hint_count; i++) {
        PlacePoint at = board_to_face(board, work->side, asked->hints[i].at);
        hints[i] = (LayerHint){face_turned(work, at, work->half ? 2 : 0), asked->hints[i].copper};
    }
    work->hints = hints, work->hint_count = asked->hint_count;
    work->key = cache_key_hints(work->key, hints, asked->hint_count);
    layers_free(&work->layers);
}

void face_close(FaceWork *work) { layers_free(&work->layers); }

bool board_flat(const BoardAsked *asked, const BoardCopper *board, BoardSide side, Flat *flat, Diags *problems) {
    FaceWork work = {.asked = asked, .side = side, .seen = {.placed = true}};
    memcpy(work.seen.corners, board->face[side].corners, sizeof work.seen.corners);
    return asked->face[side].photo != NULL && board->face[side].known && straighten(&work, flat, problems);
}
