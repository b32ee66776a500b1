/* demophotos FOLDER: writes the photos of the opening of demo/dispenser. Nothing of any real product is in them. */
#include "steps.h"

#include "base/file.h"
#include "copper/photo.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

int main(int argc, char **argv) {
    enum { QUALITY = 76 };
    static unsigned char rgb[3 * STEPS_WIDE * STEPS_TALL];
    static Scene scene;
    if (argc != 2) {
        fprintf(stderr, "usage: demophotos FOLDER\n");
        return 2;
    }
    Arena *arena = arena_new();
    int code = 0;
    for (int step = 0; step < SCENES && code == 0; step++) {
        Text jpeg;
        scene_make(step, &scene);
        const char *path = text_cstring(arena, text_fmt(arena, "%s/%s", argv[1], scene.file));
        if (!scene_shoot(&scene, (unsigned)step + 1, rgb) ||
            !photo_to_jpeg(arena, STEPS_WIDE, STEPS_TALL, rgb, QUALITY, &jpeg) || !file_write(path, jpeg)) {
            fprintf(stderr, "%s: %s\n", path, strerror(errno));
            code = 3;
        }
    }
    arena_free(arena);
    return code;
}
