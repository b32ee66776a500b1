/* Writes C that holds the given files' bytes: embed OUT.c FILE...  (used by the build for lore/) */
#include <stdio.h>
#include <string.h>

static int embed(FILE *out, const char *path, int number) {
    FILE *in = fopen(path, "rb");
    if (in == NULL) return 0;
    long count = 0;
    fprintf(out, "static const char FILE_%d[] = {", number);
    for (int c; (c = fgetc(in)) != EOF; count++) fprintf(out, "%s%d,", count % 24 == 0 ? "\n" : "", c < 128 ? c : c - 256);
    fprintf(out, "0};\n");
    fclose(in);
    return 1;
}

int main(int argc, char **argv) {
    FILE *out = argc > 2 ? fopen(argv[1], "wb") : NULL;
    if (out == NULL) {
        fprintf(stderr, "usage: embed OUT.c FILE...\n");
        return 2;
    }
    fprintf(out, "#include \"lore/lore.h\"\n");
    for (int i = 2; i < argc; i++) {
        if (embed(out, argv[i], i)) continue;
        fprintf(stderr, "embed: can't read %s\n", argv[i]);
        return 1;
    }
    fprintf(out, "const LoreFile LORE_FILES[] = {\n");
    for (int i = 2; i < argc; i++) {
        const char *slash = strrchr(argv[i], '/');
        fprintf(out, "{\"lore/%s\", FILE_%d, sizeof FILE_%d - 1},\n", slash == NULL ? argv[i] : slash + 1, i, i);
    }
    fprintf(out, "};\nconst size_t LORE_FILE_COUNT = %d;\n", argc - 2);
    return fclose(out) == 0 ? 0 : 1;
}
