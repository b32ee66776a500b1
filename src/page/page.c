/* A page begun, found and stopped. */
#include "page/inside.h"

#include <string.h>
#include <sys/stat.h>
#include <time.h>

static bool is_wildcard(const char *address) { return strcmp(address, "0.0.0.0") == 0 || strcmp(address, "::") == 0; }

Text page_host(Arena *arena, const char *address, uint16_t port) {
    return strchr(address, ':') != NULL ? text_fmt(arena, "[%s]:%u", address, port)
                                        : text_fmt(arena, "%s:%u", address, port);
}

static const char *kept(Arena *arena, const char *cstring) {
    return cstring == NULL ? NULL : text_cstring(arena, text_of(cstring));
}

/* Milliseconds since 1970: later runs of the program begin with a larger version, unless the clock was set back, and then a
 * page that is open is merely drawn again late. */
static uint64_t first_version(void) {
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    return (uint64_t)now.tv_sec * 1000 + (uint64_t)now.tv_nsec / 1000000;
}

static void set_up_lock(Page *page) {
    pthread_condattr_t clock;
    pthread_condattr_init(&clock);
    pthread_condattr_setclock(&clock, CLOCK_MONOTONIC);
    pthread_cond_init(&page->changed, &clock);
    pthread_condattr_destroy(&clock);
    pthread_mutex_init(&page->lock, NULL);
    pthread_mutex_init(&page->drawing, NULL);
}

static bool read_first(Page *page, Diags *problems) {
    struct stat info;
    if (page->folder == NULL) return true;
    if (stat(page->folder, &info) != 0 || !S_ISDIR(info.st_mode)) {
        diag_add(problems, (Diag){.place.file = text_copy(problems->arena, text_of(page->folder)),
                                  .message = TEXT("there is no such folder"),
                                  .hint = TEXT("`unpick new DIR` starts a teardown, `unpick page` alone offers to")});
        return false;
    }
    page->model = model_read(page, NULL, page->version);
    if (!page->model->open) diags_copy(problems, &page->model->problems);
    return page->model->open;
}

Page *page_new(const PageSettings *settings, Diags *problems) {
    Arena *arena = arena_new();
    Page *page = arena_one(arena, Page);
    *page = (Page){.arena = arena,
                   .catalogue = kept(arena, settings->catalogue),
                   .address = settings->address != NULL ? kept(arena, settings->address) : "127.0.0.1",
                   .port = settings->port,
                   .port_asked = settings->port != 0,
                   .phone = settings->phone,
                   .patience = settings->patience,
                   .folder = kept(arena, settings->folder),
                   .version = first_version(),
                   .keep = report_keep_new(),
                   .blocks = out_new(arena)};
    set_up_lock(page);
    uint16_t last_port = 0;
    bool random = key_make(&page->key) && key_make(&page->phone_key) && key_make(&page->phone_once);
    if (!random) diag_add(problems, (Diag){.message = TEXT("the system has no random bytes for a key")});
    if (random && page->folder != NULL) key_recall(page->folder, &page->key, &last_port);
    if (page->port == 0) page->port = last_port;
    page->host[PAGE_DOOR_BENCH] = page_host(arena, page->address, page->port);
    if (random && read_first(page, problems)) return page;
    page_stop(page);
    return NULL;
}

bool page_start(Page *page, Diags *problems) {
    if (!serve_start(page, problems)) return false;
    if (page->folder != NULL) key_keep(page->folder, &page->key, page->port);
    return page->folder == NULL || (watch_start(page, problems) && cutter_start(page, problems));
}

void page_take_folder(Page *page, const char *folder) {
    Diags problems = diags_new(page->arena);
    pthread_mutex_lock(&page->lock);
    bool first = page->folder == NULL;
    if (first) page->folder = kept(page->arena, folder);
    pthread_mutex_unlock(&page->lock);
    if (!first) return;
    key_keep(page->folder, &page->key, page->port);
    PageModel *model = model_read(page, NULL, page->version + 1);
    pthread_mutex_lock(&page->lock);
    page->model = model, page->version = model->version;
    pthread_cond_broadcast(&page->changed);
    pthread_mutex_unlock(&page->lock);
    if (watch_start(page, &problems)) cutter_start(page, &problems);
}

Text page_address(Arena *arena, Page *page) {
    bool all = is_wildcard(page->address);
    const char *address = !all ? page->address : strchr(page->address, ':') != NULL ? "::1" : "127.0.0.1";
    Text host = page_host(arena, address, page->port);
    return text_fmt(arena, "http://%.*s/%s/", TEXT_ARG(host), page->key.hex);
}

Text page_network_address(Arena *arena, Page *page) {
    Text address = is_wildcard(page->address) ? phone_network_address(arena) : TEXT("");
    if (address.len == 0 || strchr(page->address, ':') != NULL) return TEXT("");
    return text_fmt(arena, "http://%.*s/%s/", TEXT_ARG(page_host(arena, text_cstring(arena, address), page->port)),
                    page->key.hex);
}

Text page_phone_address(Arena *arena, Page *page) {
    Text host = page_host_of(page, PAGE_DOOR_PHONE);
    pthread_mutex_lock(&page->lock);
    PageKey once = page->phone_once;
    pthread_mutex_unlock(&page->lock);
    if (host.len == 0 || once.hex[0] == '\0') return TEXT("");
    return text_fmt(arena, "http://%.*s/%s/", TEXT_ARG(host), once.hex);
}

void page_stop(Page *page) {
    if (page == NULL) return;
    pthread_mutex_lock(&page->lock);
    page->stopping = true;
    pthread_cond_broadcast(&page->changed);
    pthread_mutex_unlock(&page->lock);
    serve_stop(page);
    watch_stop(page);
    cutter_stop(page);
    page_let_go(page, page->model);
    report_keep_free(page->keep);
    pthread_cond_destroy(&page->changed);
    pthread_mutex_destroy(&page->lock);
    pthread_mutex_destroy(&page->drawing);
    arena_free(page->arena);
}
