/* A catalogue of a million invented part numbers, and a thousand of them misread. Nothing in it is a real product: letters
 * of a maker (2,000 invented sets of 2 to 4), a number of 3 to 5 digits (those of 3 with two letters behind), and an ending
 * of 2 to 4 letters for body and grade (60 invented ones, one to three for each number), 8 to 13 characters in all. That is
 * the shape of order numbers of chips. Passive parts are not in it: their numbers are all digits of a value, and two wrong
 * digits make another valid part, which no search can undo.
 *
 * Two characters of each marking are wrong, at places drawn by chance: for one half of the wrong characters a look-alike
 * where there is one, for the others any letter or digit; in a second run one is wrong and one missing. All from a fixed
 * seed. The reference is a scan of all rows with a bit-parallel edit distance (Myers, 1999; Hyyrö, 2003), the fastest kind
 * of scan. */
#include "bench/measure.h"

#include "shelf/shelf.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { ROWS = 1000000, QUERIES = 1000, SCANS = 40, SHOWN = 3, PREFIXES = 2000, ENDINGS = 60, NAME_MOST = 24 };
static const double BAR_SECONDS = 0.010, BAR_RATIO = 10, BAR_FOUND = 0.95, BAR_START = 0.003;

/* ---- chance, the same on every machine (splitmix64, Steele et al. 2014) ---- */

static uint64_t random_bits(uint64_t *state) {
    uint64_t z = *state += 0x9E3779B97F4A7C15u;
    z = (z ^ z >> 30) * 0xBF58476D1CE4E5B9u;
    z = (z ^ z >> 27) * 0x94D049BB133111EBu;
    return z ^ z >> 31;
}

static unsigned below(uint64_t *state, unsigned n) { return (unsigned)(random_bits(state) >> 33) % n; }
static char any_letter(uint64_t *state) { return (char)('A' + below(state, 26)); }

/* ---- the catalogue ---- */

typedef struct Catalogue {
    char (*names)[NAME_MOST]; /* size ROWS */
    char folder[64], csv[96], database[96];
} Catalogue;

static void invent_letters(uint64_t *state, char *word, unsigned least, unsigned most) {
    unsigned len = least + below(state, most - least + 1), i = 0;
    for (; i < len; i++) word[i] = any_letter(state);
    word[i] = '\0';
}

static void invent_names(Catalogue *catalogue) {
    static char prefixes[PREFIXES][8], endings[ENDINGS][8];
    uint64_t state = 20260903;
    for (int i = 0; i < PREFIXES; i++) invent_letters(&state, prefixes[i], 2, 4);
    for (int i = 0; i < ENDINGS; i++) invent_letters(&state, endings[i], 2, 4);
    for (unsigned row = 0; row < ROWS;) {
        char stem[16], letters[8] = "";
        unsigned digits = 3 + below(&state, 3), low = digits == 3 ? 100 : digits == 4 ? 1000 : 10000;
        if (digits == 3) invent_letters(&state, letters, 2, 2);
        snprintf(stem, sizeof stem, "%s%u%s", prefixes[below(&state, PREFIXES)], low + below(&state, 9 * low), letters);
        for (unsigned variants = 1 + below(&state, 3), first = below(&state, ENDINGS); variants > 0 && row < ROWS;
             variants--, row++)
            snprintf(catalogue->names[row], NAME_MOST, "%s%s", stem, endings[(first + 7 * variants) % ENDINGS]);
    }
}

static int by_name(const void *a, const void *b) { return strcmp(a, b); }

/* Numbers drawn twice get another ending, until all differ. */
static void part_doubles(Catalogue *catalogue) {
    uint64_t state = 77;
    for (bool again = true; again;) {
        again = false;
        qsort(catalogue->names, ROWS, NAME_MOST, by_name);
        for (unsigned row = 1; row < ROWS; row++) {
            size_t len = strlen(catalogue->names[row]);
            if (strcmp(catalogue->names[row], catalogue->names[row - 1]) != 0) continue;
            catalogue->names[row][len - 1] = any_letter(&state);
            catalogue->names[row][len - 2] = any_letter(&state);
            again = true;
        }
    }
}

static bool write_csv(const Catalogue *catalogue) {
    FILE *out = fopen(catalogue->csv, "w");
    if (out == NULL) return false;
    fprintf(out, "part number,package\n");
    for (unsigned row = 0; row < ROWS; row++)
        fprintf(out, "%s,%s\n", catalogue->names[row], row % 3 == 0 ? "SOP-8" : "QFN-16");
    return fclose(out) == 0;
}

/* ---- the damage ---- */

static char look_alike(uint64_t *state, char c) {
    static const char *const groups[] = {"0ODQ", "1IL7", "5S", "8B", "2Z", "6G"};
    for (size_t i = 0; i < sizeof groups / sizeof groups[0]; i++) {
        if (strchr(groups[i], c) == NULL) continue;
        char other = c;
        while (other == c) other = groups[i][below(state, (unsigned)strlen(groups[i]))];
        return other;
    }
    return c;
}

static void spoil(uint64_t *state, char *c) {
    char before = *c, alike = look_alike(state, before);
    if (alike != before && below(state, 2) == 0) {
        *c = alike;
        return;
    }
    while (*c == before) *c = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"[below(state, 36)];
}

/* Two different characters wrong; or one wrong and one missing. */
static void damage(uint64_t *state, char *marking, bool one_missing) {
    unsigned len = (unsigned)strlen(marking), first = below(state, len), second = first;
    while (second == first) second = below(state, len);
    spoil(state, &marking[first]);
    if (one_missing)
        memmove(&marking[second], &marking[second + 1], len - second);
    else
        spoil(state, &marking[second]);
}

/* ---- the reference: every row, one word of bits a row (Hyyrö's form of Myers' algorithm) ---- */

static unsigned scan(const Catalogue *catalogue, const char *marking, unsigned most) {
    uint64_t equal[256] = {0};
    unsigned len = (unsigned)strlen(marking), near = 0;
    for (unsigned i = 0; i < len; i++) equal[(unsigned char)marking[i]] |= (uint64_t)1 << i;
    for (unsigned row = 0; row < ROWS; row++) {
        uint64_t plus = ~(uint64_t)0, minus = 0, last = (uint64_t)1 << (len - 1);
        unsigned distance = len;
        for (const char *c = catalogue->names[row]; *c != '\0'; c++) {
            uint64_t eq = equal[(unsigned char)*c], zero = (((eq & plus) + plus) ^ plus) | eq | minus;
            uint64_t up = minus | ~(zero | plus), down = plus & zero;
            distance += (up & last) != 0;
            distance -= (down & last) != 0;
            up = up << 1 | 1, down <<= 1;
            plus = down | ~(zero | up), minus = up & zero;
        }
        near += distance <= most;
    }
    return near;
}

/* ---- measuring ---- */

typedef struct Result {
    double seconds[QUERIES]; /* ascending */
    double scan;             /* seconds a scan, mean */
    unsigned found;          /* of QUERIES: right part in the first SHOWN */
} Result;

static int by_size(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void measure(Shelf *shelf, const Catalogue *catalogue, bool one_missing, Result *result) {
    uint64_t state = one_missing ? 4711 : 42;
    unsigned near = 0;
    *result = (Result){.found = 0};
    for (unsigned q = 0; q < QUERIES; q++) {
        char marking[NAME_MOST];
        const char *right = catalogue->names[below(&state, ROWS)];
        Arena *arena = arena_new();
        ShelfMatch matches[SHOWN];
        memcpy(marking, right, sizeof marking);
        damage(&state, marking, one_missing);
        double before = measure_seconds();
        size_t count = shelf_find(shelf, arena, (ShelfQuery){.marking = text_of(marking)}, matches, SHOWN);
        result->seconds[q] = measure_seconds() - before;
        for (size_t i = 0; i < count; i++) result->found += text_is(matches[i].part->name, right);
        arena_free(arena);
        if (q >= SCANS) continue;
        before = measure_seconds();
        near += scan(catalogue, marking, 2);
        result->scan += (measure_seconds() - before) / SCANS;
    }
    qsort(result->seconds, QUERIES, sizeof result->seconds[0], by_size);
    if (near == 0) fprintf(stderr, "bench_shelf: the scan found nothing\n");
}

static void print_result(const char *what, const Result *result) {
    char name[96], value[64], reference[64], ratio[32];
    double p99 = result->seconds[QUERIES * 99 / 100], found = (double)result->found / QUERIES;
    snprintf(name, sizeof name, "search of 1,000,000 parts, %s", what);
    snprintf(value, sizeof value, "%.2f ms at the 99th percentile, %.2f ms median", p99 * 1e3,
             result->seconds[QUERIES / 2] * 1e3);
    snprintf(reference, sizeof reference, "bit-parallel scan: %.1f ms", result->scan * 1e3);
    snprintf(ratio, sizeof ratio, "%.1f x as fast", result->scan / p99);
    measure_print(name, value, "under 10 ms, 10 x as fast", reference, ratio,
                  p99 < BAR_SECONDS && result->scan / p99 >= BAR_RATIO);
    snprintf(name, sizeof name, "right part in the first three, %s", what);
    snprintf(value, sizeof value, "%.1f %%", found * 100);
    measure_print(name, value, "at least 95 %", "-", "-", found >= BAR_FOUND);
}

static void measure_start(void) {
    enum { RUNS = 20 };
    char value[96];
    double open = INFINITY, first = INFINITY;
    uint32_t parts = 0;
    for (int run = 0; run < RUNS; run++) {
        Arena *arena = arena_new();
        Lore *lore = lore_new(arena);
        Diags problems = diags_new(arena);
        ShelfMatch match;
        lore_add_builtin(lore);
        double before = measure_seconds();
        Shelf *shelf = shelf_open(arena, lore, NULL, &problems);
        double opened = measure_seconds();
        shelf_find(shelf, arena, (ShelfQuery){.marking = TEXT("LM35B")}, &match, 1);
        open = fmin(open, opened - before), first = fmin(first, measure_seconds() - opened);
        parts = shelf_count(shelf);
        shelf_close(shelf);
        arena_free(arena);
    }
    snprintf(value, sizeof value, "%.2f ms (%u parts), first search %.2f ms", open * 1e3, parts, first * 1e3);
    measure_print("built-in shelf opened", value, "under 3 ms together", "-", "-", open + first < BAR_START);
}

static Shelf *load(Arena *arena, const Catalogue *catalogue, Diags *problems) {
    Lore *lore = lore_new(arena);
    char value[96];
    uint32_t rows;
    struct stat status;
    lore_add_builtin(lore);
    Shelf *shelf = shelf_open(arena, lore, catalogue->database, problems);
    double before = measure_seconds();
    if (shelf == NULL || !shelf_load(shelf, catalogue->csv, &rows, problems)) return NULL;
    double loaded = measure_seconds() - before;
    shelf_close(shelf);
    before = measure_seconds();
    shelf = shelf_open(arena, lore, catalogue->database, problems);
    shelf_part(shelf, text_of(catalogue->names[0]));
    double opened = measure_seconds() - before;
    stat(catalogue->database, &status);
    snprintf(value, sizeof value, "%.1f s, %.0f MiB peak, file %.0f MiB", loaded, measure_peak_mib(),
             (double)status.st_size / 1048576);
    measure_print("1,000,000 parts loaded and indexed", value, "-", "-", "-", true);
    snprintf(value, sizeof value, "%.0f ms", opened * 1e3);
    measure_print("catalogue of 1,000,000 opened to the first answer", value, "-", "-", "-", true);
    return shelf;
}

int main(void) {
    static Catalogue catalogue;
    static Result result;
    Arena *arena = arena_new();
    Diags problems = diags_new(arena);
    Shelf *shelf = NULL;
    measure_start();
    catalogue.names = calloc(ROWS, NAME_MOST);
    strcpy(catalogue.folder, "/tmp/unpick-bench-XXXXXX");
    if (catalogue.names == NULL || mkdtemp(catalogue.folder) == NULL) return 1;
    snprintf(catalogue.csv, sizeof catalogue.csv, "%s/parts.csv", catalogue.folder);
    snprintf(catalogue.database, sizeof catalogue.database, "%s/parts.db", catalogue.folder);
    invent_names(&catalogue);
    part_doubles(&catalogue);
    if (write_csv(&catalogue)) shelf = load(arena, &catalogue, &problems);
    if (shelf != NULL) {
        measure(shelf, &catalogue, false, &result);
        print_result("two wrong characters", &result);
        measure(shelf, &catalogue, true, &result);
        print_result("one wrong, one missing", &result);
    }
    Out out = out_new(arena);
    diags_print(&out, &problems);
    fprintf(stderr, "%.*s", TEXT_ARG(out_text(&out)));
    unlink(catalogue.csv);
    unlink(catalogue.database);
    rmdir(catalogue.folder);
    bool fine = shelf != NULL;
    shelf_close(shelf);
    free(catalogue.names);
    arena_free(arena);
    return fine ? 0 : 1;
}
