/* One face: its photo decoded and straightened, its layers, its holes, its nets. */
#include "copper/board_inside.h"
#include "copper/components.h"

#include <math.h>
#include <stdlib.h>

static const double SURE_ENOUGH = 0.5; /* of corners found: below, a person should look */
static const double HALF_TURN = 3.14159265358979323846;
static const double HOLE_LEAST_MM = 0.15; /* diameter: the finest drill in use (common practice) */
static const double PAD_LEAST_MM = 0.5, PAD_MOST_MM = 5, PAD_OVAL = 0.25, PAD_FULL = 0.7; /* of one with a hole */
enum { SURE = 128, HOLES_MOST = 4000 }; /* SURE: a pixel is taken for a hole from this probability (of 255) on */

static void tell(Diags *problems, const FaceWork *work, Text message, Text expected, Text hint) {
    Text file = text_copy(problems->arena, text_of(work->asked->face[work->side].photo));
    diag_add(problems, (Diag){.place = {.file = file}, .message = message, .expected = expected, .hint = hint});
}

/* ---- from the photo ---- */

/* Where the board is: as told, or as found before or now. */
static bool find_place(FaceWork *work, const Photo *photo, BoardPlace *place, Diags *problems) {
    const BoardAsked *asked = work->asked;
    const BoardFaceAsked *face = &asked->face[work->side];
    if (!work->seen.placed && face->has_corners) {
        memcpy(work->seen.corners, face->corners, sizeof face->corners);
        work->seen.corners_sure = 1;
    }
    if (!work->seen.placed && !face->has_corners &&
        !place_find(photo, asked->width_mm, asked->height_mm, work->seen.corners, &work->seen.corners_sure)) {
        tell(problems, work, TEXT("no board stands out from its background"),
             text_fmt(problems->arena, "a board of %g x %g mm on a plain ground", asked->width_mm, asked->height_mm),
             TEXT("say where its corners are in the photo, in pixels"));
        return false;
    }
    if (!place_from_corners(work->seen.corners, asked->width_mm, asked->height_mm, photo->width, photo->height, place)) {
        tell(problems, work, TEXT("these are no four corners of a board"),
             TEXT("top-left, top-right, bottom-right, bottom-left as seen in the photo, in pixels"),
             TEXT("a bottom is seen mirrored: its top-left is what lies at the top left of its own photo"));
        return false;
    }
    work->seen.placed = true;
    place_refine(photo, place);
    return true;
}

static bool straighten(FaceWork *work, Flat *flat, Diags *problems) {
    Photo photo;
    BoardPlace place;
    if (!photo_read(work->asked->face[work->side].photo, &photo, problems)) return false;
    work->decoded = true;
    bool done = find_place(work, &photo, &place, problems);
    if (done && !(done = flat_from_photo(&photo, &place, LAYER_SCALE, flat)))
        tell(problems, work, TEXT("the board can't be straightened"),
             TEXT("a photo with all of the board in it, and its size in mm"), TEXT("look at its corners and its size"));
    photo_free(&photo);
    return done;
}

static bool make_layers(FaceWork *work, Diags *problems) {
    Flat flat;
    if (!straighten(work, &flat, problems)) return false;
    bool done = layers_from_flat(&flat, NULL, 0, &work->layers);
    flat_free(&flat);
    if (!done)
        tell(problems, work, TEXT("its copper can't be told: no memory for a board of this size"),
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

bool face_open(Arena *arena, const BoardAsked *asked, BoardSide side, FaceWork *work, Diags *problems) {
    *work = (FaceWork){.arena = arena, .asked = asked, .side = side};
    if (!make_layers(work, problems)) return false;
    find_holes(work);
    if (work->seen.corners_sure < SURE_ENOUGH)
        tell(problems, work, TEXT("the corners are a guess"), TEXT("a board that stands out from its background"),
             TEXT("look at them, and say better ones"));
    return true;
}

static void turn_bytes(unsigned char *at, size_t count) {
    for (size_t i = 0; i < count / 2; i++) {
        unsigned char kept = at[i];
        at[i] = at[count - 1 - i], at[count - 1 - i] = kept;
    }
}

static void turn_layers(Layers *layers) {
    for (unsigned i = 0; i < LAYER_COUNT; i++)
        if (layers->at[i] != NULL) turn_bytes(layers->at[i], (size_t)layers->width * layers->height);
}

PlacePoint face_turned(const FaceWork *work, PlacePoint mm, unsigned turns) {
    double width = work->asked->width_mm, height = work->asked->height_mm;
    for (unsigned i = 0; i < turns % 4; i++) mm = (PlacePoint){mm.y / height * width, (1 - mm.x / width) * height};
    return mm;
}

bool face_turn(FaceWork *work, unsigned turns, Diags *problems) {
    PlacePoint kept[4];
    memcpy(kept, work->seen.corners, sizeof kept);
    for (unsigned i = 0; i < 4; i++) work->seen.corners[i] = kept[(i + turns) % 4];
    work->turns = (work->turns + turns) % 4;
    if (turns % 2 == 1) { /* the picture was stretched the wrong way */
        layers_free(&work->layers);
        if (!make_layers(work, problems)) return false;
        find_holes(work);
        return true;
    }
    for (uint32_t i = 0; i < work->seen.holes.count; i++)
        work->seen.holes.at[i].at = face_turned(work, work->seen.holes.at[i].at, turns);
    if (turns % 4 == 2) turn_layers(&work->layers);
    return true;
}

/* ---- nets ---- */

/* The words in the face's own view, but those left out. */
static const CopperWord *words_seen(Arena *arena, const FaceWork *work, const bool *left_out, const BoardCopper *board,
                                    size_t *count) {
    const BoardFaceAsked *face = &work->asked->face[work->side];
    CopperWord *words = arena_many(arena, CopperWord, face->word_count);
    *count = 0;
    for (size_t i = 0; i < face->word_count; i++) {
        if (left_out != NULL && left_out[i]) continue;
        PlacePoint *at = arena_many(arena, PlacePoint, face->words[i].count);
        for (uint32_t k = 0; k < face->words[i].count; k++) at[k] = board_to_face(board, work->side, face->words[i].at[k]);
        words[*count] = face->words[i];
        words[(*count)++].at = at;
    }
    return words;
}

static const double HINT_RADIUS_MM = 0.1; /* what a finger or a probe tip points at */

/* A person's word on a spot beats the picture there. */
static void draw_hint(Layers *layers, PlacePoint mm, bool copper) {
    double radius = HINT_RADIUS_MM * layers->scale, x = mm.x * layers->scale, y = mm.y * layers->scale;
    if (!(x >= 0 && y >= 0 && x < layers->width && y < layers->height)) return;
    for (double v = fmax(floor(y - radius), 0); v <= y + radius && v < layers->height; v++)
        for (double u = fmax(floor(x - radius), 0); u <= x + radius && u < layers->width; u++) {
            if (hypot(u + 0.5 - x, v + 0.5 - y) > radius) continue;
            size_t at = (size_t)v * layers->width + (size_t)u;
            layers->at[LAYER_COPPER][at] = copper ? 255 : 0;
            layers->at[LAYER_UNSEEN][at] = 0;
        }
}

static void fill_hidden(const CopperWord *word, BoardFace *face) {
    const Copper *copper = &face->copper;
    for (uint32_t y = 0; y < copper->height; y++)
        for (uint32_t x = 0; x < copper->width; x++) {
            PlacePoint p = {(x + 0.5) / copper->scale, (y + 0.5) / copper->scale};
            bool inside = false;
            for (uint32_t i = 0, j = word->count - 1; i < word->count; j = i++) {
                PlacePoint a = word->at[i], b = word->at[j];
                if ((a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x)) inside = !inside;
            }
            if (inside) face->unseen[(size_t)y * copper->width + x] = 255;
        }
}

bool face_trace(Arena *arena, FaceWork *work, const bool *left_out, BoardCopper *board, Diags *problems) {
    BoardFace *face = &board->face[work->side];
    const BoardFaceAsked *asked = &work->asked->face[work->side];
    size_t count, pixels = (size_t)work->layers.width * work->layers.height;
    const CopperWord *words = words_seen(arena, work, left_out, board, &count);
    for (size_t i = 0; i < asked->hint_count; i++)
        draw_hint(&work->layers, board_to_face(board, work->side, asked->hints[i].at), asked->hints[i].copper);
    face->unseen = malloc(pixels);
    if (face->unseen == NULL || !copper_trace(arena, &work->layers, words, count, &face->copper)) {
        tell(problems, work, TEXT("its copper can't be traced: too large a board"),
             TEXT("a board of at most a few hundred mm"), TEXT("photograph it in parts, each with its own size"));
        free(face->unseen);
        face->unseen = NULL;
        return false;
    }
    memcpy(face->unseen, work->layers.at[LAYER_UNSEEN], pixels);
    for (size_t i = 0; i < count; i++)
        if (words[i].sort == COPPER_HIDDEN && words[i].count >= 3) fill_hidden(&words[i], face);
    face->known = true;
    face->cached = !work->decoded;
    face->corners_sure = work->seen.corners_sure;
    memcpy(face->corners, work->seen.corners, sizeof face->corners);
    return true;
}

void face_close(FaceWork *work) { layers_free(&work->layers); }

bool board_flat(const BoardAsked *asked, const BoardCopper *board, BoardSide side, Flat *flat, Diags *problems) {
    FaceWork work = {.asked = asked, .side = side, .seen = {.placed = true}};
    memcpy(work.seen.corners, board->face[side].corners, sizeof work.seen.corners);
    return asked->face[side].photo != NULL && board->face[side].known && straighten(&work, flat, problems);
}
