#include "page/pictures.h"

#include <dirent.h>
#include <stdlib.h>
#include <sys/stat.h>

#define XXH_INLINE_ALL
#include <xxhash.h>

bool picture_name_fine(Text name) {
    static const char *const endings[] = {".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif"};
    enum { NAME_MOST = 100 };
    if (name.len == 0 || name.len > NAME_MOST || name.at[0] == '.' || text_bad_byte(name) != name.len) return false;
    for (size_t i = 0; i < name.len; i++)
        if ((unsigned char)name.at[i] < 0x20 || name.at[i] == 0x7F || strchr("/\\\"", name.at[i]) != NULL) return false;
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
        size_t len = strlen(endings[i]);
        if (name.len > len && text_same_folded(text_sub(name, name.len - len, len), text_of(endings[i]))) return true;
    }
    return false;
}

static int by_name(const void *a, const void *b) { return text_order(*(const Text *)a, *(const Text *)b); }

PictureNames picture_names(Arena *arena, const char *folder) {
    PictureNames names = {0};
    DIR *dir = opendir(text_fmt(arena, "%s/photos", folder).at);
    if (dir == NULL) return names;
    for (struct dirent *entry; names.count < PICTURES_MOST && (entry = readdir(dir)) != NULL;)
        if (picture_name_fine(text_of(entry->d_name))) list_push(arena, &names, text_copy(arena, text_of(entry->d_name)));
    closedir(dir);
    if (names.count > 0) qsort(names.at, names.count, sizeof *names.at, by_name);
    return names;
}

/* Of the file as it lies there and of how it is straightened; empty when it is no plain file of the folder. */
static Text id_of(Arena *arena, const char *folder, const Picture *picture) {
    struct stat info;
    const char *path = text_fmt(arena, "%s/photos/%.*s", folder, TEXT_ARG(picture->file)).at;
    if (lstat(path, &info) != 0 || !S_ISREG(info.st_mode)) return TEXT(""); /* a link could lead out of the folder */
    struct {
        int64_t said[4];
        double place[11];
    } key = {.said = {(int64_t)info.st_ino, info.st_size, info.st_mtim.tv_sec, info.st_mtim.tv_nsec}};
    key.place[0] = picture->width_mm, key.place[1] = picture->height_mm, key.place[2] = picture->straight;
    memcpy(key.place + 3, picture->corners, sizeof picture->corners);
    uint64_t name = XXH3_64bits(picture->file.at, picture->file.len);
    return text_fmt(arena, "%016llx", (unsigned long long)XXH3_64bits_withSeed(&key, sizeof key, name));
}

static void add(Arena *arena, const char *folder, PictureList *list, Picture picture) {
    if (!picture_name_fine(picture.file)) return;
    picture.id = id_of(arena, folder, &picture);
    if (picture.id.len > 0) list_push(arena, list, picture);
}

PictureList picture_list(Arena *arena, const char *folder, const Bench *bench) {
    PictureList list = {0};
    for (uint32_t i = 0; i < bench->photographed.count; i++)
        for (BoardSide side = 0; side < BOARD_SIDES; side++) {
            const BenchBoard *board = &bench->photographed.at[i];
            const BoardFace *face = &board->copper.face[side];
            if (!face->known) continue;
            Picture picture = {.file = board->photo[side]->photo->file,
                               .title = text_fmt(arena, "Board %.*s, %s", TEXT_ARG(board->name), side == BOARD_TOP ? "top" : "bottom"),
                               .straight = true,
                               .board = i,
                               .side = side,
                               .width_mm = board->copper.width_mm,
                               .height_mm = board->copper.height_mm};
            memcpy(picture.corners, face->corners, sizeof picture.corners);
            add(arena, folder, &list, picture);
        }
    PictureNames names = picture_names(arena, folder);
    for (uint32_t i = 0; i < names.count; i++)
        add(arena, folder, &list, (Picture){.file = names.at[i], .title = names.at[i]});
    return list;
}
