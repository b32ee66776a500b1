/* Who may ask what: the table of paths, and the gate before it. The gate judges a request by its head alone, so that a
 * stranger's body is never read. A path is looked up whole; no part of it ever becomes the name of a file. */
#include "page/inside.h"

#include <stdlib.h>

typedef enum Who { AT_BENCH = 1, AT_PHONE = 2 } Who;

typedef struct Route {
    const char *method, *path; /* behind the key */
    unsigned who;
    bool needs_folder;
    uint64_t body_most;
    void (*answer)(Call *call);
} Route;

/* A photo of 200 million pixels has some 100 MB as a JPEG. */
enum { PHOTO_BYTES_MOST = 256 << 20 };

static const Route ROUTES[] = {
    {"GET", "", AT_BENCH, false, 0, answer_bench},
    {"POST", "begin", AT_BENCH, false, 4096, answer_begun},
    {"GET", "live", AT_BENCH, true, 0, answer_live},
    {"GET", "notes", AT_BENCH, true, 0, answer_notes},
    {"GET", "line", AT_BENCH, true, 0, answer_line},
    {"GET", "findings", AT_BENCH, true, 0, answer_findings},
    {"GET", "why", AT_BENCH, true, 0, answer_why},
    {"GET", "complete", AT_BENCH, true, 0, answer_complete},
    {"POST", "add", AT_BENCH, true, NOTE_LINE_MOST, answer_add},
    {"POST", "check", AT_BENCH, true, NOTE_LINE_MOST, answer_check},
    {"POST", "photo", AT_BENCH | AT_PHONE, true, PHOTO_BYTES_MOST, answer_photo},
    {"POST", "invite", AT_BENCH, true, 0, answer_invite},
    {"GET", "", AT_PHONE, true, 0, answer_phone},
    {"GET", "boards", AT_BENCH, true, 0, answer_boards},
    {"GET", "copper", AT_BENCH, true, 0, answer_copper},
    {"GET", "picture", AT_BENCH, true, 0, answer_picture},
    {"GET", "schematic", AT_BENCH, true, 0, answer_schematic},
    {"GET", "blocks", AT_BENCH, true, 0, answer_blocks},
    {"GET", "more", AT_BENCH, true, 0, answer_more},
    {"GET", "numbers", AT_BENCH, true, 0, answer_numbers},
    {"GET", "parts", AT_BENCH, true, 0, answer_parts},
    {"GET", "light", AT_BENCH, true, 0, answer_light},
    {"GET", "snap", AT_BENCH, true, 0, answer_snap},
    {"GET", "outline", AT_BENCH, true, 0, answer_outline},
    {"GET", "tile", AT_BENCH, true, 0, answer_tile},
};

Text request_argument(const PageRequest *request, const char *name) {
    for (uint32_t i = 0; i < request->argument_count; i++)
        if (text_is(request->arguments[i].name, name)) return request->arguments[i].value;
    return TEXT("");
}

Text call_argument(const Call *call, const char *name) { return request_argument(call->request, name); }

uint32_t call_number(const Call *call, const char *name) {
    Text said = call_argument(call, name);
    enum { DIGITS_MOST = 6 };
    if (said.len > DIGITS_MOST || !text_all_digits(said)) return UINT32_MAX;
    return (uint32_t)strtoul(text_cstring(call->arena, said), NULL, 10);
}

static void refuse(Arena *arena, PageAnswer *answer, unsigned status, const char *why) {
    *answer = (PageAnswer){.status = status, .type = "text/plain; charset=utf-8", .body = text_fmt(arena, "%s\n", why)};
}

void call_refuse(Call *call, unsigned status, const char *why) { refuse(call->arena, call->answer, status, why); }

/* ---- the gate ---- */

Text page_host_of(Page *page, PageDoor door) {
    pthread_mutex_lock(&page->lock);
    Text host = page->host[door];
    pthread_mutex_unlock(&page->lock);
    return host;
}

/* `127.0.0.1:8017` without the port, brackets left; port: `:8017`. */
static Text without_port(Text host, Text *port) {
    size_t colon = host.len;
    while (colon > 0 && host.at[colon - 1] != ':') colon--;
    *port = text_sub(host, colon > 0 ? colon - 1 : host.len, host.len);
    return text_sub(host, 0, host.len - port->len);
}

static bool all_of(Text text, const char *allowed) {
    for (size_t i = 0; i < text.len; i++)
        if (text.at[i] == '\0' || strchr(allowed, text.at[i]) == NULL) return false;
    return text.len > 0;
}

/* Its own address; a loopback one also by the name that every system gives it; and where it listens on all of them any
 * address in digits, but no name: those can be made to lead here by others. */
static bool is_own_host(Page *page, PageDoor door, Text host) {
    Text own = page_host_of(page, door), own_port, port;
    Text own_name = without_port(own, &own_port), name = without_port(host, &port);
    if (own.len == 0 || !text_same(port, own_port)) return false;
    if (text_same(name, own_name)) return true;
    if (text_is(own_name, "127.0.0.1") || text_is(own_name, "[::1]")) return text_is(name, "localhost");
    if (text_is(own_name, "0.0.0.0")) return all_of(name, "0123456789.");
    return text_is(own_name, "[::]") && text_starts(name, "[") && text_ends(name, "]") &&
           all_of(text_sub(name, 1, name.len - 2), "0123456789abcdefABCDEF:.");
}

/* What changes something must come from a page of ours, by the browser's own word. */
static bool is_own_origin(const PageRequest *request) {
    return text_starts(request->origin, "http://") &&
           text_same(text_sub(request->origin, strlen("http://"), request->origin.len), request->host);
}

static bool is_clean(const PageRequest *request) {
    bool clean = text_bad_byte(request->path) == request->path.len;
    for (uint32_t i = 0; i < request->argument_count; i++)
        clean = clean && text_bad_byte(request->arguments[i].value) == request->arguments[i].value.len;
    return clean;
}

/* `/KEY/rest`: who holds that key, and the rest; 0 for nobody. */
static unsigned who_asks(Page *page, const PageRequest *request, Text *rest) {
    Text key = text_sub(request->path, 1, KEY_LENGTH);
    *rest = text_sub(request->path, KEY_LENGTH + 2, request->path.len);
    if (request->path.len < KEY_LENGTH + 2 || request->path.at[0] != '/' || request->path.at[KEY_LENGTH + 1] != '/')
        return 0;
    if (request->door == PAGE_DOOR_BENCH) return key_is(&page->key, key) ? AT_BENCH : 0;
    return key_is(&page->phone_key, key) ? AT_PHONE : 0;
}

static const Route *find_route(Text method, Text path, unsigned who, bool *other_method) {
    for (size_t i = 0; i < sizeof ROUTES / sizeof *ROUTES; i++) {
        if (!text_is(path, ROUTES[i].path) || (ROUTES[i].who & who) == 0) continue;
        if (text_is(method, ROUTES[i].method)) return &ROUTES[i];
        *other_method = true;
    }
    return NULL;
}

static const PageAsset *find_asset(Text path) {
    for (size_t i = 0; i < PAGE_ASSET_COUNT; i++)
        if (text_is(path, PAGE_ASSETS[i].name)) return &PAGE_ASSETS[i];
    return NULL;
}

/* The assets that a browser asks for have a type; the others are pieces of answers. */
const char *asset_type(Text name) {
    if (text_ends(name, ".svg")) return "image/svg+xml";
    return text_ends(name, ".js") ? "text/javascript; charset=utf-8" : NULL;
}

/* `/ONCE/` at the phone's door, for the first time. */
static bool phone_comes(Page *page, const PageRequest *request) {
    return request->door == PAGE_DOOR_PHONE && request->path.len == KEY_LENGTH + 2 && text_ends(request->path, "/") &&
           phone_exchange(page, text_sub(request->path, 1, KEY_LENGTH));
}

static void go_on(Page *page, Arena *arena, PageAnswer *answer) {
    refuse(arena, answer, 303, "Go on there.");
    answer->location = text_fmt(arena, "/%s/", page->phone_key.hex).at;
}

/* What was admitted: one of a route and an asset. */
typedef struct Admitted {
    const Route *route;
    const PageAsset *asset;
} Admitted;

static bool admit(Page *page, Arena *arena, const PageRequest *request, Admitted *admitted, PageAnswer *refusal) {
    Text path;
    bool other_method = false, gets = text_is(request->method, "GET");
    *admitted = (Admitted){0};
    if (!is_own_host(page, request->door, request->host))
        return refuse(arena, refusal, 421, "This is not a name of the bench page."), false;
    if (!is_clean(request)) return refuse(arena, refusal, 400, "The address is not text in UTF-8."), false;
    if (!gets && !is_own_origin(request))
        return refuse(arena, refusal, 403, "Only the bench page itself may change something here."), false;
    unsigned who = who_asks(page, request, &path);
    if (who == 0 && gets && phone_comes(page, request)) return go_on(page, arena, refusal), false;
    if (who == 0)
        return refuse(arena, refusal, 403,
                      "The key is missing from this address. Open the one that `unpick page` printed."),
               false;
    if (gets && asset_type(path) != NULL && (admitted->asset = find_asset(path)) != NULL) return true;
    const Route *route = find_route(request->method, path, who, &other_method);
    if (route == NULL) return refuse(arena, refusal, other_method ? 405 : 404, "There is nothing at this address."), false;
    if (request->announced > route->body_most || request->body.len > route->body_most)
        return refuse(arena, refusal, 413,
                      text_fmt(arena, "Too much at once: at most %llu bytes.", (unsigned long long)route->body_most).at),
               false;
    admitted->route = route;
    return true;
}

bool page_admit(Page *page, Arena *arena, const PageRequest *request, uint64_t *body_most, PageAnswer *refusal) {
    Admitted admitted;
    bool fine = admit(page, arena, request, &admitted, refusal);
    *body_most = fine && admitted.route != NULL ? admitted.route->body_most : 0;
    return fine;
}

/* ---- answering ---- */

Text asset(const char *name) {
    const PageAsset *found = find_asset(text_of(name));
    return found == NULL ? TEXT("") : (Text){found->bytes, found->len};
}

void page_answer(Page *page, Arena *arena, const PageRequest *request, PageAnswer *answer) {
    Admitted admitted;
    if (!admit(page, arena, request, &admitted, answer)) return;
    *answer = (PageAnswer){.status = 200, .type = "text/html; charset=utf-8"};
    if (admitted.asset != NULL) {
        answer->type = asset_type(text_of(admitted.asset->name));
        size_t number = (size_t)(admitted.asset - PAGE_ASSETS);
        answer->packed = request->unpacks && page->packed != NULL && page->packed[number].len > 0;
        answer->body = answer->packed ? page->packed[number] : (Text){admitted.asset->bytes, admitted.asset->len};
        return;
    }
    Call call = {.page = page,
                 .arena = arena,
                 .request = request,
                 .model = page_hold(page),
                 .answer = answer,
                 .out = out_new(arena)};
    if (admitted.route->needs_folder && call.model == NULL)
        call_refuse(&call, 409, "There is no teardown yet.");
    else
        admitted.route->answer(&call);
    if (answer->body.len == 0) answer->body = out_text(&call.out);
    page_let_go(page, call.model);
}
