/* The catalogue's front: parts in memory and the catalogue file, each with an index that is made or read when it is first
 * searched, so that a run which only asks for names pays for neither. */
#include "shelf/shelf.h"
#include "base/file.h"
#include "shelf/csv.h"
#include "shelf/find.h"
#include "shelf/part.h"
#include "shelf/store.h"

#include <errno.h>
#include <limits.h>
#include <string.h>

struct Shelf {
    Arena *arena;
    Lore *lore;
    Parts *parts;
    Damage *damage;
    Store *store; /* NULL: no catalogue file */
    Index *index; /* of the parts in memory; NULL until searched */
    Arena *index_arena;
};

enum {
    MATCHES_MOST = 10000,
    NARROWING_POOL = 256 /* more finds that are looked at when body or pins may change the order */
};

/* ---- opening and loading ---- */

Shelf *shelf_open(Arena *arena, Lore *lore, const char *database, Diags *problems) {
    Shelf *shelf = arena_one(arena, Shelf);
    *shelf = (Shelf){.arena = arena, .lore = lore, .parts = parts_new(arena, lore), .damage = damage_new(arena, lore)};
    if (database == NULL) return shelf;
    shelf->store = store_open(arena, shelf->damage, database, problems);
    return shelf->store == NULL ? NULL : shelf;
}

static void drop_index(Shelf *shelf) {
    arena_free(shelf->index_arena);
    shelf->index_arena = NULL, shelf->index = NULL;
}

void shelf_close(Shelf *shelf) {
    if (shelf == NULL) return;
    store_close(shelf->store);
    shelf->store = NULL;
    drop_index(shelf);
}

static bool read_list(Arena *arena, const char *path, Text *content, Diags *problems) {
    if (file_read(arena, path, CSV_FILE_MOST, content)) return true;
    Text why = errno == EFBIG ? TEXT("larger than 512 MB") : text_of(strerror(errno));
    diag_add(problems,
             (Diag){.place = {.file = text_copy(problems->arena, text_of(path))},
                    .message = text_fmt(problems->arena, "this parts list can't be read: %.*s", TEXT_ARG(why)),
                    .expected = TEXT("a file of comma-separated values, its first row the names of the columns")});
    return false;
}

typedef struct Loading {
    Shelf *shelf;
    Text file;
    Diags *problems;
} Loading;

static bool take_into_store(void *context, const CsvPart *part) {
    Loading *loading = context;
    return store_put(loading->shelf->store, part, loading->file, loading->problems);
}

bool shelf_load(Shelf *shelf, const char *csv_path, uint32_t *rows, Diags *problems) {
    Text content;
    *rows = 0;
    if (shelf->store == NULL) {
        diag_add(problems, (Diag){.message = TEXT("no catalogue file was named to load into")});
        return false;
    }
    Arena *arena = arena_new();
    Loading loading = {shelf, text_copy(problems->arena, text_of(csv_path)), problems};
    bool fine = read_list(arena, csv_path, &content, problems);
    if (fine) {
        bool begun = store_begin(shelf->store, problems);
        CsvList list = {.file = loading.file,
                        .content = content,
                        .columns = csv_columns(arena, shelf->lore),
                        .kinds = shelf->parts->kinds,
                        .take = take_into_store,
                        .context = &loading};
        fine = begun && csv_read(list, rows, problems);
        fine = store_end(shelf->store, fine, problems);
    }
    if (!fine) *rows = 0;
    arena_free(arena);
    return fine;
}

typedef struct Adding {
    Arena *arena;
    LIST(CsvPart) parts;
    Names *names;
    Text file;
    Diags *problems;
} Adding;

static bool take_into_memory(void *context, const CsvPart *part) {
    Adding *adding = context;
    uint32_t before = names_count(adding->names);
    if (names_add(adding->names, part->part.name) != before) {
        csv_problem(adding->problems, adding->file, &part->name,
                    text_fmt(adding->problems->arena, "%.*s is in this list already", TEXT_ARG(part->part.name)),
                    TEXT("each part once"), TEXT(""));
        return false;
    }
    list_push(adding->arena, &adding->parts, *part);
    return true;
}

bool shelf_add(Shelf *shelf, const char *csv_path, uint32_t *rows, Diags *problems) {
    Text content;
    *rows = 0;
    errno = 0;
    if (!file_read(shelf->arena, csv_path, CSV_FILE_MOST, &content))
        return errno == ENOENT || read_list(shelf->arena, csv_path, &content, problems);
    Adding adding = {.arena = shelf->arena,
                     .names = names_new(shelf->arena),
                     .problems = problems,
                     .file = text_copy(shelf->arena, text_of(csv_path))};
    CsvList list = {.file = adding.file,
                    .content = content,
                    .columns = csv_columns(shelf->arena, shelf->lore),
                    .kinds = shelf->parts->kinds,
                    .keep = shelf->arena,
                    .take = take_into_memory,
                    .context = &adding};
    if (!csv_read(list, rows, problems)) {
        *rows = 0;
        return false;
    }
    for (uint32_t i = 0; i < adding.parts.count; i++) {
        const CsvPart *part = &adding.parts.at[i];
        parts_add(shelf->parts, &part->part, part->aliases, part->alias_count, part->codes, part->code_count);
    }
    drop_index(shelf);
    return true;
}

/* ---- parts by name ---- */

uint32_t shelf_count(const Shelf *shelf) { return shelf->parts->slots.count; }
const ShelfPart *shelf_at(Shelf *shelf, uint32_t number) { return parts_read(shelf->parts, number); }

typedef struct Exact {
    Shelf *shelf;
    const Index *index;
    Text name;
    const ShelfPart *part;
} Exact;

static void compare_exactly(void *context, uint32_t number) {
    Exact *exact = context;
    Text spelling;
    if (exact->part != NULL || (exact->index->prefix[number] & CODE_FLAG) != 0) return;
    const ShelfPart *part = store_part(exact->shelf->store, exact->shelf->arena, exact->index->owner[number],
                                       exact->index->nth[number], &spelling);
    if (part != NULL && text_same_folded(spelling, exact->name)) exact->part = part;
}

const ShelfPart *shelf_part(Shelf *shelf, Text name) {
    uint32_t number = parts_find(shelf->parts, name);
    if (number != UINT32_MAX) return parts_read(shelf->parts, number);
    Index *index = shelf->store == NULL ? NULL : store_index(shelf->store);
    if (index == NULL) return NULL;
    Exact exact = {.shelf = shelf, .index = index, .name = name};
    Reading reading = reading_of(name, false);
    IndexAsker asker = {compare_exactly, &exact, INT_MIN};
    index_same(index, shelf->damage, &reading, &asker);
    return exact.part;
}

/* ---- parts by marking ---- */

static Index *memory_index(Shelf *shelf) {
    if (shelf->index != NULL) return shelf->index;
    IndexBuilder *builder = index_builder(shelf->damage);
    for (uint32_t i = 0; i < shelf->parts->spellings.count; i++) {
        const Spelling *spelling = &shelf->parts->spellings.at[i];
        uint32_t nth = i - shelf->parts->slots.at[spelling->part]->first_spelling;
        if (nth <= UINT8_MAX && !index_add(builder, spelling->text, spelling->code, spelling->part, (uint8_t)nth)) break;
    }
    shelf->index_arena = arena_new();
    shelf->index = index_finish(builder, shelf->index_arena);
    return shelf->index;
}

/* What body and pin count say: the body when both sides name one, else the pins. */
static int body_weight(const Damage *damage, const ShelfPart *part, Text code_body, ShelfQuery query) {
    bool fits = false;
    for (uint32_t i = 0; i < part->package_count && !fits; i++)
        fits = damage_same_body(damage, part->packages[i], query.package);
    if (code_body.len > 0) fits = damage_same_body(damage, code_body, query.package);
    if (query.package.len > 0 && (part->package_count > 0 || code_body.len > 0))
        return damage->weight[fits ? SLIP_BODY_FITS : SLIP_BODY_DIFFERS];
    if (query.pins > 0 && part->leads > 0)
        return damage->weight[part->leads == query.pins ? SLIP_PINS_FIT : SLIP_PINS_DIFFER];
    return 0;
}

/* How much better than another a part may become by its body or pins. */
static int narrowing(const Damage *damage) {
    const int *weight = damage->weight;
    int body = weight[SLIP_BODY_FITS] - weight[SLIP_BODY_DIFFERS], pins = weight[SLIP_PINS_FIT] - weight[SLIP_PINS_DIFFER];
    return body > pins ? body : pins;
}

/* A candidate as an answer; false when its part is gone. */
static bool answer(Shelf *shelf, Arena *arena, const Candidate *candidate, ShelfQuery query, ShelfMatch *match) {
    Text body = TEXT("");
    if (candidate->stored) {
        match->part = store_part(shelf->store, arena, candidate->owner, candidate->nth, &match->matched);
    } else {
        uint32_t first = shelf->parts->slots.at[candidate->owner]->first_spelling;
        const Spelling *spelling = &shelf->parts->spellings.at[first + candidate->nth];
        match->part = parts_read(shelf->parts, candidate->owner);
        match->matched = spelling->text, body = spelling->body;
    }
    if (match->part == NULL) return false;
    match->by_code = candidate->code;
    match->differs = TEXT("");
    match->decibans = (candidate->weight + body_weight(shelf->damage, match->part, body, query)) / 10.0;
    return match->decibans > 0;
}

static void put_answer(ShelfMatch *matches, size_t most, size_t *count, ShelfMatch match, const Candidate **from,
                       const Candidate *candidate) {
    size_t place = *count;
    while (place > 0 && match.decibans > matches[place - 1].decibans) place--;
    if (place == most) return;
    if (*count == most) --*count;
    for (size_t i = (*count)++; i > place; i--) matches[i] = matches[i - 1], from[i] = from[i - 1];
    matches[place] = match, from[place] = candidate;
}

size_t shelf_find(Shelf *shelf, Arena *arena, ShelfQuery query, ShelfMatch *matches, size_t most) {
    Reading readings[MARKING_WORDS_MOST + 1];
    size_t words = marking_readings(query.marking, readings), count = 0;
    if (most == 0) return 0;
    if (most > MATCHES_MOST) most = MATCHES_MOST;
    bool narrowed = query.package.len > 0 || query.pins > 0;
    Pool pool = {.damage = shelf->damage,
                 .most = most,
                 .room = most + (narrowed ? NARROWING_POOL : 0),
                 .overtake = narrowed ? narrowing(shelf->damage) : 0};
    Arena *work = arena_new();
    pool.at = arena_many(work, Candidate, pool.room + 1);
    const Candidate **from = arena_many(work, const Candidate *, most + 1);
    for (size_t i = 0; i < words; i++) {
        pool_search(&pool, memory_index(shelf), false, &readings[i]);
        if (shelf->store != NULL) pool_search(&pool, store_index(shelf->store), true, &readings[i]);
    }
    for (size_t i = 0; i < pool.count; i++) {
        ShelfMatch match;
        if (answer(shelf, arena, &pool.at[i], query, &match)) put_answer(matches, most, &count, match, from, &pool.at[i]);
    }
    for (size_t i = 0; i < count; i++)
        matches[i].differs = damage_words(arena, shelf->damage, from[i]->marking, &from[i]->spelling, from[i]->code);
    arena_free(work);
    return count;
}
