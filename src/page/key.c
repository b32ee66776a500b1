/* Keys of 128 random bits, as 32 hex digits, and the one that is kept. */
#include "page/inside.h"

#include "base/file.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/random.h>
#include <sys/stat.h>
#include <unistd.h>

bool key_make(PageKey *key) {
    unsigned char bytes[KEY_LENGTH / 2];
    if (getrandom(bytes, sizeof bytes, 0) != (ssize_t)sizeof bytes) return false;
    for (size_t i = 0; i < sizeof bytes; i++) snprintf(key->hex + 2 * i, 3, "%02x", bytes[i]);
    return true;
}

/* In the same time wherever they differ. */
bool key_is(const PageKey *key, Text said) {
    unsigned differ = said.len != KEY_LENGTH || key->hex[0] == '\0';
    for (size_t i = 0; i < said.len && i < KEY_LENGTH; i++) differ |= (unsigned char)(key->hex[i] ^ said.at[i]);
    return differ == 0;
}

static const char *kept_at(Arena *arena, const char *folder) { return text_fmt(arena, "%s/derived/page", folder).at; }

static bool is_key(Text text) {
    size_t i = 0;
    while (i < text.len && strchr("0123456789abcdef", text.at[i]) != NULL) i++;
    return i == text.len && text.len == KEY_LENGTH;
}

void key_recall(const char *folder, PageKey *key, uint16_t *port) {
    enum { MOST = 100 };
    Arena *arena = arena_new();
    Text kept;
    char *end = NULL;
    if (file_read(arena, kept_at(arena, folder), MOST, &kept)) {
        long said = strtol(text_cstring(arena, kept), &end, 10);
        Text hex = text_trim(text_of(end));
        if (said > 0 && said <= UINT16_MAX && is_key(hex)) {
            *port = (uint16_t)said;
            memcpy(key->hex, hex.at, KEY_LENGTH);
        }
    }
    arena_free(arena);
}

/* That it can't be kept is no failure: a page left open then has to be opened anew. */
void key_keep(const char *folder, const PageKey *key, uint16_t port) {
    Arena *arena = arena_new();
    mkdir(text_fmt(arena, "%s/derived", folder).at, 0777);
    const char *path = kept_at(arena, folder);
    unlink(path);
    int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0600); /* for this person only */
    if (fd >= 0) {
        dprintf(fd, "%u %s\n", port, key->hex);
        close(fd);
    }
    arena_free(arena);
}
