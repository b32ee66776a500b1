/* One table of parts, and one row that holds the index of all their spellings as a block of bytes (index.h), written in the
 * same transaction: a catalogue is never without its index, and opening it copies the block and sorts nothing. Lists
 * (packages, aliases, codes) are kept one to a line in a column. Every value goes in as a bound parameter. */
#include "shelf/store.h"

#include <errno.h>
#include <math.h>
#include <sqlite3.h>
#include <string.h>
#include <sys/stat.h>

enum {
    APPLICATION_ID = 0x556E706B /* "Unpk", SQLite's mark of a file's owner */,
    SCHEMA_VERSION = 1,
    BUSY_MILLISECONDS = 5000
};

struct Store {
    Arena *arena;
    const Damage *damage;
    const char *path;
    sqlite3 *db;
    sqlite3_stmt *put, *get, *source;
    sqlite3_int64 load; /* number of the load at hand */
    Index *index;
    Arena *index_arena;
};

static const char SCHEMA[] =
    "create table part(id integer primary key, name text not null, also text not null, code text not null, kind text not "
    "null,"
    " about text not null, package text not null, leads integer not null, supply_low real, supply_high real, price real,"
    " currency text not null, source text not null, load integer not null);"
    "create unique index part_name on part(name collate nocase);"
    "create table search(id integer primary key, image blob not null);"
    "pragma application_id = 0x556E706B; pragma user_version = 1;";

/* A part that is there from this very load is not replaced: the list names it twice. */
static const char PUT[] =
    "insert into part(name, also, code, kind, about, package, leads, supply_low, supply_high, price, currency, source, "
    "load)"
    " values(?,?,?,?,?,?,?,?,?,?,?,?,?)"
    " on conflict(name) do update set also = excluded.also, code = excluded.code, kind = excluded.kind, about = "
    "excluded.about,"
    " package = excluded.package, leads = excluded.leads, supply_low = excluded.supply_low, supply_high = "
    "excluded.supply_high,"
    " price = excluded.price, currency = excluded.currency, source = excluded.source, load = excluded.load"
    " where load <> excluded.load";

/* ---- opening ---- */

static bool fail(Store *store, Text message, Diags *problems) {
    Text detail = store->db == NULL ? TEXT("") : text_copy(problems->arena, text_of(sqlite3_errmsg(store->db)));
    diag_add(problems, (Diag){.place = {.file = text_of(store->path)},
                              .message = text_fmt(problems->arena, "%.*s: %.*s", TEXT_ARG(message), TEXT_ARG(detail))});
    return false;
}

static sqlite3_int64 pragma(sqlite3 *db, const char *sql) {
    sqlite3_stmt *ask = NULL;
    sqlite3_int64 value = -1;
    if (sqlite3_prepare_v2(db, sql, -1, &ask, NULL) == SQLITE_OK && sqlite3_step(ask) == SQLITE_ROW)
        value = sqlite3_column_int64(ask, 0);
    sqlite3_finalize(ask);
    return value;
}

static bool connect(Store *store, int flags, Diags *problems) {
    if (sqlite3_open_v2(store->path, &store->db, flags | SQLITE_OPEN_NOMUTEX, NULL) != SQLITE_OK)
        return fail(store, TEXT("the catalogue can't be opened"), problems);
    sqlite3_busy_timeout(store->db, BUSY_MILLISECONDS);
    sqlite3_db_config(store->db, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
    sqlite3_db_config(store->db, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, NULL);
    return true;
}

static void disconnect(Store *store) {
    sqlite3_finalize(store->put);
    sqlite3_finalize(store->get);
    sqlite3_finalize(store->source);
    store->put = store->get = store->source = NULL;
    sqlite3_close(store->db);
    store->db = NULL;
}

Store *store_open(Arena *arena, const Damage *damage, const char *path, Diags *problems) {
    struct stat status;
    Store *store = arena_one(arena, Store);
    *store = (Store){.arena = arena, .damage = damage, .path = text_cstring(arena, text_of(path))};
    bool missing = stat(path, &status) != 0 ? errno == ENOENT : S_ISREG(status.st_mode) && status.st_size == 0;
    if (missing) return store; /* an empty file is what a first load leaves that was refused */
    bool fine = connect(store, SQLITE_OPEN_READONLY, problems);
    if (fine && (pragma(store->db, "pragma application_id") != APPLICATION_ID ||
                 pragma(store->db, "pragma user_version") != SCHEMA_VERSION)) {
        diag_add(problems, (Diag){.place = {.file = text_of(store->path)},
                                  .message = TEXT("this file is no parts catalogue of this program"),
                                  .expected = TEXT("one made by `unpick shelf load`"),
                                  .hint = TEXT("move it away, or name another file")});
        fine = false;
    }
    if (fine) return store;
    disconnect(store);
    return NULL;
}

void store_close(Store *store) {
    if (store == NULL) return;
    disconnect(store);
    arena_free(store->index_arena);
    store->index_arena = NULL, store->index = NULL;
}

/* ---- loading ---- */

static bool run(Store *store, const char *sql, Diags *problems) {
    return sqlite3_exec(store->db, sql, NULL, NULL, NULL) == SQLITE_OK ||
           fail(store, TEXT("the catalogue can't be written"), problems);
}

bool store_begin(Store *store, Diags *problems) {
    disconnect(store);
    if (!connect(store, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, problems) || !run(store, "begin immediate", problems))
        return false;
    if (pragma(store->db, "pragma application_id") == 0 && !run(store, SCHEMA, problems)) return false;
    store->load =
        1 + pragma(store->db, "select coalesce(max(load), 0) from (select load from part order by id desc limit 1)");
    if (store->load < 1) store->load = 1;
    return sqlite3_prepare_v2(store->db, PUT, -1, &store->put, NULL) == SQLITE_OK ||
           fail(store, TEXT("the catalogue can't be written"), problems);
}

static Text joined(Arena *arena, const Text *items, uint32_t count) {
    if (count == 1) return items[0];
    Out out = out_new(arena);
    for (uint32_t i = 0; i < count; i++) {
        if (i > 0) out_char(&out, '\n');
        out_add(&out, items[i]);
    }
    return out_text(&out);
}

static void bind_text(sqlite3_stmt *statement, int at, Text text) {
    sqlite3_bind_text64(statement, at, text.at, text.len, SQLITE_STATIC, SQLITE_UTF8);
}

static void bind_number(sqlite3_stmt *statement, int at, bool said, double value) {
    if (said)
        sqlite3_bind_double(statement, at, value);
    else
        sqlite3_bind_null(statement, at);
}

static void named_twice(Store *store, const CsvPart *row, Text file, Diags *problems) {
    Text first = TEXT("");
    if (store->source != NULL || sqlite3_prepare_v2(store->db, "select source from part where name = ? collate nocase", -1,
                                                    &store->source, NULL) == SQLITE_OK) {
        sqlite3_reset(store->source);
        bind_text(store->source, 1, row->part.name);
        if (sqlite3_step(store->source) == SQLITE_ROW)
            first = text_copy(problems->arena, text_of((const char *)sqlite3_column_text(store->source, 0)));
        sqlite3_reset(store->source);
    }
    csv_problem(problems, file, &row->name,
                text_fmt(problems->arena, "%.*s is in this list already", TEXT_ARG(row->part.name)), TEXT("each part once"),
                text_fmt(problems->arena, "first at %.*s", TEXT_ARG(first)));
}

bool store_put(Store *store, const CsvPart *row, Text file, Diags *problems) {
    const ShelfPart *part = &row->part;
    sqlite3_stmt *put = store->put;
    Arena *arena = arena_new();
    bool supply = part->supply.high > part->supply.low || part->supply.value != 0;
    const Text texts[] = {part->name,
                          joined(arena, row->aliases, row->alias_count),
                          joined(arena, row->codes, row->code_count),
                          part->kind,
                          part->about,
                          joined(arena, part->packages, part->package_count)};
    for (int i = 0; i < 6; i++) bind_text(put, i + 1, texts[i]);
    sqlite3_bind_int64(put, 7, part->leads);
    bind_number(put, 8, supply, part->supply.low);
    bind_number(put, 9, supply, part->supply.high);
    bind_number(put, 10, !isnan(part->price), part->price);
    bind_text(put, 11, part->currency);
    bind_text(put, 12, part->source);
    sqlite3_bind_int64(put, 13, store->load);
    bool stepped = sqlite3_step(put) == SQLITE_DONE, taken = stepped && sqlite3_changes(store->db) == 1;
    if (!stepped) fail(store, TEXT("the catalogue can't be written"), problems);
    sqlite3_reset(put);
    arena_free(arena);
    if (stepped && !taken) named_twice(store, row, file, problems);
    return taken;
}

/* ---- the index ---- */

static Text column(sqlite3_stmt *row, int at) {
    const char *text = (const char *)sqlite3_column_text(row, at);
    return text == NULL ? TEXT("") : (Text){text, (size_t)sqlite3_column_bytes(row, at)};
}

/* The next line of a list; false at its end. */
static bool next_item(Text *list, Text *item) {
    if (list->len == 0) return false;
    const char *end = memchr(list->at, '\n', list->len);
    *item = text_sub(*list, 0, end == NULL ? list->len : (size_t)(end - list->at));
    *list = text_sub(*list, item->len + 1, list->len);
    return true;
}

/* A part's spellings are numbered: its name 0, then its aliases, then its codes. */
static bool add_spellings(IndexBuilder *builder, sqlite3_stmt *row) {
    sqlite3_int64 id = sqlite3_column_int64(row, 0);
    Text also = column(row, 2), code = column(row, 3), item;
    uint8_t nth = 0;
    if (id < 0 || id > UINT32_MAX || !index_add(builder, column(row, 1), false, (uint32_t)id, nth++)) return false;
    for (; nth < UINT8_MAX && next_item(&also, &item); nth++)
        if (!index_add(builder, item, false, (uint32_t)id, nth)) return false;
    for (; nth < UINT8_MAX && next_item(&code, &item); nth++)
        if (!index_add(builder, item, true, (uint32_t)id, nth)) return false;
    return true;
}

static Index *build_index(Store *store, Arena *arena) {
    sqlite3_stmt *rows = NULL;
    IndexBuilder *builder = index_builder(store->damage);
    int step = SQLITE_ERROR;
    if (sqlite3_prepare_v2(store->db, "select id, name, also, code from part order by id", -1, &rows, NULL) == SQLITE_OK)
        while ((step = sqlite3_step(rows)) == SQLITE_ROW && add_spellings(builder, rows)) continue;
    sqlite3_finalize(rows);
    if (step == SQLITE_DONE) return index_finish(builder, arena);
    index_drop(builder);
    return NULL;
}

static bool write_index(Store *store, Diags *problems) {
    Arena *arena = arena_new();
    Index *index = build_index(store, arena);
    sqlite3_stmt *put = NULL;
    bool fine = index != NULL &&
                sqlite3_prepare_v2(store->db, "insert or replace into search(id, image) values(1, ?)", -1, &put, NULL) ==
                    SQLITE_OK &&
                sqlite3_bind_blob64(put, 1, index->image, index->image_size, SQLITE_STATIC) == SQLITE_OK &&
                sqlite3_step(put) == SQLITE_DONE;
    if (!fine)
        fail(store,
             index == NULL ? TEXT("the catalogue is full (16 million spellings)") : TEXT("the index can't be written"),
             problems);
    sqlite3_finalize(put);
    arena_free(arena);
    return fine;
}

bool store_end(Store *store, bool keep, Diags *problems) {
    if (store->db == NULL) return false;
    if (keep) keep = write_index(store, problems) && run(store, "commit", problems);
    if (!keep && !sqlite3_get_autocommit(store->db)) sqlite3_exec(store->db, "rollback", NULL, NULL, NULL);
    arena_free(store->index_arena);
    store->index_arena = NULL, store->index = NULL;
    return keep;
}

Index *store_index(Store *store) {
    if (store->index_arena != NULL || store->db == NULL) return store->index; /* once only, even when it failed */
    sqlite3_stmt *get = NULL;
    store->index_arena = arena_new();
    if (sqlite3_prepare_v2(store->db, "select image from search where id = 1", -1, &get, NULL) == SQLITE_OK &&
        sqlite3_step(get) == SQLITE_ROW) {
        size_t size = (size_t)sqlite3_column_bytes(get, 0);
        uint8_t *image = arena_take(store->index_arena, size);
        if (size > 0) memcpy(image, sqlite3_column_blob(get, 0), size);
        store->index = index_from(store->index_arena, store->damage, image, size);
    }
    sqlite3_finalize(get);
    if (store->index == NULL)
        store->index = build_index(store, store->index_arena); /* other look-alikes, or a spoilt block */
    return store->index;
}

/* ---- parts ---- */

static const Text *list_of(Arena *arena, Text list, uint32_t *count) {
    LIST(Text) items = {0};
    Text item;
    while (next_item(&list, &item)) list_push(arena, &items, text_copy(arena, item));
    *count = items.count;
    return items.at;
}

static Text nth_spelling(sqlite3_stmt *row, uint32_t nth) {
    Text also = column(row, 1), code = column(row, 2), item = column(row, 0);
    for (; nth > 0; nth--)
        if (!next_item(&also, &item) && !next_item(&code, &item)) return TEXT("");
    return item;
}

static const ShelfPart *part_of_row(sqlite3_stmt *row, Arena *arena) {
    ShelfPart *part = arena_one(arena, ShelfPart);
    part->name = text_copy(arena, column(row, 0));
    part->kind = text_copy(arena, column(row, 3));
    part->about = text_copy(arena, column(row, 4));
    part->packages = list_of(arena, column(row, 5), &part->package_count);
    part->leads = (uint32_t)sqlite3_column_int(row, 6);
    if (sqlite3_column_type(row, 7) != SQLITE_NULL) {
        double low = sqlite3_column_double(row, 7), high = sqlite3_column_double(row, 8);
        part->supply = quantity_within((low + high) / 2, low, high, UNIT_VOLT);
    }
    part->price = sqlite3_column_type(row, 9) == SQLITE_NULL ? NAN : sqlite3_column_double(row, 9);
    part->currency = text_copy(arena, column(row, 10));
    part->source = text_copy(arena, column(row, 11));
    return part;
}

const ShelfPart *store_part(Store *store, Arena *arena, uint32_t id, uint32_t nth, Text *spelling) {
    static const char GET[] =
        "select name, also, code, kind, about, package, leads, supply_low, supply_high, price, currency, source"
        " from part where id = ?";
    const ShelfPart *part = NULL;
    if (store->get == NULL && sqlite3_prepare_v2(store->db, GET, -1, &store->get, NULL) != SQLITE_OK) return NULL;
    sqlite3_bind_int64(store->get, 1, id);
    if (sqlite3_step(store->get) == SQLITE_ROW) {
        part = part_of_row(store->get, arena);
        *spelling = text_copy(arena, nth_spelling(store->get, nth));
    }
    sqlite3_reset(store->get);
    return part;
}
