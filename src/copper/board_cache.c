/* Files of the cache: NAME is copper-KIND-KEY, written beside and renamed (base/file.h). Cost of what was asked before: the
 * photo's bytes hashed (several GB a second), and the packed face read. */
#include "copper/board_cache.h"

#include "base/file.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>
#include <xxhash.h>
#include <zlib.h>

/* A digest of the sources that lead from a photo to nets, and of the network's weights: made when built. */
extern const char COPPER_KEY[];

static const char MAGIC[8] = "unpick-1";
static const char PREFIX[] = "copper-";
enum { PLAIN_BYTES_MOST = 1 << 29, RATIO_MOST = 1100 /* zlib makes nothing smaller than by about this */ };

typedef struct Head {
    char magic[8];
    uint32_t order; /* of bytes: one machine's file is foreign to another */
    uint32_t unused;
    CacheKey key;
    uint64_t plain, packed; /* bytes */
    uint64_t check;         /* XXH3 of the packed bytes */
} Head;

static const uint32_t ORDER = 0x01020304;

/* ---- keys ---- */

static CacheKey key_of(XXH3_state_t *state) {
    XXH128_hash_t hash = XXH3_128bits_digest(state);
    return (CacheKey){hash.low64, hash.high64};
}

static bool add_file(XXH3_state_t *state, const char *path) {
    enum { PIECE = 1 << 18 };
    FILE *file = fopen(path, "rbe");
    char *piece = malloc(PIECE);
    size_t got = 0;
    while (file != NULL && piece != NULL && (got = fread(piece, 1, PIECE, file)) > 0)
        XXH3_128bits_update(state, piece, got);
    bool done = file != NULL && piece != NULL && ferror(file) == 0;
    free(piece);
    if (file != NULL) fclose(file);
    return done;
}

bool cache_key_photo(const BoardAsked *asked, BoardSide side, unsigned made, CacheKey *key) {
    const BoardFaceAsked *face = &asked->face[side];
    struct stat info;
    XXH3_state_t *state = XXH3_createState();
    if (state == NULL) return false;
    double size[3] = {asked->width_mm, asked->height_mm, made};
    XXH3_128bits_reset(state);
    XXH3_128bits_update(state, COPPER_KEY, strlen(COPPER_KEY));
    XXH3_128bits_update(state, size, sizeof size);
    if (face->has_corners) XXH3_128bits_update(state, face->corners, sizeof face->corners);
    bool done = stat(face->photo, &info) == 0 && S_ISREG(info.st_mode) && add_file(state, face->photo);
    *key = key_of(state);
    XXH3_freeState(state);
    return done;
}

/* A key that follows from another. */
static XXH3_state_t *key_after(CacheKey key) {
    XXH3_state_t *state = XXH3_createState();
    if (state == NULL) abort(); /* as when an arena gets nothing */
    XXH3_128bits_reset(state);
    XXH3_128bits_update(state, &key, sizeof key);
    return state;
}

static CacheKey key_end(XXH3_state_t *state) {
    CacheKey key = key_of(state);
    XXH3_freeState(state);
    return key;
}

static void add_hints(XXH3_state_t *state, const LayerHint *hints, size_t count) {
    for (size_t i = 0; i < count; i++) {
        double hint[3] = {hints[i].at.x, hints[i].at.y, hints[i].copper};
        XXH3_128bits_update(state, hint, sizeof hint);
    }
}

static void add_words(XXH3_state_t *state, const CopperWord *words, size_t count) {
    for (size_t i = 0; i < count; i++) {
        uint64_t word[4] = {words[i].sort, words[i].count, words[i].line, words[i].meter};
        XXH3_128bits_update(state, word, sizeof word);
        XXH3_128bits_update(state, words[i].at, words[i].count * sizeof *words[i].at);
    }
}

CacheKey cache_key_hints(CacheKey photo, const LayerHint *hints, size_t hint_count) {
    XXH3_state_t *state = key_after(photo);
    add_hints(state, hints, hint_count);
    return key_end(state);
}

CacheKey cache_key_nets(CacheKey photo, bool half, const CopperWord *words, size_t word_count) {
    XXH3_state_t *state = key_after(photo);
    uint64_t counts[2] = {half, word_count};
    XXH3_128bits_update(state, counts, sizeof counts);
    add_words(state, words, word_count);
    return key_end(state);
}

bool cache_key_board(const BoardAsked *asked, CacheKey *key) {
    CacheKey photo[BOARD_SIDES] = {0};
    for (BoardSide side = 0; side < BOARD_SIDES; side++)
        if (asked->face[side].photo != NULL && !cache_key_photo(asked, side, 0, &photo[side])) return false;
    XXH3_state_t *state = key_after(photo[BOARD_TOP]);
    XXH3_128bits_update(state, &photo[BOARD_BOTTOM], sizeof photo[BOARD_BOTTOM]);
    for (BoardSide side = 0; side < BOARD_SIDES; side++) {
        const BoardFaceAsked *face = &asked->face[side];
        uint64_t counts[4] = {face->photo != NULL, asked->coarse, face->hint_count, face->word_count};
        XXH3_128bits_update(state, counts, sizeof counts);
        add_hints(state, face->hints, face->hint_count);
        add_words(state, face->words, face->word_count);
    }
    for (size_t i = 0; i < asked->hole_count; i++) {
        const BoardHoleAsked *hole = &asked->holes[i];
        double said[5] = {hole->at.x, hole->at.y, hole->diameter, hole->plating, hole->line};
        XXH3_128bits_update(state, said, sizeof said);
    }
    *key = key_end(state);
    return true;
}

/* ---- files ---- */

static const char *path_of(Arena *arena, const char *folder, const char *kind, CacheKey key) {
    return text_fmt(arena, "%s/%s%s-%016llx%016llx%c", folder, PREFIX, kind, (unsigned long long)key.high,
                    (unsigned long long)key.low, 0)
        .at;
}

/* The plain bytes of a file's content; false when it is not whole or another's. */
static bool unpack(Arena *arena, Text content, CacheKey key, Text *plain) {
    Head head;
    if (content.len < sizeof head) return false;
    memcpy(&head, content.at, sizeof head);
    Text packed = text_sub(content, sizeof head, content.len);
    bool good = memcmp(head.magic, MAGIC, sizeof MAGIC) == 0 && head.order == ORDER && head.key.low == key.low &&
                head.key.high == key.high && head.packed == packed.len && head.plain <= PLAIN_BYTES_MOST &&
                head.plain / RATIO_MOST <= packed.len && head.check == XXH3_64bits(packed.at, packed.len);
    if (!good) return false;
    uLongf len = (uLongf)head.plain;
    char *at = arena_take(arena, head.plain + 1);
    good = uncompress((Bytef *)at, &len, (const Bytef *)packed.at, (uLong)packed.len) == Z_OK && len == head.plain;
    *plain = (Text){at, len};
    return good;
}

bool cache_read(Arena *arena, const char *folder, const char *kind, CacheKey key, CachePack *pack_what, void *what) {
    Arena *scratch = arena_new();
    const char *path = path_of(scratch, folder, kind, key);
    struct stat info;
    Text content, plain;
    bool good = lstat(path, &info) == 0 && S_ISREG(info.st_mode) && file_read(scratch, path, CACHE_BYTES_MOST, &content) &&
                unpack(scratch, content, key, &plain);
    if (good) {
        Pack pack = {.arena = arena, .rest = plain};
        pack_what(&pack, what);
        good = pack_done(&pack);
        utimensat(AT_FDCWD, path, NULL, 0); /* lately used; no matter when it can't be said */
    }
    arena_free(scratch);
    return good;
}

/* ---- keeping within bounds ---- */

typedef struct Kept {
    Text path;
    struct timespec used;
    uint64_t bytes;
} Kept;

static int longest_unused_first(const void *a, const void *b) {
    const Kept *one = a, *two = b;
    if (one->used.tv_sec != two->used.tv_sec) return one->used.tv_sec < two->used.tv_sec ? -1 : 1;
    if (one->used.tv_nsec != two->used.tv_nsec) return one->used.tv_nsec < two->used.tv_nsec ? -1 : 1;
    return text_order(one->path, two->path);
}

/* Makes room for `bytes` more. */
static void make_room(Arena *arena, const char *folder, uint64_t bytes) {
    LIST(Kept) kept = {0};
    uint64_t all = bytes;
    DIR *dir = opendir(folder);
    for (struct dirent *entry; dir != NULL && (entry = readdir(dir)) != NULL;) {
        struct stat info;
        Text path = text_fmt(arena, "%s/%s%c", folder, entry->d_name, 0);
        if (!text_starts(text_of(entry->d_name), PREFIX) || lstat(path.at, &info) != 0 || !S_ISREG(info.st_mode)) continue;
        list_push(arena, &kept, ((Kept){path, info.st_mtim, (uint64_t)info.st_size}));
        all += (uint64_t)info.st_size;
    }
    if (dir != NULL) closedir(dir);
    if (kept.count > 0) qsort(kept.at, kept.count, sizeof *kept.at, longest_unused_first);
    for (uint32_t i = 0; i < kept.count && all > CACHE_BYTES_MOST; i++)
        if (unlink(kept.at[i].path.at) == 0) all -= kept.at[i].bytes;
}

void cache_write(const char *folder, const char *kind, CacheKey key, CachePack *pack_what, void *what) {
    Arena *scratch = arena_new();
    Out plain = out_new(scratch), file = out_new(scratch);
    Pack pack = {.out = &plain};
    pack_what(&pack, what);
    uLongf len = compressBound((uLong)plain.len);
    char *packed = arena_take(scratch, len);
    bool done = !pack.bad && plain.len <= PLAIN_BYTES_MOST &&
                compress2((Bytef *)packed, &len, (const Bytef *)plain.at, (uLong)plain.len, Z_BEST_SPEED) == Z_OK &&
                len <= CACHE_BYTES_MOST / 2 && (mkdir(folder, 0777) == 0 || errno == EEXIST);
    if (done) {
        Head head = {.order = ORDER, .key = key, .plain = plain.len, .packed = len, .check = XXH3_64bits(packed, len)};
        memcpy(head.magic, MAGIC, sizeof MAGIC);
        out_add(&file, (Text){(const char *)&head, sizeof head});
        out_add(&file, (Text){packed, len});
        make_room(scratch, folder, file.len);
        file_write(path_of(scratch, folder, kind, key), out_text(&file));
    }
    arena_free(scratch);
}
