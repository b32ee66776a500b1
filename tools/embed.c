/* Writes C that holds the given files' bytes (used by the build):
 *   embed OUT.c FILE...             the lore, as LORE_FILES of lore/lore.h
 *   embed OUT.c --page FILE...      what the browser gets, as PAGE_ASSETS of page/inside.h, by folder and name
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

/* A table of files: what its header is, its entries' type, its name, and how its entries are named. */
typedef struct Table {
    const char *header, *type, *name;
    const char *(*called)(const char *path);
} Table;

static const char *after_slashes(const char *path, int slashes) {
    const char *at = path + strlen(path);
    while (at > path && (at[-1] != '/' || --slashes > 0)) at--;
    return at;
}

static const char *file_name(const char *path) { return after_slashes(path, 1); }
static const char *folder_and_name(const char *path) { return after_slashes(path, 2); }

static const Table LORE = {"lore/lore.h", "LoreFile", "LORE_FILE", file_name};
static const Table PAGE = {"page/inside.h", "PageAsset", "PAGE_ASSET", folder_and_name};

static int embed_files(FILE *out, const Table *table, int count, char **paths) {
    fprintf(out, "#include \"%s\"\n", table->header);
    for (int i = 0; i < count; i++) {
        fprintf(out, "static const char FILE_%d[] = {", i);
        if (!bytes(out, paths[i])) return failed(paths[i]);
    }
    fprintf(out, "const %s %sS[] = {\n", table->type, table->name);
    for (int i = 0; i < count; i++)
        fprintf(out, "{\"%s%s\", FILE_%d, sizeof FILE_%d - 1},\n", table == &LORE ? "lore/" : "", table->called(paths[i]), i, i);
    fprintf(out, "};\nconst size_t %s_COUNT = %d;\n", table->name, count);
    return fclose(out) == 0 ? 0 : 1;
}

int main(int argc, char **argv) {
    FILE *out = argc > 2 ? fopen(argv[1], "wb") : NULL;
    if (out == NULL) {
        fprintf(stderr, "usage: embed OUT.c [--page] FILE... | embed OUT.c --text NAME FILE\n");
        return 2;
    }
    if (argc == 5 && strcmp(argv[2], "--text") == 0) return embed_text(out, argv[3], argv[4]);
    if (argc > 3 && strcmp(argv[2], "--page") == 0) return embed_files(out, &PAGE, argc - 3, argv + 3);
    return embed_files(out, &LORE, argc - 2, argv + 2);
}
