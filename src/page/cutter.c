/* The thread that cuts pictures into tiles, one after the other, as they are asked for; and what is answered about them. No
 * answer waits for it: the page hears of it when a picture is ready. */
#include "page/inside.h"

#include "base/json.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

enum { WAITING_MOST = 32, ID_LENGTH = 16 };

typedef struct Wanted {
    char id[ID_LENGTH + 1];
    bool failed; /* it can't be cut; kept, so that it is not tried again and again */
} Wanted;

struct Cutter {
    pthread_t thread;
    pthread_cond_t wake;
    Wanted wanted[WAITING_MOST]; /* under the page's lock; the first not failed is next */
    uint32_t count;
};

const Picture *picture_find(const PageModel *model, Text id) {
    for (uint32_t i = 0; model != NULL && i < model->pictures.count; i++)
        if (text_same(model->pictures.at[i].id, id)) return &model->pictures.at[i];
    return NULL;
}

static Wanted *find_wanted(Cutter *cutter, Text id) {
    for (uint32_t i = 0; i < cutter->count; i++)
        if (text_is(id, cutter->wanted[i].id)) return &cutter->wanted[i];
    return NULL;
}

/* Puts it in the line, once; true when it failed before. A line that is full forgets its oldest failure, or takes no more.
 */
static bool want_locked(Cutter *cutter, Text id) {
    Wanted *wanted = find_wanted(cutter, id);
    bool failed = wanted != NULL && wanted->failed;
    for (uint32_t i = 0; wanted == NULL && cutter->count == WAITING_MOST && i < WAITING_MOST; i++)
        if (cutter->wanted[i].failed) cutter->wanted[i] = cutter->wanted[--cutter->count];
    if (wanted == NULL && cutter->count < WAITING_MOST) {
        Wanted *last = &cutter->wanted[cutter->count++];
        *last = (Wanted){0};
        memcpy(last->id, id.at, ID_LENGTH);
        pthread_cond_signal(&cutter->wake);
    }
    return failed;
}

static bool want(Page *page, Text id) {
    pthread_mutex_lock(&page->lock);
    bool failed = page->cutter != NULL && want_locked(page->cutter, id);
    pthread_mutex_unlock(&page->lock);
    return failed;
}

/* Waits for the next one; false when the page stops. */
static bool next_wanted(Page *page, Wanted *next) {
    Cutter *cutter = page->cutter;
    bool found = false;
    pthread_mutex_lock(&page->lock);
    while (!page->stopping && !found) {
        for (uint32_t i = 0; i < cutter->count && !found; i++)
            if ((found = !cutter->wanted[i].failed)) *next = cutter->wanted[i];
        if (!found) pthread_cond_wait(&cutter->wake, &page->lock);
    }
    pthread_mutex_unlock(&page->lock);
    return found;
}

/* A picture shows more than before. */
static void tell(void *given) {
    Page *page = given;
    pthread_mutex_lock(&page->lock);
    page->pictures++;
    pthread_cond_broadcast(&page->changed);
    pthread_mutex_unlock(&page->lock);
}

static void settle(Page *page, const Wanted *done, bool failed) {
    Cutter *cutter = page->cutter;
    pthread_mutex_lock(&page->lock);
    Wanted *wanted = find_wanted(cutter, text_of(done->id));
    if (failed)
        wanted->failed = true;
    else
        *wanted = cutter->wanted[--cutter->count];
    pthread_mutex_unlock(&page->lock);
    tell(page);
}

static void *cut_on(void *given) {
    Page *page = given;
    for (Wanted next; next_wanted(page, &next);) {
        PageModel *model = page_hold(page);
        const Picture *picture = picture_find(model, text_of(next.id));
        Arena *arena = arena_new();
        Diags problems = diags_new(arena);
        bool done = picture != NULL && tiles_cut(page->folder, picture, (TilesListener){tell, page}, &problems);
        settle(page, &next, !done);
        arena_free(arena);
        page_let_go(page, model);
    }
    return NULL;
}

bool cutter_start(Page *page, Diags *problems) {
    Cutter *cutter = arena_one(page->arena, Cutter);
    pthread_cond_init(&cutter->wake, NULL);
    pthread_mutex_lock(&page->lock);
    page->cutter = cutter;
    int error = pthread_create(&cutter->thread, NULL, cut_on, page);
    if (error != 0) page->cutter = NULL;
    pthread_mutex_unlock(&page->lock);
    if (error == 0) return true;
    pthread_cond_destroy(&cutter->wake);
    diag_add(problems, (Diag){.message = TEXT("no thread for cutting photos"), .hint = text_of(strerror(error))});
    return false;
}

void cutter_stop(Page *page) {
    if (page->cutter == NULL) return;
    pthread_mutex_lock(&page->lock);
    pthread_cond_signal(&page->cutter->wake);
    pthread_mutex_unlock(&page->lock);
    pthread_join(page->cutter->thread, NULL);
    pthread_cond_destroy(&page->cutter->wake);
    page->cutter = NULL;
}

/* ---- answers ---- */

void answer_picture(Call *call) {
    const Picture *picture = picture_find(call->model, call_argument(call, "id"));
    PictureSize size;
    if (picture == NULL) {
        call_refuse(call, 404, "There is no such picture any more.");
        return;
    }
    bool ready = tiles_ready(call->page->folder, picture->id, &size);
    bool whole = ready && size.finest == 0;
    bool failed = !whole && want(call->page, picture->id);
    json_t *object = json_object();
    json_put(object, "ready", json_boolean(ready));
    json_put(object, "failed", json_boolean(failed));
    json_put(object, "finest", json_integer(size.finest));
    json_put(object, "width", json_integer(size.width));
    json_put(object, "height", json_integer(size.height));
    json_put(object, "levels", json_integer(size.levels));
    json_put(object, "side", json_integer(TILE_SIDE));
    json_finish(&call->out, object);
    call->answer->type = "application/json";
}

void answer_tile(Call *call) {
    const Picture *picture = picture_find(call->model, call_argument(call, "id"));
    uint32_t level = call_number(call, "level"), x = call_number(call, "x"), y = call_number(call, "y");
    struct stat info = {0};
    int file = -1;
    if (picture != NULL)
        file = open(tile_path(call->arena, call->page->folder, picture->id, level, x, y).at, O_RDONLY | O_CLOEXEC);
    if (file < 0 || fstat(file, &info) != 0 || info.st_size == 0) {
        if (file >= 0) close(file);
        call_refuse(call, 404, "There is no such tile.");
        return;
    }
    call->answer->type = "image/jpeg";
    call->answer->lasting = true;
    call->answer->file = file;
    call->answer->file_len = (uint64_t)info.st_size;
}
