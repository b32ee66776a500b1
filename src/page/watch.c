/* The thread that reads the folder again. inotify tells of changes as they happen; where it can't (some network and shared
 * folders), a look each second does. Either only says "look": what counts is whether the files' signature is another than
 * the one last read, so that no event can be missed and none is worked on twice. Requests never wait for a reading: they
 * are answered from the model before. A line that was written shows at once; what follows from it, when it is worked out.
 */
#include "page/inside.h"

#include "base/file.h"

#include <errno.h>
#include <poll.h>
#include <string.h>
#include <sys/eventfd.h>
#include <sys/inotify.h>
#include <unistd.h>

enum { LOOK_MS = 1000, SETTLE_MS = 10 /* an editor's write comes in pieces */ };

struct Watch {
    Page *page;
    pthread_t thread;
    int poke, inotify; /* inotify: -1 when there is none */
};

uint64_t watch_signature(const char *folder) {
    static const char *const names[] = {"notes.txt", "shelf.csv", "photos", "lore"};
    Arena *arena = arena_new();
    uint64_t stamp = 0;
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        stamp = file_stamp(text_fmt(arena, "%s/%s", folder, names[i]).at, stamp);
    arena_free(arena);
    return stamp;
}

static void publish(Page *page, PageModel *model, bool busy) {
    pthread_mutex_lock(&page->lock);
    PageModel *before = page->model;
    page->model = model;
    page->version = model->version;
    page->busy = busy;
    pthread_cond_broadcast(&page->changed);
    pthread_mutex_unlock(&page->lock);
    page_let_go(page, before);
}

static void look(Watch *watch) {
    Page *page = watch->page;
    if (watch_signature(page->folder) == page->model->signature) return;
    PageModel *before = page_hold(page), *ahead = model_ahead(page->folder, before, page->version + 1);
    if (ahead != NULL)
        publish(page, ahead, true);
    else
        page_let_go(page, before);
    PageModel *summed = page_hold_summed(page), *now = model_read(page, summed, page->version + 1);
    if (now->summed == NULL) page_let_go(page, summed);
    publish(page, now, false);
}

/* Takes what has come. */
static void take_events(const Watch *watch) {
    char events[4096];
    const int from[] = {watch->poke, watch->inotify};
    for (size_t i = 0; i < 2; i++)
        while (from[i] >= 0 && read(from[i], events, sizeof events) > 0) continue; /* neither blocks */
}

/* Waits until there may be something to read. A note that this page adds is whole: it is not waited for, although its bytes
 * are heard of before it says so. */
static void wait_for_events(const Watch *watch) {
    struct pollfd ready[] = {{watch->poke, POLLIN, 0}, {watch->inotify, POLLIN, 0}}; /* a negative one is passed over */
    if (poll(ready, 2, LOOK_MS) > 0 && ready[0].revents == 0) poll(ready, 1, SETTLE_MS);
    take_events(watch);
}

static void *watch_on(void *given) {
    Watch *watch = given;
    for (bool stopping = false; !stopping;) {
        wait_for_events(watch);
        pthread_mutex_lock(&watch->page->lock);
        stopping = watch->page->stopping;
        pthread_mutex_unlock(&watch->page->lock);
        if (!stopping) look(watch);
    }
    return NULL;
}

static void add_watches(Watch *watch, const char *folder) {
    enum { WHAT = IN_MODIFY | IN_CLOSE_WRITE | IN_MOVED_TO | IN_MOVED_FROM | IN_CREATE | IN_DELETE };
    static const char *const folders[] = {"", "photos", "lore"};
    for (size_t i = 0; i < 3 && watch->inotify >= 0; i++) /* one that isn't there yet is seen by the look each second */
        inotify_add_watch(watch->inotify, text_fmt(watch->page->arena, "%s/%s", folder, folders[i]).at, WHAT | IN_ONLYDIR);
}

bool watch_start(Page *page, Diags *problems) {
    Watch *watch = arena_one(page->arena, Watch);
    *watch = (Watch){
        .page = page, .poke = eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK), .inotify = inotify_init1(IN_CLOEXEC | IN_NONBLOCK)};
    if (watch->poke >= 0) {
        add_watches(watch, page->folder);
        if ((errno = pthread_create(&watch->thread, NULL, watch_on, watch)) == 0) {
            pthread_mutex_lock(&page->lock);
            page->watch = watch;
            pthread_mutex_unlock(&page->lock);
            return true;
        }
        close(watch->poke);
    }
    if (watch->inotify >= 0) close(watch->inotify);
    diag_add(problems, (Diag){.message = TEXT("the folder can't be watched"), .hint = text_of(strerror(errno))});
    return false;
}

void watch_poke(Page *page) {
    uint64_t one = 1;
    pthread_mutex_lock(&page->lock);
    Watch *watch = page->watch;
    pthread_mutex_unlock(&page->lock);
    if (watch != NULL && write(watch->poke, &one, sizeof one) != (ssize_t)sizeof one)
        return; /* it is full of pokes: a look will come */
}

void watch_stop(Page *page) {
    Watch *watch = page->watch;
    if (watch == NULL) return;
    watch_poke(page);
    pthread_join(watch->thread, NULL);
    close(watch->poke);
    if (watch->inotify >= 0) close(watch->inotify);
    page->watch = NULL;
}
