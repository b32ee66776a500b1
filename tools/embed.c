/* Writes C that holds the given files' bytes (used by the build):
 *   embed OUT.c FILE...             the lore, as LORE_FILES of lore/lore.h
 *   embed OUT.c --text NAME FILE    one file, as the string NAME, its length NAME_LEN */
#include <stdio.h>
#include <string.h>

/* The bytes of one file as an initializer's inside, with a closing 0. */
static int bytes(FILE *out, const char *path) {
    FILE *in = fopen(path, "rb");
    if (in == NULL) return 0;
    long count = 0;
    for (int c; (c = fgetc(in)) != EOF; count++) fprintf(out, "%s%d,", count % 24 == 0 ? "\n" : "", c < 128 ? c : c - 256);
    fprintf(out, "0};\n");
    fclose(in);
    return 1;
}

static int failed(const char *path) {
    fprintf(stderr, "embed: can't read %s\n", path);
    return 1;
}

static int embed_text(FILE *out, const char *name, const char *path) {
    fprintf(out, "extern const char %s[];\nconst char %s[] = {", name, name);
    if (!bytes(out, path)) return failed(path);
    fprintf(out, "#include <stddef.h>\nextern const size_t %s_LEN;\nconst size_t %s_LEN = sizeof %s - 1;\n", name, name, name);
    return fclose(out) == 0 ? 0 : 1;
}

static int embed_lore(FILE *out, int count, char **paths) {
    fprintf(out, "#include \"lore/lore.h\"\n");
    for (int i = 0; i < count; i++) {
        fprintf(out, "static const char FILE_%d[] = {", i);
        if (!bytes(out, paths[i])) return failed(paths[i]);
    }
    fprintf(out, "const LoreFile LORE_FILES[] = {\n");
    for (int i = 0; i < count; i++) {
        const char *slash = strrchr(paths[i], '/');
        fprintf(out, "{\"lore/%s\", FILE_%d, sizeof FILE_%d - 1},\n", slash == NULL ? paths[i] : slash + 1, i, i);
    }
    fprintf(out, "};\nconst size_t LORE_FILE_COUNT = %d;\n", count);
    return fclose(out) == 0 ? 0 : 1;
}

int main(int argc, char **argv) {
    FILE *out = argc > 2 ? fopen(argv[1], "wb") : NULL;
    if (out == NULL) {
        fprintf(stderr, "usage: embed OUT.c FILE... | embed OUT.c --text NAME FILE\n");
        return 2;
    }
    if (argc == 5 && strcmp(argv[2], "--text") == 0) return embed_text(out, argv[3], argv[4]);
    return embed_lore(out, argc - 2, argv + 2);
}
