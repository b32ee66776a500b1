#include "page/body.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <unistd.h>

enum { SMALL_MOST = 128 * 1024 };

Body body_new(Arena *arena) { return (Body){.small = out_new(arena), .file = -1}; }

static bool put(int file, Text bytes) {
    while (bytes.len > 0) {
        ssize_t written = write(file, bytes.at, bytes.len);
        if (written < 0 && errno == EINTR) continue;
        if (written < 0) return false;
        bytes = text_sub(bytes, (size_t)written, bytes.len);
    }
    return true;
}

static int open_file(void) {
    char path[] = "/var/tmp/unpick-XXXXXX"; /* a disk: /tmp may be memory */
    int file = mkostemp(path, O_CLOEXEC);
    if (file >= 0) unlink(path);
    return file;
}

bool body_take(Body *body, Text bytes, uint64_t most) {
    body->len += bytes.len;
    if (body->len > most) return false;
    if (body->file < 0 && body->len <= SMALL_MOST) {
        out_add(&body->small, bytes);
        return true;
    }
    if (body->file < 0 && ((body->file = open_file()) < 0 || !put(body->file, out_text(&body->small)))) return false;
    return put(body->file, bytes);
}

bool body_whole(Body *body, Text *whole) {
    *whole = out_text(&body->small);
    if (body->file < 0) return true;
    body->mapped = mmap(NULL, body->len, PROT_READ, MAP_PRIVATE, body->file, 0);
    if (body->mapped == MAP_FAILED) body->mapped = NULL;
    if (body->mapped != NULL) *whole = (Text){body->mapped, body->len};
    return body->mapped != NULL;
}

void body_free(Body *body) {
    if (body->mapped != NULL) munmap(body->mapped, body->len);
    if (body->file >= 0) close(body->file);
    body->mapped = NULL;
    body->file = -1;
}
