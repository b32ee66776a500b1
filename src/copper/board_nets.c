/* One face's nets from its layers, with what was said of it; or as they were kept. */
#include "copper/board_cache.h"

#include <math.h>
#include <stdlib.h>

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

static int by_number(const void *a, const void *b) {
    double one = *(const double *)a, two = *(const double *)b;
    return one < two ? -1 : one > two;
}

/* Within a word's outline nothing is seen: row by row between the sides that a row's middle crosses, taken in pairs. */
static void fill_hidden(Arena *scratch, const CopperWord *word, BoardFace *face) {
    const Copper *copper = &face->copper;
    double *crossed = arena_many(scratch, double, word->count);
    for (uint32_t y = 0; y < copper->height; y++) {
        double middle = (y + 0.5) / copper->scale;
        uint32_t count = 0;
        for (uint32_t i = 0, j = word->count - 1; i < word->count; j = i++) {
            PlacePoint a = word->at[i], b = word->at[j];
            if ((a.y > middle) == (b.y > middle)) continue;
            double x = (a.x + (middle - a.y) / (b.y - a.y) * (b.x - a.x)) * copper->scale - 0.5;
            crossed[count++] = fmin(fmax(ceil(x), 0), copper->width);
        }
        if (count > 0) qsort(crossed, count, sizeof *crossed, by_number);
        for (uint32_t i = 0; i + 1 < count; i += 2)
            memset(face->unseen + (size_t)y * copper->width + (size_t)crossed[i], 255,
                   (size_t)(crossed[i + 1] - crossed[i]));
    }
}

static void pack_any_face(Pack *pack, void *face) { pack_face(pack, face); }

static void let_go(BoardFace *face) {
    copper_free(&face->copper);
    free(face->unseen);
    face->unseen = NULL;
}

/* From the layers. */
static bool trace(Arena *arena, const FaceWork *work, const CopperWord *words, size_t count, BoardFace *face) {
    size_t pixels = (size_t)work->layers.width * work->layers.height;
    face->unseen = malloc(pixels);
    if (face->unseen == NULL || !copper_trace(arena, &work->layers, words, count, &face->copper)) return false;
    memcpy(face->unseen, work->layers.at[LAYER_UNSEEN], pixels);
    Arena *scratch = arena_new();
    for (size_t i = 0; i < count; i++)
        if (words[i].sort == COPPER_HIDDEN && words[i].count >= 3) fill_hidden(scratch, &words[i], face);
    arena_free(scratch);
    return true;
}

bool face_trace(Arena *arena, FaceWork *work, const bool *left_out, BoardCopper *board, Diags *problems) {
    BoardFace *face = &board->face[work->side];
    size_t count;
    const CopperWord *words = words_seen(arena, work, left_out, board, &count);
    CacheKey key = cache_key_nets(work->key, work->half, words, count);
    if (!work->kept || !cache_read(arena, work->asked->cache, "nets", key, pack_any_face, face)) {
        let_go(face);
        face->copper = (Copper){0};
        if (!face_layers(work, problems)) return false;
        if (!trace(arena, work, words, count, face)) {
            let_go(face);
            face_tell(problems, work, TEXT("its copper can't be traced: too large a board"),
                      TEXT("a board of at most a few hundred mm"), TEXT("photograph it in parts, each with its own size"));
            return false;
        }
        if (work->kept) cache_write(work->asked->cache, "nets", key, pack_any_face, face);
    }
    face->known = true;
    face->cached = !work->decoded;
    face->corners_sure = work->seen.corners_sure;
    for (unsigned i = 0; i < 4; i++) face->corners[i] = work->seen.corners[(i + (work->half ? 2 : 0)) % 4];
    return true;
}
